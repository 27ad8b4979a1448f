"""How programs begin: whether the cutter is high before it goes across, and turning before it cuts."""

from collections.abc import Iterator
from typing import Final

import numpy as np

from proveout.finding import Finding, Level
from proveout.motion import Motion
from proveout.motion_time import move_seconds
from proveout.program.read import ASSUMED_START, ReadProgram
from proveout.proof.companion import cutting
from proveout.proof.removal import Removal
from proveout.proof.strikes import ROOM
from proveout.proof.trial import Mask, Trial, at_least, end_of, opening
from proveout.setup import Setup, obstacles

SLACK: Final = 0.05  # s


def height_unsaid(read: ReadProgram, setup: Setup) -> Iterator[Finding]:
    """A way across, or askew, from a height that nobody knows."""
    motion = read.motion
    early = np.arange(len(motion)) < read.placed_from
    still = motion.start[:, 2] == ASSUMED_START[2]
    across = (motion.start[:, :2] != motion.end[:, :2]).any(axis=1)
    for move in np.flatnonzero(early & still & across)[:1].tolist():
        yield Finding(
            level=Level.CAUTION,
            kind="height-unsaid",
            text=(
                f"Line {motion.line[move]}: the cutter goes across before the program has said how high; it "
                "may still stand low from the job before."
            ),
            remedy=_rise(setup),
            program=read.file,
            line=int(motion.line[move]),
        )


def _rise(setup: Setup) -> str:
    """Up over everything on the bed, as the program would say it."""
    top = max([setup.stock.thickest, *(solid.top for solid in obstacles(setup))]) + ROOM
    up = top - setup.zero[2]
    word = f"{up / 25.4:.3f}" if setup.machine.units == "in" else f"{up:.2f}"
    return (
        f"Raise the cutter first, on a line of its own, to at least {at_least(setup, top)} above the bed: "
        f"G0 Z{word}."
    )


def cuts_before_speed(run: Trial, removal: Removal) -> Iterator[Finding]:
    """Cuts that begin before the spindle can have reached its speed."""
    motion, needed = run.motion, run.setup.machine.spindle.spin_up
    spent = move_seconds(motion, run.setup.machine)
    cuts = cutting(removal)
    for start in np.flatnonzero(_starts(run, motion)).tolist():
        first = cuts[cuts >= start][:1]
        if not first.size or run.program[first[0]] != run.program[start]:
            continue
        move = int(first[0])
        elapsed = float(spent[start:move].sum() + motion.dwell[start : move + 1].sum())
        if elapsed < needed - SLACK:
            yield Finding(
                level=Level.CAUTION,
                kind="spindle-not-up",
                text=(
                    f"{opening(run, move)} the cut begins {elapsed:.1f} s after the spindle was started; it "
                    f"takes {needed:.1f} s to its speed."
                ),
                remedy=f"Wait after the start: G4 P{needed:.1f}.",
                program=run.files[int(run.program[move])],
                line=int(motion.line[move]),
                at=end_of(motion, move),
            )


def _starts(run: Trial, motion: Motion) -> Mask:
    """The first move of each time that the spindle turns."""
    turning = motion.speed_rpm > 0
    before = np.concatenate(([False], turning[:-1] & (run.program[1:] == run.program[:-1])))
    starts: Mask = turning & ~before
    return starts
