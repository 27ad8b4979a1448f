"""Removal cell by cell over the whole grid, one move after the other."""

import math
from collections.abc import Callable, Sequence
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from proveout.job.records import Cutter
from proveout.motion import ARC, XY, Motion, chords
from proveout.proof.removal import LEAST_TURN, RIM
from proveout.proof.verdict import HeightField

Grid = npt.NDArray[np.float64]


class PlainRemoval(NamedTuple):
    heights: npt.NDArray[np.float32]
    removed: Grid
    depth: Grid
    breach: Grid
    through: npt.NDArray[np.int32]


class Cover(NamedTuple):
    """What the cutter does over every cell during one straight piece or level arc."""

    covered: npt.NDArray[np.bool_]
    tip: Grid  # where the cutter is lowest over the cell
    under: Grid  # its underside there


def remove_plainly(
    field: HeightField,
    motion: Motion,
    cutters: Sequence[Cutter],
    allowed: npt.NDArray[np.float32],
    level: float,
) -> PlainRemoval:
    heights = field.heights.copy()
    removed, depth, breach = (np.zeros(len(motion)) for _ in range(3))
    through = np.zeros(heights.shape, dtype=np.int32)
    for move in range(len(motion)):
        for cover in _covers(field, motion, move, cutters):
            under = cover.under.astype(np.float32)
            lower = cover.covered & (under < heights)
            taken = heights.astype(np.float64) - under
            removed[move] += taken[lower].sum() * field.cell**2
            depth[move] = max(depth[move], (heights - cover.tip)[lower].max(initial=0.0))
            breach[move] = max(breach[move], (allowed.astype(np.float64) - under)[lower].max(initial=0.0))
            through[lower & (under <= np.float32(level)) & (heights > np.float32(level))] = move + 1
            heights[lower] = under[lower]
    return PlainRemoval(heights, removed, depth, breach, through)


def _covers(field: HeightField, motion: Motion, move: int, cutters: Sequence[Cutter]) -> list[Cover]:
    cutter = next((one for one in cutters if one.number == motion.cutter[move]), None)
    if cutter is None:
        return []
    rows, columns = field.heights.shape
    x: Grid = field.origin[0] + (np.arange(columns, dtype=np.float64) + 0.5) * field.cell
    y: Grid = field.origin[1] + (np.arange(rows, dtype=np.float64) + 0.5) * field.cell
    level = motion.start[move, 2] == motion.end[move, 2]
    if (
        motion.kind[move] == ARC
        and motion.plane[move] == XY
        and level
        and abs(motion.sweep[move]) > LEAST_TURN
    ):
        return [_level_arc(motion, move, cutter, x[None, :], y[:, None])]
    pieces = chords(motion, 0.002)
    mine = pieces.parent == move
    ends = zip(pieces.start[mine], pieces.end[mine], strict=True)
    return [_straight(start, end, cutter, x[None, :], y[:, None]) for start, end in ends]


def _profile(cutter: Cutter) -> Callable[[Grid], Grid]:
    """Height of the underside above the tip, from the squared distance to the axis."""
    reach = cutter.radius - RIM
    if cutter.kind == "flat":
        return lambda away2: 0.0 * away2
    if cutter.kind == "ball":
        return lambda away2: reach - np.sqrt(np.maximum(0.0, reach * reach - away2))
    if cutter.kind == "bull nose":
        assert cutter.corner_radius is not None
        corner = cutter.corner_radius - RIM
        flat = reach - corner
        return lambda away2: (
            corner - np.sqrt(np.maximum(0.0, corner**2 - np.maximum(0.0, np.sqrt(away2) - flat) ** 2))
        )
    assert cutter.point_deg is not None
    slope = 1 / math.tan(math.radians(cutter.point_deg / 2))
    return lambda away2: slope * np.sqrt(away2)


def _straight(start: Grid, end: Grid, cutter: Cutter, x: Grid, y: Grid) -> Cover:
    reach, profile = cutter.radius - RIM, _profile(cutter)
    dx, dy, dz = end - start
    run = math.sqrt(dx**2 + dy**2)
    if run < 1e-9:  # straight down or up: the lower end decides
        away2 = (x - start[0]) ** 2 + (y - start[1]) ** 2
        low = min(start[2], end[2])
        return Cover(away2 <= reach**2, np.full_like(away2, low), low + profile(away2))
    ux, uy, rise = dx / run, dy / run, dz / run
    along = (x - start[0]) * ux + (y - start[1]) * uy
    aside = (y - start[1]) * ux - (x - start[0]) * uy
    past = along - np.clip(along, 0.0, run)
    covered = past * past + aside * aside <= reach * reach
    half = np.sqrt(np.maximum(0.0, reach * reach - aside * aside))
    # the stretch of the move, from the cell's foot, in which the cutter covers the cell
    first, last = np.maximum(-half, -along), np.minimum(half, run - along)
    if cutter.kind == "flat":
        ahead = first if rise >= 0 else last
    else:
        ahead = _lowest_by_halving(lambda u: rise * u + profile(u * u + aside * aside), first, last)
    tip = np.maximum(min(start[2], end[2]), start[2] + rise * (along + ahead))
    return Cover(covered, tip, tip + profile(ahead * ahead + aside * aside))


def _lowest_by_halving(height: Callable[[Grid], Grid], first: Grid, last: Grid) -> Grid:
    """Where a convex function is least between two limits, by dropping the worse third time and again."""
    ends = first, last
    for _ in range(80):
        third = (last - first) / 3
        left_is_lower = height(first + third) <= height(last - third)
        first, last = (
            np.where(left_is_lower, first, first + third),
            np.where(left_is_lower, last - third, last),
        )
    least = (first + last) / 2
    for end in ends:  # the thirds only come near to an end
        least = np.where(height(end) <= height(least), end, least)
    return least


def _level_arc(motion: Motion, move: int, cutter: Cutter, x: Grid, y: Grid) -> Cover:
    reach = cutter.radius - RIM
    start, end, centre = motion.start[move], motion.end[move], motion.centre[move]
    sweep = motion.sweep[move]
    radius = math.hypot(start[0] - centre[0], start[1] - centre[1])
    begins = math.atan2(start[1] - centre[1], start[0] - centre[0])
    turned = (np.arctan2(y - centre[1], x - centre[0]) - begins) * np.sign(sweep) % math.tau
    on_arc = np.abs(np.sqrt((x - centre[0]) ** 2 + (y - centre[1]) ** 2) - radius)
    to_start = np.hypot(x - start[0], y - start[1])
    to_end = np.hypot(x - end[0], y - end[1])
    away = np.where(turned <= abs(sweep), on_arc, np.minimum(to_start, to_end))
    tip = np.full_like(away, start[2])
    return Cover(away <= reach, tip, tip + _profile(cutter)(away * away))
