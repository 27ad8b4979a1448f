"""Whether parts can be cut where a person put them: clamps, the sheet's edge, neighbours, inserts, flaws.

The same distances as in the layout, measured on the curves and not on its grid: a part that the layout put
somewhere has none of these faults there.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final, NamedTuple

from shapely import Point, Polygon, box, union_all
from shapely.affinity import translate
from shapely.geometry.base import BaseGeometry
from shapely.ops import nearest_points
from shapely.prepared import PreparedGeometry, prep

from proveout.curve import polygon
from proveout.finding import Edit, Finding, Level, Way
from proveout.job.records import Cutter, Job
from proveout.layout.keepouts import keep_out, standoff
from proveout.layout.lay import CLEARANCE, INSERT_CLEARANCE, WEB, kerf_of
from proveout.layout.move_clamp import clamp_way
from proveout.layout.settled import corner_of, flaw_outline
from proveout.parts.part import PlacedPart, lies
from proveout.quantity import System, show_length
from proveout.reckon import Held
from proveout.setup import Obstacle, other_solids

ROUGH: Final = 0.002  # mm, chord error of outlines
SLACK: Final = 0.05  # mm that a distance may be short, of chords and of places written with two digits
FURTHEST: Final = 160.0  # mm, that a free place is looked for around where a part was put
STEP: Final = 2.0  # mm
TIDY: Final[dict[System, float]] = {"mm": 0.5, "in": 0.508}  # mm, to which such a place is rounded
WAYS_ROUND: Final = 16  # directions

AGAIN: Final = "Let it be laid out again"


class _Lying(NamedTuple):
    """A part where it lies, and what is cut of it."""

    placed: PlacedPart
    outline: Polygon
    way: Polygon  # all within the way of the cutter's axis
    kerf: Polygon  # all within the kerf's outside
    through: BaseGeometry  # what is cut right through
    width: float  # of the kerf
    cutters: tuple[Cutter, ...]


class _Fault(NamedTuple):
    level: Level
    kind: str
    text: str
    at: Point
    amount: float  # mm by which
    clamp: int | None = None  # which of the job's clamps is in the way


@dataclass(frozen=True, slots=True, kw_only=True)
class _Bed:
    """What a part has to go by."""

    job: Job
    solids: tuple[tuple[str, int | None, tuple[Obstacle, ...]], ...]  # what it is called, which clamp it is
    inserts: tuple[Obstacle, ...]  # that a through cut would meet
    flaws: tuple[tuple[str, Polygon], ...]
    lying: tuple[_Lying, ...]

    def say(self, length: float) -> str:
        return show_length(length, self.job.units)

    def spot(self, x: float, y: float) -> str:
        return f"({self.say(x)}, {self.say(y)})"


def place_findings(job: Job, placed: Sequence[PlacedPart], held: Held) -> tuple[Finding, ...]:
    """What stands in the way of the parts that the job file has places for, with ways out.

    Args:
        placed: every part where it lies, those that were laid out too
        held: what stands on the bed
    """
    if not job.places:
        return ()
    bed = _bed(job, placed, held)
    named = {one.placed.name: one for one in bed.lying}
    return tuple(
        finding
        for number, place in enumerate(job.places)
        if place.part in named
        for finding in _findings(bed, number, named[place.part])
    )


def _bed(job: Job, placed: Sequence[PlacedPart], held: Held) -> _Bed:
    clamps = [(one.name, number, (one.bar, *one.bolt)) for number, one in enumerate(held.clamps)]
    others = [(one.name, None, (one,)) for one in other_solids(held.grips, held.stops)]
    return _Bed(
        job=job,
        solids=(*clamps, *others),
        inserts=tuple(one for one in held.inserts if one.top + INSERT_CLEARANCE > -job.through_allowance),
        flaws=tuple((flaw.what, flaw_outline(flaw)) for flaw in job.flaws),
        lying=tuple(_lying(one, job.shop.cutters) for one in placed),
    )


def _lying(placed: PlacedPart, cutters: Sequence[Cutter]) -> _Lying:
    part, by_number = lies(placed), {cutter.number: cutter for cutter in cutters}
    outline, width = polygon((part.outline,), ROUGH), by_number[part.cutter].diameter
    numbers = {part.cutter, *(feature.cutter for feature in part.features)}
    return _Lying(
        placed=placed,
        outline=outline,
        way=outline.buffer(width / 2, quad_segs=16),
        kerf=outline.buffer(width, quad_segs=16),
        through=kerf_of(part, outline, width),
        width=width,
        cutters=tuple(by_number[number] for number in sorted(numbers)),
    )


def _findings(bed: _Bed, number: int, one: _Lying) -> Iterator[Finding]:
    """What is wrong with a part's place, and what to do."""
    faults = [fault for check in CHECKS for fault in check(bed, one)]
    if not faults:
        return
    there = _free_spot(bed, one)
    ways: tuple[Way, ...] = (Way(says=AGAIN, edits=(Edit(what="drop", keys=("places", number)),)),)
    remedy = "Let it be laid out again: take its table out of [[places]]."
    if there is not None:
        x, y = there
        remedy = f"Put it at {bed.spot(x, y)}, the nearest place that is free. Or {_small(remedy)}"
        put = Edit(what="set", keys=("places", number, "at"), value=[_written(bed, x), _written(bed, y)])
        ways = (Way(says="Move it to the nearest free place", edits=(put,)), *ways)
    for fault in faults:
        moved = (
            clamp_way(bed.job, fault.clamp, [other.placed for other in bed.lying])
            if fault.clamp is not None
            else ()
        )
        yield Finding(
            level=fault.level,
            kind=fault.kind,
            text=fault.text,
            remedy=" Or ".join((remedy, *(f"{_small(way.says)}." for way in moved))),
            at=(fault.at.x, fault.at.y, bed.job.stock.thickest),
            name=one.placed.name,
            amount=fault.amount,
            ways=(*ways, *moved),
        )


def _small(sentence: str) -> str:
    return sentence[:1].lower() + sentence[1:]


def _written(bed: _Bed, length: float) -> str:
    """A length as the file reads it, to a hundredth of a millimetre."""
    return f"{length:.2f} mm" if bed.job.units == "mm" else f"{length / 25.4:.4f} in"


# What can be wrong, each by itself


def _near_clamps(bed: _Bed, one: _Lying) -> Iterator[_Fault]:
    """Clamps and the rest that the cutter or what turns above it would meet, by the layout's distances."""
    spindle, lowest = bed.job.shop.machine.spindle, -bed.job.through_allowance
    for name, clamp, solids in bed.solids:
        short, solid = max(
            (
                _short_of(one, solid, spindle_away)
                for solid in solids
                if (spindle_away := max(standoff(solid, each, spindle, lowest) for each in one.cutters)) > 0
            ),
            key=lambda pair: pair[0],
            default=(0.0, None),
        )
        if solid is None or short <= SLACK:
            continue
        under = any(one.outline.intersects(each.footprint) for each in solids)
        text = (
            f"{one.placed.name} lies under the {name}."
            if under
            else f"Cutting {one.placed.name} would bring the cutter, its nut or the spindle "
            f"{bed.say(short)} too near to the {name}."
        )
        yield _Fault(Level.STOP, "part-under-clamp", text, _between(one.way, solid.footprint), short, clamp)


def _short_of(one: _Lying, solid: Obstacle, away: float) -> tuple[float, Obstacle]:
    return away + CLEARANCE - one.way.distance(solid.footprint), solid


def _off_sheet(bed: _Bed, one: _Lying) -> Iterator[_Fault]:
    """The sheet's edge, and the margin along it."""
    wide, deep = bed.job.stock.size
    left, front, right, back = one.outline.bounds
    over, side = max((-left, "left"), (-front, "front"), (right - wide, "right"), (back - deep, "back"))
    at = _between(one.outline, box(0, 0, wide, deep).exterior)
    if over > SLACK:
        text = f"{one.placed.name} reaches {bed.say(over)} off the sheet at the {side}."
        yield _Fault(Level.STOP, "part-off-sheet", text, at, over)
        return
    margin = bed.job.stock.edge_margin
    short = over + one.width + margin
    if short > SLACK:
        text = (
            f"The cut round {one.placed.name} comes {bed.say(short)} into the margin of {bed.say(margin)} "
            f"that is kept along the sheet's {side} edge."
        )
        yield _Fault(Level.CAUTION, "part-off-sheet", text, at, short)


def _near_parts(bed: _Bed, one: _Lying) -> Iterator[_Fault]:
    """Neighbours; two that both have a place are told of once."""
    order = [place.part for place in bed.job.places]
    for other in bed.lying:
        if other is one or other.placed.name in order[: order.index(one.placed.name)]:
            continue
        gap = one.outline.distance(other.outline) - one.width - other.width
        if gap >= WEB - SLACK:
            continue
        pair = f"{one.placed.name} and {other.placed.name}"
        at = _between(one.outline, other.outline)
        if gap < -SLACK:
            lap = one.outline.intersects(other.outline)
            text = (
                f"{pair} lie over each other."
                if lap
                else f"The cuts round {pair} overlap by {bed.say(-gap)}."
            )
            yield _Fault(Level.STOP, "parts-too-close", text, at, WEB - gap)
        else:
            text = (
                f"Only {bed.say(max(gap, 0.0))} of wood would stand between the cuts round {pair}; "
                f"{bed.say(WEB)} are wanted."
            )
            yield _Fault(Level.CAUTION, "parts-too-close", text, at, WEB - gap)


def _over_inserts(bed: _Bed, one: _Lying) -> Iterator[_Fault]:
    met = [solid for solid in bed.inserts if one.through.intersection(solid.footprint).area > SLACK**2]
    if met:
        names = " and the ".join(solid.name for solid in met[:3]) + (" and more" if len(met) > 3 else "")
        text = f"A cut right through of {one.placed.name} passes over the {names}: the cutter may meet metal."
        at = one.through.intersection(met[0].footprint).representative_point()
        yield _Fault(Level.STOP, "part-over-insert", text, at, met[0].top + bed.job.through_allowance)


def _on_flaws(bed: _Bed, one: _Lying) -> Iterator[_Fault]:
    for what, flaw in bed.flaws:
        held = one.outline.intersection(flaw)
        if held.area > SLACK:
            at = held.representative_point()
            text = f"{one.placed.name} would hold the {what} at {bed.spot(at.x, at.y)}."
            yield _Fault(Level.CAUTION, "part-on-flaw", text, at, math.sqrt(held.area))


CHECKS: Final = (_near_clamps, _off_sheet, _near_parts, _over_inserts, _on_flaws)


def _between(shape: BaseGeometry, other: BaseGeometry) -> Point:
    """In the middle of what two shapes share, or of the gap between them."""
    shared = shape.intersection(other)
    if not shared.is_empty:
        return shared.representative_point()
    first, last = nearest_points(shape, other)
    return Point((first.x + last.x) / 2, (first.y + last.y) / 2)


# Where it would be free


class _Free(NamedTuple):
    """What a part's shapes must keep off, for this part alone."""

    axes: PreparedGeometry
    neighbours: PreparedGeometry
    metal: PreparedGeometry
    flaws: PreparedGeometry
    sheet: PreparedGeometry


def _free_spot(bed: _Bed, one: _Lying) -> tuple[float, float] | None:
    """The nearest place for a part, as it is turned, at which nothing is wrong: its left front corner."""
    free = _free_for(bed, one)
    left, front = corner_of(one.placed.part, one.placed.turn_deg)
    step = TIDY[bed.job.units]
    was = one.placed.x + left, one.placed.y + front
    for away_x, away_y in _rounds():
        corner = round((was[0] + away_x) / step) * step, round((was[1] + away_y) / step) * step
        x, y = corner[0] - was[0], corner[1] - was[1]
        moved = one._replace(
            outline=translate(one.outline, x, y),
            way=translate(one.way, x, y),
            kerf=translate(one.kerf, x, y),
            through=translate(one.through, x, y),
        )
        if _is_free(free, moved):
            return corner
    return None


def _rounds() -> Iterator[tuple[float, float]]:
    """Places round a middle, further and further out."""
    for ring in range(1, int(FURTHEST / STEP) + 1):
        for turn in range(WAYS_ROUND):
            angle = 2 * math.pi * turn / WAYS_ROUND
            yield ring * STEP * math.cos(angle), ring * STEP * math.sin(angle)


def _free_for(bed: _Bed, one: _Lying) -> _Free:
    job = bed.job
    wide, deep = job.stock.size
    margin = job.stock.edge_margin
    others = [other for other in bed.lying if other is not one]
    return _Free(
        axes=prep(
            keep_out(
                [solid for _, _, solids in bed.solids for solid in solids],
                one.cutters,
                job.shop.machine.spindle,
                lowest_tip=-job.through_allowance,
                clearance=CLEARANCE,
            )
        ),
        neighbours=prep(union_all([other.outline.buffer(other.width + WEB) for other in others])),
        metal=prep(union_all([solid.footprint for solid in bed.inserts])),
        flaws=prep(union_all([flaw for _, flaw in bed.flaws])),
        sheet=prep(box(margin, margin, wide - margin, deep - margin)),
    )


def _is_free(free: _Free, one: _Lying) -> bool:
    return bool(
        free.sheet.contains(one.kerf)
        and not free.neighbours.intersects(one.kerf)
        and not free.axes.intersects(one.way)
        and not free.metal.intersects(one.through)
        and not free.flaws.intersects(one.outline)
    )
