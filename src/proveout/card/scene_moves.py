"""The moves of a scene: straight pieces and level arcs, each with its moment and its line of program."""

from collections.abc import Sequence
from dataclasses import dataclass, fields
from typing import Final, NamedTuple

import numpy as np
import numpy.typing as npt

from proveout.finding import Finding
from proveout.motion import ARC, RAPID, XY, Floats, Motion, chords, joined
from proveout.proof.load_clock import Moments
from proveout.proof.removal import CHORD, LEAST_TURN

MOST: Final = 300_000  # pieces; what is not a level arc is chopped more coarsely where there would be more
COARSEST: Final = 0.2  # mm, how far off the way such pieces may lie at the most
ROUGH: Final = 0.05  # mm, chord error that is good enough to find a moment by its place

Rows = npt.NDArray[np.int64]
Array = npt.NDArray[np.generic]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Pieces:
    """k pieces of way in the order in which they are run."""

    start: Floats  # (k, 3) mm, internal frame
    end: Floats  # (k, 3)
    begin: Floats  # (k,) s
    done: Floats  # (k,) s
    move: Rows  # (k,) the move that each belongs to
    arcs: Rows  # (a,) which of them are level arcs; the others are straight
    centre: Floats  # (a, 2) mm
    sweep: Floats  # (a,) rad, positive anticlockwise from above
    tolerance: float  # mm that a straight piece may lie off the way it stands for


def pieces_of(motion: Motion, when: Moments, most: int = MOST) -> Pieces:
    """The motion in pieces: level arcs whole, so that they can be cut exactly, everything else straight."""
    turns = np.abs(motion.sweep) > LEAST_TURN
    level = motion.start[:, 2] == motion.end[:, 2]
    is_arc = (motion.kind == ARC) & (motion.plane == XY) & level & turns
    arcs, others = np.flatnonzero(is_arc), np.flatnonzero(~is_arc)
    chopped, tolerance = chords(some(motion, others), CHORD), CHORD
    while len(chopped.parent) + len(arcs) > most and tolerance < COARSEST:
        tolerance *= 2
        chopped = chords(some(motion, others), tolerance)
    parent = others[chopped.parent]
    begin, done = _shared(parent, when)
    move = np.concatenate((arcs, parent))
    order = np.argsort(move, kind="stable")
    place = np.empty(len(order), dtype=np.int64)
    place[order] = np.arange(len(order))
    return Pieces(
        start=np.concatenate((motion.start[arcs], chopped.start))[order],
        end=np.concatenate((motion.end[arcs], chopped.end))[order],
        begin=np.concatenate((when.begin[arcs], begin))[order],
        done=np.concatenate((when.end[arcs], done))[order],
        move=move[order],
        arcs=place[: len(arcs)],
        centre=motion.centre[arcs, :2],
        sweep=motion.sweep[arcs],
        tolerance=tolerance,
    )


def _shared(parent: Rows, when: Moments) -> tuple[Floats, Floats]:
    """Begin and end of each chord: those of one move are of equal length."""
    count = np.bincount(parent, minlength=len(when.begin))[parent]
    number = np.arange(len(parent)) - np.searchsorted(parent, parent)
    begin, took = when.begin[parent], (when.end - when.begin)[parent]
    return begin + took * number / count, begin + took * (number + 1) / count


def some(motion: Motion, rows: Rows) -> Motion:
    """Some of the moves."""
    return Motion(**{field.name: getattr(motion, field.name)[rows] for field in fields(Motion)})


def arrays_of(motions: Sequence[Motion], pieces: Pieces) -> dict[str, Array]:
    """The pieces as the page gets them, by name."""
    motion = joined(motions)
    program = np.repeat(np.arange(len(motions)), [len(one) for one in motions])
    move = pieces.move
    return {
        "start": pieces.start.astype("<f4"),
        "end": pieces.end.astype("<f4"),
        "begin": pieces.begin.astype("<f4"),
        "done": pieces.done.astype("<f4"),
        "line": motion.line[move].astype("<u4"),
        "feed": np.where(motion.kind == RAPID, 0.0, motion.feed)[move].astype("<f4"),
        "program": program[move].astype("<u2"),
        "cutter": motion.cutter[move].astype("<u2"),
        "arcs": pieces.arcs.astype("<u4"),
        "arc_centre": pieces.centre.astype("<f4"),
        "arc_sweep": pieces.sweep.astype("<f4"),
    }


class Timeline(NamedTuple):
    """What is needed to say when a place of a program is reached."""

    files: tuple[str, ...]
    motions: tuple[Motion, ...]
    when: Moments

    def moment(self, finding: Finding) -> float | None:
        """When a finding's line is run, s: nearest to its place where it has one; None for no line.

        A line without a move of its own has the moment of the next move.
        """
        if finding.program not in self.files or finding.line is None:
            return None
        number = self.files.index(finding.program)
        motion = self.motions[number]
        first = sum(len(one) for one in self.motions[:number])
        rows = np.flatnonzero(motion.line == finding.line)
        if not rows.size:
            after = np.flatnonzero(motion.line > finding.line)
            return float(self.when.begin[first + after[0]]) if after.size else self.when.programs[number][1]
        if finding.at is None:
            return float(self.when.begin[first + rows[0]])
        row, share = _nearest(some(motion, rows), np.array(finding.at))
        move = first + int(rows[row])
        return float(self.when.begin[move] + share * (self.when.end[move] - self.when.begin[move]))


def _nearest(motion: Motion, at: Floats) -> tuple[int, float]:
    """The move that comes nearest to a place, and after what share of its way."""
    pieces = chords(motion, ROUGH)
    way = pieces.end - pieces.start
    along = ((at - pieces.start) * way).sum(axis=1) / np.maximum((way**2).sum(axis=1), 1e-12)
    share = np.clip(along, 0, 1)
    off = np.linalg.norm(pieces.start + way * share[:, None] - at, axis=1)
    best = int(np.argmin(off))
    parent = int(pieces.parent[best])
    same = np.flatnonzero(pieces.parent == parent)
    return parent, float((best - same[0] + share[best]) / len(same))
