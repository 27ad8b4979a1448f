"""What the machine, the spindle and the bed can take, move by move."""

from collections.abc import Iterator
from typing import Final

import numpy as np
import shapely

from proveout.finding import Finding, Level
from proveout.job.records import Cutter
from proveout.motion import RAPID, Floats, chords, lengths
from proveout.proof.trial import (
    Mask,
    Rows,
    Seen,
    Trial,
    again,
    at_least,
    at_most,
    cutters_of,
    end_of,
    judged,
    length,
    lowest,
    only,
    opening,
    per_move,
    seen,
    tip_boxes,
)
from proveout.quantity import show_speed
from proveout.setup import Setup, cutter_by_number

ROUNDING: Final = 0.01  # mm; programs round their coordinates to a thousandth of a mm or of half a thou
SHARE: Final = 1.005  # of a limit on feed or speed, for rounding
CHORD: Final = 0.01  # mm
SIDES: Final = (("left", "right"), ("front", "back"), ("bottom", "top"))
TOWARDS: Final = {
    "left": "to the left",
    "right": "to the right",
    "front": "to the front",
    "back": "to the back",
}


def cutters_unknown(run: Trial) -> Iterator[Finding]:
    """Moves of cutters that the setup doesn't have, or doesn't know the shape of."""
    for number in np.unique(run.motion.cutter).tolist():
        cutter = cutter_by_number(run.setup, number)
        if cutter is not None and judged([cutter]):
            continue
        said, remedy = _unknown(run.setup, number, cutter)
        moves = np.flatnonzero(run.motion.cutter == number)
        for sight in seen(run, moves, np.zeros(len(moves))):
            yield Finding(
                level=Level.STOP,
                kind="cutter-unknown",
                text=f"{opening(run, sight.first)} {said}; what it cuts could not be judged.",
                remedy=remedy,
                program=sight.file,
                line=sight.line(run.motion),
            )


def _unknown(setup: Setup, number: int, cutter: Cutter | None) -> tuple[str, str]:
    if cutter is not None and cutter.kind == "bull nose":
        return (
            f"the corner radius of cutter {number} ({cutter.name}) isn't known",
            f"State the corner radius of cutter {number}, less than {length(setup, cutter.radius)}.",
        )
    if cutter is not None:
        return (
            f"the angle of the point of cutter {number} ({cutter.name}) isn't known",
            f"State the point's angle of cutter {number}, say 90 or 118 degrees.",
        )
    have = ", ".join(f"{one.number} ({one.name})" for one in setup.cutters)
    if not number:
        return (
            "the program uses a cutter that is named nowhere",
            f"Name it in the program, as in T1 M6, or with --cutter; on hand: {have or 'none'}.",
        )
    return (
        f"the program uses cutter {number}, which the setup doesn't have",
        f"Use one of the cutters on hand: {have or 'none'}.",
    )


def beyond_travel(run: Trial) -> Iterator[Finding]:
    """Moves that take the tip out of the box that the machine can reach."""
    low, high = np.asarray(run.setup.reach.low), np.asarray(run.setup.reach.high)
    below, above = tip_boxes(run.motion)
    doubtful = np.flatnonzero(((below < low - ROUNDING) | (above > high + ROUNDING)).any(axis=1))
    pieces = chords(only(run.motion, doubtful), CHORD / 2)
    # Ends only: where the first move of all begins is nobody's doing, and any other begins where one ended.
    out = np.maximum(low - pieces.end, pieces.end - high)
    far = out.max(axis=1)
    bad = np.flatnonzero(far > ROUNDING)
    for sight in seen(run, doubtful[pieces.parent[bad]], far[bad]):
        row = bad[doubtful[pieces.parent[bad]] == sight.worst]
        row = row[int(np.argmax(far[row]))]
        axis = int(np.argmax(out[row]))
        short = bool(pieces.end[row, axis] < low[axis])
        yield Finding(
            level=Level.STOP,
            kind="beyond-travel",
            text=(
                f"{opening(run, sight.first)} the move leaves the machine's travel by "
                f"{length(run.setup, sight.amount)} on its {SIDES[axis][0 if short else 1]} side."
                f"{again(run, sight)}"
            ),
            remedy=_back_in_travel(run, axis, sight.amount, short=short),
            program=sight.file,
            line=sight.line(run.motion),
            at=end_of(run.motion, sight.worst),
            amount=sight.amount,
        )


def _back_in_travel(run: Trial, axis: int, far: float, *, short: bool) -> str:
    """Which way the work must move for the travel to hold all of it, or that it can't."""
    setup = run.setup
    if axis == 2:
        return (
            f"{'Raise' if short else 'Lower'} the move by {at_least(setup, far)}, or set the cutter with "
            f"{at_least(setup, far)} {'more' if short else 'less'} stick-out."
        )
    ends = run.motion.end[:, axis]
    needed = float(ends.max() - ends.min())
    has = setup.reach.high[axis] - setup.reach.low[axis]
    if needed > has + 2 * ROUNDING:
        return (
            f"The programs need {length(setup, needed)} of travel there and the machine has "
            f"{length(setup, has)}: see that no number is mistyped, or cut the sheet in two set-ups."
        )
    way = SIDES[axis][1 if short else 0]
    return f"Move the stock, its clamps and the work zero at least {at_least(setup, far)} {TOWARDS[way]}."


def feeds_too_fast(run: Trial) -> Iterator[Finding]:
    """Feeds whose part along an axis is more than that axis can do."""
    most = np.asarray(run.setup.machine.max_feed)
    moves = np.flatnonzero((run.motion.kind != RAPID) & (run.motion.feed > most.min()))
    pieces = chords(only(run.motion, moves), CHORD)
    step = pieces.end - pieces.start
    span = np.linalg.norm(step, axis=1)
    along = np.abs(step) / np.where(span > 0, span, 1.0)[:, None]
    feed = run.motion.feed[moves][pieces.parent]
    ratio = (along * feed[:, None] / most).max(axis=1)
    bad = np.flatnonzero(ratio > SHARE)
    upright = (along[:, 2] / most[2] >= (along[:, :2] / most[:2]).max(axis=1))[bad]
    yield from _too_fast(run, moves[pieces.parent[bad[~upright]]], ratio[bad[~upright]], "across")
    yield from _too_fast(run, moves[pieces.parent[bad[upright]]], ratio[bad[upright]], "up or down")


def _too_fast(run: Trial, moves: Rows, ratio: Floats, way: str) -> Iterator[Finding]:
    """Feeds that one kind of axis can't follow, told with the least that any of the moves can do."""
    units = run.setup.machine.units
    feed = run.motion.feed
    for sight in seen(run, moves, ratio):
        asked = float(feed[sight.worst])
        mine = run.program[moves] == run.files.index(sight.file)
        least = float((feed[moves] / ratio)[mine].min())
        yield Finding(
            level=Level.CAUTION,
            kind="feed-too-fast",
            text=(
                f"{opening(run, sight.first)} the feed of {show_speed(asked, units)} is more than the "
                f"machine can do in that direction, {show_speed(asked / sight.amount, units)}; it will run "
                f"slower, or refuse.{again(run, sight)}"
            ),
            remedy=f"Ask for at most {show_speed(least, units)} {way}.",
            program=sight.file,
            line=sight.line(run.motion),
            at=end_of(run.motion, sight.worst),
        )


def speeds_out_of_range(run: Trial) -> Iterator[Finding]:
    """Spindle speeds that the spindle or the cutter can't run at."""
    spindle = run.setup.machine.spindle
    turning = run.motion.speed_rpm
    for cutter in cutters_of(run):
        top = min(spindle.max_rpm, cutter.max_rpm or spindle.max_rpm)
        mine = (run.motion.cutter == cutter.number) & (turning > 0)
        whose = f"{cutter.name} may run at" if top < spindle.max_rpm else "the spindle can do"
        over = np.flatnonzero(mine & (turning > top * SHARE))
        for sight in seen(run, over, turning[over]):
            yield _speed(
                run, sight.first, sight.file, f"more than {whose}, {top:.0f} rpm", f"at most {top:.0f}"
            )
        under = np.flatnonzero(mine & (turning < spindle.min_rpm / SHARE))
        for sight in seen(run, under, -turning[under]):
            said = f"less than the spindle can do, {spindle.min_rpm:.0f} rpm"
            yield _speed(run, sight.first, sight.file, said, f"at least {spindle.min_rpm:.0f}")


def _speed(run: Trial, move: int, file: str, said: str, wanted: str) -> Finding:
    return Finding(
        level=Level.STOP,
        kind="speed-out-of-range",
        text=f"{opening(run, move)} the spindle is asked for {run.motion.speed_rpm[move]:.0f} rpm, {said}.",
        remedy=f"Ask for {wanted} rpm.",
        program=file,
        line=int(run.motion.line[move]) or None,
        at=end_of(run.motion, move),
    )


def bed_cut(run: Trial) -> Iterator[Finding]:
    """Moves that take the tip deeper into the bed than is allowed; at rapid or with a still spindle, at all.

    A rapid straight up out of a cut that was allowed is no cut.
    """
    motion = run.motion
    rising = (motion.end[:, 2] > motion.start[:, 2]) & (motion.end[:, :2] == motion.start[:, :2]).all(axis=1)
    blunt = ((motion.kind == RAPID) & ~rising) | ((motion.speed_rpm == 0) & ~rising)
    limit = np.where(blunt, 0.0, run.setup.bed_allowance)
    depth = -lowest(motion)
    deep = np.flatnonzero(depth > limit + ROUNDING)
    over = deep[_over_plate(run, deep)]
    for sight in seen(run, over, (depth - limit)[over]):
        allowed = float(limit[sight.worst])
        yield Finding(
            level=Level.STOP,
            kind="bed-cut",
            text=(
                f"{opening(run, sight.first)} the cutter goes {length(run.setup, allowed + sight.amount)} "
                f"into the bed; {length(run.setup, allowed)} is allowed{_blunt(blunt, sight)}."
                f"{again(run, sight)}"
            ),
            remedy=(
                f"Raise the cut by at least {at_least(run.setup, sight.amount)}: its tip may go "
                f"{at_most(run.setup, allowed)} into the bed. Check the program's zero."
            ),
            amount=sight.amount,
            program=sight.file,
            line=sight.line(run.motion),
            at=end_of(run.motion, sight.worst),
        )


def _blunt(blunt: Mask, sight: Seen) -> str:
    return " at rapid or with a still spindle" if blunt[sight.worst] else ""


def _over_plate(run: Trial, moves: Rows) -> Mask:
    """Which moves bring the cutter over the plate, by the box that their tips stay in."""
    if not moves.size:
        return np.zeros(0, dtype=np.bool_)
    low, high = tip_boxes(only(run.motion, moves))
    boxes = shapely.box(low[:, 0], low[:, 1], high[:, 0], high[:, 1])
    radius = per_move(run, {cutter.number: cutter.radius for cutter in run.setup.cutters})[moves]
    near: Mask = shapely.distance(boxes, run.setup.plate) < radius
    return near


def cuts_outside(run: Trial) -> Iterator[Finding]:
    """Feed moves at cutting height whose cutter stays wholly off the stock, as a wrong zero makes them."""
    width, depth = run.setup.stock.size
    radius = per_move(run, {cutter.number: cutter.radius for cutter in run.setup.cutters})
    low, high = tip_boxes(run.motion)
    off = (high[:, 0] < -radius) | (high[:, 1] < -radius)
    off |= (low[:, 0] > width + radius) | (low[:, 1] > depth + radius)
    sunk = (run.motion.kind != RAPID) & (lowest(run.motion) < run.setup.stock.thickest)
    moves = np.flatnonzero(off & sunk & (run.motion.speed_rpm > 0))
    travelled: Floats = lengths(run.motion)[moves]
    for sight in seen(run, moves, travelled):
        total = float(travelled[run.program[moves] == run.files.index(sight.file)].sum())
        yield Finding(
            level=Level.NOTE,
            kind="cut-outside-stock",
            text=(
                f"{opening(run, sight.first)} the cutter feeds at cutting height wholly outside the stock; "
                f"{sight.moves} such moves, {length(run.setup, total)} in all."
            ),
            remedy="Check the program's zero and the stock's place if that isn't meant.",
            program=sight.file,
            line=sight.line(run.motion),
            at=end_of(run.motion, sight.first),
        )
