"""Closed curves of lines and circular arcs: the exact boundary of every part and feature.

A `Curve` is a ring of segments; polygons are made from it only where a library wants them. Arcs stay arcs
from the pattern to the program.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt
from shapely import Polygon
from shapely.geometry.polygon import orient

Point = tuple[float, float]
Points = npt.NDArray[np.float64]  # (n, 2) mm

FLATTEN: Final = 0.001  # mm, chord error of polygons made from curves: a tenth of the wall check's 0.01


@dataclass(frozen=True, slots=True)
class Segment:
    """A line, or an arc of less than a full turn where it has a centre."""

    start: Point
    end: Point
    centre: Point | None = None
    ccw: bool = True

    @property
    def radius(self) -> float:
        """Radius of an arc; 0 for a line."""
        return math.dist(self.start, self.centre) if self.centre else 0.0

    @property
    def sweep(self) -> float:
        """Signed turn of an arc in radians, positive anticlockwise; 0 for a line."""
        if self.centre is None:
            return 0.0
        first = math.atan2(self.start[1] - self.centre[1], self.start[0] - self.centre[0])
        last = math.atan2(self.end[1] - self.centre[1], self.end[0] - self.centre[0])
        turn = (last - first) % math.tau if self.ccw else -((first - last) % math.tau)
        return turn or (math.tau if self.ccw else -math.tau)

    @property
    def length(self) -> float:
        """Length along the segment."""
        if self.centre is None:
            return math.dist(self.start, self.end)
        return abs(self.sweep) * self.radius

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
