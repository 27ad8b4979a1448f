"""Places along a closed ring: by length from its first point."""

import math
from collections.abc import Iterator
from itertools import accumulate

from proveout.curve import Curve, Point, Segment

SHORT = 1e-7  # mm, pieces shorter than this are rounding


def stretch(ring: Curve, first: float, last: float) -> tuple[Segment, ...]:
    """The segments from one length to a later one; lengths may run past the ring's end, round and round."""
    return tuple(_stretch(ring, first, last))


def _stretch(ring: Curve, first: float, last: float) -> Iterator[Segment]:
    sizes = [one.length for one in ring.segments]
    length = sum(sizes)
    lap = math.floor(first / length) * length
    while lap < last:
        begin = lap
        for one, size in zip(ring.segments, sizes, strict=True):
            low, high = max(first - begin, 0.0), min(last - begin, size)
            if high - low > SHORT:
                yield part_of(one, low / size, high / size)
            begin += size
        lap += length


def part_of(piece: Segment, low: float, high: float) -> Segment:
    """The segment between two shares of its way; whole ends stay exactly what they were."""
    from_start, to_end = low * piece.length <= SHORT, (1 - high) * piece.length <= SHORT
    if from_start and to_end:
        return piece
    start = piece.start if from_start else piece.at(low)
    end = piece.end if to_end else piece.at(high)
    return Segment(start, end, piece.centre, piece.ccw)


def begun_at(ring: Curve, at: float) -> Curve:
    """The same ring, begun at a length."""
    return Curve(stretch(ring, at, at + ring.length))


def place(ring: Curve, at: float) -> Point:
    """The point at a length from the first."""
    point, _ = _met(ring, at)
    return point


def direction(ring: Curve, at: float) -> Point:
    """The unit direction of travel at a length."""
    _, way = _met(ring, at)
    return way


def _met(ring: Curve, at: float) -> tuple[Point, Point]:
    left = at % ring.length
    for one in ring.segments:
        size = one.length
        if left <= size:
            point = one.at(left / size)
            return point, heading(one, point)
        left -= size
    last = ring.segments[-1]
    return last.end, heading(last, last.end)


def heading(piece: Segment, at: Point) -> Point:
    """The unit direction of travel on a segment at one of its points."""
    if piece.centre is None:
        dx, dy = piece.end[0] - piece.start[0], piece.end[1] - piece.start[1]
    else:
        sign = 1 if piece.ccw else -1
        dx, dy = -(at[1] - piece.centre[1]) * sign, (at[0] - piece.centre[0]) * sign
    size = math.hypot(dx, dy)
    return dx / size, dy / size


def nearest(ring: Curve, point: Point) -> tuple[float, float]:
    """Length at which the ring is nearest to a point, and how far it is from it there."""
    begins = accumulate((one.length for one in ring.segments), initial=0.0)
    found = (
        (*_foot(one, point), begin, one.length) for one, begin in zip(ring.segments, begins, strict=False)
    )
    gap, share, begin, size = min(found)
    return begin + share * size, gap


def _foot(piece: Segment, point: Point) -> tuple[float, float]:
    """Distance from the segment, and the share of its way where that is."""
    share = _share(piece, point)
    return math.dist(piece.at(share), point), share


def _share(piece: Segment, point: Point) -> float:
    if piece.centre is None:
        dx, dy = piece.end[0] - piece.start[0], piece.end[1] - piece.start[1]
        along = (point[0] - piece.start[0]) * dx + (point[1] - piece.start[1]) * dy
        return min(max(along / (dx * dx + dy * dy), 0.0), 1.0)
    first = math.atan2(piece.start[1] - piece.centre[1], piece.start[0] - piece.centre[0])
    here = math.atan2(point[1] - piece.centre[1], point[0] - piece.centre[0])
    sweep = piece.sweep
    turned = (here - first if sweep > 0 else first - here) % math.tau
    if turned <= abs(sweep):
        return turned / abs(sweep)
    return 1.0 if turned - abs(sweep) < (math.tau - abs(sweep)) / 2 else 0.0


def longest_middle(ring: Curve) -> float:
    """Length at the middle of the longest segment: where a start or a stop shows and matters least."""
    begins = list(accumulate((one.length for one in ring.segments), initial=0.0))
    index = max(range(len(ring.segments)), key=lambda i: (round(ring.segments[i].length, 6), -i))
    return begins[index] + ring.segments[index].length / 2
