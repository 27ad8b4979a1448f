"""Where what turns strikes an obstacle.

Cutter, shank, collet nut and spindle are upright cylinders that ride with the tip; each obstacle is an
upright prism. Where their heights overlap, the part of the move at those heights is set against the
obstacle's outline.
"""

from collections.abc import Iterable, Iterator
from typing import Final, NamedTuple

import numpy as np
import shapely

from proveout.job.records import Cutter, Spindle
from proveout.motion import Floats, Motion, chords
from proveout.proof.trial import CHORD, Rows, Trial, cutters_of, only, tip_boxes
from proveout.setup import Obstacle

TOUCH: Final = 1e-4  # mm; nearer than touching, so that rounding doesn't turn a graze into a strike
LEVEL: Final = 1e-9  # mm; a move that rises less is level
ROOM: Final = 1.0  # mm of room that remedies ask for
FEW: Final = 256  # moves that are looked at together where one strike is enough


class Cylinder(NamedTuple):
    """One thickness of what turns, above the tip."""

    name: str
    radius: float
    bottom: float  # above the tip
    top: float


class Strike(NamedTuple):
    """One obstacle struck by one cylinder."""

    cylinder: Cylinder
    moves: Rows  # (k,) index of each striking move
    inside: Floats  # (k,) mm by which it passes inside the obstacle's outline
    tip: Floats  # (k,) lowest height of the tip while it does
    at: Floats  # (k, 2) where the tip is when it is nearest


def cylinders(cutter: Cutter, spindle: Spindle) -> tuple[Cylinder, ...]:
    """What turns, from the tip upwards."""
    nut_top = cutter.stick_out + spindle.nut_length
    return (
        Cylinder("cutter", cutter.radius, 0.0, cutter.flute_length),
        Cylinder("shank", cutter.shank_diameter / 2, cutter.flute_length, cutter.stick_out),
        Cylinder("collet nut", spindle.nut_diameter / 2, cutter.stick_out, nut_top),
        Cylinder("spindle body", spindle.body_diameter / 2, nut_top, np.inf),
    )


class Boxes(NamedTuple):
    """Each move of one cutter with the box that its tip stays in."""

    cutter: Cutter
    moves: Rows  # (k,)
    low: Floats  # (k, 3)
    high: Floats  # (k, 3)


def boxes_of(run: Trial) -> list[Boxes]:
    """Every cutter's moves with their boxes."""
    low, high = tip_boxes(run.motion)
    found = []
    for cutter in cutters_of(run):
        moves = np.flatnonzero(run.motion.cutter == cutter.number)
        found.append(Boxes(cutter, moves, low[moves], high[moves]))
    return found


def strikes_of(run: Trial, boxes: list[Boxes], solid: Obstacle) -> Iterator[Strike]:
    """How each cylinder of each cutter strikes one obstacle, where it does."""
    for mine in boxes:
        for cylinder in cylinders(mine.cutter, run.setup.machine.spindle):
            near = _near(mine, cylinder, solid)
            if near.size:
                strike = _strike(run.motion, near, cylinder, solid)
                if strike.moves.size:
                    yield strike


def _near(boxes: Boxes, cylinder: Cylinder, solid: Obstacle) -> Rows:
    """Moves whose boxes come near enough for a strike."""
    lowest, highest = solid.bottom - cylinder.top, solid.top - cylinder.bottom  # of the tip, to overlap
    found = np.flatnonzero((boxes.low[:, 2] < highest - TOUCH) & (boxes.high[:, 2] > lowest + TOUCH))
    if not found.size:
        return found
    left, front, right, back = solid.footprint.bounds
    low, high, reach = boxes.low[found], boxes.high[found], cylinder.radius
    beside = (low[:, 0] >= right + reach) | (high[:, 0] <= left - reach)
    beside |= (low[:, 1] >= back + reach) | (high[:, 1] <= front - reach)
    near: Rows = boxes.moves[found[~beside]]
    return near


def _strike(motion: Motion, near: Rows, cylinder: Cylinder, solid: Obstacle) -> Strike:
    """Where one cylinder strikes one obstacle during moves that come near it."""
    lowest, highest = solid.bottom - cylinder.top, solid.top - cylinder.bottom
    start, end, parent = chords(only(motion, near), CHORD)
    low, high = np.minimum(start[:, 2], end[:, 2]), np.maximum(start[:, 2], end[:, 2])
    deep = np.flatnonzero((low < highest - TOUCH) & (high > lowest + TOUCH))
    start, end = clipped(start[deep], end[deep], lowest, highest)
    lines = shapely.linestrings(np.stack((start[:, :2], end[:, :2]), axis=1))
    shapely.prepare(solid.footprint)
    inside = cylinder.radius - shapely.distance(lines, solid.footprint)
    hits = np.flatnonzero(inside > TOUCH)
    deepest = [_deeper(lines[hit], solid) for hit in hits]
    return Strike(
        cylinder,
        near[parent[deep[hits]]],
        inside[hits] + np.array([deeper for deeper, _ in deepest]),
        np.minimum(start[hits, 2], end[hits, 2]),
        np.array([at for _, at in deepest]).reshape(len(hits), 2),
    )


def clipped(start: Floats, end: Floats, lowest: float, highest: float) -> tuple[Floats, Floats]:
    """The part of each straight piece that lies between two heights; pieces must come between them."""
    rise = end[:, 2] - start[:, 2]
    level = np.abs(rise) < LEVEL
    slope = np.where(level, 1.0, rise)
    at_low, at_high = (lowest - start[:, 2]) / slope, (highest - start[:, 2]) / slope
    first = np.where(level, 0.0, np.clip(np.minimum(at_low, at_high), 0.0, 1.0))
    last = np.where(level, 1.0, np.clip(np.maximum(at_low, at_high), 0.0, 1.0))
    step = end - start
    return start + step * first[:, None], start + step * last[:, None]


def _deeper(line: shapely.LineString, solid: Obstacle) -> tuple[float, tuple[float, float]]:
    """How far beyond the outline the path itself runs inside it, and where the path is nearest or deepest."""
    crossing = line.intersection(solid.footprint)
    if crossing.is_empty:
        point = shapely.get_point(shapely.shortest_line(line, solid.footprint), 0)
        return 0.0, (point.x, point.y)
    points = shapely.points(shapely.get_coordinates(shapely.segmentize(crossing, 1.0)))
    depths = shapely.distance(points, solid.footprint.boundary)
    deepest = int(np.argmax(depths))
    return float(depths[deepest]), (points[deepest].x, points[deepest].y)


def is_clear(run: Trial, boxes: Iterable[Boxes], solids: Iterable[Obstacle]) -> bool:
    """Whether nothing that turns strikes any of some obstacles."""
    every = list(boxes)
    return not any(
        _strike(run.motion, near[first : first + FEW], cylinder, solid).moves.size
        for solid in solids
        for mine in every
        for cylinder in cylinders(mine.cutter, run.setup.machine.spindle)
        for near in [_near(mine, cylinder, solid)]
        for first in range(0, len(near), FEW)
    )
