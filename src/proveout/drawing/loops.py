"""From pieces to closed loops, and from loops to regions by what lies in what. Nothing is guessed.

Ends that meet within JOIN are joined: a line yields to an arc, so that every arc stays on the circle that
its entity states. Whatever stays open, branches, crosses itself or lies on another is refused with its place.
"""

import math
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Final

import shapely
from shapely import Polygon, STRtree

from proveout.curve import FLATTEN, Curve, Point, Segment, polygon
from proveout.drawing.piece import Piece
from proveout.finding import InputError

JOIN: Final = 0.01  # mm between two ends that are one point
SAME: Final = 1e-6  # mm; nearer than this, ends are left as they are
SLIVER: Final = 0.002  # mm of width, along the smaller loop, of an overlap that is only rounding
MOST_LOOPS: Final = 5_000
MOST_POINTS: Final = 1_000_000  # of the polygons

End = tuple[int, bool]  # a piece's number, and whether its last end is meant


@dataclass(frozen=True, slots=True, kw_only=True)
class Loop:
    """A closed curve, exact, and the region in it."""

    layer: str
    entity: str  # the first that it is made of
    curve: Curve
    region: Polygon

    @property
    def said(self) -> str:
        """As it is spoken of: its entity and where it lies."""
        return f"the loop of {self.entity} at {spot(self.curve.segments[0].start)}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Region:
    """What lies in one loop and outside those directly in it; every curve exact."""

    loop: Loop
    islands: tuple[Loop, ...]

    @property
    def curves(self) -> tuple[Curve, ...]:
        """The outer curve first."""
        return (self.loop.curve, *(one.curve for one in self.islands))


def spot(point: Point) -> str:
    """A place in the drawing as a message gives it, mm."""
    return f"({round(point[0], 3) + 0.0:g}, {round(point[1], 3) + 0.0:g}) mm"


# --- from pieces to loops


def closed_loops(pieces: Sequence[Piece]) -> tuple[Loop, ...]:
    """The loops that the pieces of one layer make, in the order of their first pieces.

    Raises:
        InputError: without a place: a chain that is open, ends where three or more meet, a loop that crosses
            itself or has no area, or too many of them
    """
    whole = {number: (one,) for number, one in enumerate(pieces) if one.closed}
    loose = {
        number: one
        for number, one in enumerate(pieces)
        if not one.closed and (len(one.segments) > 1 or one.segments[0].length > JOIN)
    }
    runs = {**whole, **_chains(loose)}
    if len(runs) > MOST_LOOPS:
        raise InputError(f"there are more than {MOST_LOOPS} closed loops, the most that is read.")
    _bound_points(run for one in runs.values() for run in one)
    return tuple(_loop(runs[number]) for number in sorted(runs))


def _bound_points(pieces: Iterable[Piece]) -> None:
    points = sum(
        1 + abs(one.sweep) / math.sqrt(8 * FLATTEN / one.radius) if one.centre and one.radius else 1
        for piece in pieces
        for one in piece.segments
    )
    if points > MOST_POINTS:
        raise InputError(f"its curves are so long or so many that they take over {MOST_POINTS} points.")


def _chains(pieces: dict[int, Piece]) -> dict[int, tuple[Piece, ...]]:
    """Open pieces put end to end until they close, each turned to run on from the one before it."""
    partner = _partners(pieces)
    done: set[int] = set()
    chains: dict[int, tuple[Piece, ...]] = {}
    for number in pieces:
        if number not in done:
            ends = _walk((number, False), partner)
            done.update(one for one, _ in ends)
            chains[number] = tuple(_turned(pieces[one], backwards=last) for one, last in ends)
    return chains


def _walk(begin: End, partner: dict[End, End]) -> list[End]:
    """The ends by which each piece is entered, from one end round to it again."""
    ends = [begin]
    while (following := partner[ends[-1][0], not ends[-1][1]]) != begin:
        ends.append(following)
    return ends


def _turned(piece: Piece, *, backwards: bool) -> Piece:
    if not backwards:
        return piece
    return replace(piece, segments=tuple(one.reversed() for one in piece.segments[::-1]))


def _partners(pieces: dict[int, Piece]) -> dict[End, End]:
    """For each end the one that it meets."""
    ends: list[End] = [(number, last) for number in pieces for last in (False, True)]
    met = _groups({end: _point(pieces, end) for end in ends})
    partner: dict[End, End] = {}
    for group in met:
        if len(group) > 2:
            names = ", ".join(dict.fromkeys(pieces[number].entity for number, _ in group))
            raise InputError(
                f"{len(group)} ends meet at {spot(_point(pieces, group[0]))}, of {names}. A loop's lines "
                "meet two by two: take the others away, or put them on a layer of their own."
            )
        if len(group) == 2:
            partner[group[0]], partner[group[1]] = group[1], group[0]
    for end in ends:
        if end not in partner:
            raise _open(pieces, partner, end)
    return partner


def _point(pieces: dict[int, Piece], end: End) -> Point:
    number, last = end
    return pieces[number].segments[-1].end if last else pieces[number].segments[0].start


def _open(pieces: dict[int, Piece], partner: dict[End, End], begin: End) -> InputError:
    """A chain that ends: where it begins and where it stops."""
    here = begin
    while (far := (here[0], not here[1])) in partner:
        here = partner[far]
    one, other = _point(pieces, begin), _point(pieces, far)
    return InputError(
        f"the chain from {pieces[begin[0]].entity} to {pieces[far[0]].entity} is open: its ends lie at "
        f"{spot(one)} and {spot(other)}, {math.dist(one, other):.3g} mm apart. Close it in the drawing; gaps "
        f"of up to {JOIN} mm are closed here."
    )


def _groups(points: dict[End, Point]) -> list[list[End]]:
    """Ends that lie within JOIN of one another, in their first one's order."""
    squares: defaultdict[tuple[int, int], list[End]] = defaultdict(list)
    leader: dict[End, End] = {}
    groups: dict[End, list[End]] = {}
    for end, (x, y) in points.items():
        column, row = math.floor(x / JOIN), math.floor(y / JOIN)
        near = [
            other
            for i in (column - 1, column, column + 1)
            for j in (row - 1, row, row + 1)
            for other in squares.get((i, j), ())
            if math.dist(points[other], (x, y)) <= JOIN
        ]
        first = leader[near[0]] if near else end
        groups.setdefault(first, []).append(end)
        leader[end] = first
        for other in dict.fromkeys(leader[one] for one in near[1:]):
            if other != first:  # this end brings two groups together
                for one in groups.pop(other):
                    leader[one] = first
                    groups[first].append(one)
        squares[column, row].append(end)
    return list(groups.values())


def _loop(run: Sequence[Piece]) -> Loop:
    curve = Curve(joined([segment for piece in run for segment in piece.segments]))
    first = run[0]
    region = _region(curve)
    if region is None or not region.is_valid or region.area <= SLIVER * curve.length:
        where = _fault_spot(region) or spot(curve.segments[0].start)
        raise InputError(
            f"the loop of {first.entity} crosses itself or has no area, at {where}. Draw it as one ring that "
            "never touches itself."
        )
    return Loop(layer=first.layer, entity=first.entity, curve=curve, region=region)


def _region(curve: Curve) -> Polygon | None:
    try:
        return polygon((curve,))
    except (ValueError, shapely.errors.GEOSException):  # fewer than three points
        return None


def _fault_spot(region: Polygon | None) -> str:
    """Where a polygon isn't one, out of the library's "Self-intersection[12.5 8]"."""
    said = shapely.is_valid_reason(region) if region is not None else ""
    numbers = said.partition("[")[2].rstrip("]").split()
    return spot((float(numbers[0]), float(numbers[1]))) if len(numbers) == 2 else ""


# --- ends that meet


def joined(segments: Sequence[Segment]) -> tuple[Segment, ...]:
    """A ring whose segments each start where the one before ends, gaps of up to JOIN closed."""
    ring = list(segments)
    bridges: dict[int, Segment] = {}
    for index in range(len(ring)):
        following = (index + 1) % len(ring)
        if math.dist(ring[index].end, ring[following].start) > SAME:
            end, start = _meeting(ring[index], ring[following])
            ring[index] = replace(ring[index], end=end)
            ring[following] = replace(ring[following], start=start)
            if math.dist(end, start) > SAME:
                bridges[index] = Segment(end, start)
    return tuple(
        one for index, segment in enumerate(ring) for one in (segment, bridges.get(index)) if one is not None
    )


def _meeting(one: Segment, other: Segment) -> tuple[Point, Point]:
    """Where one segment shall end and the other start: at one point, or abreast of each other for arcs."""
    if one.centre is None and other.centre is not None:
        return other.start, other.start
    if one.centre is not None and other.centre is None:
        return one.end, one.end
    middle = ((one.end[0] + other.start[0]) / 2, (one.end[1] + other.start[1]) / 2)
    return _on_circle(one, middle), _on_circle(other, middle)


def _on_circle(segment: Segment, point: Point) -> Point:
    """The point itself for a line; for an arc the nearest of its circle, so that it stays exact."""
    if segment.centre is None:
        return point
    x, y = point[0] - segment.centre[0], point[1] - segment.centre[1]
    share = segment.radius / math.hypot(x, y)
    return segment.centre[0] + x * share, segment.centre[1] + y * share


# --- what lies in what


def outermost(loops: Sequence[Loop]) -> tuple[Loop, ...]:
    """The loops that lie in no other.

    Raises:
        InputError: as `regions`
    """
    return tuple(loop for loop, around in zip(loops, enclosing(loops), strict=True) if not around)


def regions(loops: Sequence[Loop]) -> tuple[Region, ...]:
    """The regions that loops bound: a loop in another is an island in it, one in an island a region again.

    Raises:
        InputError: without a place: two loops that cross, or lie on each other
    """
    around = enclosing(loops)
    depth = [len(one) for one in around]
    islands: defaultdict[int, list[Loop]] = defaultdict(list)
    for inner, loop in enumerate(loops):
        for outer in around[inner]:
            if depth[outer] == depth[inner] - 1:
                islands[outer].append(loop)
    return tuple(
        Region(loop=loop, islands=tuple(islands[index]))
        for index, loop in enumerate(loops)
        if depth[index] % 2 == 0
    )


def enclosing(loops: Sequence[Loop]) -> list[set[int]]:
    """For each loop the numbers of those that it lies in.

    Raises:
        InputError: as `regions`
    """
    around: list[set[int]] = [set() for _ in loops]
    if len(loops) < 2:
        return around
    shapes = [loop.region for loop in loops]
    tree = STRtree(shapes)
    clear = set(zip(*tree.query(shapes, predicate="contains_properly").tolist(), strict=True))
    for large, small in clear:
        around[small].add(large)
    for one, other in tree.query(shapes, predicate="intersects").T.tolist():
        if one < other and (one, other) not in clear and (other, one) not in clear:
            small, large = (one, other) if shapes[one].area <= shapes[other].area else (other, one)
            if _lies_in(loops[small], loops[large]):  # the slow way, for those that touch
                around[small].add(large)
    return around


def _lies_in(small: Loop, large: Loop) -> bool:
    rounding = SLIVER * small.curve.length
    shared = small.region.intersection(large.region).area
    if shared <= rounding:
        return False
    if shared < small.region.area - rounding:
        raise InputError(
            f"{small.said} crosses {large.said}{_crossing(small, large)}. Make one of the two, or draw them "
            "apart."
        )
    if large.region.area - small.region.area <= rounding:
        raise InputError(f"{small.said} lies on {large.said}: one of them is drawn twice. Take it away.")
    return True


def _crossing(one: Loop, other: Loop) -> str:
    """Where two loops first cross."""
    met = shapely.get_coordinates(one.region.boundary.intersection(other.region.boundary))
    return f", at {spot((float(met[0][0]), float(met[0][1])))}" if len(met) else ""
