"""How far a moving cutter reaches past points of a wall: exact, one point and one piece of path at a time."""

import math
from typing import Final

import numpy as np
import numpy.typing as npt
from numba import njit

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int32]

FLAT: Final = 0
BALL: Final = 1
CONE: Final = 2
BULL: Final = 3

# Columns of a row of `pieces`. An arc has an arm (its radius); a line has 0 there. The slope is a cone's, mm
# of radius per mm of height; a bull nose has its corner's radius there.
X0, Y0, Z0, X1, Y1, Z1, CX, CY, ARM, ANGLE, SWEEP, RADIUS, SLOPE = range(13)
COLUMNS: Final = 13

LEVEL: Final = 1.0e-9  # mm; a piece that rises less is level
TURN: Final = 2.0 * math.pi
GOLDEN: Final = (math.sqrt(5.0) - 1.0) / 2.0
NOTHING: Final = -1.0e30  # how far a cutter reaches past a point that it never comes near


@njit(cache=True, nogil=True)
def width_at(shape: int, radius: float, slope: float, height: float) -> float:
    """The cutter's radius at a height above its tip: it never falls with height, and is concave in it."""
    if height < 0.0:
        return NOTHING
    if shape == FLAT:
        return radius
    if shape == BALL:
        return radius if height >= radius else math.sqrt(height * (2.0 * radius - height))
    if shape == BULL:
        return radius if height >= slope else radius - slope + math.sqrt(height * (2.0 * slope - height))
    return min(radius, height * slope)


@njit(cache=True, nogil=True)
def to_line(x: float, y: float, row: Floats, low: float, high: float) -> float:
    """Distance in plan from a point to the part of a line between two shares of its way."""
    dx = row[X1] - row[X0]
    dy = row[Y1] - row[Y0]
    square = dx * dx + dy * dy
    share = low
    if square > 0.0:
        share = min(max(((x - row[X0]) * dx + (y - row[Y0]) * dy) / square, low), high)
    away: float = math.hypot(row[X0] + share * dx - x, row[Y0] + share * dy - y)
    return away


@njit(cache=True, nogil=True)
def to_arc(x: float, y: float, row: Floats, low: float, high: float) -> float:
    """Distance in plan from a point to the part of an arc between two shares of its way."""
    sweep = row[SWEEP]
    arm = row[ARM]
    first = row[ANGLE] + sweep * low
    span = sweep * (high - low)
    turn = math.atan2(y - row[CY], x - row[CX]) - first
    turn = turn % TURN if span >= 0.0 else -((-turn) % TURN)
    if abs(turn) <= abs(span):
        aside: float = abs(math.hypot(x - row[CX], y - row[CY]) - arm)
        return aside
    last = first + span
    start = math.hypot(row[CX] + arm * math.cos(first) - x, row[CY] + arm * math.sin(first) - y)
    end = math.hypot(row[CX] + arm * math.cos(last) - x, row[CY] + arm * math.sin(last) - y)
    return min(start, end)


@njit(cache=True, nogil=True)
def past_at(x: float, y: float, level: float, row: Floats, shape: int, share: float) -> float:
    """How far a cutter that isn't upright reaches past a point at a level, at one share of a line."""
    tip = row[Z0] + (row[Z1] - row[Z0]) * share
    away = to_line(x, y, row, share, share)
    return width_at(shape, row[RADIUS], row[SLOPE], max(level - tip, 0.0)) - away


@njit(cache=True, nogil=True)
def most_past(x: float, y: float, level: float, row: Floats, shape: int, low: float, high: float) -> float:
    """The most that a cutter that isn't upright reaches past a point along a sloped line.

    The distance to the point is convex along the line and the width at a level concave, so what is sought
    has one summit: golden section finds it.
    """
    left = high - GOLDEN * (high - low)
    right = low + GOLDEN * (high - low)
    at_left = past_at(x, y, level, row, shape, left)
    at_right = past_at(x, y, level, row, shape, right)
    for _ in range(60):
        if at_left < at_right:
            low = left
            left, at_left = right, at_right
            right = low + GOLDEN * (high - low)
            at_right = past_at(x, y, level, row, shape, right)
        else:
            high = right
            right, at_right = left, at_left
            left = high - GOLDEN * (high - low)
            at_left = past_at(x, y, level, row, shape, left)
    return max(at_left, at_right)


@njit(cache=True, nogil=True)
def past(x: float, y: float, level: float, row: Floats, shape: int) -> float:
    """The most that the cutter reaches past a point at a level during one piece of path; negative: short of.

    Only what of the piece has its tip below the level counts.
    """
    rise = row[Z1] - row[Z0]
    low, high = 0.0, 1.0
    if abs(rise) < LEVEL:
        if min(row[Z0], row[Z1]) >= level:
            return NOTHING
    else:
        share = (level - row[Z0]) / rise
        if rise > 0.0:
            if share <= 0.0:
                return NOTHING
            high = min(share, 1.0)
        else:
            if share >= 1.0:
                return NOTHING
            low = max(share, 0.0)
    if row[ARM] > 0.0:
        return width_at(shape, row[RADIUS], row[SLOPE], level - min(row[Z0], row[Z1])) - to_arc(
            x, y, row, low, high
        )
    if shape == FLAT or abs(rise) < LEVEL:
        return width_at(shape, row[RADIUS], row[SLOPE], level - min(row[Z0], row[Z1])) - to_line(
            x, y, row, low, high
        )
    return most_past(x, y, level, row, shape, low, high)


@njit(cache=True, nogil=True)
def reach(
    points: Floats,
    levels: Floats,
    enough: Floats,
    bins: Ints,
    binned: Ints,
    corner: Floats,
    size: float,
    columns: int,
    boxes: Floats,
    pieces: Floats,
    shapes: Ints,
    best: Floats,
    best_piece: Ints,
    first_piece: Ints,
) -> None:
    """For each point the most that any piece reaches past it at its level, and which piece.

    Args:
        points: (n, 2), with `levels` (n,), and `enough` (n,): what a piece must exceed to be the first
        bins: (rows x columns + 1,) where each square of the plan, `size` wide from `corner`, begins
        binned: (n,) indices of points, square by square
        boxes: (m, 4) of each piece, grown by the cutter and the search: left, front, right, back
        pieces: (m, COLUMNS), in the order in which they are cut; `shapes` (m,) FLAT, BALL, CONE or BULL
        best, best_piece, first_piece: (n,) results, changed in place; they come in as NOTHING, -1, -1
    """
    rows = (len(bins) - 1) // columns
    for piece in range(len(pieces)):
        row = pieces[piece]
        shape = shapes[piece]
        floor = min(row[Z0], row[Z1])
        left, front, right, back = boxes[piece]
        column_low = max(math.floor((left - corner[0]) / size), 0)
        column_high = min(math.floor((right - corner[0]) / size), columns - 1)
        row_low = max(math.floor((front - corner[1]) / size), 0)
        row_high = min(math.floor((back - corner[1]) / size), rows - 1)
        for over in range(row_low, row_high + 1):
            if column_low > column_high:
                continue
            begin = bins[over * columns + column_low]
            end = bins[over * columns + column_high + 1]
            for place in range(begin, end):
                point = binned[place]
                x = points[point, 0]
                y = points[point, 1]
                if floor >= levels[point] or x < left or x > right or y < front or y > back:
                    continue
                reached = past(x, y, levels[point], row, shape)
                if reached > best[point]:
                    best[point] = reached
                    best_piece[point] = piece
                if first_piece[point] < 0 and reached > enough[point]:
                    first_piece[point] = piece
