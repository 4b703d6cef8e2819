"""Words beside the questions that no other table holds, and where to find those that are held elsewhere."""

from __future__ import annotations

MEASURE = {
    "bone.length": "length",
    "bone.straight_segment": "straight_segment",
    "bone.isthmus.at": "isthmus_at",
    "bone.isthmus.canal": "canal_ap",
    "bone.isthmus.canal_ap": "canal_ap",
    "bone.isthmus.canal_lateral": "canal_lateral",
    "bone.isthmus.outer_ap": "outer_ap",
    "bone.isthmus.outer_lateral": "outer_lateral",
    "fracture.from_base": "from_base",
    "fracture.extent": "extent",
    "fracture.gap": "gap",
    "plan.thresholds.seat_depth": "seat_depth",
}
"""Names in the table of measurements, by key of the case file."""

FILM = {
    "bone.isthmus.canal": "the one on which the canal is narrower",
    "bone.at_fracture.canal": "the one on which the canal is narrower",
    "bone.entry_from_lateral": "AP",
    "bone.entry_from_dorsal": "lateral",
    "plate.room_proximal": "lateral",
    "plate.room_distal": "lateral",
    "patient.metatarsus_adductus_angle": "AP, standing",
    "patient.calcaneal_pitch": "lateral, standing",
}

PUBLISHED = {
    "bone.length": "length",
    "bone.isthmus.canal": "canal_ap",
    "bone.isthmus.canal_ap": "canal_ap",
    "bone.isthmus.canal_lateral": "canal_lateral",
    "fracture.from_base": "from_base",
}
"""Names of published population values, by key of the case file."""

WITHOUT = {
    "case.planned_for": "stock is judged on the day the plan is made, and times after surgery carry no dates",
    "case.invented": "the case is not marked as invented",
    "plan.consider": "screw and plate are both planned",
    "imaging.marker_seen_lateral": "the magnification of the lateral film is assumed",
    "bone.length": "the plan will ask for it",
    "bone.entry_from_lateral": "the plan shows the entry that the corridor wants, and holds none against it",
    "bone.entry_from_dorsal": "the plan shows the entry that the corridor wants, and holds none against it",
    "ask.at_fracture": "what is known at the isthmus has to serve there too",
    "bone.at_fracture.canal": "the canal at the isthmus has to serve there too",
    "bone.at_fracture.canal_ap": "the canal at the isthmus has to serve there too",
    "fracture.pattern": "the plan says 'not said' and asks of a plate what a simple pattern asks",
    "fracture.healing": "the plan says 'not said'",
    "fracture.crosses_tmt": "the plate stays on the metatarsal",
    "fracture.compression": "the fracture is planned without lag compression",
    "fracture.callus_modulus": "the gap is planned as open: the implant alone carries the load there",
    "ask.previous": "no earlier screw is planned for",
    "ask.plate_room": "the room is taken to the ends of the bone; the width under the plate is not checked",
    "plate.room_proximal": "the room is taken to the end of the bone",
    "plate.room_distal": "the room is taken to the end of the bone",
    "plate.surface_width": "the width of the plate is not checked against the bone",
    "plate.standoff": "assumed: 0 mm, plate on the bone (PROJECT)",
    "ask.patient": "the plan says nothing of activity and risks",
    "patient.body_mass": "nothing changes: the moments assumed do not depend on it; it is listed when given",
    "patient.risks": "no risk factor is set beside the plan",
    "patient.metatarsus_adductus_angle": "the angle is not read against its published grades",
    "patient.calcaneal_pitch": "the pitch is not read against its published range",
    "patient.vitamin_d": "no published cut-off is read",
    "patient.bony_tenderness": "the rule for bone stress injury cannot be computed",
    "patient.load_raised": "the rule for bone stress injury cannot be computed",
    "patient.activity": "the plan says 'not said' and loads no activity beyond protected walking",
    "ask.energy": "the score cannot be computed from what is given",
    "plan.kits": "all kits are searched",
    "compare.constructs": "none are named; they can be named when the comparison is made",
}
"""What is done without an answer, where that does not depend on the case."""

TABLES: dict[str, tuple[str, ...]] = {
    "table": ("bone.straight_segment",),
    "landmarks": ("bone.length", "bone.straight_segment", "fracture.from_base", "fracture.extent"),
}
"""What may be read from a table instead, by the way the canal is known."""
