"""The candidates as a table for a spreadsheet."""

from __future__ import annotations

from fixplan.plan.types import PASS, Finding, Plan
from fixplan.report.csvsafe import Cell, to_csv

SCREW_FIELDS = (
    "diameter_mm", "length_mm", "thread_mm", "core_mm", "shank_mm", "cannula_mm", "first_thread_mm", "tip_mm",
    "wall_left_mm", "margin_run_out_mm", "margin_tip_mm", "margin_bite_mm", "margin_wall_mm",
)  # fmt: skip
PLATE_FIELDS = ("holes", "length_mm", "width_mm", "thickness_mm", "span_ratio", "screw_density", "working_length_mm")


def _not_met(findings: tuple[Finding, ...]) -> str:
    return "; ".join(f.why for f in findings if f.verdict != PASS)


def candidates_csv(plan: Plan) -> str:
    """Every candidate of the plan as CSV, one row each, after the cautions; columns a kind does not have stay empty."""
    shared = ("construct", "verdict", "choice", "kit", "item", "label", "material")
    extra = tuple(f for f in PLATE_FIELDS if f not in SCREW_FIELDS)
    rows: list[list[Cell]] = [[*shared, *SCREW_FIELDS, *extra, "not_met"]]
    parts = (("screw", plan.screw, SCREW_FIELDS), ("plate", plan.plate, PLATE_FIELDS))
    for word, part, fields in parts:
        if part is None:
            continue
        named = {part.first_choice: "first choice", part.one_up: "one up", part.one_down: "one down"}
        for c in part.candidates:
            row: list[Cell] = [word, c.verdict, named.get(c.item, ""), c.kit, c.item, c.label, c.material]
            row += [getattr(c, f) if f in fields else None for f in (*SCREW_FIELDS, *extra)]
            rows.append([*row, _not_met(c.findings)])
    head = (*plan.cautions, f"{plan.case.label}, {plan.case.side} foot, input {plan.inputs_sha256}")
    return to_csv(rows, head)
