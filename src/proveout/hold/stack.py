"""The bolt stack of a clamp: which bolts reach far enough into the insert and don't bottom in it.

Under its head a bolt passes the knob's floor, a washer, the clamp's bar, the work's height (the heel block's
too) and the depth of the insert below the plate's face; what is left stands in the insert's thread. It must
be at least one diameter (common practice for inserts in wood) and less than the thread is long, both at the
unfavourable end of every tolerance.

Source: lengths and their tolerance js15, ISO 4014, ISO 4017 and ISO 4759-1 (from memory); ASME B18.2.1 for
inch lengths (from memory)
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from proveout.quantity import INCH
from proveout.shelf.tables import insert, thread, washer

ENGAGED: Final = 1.0  # diameters of thread in an insert in wood; common practice, no source
TO_BOTTOM: Final = 0.5  # mm that stay between a bolt's tip and the thread's end
MOST_WORK: Final = 200.0  # mm; higher work is held by other means
# Lengths that shops sell, from under the head.
METRIC: Final = (12, 16, 20, 25, 30, 35, 40, 45, 50, 55, 60, 65, 70, 80, 90, 100, 110, 120)
EIGHTHS: Final = (4, 5, 6, 7, 8, 10, 12, 14, 16, 18, 20, 22, 24, 26, 28, 32, 36, 40)  # of an inch
# js15: half the tolerance of a length up to each bound.
_JS15: Final = ((10.0, 0.29), (18.0, 0.35), (30.0, 0.42), (50.0, 0.50), (80.0, 0.60), (math.inf, 0.70))


@dataclass(frozen=True, slots=True, kw_only=True)
class Stack:
    """What a clamp's bolt passes through, mm, and the thread that it ends in."""

    bolt: str  # "M6"
    floor: float  # of the knob under the bolt's head; 0 where the head bears on the washer
    washers: int
    bar: float  # of the clamp
    below_face: float  # from the plate's face down to the insert's first thread
    thread_length: float  # of the insert; what is more would bottom
    through: bool = False  # whether a bolt may stand out below the insert


@dataclass(frozen=True, slots=True, kw_only=True)
class Reach:
    """What one bolt's length does in a stack."""

    length: float
    least: float  # mm of thread engaged where everything is at its thickest and the bolt at its shortest
    most: float  # mm where it is the other way round
    holds: bool
    why: str  # why not; "" where it holds


def stack_of(
    bolt: str,
    *,
    bar: float,
    below_face: float,
    floor: float = 0.0,
    washers: int = 1,
    thread_length: float | None = None,
) -> Stack:
    """A stack on a plate with inserts of a bolt's thread.

    Args:
        bolt: size of the thread
        bar: thickness of the clamp's bar
        below_face: of the insert
        floor: of the knob under the bolt's head
        thread_length: of the insert; None takes the shelf's, which is a placeholder
    Raises:
        ShelfError: a size that the shelf doesn't have
    """
    length = insert(bolt).length if thread_length is None else thread_length
    return Stack(
        bolt=bolt, floor=floor, washers=washers, bar=bar, below_face=below_face, thread_length=length
    )


def length_error(length: float) -> float:
    """By how much a bolt's length may be off, either way, mm (js15)."""
    return next(error for bound, error in _JS15 if length <= bound)


def reach(stack: Stack, length: float, work: tuple[float, float]) -> Reach:
    """Whether a bolt of a length holds work of a thickness, from its thinnest to its thickest reading."""
    low, high = _passed(stack)
    off = length_error(length)
    least = length - off - high - work[1]
    most = length + off - low - work[0]
    wanted = ENGAGED * thread(stack.bolt).diameter
    if least < wanted - 1e-9:
        why = f"only {max(least, 0.0):.1f} mm of it would be in the thread, and {wanted:.1f} mm are wanted"
    elif not stack.through and most > stack.thread_length - TO_BOTTOM + 1e-9:
        why = f"it would come within {TO_BOTTOM} mm of the end of a thread {stack.thread_length:.1f} mm long"
    else:
        why = ""
    return Reach(length=length, least=least, most=most, holds=not why, why=why)


def _passed(stack: Stack) -> tuple[float, float]:
    """What lies between head and insert beside the work, at its least and at its most."""
    bare = stack.floor + stack.bar + stack.below_face
    if not stack.washers:
        return bare, bare
    thick = washer(stack.bolt).thickness
    return bare + stack.washers * thick.min, bare + stack.washers * thick.max


def standard_lengths(bolt: str) -> tuple[float, ...]:
    """The lengths in which a bolt is sold, mm."""
    if bolt.upper().startswith("M"):
        return tuple(map(float, METRIC))
    return tuple(eighths * float(INCH) / 8 for eighths in EIGHTHS)


def held_range(stack: Stack, length: float) -> tuple[float, float] | None:
    """The thicknesses of work that a bolt holds, exact; None where there are none."""
    most = math.inf if stack.through else stack.thread_length - TO_BOTTOM
    return thread_range(stack, length, least=ENGAGED * thread(stack.bolt).diameter, most=most)


def thread_range(
    stack: Stack, length: float, *, least: float, most: float, uneven: float = 0.0
) -> tuple[float, float] | None:
    """The thicknesses of work at which a bolt reaches beyond it so far and no further.

    Args:
        stack: what the bolt passes, at its thickest
        least: mm of the bolt beyond work and stack, at the unfavourable end of every tolerance
        most: the same, at the other end
        uneven: mm by which the stack may be thinner besides its washers
    Returns:
        the thinnest and the thickest; None where there are none
    """
    low, high = _passed(stack)
    off = length_error(length)
    thickest = length - off - high - least
    thinnest = max(0.0, length + off - (low - uneven) - most)
    return (thinnest, thickest) if thinnest <= thickest and thickest > 0 else None


def held_together(stack: Stack, lengths: Sequence[float]) -> tuple[tuple[float, float], ...]:
    """The thicknesses of work that the bolts hold between them, thinnest first, overlaps joined."""
    ranges = sorted(held for length in set(lengths) if (held := held_range(stack, length)))
    joined: list[tuple[float, float]] = []
    for low, high in ranges:
        if joined and low <= joined[-1][1]:
            joined[-1] = (joined[-1][0], max(joined[-1][1], high))
        else:
            joined.append((low, high))
    return tuple(joined)


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """The bolt for a stack: what is on hand, or what to buy."""

    on_hand: tuple[Reach, ...]  # those that hold, the shortest first
    refused: tuple[Reach, ...]  # on hand, and why not
    buy: Reach | None  # the shortest standard length that holds, where nothing on hand does


def choose_bolt(stack: Stack, work: tuple[float, float], on_hand: Sequence[float]) -> Choice:
    """Which bolts hold work of a thickness, its thinnest and its thickest reading."""
    tried = [reach(stack, length, work) for length in sorted(set(on_hand))]
    good = tuple(one for one in tried if one.holds)
    buy = None
    if not good:
        standard = (reach(stack, length, work) for length in standard_lengths(stack.bolt))
        buy = next((one for one in standard if one.holds), None)
    return Choice(on_hand=good, refused=tuple(one for one in tried if not one.holds), buy=buy)


def fewest(stack: Stack, low: float, high: float, lengths: Sequence[float]) -> tuple[float, ...] | None:
    """The fewest lengths that between them hold every thickness from low to high; None where none do."""
    return fewest_of({length: held for length in lengths if (held := held_range(stack, length))}, low, high)


def fewest_of(
    spans: Mapping[float, tuple[float, float]], low: float, high: float
) -> tuple[float, ...] | None:
    """The fewest lengths whose stretches of thickness cover all from low to high; None where none do.

    From the thinnest on, the one that reaches furthest is taken; of those that reach the end, the shortest.
    """
    chosen: list[float] = []
    covered = low
    while True:
        reaching = [
            (min(held[1], high), -length) for length, held in spans.items() if held[0] <= covered + 1e-9
        ]
        furthest, length = max(reaching, default=(-math.inf, 0.0))
        if furthest < covered or (chosen and furthest <= covered):
            return None
        chosen.append(-length)
        if furthest >= high - 1e-9:
            return tuple(chosen)
        covered = furthest
