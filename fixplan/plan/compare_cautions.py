"""What a plan would not let pass of one construct: its sizes, mechanics, purchase, and revision practice."""

from __future__ import annotations

from fixplan.case.model import Case
from fixplan.plan.context import revision_findings
from fixplan.plan.purchase_view import purchase_finding
from fixplan.plan.remarks import mechanics_findings
from fixplan.plan.resolve import Resolved
from fixplan.plan.strength_types import PurchasePart
from fixplan.plan.types import PASS, Finding, PlateCandidate, ScrewCandidate


def not_passed(
    kind: str, case: Case, resolved: Resolved, held: ScrewCandidate | PlateCandidate, purchase: PurchasePart | None
) -> tuple[Finding, ...]:
    """Findings on one construct that are no pass, in the order of a plan; a rule held twice is said once."""
    found = [*held.findings, *mechanics_findings(kind, held, resolved)]
    if isinstance(held, ScrewCandidate):
        found += revision_findings(case, resolved, held)
    pulled = None if purchase is None else purchase_finding(purchase)
    if pulled is not None:
        found.append(pulled)
    return tuple({f.rule: f for f in found if f.verdict != PASS}.values())
