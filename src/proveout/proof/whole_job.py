"""Programs as parts of one job: each moves, cuts with its own cutter, and checks outlines with none."""

from collections.abc import Iterator

import numpy as np

from proveout.finding import Finding, Level
from proveout.proof.companion import cutting
from proveout.proof.removal import Removal
from proveout.proof.trial import Trial, end_of, opening, seen
from proveout.setup import cutter_by_number


def never_moves(run: Trial) -> Iterator[Finding]:
    """Programs without a single move, as far as they were read to their end."""
    for number, (file, events) in enumerate(zip(run.files, run.events, strict=False)):
        read_whole = any(event.what == "end" for event in events)
        if read_whole and not (run.program == number).any():
            yield Finding(
                level=Level.CAUTION,
                kind="never-moves",
                text="The program makes no move at all.",
                remedy="See that it is the right file, and whole: it should have at least 1 move.",
                program=file,
            )


def check_with_spindle(run: Trial) -> Iterator[Finding]:
    """A program that is meant for a standing spindle, among others that name cutters, and starts it."""
    if not any(run.cutters):
        return
    for number, (file, cutters) in enumerate(zip(run.files, run.cutters, strict=True)):
        turning = np.flatnonzero((run.program == number) & (run.motion.speed_rpm > 0))
        if cutters or not turning.size:
            continue
        move = int(turning[0])
        yield Finding(
            level=Level.CAUTION,
            kind="check-with-spindle",
            text=(
                f"{opening(run, move)} this program checks the outline and is run with the spindle off; here "
                f"it turns at {run.motion.speed_rpm[move]:.0f} rpm, close to hands that guide the check."
            ),
            remedy="Take M3 and S out of it: 0 rpm from its first line to its last.",
            program=file,
            line=int(run.motion.line[move]) or None,
            at=end_of(run.motion, move),
        )


def cutter_unexpected(run: Trial, removal: Removal) -> Iterator[Finding]:
    """Cuts with a cutter that is on hand, but not the one that the job has for this program.

    Where every program is said to have the same cutter, that is only what was in the spindle at the start.
    """
    if len(set(run.cutters)) < 2:
        return
    moves = cutting(removal)
    meant = np.array([np.isin(run.motion.cutter[moves], cutters) for cutters in run.cutters])
    wrong = ~meant[run.program[moves], np.arange(len(moves))]
    for sight in seen(run, moves[wrong], removal.removed[moves[wrong]]):
        cutters = run.cutters[run.files.index(sight.file)]
        number = int(run.motion.cutter[sight.first])
        if not cutters or cutter_by_number(run.setup, number) is None:
            continue
        wanted = " or ".join(_called(run, one) for one in cutters)
        yield Finding(
            level=Level.CAUTION,
            kind="cutter-unexpected",
            text=(
                f"{opening(run, sight.first)} the program cuts with cutter {_called(run, number)}; the job "
                f"has cutter {wanted} for it."
            ),
            remedy=f"Call for cutter {_called(run, cutters[0])}, or plan the job anew with this one.",
            program=sight.file,
            line=sight.line(run.motion),
            at=end_of(run.motion, sight.first),
        )


def _called(run: Trial, number: int) -> str:
    cutter = cutter_by_number(run.setup, number)
    return f"{number} ({cutter.name})" if cutter else str(number)
