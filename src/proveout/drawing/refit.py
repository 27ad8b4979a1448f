"""Arcs out of runs of tiny segments: what a curve was before a program cut it into lines.

An exporter puts the corners on the curve, so the arc is laid through the corners: by its two ends exactly,
by those between at least squares. It counts only where a circle lies so near that no point of the segments is
further from it than TOLERANCE; the drawn arc may then lie up to twice that outside a segment's middle.
"""

import math
from dataclasses import dataclass, replace
from typing import Final, NamedTuple

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view

from proveout.curve import Point, Segment, circle
from proveout.drawing.wires import Flags, Floats

FEWEST: Final = 8  # segments
TOLERANCE: Final = 0.01  # mm
STEP: Final = math.radians(30)  # from one segment's direction to the next
MOST_TURN: Final = math.radians(350)  # of an arc; a whole ring is a circle
SMOOTH: Final = math.radians(0.5)  # a join this near to smooth was meant smooth
TOLD: Final = 1e-5  # mm; a smaller one is rounding
SHIFT: Final = 2 * TOLERANCE  # mm by which such a join may move, beside what its turn asks for


@dataclass(frozen=True, slots=True, kw_only=True)
class Refit:
    """One arc or circle in place of segments."""

    segments: int  # that it stands for
    radius: float
    error: float  # mm, the most that a point of those lies off it
    at: Point
    whole: bool  # a circle


class Fit(NamedTuple):
    """Circles, one or many at a time."""

    centre: tuple[Floats, Floats]  # x (...) and y (...)
    radius: Floats  # (...)
    error: Floats  # (...) mm, the most that a corner or a middle lies off it
    good: Flags  # (...)


def refitted(
    segments: list[Segment], *, closed: bool
) -> tuple[list[Segment], list[Refit], list[tuple[Point, float]]]:
    """The same ring or chain with its runs of tiny segments as arcs, those arcs, and the joins made smooth.

    Args:
        segments: each starting about where the one before ends
    """
    line = np.array([one.centre is None for one in segments])
    if line.sum() < FEWEST:
        return segments, [], []
    corners = np.array([one.start for one in segments])
    if closed:
        turns = _turns(np.vstack((corners, corners[:2])))
        if line.all() and (whole := _whole(corners, turns)):
            return list(circle(whole.at, 2 * whole.radius).segments), [whole], []
        first = _seam(corners, turns, line)
        segments = segments[first:] + segments[:first]
        line = np.roll(line, -first)
        corners = np.roll(corners, -first, axis=0)
    corners = np.vstack((corners, [segments[-1].end]))
    runs = _runs(corners, line)
    if not runs:
        return segments, [], []
    made, arcs, refits = _replaced(segments, corners, runs)
    smooth = _smoothed(made, arcs, closed=closed)
    return made, refits, smooth


def _turns(corners: Floats) -> Floats:
    """(n - 2,) the signed turn at each inner corner, radians."""
    way = np.diff(corners, axis=0)
    one, other = way[:-1], way[1:]
    cross = one[:, 0] * other[:, 1] - one[:, 1] * other[:, 0]
    return np.asarray(np.arctan2(cross, (one * other).sum(axis=1)))


def _whole(corners: Floats, turns: Floats) -> Refit | None:
    """The circle that a ring of lines is, by least squares through its corners."""
    if not ((turns > 0).all() or (turns < 0).all()) or np.abs(turns).max() >= STEP:
        return None
    if abs(abs(turns.sum()) - math.tau) > 1e-6:
        return None
    middle = corners.mean(axis=0)
    arm = corners - middle
    rows = np.column_stack((2 * arm, np.ones(len(arm))))
    (x, y, rest), *_ = np.linalg.lstsq(rows, (arm**2).sum(axis=1), rcond=None)
    centre = middle + np.array([x, y])
    radius = math.sqrt(rest + x * x + y * y)
    ring = np.vstack((corners, corners[:1])).T
    fit = _judged(ring[0], ring[1], (centre[0], centre[1]), np.asarray(radius))
    if not fit.good:
        return None
    at = (float(centre[0]), float(centre[1]))
    return Refit(segments=len(corners), radius=radius, error=float(fit.error), at=at, whole=True)


def _seam(corners: Floats, turns: Floats, line: Flags) -> int:
    """The segment with which a ring may begin without cutting an arc in two."""
    after = np.roll(line, -1)
    breaks = np.flatnonzero((np.abs(turns) >= STEP) | ~line | ~after)
    if len(breaks):
        return (int(breaks[0]) + 1) % len(line)
    way = np.diff(np.vstack((corners, corners[:1])), axis=0)
    return (int(np.hypot(way[:, 0], way[:, 1]).argmax()) + 1) % len(line)


def _fit(corners: Floats) -> Fit:
    """The arc through the first and the last of (..., 2, m) corners, by least squares through the others.

    With the chord's middle as zero, h half the chord and n its normal, a circle with its centre at t n has
    |p|2 - 2 t (p n) = h2 for each of its points p: linear in t.
    """
    x, y = corners[..., 0, :], corners[..., 1, :]
    wide, high = x[..., -1] - x[..., 0], y[..., -1] - y[..., 0]
    length = np.hypot(wide, high)
    half = length / 2
    with np.errstate(all="ignore"):
        over, up = -high / length, wide / length  # the normal
        middle_x, middle_y = (x[..., 0] + x[..., -1]) / 2, (y[..., 0] + y[..., -1]) / 2
        arm_x, arm_y = x - middle_x[..., None], y - middle_y[..., None]
        off = arm_x * over[..., None] + arm_y * up[..., None]
        excess = arm_x * arm_x + arm_y * arm_y - (half * half)[..., None]
        t = np.add.reduce(excess * off, axis=-1) / (2 * np.add.reduce(off * off, axis=-1))
        return _judged(x, y, (middle_x + t * over, middle_y + t * up), np.hypot(half, t))


def _judged(x: Floats, y: Floats, centre: tuple[Floats, Floats], radius: Floats) -> Fit:
    """How far the segments between the corners lie off the circle, and whether that is near enough."""
    arm_x, arm_y = x - centre[0][..., None], y - centre[1][..., None]
    wide = radius[..., None]
    off = np.hypot(arm_x, arm_y) - wide
    dip = np.hypot((arm_x[..., 1:] + arm_x[..., :-1]) / 2, (arm_y[..., 1:] + arm_y[..., :-1]) / 2) - wide
    most, least = np.maximum.reduce(off, axis=-1), np.minimum.reduce(off, axis=-1)
    highest, lowest = np.maximum.reduce(dip, axis=-1), np.minimum.reduce(dip, axis=-1)
    corner = np.maximum(most, -least)
    # a circle halfway between the outermost corner and the innermost middle lies nearest to all of them
    near = (most - np.minimum(least, lowest) <= 2 * TOLERANCE) & (corner <= TOLERANCE)
    error = np.maximum(corner, np.maximum(highest, -lowest))
    return Fit(centre, radius, error, np.asarray(near & np.isfinite(radius)))


def _runs(corners: Floats, line: Flags) -> list[tuple[int, int, Fit]]:
    """First segment, number of segments and circle of each run; greedy: the longest from the first on."""
    count = len(line)
    turns = _turns(corners)  # between segment i and i + 1
    side = np.where(line[:-1] & line[1:] & (np.abs(turns) < STEP), np.sign(turns), 0.0)
    kept = np.concatenate((side[1:] == side[:-1], [False])) & (side != 0)
    stops = np.flatnonzero(~kept)
    until = stops[np.searchsorted(stops, np.arange(len(side)))] + 1  # last segment that turns the same way
    starts = np.flatnonzero((side != 0) & (until - np.arange(len(side)) >= FEWEST - 1))
    starts = starts[starts + FEWEST <= count]
    if not len(starts):
        return []
    windows = sliding_window_view(corners, FEWEST + 1, axis=0)
    good = np.concatenate(
        [_fit(windows[some]).good for some in np.array_split(starts, len(starts) // 20_000 + 1)]
    )
    turned = np.concatenate(([0.0, 0.0], np.cumsum(turns)))  # of segment i against the first, at i + 1
    runs, free = [], 0
    for begin in starts[good].tolist():
        if begin < free:
            continue
        size, fit = _longest(corners, begin, int(until[begin]) + 1 - begin, turned)
        if _bow(corners, begin, size, fit) > 2 * TOLERANCE:  # else it is straight
            runs.append((begin, size, fit))
            free = begin + size
    return runs


def _longest(corners: Floats, begin: int, most: int, turned: Floats) -> tuple[int, Fit]:
    """The most segments from one on that lie on a circle, found by doubling and halving."""
    size, step, fit = FEWEST, FEWEST, _fit(corners[begin : begin + FEWEST + 1].T)
    growing = True
    while step:
        longer = size + step
        further = None
        if longer <= most and abs(turned[begin + longer] - turned[begin + 1]) < MOST_TURN:
            further = _fit(corners[begin : begin + longer + 1].T)
        if further is not None and further.good:
            size, fit = longer, further
            step = step * 2 if growing else step // 2
        else:
            growing = False
            step //= 2
    return size, fit


def _bow(corners: Floats, begin: int, size: int, fit: Fit) -> float:
    """How far the run's middle lies off the chord between its ends."""
    first, last = corners[begin], corners[begin + size]
    chord = last - first
    arms = corners[begin : begin + size + 1] - first
    return float(np.abs(arms[:, 1] * chord[0] - arms[:, 0] * chord[1]).max() / np.hypot(*chord))


def _replaced(
    segments: list[Segment], corners: Floats, runs: list[tuple[int, int, Fit]]
) -> tuple[list[Segment], dict[int, Floats], list[Refit]]:
    """The segments with each run as one arc; by its number, an arc's corners."""
    made: list[Segment] = []
    arcs: dict[int, Floats] = {}
    refits: list[Refit] = []
    done = 0
    for begin, size, fit in runs:
        made += segments[done:begin]
        points = corners[begin : begin + size + 1]
        turn = float(_turns(points).sum())
        centre = (float(fit.centre[0]), float(fit.centre[1]))
        arcs[len(made)] = points
        made.append(Segment(segments[begin].start, segments[begin + size - 1].end, centre, turn > 0))
        at = made[-1].at(0.5)
        radius = float(fit.radius)
        refits.append(Refit(segments=size, radius=radius, error=float(fit.error), at=at, whole=False))
        done = begin + size
    return made + segments[done:], arcs, refits


# --- joins that were meant smooth


def _smoothed(made: list[Segment], arcs: dict[int, Floats], *, closed: bool) -> list[tuple[Point, float]]:
    """Refitted arcs set tangent to lines that they nearly touch so, in `made`; place and shift of each."""
    smooth: list[tuple[Point, float]] = []
    for index, points in arcs.items():
        before = index - 1 if index or closed else None
        after = (index + 1) % len(made) if index + 1 < len(made) or closed else None
        ends = [
            one if one is not None and _nearly_smooth(made[index], made[one], at_start=at_start) else None
            for one, at_start in ((before, True), (after, False))
        ]
        arc = _tangent(made, index, ends[0], ends[1])
        if arc is None or not _fits(arc, points):
            continue
        for other, at_start in ((ends[0], True), (ends[1], False)):
            if other is not None:
                old, new = (made[index].start, arc.start) if at_start else (made[index].end, arc.end)
                if (shift := math.dist(old, new)) > TOLD:
                    smooth.append((new, shift))
                made[other] = replace(made[other], end=new) if at_start else replace(made[other], start=new)
        made[index] = arc
    return smooth


def _way(segment: Segment) -> Floats:
    way = np.subtract(segment.end, segment.start)
    return np.asarray(way / np.hypot(*way))


def _nearly_smooth(arc: Segment, other: Segment, *, at_start: bool) -> bool:
    if other.centre is not None or math.dist(other.start, other.end) <= 2 * _most_shift(arc.radius):
        return False
    arm = np.subtract(arc.start if at_start else arc.end, arc.centre or arc.start)
    tangent = np.array([-arm[1], arm[0]]) * (1 if arc.ccw else -1)
    way = _way(other)
    angle = math.atan2(float(tangent[0] * way[1] - tangent[1] * way[0]), float(tangent @ way))
    return abs(angle) < SMOOTH


def _tangent(made: list[Segment], index: int, before: int | None, after: int | None) -> Segment | None:
    """The arc tangent to the line before it, to the one after it or to both."""
    arc = made[index]
    side = 1.0 if arc.ccw else -1.0
    centre = np.array(arc.centre)
    foot: list[Floats] = []
    normals: list[Floats] = []
    for number in (before, after):
        if number is not None:
            way = _way(made[number])
            normals.append(side * np.array([-way[1], way[0]]))  # from the line to the centre
            foot.append(np.array(made[number].start))
    if not normals:
        return None
    if len(normals) == 2:
        apart = normals[0] - normals[1]
        square = float(apart @ apart)
        if square < 1e-6:
            return None
        # the centres as far from one line as from the other lie on a line: the nearest to the fitted one
        wanted = float(normals[0] @ foot[0] - normals[1] @ foot[1])
        centre = centre - (float(apart @ centre) - wanted) / square * apart
        radius = float(normals[0] @ (centre - foot[0]))
        start, end = centre - radius * normals[0], centre - radius * normals[1]
    else:
        on_line = centre - float(normals[0] @ (centre - foot[0])) * normals[0]
        fixed = np.array(arc.end if before is not None else arc.start)
        chord = fixed - on_line
        radius = float(chord @ chord) / (2 * float(chord @ normals[0]) or math.nan)
        centre = on_line + radius * normals[0]
        start, end = (on_line, fixed) if before is not None else (fixed, on_line)
    if not radius > 0:
        return None
    points = [(float(one[0]), float(one[1])) for one in (start, end, centre)]
    return Segment(points[0], points[1], points[2], arc.ccw)


def _fits(arc: Segment, points: Floats) -> bool:
    """Whether an arc still lies by the corners that it stands for."""
    off = np.hypot(*(points - np.array(arc.centre)).T) - arc.radius
    ends = max(math.dist(arc.start, points[0]), math.dist(arc.end, points[-1]))
    return bool(np.abs(off).max() <= TOLERANCE and ends <= _most_shift(arc.radius))


def _most_shift(radius: float) -> float:
    """How far a join may move along its line: as far as the turn that makes it smooth asks for."""
    return radius * SMOOTH + SHIFT
