"""What is drawn twice: copies of a line or an arc found, and lines that overlap on one line put together.

Only within one layer: the same line on two layers may be two orders.
"""

from collections import defaultdict
from dataclasses import replace
from typing import Final

import numpy as np

from proveout.drawing.near import Numbers, near_pairs
from proveout.drawing.wires import Flags, Floats, Wires

NEAR: Final = 0.01  # mm between a line or arc and its copy
SHARE: Final = 0.1  # of its length, for a short one
EXACT: Final = 1e-6  # mm
DIRECTION: Final = 1e-4  # radians between lines on one line
ACROSS: Final = 2 * NEAR  # mm, the width of the strip in which such lines are looked for


def taken(wires: Wires, rows: Numbers) -> Wires:
    """Some of the wires, in the order of the rows."""
    names = ("start", "end", "centre", "ccw", "layer", "entity", "ring")
    return replace(wires, **{name: getattr(wires, name)[rows] for name in names})


def middles(wires: Wires, turn: Floats) -> Floats:
    """(n, 2) the point halfway along each."""
    half = np.exp(0.5j * turn)
    arm = wires.start - wires.centre
    turned = (arm[:, 0] + 1j * arm[:, 1]) * half
    on_arc = wires.centre + np.column_stack((turned.real, turned.imag))
    return np.where(np.isnan(wires.centre), (wires.start + wires.end) / 2, on_arc)


def copies(wires: Wires, middle: Floats, length: Floats) -> Numbers:
    """(m, 2) rows that are drawn twice, the one to keep first, then its copy: a loose one, never of a ring.

    Where the one to keep is of a ring, dropping the copy may open a chain that shares the ring's edge: the
    caller drops such a copy only where its chain is open anyway.
    """
    loose = np.flatnonzero(wires.ring < 0)
    exact = _exact(wires, middle, loose)
    gone = np.zeros(len(wires), bool)
    gone[exact[:, 1]] = True
    rows = np.flatnonzero(~gone)
    found = [exact]
    short = length[rows] < NEAR / SHARE
    for some, reach in ((rows[~short], NEAR), (rows[short], NEAR * SHARE)):
        pairs = some[near_pairs(middle[some], reach)]
        pairs = pairs[_alike(wires, length, pairs)]
        ring = wires.ring[pairs] >= 0
        pairs = pairs[~ring.all(axis=1)]
        swap = wires.ring[pairs[:, 1]] >= 0
        pairs[swap] = pairs[swap, ::-1]
        found.append(pairs)
    return np.concatenate(found)


def _exact(wires: Wires, middle: Floats, rows: Numbers) -> Numbers:
    """Copies to the last digit, found by sorting, however many lie on one another."""
    one, other = wires.start[rows], wires.end[rows]
    swap = (one[:, 0] > other[:, 0]) | ((one[:, 0] == other[:, 0]) & (one[:, 1] > other[:, 1]))
    low, high = np.where(swap[:, None], other, one), np.where(swap[:, None], one, other)
    digits = np.round(np.column_stack((low, high, middle[rows])) / EXACT)
    keys = np.column_stack((digits, wires.layer[rows].astype(np.float64)))
    order = np.lexsort((rows, *keys.T))
    same = (keys[order[1:]] == keys[order[:-1]]).all(axis=1)
    group = np.concatenate(([0], np.cumsum(~same))) if len(order) else np.empty(0, np.int64)
    head = np.flatnonzero(np.concatenate(([True], ~same))) if len(order) else np.empty(0, np.int64)
    repeat = np.flatnonzero(np.concatenate(([False], same))) if len(order) else np.empty(0, np.int64)
    return np.column_stack((rows[order[head[group[repeat]]]], rows[order[repeat]]))


def _alike(wires: Wires, length: Floats, pairs: Numbers) -> Flags:
    """(m,) whether two run from end to end alike, either way round, on one layer."""
    one, other = pairs.T
    most = np.minimum(NEAR, SHARE * np.minimum(length[one], length[other]))

    def apart(first: Floats, second: Floats) -> Floats:
        return np.asarray(np.hypot(*(first - second).T))

    along = np.maximum(apart(wires.start[one], wires.start[other]), apart(wires.end[one], wires.end[other]))
    back = np.maximum(apart(wires.start[one], wires.end[other]), apart(wires.end[one], wires.start[other]))
    return np.asarray((np.minimum(along, back) <= most) & (wires.layer[one] == wires.layer[other]))


# --- lines that overlap


def overlapping(wires: Wires, rows: Numbers) -> list[tuple[int, int]]:
    """Two and two of the rows' lines that lie on one line and share a stretch longer than NEAR.

    Args:
        rows: of lines
    """
    way = wires.end[rows] - wires.start[rows]
    angle = np.arctan2(way[:, 1], way[:, 0]) % np.pi
    middle = (wires.start[rows] + wires.end[rows]) / 2
    origin = middle.mean(axis=0) if len(rows) else np.zeros(2)
    found: set[tuple[int, int]] = set()
    for turn in (0.0, 0.5):  # lines on two sides of a cell's border share one of the cells half a step on
        for shift in (0.0, 0.5):
            found |= _in_strips(wires, rows, angle, origin, (turn, shift))
    return sorted(found)


def _in_strips(
    wires: Wires, rows: Numbers, angle: Floats, origin: Floats, steps: tuple[float, float]
) -> set[tuple[int, int]]:
    """The overlapping ones that share a cell of direction and of distance from the origin."""
    slice_ = np.floor(angle / DIRECTION + steps[0]) % np.floor(np.pi / DIRECTION)
    mean = (slice_ - steps[0] + 0.5) * DIRECTION  # one direction for all of the cell, so that they compare
    unit = np.column_stack((np.cos(mean), np.sin(mean)))
    from_origin, to = wires.start[rows] - origin, wires.end[rows] - origin
    half = (from_origin + to) / 2
    true = np.column_stack((np.cos(angle), np.sin(angle)))
    off = half[:, 1] * true[:, 0] - half[:, 0] * true[:, 1]
    off = np.where(np.abs(angle - mean) > np.pi / 2, -off, off)  # directions next to a half turn
    strip = np.floor(off / ACROSS + steps[1])
    along = np.sort(np.column_stack(((from_origin * unit).sum(axis=1), (to * unit).sum(axis=1))), axis=1)
    order = np.lexsort((along[:, 0], strip, slice_, wires.layer[rows]))
    cell = np.column_stack((wires.layer[rows], slice_, strip))[order]
    fresh = np.concatenate(([True], (cell[1:] != cell[:-1]).any(axis=1))) if len(order) else np.empty(0, bool)
    number = np.cumsum(fresh)
    span = float(np.ptp(along)) + 1.0 if len(order) else 1.0
    low, high = along[order, 0] + number * 2 * span, along[order, 1] + number * 2 * span
    reach = np.maximum.accumulate(high) if len(order) else high
    meets = np.flatnonzero(low[1:] < reach[:-1] - NEAR) + 1
    holder = np.maximum.accumulate(np.where(high == reach, np.arange(len(high)), 0))
    found = set()
    for here in meets.tolist():
        one, other = int(rows[order[holder[here - 1]]]), int(rows[order[here]])
        if _on_one_line(wires, one, other):
            found.add((min(one, other), max(one, other)))
    return found


def _on_one_line(wires: Wires, one: int, other: int) -> bool:
    """Whether the shorter lies on the longer's line, and they share more than a touch."""
    lengths = [float(np.hypot(*(wires.end[row] - wires.start[row]))) for row in (one, other)]
    long, short = (one, other) if lengths[0] >= lengths[1] else (other, one)
    unit = (wires.end[long] - wires.start[long]) / max(lengths)
    arms = np.stack((wires.start[short], wires.end[short])) - wires.start[long]
    across = np.abs(arms[:, 1] * unit[0] - arms[:, 0] * unit[1])
    along = arms @ unit
    shared = min(float(along.max()), max(lengths)) - max(float(along.min()), 0.0)
    return bool(across.max() <= NEAR and shared > NEAR)


def put_together(
    wires: Wires, pairs: list[tuple[int, int]], place: Numbers
) -> tuple[Wires, list[tuple[int, int, float]]]:
    """Lines that overlap made one, and what was: the row kept, the row that went, and the shared length.

    Only where the ends that vanish meet no other line: a shape that begins there keeps its own edge.

    Args:
        place: (2 n,) the place of each row's start and end
    """
    start, end = wires.start.copy(), wires.end.copy()
    at = place.reshape(-1, 2).copy()
    ends: defaultdict[int, int] = defaultdict(int)
    for one in place.tolist():
        ends[one] += 1
    stands_for = {row: row for pair in pairs for row in pair}
    done = []
    for pair in pairs:
        keep, gone = (_standing(stands_for, row) for row in pair)
        if keep == gone:
            continue
        four = [
            (start[keep], at[keep, 0]),
            (end[keep], at[keep, 1]),
            (start[gone], at[gone, 0]),
            (end[gone], at[gone, 1]),
        ]
        unit = (end[keep] - start[keep]) / np.hypot(*(end[keep] - start[keep]))
        ranked = sorted(four, key=lambda one: float((one[0] - start[keep]) @ unit))
        vanish = [int(one[1]) for one in ranked[1:3]]
        outer = {int(ranked[0][1]), int(ranked[3][1])}
        if any(ends[one] > vanish.count(one) for one in vanish if one not in outer):
            continue
        shared = float((ranked[2][0] - ranked[1][0]) @ unit)
        for one in vanish:
            ends[one] -= 1
        (start[keep], at[keep, 0]), (end[keep], at[keep, 1]) = (
            (ranked[0][0].copy(), ranked[0][1]),
            (ranked[3][0].copy(), ranked[3][1]),
        )
        stands_for[gone] = keep
        done.append((keep, gone, shared))
    return replace(wires, start=start, end=end), done


def _standing(stands_for: dict[int, int], row: int) -> int:
    while stands_for[row] != row:
        row = stands_for[row]
    return row
