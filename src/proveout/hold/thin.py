"""Thin stock between its clamps: how far an up-cut lifts it, as strips on simple supports and free ends.

Along X and along Y the widest stretch that nothing holds counts: between two holds as a strip on simple
supports with the pull in its middle, P L^3 / (48 E I), beyond the last one as a strip held at one end with
the pull at the other, P a^3 / (3 E I). The lifts along X and along Y are added, since the strip along one way
hangs on the strip along the other. It is all on the unfavourable side: the pull at one point, the strip
narrow, the grain along whichever way is the worse, the sheet at its thinnest, its own weight left out.

Source: beam theory; the rest project default
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from shapely import Polygon

from proveout.finding import Finding, Level
from proveout.hold.clamps import placed_clamps
from proveout.hold.grips import placed_grips
from proveout.job.records import Job, Stock
from proveout.quantity import show_fine, show_length
from proveout.shelf.materials import Material
from proveout.shelf.tables import material, plywood_strengths

# A point load at the free edge of a wide strip is shared by so much of its span: half of the 0.6 L that codes
# for concrete slabs give in the middle of one (from memory); project default for wood.
SHARES: Final = 0.3
SHARES_END: Final = 0.5  # of an overhang, at a corner: 45 degrees to one side; project default
SCATTER: Final = 0.8  # of the mean modulus; project default
ACROSS: Final = 0.05  # of solid wood's modulus, across the grain; Wood Handbook, chapter 5 (from memory)
MOST: Final = 0.2  # mm that a sheet may lift under the cutter; project default


@dataclass(frozen=True, slots=True, kw_only=True)
class Stretch:
    """The widest piece of a blank along one way that nothing holds."""

    axis: int  # 0 along X
    free: float  # mm
    ends: bool  # whether it ends at the blank's edge, held at one side only


@dataclass(frozen=True, slots=True, kw_only=True)
class Lift:
    """How far a blank lifts where it is held the least."""

    pull: float  # N
    lift: float  # mm
    limit: float  # mm
    worst: Stretch
    room: float  # mm of that stretch, with which it would not lift by more than the limit


def lift_of(job: Job, pull: float) -> Lift | None:
    """How far a job's blank lifts under a pull; None where nothing pulls or nothing holds it.

    Args:
        pull: N up, of the hardest up-cut with a dull edge
    """
    areas = [clamp.pressing for clamp in placed_clamps(job) if not clamp.pressing.is_empty]
    areas += [grip.pressing for grip in placed_grips(job) if grip.holds_down]
    if pull <= 0 or not areas:
        return None
    weak, strong = moduli(material(job.stock.material), job.stock.thinnest)
    ways = [_both_ways(areas, job.stock, turned) for turned in ((weak, strong), (strong, weak))]
    each, worst = max(ways, key=lambda way: way[0])
    lifts, limit = pull * each, lift_limit(job)
    # A strip's width grows with its length, so its lift grows with the square of it.
    room = worst.free * math.sqrt(limit / lifts) if lifts > limit else worst.free
    return Lift(pull=pull, lift=lifts, limit=limit, worst=worst, room=room)


def _both_ways(areas: Sequence[Polygon], stock: Stock, modulus: tuple[float, float]) -> tuple[float, Stretch]:
    """The lift along X and along Y together, mm/N, and the stretch that gives the most of it."""
    gives = [
        max((give(one, stock, modulus[axis]), number, one) for number, one in enumerate(every))
        for axis in (0, 1)
        for every in [stretches(areas, axis, stock.size[axis])]
    ]
    (along, _, one), (up, _, other) = gives
    return along + up, one if along >= up else other


def lift_limit(job: Job) -> float:
    """How far a sheet may lift, mm: half of what through cuts go below it, and 0.2 mm at most."""
    return min(job.through_allowance / 2, MOST)


def stretches(areas: Sequence[Polygon], axis: int, size: float) -> tuple[Stretch, ...]:
    """What nothing holds along one way: before the first hold, between holds, behind the last."""
    spans = sorted((area.bounds[axis], area.bounds[axis + 2]) for area in areas)
    found = [Stretch(axis=axis, free=max(spans[0][0], 0.0), ends=True)]
    reached = spans[0][1]
    for low, high in spans[1:]:
        if low > reached:
            found.append(Stretch(axis=axis, free=low - reached, ends=False))
        reached = max(reached, high)
    return (*found, Stretch(axis=axis, free=max(size - reached, 0.0), ends=True))


def give(stretch: Stretch, stock: Stock, modulus: float) -> float:
    """By how much a stretch lifts for each newton, mm/N."""
    if stretch.free <= 0:
        return 0.0
    across = stock.size[1 - stretch.axis]
    width = min((SHARES_END if stretch.ends else SHARES) * stretch.free, across)
    inertia = width * stock.thinnest**3 / 12
    by_end = free_end(stretch.free, modulus, inertia)
    return by_end if stretch.ends else middle_of_span(stretch.free, modulus, inertia)


def middle_of_span(span: float, modulus: float, inertia: float) -> float:
    """Bending of a simple beam under 1 N in its middle, mm/N: L^3 / (48 E I)."""
    return span**3 / (48 * modulus * inertia)


def free_end(overhang: float, modulus: float, inertia: float) -> float:
    """Bending of a beam that is held at one end under 1 N at the other, mm/N: a^3 / (3 E I)."""
    return overhang**3 / (3 * modulus * inertia)


def moduli(wood: Material, thickness: float) -> tuple[float, float]:
    """Moduli of elasticity across and along the face grain, N/mm2, a fifth under the mean.

    Of plywood the shelf's sheet that is nearest in thickness counts.
    """
    rows = plywood_strengths(wood.name)
    if rows:
        row = min(rows, key=lambda one: abs(one.thickness - thickness))
        two = sorted((row.modulus_along, row.modulus_across))
    else:
        two = [wood.modulus * (ACROSS if wood.kind == "solid wood" else 1.0), wood.modulus]
    return SCATTER * two[0], SCATTER * two[1]


def lift_findings(job: Job, pull: float) -> tuple[Finding, ...]:
    """Whether a blank lifts between its holds by more than a cut can stand."""
    found = lift_of(job, pull)
    if found is None or found.lift <= found.limit:
        return ()
    way, units = "XY"[found.worst.axis], job.units
    free, room = (show_length(one, units) for one in (found.worst.free, math.floor(found.room)))
    where = "from the last hold to its edge" if found.worst.ends else "between two holds"
    return (
        Finding(
            level=Level.CAUTION,
            kind="stock-lifts",
            text=f"An up-cut pulls with up to {pull:.1f} N, and the sheet may lift by "
            f"{show_fine(found.lift, units)} where nothing holds it for {free} along {way}, {where}; "
            f"{show_fine(found.limit, units)} is what its cuts can stand. A bow of the sheet adds to that.",
            remedy=f"Leave no more than {room} free there: a clamp, tape or a screw between. Or take a "
            "down-cut or a straight cutter.",
        ),
    )
