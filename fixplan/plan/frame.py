"""The numerical road's view of a case: from parameters (numbers or draws) to bone, site and screw thresholds.

One code path serves a single plan and a Monte Carlo run: every parameter may be a number or an array of draws (n,), and
what comes out has the same leading dimension.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields

import numpy as np
import numpy.typing as npt

from fixplan.bone.corridor import Wall as Surface
from fixplan.bone.corridor import corridor
from fixplan.bone.profile import Profile, from_least_input, interpolate
from fixplan.plan.inputs import SCALE
from fixplan.plan.measured import profile_of
from fixplan.plan.resolve import Resolved
from fixplan.sizing.limits import own_wall, widest_with_wall
from fixplan.sizing.rules import Floats
from fixplan.sizing.screw import ScrewThresholds, Site

Values = Mapping[str, npt.ArrayLike]


@dataclass(frozen=True)
class Frame:
    """True lengths (mm) of one bone, or of many draws of it.

    `outer_doubt` is the standard uncertainty (mm) of an outer width that was assumed, 0 when measured or drawn;
    `canal_doubt` that of the canal width, 0 when drawn; `width_sd` that of any one width read on a film.
    `by` names the sources of what was assumed of the bone, by what it bears on.
    """

    profile: Profile
    length: Floats
    site: Site
    limits: ScrewThresholds
    gap: Floats
    width_sd: float
    by: Mapping[str, tuple[str, ...]]
    outer_doubt: float = 0.0
    canal_doubt: float = 0.0


class Reader:
    """Looks a parameter up among draws first, then among the nominal values, and takes out the magnification."""

    def __init__(self, resolved: Resolved, values: Values | None = None) -> None:
        self.resolved = resolved
        self.values = values or {}

    def raw(self, name: str) -> Floats:
        """The parameter or threshold as read."""
        found = self.values.get(name)
        return np.asarray(self.resolved.value(name) if found is None else found, float)

    def true(self, name: str) -> Floats:
        """The parameter true to size."""
        scale = SCALE.get(self.resolved.parameters[name].film)
        return self.raw(name) if scale is None else self.raw(name) / self.raw(scale)

    def has(self, name: str) -> bool:
        return name in self.resolved.parameters


def build(resolved: Resolved, values: Values | None = None) -> Frame:
    """Bone, site and thresholds. `values` holds draws by parameter name."""
    read = Reader(resolved, values)
    length = read.true("length")
    fracture = read.true("from_base")
    if resolved.measured is not None:
        bone = profile_of(resolved.measured, read, read.true("old_hole") if read.has("old_hole") else None)
    else:
        bone = _profile(read, length, fracture)
    doubt = (0.0, 0.0) if values else (_outer_doubt(resolved), _canal_doubt(resolved))
    width_sd = resolved.value("width_reading_sd")
    return Frame(
        bone, length, _site(read, length, fracture), _limits(read), read.true("gap"), width_sd, _by(resolved), *doubt
    )


# what bears on a rule -> the parameters that it rests on
BEARS = {
    "level": ("from_base",),
    "cautious": ("straight", "straight_fraction_cautious"),
    "permissive": ("straight", "straight_fraction_permissive"),
    "canal": ("ellipticity", "fracture_ellipticity"),
    "outer": ("outer_ap", "outer_lateral", "fracture_outer_ap", "fracture_outer_lateral"),
}


def _by(resolved: Resolved) -> dict[str, tuple[str, ...]]:
    found = resolved.parameters
    return {
        name: tuple(
            dict.fromkeys(
                found[p].source
                for p in some
                if p in found and (found[p].origin == "assumed" or p.startswith("straight_fraction"))
            )
        )
        for name, some in BEARS.items()
    }


def _canal_doubt(resolved: Resolved) -> float:
    names = ("canal_ap", "canal_lateral", "fracture_canal_ap", "fracture_canal_lateral", "canal_error_ap")
    return max((resolved.parameters[n].sd for n in names if n in resolved.parameters), default=0.0)


def _outer_doubt(resolved: Resolved) -> float:
    names = ("outer_ap", "outer_lateral", "fracture_outer_ap", "fracture_outer_lateral")
    found = (resolved.parameters[n] for n in names if n in resolved.parameters)
    return max((p.sd for p in found if p.origin == "assumed"), default=0.0)


def _profile(read: Reader, length: Floats, fracture: Floats) -> Profile:
    def canal(prefix: str) -> tuple[Floats, Floats]:
        width = read.true(f"{prefix}canal_ap")
        if read.has(f"{prefix}canal_lateral"):
            height = read.true(f"{prefix}canal_lateral")
        else:
            height = width * read.raw(f"{prefix}ellipticity")
        if read.has("old_hole"):
            # the hole of the earlier screw runs along the canal: where it is wider, it is the canal now
            hole = read.true("old_hole")
            width, height = np.maximum(width, hole), np.maximum(height, hole)
        return width, height

    def outer(name: str) -> Floats | None:
        return read.true(name) if read.has(name) else None

    at_isthmus = canal("")
    at_fracture = canal("fracture_") if read.has("fracture_canal_ap") else (None, None)
    level = read.true("isthmus_at") if read.has("isthmus_at") else read.raw("isthmus_fraction") * length
    straight = straight_ends(read, length)[1]
    return from_least_input(
        length=length,
        # this centre line is straight all along: the level is a station and no more, so one at the very end may move in
        straight=np.minimum(straight, 0.999 * length),
        isthmus_at=level,
        canal_ap=at_isthmus[0],
        canal_lateral=at_isthmus[1],
        outer_ap=read.true("outer_ap"),
        outer_lateral=read.true("outer_lateral"),
        fracture_at=fracture,
        fracture_canal_ap=at_fracture[0],
        fracture_canal_lateral=at_fracture[1],
        fracture_outer_ap=outer("fracture_outer_ap"),
        fracture_outer_lateral=outer("fracture_outer_lateral"),
    )


def straight_ends(read: Reader, length: Floats) -> tuple[Floats, Floats]:
    """Cautious and permissive end of the straight segment (mm); one and the same when it was measured."""
    if read.has("straight"):
        end = read.true("straight")
        return end, end
    if not read.has("straight_fraction_cautious"):
        return length, length
    cautious = read.raw("straight_fraction_cautious") * length
    permissive = read.raw("straight_fraction_permissive") * length
    return np.minimum(cautious, permissive), permissive


def _site(read: Reader, length: Floats, fracture: Floats) -> Site:
    cautious, permissive = straight_ends(read, length)
    seat = read.raw("seat") if read.has("seat") else np.zeros(())
    level = read.resolved.parameters["from_base"]
    # only a single plan asks what the far end of an assumed band would do; a draw has its own level
    distal = fracture if level.high is None or "from_base" in read.values else np.asarray(level.high, float)
    return Site(seat, fracture, distal, read.true("extent"), cautious, permissive)


def _limits(read: Reader) -> ScrewThresholds:
    names = (
        "run_out_margin",
        "purchase_min",
        "bite",
        "wall_min",
        "tip_clearance",
        "diameter_min",
        "diameter_caution",
        "ream_max",
    )
    return ScrewThresholds(**{n: read.raw(n) for n in names})


@dataclass(frozen=True)
class Bores:
    """Over a stretch of the bone: the straight corridor and the widest hole that leaves the wall, diameters in mm.

    Shape (..., m); NaN where the stretch runs past the bone.
    """

    corridor: Floats
    ream: Floats


def bores(
    frame: Frame,
    start: npt.ArrayLike,
    end: npt.ArrayLike,
    wanted: npt.ArrayLike = True,
    surfaces: tuple[Surface, ...] = ("canal", "outer"),
) -> Bores:
    """Corridor and reaming limit over stretches from `start` to `end`, mm from the proximal end, shape (..., m).

    `wanted` (..., m) leaves out stretches that nobody will ask for (their lengths fail already): NaN there. A surface
    left out of `surfaces` is not solved: NaN in its column.
    """
    lo, hi, ask = np.broadcast_arrays(np.asarray(start, float), np.asarray(end, float), np.asarray(wanted, bool))
    wide = widen(frame.profile)
    lead = np.broadcast_shapes(lo.shape, wide.lead, (*np.shape(frame.limits.wall_min), 1))
    lo, hi, ask = (np.broadcast_to(v, lead) for v in (lo, hi, ask))
    inside = (lo >= wide.s[..., 0]) & (hi <= wide.s[..., -1]) & (hi > lo) & ask
    straight = inside & _straight(wide, lo, hi)
    bent = inside & ~straight
    found = {}
    for surface in surfaces:
        widths = np.full(lead, np.nan)
        if straight.any():
            # about a straight centre line the sections are symmetric both ways, so the best axis is the centre line
            # itself and the corridor is the narrowest width of the stretch: no programme to solve
            some = _rows(wide, lead, straight)
            at, to = lo[straight], hi[straight]
            widths[straight] = narrowest(some, surface, at, to) * _across(some, at, to)
        if bent.any():
            _solve(wide, lo, hi, bent, surface, widths)
        found[surface] = widths
    wall = np.asarray(frame.limits.wall_min, float)[..., None]
    nothing = np.full(lead, np.nan)
    return Bores(found.get("canal", nothing), widest_with_wall(found["outer"], wall) if "outer" in found else nothing)


# a kink of the centre line below this (slope against slope) is rounding
NO_KINK = 1e-9


def _straight(wide: Profile, lo: Floats, hi: Floats) -> npt.NDArray[np.bool_]:
    """Where the centre line has no kink between the ends of a stretch, (..., m)."""
    kinks = [np.abs(np.diff(slope, axis=-1)) > NO_KINK for slope in wide.slope()]
    kink = np.any(kinks, axis=0)
    if not kink.any():
        return np.ones(lo.shape, bool)
    s = wide.s[..., 1:-1]
    return np.asarray(~np.any(kink & (s > lo[..., None]) & (s < hi[..., None]), axis=-1))


def _across(some: Profile, at: Floats, to: Floats) -> Floats:
    """Cosine of the tilt of the centre line between two levels: what a disc square to s keeps square to the axis."""
    ends = np.stack([at, to], axis=-1)
    x, y = interpolate(some.s, [some.offset_ap, some.offset_lateral], ends)
    run = to - at
    return np.asarray(run / np.sqrt(run**2 + np.diff(x)[..., 0] ** 2 + np.diff(y)[..., 0] ** 2))


def _solve(
    wide: Profile, lo: Floats, hi: Floats, bent: npt.NDArray[np.bool_], surface: Surface, widths: Floats
) -> None:
    """Diameters of the corridors of the bent stretches, put into `widths`.

    Stretches that start at one level in every draw (threads that run all along) are nested tips of one call: the best
    axis of one starts the next. All others are solved as rows of one batch.
    """
    lead = lo.shape
    alone = bent.copy()
    groups: dict[bytes, list[int]] = {}
    for j in range(lead[-1]):
        groups.setdefault(lo[..., j].tobytes(), []).append(j)
    for columns in groups.values():
        some = bent[..., columns]
        if len(columns) == 1 or some.any(axis=-1).sum() * 2 > some.sum() or not some.any():
            continue
        alone[..., columns] = False
        row = np.asarray(some.any(axis=-1))
        asked, tips = some[row], hi[..., columns][row]
        # a tip not asked for stands at the deepest one asked for: no further work
        tips = np.where(asked, tips, np.max(np.where(asked, tips, -np.inf), axis=-1, keepdims=True))
        own = _rows(wide, (*lead[:-1], 1), row[..., None])
        radius = corridor(own, lo[..., columns[0]][row], tips, inside=surface).cylinder_radius
        block = widths[..., columns]
        block[some] = 2.0 * radius[asked]
        widths[..., columns] = block
    if alone.any():
        own = _rows(wide, lead, alone)
        widths[alone] = 2.0 * corridor(own, lo[alone], hi[alone][:, None], inside=surface).cylinder_radius[:, 0]


def _rows(wide: Profile, lead: tuple[int, ...], chosen: npt.NDArray[np.bool_]) -> Profile:
    """The profiles of the chosen stretches, one row each."""
    return Profile(*(np.broadcast_to(getattr(wide, f.name), (*lead, wide.s.shape[-1]))[chosen] for f in fields(wide)))


def widen(profile: Profile) -> Profile:
    """The same bone with one more leading dimension, for a list of stretches."""
    return Profile(*(getattr(profile, f.name)[..., None, :] for f in fields(profile)))


def narrowest(profile: Profile, surface: str, start: Floats, end: Floats) -> Floats:
    """Least width, over both films, of a surface between two levels, shape (...) [mm]; linear between stations."""
    least = np.minimum(getattr(profile, f"{surface}_ap"), getattr(profile, f"{surface}_lateral"))
    within = (profile.s >= start[..., None]) & (profile.s <= end[..., None])
    stations = np.min(np.where(within, least, np.inf), axis=-1)
    columns = (
        [profile.canal_ap, profile.canal_lateral] if surface == "canal" else [profile.outer_ap, profile.outer_lateral]
    )
    ends = interpolate(profile.s, columns, np.stack([start, end], axis=-1))
    return np.asarray(np.minimum(stations, np.min(np.minimum(*ends), axis=-1)))


def native_wall(profile: Profile, start: float, end: float) -> float | None:
    """Thinnest wall of the bone itself, on either film, between two levels of a single (not drawn) bone [mm].

    Canal and outer surface share one centre line, so the wall on a film is half the difference of the two widths. None
    where the stretch does not lie on the stations.
    """
    lo, hi = max(start, float(profile.s[0])), min(end, float(profile.s[-1]))
    if not hi > lo:
        return None
    walls = [own_wall(profile.outer_ap, profile.canal_ap), own_wall(profile.outer_lateral, profile.canal_lateral)]
    within = (profile.s >= lo) & (profile.s <= hi)
    ends = interpolate(profile.s, walls, np.array([lo, hi]))
    return float(min(*(np.min(w) for w in ends), *(np.min(w[within], initial=np.inf) for w in walls)))
