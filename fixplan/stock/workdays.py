"""Working days, Monday to Friday. Public holidays are not known here: what is printed says so."""

from __future__ import annotations

import datetime as dt

import numpy as np

WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")


def _offset(day: dt.date, days: int, roll: str) -> dt.date:
    moved: dt.date = np.busday_offset(np.datetime64(day, "D"), days, roll=roll).item()  # type: ignore[call-overload]
    return moved


def latest_order(needed_on: dt.date, lead_days: int) -> dt.date:
    """The last working day on which an order arrives before the day it is needed.

    It arrives `lead_days` working days after it is placed, at the latest on the last working day before `needed_on`.
    """
    before = _offset(needed_on, -1, "forward")
    return _offset(before, -lead_days, "backward")


def arrival(ordered_on: dt.date, lead_days: int) -> dt.date:
    """The working day on which an order arrives; one placed on a weekend counts from the working day after it."""
    return _offset(ordered_on, lead_days, "forward")


def spoken(day: dt.date) -> str:
    """A date with its weekday, 2026-12-03 (Thursday): it sorts, and no spreadsheet reads it as a date."""
    return f"{day.isoformat()} ({WEEKDAYS[day.weekday()]})"
