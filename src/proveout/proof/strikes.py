"""What the cutter, its shank, the collet nut and the spindle strike on the bed.

Each is an upright cylinder that rides with the tip; each obstacle is an upright prism. Where their heights
overlap, the part of the move at those heights is set against the obstacle's outline.
"""

from collections.abc import Iterator, Sequence
from itertools import groupby
from typing import Final, NamedTuple

import numpy as np
import shapely

from proveout.finding import Finding, Level
from proveout.job.records import Cutter, Spindle
from proveout.motion import RAPID, Floats, Motion, chords
from proveout.proof.trial import (
    CHORD,
    Rows,
    Trial,
    again,
    cutters_of,
    length,
    only,
    opening,
    seen,
    tip_boxes,
)
from proveout.setup import Obstacle, obstacles

TOUCH: Final = 1e-4  # mm; nearer than touching, so that rounding doesn't turn a graze into a strike
LEVEL: Final = 1e-9  # mm; a move that rises less is level
ROOM: Final = 1.0  # mm of room that remedies ask for

KIND_OF_FINDING: Final = {"clamp": "clamp-struck", "bolt": "bolt-struck", "insert": "insert-struck"}


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


def strike_findings(run: Trial) -> list[Finding]:
    """Everything on the bed that is struck: one finding for each obstacle and program."""
    boxes = _boxes(run)
    found: list[Finding] = []
    for (kind, name), solids in groupby(
        _in_order(obstacles(run.setup)), key=lambda one: (one.kind, one.name)
    ):
        struck = [(solid, strike) for solid in solids for strike in _strikes(run, boxes, solid)]
        found.extend(_told(run, kind, name, struck))
    return found


def _in_order(solids: Sequence[Obstacle]) -> list[Obstacle]:
    return sorted(solids, key=lambda one: (one.kind, one.name, one.bottom))


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


def _boxes(run: Trial) -> list[Boxes]:
    low, high = tip_boxes(run.motion)
    found = []
    for cutter in cutters_of(run):
        moves = np.flatnonzero(run.motion.cutter == cutter.number)
        found.append(Boxes(cutter, moves, low[moves], high[moves]))
    return found


def _strikes(run: Trial, boxes: list[Boxes], solid: Obstacle) -> Iterator[Strike]:
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


# --- findings


def _told(run: Trial, kind: str, name: str, struck: list[tuple[Obstacle, Strike]]) -> Iterator[Finding]:
    """One finding for each program that strikes an obstacle of one name."""
    if not struck:
        return
    moves = np.concatenate([strike.moves for _, strike in struck])
    inside = np.concatenate([strike.inside for _, strike in struck])
    for sight in seen(run, moves, inside):
        worst_solid, worst, row = _at_move(struck, sight.worst)
        _, first, _ = _at_move(struck, sight.first)
        at = worst.at[row]
        tip = float(worst.tip[row])
        yield Finding(
            level=Level.STOP,
            kind=KIND_OF_FINDING[kind],
            text=(
                f"{opening(run, sight.first)} the {first.cylinder.name} strikes {_called(kind, name)}: "
                f"{_how(run, kind, worst_solid, worst, row, same=first is worst)}{_others(struck, first)}"
                f"{again(run, sight)}"
            ),
            remedy=_remedy(run, sight.worst, worst_solid, worst, row),
            program=sight.file,
            line=sight.line(run.motion),
            at=(float(at[0]), float(at[1]), tip),
        )


def _at_move(struck: list[tuple[Obstacle, Strike]], move: int) -> tuple[Obstacle, Strike, int]:
    """What strikes deepest at a move."""
    found = [
        (float(strike.inside[row]), -order, solid, strike, int(row))
        for order, (solid, strike) in enumerate(struck)
        for row in np.flatnonzero(strike.moves == move)
    ]
    _, _, solid, strike, row = max(found, key=lambda one: one[:2])
    return solid, strike, row


def _called(kind: str, name: str) -> str:
    return f"the bolt of {name}" if kind == "bolt" and name.startswith("clamp") else name


def _how(run: Trial, kind: str, solid: Obstacle, strike: Strike, row: int, *, same: bool) -> str:
    """How deep: "it passes 3.1 mm inside the clamp's bar, 4 mm below its top"."""
    what = {"clamp": "the clamp's bar", "bolt": "its outline", "insert": "the metal"}[kind]
    subject = "it passes" if same else f"at worst the {strike.cylinder.name} passes"
    below = solid.top - (float(strike.tip[row]) + strike.cylinder.bottom)
    inside = length(run.setup, float(strike.inside[row]))
    return f"{subject} {inside} inside {what}, {length(run.setup, below)} below its top."


def _others(struck: list[tuple[Obstacle, Strike]], first: Strike) -> str:
    names = dict.fromkeys(
        strike.cylinder.name for _, strike in struck if strike.cylinder.name != first.cylinder.name
    )
    return f" So does the {' and the '.join(names)}." if names else ""


def _remedy(run: Trial, move: int, solid: Obstacle, strike: Strike, row: int) -> str:
    """Up, aside, or out: whichever of them can clear the obstacle."""
    setup, tip = run.setup, float(strike.tip[row])
    aside = length(setup, float(strike.inside[row]) + ROOM)
    if solid.kind == "insert":
        less = length(setup, solid.top - tip)
        return f"Move the cut {aside} away from the metal, or cut at least {less} less deep."
    if strike.cylinder.bottom == 0.0 and (run.motion.kind[move] == RAPID or tip > setup.stock.thickest):
        return f"Raise the safe height to at least {length(setup, solid.top + ROOM)} above the bed."
    if strike.cylinder.name in ("collet nut", "spindle body"):
        lacking = solid.top + ROOM - (tip + strike.cylinder.bottom)
        needed = length(setup, _stick_out(run, move) + lacking)
        return f"Move the clamp {aside} away, or give the cutter a stick-out of at least {needed}."
    return f"Move the clamp {aside} away from the cut."


def _stick_out(run: Trial, move: int) -> float:
    number = int(run.motion.cutter[move])
    return next(cutter.stick_out for cutter in run.setup.cutters if cutter.number == number)
