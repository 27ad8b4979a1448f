"""Events: what happens to the spindle, or stops the program, between two moves."""

from typing import Final, Literal, NamedTuple

from proveout.program.frames import XYZ, Frames, Partly, zero_of

What = Literal["on", "off", "reversed", "dwell", "pause", "end"]

SAME: Final = 1e-6  # mm


class Event(NamedTuple):
    """Something that a program does while the cutter stands still."""

    what: What
    before: int  # index of the move that comes next; the count of moves where none does
    line: int
    turning: bool  # whether the spindle turns when it is over
    seconds: float = 0.0  # of a dwell
    word: str = ""  # that brought it about: "M30"; nothing where the text just ends


class ProgramZero(NamedTuple):
    """Which zero a program works from, and where it leaves it."""

    system: int  # work system of the first move, 1 for G54; 0 where nothing moves
    stated: Partly  # machine coordinates, mm, that the program gives that system by G10 L2
    moved: XYZ  # mm, how far from where the program found it the zero lies at the end
    line: int | None  # that chose or moved the zero last


def zero_of_program(frames: Frames, line: int | None) -> ProgramZero:
    """The zero, from the frames at the program's end."""
    if frames.base is None:
        return ProgramZero(0, (None, None, None), (0.0, 0.0, 0.0), line)
    zero = [value or 0.0 for value in zero_of(frames, frames.base)]
    moved = [value + shift for value, shift in zip(zero, frames.shift, strict=True)]
    moved = [0.0 if abs(value) < SAME else value for value in moved]
    stated = frames.stated.get(frames.base, (None, None, None))
    return ProgramZero(frames.base, stated, (moved[0], moved[1], moved[2]), line)
