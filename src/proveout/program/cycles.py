"""Canned cycles: one line of program, several moves along a hole's axis (NISTIR 6556, 3.5.16)."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final, NamedTuple

from proveout.motion import LINE, RAPID

BACK_OFF: Final = 0.254  # mm (0.010 in): a peck stops its rapid this far above the last bottom
MOST_STEPS: Final = 100_000  # moves of one line


class Step(NamedTuple):
    """One move along the hole's axis."""

    kind: int  # RAPID or LINE
    to: float  # mm, program frame
    dwell: float = 0.0  # s, before the move


@dataclass(frozen=True, slots=True, kw_only=True)
class Series:
    """Numbers that hold from line to line while the same cycle goes on; as written, in mm."""

    code: int
    clear: float  # R
    bottom: float
    dwell: float  # s
    peck: float
    level: float  # height before the first line of the series
    absolute: bool  # the distance mode in which the numbers were written


@dataclass(frozen=True, slots=True, kw_only=True)
class Hole:
    """Heights of one hole along its axis, program frame, mm."""

    clear: float
    bottom: float
    back: float  # where the cutter goes when the hole is made
    dwell: float
    peck: float


def hole_steps(code: int, hole: Hole) -> Iterator[Step]:
    """The moves that make one hole, from its clear height."""
    match code:
        case 810:
            yield from (Step(LINE, hole.bottom), Step(RAPID, hole.back))
        case 820:
            yield from (Step(LINE, hole.bottom), Step(RAPID, hole.back, hole.dwell))
        case 850:
            yield from (Step(LINE, hole.bottom), Step(LINE, hole.back))
        case 890:
            yield from (Step(LINE, hole.bottom), Step(LINE, hole.back, hole.dwell))
        case _:
            yield from _pecks(hole, full_return=code == 830)


def _pecks(hole: Hole, *, full_return: bool) -> Iterator[Step]:
    """A hole in steps: out to the clear height between them (G83), or just enough to break the chip (G73)."""
    count = pecks(hole)
    for number in range(1, count):
        depth = hole.clear - number * hole.peck
        yield Step(LINE, depth)
        yield Step(RAPID, hole.clear if full_return else min(depth + BACK_OFF, hole.clear))
        if full_return:
            yield Step(RAPID, min(depth + BACK_OFF, hole.clear))
    yield Step(LINE, hole.bottom)
    yield Step(RAPID, hole.back)


def pecks(hole: Hole) -> int:
    """In how many steps the hole is made."""
    if hole.peck <= 0:
        return 1
    whole_steps = (hole.clear - hole.bottom) / hole.peck
    if whole_steps > MOST_STEPS:
        return MOST_STEPS + 1
    return max(1, int(-(-(whole_steps - 1e-9) // 1)))
