"""Whether the programs of one job work from one and the same zero."""

import math
from collections.abc import Iterator

from proveout.finding import Finding, Level
from proveout.program.events import ProgramZero
from proveout.program.frames import Partly
from proveout.program.state import SYSTEM_NAMES
from proveout.proof.trial import Trial, length

SAME = 0.005  # mm; programs round to a thousandth of a mm or a ten-thousandth of an inch
AXES = "XYZ"


def zeros_differ(run: Trial) -> Iterator[Finding]:
    """Programs that choose, state or leave behind another zero than the first program that moves.

    Each program is proved from the zero of the setup; at the machine it runs from the one it names.
    """
    moving = [(file, zero) for file, zero in zip(run.files, run.zeros, strict=False) if zero.system]
    for index, (file, zero) in enumerate(moving):
        first_file, first = moving[0]
        if index and zero.system != first.system:
            yield _other_system(run, file, zero, first_file, first)
        elif index and zero.stated != first.stated:
            yield from _otherwise_stated(run, file, zero, first_file, first)
        if len(moving) > 1 and math.hypot(*zero.moved) > SAME:
            yield _left_behind(run, file, zero)


def _other_system(run: Trial, file: str, zero: ProgramZero, first_file: str, first: ProgramZero) -> Finding:
    mine, theirs = SYSTEM_NAMES[zero.system], SYSTEM_NAMES[first.system]
    return _finding(
        file,
        zero,
        f"the program works from the zero of {mine}, {first_file} from that of {theirs}. "
        f"{_apart(run, zero.stated, first.stated)}",
        f"Work from {theirs} in every program, or touch off {mine} at the same place to within 0.1 mm.",
    )


def _otherwise_stated(
    run: Trial, file: str, zero: ProgramZero, first_file: str, first: ProgramZero
) -> Iterator[Finding]:
    far = _differences(zero.stated, first.stated)
    if far is not None and max(map(abs, far.values()), default=0.0) <= SAME:
        return
    yield _finding(
        file,
        zero,
        f"the program and {first_file} set the zero of {SYSTEM_NAMES[zero.system]} differently by G10. "
        f"{_apart(run, zero.stated, first.stated)}",
        "Take G10 out and set 1 zero by hand for all programs, or write the same G10 in each.",
    )


def _left_behind(run: Trial, file: str, zero: ProgramZero) -> Finding:
    return _finding(
        file,
        zero,
        f"the program leaves the zero {length(run.setup, math.hypot(*zero.moved))} from where it found it "
        f"({_axes(run, dict(zip(AXES, zero.moved, strict=True)))}); a controller may keep that for the other "
        "programs, which are proved from where it was.",
        "Take the shift back before the end (G92.1), or work from 1 zero in every program.",
    )


def _finding(file: str, zero: ProgramZero, text: str, remedy: str) -> Finding:
    opening = f"Line {zero.line}: {text}" if zero.line else text[0].upper() + text[1:]
    return Finding(
        level=Level.CAUTION, kind="zeros-differ", text=opening, remedy=remedy, program=file, line=zero.line
    )


def _differences(one: Partly, other: Partly) -> dict[str, float] | None:
    """How far two zeros lie apart on each axis that either states; None where only one of them does."""
    far = {}
    for axis, mine, theirs in zip(AXES, one, other, strict=True):
        if (mine is None) != (theirs is None):
            return None
        if mine is not None and theirs is not None:
            far[axis] = mine - theirs
    return far


def _apart(run: Trial, one: Partly, other: Partly) -> str:
    far = _differences(one, other)
    if not far:
        return (
            "How far apart they lie, no program says: what stands in the controller decides, which may be 0 "
            "or the whole travel."
        )
    whole = length(run.setup, math.hypot(*far.values()))
    return f"They lie {whole} apart ({_axes(run, far)})."


def _axes(run: Trial, far: dict[str, float]) -> str:
    return ", ".join(f"{axis} {length(run.setup, value)}" for axis, value in far.items() if abs(value) > SAME)
