"""What to do about a strike: another hole for the clamp, a higher way across, more stick-out, less depth.

Another place is only told of where it was tried: there no move of any program strikes the clamp, it still
presses on the stock, and it keeps clear of the parts and of the other clamps.
"""

import math
from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from typing import Final, NamedTuple

from shapely import Polygon, box
from shapely.affinity import translate

from proveout.motion import RAPID
from proveout.proof.strikes import ROOM, Boxes, Strike, is_clear, strikes_of
from proveout.proof.trial import Mask, Trial, at_least, length
from proveout.setup import Obstacle, PlacedClamp

MOST_TRIED: Final = 40  # holes that a clamp could stand in, nearest first
ASIDE: Final = (2, 4, 6, 8, 10, 15, 20, 25, 30, 40, 50)  # mm, where the plate's holes aren't known
PRESSES: Final = 0.15  # of the bar's area: the least of it over the stock

WAYS: Final = {
    "to the left": (-1.0, 0.0),
    "to the right": (1.0, 0.0),
    "to the front": (0.0, -1.0),
    "to the back": (0.0, 1.0),
}

Struck = list[tuple[Obstacle, Strike]]


class Place(NamedTuple):
    """Where a clamp would be out of the way."""

    said: str  # "from B2 to B1"
    higher: bool  # the way across must be higher too


Elsewhere = Callable[[str], Place | None]  # by the clamp's name


def remedy_for(
    run: Trial, boxes: list[Boxes], struck: Struck, elsewhere: Elsewhere
) -> tuple[str, float | None]:
    """What clears one obstacle of one program's moves, and the number by which such remedies are compared."""
    solid = struck[0][0]
    if solid.kind == "insert":
        return _off_the_metal(run, struck)
    clamp = _clamp_of(run, solid)
    tops = [one.top for one in (clamp.bar, *clamp.bolt)] if clamp else [one.top for one, _ in struck]
    safe = max(tops) + ROOM
    if all(_is_high(run, strike).all() for _, strike in struck):
        return f"Raise the safe height to at least {at_least(run.setup, safe)} above the bed.", safe
    ways = []
    place = elsewhere(clamp.name) if clamp else None
    if place:
        higher = f" and raise the safe height to at least {at_least(run.setup, safe)} above the bed"
        ways.append(f"move the clamp {place.said}{higher if place.higher else ''}")
    longer = _stick_out(run, boxes, struck)
    if longer:
        ways.append(longer)
    if not ways:
        ways.append(_no_way(run, struck) if clamp else _another_place(run, struck))
    said = ", or ".join(ways)
    return f"{said[0].upper()}{said[1:]}.", None


def _off_the_metal(run: Trial, struck: Struck) -> tuple[str, float]:
    less = max(float((solid.top - strike.tip).max()) for solid, strike in struck)
    aside = max(float(strike.inside.max()) for _, strike in struck) + ROOM
    said = f"Cut at least {at_least(run.setup, less)} less deep there, or "
    return f"{said}move the cut {at_least(run.setup, aside)} away from the metal.", less


def _no_way(run: Trial, struck: Struck) -> str:
    """Where nothing that was tried helps: what is in the way, and by how much."""
    aside = at_least(run.setup, max(float(strike.inside.max()) for _, strike in struck) + ROOM)
    where = "no other hole of the plate" if run.setup.holes else "no place near by"
    return (
        f"take another clamp or another place for the part: {where} clears it, and it is {aside} in the way"
    )


def _another_place(run: Trial, struck: Struck) -> str:
    """For a stop, dowel or screw: only the person who put it there knows where else it could stand."""
    aside = at_least(run.setup, max(float(strike.inside.max()) for _, strike in struck) + ROOM)
    return f"move {struck[0][0].name}, or the cut, {aside} aside, and state its new place"


def _is_high(run: Trial, strike: Strike) -> Mask:
    """Which striking moves are ways across, which may as well run higher."""
    high: Mask = (run.motion.kind[strike.moves] == RAPID) | (strike.tip > run.setup.stock.thickest)
    return high


def _clamp_of(run: Trial, solid: Obstacle) -> PlacedClamp | None:
    return next((clamp for clamp in run.setup.clamps if solid in (clamp.bar, *clamp.bolt)), None)


def _stick_out(run: Trial, boxes: list[Boxes], struck: Struck) -> str:
    """The stick-out that lifts nut and spindle over the obstacle, where nothing else strikes it."""
    if any(strike.cylinder.name not in ("collet nut", "spindle body") for _, strike in struck):
        return ""
    numbers = {int(run.motion.cutter[move]) for _, strike in struck for move in strike.moves}
    needed = {}
    for mine in boxes:
        if mine.cutter.number in numbers:
            lacking = max(
                solid.top + ROOM - (float(tip) + strike.cylinder.bottom)
                for solid, strike in struck
                for tip, move in zip(strike.tip, strike.moves, strict=True)
                if run.motion.cutter[move] == mine.cutter.number
            )
            longer = mine.cutter.stick_out + lacking
            needed[mine.cutter.name] = longer
            tried = mine._replace(cutter=replace(mine.cutter, stick_out=longer))
            if any(True for solid, _ in struck for _ in strikes_of(run, [tried], solid)):
                return ""
    if len(needed) == 1:
        return f"give the cutter a stick-out of at least {at_least(run.setup, *needed.values())}"
    each = [f"{name} {at_least(run.setup, longer)}" for name, longer in needed.items()]
    return f"give each cutter more stick-out: {', '.join(each)} at least"


# --- another place


def other_place(run: Trial, boxes: list[Boxes], name: str) -> Place | None:
    """The nearest place where a clamp, pointing as it does, is out of every move's way."""
    clamp = next(one for one in run.setup.clamps if one.name == name)
    shut = _shut(run, clamp)
    places: list[tuple[str, PlacedClamp]] = []
    for said, moved in _places(run, clamp):
        if _holds(run, clamp, moved, shut):
            if is_clear(run, boxes, _solids(moved)):
                return Place(said, higher=False)
            places.append((said, moved))
            if len(places) == MOST_TRIED:
                break
    low = [_low(run, mine) for mine in boxes]
    for said, moved in places:
        if is_clear(run, low, _solids(moved)):
            return Place(said, higher=True)
    return None


def _low(run: Trial, boxes: Boxes) -> Boxes:
    """The moves that go on as they are when the way across is raised."""
    cuts = (run.motion.kind[boxes.moves] != RAPID) & (boxes.low[:, 2] <= run.setup.stock.thickest)
    return Boxes(boxes.cutter, boxes.moves[cuts], boxes.low[cuts], boxes.high[cuts])


def _places(run: Trial, clamp: PlacedClamp) -> Iterator[tuple[str, PlacedClamp]]:
    """The clamp at every other free hole, nearest first; or moved aside, where no hole is known."""
    if not run.setup.holes:
        for far in ASIDE:
            for way, (x, y) in WAYS.items():
                yield f"{length(run.setup, far)} {way}", _moved(run, clamp, x * far, y * far)
        return
    taken = {one.hole for one in run.setup.clamps}
    axis = (clamp.bolt[0].footprint if clamp.bolt else clamp.bar.footprint).centroid
    free = [hole for hole in run.setup.holes if hole.name not in taken]
    for hole in sorted(free, key=lambda one: (math.hypot(one.x - axis.x, one.y - axis.y), one.name)):
        yield f"from {clamp.hole} to {hole.name}", _moved(run, clamp, hole.x - axis.x, hole.y - axis.y)


def _moved(run: Trial, clamp: PlacedClamp, x: float, y: float) -> PlacedClamp:
    bar = replace(clamp.bar, footprint=translate(clamp.bar.footprint, x, y))
    on_stock = bar.footprint.intersection(box(0, 0, *run.setup.stock.size))
    return replace(
        clamp,
        bar=bar,
        bolt=tuple(replace(one, footprint=translate(one.footprint, x, y)) for one in clamp.bolt),
        pressing=on_stock if isinstance(on_stock, Polygon) else Polygon(),
    )


def _shut(run: Trial, clamp: PlacedClamp) -> list[Polygon]:
    """Where nothing of a clamp may stand: the parts with some room, and the other clamps."""
    others = [one.footprint for each in run.setup.clamps if each is not clamp for one in _solids(each)]
    return [*others, *(part.outline.buffer(ROOM, quad_segs=4) for part in run.setup.parts)]


def _holds(run: Trial, clamp: PlacedClamp, moved: PlacedClamp, shut: list[Polygon]) -> bool:
    """Whether a clamp could be set there: on the stock, its bolt in the plate beside it, off what is shut."""
    if moved.pressing.area < min(clamp.pressing.area * 0.8, moved.bar.footprint.area * PRESSES):
        return False
    stock = box(0, 0, *run.setup.stock.size)
    if any(_through(solid, stock) for solid in moved.bolt) and not any(
        _through(solid, stock) for solid in clamp.bolt
    ):
        return False
    if not all(run.setup.plate.contains(solid.footprint.centroid) for solid in moved.bolt):
        return False
    return not any(_overlap(solid.footprint, other) for solid in _solids(moved) for other in shut)


def _through(solid: Obstacle, stock: Polygon) -> bool:
    return solid.bottom <= 0.0 and _overlap(solid.footprint, stock)


def _overlap(one: Polygon, other: Polygon) -> bool:
    left, front, right, back = one.bounds
    a, b, c, d = other.bounds
    apart = left >= c or a >= right or front >= d or b >= back
    return not apart and one.intersection(other).area > 0


def _solids(clamp: PlacedClamp) -> Iterable[Obstacle]:
    return (clamp.bar, *clamp.bolt)
