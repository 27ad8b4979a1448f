"""From closed loops to parts: what lies in what, what each hole is, and where a cutter can't go.

A loop in no other is a part's outline, one in it a hole, one in a hole a part again, of what the hole leaves.
Lengths in mm.
"""

import math
from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import shapely
from shapely import MultiPolygon, Polygon, STRtree
from shapely.geometry.base import BaseGeometry

from proveout.curve import Curve, Point
from proveout.drawing.loops import Loop, enclosing, spot
from proveout.drawing.match import Match, matches
from proveout.drawing.shapes import Shape, shape_of
from proveout.drawing.wires import Act
from proveout.finding import InputError
from proveout.job.records import Cutter
from proveout.quantity import show_length

WIDTH_ERROR: Final = 0.03  # mm by which a narrowest width that is searched for may be off
LEAST_WIDTH: Final = 0.2  # mm; nothing narrower is looked for
MOST_WIDTH: Final = 20.0  # mm; nothing wider is narrow
LADDER: Final = 1.3  # of one width tried to the next; less than 1 / FULL, so that none is passed over
FULL: Final = 0.6  # share of the cutter's radius that a disc in what it leaves has, for that to be no corner
SAME_PLACE: Final = 0.01  # mm and mm2 to which parts are compared when they are put in order
ALIKE: Final = 0.01  # mm by which a corner or a slot may be too small for a cutter that counts as going in
ON_AXIS: Final = 0.5  # mm by which a bolt's hole may lie off the middle of its hexagon
MOST_NAMES: Final = 4  # of cuts that are alike; more are counted
WHOLE: Final = frozenset({"circle", "obround", "rectangle", "hexagon"})  # as narrow as their name says


@dataclass(frozen=True, slots=True, kw_only=True)
class Hole:
    """A loop that is cut out of a part."""

    name: str  # "hole 1"
    loop: Loop
    shape: Shape
    matches: tuple[Match, ...]  # best first
    stepped: bool = False  # a bolt's hole in the middle of a hexagon that is a hole of the same part

    @property
    def text(self) -> str:
        """ "hole 1: circle 6.6 mm: M6 normal clearance hole (ISO 273)": the best match, if any."""
        return f"{self.name}: {self.matches[0].text if self.matches else self.shape.said}"


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawnPart:
    """A piece of material that a drawing bounds."""

    name: str  # "part 1"; the largest first
    loop: Loop  # its outline
    shape: Shape
    holes: tuple[Hole, ...]  # the largest first
    inside: str  # the name of the part whose hole it lies in; "" for none
    region: Polygon  # within the outline and outside the holes

    @property
    def curves(self) -> tuple[Curve, ...]:
        """The outline first, exact."""
        return (self.loop.curve, *(hole.loop.curve for hole in self.holes))

    @property
    def inside_radius(self) -> float | None:
        """The tightest inside corner of all its cuts; 0 where one is sharp, None where there is none."""
        cuts = [self.shape.inside_radius(hole=False)]
        cuts += [hole.shape.inside_radius(hole=True) for hole in self.holes]
        return min((radius for radius in cuts if radius is not None), default=None)

    @property
    def lines(self) -> tuple[str, ...]:
        """What it is, a line for the outline and one for each hole."""
        within = f", in a hole of {self.inside}" if self.inside else ""
        return (f"{self.name}: {self.shape.said}{within}", *(hole.text for hole in self.holes))


def understand(loops: Sequence[Loop], *, layers: Collection[str] | None = None) -> tuple[DrawnPart, ...]:
    """The parts that loops bound, the largest first, then from the left front on.

    Args:
        loops: closed, of one drawing
        layers: names of those that mean cuts; None takes all
    Raises:
        InputError: without a place: two loops that cross, lie on each other or share an edge
    """
    cuts = [one for one in loops if layers is None or one.layer in layers]
    around = enclosing(cuts)
    stepped = _stepped(cuts, around)
    outlines = [index for index, inside in enumerate(around) if len(inside) % 2 == 0 and index not in stepped]
    outlines.sort(key=lambda index: _order(cuts[index]))
    names = {index: f"part {number}" for number, index in enumerate(outlines, 1)}
    holes: dict[int, list[Loop]] = {index: [] for index in outlines}
    inside = dict.fromkeys(outlines, "")
    for index, loop in enumerate(cuts):
        within_it = 2 if index in stepped else 1
        for outer in around[index]:
            if len(around[outer]) != len(around[index]) - within_it:
                continue
            if outer in names:
                holes[outer].append(loop)
            else:  # the loop is an outline in a hole: the part is the one round that
                within = (one for one in around[outer] if len(around[one]) == len(around[outer]) - 1)
                inside[index] = names[next(within)]
    steps = {id(cuts[index]) for index in stepped}
    return tuple(_part(names[index], cuts[index], holes[index], inside[index], steps) for index in outlines)


def in_order(parts: Sequence[DrawnPart]) -> tuple[Loop, ...]:
    """All loops as they are numbered from 1: each part's outline, then its holes."""
    return tuple(loop for part in parts for loop in (part.loop, *(hole.loop for hole in part.holes)))


def _stepped(cuts: Sequence[Loop], around: Sequence[Collection[int]]) -> set[int]:
    """Circles about the middle of a hexagon, with nothing in them: a bolt's hole under its head."""
    filled = {outer for rings in around for outer in rings}
    found: set[int] = set()
    for index, rings in enumerate(around):
        if len(rings) < 2 or len(rings) % 2 or index in filled:
            continue
        innermost = max(rings, key=lambda one: len(around[one]))
        circle, hexagon = shape_of(cuts[index].curve), shape_of(cuts[innermost].curve)
        alike = (circle.kind, hexagon.kind) == ("circle", "hexagon")
        if alike and math.dist(circle.centre, hexagon.centre) <= ON_AXIS:
            found.add(index)
    return found


def _order(loop: Loop) -> tuple[int, int, int]:
    """The largest first, then the nearest to the front, then the left."""
    x, y, _, _ = loop.region.bounds
    return tuple(round(value / SAME_PLACE) for value in (-loop.region.area, y, x))


def _part(name: str, loop: Loop, holes: Sequence[Loop], inside: str, steps: Collection[int]) -> DrawnPart:
    ordered = sorted(holes, key=_order)
    region = Polygon(loop.region.exterior, [one.region.exterior for one in ordered if id(one) not in steps])
    if not region.is_valid:
        raise InputError(
            f"{name}, {loop.said}, has a hole that touches its outline or another hole along an edge: "
            f"{shapely.is_valid_reason(region)}. Draw them as one loop, or at least {LEAST_WIDTH} mm apart."
        )
    return DrawnPart(
        name=name,
        loop=loop,
        shape=shape_of(loop.curve),
        holes=tuple(
            _hole(f"hole {number}", one, stepped=id(one) in steps) for number, one in enumerate(ordered, 1)
        ),
        inside=inside,
        region=region,
    )


def _hole(name: str, loop: Loop, *, stepped: bool) -> Hole:
    shape = shape_of(loop.curve)
    found = matches(shape)
    if stepped:  # what stands in the middle of a hexagon is for its bolt, whatever else it might be
        found = tuple(sorted(found, key=lambda one: one.use not in ("bolt hole", "bolt body")))
    return Hole(name=name, loop=loop, shape=shape, matches=found, stepped=stepped)


# --- where cutters go


@dataclass(frozen=True, slots=True)
class _Cut:
    """One loop of a part, as a cutter meets it."""

    name: str  # "hole 3", "outline"
    at: Point
    radius: float | None  # of its tightest inside corner
    narrow: tuple[float, Point] | None  # its narrowest place and where


def reaches(part: DrawnPart, cutters: Sequence[Cutter]) -> tuple[Act, ...]:
    """Which flat cutters on hand can cut a part, and where it is narrow.

    First what is narrower than the smallest cutter and the inside corners that it can't cut, cuts that are
    alike in one act; then the largest cutter for all other inside corners; then the narrowest web, where that
    is under MOST_WIDTH. Webs between holes and to the outline are measured, within 0.002 mm; slots and necks
    of one loop are searched for: see `narrowest`.
    """
    flat = sorted((one for one in cutters if one.kind == "flat"), key=lambda one: one.diameter)
    if not flat:
        return (Act(kind="no cutter", text=f"{part.name}: there is no flat cutter on hand to cut it with."),)
    cuts = _cuts(part, least=flat[0].diameter)
    narrow = [one for one in cuts if one.narrow and one.narrow[0] < flat[0].diameter - ALIKE]
    cornered = [one for one in cuts if one not in narrow and one.radius is not None]
    tight = [one for one in cornered if _fitting(flat, one) is None]
    return (
        *(_too_narrow(part, group, flat[0]) for group in _alike(narrow, _width)),
        *(_not_cut(part, group, flat[0]) for group in _alike(tight, _radius)),
        *_are_cut(part, [one for one in cornered if one not in tight], flat, all_of=not tight and not narrow),
        *_web(part),
    )


def _cuts(part: DrawnPart, *, least: float) -> list[_Cut]:
    """All cuts of a part; narrow places are looked for up to the least cutter's diameter.

    Holes of one form, wherever they lie, are searched once.
    """
    known: dict[bytes, tuple[float, Point] | None] = {}

    def cut(name: str, loop: Loop, shape: Shape, *, hole: bool) -> _Cut:
        x, y = origin = loop.curve.segments[0].start
        form = (np.round(shapely.get_coordinates(loop.region) - origin, 4) + 0.0).tobytes()
        if form not in known:
            found = narrowest_cut(loop, shape, hole=hole, most=least)
            known[form] = found and (found[0], (found[1][0] - x, found[1][1] - y))
        narrow = known[form]
        return _Cut(
            name=name,
            at=origin,
            radius=shape.inside_radius(hole=hole),
            narrow=narrow and (narrow[0], (narrow[1][0] + x, narrow[1][1] + y)),
        )

    return [
        cut("outline", part.loop, part.shape, hole=False),
        *(cut(one.name, one.loop, one.shape, hole=True) for one in part.holes),
    ]


def _width(cut: _Cut) -> float:
    return cut.narrow[0] if cut.narrow else math.inf


def _radius(cut: _Cut) -> float:
    return math.inf if cut.radius is None else cut.radius


def _alike(cuts: Sequence[_Cut], size: Callable[[_Cut], float]) -> list[list[_Cut]]:
    """Cuts of one size together, the smallest first."""
    groups: dict[int, list[_Cut]] = {}
    for one in cuts:
        groups.setdefault(round(size(one) / ALIKE), []).append(one)
    return [groups[key] for key in sorted(groups)]


def _named(part: DrawnPart, cuts: Sequence[_Cut]) -> str:
    """ "part 1, hole 3", "part 1, hole 3, hole 4 and 608 more like them"."""
    names = [one.name for one in cuts]
    if len(names) > MOST_NAMES:
        return f"{part.name}, {', '.join(names[: MOST_NAMES - 1])} and {len(names) - MOST_NAMES + 1} more"
    return f"{part.name}, {', '.join(names)}"


def _fitting(flat: Sequence[Cutter], cut: _Cut) -> Cutter | None:
    """The largest cutter that cuts the tightest corner."""
    return max(
        (one for one in flat if one.radius <= _radius(cut) + ALIKE),
        key=lambda one: one.diameter,
        default=None,
    )


def _not_cut(part: DrawnPart, cuts: Sequence[_Cut], least: Cutter) -> Act:
    radius = _radius(cuts[0])
    what = f"inside corners of {show_length(radius)} radius" if radius else "sharp inside corners"
    # What stays is longest on the corner's bisector: (r - radius) (sqrt(2) - 1) in a right-angled one.
    stays = (least.radius - radius) * (math.sqrt(2) - 1)
    text = (
        f"{_named(part, cuts)}: {what}. Cutter {least.number} ({show_length(least.diameter)}), the smallest "
        f"flat one on hand, leaves {show_length(stays)} in a right angle. Draw a radius of at least "
        f"{show_length(least.radius)}, or relieve the corners."
    )
    return Act(kind="corners not cut", text=text, at=cuts[0].at, size=radius)


def _are_cut(
    part: DrawnPart, cuts: Sequence[_Cut], flat: Sequence[Cutter], *, all_of: bool
) -> tuple[Act, ...]:
    if not cuts:
        return ()
    tightest = min(cuts, key=_radius)
    largest = _fitting(flat, tightest)
    assert largest is not None
    which = "every inside corner" if all_of else "every other inside corner"
    text = (
        f"{part.name}: {which} is cut by cutter {largest.number} ({show_length(largest.diameter)}); the "
        f"tightest, of {tightest.name}, has a radius of {show_length(_radius(tightest))}."
    )
    return (Act(kind="corners cut", text=text, at=tightest.at, size=tightest.radius),)


def _too_narrow(part: DrawnPart, cuts: Sequence[_Cut], least: Cutter) -> Act:
    assert cuts[0].narrow is not None
    width, at = cuts[0].narrow
    text = (
        f"{_named(part, cuts)}: {show_length(width)} at the narrowest, at {spot(at)}; cutter {least.number} "
        f"({show_length(least.diameter)}) is the smallest flat one on hand. Draw it at least "
        f"{show_length(least.diameter)} wide, or bring a cutter of {show_length(width)} or less."
    )
    return Act(kind="slot too narrow", text=text, at=at, size=width)


def _web(part: DrawnPart) -> tuple[Act, ...]:
    found = narrowest_web(part)
    if found is None:
        return ()
    width, at = found
    said = f"{part.name}: the narrowest web is {show_length(width)}, at {spot(at)}."
    return (Act(kind="narrowest web", text=said, at=at, size=width),)


def narrowest_cut(
    loop: Loop, shape: Shape, *, hole: bool, most: float = MOST_WIDTH
) -> tuple[float, Point] | None:
    """The narrowest place that a cutter meets, its width and where; None where all is wider than `most`.

    In a hole the cutter is within the loop; round an outline it is outside, where bays may be narrow.
    """
    if hole:
        if shape.kind in WHOLE:
            return (shape.width, shape.centre) if shape.width < most else None
        return narrowest(loop.region, most)
    if shape.inside_radius(hole=False) is None:
        return None
    left, front, right, back = loop.region.bounds
    more = 1.5 * most  # so that the frame itself is nowhere narrow
    frame = shapely.box(left - more, front - more, right + more, back + more)
    return narrowest(frame.difference(loop.region), most)


def narrowest_web(part: DrawnPart) -> tuple[float, Point] | None:
    """The narrowest place of a part's material, its width and where; None where all is over MOST_WIDTH."""
    if part.shape.kind in WHOLE:
        own = (part.shape.width, part.shape.centre) if part.shape.width < MOST_WIDTH else None
    else:
        own = narrowest(part.loop.region)
    found = [one for one in (own, _between(part)) if one is not None and one[0] < MOST_WIDTH]
    return min(found, default=None)


def _between(part: DrawnPart) -> tuple[float, Point] | None:
    """The least distance between two holes, or from one to the outline."""
    open_holes = [one for one in part.holes if not one.stepped]
    if not open_holes:
        return None
    holes = np.array([one.loop.region for one in open_holes])
    edge = part.loop.region.exterior
    shapely.prepare(edge)
    to_edge = shapely.distance(holes, edge)
    nearest = int(to_edge.argmin())
    pair, least = (holes[nearest], edge), float(to_edge[nearest])
    if len(holes) > 1:
        (one, other), apart = STRtree(holes).query_nearest(
            holes, max_distance=max(least, SAME_PLACE), return_distance=True, exclusive=True
        )
        if len(apart) and apart.min() < least:
            row = int(apart.argmin())
            pair, least = (holes[one[row]], holes[other[row]]), float(apart[row])
    return least, _midway(*pair)


def _midway(one: BaseGeometry, other: BaseGeometry) -> Point:
    (x, y), (to_x, to_y) = shapely.get_coordinates(shapely.shortest_line(one, other)).tolist()
    return (x + to_x) / 2, (y + to_y) / 2


def narrowest(room: Polygon, most: float = MOST_WIDTH) -> tuple[float, Point] | None:
    """The least width between LEAST_WIDTH and `most`, or little more, that a room narrows to, and where.

    The width of the smallest disc that, rolled through the room, finds it parted, or leaves more of it than
    a corner: a disc of FULL of its own radius. So a corner sharper than 29 degrees counts as a narrow place.
    Right within WIDTH_ERROR for a slot with parallel walls and for a neck between two wide places; a bay
    that narrows to its blind end between curved walls comes out wider than it is.
    """
    free, tried = 0.0, LEAST_WIDTH / 2
    while _blocked(room, tried) is None:
        free, tried = tried, tried * LADDER
        if free > most / 2:
            return None
    while tried - free > WIDTH_ERROR / 4:
        half = (free + tried) / 2
        if _blocked(room, half) is None:
            free = half
        else:
            tried = half
    at = _blocked(room, tried)
    assert at is not None
    return 2 * free if free else 2 * tried, at


def _blocked(room: Polygon, radius: float) -> Point | None:
    """Where a disc doesn't pass; None where it comes everywhere but into corners."""
    centres = room.buffer(-radius)
    if centres.is_empty:
        return _point(room)
    if isinstance(centres, MultiPolygon):
        one, *others = sorted(centres.geoms, key=lambda piece: piece.area)
        return _midway(one, MultiPolygon(others))
    left = room.difference(centres.buffer(radius)).buffer(-FULL * radius)
    return None if left.is_empty else _point(left)


def _point(region: BaseGeometry) -> Point:
    inner = region.representative_point()
    return float(inner.x), float(inner.y)
