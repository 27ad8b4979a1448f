"""Closed loops, and regions by what lies in what; what crosses or lies on another is refused.

Where a gap is closed a line yields to an arc, so that every arc stays on the circle that its entity states.
"""

import math
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import shapely
from shapely import Polygon, STRtree

from proveout.curve import Curve, Point, Segment
from proveout.finding import InputError

SAME: Final = 1e-6  # mm; nearer than this, ends are left as they are
SLIVER: Final = 0.002  # mm of width, along the smaller loop, of an overlap that is only rounding


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


# --- ends that meet


def joined(segments: Sequence[Segment]) -> tuple[Segment, ...]:
    """A ring whose segments each start where the one before ends, gaps closed."""
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
