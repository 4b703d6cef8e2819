"""The rules of the theatre room and where each comes from. They are printed with every list."""

from __future__ import annotations

from dataclasses import dataclass

from fixplan.stock.described import SHORTEST_MM


@dataclass(frozen=True)
class Rule:
    """A rule in one sentence, its kind of origin, and the source id when there is a document."""

    name: str
    text: str
    kind: str
    source: str = ""


RULES: tuple[Rule, ...] = (
    Rule(
        "back-ups",
        "One up and one down are the sizes that the plan names beside its first choice: of a screw the next diameter, "
        "of a plate the next number of holes. They are asked for also where the plan marks them fail, and the case "
        "says so.",
        "project default",
    ),
    Rule(
        "trolley",
        "A piece on a trolley is allotted to that case for the whole list. An unopened back-up may go back to the "
        "shelf afterwards, but no later case counts on it, since it may have been opened.",
        "project default",
    ),
    Rule(
        "one construct",
        "One construct is implanted, so a piece that the first choice and a back-up share is laid out once, "
        "in the larger of their numbers.",
        "project default",
    ),
    Rule(
        "construct",
        "A planned case asks for the construct its plan chose: the screw where it has a first choice, else the plate. "
        "The user can ask for the other. A case whose plan chose nothing is never covered.",
        "project default",
    ),
    Rule(
        "in the room",
        "The sizes that a plan would have in the room beyond one up and one down are laid out one piece each; they "
        "come after every first choice and back-up of the list.",
        "project default",
    ),
    Rule(
        "complete",
        "A first choice or a back-up counts as covered when every one of its pieces, instruments included, is there, "
        "and no plate in it has a screw whose length the plan does not give.",
        "common practice",
    ),
    Rule(
        "order of priority",
        "Most first choices complete; then most back-ups complete; then most pieces of incomplete first choices; then "
        "most pieces of incomplete back-ups; then most further sizes for the room; "
        "then the earliest expiry used first; then the sooner case. "
        "Found by integer programming, not in list order.",
        "project default",
    ),
    Rule(
        "use-by date",
        "The printed date is the last day of use: a piece may be used on that day and not after it.",
        "standard",
        "ISO15223-1",
    ),
    Rule(
        "expiring",
        "A piece that expires within the set number of days after its case is used but marked (30 days unless set).",
        "project default",
    ),
    Rule(
        "sterile without a date",
        "A piece marked sterile without an expiry date is not allotted: the date on the pack decides.",
        "project default",
    ),
    Rule(
        "recall",
        "A recalled lot, or every lot of a recalled item, is not allotted, and every line of the shelf that bears it "
        "is listed to be taken off, also when no case asks for it; lots are compared without regard to case, spaces, "
        "hyphens and leading zeros. A piece whose lot is not stated is not allotted while a recall names its item or "
        "GTIN; one found by its sizes alone counts as the item it was found for.",
        "project default",
    ),
    Rule(
        "instruments",
        "A reusable instrument serves one case a day, and is ready again the next day after reprocessing; "
        "the number of uses a day can be set.",
        "common practice",
    ),
    Rule(
        "guide wires",
        "A guide wire is used once and is not ready for a second case; every other instrument comes back.",
        "common practice",
    ),
    Rule(
        "trays",
        "Pieces kept in one tray travel together: on a day the tray goes to one case, or to as many as the uses a day.",
        "common practice",
    ),
    Rule(
        "match",
        "A piece matches by item code or GTIN, an instrument also by its name, or by kind and every size that the plan "
        "states; sizes agree to 0.01 mm. What the shelf does not state is not taken as right; a line whose columns or "
        "description contradict its code is not used.",
        "project default",
    ),
    Rule(
        "size in words",
        "A description tells a size of screw where it holds one pair of numbers with an x between them, the larger of "
        f"them {SHORTEST_MM:g} mm or more, the shortest screw of our kits. A screw whose words tell another size than "
        "the one wanted is not used.",
        "project default",
    ),
    Rule(
        "solid or cannulated",
        "An intramedullary screw matches only as what the plan wants, solid or cannulated. A line without a code that "
        "does not say which matches neither; a line whose words contradict its code is not used.",
        "project default",
    ),
    Rule(
        "order by",
        "An order has to arrive before the day of surgery: it is placed the resupply time before the last working day "
        "that precedes it, in working days (Monday to Friday), as the user gives it. Public holidays are not known.",
        "project default",
    ),
    Rule(
        "two-digit years",
        "In a GS1 date the year lies within 49 years before and 50 years after the day of the list; "
        "day 00 is the last day of the month.",
        "standard",
        "GS1GS",
    ),
)
