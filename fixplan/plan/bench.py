"""Published bench tests of fifth metatarsal constructs that print a stiffness: ticks beside the computed bracket."""

from __future__ import annotations

from fixplan.plan.types import BenchTick

# set-ups, spans and levers differ from test to test and from the load cases here: context, not targets
BENCH: tuple[BenchTick, ...] = (
    BenchTick("4.0 mm intramedullary screw, cadaver", "screw", 9.0, 6.0, 4, "HUS02"),
    BenchTick("4.0 mm intramedullary screw, bone model", "screw", 9.0, 4.0, 5, "HUS02"),
    BenchTick("3.5 mm bicortical screw, cadaver", "screw", 19.0, 17.0, 5, "HUS02"),
    BenchTick("solid intramedullary screw, cadaver", "screw", 24.2, 10.4, None, "WILL20"),
    BenchTick("cannulated headless intramedullary screw, cadaver", "screw", 24.7, 5.5, None, "WILL20"),
)
