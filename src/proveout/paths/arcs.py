"""Arcs and lines through a dense ring of points, within a stated deviation."""

import math
from typing import Final

import numpy as np

from proveout.curve import Curve, Point, Points, Segment

ARC_DEVIATION: Final = 0.002  # mm, of a fitted arc from the dense ring: a fifth of the wall check's 0.01


def fitted(points: Points, deviation: float = ARC_DEVIATION) -> Curve:
    """A ring of as few lines and arcs as a greedy walk needs; no point or chord is further off than stated.

    Args:
        points: (n, 2), the first not repeated, at least three
        deviation: mm
    """
    ring = np.vstack((points, points[:1]))
    segments: list[Segment] = []
    first, last = 0, len(ring) - 1
    while first < last:
        reach, segment = _furthest(ring, first, last, deviation)
        segments.append(segment)
        first = reach
    return Curve(tuple(segments))


def _furthest(ring: Points, first: int, last: int, deviation: float) -> tuple[int, Segment]:
    """The longest piece from a point on, found by doubling and halving."""
    good, segment = first + 1, Segment(_point(ring, first), _point(ring, first + 1))
    bad, step = last + 1, 1
    while bad - good > 1:
        trial = min(good + step, last) if bad > last else (good + bad) // 2
        if trial == good:
            break
        piece = _piece(ring[first : trial + 1], deviation)
        if piece is None:
            bad = trial
        else:
            good, segment, step = trial, piece, 2 * step
    return good, segment


def _piece(points: Points, deviation: float) -> Segment | None:
    """A line or an arc from the first point to the last that stays near all between; None if neither does."""
    start, end = _point(points, 0), _point(points, -1)
    chord = points[-1] - points[0]
    length = float(np.hypot(*chord))
    if length < deviation:
        return None
    arms = points - points[0]
    off = (chord[0] * arms[:, 1] - chord[1] * arms[:, 0]) / length
    if np.abs(off).max() <= deviation:
        return Segment(start, end)
    return _arc(points, start, end, deviation)


def _arc(points: Points, start: Point, end: Point, deviation: float) -> Segment | None:
    middle = _point(points, len(points) // 2)
    centre = _centre(start, middle, end)
    if centre is None:
        return None
    radius = math.dist(start, centre)
    chord_middles = (points[1:] + points[:-1]) / 2
    for some in (points, chord_middles):
        if np.abs(np.hypot(*(some - np.array(centre)).T) - radius).max() > deviation:
            return None
    turn = (middle[0] - start[0]) * (end[1] - start[1]) - (middle[1] - start[1]) * (end[0] - start[0])
    segment = Segment(start, end, centre, turn > 0)
    return segment if abs(segment.sweep) < 0.9 * math.pi else None


def _centre(one: Point, two: Point, three: Point) -> Point | None:
    """Centre of the circle through three points; None where they lie on a line."""
    ax, ay = two[0] - one[0], two[1] - one[1]
    bx, by = three[0] - one[0], three[1] - one[1]
    doubled = 2 * (ax * by - ay * bx)
    if abs(doubled) < 1e-12:
        return None
    a, b = ax * ax + ay * ay, bx * bx + by * by
    return one[0] + (by * a - ay * b) / doubled, one[1] + (ax * b - bx * a) / doubled


def _point(points: Points, index: int) -> Point:
    return float(points[index, 0]), float(points[index, 1])
