"""The cutter standing in the wood: what the spindle does then, and how long it rubs at one place."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Final, NamedTuple

import numpy as np

from proveout.finding import Finding, Level
from proveout.motion import LINE, Motion
from proveout.program.events import Event
from proveout.proof.companion import COMPANION, FLUSH, GRAZE
from proveout.proof.removal import Removal, fresh_field, remove
from proveout.proof.trial import Rows, Trial, cutters_of, end_of, judged, length, only
from proveout.setup import Setup, cutter_by_number

BESIDE: Final = 0.2  # mm around the cutter; nearer material is touched as soon as anything bends
BELOW: Final = 0.05  # mm under its end
# s that a turning cutter may stand: 0.5 s at 18000 rpm is 150 turns in one place, and wood browns soon after.
# Common practice, no source.
REST: Final = 0.5


class Standing(NamedTuple):
    """An event while the cutter stands in the wood."""

    file: str
    event: Event
    move: int  # the last move before it
    depth: float  # mm that the wood beside it stands above the tip; 0 where it only rests on a floor


def stands_in_wood(run: Trial, removal: Removal) -> Iterator[Finding]:
    """Spindle switched, dwells and pauses with the cutter in contact with the wood, once for each program."""
    everywhere = _standing(run, removal)
    for file in run.files:
        mine = [one for one in everywhere if one.file == file]
        switched = [one for one in mine if one.event.what in ("on", "off", "reversed")]
        resting = [one for one in mine if one.event.what not in ("on", "off", "reversed")]
        if switched:
            yield _switched(run, switched)
        if resting:
            yield _resting(run, resting)


def _switched(run: Trial, all_of_them: Sequence[Standing]) -> Finding:
    one = all_of_them[0]
    said = {"on": "started", "off": "stopped", "reversed": "reversed"}[one.event.what]
    return Finding(
        level=Level.CAUTION,
        kind="spindle-switched-in-cut",
        text=(
            f"Line {one.event.line}: the spindle is {said} while the cutter {_stands(run.setup, one)}: it "
            f"grips, and can break or throw the work.{_more(all_of_them)}"
        ),
        remedy=f"Raise the cutter to {_high(run.setup)} above the bed first.",
        program=one.file,
        line=one.event.line or None,
        at=end_of(run.motion, one.move),
    )


def _resting(run: Trial, all_of_them: Sequence[Standing]) -> Finding:
    one = max(all_of_them, key=_seconds)
    waits = (
        f"for {one.event.seconds:g} s"
        if one.event.what == "dwell"
        else f"until somebody comes ({one.event.word})"
    )
    return Finding(
        level=Level.CAUTION,
        kind="rests-in-cut",
        text=(
            f"Line {one.event.line}: the turning cutter {_stands(run.setup, one)} and waits there {waits}: "
            f"friction burns wood and cutter.{_more(all_of_them)}"
        ),
        remedy=(
            f"Raise the cutter to {_high(run.setup)} above the bed before it waits, or wait {REST:g} s at "
            "most."
        ),
        program=one.file,
        line=one.event.line or None,
        at=end_of(run.motion, one.move),
    )


def _seconds(one: Standing) -> float:
    return one.event.seconds if one.event.what == "dwell" else np.inf


def _stands(setup: Setup, one: Standing) -> str:
    if one.depth > FLUSH:
        return f"stands {length(setup, one.depth)} deep in the wood"
    return "rests on uncut wood"


def _more(found: Sequence[Standing]) -> str:
    others = len(found) - 1
    return f" So it does {others} more time{'s' if others > 1 else ''}." if others else ""


def _high(setup: Setup) -> str:
    return length(setup, setup.stock.thickest + 1.0)


# --- where it stands


def _standing(run: Trial, removal: Removal) -> list[Standing]:
    """Every event that matters here with the cutter in contact with the wood."""
    low = [(file, one) for file, one in _events(run) if _is_low(run, one.before - 1)]
    if not low:
        return []
    rows = np.unique([one.before - 1 for _, one in low])
    depth = dict(zip(rows.tolist(), _contact(run, removal, rows).tolist(), strict=True))
    return [
        Standing(file, one, one.before - 1, max(depth[one.before - 1], 0.0))
        for file, one in low
        if depth[one.before - 1] > -np.inf
    ]


def _events(run: Trial) -> Iterator[tuple[str, Event]]:
    """What can go wrong in the wood, each with its program, where the program has moved before."""
    for number, (file, events) in enumerate(zip(run.files, run.events, strict=False)):
        for one in events:
            rubs = one.turning and (one.what == "pause" or one.seconds > REST)
            moved = one.before > 0 and run.program[one.before - 1] == number
            if moved and (one.what in ("on", "off", "reversed") or rubs):
                yield file, one


def _is_low(run: Trial, move: int) -> bool:
    """Whether a move ends below the stock's top, over the stock."""
    x, y, z = end_of(run.motion, move)
    cutter = cutter_by_number(run.setup, int(run.motion.cutter[move]))
    if cutter is None or z > run.setup.stock.thickest - FLUSH:
        return False
    reach, (width, depth) = cutter.radius, run.setup.stock.size
    return -reach < x < width + reach and -reach < y < depth + reach


def _contact(run: Trial, removal: Removal, moves: Rows) -> np.ndarray:
    """Depth of the wood that touches the cutter at the end of each of some moves; -inf where none does.

    A slightly thicker and lower cutter is set down at each place, at its time in the whole motion; what it
    would take away is what the true one touches.
    """
    order = np.sort(np.concatenate((np.arange(len(run.motion)), moves)), kind="stable")
    second = np.flatnonzero(np.diff(order, prepend=-1) == 0)
    motion = _set_down(only(run.motion, order), second)
    stock, field = run.setup.stock, removal.field
    more = max(BESIDE, 0.75 * field.cell)
    thicker = [
        replace(cutter, number=COMPANION + cutter.number, diameter=cutter.diameter + 2 * more)
        for cutter in judged(cutters_of(run))
    ]
    fresh = fresh_field(stock.size, stock.thickest, cell=field.cell, margin=-field.origin[0])
    done = remove(fresh, motion, (*judged(run.setup.cutters), *thicker))
    depth = done.depth[second]
    touches = (depth > FLUSH) & (done.removed[second] > GRAZE * np.minimum(depth, 1.0))
    return np.where(touches, depth - BELOW, -np.inf)


def _set_down(motion: Motion, rows: Rows) -> Motion:
    """The motion with some of its rows turned into a thicker cutter set down where the row ends."""
    kind, cutter = motion.kind.copy(), motion.cutter.copy()
    kind[rows], cutter[rows] = LINE, cutter[rows] + COMPANION
    start, end = motion.start.copy(), motion.end.copy()
    start[rows] = end[rows]
    start[rows, 2] -= BELOW
    end[rows, 2] -= BELOW
    return replace(motion, kind=kind, cutter=cutter, start=start, end=end)
