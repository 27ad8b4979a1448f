"""How close rapids pass over the stock, and over or beside what stands on the bed."""

from collections.abc import Iterator
from typing import Final, NamedTuple

import numpy as np
import shapely

from proveout.finding import Finding, Level
from proveout.motion import RAPID, Floats
from proveout.proof.companion import CLEAR, met
from proveout.proof.removal import Removal
from proveout.proof.strikes import TOUCH, Cylinder, cylinders
from proveout.proof.trial import (
    Rows,
    Trial,
    again,
    cutters_of,
    end_of,
    length,
    opening,
    seen,
    tip_boxes,
)
from proveout.setup import Obstacle, obstacles

# All of these are project defaults: wood is not flat, and a clamp stands a little higher or further in than
# was measured.
OVER_STOCK: Final = 1.0  # mm over the thickest reading
DOWN_TO: Final = 0.25  # mm, of a rapid straight down, which ends where the feed begins
OVER_CLAMP: Final = 2.0  # mm over a clamp, bolt or knob
BESIDE_CLAMP: Final = 1.4  # mm beside one, of all that turns
SLACK: Final = 0.02  # mm; programs round their coordinates
STEP: Final = 0.25  # mm of rise in which a sloping rapid is judged


def rapids_low_over_stock(run: Trial, removal: Removal) -> Iterator[Finding]:
    """Rapids across less than OVER_STOCK over wood that nothing has cut yet, or straight down to DOWN_TO."""
    top = run.setup.stock.thickest
    found = [_room_over(run, removal, number) for number in _low_rapids(run)]
    moves = np.concatenate([one[0] for one in found]) if found else np.zeros(0, dtype=np.intp)
    room = np.concatenate([one[1] for one in found]) if found else np.zeros(0)
    upright = (run.motion.start[moves, :2] == run.motion.end[moves, :2]).all(axis=1)
    wanted = np.where(upright, DOWN_TO, OVER_STOCK)
    close = (room < wanted - SLACK) & (room > -SLACK)
    for sight in seen(run, moves[close], -room[close]):
        least = length(run.setup, max(-sight.amount, 0.0))
        yield Finding(
            level=Level.CAUTION,
            kind="rapid-close",
            text=(
                f"{opening(run, sight.first)} a rapid comes within {least} of uncut wood below it; wood is "
                f"uneven.{again(run, sight)}"
            ),
            remedy=f"Rapid no lower than {length(run.setup, top + OVER_STOCK)} above the bed.",
            program=sight.file,
            line=sight.line(run.motion),
            at=end_of(run.motion, sight.worst),
        )


def _low_rapids(run: Trial) -> list[tuple[int, Rows]]:
    """By cutter, the rapids whose lowest place lies just over the stock's top and that don't only rise."""
    motion, top = run.motion, run.setup.stock.thickest
    low, high = tip_boxes(motion)
    width, depth = run.setup.stock.size
    upright = (motion.end[:, :2] == motion.start[:, :2]).all(axis=1)
    room = np.where(upright, DOWN_TO, OVER_STOCK) - SLACK
    level = (low[:, 2] > top - SLACK) & (low[:, 2] < top + room)
    rising = upright & (motion.end[:, 2] > motion.start[:, 2])
    still = (motion.end == motion.start).all(axis=1)
    some = level & (motion.kind == RAPID) & ~rising & ~still
    found = []
    for cutter in cutters_of(run):
        r = cutter.radius
        over = (high[:, 0] > -r) & (low[:, 0] < width + r) & (high[:, 1] > -r) & (low[:, 1] < depth + r)
        mine = np.flatnonzero(some & over & (motion.cutter == cutter.number))
        if mine.size:
            found.append((cutter.number, mine))
    return found


def _room_over(run: Trial, removal: Removal, low: tuple[int, Rows]) -> tuple[Rows, Floats]:
    """Moves of one cutter with the room below them, where that is over wood at its full height."""
    number, moves = low
    radius = next(one.radius for one in run.setup.cutters if one.number == number)
    below = Cylinder("room", radius - CLEAR, -OVER_STOCK, 0.0)
    found = met(run, removal, below, moves, ahead=True)
    room = OVER_STOCK - found.depth
    tip = tip_boxes(run.motion)[0][found.moves, 2]
    uncut = np.abs(tip - room - run.setup.stock.thickest) < SLACK
    return found.moves[uncut], room[uncut]


# --- clamps, bolts and knobs


class Near(NamedTuple):
    """Rapids near one obstacle."""

    moves: Rows
    short: Floats  # mm that are lacking of the room that is wanted
    over: Floats  # mm of room above or below
    beside: Floats  # mm of room sideways


def rapids_close_to_clamps(run: Trial) -> Iterator[Finding]:
    """Rapids with less room than OVER_CLAMP over a clamp, bolt or knob, or BESIDE_CLAMP beside it."""
    low, high = tip_boxes(run.motion)
    rapid = run.motion.kind == RAPID
    for solid in obstacles(run.setup):
        if solid.kind == "insert":
            continue
        found = [
            _near(
                run, np.flatnonzero(rapid & (run.motion.cutter == cutter.number)), low, high, cylinder, solid
            )
            for cutter in cutters_of(run)
            for cylinder in cylinders(cutter, run.setup.machine.spindle)
        ]
        if found:
            yield from _told(run, solid, Near(*(np.concatenate(each) for each in zip(*found, strict=True))))


def _told(run: Trial, solid: Obstacle, near: Near) -> Iterator[Finding]:
    struck = np.unique(near.moves[(near.over < TOUCH) & (near.beside < TOUCH)])
    close = (near.short > SLACK) & ~np.isin(near.moves, struck)
    for sight in seen(run, near.moves[close], near.short[close]):
        row = np.flatnonzero(close & (near.moves == sight.worst) & (near.short == sight.amount))[0]
        over, beside = float(near.over[row]), float(near.beside[row])
        way, room, wanted = ("over", over, OVER_CLAMP) if over > 0 else ("beside", beside, BESIDE_CLAMP)
        name = f"the bolt of {solid.name}" if solid.kind == "bolt" else solid.name
        what = "it" if solid.kind == "stop" else "the clamp"
        remedy = (
            f"Rapid {length(run.setup, wanted - room)} higher there."
            if way == "over"
            else f"Move {what} {length(run.setup, wanted - room)} away, or rapid above it."
        )
        yield Finding(
            level=Level.CAUTION,
            kind="rapid-close",
            text=(
                f"{opening(run, sight.first)} a rapid passes {length(run.setup, room)} {way} {name}; "
                f"at least {length(run.setup, wanted)} is wanted.{again(run, sight)}"
            ),
            remedy=remedy,
            program=sight.file,
            line=sight.line(run.motion),
            at=end_of(run.motion, sight.worst),
        )


def _near(run: Trial, moves: Rows, low: Floats, high: Floats, cylinder: Cylinder, solid: Obstacle) -> Near:
    """The rapids that one cylinder passes an obstacle on, closer than is wanted."""
    reach = cylinder.radius + BESIDE_CLAMP
    left, front, right, back = solid.footprint.bounds
    some = (low[moves, 2] + cylinder.bottom < solid.top + OVER_CLAMP) & (
        high[moves, 2] + cylinder.top > solid.bottom - OVER_CLAMP
    )
    some &= (low[moves, 0] < right + reach) & (high[moves, 0] > left - reach)
    some &= (low[moves, 1] < back + reach) & (high[moves, 1] > front - reach)
    start, end, parent = _steps(run.motion.start[moves[some]], run.motion.end[moves[some]])
    lines = shapely.linestrings(np.stack((start[:, :2], end[:, :2]), axis=1))
    beside = np.maximum(shapely.distance(lines, solid.footprint) - cylinder.radius, 0.0)
    tip_low, tip_high = np.minimum(start[:, 2], end[:, 2]), np.maximum(start[:, 2], end[:, 2])
    over = np.maximum(tip_low + cylinder.bottom - solid.top, solid.bottom - (tip_high + cylinder.top))
    over = np.maximum(over, 0.0)
    # Over it where their outlines overlap in plan, beside it where their heights do; at a corner both count.
    short = np.minimum(OVER_CLAMP - over, BESIDE_CLAMP - beside)
    short = np.where(over <= 0, BESIDE_CLAMP - beside, np.where(beside <= 0, OVER_CLAMP - over, short))
    keep = short > 0
    return Near(moves[some][parent[keep]], short[keep], over[keep], beside[keep])


def _steps(start: Floats, end: Floats) -> tuple[Floats, Floats, Rows]:
    """Straight moves in pieces: upright ones whole, sloping ones so that each rises no more than STEP."""
    across = (start[:, :2] != end[:, :2]).any(axis=1)
    rise = np.abs(end[:, 2] - start[:, 2])
    count = np.where(across, np.maximum(np.ceil(rise / STEP), 1), 1).astype(np.intp)
    parent = np.repeat(np.arange(len(start)), count)
    number = np.arange(len(parent)) - np.repeat(np.cumsum(count) - count, count)
    step = (end - start)[parent] / count[parent][:, None]
    begins = start[parent] + step * number[:, None]
    return begins, begins + step, parent
