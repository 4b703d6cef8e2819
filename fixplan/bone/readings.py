"""Reads the two tables a bone can come in: stations, and points clicked on films. Both are CSV (RFC 4180, UTF-8).

Stations: one row a station, from proximal to distal; columns in any order, the unit in square brackets in each head:

    s [mm],canal_ap [mm],canal_lateral [mm],outer_ap [mm],outer_lateral [mm],offset_ap [mm],offset_lateral [mm]

Points: one row a point; columns film, landmark, index, x_px, y_px. `film` is ap or lateral. Landmarks at positions
index 1, 2, 3, ... from proximal to distal: canal_medial, canal_lateral, outer_medial, outer_lateral on the AP film;
canal_plantar, canal_dorsal, outer_plantar, outer_dorsal on the lateral film. Single points (index empty or 1):
proximal_tip, head, fracture_proximal, fracture_distal. A marker: landmark marker, index 1 and 2, the two ends
of a diameter. x_px counts columns to the right, y_px rows downwards.
"""

from __future__ import annotations

import csv
import io
import math
import re
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from fixplan.bone.landmarks import EDGES, Film, FilmClicks
from fixplan.bone.profile import OFFSETS, WIDTHS, Floats, Profile
from fixplan.problems import InputError, Problem, nearest
from fixplan.values import parse

COLUMNS = ("s", *WIDTHS, *OFFSETS)
POINT_COLUMNS = ("film", "landmark", "index", "x_px", "y_px")
SINGLE = ("proximal_tip", "head", "fracture_proximal", "fracture_distal")
# a table past these is not a table of one bone; reading on would only cost time
MAX_BYTES = 1_000_000
MAX_ROWS = 5_000
_HEAD = re.compile(r"\s*([A-Za-z_]+)\s*\[\s*([^\]]*?)\s*\]\s*")

Row = tuple[int, list[str]]


@dataclass(frozen=True)
class Points:
    """What a table of points holds: the clicks of each film, and the marker's two points (2, 2) [px] where given."""

    films: dict[Film, FilmClicks]
    markers: dict[Film, Floats]


def read_stations(path: Path) -> Profile:
    """Read a table of stations (see the module's head). Raises InputError with every problem found."""
    head, rows = _table(path)
    problems: list[Problem] = []
    factor: dict[str, float] = {}
    place: dict[str, int] = {}
    for i, cell in enumerate(head):
        where = f"{path.name}, line 1, column {i + 1}"
        found = _HEAD.fullmatch(cell)
        name = found[1] if found else cell.strip()
        if name not in COLUMNS:
            problems.append(Problem(where, f"column '{name}' is not known", nearest(name, COLUMNS)))
        elif name in place:
            problems.append(Problem(where, f"column '{name}' is given twice", "remove one"))
        else:
            place[name] = i
            if not found or not found[2]:
                problems.append(Problem(where, f"'{name}' has no unit", f"write the unit in the head: '{name} [mm]'"))
                continue
            try:
                factor[name] = parse(f"1 {found[2]}", "length", where).value
            except InputError as error:
                problems += error.problems
    missing = [c for c in COLUMNS if c not in place]
    if missing:
        problems.append(Problem(f"{path.name}, line 1", f"no column {', '.join(missing)}", "give all seven columns"))
    if problems:
        raise InputError(problems, path.name)
    values = {name: np.full(len(rows), np.nan) for name in COLUMNS}
    for k, (line, cells) in enumerate(rows):
        for name, i in place.items():
            number = _number(cells[i], f"{path.name}, line {line}, column {name}", problems)
            if number is not None:
                values[name][k] = number * factor[name]
                if name in WIDTHS and not number > 0:
                    where = f"{path.name}, line {line}, column {name}"
                    problems.append(Problem(where, f"{number:g} is not a width", "a number greater than 0"))
        for plane in ("ap", "lateral"):
            if values[f"canal_{plane}"][k] >= values[f"outer_{plane}"][k]:
                where = f"{path.name}, line {line}, column canal_{plane}"
                problems.append(Problem(where, f"the canal is as wide as outer_{plane}", "a canal inside the cortex"))
        if k and values["s"][k] <= values["s"][k - 1]:
            where = f"{path.name}, line {line}, column s"
            problems.append(Problem(where, "does not lie beyond the station before it", "sort by s"))
    if len(rows) < 2:
        problems.append(Problem(path.name, f"{len(rows)} stations", "at least two"))
    if problems:
        raise InputError(problems, path.name)
    return Profile(**values)


def read_points(path: Path) -> Points:
    """Read a table of points (see the module's head). Raises InputError with every problem found."""
    head, rows = _table(path)
    names = [cell.strip() for cell in head]
    if sorted(names) != sorted(POINT_COLUMNS):
        what = f"columns {', '.join(names)}"
        raise InputError([Problem(f"{path.name}, line 1", what, f"the columns {', '.join(POINT_COLUMNS)}")], path.name)
    problems: list[Problem] = []
    found: dict[tuple[str, str, int], tuple[float, float]] = {}
    for line, cells in rows:
        where = f"{path.name}, line {line}"
        row = dict(zip(names, (c.strip() for c in cells)))
        x = _number(row["x_px"], f"{where}, column x_px", problems)
        y = _number(row["y_px"], f"{where}, column y_px", problems)
        key = _key(row, where, problems)
        if key is None or x is None or y is None:
            continue
        if key in found:
            problems.append(Problem(where, f"{key[1]} {key[2]} of the {key[0]} film is given twice", "remove one"))
        found[key] = (x, y)
    films: dict[Film, FilmClicks] = {}
    markers: dict[Film, Floats] = {}
    films_given: tuple[Film, ...] = ("ap", "lateral")
    for film in films_given:
        own = {(name, i): xy for (f, name, i), xy in found.items() if f == film}
        if not own and not problems:
            problems.append(Problem(path.name, f"no points of the {film} film", "points of both films"))
        if own and not problems:
            clicks, marker = _film(film, own, path.name, problems)
            if clicks is not None:
                films[film] = clicks
            if marker is not None:
                markers[film] = marker
    if problems:
        raise InputError(problems, path.name)
    return Points(films, markers)


def _film(
    film: Film, own: dict[tuple[str, int], tuple[float, float]], file: str, problems: list[Problem]
) -> tuple[FilmClicks | None, Floats | None]:
    before = len(problems)
    edges = [f"{wall}_{side}" for wall in ("canal", "outer") for side in EDGES[film]]
    indices = sorted({i for (name, i) in own if name in edges})
    if indices != list(range(1, len(indices) + 1)) or len(indices) < 3:
        right = "index 1, 2, 3, ... without gaps, at least three positions"
        problems.append(Problem(f"{file}, {film} film", f"positions {indices}", right))
    for name in edges:
        missing = [str(i) for i in indices if (name, i) not in own]
        if missing:
            problems.append(
                Problem(f"{file}, {film} film", f"no {name} at index {', '.join(missing)}", "all four edges")
            )
    for name in ("proximal_tip", "head"):
        if (name, 1) not in own:
            problems.append(Problem(f"{file}, {film} film", f"no {name}", "one point of it"))
    pairs = {"fracture": [("fracture_proximal", 1), ("fracture_distal", 1)], "marker": [("marker", 1), ("marker", 2)]}
    both: dict[str, Floats | None] = {}
    for what, keys in pairs.items():
        given = [k for k in keys if k in own]
        if len(given) == 1:
            problems.append(Problem(f"{file}, {film} film", f"one point of the {what} only", "both, or neither"))
        both[what] = np.array([own[k] for k in keys]) if len(given) == 2 else None
    if len(problems) > before:
        return None, None

    def wall(name: str) -> Floats:
        return np.array([[own[f"{name}_{side}", i] for side in EDGES[film]] for i in indices])

    tip, head = (np.array(own[name, 1]) for name in ("proximal_tip", "head"))
    return FilmClicks(film, wall("canal"), wall("outer"), tip, head, both["fracture"]), both["marker"]


def _key(row: dict[str, str], where: str, problems: list[Problem]) -> tuple[str, str, int] | None:
    film, name, index = row["film"], row["landmark"], row["index"]
    if film not in EDGES:
        problems.append(Problem(f"{where}, column film", f"'{film}' is not a film", "'ap' or 'lateral'"))
        return None
    edges = [f"{wall}_{side}" for wall in ("canal", "outer") for side in EDGES[film]]
    if name not in (*edges, *SINGLE, "marker"):
        right = nearest(name, (*edges, *SINGLE, "marker"))
        problems.append(Problem(f"{where}, column landmark", f"'{name}' is not a landmark of the {film} film", right))
        return None
    if name in SINGLE and index == "":
        index = "1"
    top = 1 if name in SINGLE else 2 if name == "marker" else 999
    # ASCII digits only: other scripts' digits pass isdigit()
    if not re.fullmatch(r"[0-9]{1,3}", index) or not 1 <= int(index) <= top:
        problems.append(Problem(f"{where}, column index", f"'{index}' for {name}", f"a whole number from 1 to {top}"))
        return None
    return film, name, int(index)


def _number(cell: str, where: str, problems: list[Problem]) -> float | None:
    try:
        value = float(cell) if re.fullmatch(r"\s*[-+0-9.eE]+\s*", cell) else math.nan
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        problems.append(Problem(where, f"'{cell.strip()}' is not a number", "a number with a decimal point"))
        return None
    return value


def _table(path: Path) -> tuple[list[str], list[Row]]:
    """Head and rows with their line numbers; InputError when the file is no table of the head's width."""

    def refused(what: str, right: str) -> InputError:
        return InputError([Problem(path.name, what, right)], path.name)

    try:
        with path.open("rb") as file:
            raw = file.read(MAX_BYTES + 1)
    except OSError as error:
        raise refused(f"cannot be read ({error.strerror or 'input error'})", "check path and rights") from None
    if len(raw) > MAX_BYTES:
        raise refused(f"is larger than {MAX_BYTES} bytes", "a table of one bone")
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise refused("is not UTF-8 text", "save the table as CSV in UTF-8") from None
    try:
        reader = csv.reader(io.StringIO(text, newline=""), strict=True)
        lines: list[Row] = [(reader.line_num, cells) for cells in reader if any(c.strip() for c in cells)]
    except csv.Error as error:
        raise refused(f"is not a CSV table ({error})", "one row a line, cells separated by commas") from None
    if len(lines) > MAX_ROWS:
        raise refused(f"has more than {MAX_ROWS} rows", "a table of one bone")
    if not lines:
        raise refused("is empty", "a head and rows")
    head, rows = lines[0][1], lines[1:]
    if len(head) == 1 and ";" in head[0]:
        raise refused("is separated by semicolons", "commas between cells, a decimal point in numbers")
    problems = list(_ragged(path.name, len(head), rows))
    if problems:
        raise InputError(problems, path.name)
    return head, rows


def _ragged(file: str, width: int, rows: Iterable[Row]) -> Iterable[Problem]:
    for line, cells in rows:
        if len(cells) != width:
            yield Problem(f"{file}, line {line}", f"{len(cells)} cells", f"{width}, as in the head")
