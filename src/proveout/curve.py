"""Closed curves of lines and circular arcs: the exact boundary of every part and feature.

A `Curve` is a ring of segments; polygons are made from it only where a library wants them. Arcs stay arcs
from the pattern to the program.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Final

import numpy as np
import numpy.typing as npt
import shapely
from shapely import Polygon
from shapely.geometry.polygon import orient

Point = tuple[float, float]
Points = npt.NDArray[np.float64]  # (n, 2) mm

FEWEST_POINTS: Final = 3  # of a ring
FLATTEN: Final = 0.001  # mm, chord error of polygons made from curves: a tenth of the wall check's 0.01


@dataclass(frozen=True, slots=True)
class Segment:
    """A line, or an arc of less than a full turn where it has a centre."""

    start: Point
    end: Point
    centre: Point | None = None
    ccw: bool = True
    # Kept once it was asked for, since tracing asks a hundred times and nothing here ever changes.
    _sweep: float | None = field(default=None, init=False, repr=False, compare=False)
    _length: float | None = field(default=None, init=False, repr=False, compare=False)

    @property
    def radius(self) -> float:
        """Radius of an arc; 0 for a line."""
        return math.dist(self.start, self.centre) if self.centre else 0.0

    @property
    def sweep(self) -> float:
        """Signed turn of an arc in radians, positive anticlockwise; 0 for a line."""
        if self._sweep is None:
            object.__setattr__(self, "_sweep", self._turned())
        return self._sweep or 0.0

    def _turned(self) -> float:
        if self.centre is None:
            return 0.0
        first = math.atan2(self.start[1] - self.centre[1], self.start[0] - self.centre[0])
        last = math.atan2(self.end[1] - self.centre[1], self.end[0] - self.centre[0])
        turn = (last - first) % math.tau if self.ccw else -((first - last) % math.tau)
        return turn or (math.tau if self.ccw else -math.tau)

    @property
    def length(self) -> float:
        """Length along the segment."""
        if self._length is None:
            straight = self.centre is None
            length = math.dist(self.start, self.end) if straight else abs(self.sweep) * self.radius
            object.__setattr__(self, "_length", length)
        return self._length or 0.0

    def at(self, share: float) -> Point:
        """The point at a share (0 to 1) of the way along."""
        if self.centre is None:
            return (
                self.start[0] + (self.end[0] - self.start[0]) * share,
                self.start[1] + (self.end[1] - self.start[1]) * share,
            )
        angle = math.atan2(self.start[1] - self.centre[1], self.start[0] - self.centre[0])
        angle += self.sweep * share
        radius = self.radius
        return self.centre[0] + radius * math.cos(angle), self.centre[1] + radius * math.sin(angle)

    def reversed(self) -> "Segment":
        """The same segment walked the other way."""
        return Segment(self.end, self.start, self.centre, not self.ccw)


@dataclass(frozen=True, slots=True)
class Curve:
    """A closed ring of segments, each starting where the one before ends."""

    segments: tuple[Segment, ...]

    def __post_init__(self) -> None:
        if not self.segments:
            raise ValueError("a curve needs at least one segment")
        for one, following in zip(self.segments, self.segments[1:] + self.segments[:1], strict=True):
            if math.dist(one.end, following.start) > 1e-6:
                raise ValueError(f"the curve is open between {one.end} and {following.start}")

    @property
    def length(self) -> float:
        """Length once round."""
        return sum(segment.length for segment in self.segments)

    def reversed(self) -> "Curve":
        """The same ring walked the other way."""
        return Curve(tuple(segment.reversed() for segment in self.segments[::-1]))


def circle(centre: Point, diameter: float) -> Curve:
    """A full circle, anticlockwise, as two halves."""
    radius = diameter / 2
    right, left = (centre[0] + radius, centre[1]), (centre[0] - radius, centre[1])
    return Curve((Segment(right, left, centre), Segment(left, right, centre)))


def is_circle(curve: Curve, tolerance: float = 1e-6) -> tuple[Point, float] | None:
    """Centre and diameter where every segment is an arc of one circle; otherwise None."""
    first = curve.segments[0]
    if first.centre is None:
        return None
    for segment in curve.segments:
        if segment.centre is None or math.dist(segment.centre, first.centre) > tolerance:
            return None
        if abs(segment.radius - first.radius) > tolerance:
            return None
    return first.centre, 2 * first.radius


def from_points(points: Sequence[Point]) -> Curve:
    """A ring of straight segments through the points; the first is not repeated."""
    ring = list(points)
    return Curve(tuple(Segment(a, b) for a, b in zip(ring, ring[1:] + ring[:1], strict=True)))


def flatten(curve: Curve, tolerance: float = FLATTEN) -> Points:
    """Points (n, 2) on the curve, first not repeated, no chord further off than tolerance."""
    runs = [_segment_points(segment, tolerance) for segment in curve.segments]
    return np.concatenate(runs)


def _segment_points(segment: Segment, tolerance: float) -> Points:
    if segment.centre is None:
        return np.array([segment.start])
    radius = segment.radius
    step = 2 * math.acos(max(1 - tolerance / radius, 0.0)) if radius > tolerance else math.pi / 2
    step = step or 4 * math.sqrt(tolerance / (2 * radius))  # the same where 1 is all that rounding leaves
    count = max(1, math.ceil(abs(segment.sweep) / step))
    first = math.atan2(segment.start[1] - segment.centre[1], segment.start[0] - segment.centre[0])
    angles = first + segment.sweep * np.arange(count) / count
    points = np.column_stack(
        (segment.centre[0] + radius * np.cos(angles), segment.centre[1] + radius * np.sin(angles))
    )
    points[0] = segment.start
    return points


def polygon(curves: Iterable[Curve], tolerance: float = FLATTEN) -> Polygon:
    """The region inside the first curve and outside the others, outer ring anticlockwise."""
    outer, *inner = curves
    return orient(Polygon(flatten(outer, tolerance), [flatten(hole, tolerance) for hole in inner]))


def disc_polygons(curves: Sequence[Curve], tolerance: float = FLATTEN) -> list[Polygon | None]:
    """The region inside each curve, as `polygon` makes it, all at once; None where it has no three points."""
    segments = [one for curve in curves for one in curve.segments]
    points, of = _points_of(segments, tolerance)
    ring = np.repeat(np.arange(len(curves)), [len(curve.segments) for curve in curves])[of]
    enough = np.bincount(ring, minlength=len(curves)) >= FEWEST_POINTS
    kept = enough[ring]
    numbers = np.cumsum(enough) - 1
    rings = shapely.linearrings(points[kept], indices=numbers[ring[kept]])
    made = iter(shapely.orient_polygons(shapely.polygons(rings)))
    return [next(made) if one else None for one in enough.tolist()]


def _points_of(segments: Sequence[Segment], tolerance: float) -> tuple[Points, npt.NDArray[np.int64]]:
    """The points of many segments as `flatten` places them, and the number of each point's segment."""
    start = np.array([one.start for one in segments]).reshape(-1, 2)
    arcs = np.flatnonzero([one.centre is not None for one in segments])
    arm = start[arcs] - np.array([segments[one].centre for one in arcs.tolist()]).reshape(-1, 2)
    radius = np.hypot(*arm.T)
    sweep = np.array([segments[one].sweep for one in arcs.tolist()])
    share = np.clip(tolerance / np.maximum(radius, 1e-300), 0.0, 1.0)
    step = np.where(radius > tolerance, 4 * np.arcsin(np.sqrt(share / 2)), math.pi / 2)
    counts = np.ones(len(segments), dtype=np.int64)
    counts[arcs] = np.maximum(1, np.ceil(np.abs(sweep) / step))
    of = np.repeat(np.arange(len(segments)), counts)
    part = np.arange(len(of)) - np.repeat(np.cumsum(counts) - counts, counts)
    points = start[of]
    which = np.full(len(segments), -1)
    which[arcs] = np.arange(len(arcs))
    inner = np.flatnonzero((part > 0) & (which[of] >= 0))
    arc = which[of[inner]]
    angle = np.arctan2(arm[arc, 1], arm[arc, 0]) + sweep[arc] * part[inner] / counts[of[inner]]
    centre = start[of[inner]] - arm[arc]
    points[inner] = centre + radius[arc, None] * np.column_stack((np.cos(angle), np.sin(angle)))
    return points, of


def moved(curve: Curve, *, x: float = 0.0, y: float = 0.0, turn_deg: float = 0.0) -> Curve:
    """The curve turned about the origin, then shifted."""
    cos, sin = _exact_turn(turn_deg)

    def place(point: Point) -> Point:
        return point[0] * cos - point[1] * sin + x, point[0] * sin + point[1] * cos + y

    return Curve(
        tuple(
            Segment(place(one.start), place(one.end), place(one.centre) if one.centre else None, one.ccw)
            for one in curve.segments
        )
    )


def _exact_turn(turn_deg: float) -> tuple[float, float]:
    """Cosine and sine, without rounding at quarter turns."""
    quarter = turn_deg / 90
    if quarter == round(quarter):
        return ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))[round(quarter) % 4]
    return math.cos(math.radians(turn_deg)), math.sin(math.radians(turn_deg))
