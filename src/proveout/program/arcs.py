"""Arcs as a program states them: by centre or by radius, judged by the standard's rule."""

import math
from typing import Final, NamedTuple

from proveout.motion import turn_between
from proveout.quantity import System

Point = tuple[float, float]

# How far the radii at an arc's two ends may differ, mm: 0.002 mm, or 0.0002 in (NISTIR 6556, 3.5.3).
RADIUS_TOLERANCE: Final[dict[System, float]] = {"mm": 0.002, "in": 0.0002 * 25.4}
SAME: Final = 1e-6  # mm: nearer ends are one point, and the arc is a full turn
DOUBTFUL: Final = 0.0005  # mm: ends this near but not the same may be taken for a full turn, or for none


class NoArc(ValueError):
    """Words that describe no arc; the message says why."""


class Arc(NamedTuple):
    """An arc in its plane."""

    centre: Point
    sweep: float  # rad, positive anticlockwise


def arc_by_centre(start: Point, end: Point, centre: Point, *, ccw: bool, units: System) -> Arc:
    """The arc from start to end about a centre; equal ends make a full turn.

    Raises:
        NoArc: no radius, radii that differ by more than the tolerance, ends that are neither one nor two
    """
    first, last = math.dist(start, centre), math.dist(end, centre)
    if min(first, last) < SAME:
        raise NoArc("an arc without a radius")
    if abs(first - last) > RADIUS_TOLERANCE[units] + 1e-9:
        raise NoArc(
            f"the radius is {_show(first, units)} at the start and {_show(last, units)} at the end; "
            f"they may differ by {'0.002 mm' if units == 'mm' else '0.0002 in'}"
        )
    gap = math.dist(start, end)
    if gap < SAME:
        return Arc(centre, math.tau if ccw else -math.tau)
    if gap < DOUBTFUL:
        raise NoArc(
            f"the ends are {gap:.5f} mm apart: one controller turns full circle here, another hardly moves"
        )
    return Arc(centre, turn_between(start, end, centre, ccw))


def arc_by_radius(start: Point, end: Point, radius: float, *, ccw: bool, units: System) -> Arc:
    """The arc of a radius from start to end: the short way round, or the long one for a negative radius.

    The centre lies on the chord's normal at h = sqrt(R^2 - q^2 / 4), q the chord: to the left of travel for
    an anticlockwise arc with R > 0, to the right for a clockwise one, the other way for R < 0.

    Raises:
        NoArc: equal ends, no radius, a radius too small to reach from one end to the other
    """
    chord = math.dist(start, end)
    if chord < DOUBTFUL:
        raise NoArc("start and end are the same, and a radius alone doesn't say where the centre is")
    size, half = abs(radius), chord / 2
    if size < SAME:
        raise NoArc("an arc without a radius")
    if half > size + RADIUS_TOLERANCE[units]:
        raise NoArc(f"a radius of {_show(size, units)} is too small for ends {_show(chord, units)} apart")
    height = math.sqrt(max(size * size - half * half, 0.0))
    side = 1.0 if ccw == (radius > 0) else -1.0
    along = ((end[0] - start[0]) / chord, (end[1] - start[1]) / chord)
    centre = (
        (start[0] + end[0]) / 2 - side * height * along[1],
        (start[1] + end[1]) / 2 + side * height * along[0],
    )
    return Arc(centre, turn_between(start, end, centre, ccw))


def _show(length: float, units: System) -> str:
    return f"{length:.4f} mm" if units == "mm" else f"{length / 25.4:.5f} in"
