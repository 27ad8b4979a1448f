"""Where a program's zeros lie: work systems, shifts, and the machine's own zero, as far as a text can tell.

The program frame is the work system of the first move, as the operator has set it. Everything else lies
somewhere in it, or its place isn't known: then it is None, and whoever needs it must refuse.
"""

from collections.abc import Iterable
from dataclasses import dataclass, field, replace

XYZ = tuple[float, float, float]
Partly = tuple[float | None, float | None, float | None]

NOWHERE: Partly = (None, None, None)


@dataclass(frozen=True, slots=True, kw_only=True)
class MachineFrame:
    """The machine's own places in the program frame, mm; for those who know them."""

    zero: XYZ
    home: XYZ | None = None  # of G28
    second_home: XYZ | None = None  # of G30


@dataclass(frozen=True, slots=True, kw_only=True)
class Frames:
    """What is known of the zeros; a changed copy for every change."""

    machine: Partly = NOWHERE  # the machine's zero in the program frame
    base: int | None = None  # the work system of the first move, 1 for G54
    placed: dict[int, Partly] = field(default_factory=dict)  # zeros in the program frame
    stated: dict[int, Partly] = field(default_factory=dict)  # zeros in the machine's frame, by G10 L2
    shift: XYZ = (0.0, 0.0, 0.0)  # of G92
    kept_shift: XYZ | None = None  # what G92.3 brings back
    taken: tuple[bool, bool, bool] = (False, False, False)  # axes whose zero is where the cutter stood first


def settled(frames: Frames, system: int) -> Frames:
    """The frames when a first move is made in `system`: its zero is where the operator set it."""
    if frames.base is not None:
        return frames
    stated = frames.stated.get(system, NOWHERE)
    zero = [0.0, 0.0, 0.0]
    machine = list(frames.machine)
    for axis, value in enumerate(stated):
        if value is None:
            continue
        known = machine[axis]
        if known is None:
            machine[axis] = -value
        else:
            zero[axis] = known + value
    return replace(
        frames,
        base=system,
        machine=(machine[0], machine[1], machine[2]),
        placed={**frames.placed, system: (zero[0], zero[1], zero[2])},
    )


def zero_of(frames: Frames, system: int) -> Partly:
    """A work system's zero in the program frame."""
    if frames.base is None:
        return (0.0, 0.0, 0.0)
    placed = frames.placed.get(system, NOWHERE)
    stated = frames.stated.get(system, NOWHERE)
    return _each(
        place if place is not None else (m + s if m is not None and s is not None else None)
        for place, m, s in zip(placed, frames.machine, stated, strict=True)
    )


def with_stated(frames: Frames, system: int, values: Partly) -> Frames:
    """After G10 L2: a system's zero stands at these machine coordinates."""
    before = frames.stated.get(system, NOWHERE)
    now = _each(new if new is not None else old for new, old in zip(values, before, strict=True))
    place = frames.placed.get(system, NOWHERE)
    kept = _each(None if new is not None else old for new, old in zip(values, place, strict=True))
    return replace(frames, stated={**frames.stated, system: now}, placed={**frames.placed, system: kept})


def with_placed(frames: Frames, system: int, values: Partly) -> Frames:
    """After G10 L20: a system's zero stands here in the program frame."""
    before = zero_of(frames, system)
    now = _each(new if new is not None else old for new, old in zip(values, before, strict=True))
    return replace(frames, placed={**frames.placed, system: now})


def taken_here(frames: Frames, axes: tuple[bool, bool, bool]) -> Frames:
    """The zero of these axes is measured from where the cutter stood at the start."""
    taken = tuple(old or new for old, new in zip(frames.taken, axes, strict=True))
    machine = _each(None if new else old for new, old in zip(axes, frames.machine, strict=True))
    return replace(frames, taken=(taken[0], taken[1], taken[2]), machine=machine)


def _each(values: Iterable[float | None]) -> Partly:
    first, second, third = values
    return first, second, third
