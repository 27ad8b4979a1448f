"""B-splines as Bezier spans, exact, by blossoming; and rational ones or those of high degree as points.

Source: L. Ramshaw, Blossoms are polar forms (1989): the control points of a span are the spline's blossom at
its two ends, so many times each; Wang's bound for the count of chords
"""

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import Final

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
Point = tuple[float, ...]  # x and y; of a rational spline times the weight, and the weight

HIGHEST: Final = 20  # degree
MOST_CONTROLS: Final = 50_000
MOST_CHORDS: Final = 20_000  # of one span


class NoSpline(ValueError):
    """Numbers that make no spline, and why."""


def check(degree: int, knots: Sequence[float], controls: int, weights: Sequence[float]) -> None:
    """Raises NoSpline unless these numbers make a spline."""
    if not 1 <= degree <= HIGHEST:
        raise NoSpline(f"has the degree {degree}")
    if not degree < controls <= MOST_CONTROLS:
        raise NoSpline(f"has {controls} control points")
    if len(knots) != controls + degree + 1:
        raise NoSpline(f"has {len(knots)} knots where it needs {controls + degree + 1}")
    if any(not one <= other for one, other in pairwise(knots)):  # NaN is neither
        raise NoSpline("has knots out of order")
    if weights and (len(weights) != controls or not all(0 < one < math.inf for one in weights)):
        raise NoSpline("has weights that are not above 0, or not one for each control point")


def spans(degree: int, knots: Sequence[float], controls: Sequence[Sequence[float]]) -> Iterator[list[Point]]:
    """The spline's Bezier spans, degree + 1 control points each.

    Args:
        degree, knots: as `check` takes them; the spline runs from knot `degree` to knot `n`
        controls: n points of d coordinates, those of a rational spline times its weights and with them
    """
    points = [tuple(map(float, one)) for one in controls]
    if len(points) == degree + 1 and knots[0] == knots[degree] and knots[-1] == knots[-degree - 1]:
        yield points  # as most programs write a span
        return
    for low in range(degree, len(points)):
        begin, end = knots[low], knots[low + 1]
        if begin < end:
            ways = ([begin] * (degree - ends) + [end] * ends for ends in range(degree + 1))
            yield [_blossom(degree, knots, points, low, way) for way in ways]


def _blossom(
    degree: int, knots: Sequence[float], points: Sequence[Point], low: int, arguments: Sequence[float]
) -> Point:
    """De Boor's scheme with an argument of its own for each level."""
    row = list(points[low - degree : low + 1])
    for level, at in enumerate(arguments, 1):
        for number in range(degree, level - 1, -1):
            left = knots[low - degree + number]
            right = knots[low + number - level + 1]
            share = (at - left) / (right - left)
            row[number] = _between(row[number - 1], row[number], share)
    return row[degree]


def _between(one: Point, other: Point, share: float) -> Point:
    return tuple((1 - share) * a + share * b for a, b in zip(one, other, strict=True))


def cubic(span: Sequence[Point]) -> Sequence[Point]:
    """The same curve as a span of degree 3, from one of degree 1 to 3."""
    while len(span) < 4:
        top = len(span)
        inner = (_between(one, other, 1 - k / top) for k, (one, other) in enumerate(pairwise(span), 1))
        span = [span[0], *inner, span[-1]]
    return span


def chords(points: Sequence[Point], tolerance: float) -> Floats:
    """Points along a Bezier span, (n + 1, 2), whose chords lie no further off than the tolerance.

    Points of three numbers are rational: x and y times the weight, and the weight. Its count of chords is
    doubled until the curve's points between them are near enough.
    """
    span = np.array(points)
    bend = np.abs(np.diff(span, 2, axis=0)).max(initial=0.0) if len(span) > 2 else 0.0
    degree = len(span) - 1
    count = max(1, math.ceil(math.sqrt(degree * (degree - 1) / 4 * min(bend / tolerance, 1e9))))
    count = min(count, MOST_CHORDS)
    while True:
        run = _at(span, np.linspace(0.0, 1.0, 2 * count + 1))
        off = run[1::2] - (run[:-1:2] + run[2::2]) / 2
        if np.hypot(*off.T).max() <= tolerance or count >= MOST_CHORDS:
            return run[::2]
        count *= 2


def _at(span: Floats, where: Floats) -> Floats:
    row = np.repeat(span[:, None, :], len(where), axis=1)
    share = where[:, None]
    while len(row) > 1:
        row = (1 - share) * row[:-1] + share * row[1:]
    points: Floats = row[0]
    return points[:, :2] / points[:, 2:] if points.shape[1] == 3 else points
