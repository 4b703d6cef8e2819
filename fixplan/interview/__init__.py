"""The interview: the measurements of a case, asked for one by one in a terminal and written as a case file."""

from fixplan.interview.dialogue import run

__all__ = ["run"]
