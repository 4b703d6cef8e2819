"""From a case and kits to a plan: the one road from measurements to a result."""
