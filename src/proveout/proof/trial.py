"""Trial: programs as they ran in the model, and the words that every check shares."""

import math
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, fields, replace
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from proveout.job.records import Cutter
from proveout.motion import ARC, PLANE_AXES, Floats, Ints, Motion, arc_radius
from proveout.program.events import Event, ProgramZero
from proveout.quantity import show_length
from proveout.setup import Setup

Mask = npt.NDArray[np.bool_]
Rows = npt.NDArray[np.intp]

CHORD: float = 0.001  # mm by which a chord may miss its arc, where a check works on chords


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Trial:
    """All moves of some programs in order, on one setup."""

    setup: Setup
    files: tuple[str, ...]
    motion: Motion  # internal frame
    program: Ints  # (n,) index of each move's program in `files`
    # What the readings say besides the moves, for each of `files`; empty where moves alone are judged.
    cutters: tuple[tuple[int, ...], ...] = ()  # that the program is meant to use; empty: spindle off
    zeros: tuple[ProgramZero, ...] = ()
    events: tuple[tuple[Event, ...], ...] = ()  # `before` counts all moves of the trial


class Seen(NamedTuple):
    """What one check saw in one program."""

    file: str
    first: int  # index of the first offending move
    worst: int  # index of the worst one
    amount: float  # of the worst one
    moves: int  # how many offend

    def line(self, motion: Motion) -> int | None:
        """The program line of the first offending move."""
        return int(motion.line[self.first]) or None


def seen(run: Trial, moves: Rows, amounts: Floats) -> Iterator[Seen]:
    """The offending moves (indices, with how far each offends) told once for each program."""
    for number, file in enumerate(run.files):
        mine = np.flatnonzero(run.program[moves] == number)
        if mine.size:
            worst = mine[int(np.argmax(amounts[mine]))]
            yield Seen(
                file,
                int(moves[mine].min()),
                int(moves[worst]),
                float(amounts[worst]),
                len(np.unique(moves[mine])),
            )


def opening(run: Trial, move: int) -> str:
    """How a sentence about a move begins: "Line 214:"."""
    line = int(run.motion.line[move])
    return f"Line {line}:" if line else f"Move {move + 1}:"


def again(run: Trial, sight: Seen) -> str:
    """A closing sentence where more than one move offends: how many, and where it is worst."""
    others = sight.moves - 1
    if not others:
        return ""
    first, worst = (int(run.motion.line[move]) for move in (sight.first, sight.worst))
    where = f"; the worst is line {worst}" if worst != first else ""
    return f" {'One more move does' if others == 1 else f'{others} more moves do'} so too{where}."


def length(setup: Setup, value: float) -> str:
    """A length in the units that the machine's programs are written in."""
    return show_length(value, setup.machine.units)


def at_least(setup: Setup, value: float) -> str:
    """A length as it is written, rounded up, so that what a remedy asks for is enough."""
    return length(setup, _to_step(setup, value, math.ceil))


def at_most(setup: Setup, value: float) -> str:
    """A length as it is written, rounded down."""
    return length(setup, _to_step(setup, value, math.floor))


def _to_step(setup: Setup, value: float, rounded: Callable[[float], int]) -> float:
    step = 0.0254 if setup.machine.units == "in" else 0.01
    nearest = round(value / step)
    return (nearest if abs(value / step - nearest) < 1e-3 else rounded(value / step)) * step


def place(setup: Setup, at: tuple[float, float]) -> str:
    """A place on the sheet, from its left front corner, as it is read aloud."""
    across = f"{length(setup, abs(at[0]))} to the {'left' if at[0] < 0 else 'right'}"
    along = f"{length(setup, abs(at[1]))} to the {'front' if at[1] < 0 else 'back'}"
    return f"{across} and {along} of the sheet's left front corner"


def end_of(motion: Motion, move: int) -> tuple[float, float, float]:
    """Where a move ends."""
    x, y, z = motion.end[move]
    return float(x), float(y), float(z)


def only(motion: Motion, moves: Rows | Mask) -> Motion:
    """Some of the moves, in the order in which they are named."""
    return replace(motion, **{field.name: getattr(motion, field.name)[moves] for field in fields(Motion)})


def tip_boxes(motion: Motion) -> tuple[Floats, Floats]:
    """Lowest and highest corner, (n, 3) each, of the box that the tip stays in during each move."""
    low: Floats = np.minimum(motion.start, motion.end)
    high: Floats = np.maximum(motion.start, motion.end)
    radius = arc_radius(motion)
    for plane, (first, second, _) in enumerate(PLANE_AXES):
        arcs = np.flatnonzero((motion.kind == ARC) & (motion.plane == plane))
        arm = motion.start[arcs] - motion.centre[arcs]
        begins = np.arctan2(arm[:, second], arm[:, first])
        for quarter, axis in enumerate((first, second, first, second)):
            way = (quarter * np.pi / 2 - begins) * np.sign(motion.sweep[arcs])
            passing = arcs[way % (2 * np.pi) <= np.abs(motion.sweep[arcs])]
            if quarter < 2:
                high[passing, axis] = motion.centre[passing, axis] + radius[passing]
            else:
                low[passing, axis] = motion.centre[passing, axis] - radius[passing]
    return low, high


def lowest(motion: Motion) -> Floats:
    """The lowest height of the tip during each move, (n,) mm."""
    low: Floats = tip_boxes(motion)[0][:, 2]
    return low


def cutters_of(run: Trial) -> tuple[Cutter, ...]:
    """The cutters that the moves use, in order of number."""
    used = set(np.unique(run.motion.cutter).tolist())
    return tuple(
        sorted((cutter for cutter in run.setup.cutters if cutter.number in used), key=lambda one: one.number)
    )


def judged(cutters: Iterable[Cutter]) -> tuple[Cutter, ...]:
    """The cutters whose shape is known: all but those with a point of unknown angle or an unknown corner."""
    return tuple(cutter for cutter in cutters if _has_shape(cutter))


def _has_shape(cutter: Cutter) -> bool:
    if cutter.kind == "bull nose":
        return bool(cutter.corner_radius)
    return cutter.kind in ("flat", "ball") or bool(cutter.point_deg)


def per_move(run: Trial, values: dict[int, float]) -> Floats:
    """A value of each move's cutter, (n,)."""
    out = np.zeros(len(run.motion))
    for number, value in values.items():
        out[run.motion.cutter == number] = value
    return out
