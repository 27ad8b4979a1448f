"""Inside corners as a round cutter leaves them: sharp corners between lines become arcs of its radius."""

import math
from collections.abc import Iterator
from typing import Final

from proveout.curve import Curve, Point, Segment
from proveout.finding import InputError

STRAIGHT: Final = 0.01  # rad; a flatter corner is no corner
FLAT: Final = 1e-9


def turning_left(curve: Curve) -> Curve:
    """The ring walked anticlockwise."""
    return curve if _area(curve) > 0 else curve.reversed()


def _area(curve: Curve) -> float:
    """Twice the area of the ring of chords and of the segments over them, positive anticlockwise."""
    twice = 0.0
    for one in curve.segments:
        twice += one.start[0] * one.end[1] - one.end[0] * one.start[1]
        if one.centre is not None:
            twice += one.radius**2 * (one.sweep - math.sin(one.sweep))
    return twice


def sharp_corners(curve: Curve, *, hole: bool) -> tuple[Point, ...]:
    """Where a round cutter can't follow a ring: inside corners with no arc in them.

    Args:
        hole: the cutter works inside the ring; else round it
    """
    ring = turning_left(curve).segments
    return tuple(
        one.end
        for one, following in zip(ring, ring[1:] + ring[:1], strict=True)
        if (_turn(one, following) > STRAIGHT if hole else _turn(one, following) < -STRAIGHT)
    )


def least_inside_radius(curve: Curve, *, hole: bool) -> float:
    """Radius of the tightest arc that a cutter must follow on its inner side, mm; infinite for none."""
    return min(
        (one.radius for one in turning_left(curve).segments if one.centre is not None and one.ccw == hole),
        default=math.inf,
    )


def rounded(curve: Curve, radius: float, *, hole: bool) -> Curve:
    """The ring with every sharp inside corner between two lines as an arc of a radius; walked anticlockwise.

    Raises:
        InputError: a sharp corner at an arc, or at a line too short for the radius
    """
    ring = list(turning_left(curve).segments)
    count = len(ring)
    arcs: dict[int, Segment] = {}
    for index in range(count):
        following = (index + 1) % count
        turn = _turn(ring[index], ring[following])
        if not (turn > STRAIGHT if hole else turn < -STRAIGHT):
            continue
        cut, arc = _cut(ring[index], ring[following], turn, radius)
        ring[index] = Segment(ring[index].start, cut[0])
        ring[following] = Segment(cut[1], ring[following].end)
        arcs[index] = arc
    return Curve(tuple(_with_arcs(ring, arcs)))


def goes_round(curve: Curve, radius: float, *, hole: bool) -> bool:
    """Whether an arc of a radius has room in every sharp inside corner."""
    try:
        rounded(curve, radius, hole=hole)
    except InputError:
        return False
    return True


def _with_arcs(ring: list[Segment], arcs: dict[int, Segment]) -> Iterator[Segment]:
    for index, one in enumerate(ring):
        if one.length > FLAT:
            yield one
        if index in arcs:
            yield arcs[index]


def _cut(one: Segment, following: Segment, turn: float, radius: float) -> tuple[tuple[Point, Point], Segment]:
    """Where an arc of a radius leaves the first line and meets the second, and the arc."""
    x, y = one.end
    if one.centre is not None or following.centre is not None:
        raise InputError(
            f"the sharp inside corner at ({x:.3f}, {y:.3f}) mm lies at an arc; no round cutter makes it. "
            "Draw it with an arc of at least the cutter's radius."
        )
    back = radius * math.tan(abs(turn) / 2)
    if back > min(one.length, following.length) + FLAT:
        raise InputError(
            f"the sharp inside corner at ({x:.3f}, {y:.3f}) mm has a side of "
            f"{min(one.length, following.length):.2f} mm, and a cutter of {2 * radius:.2f} mm needs "
            f"{back:.2f} mm there. Use a slimmer cutter, or draw it with an arc."
        )
    begins, ends = _along(one.end, one.start, back), _along(following.start, following.end, back)
    side = math.copysign(1.0, turn)
    way = _way(one)
    centre = (begins[0] - side * way[1] * radius, begins[1] + side * way[0] * radius)
    return (begins, ends), Segment(begins, ends, centre, turn > 0)


def _along(start: Point, end: Point, by: float) -> Point:
    share = by / math.dist(start, end)
    return start[0] + (end[0] - start[0]) * share, start[1] + (end[1] - start[1]) * share


def _way(line: Segment) -> Point:
    length = math.dist(line.start, line.end)
    return (line.end[0] - line.start[0]) / length, (line.end[1] - line.start[1]) / length


def _turn(one: Segment, following: Segment) -> float:
    """By how much the way turns from one segment to the next, rad, positive to the left."""
    first, second = _direction(one, 1.0), _direction(following, 0.0)
    return math.atan2(
        first[0] * second[1] - first[1] * second[0], first[0] * second[0] + first[1] * second[1]
    )


def _direction(one: Segment, share: float) -> Point:
    if one.centre is None:
        return _way(one)
    x, y = one.at(share)
    side = 1.0 if one.ccw else -1.0
    return -side * (y - one.centre[1]) / one.radius, side * (x - one.centre[0]) / one.radius
