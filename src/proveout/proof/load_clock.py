"""When each stretch of the way is run: programs one after the other, with waits and changes of cutter."""

from collections.abc import Sequence
from itertools import pairwise
from typing import NamedTuple

import numpy as np

from proveout.job.records import Machine
from proveout.motion import Floats, Ints, Motion, joined, lengths
from proveout.motion_time import TOOL_CHANGE, timing
from proveout.proof.trial import Rows
from proveout.proof.verdict import Loads, Verdict


class Clock(NamedTuple):
    """The machine time of some programs in order, s from the start of the first."""

    begin: Floats  # (m,) of each stretch
    end: Floats  # (m,)
    programs: tuple[tuple[float, float], ...]  # begin, after a change of cutter, and end of each
    total: float


class Moments(NamedTuple):
    """When each move of some programs in order is run, s from the start of the first."""

    begin: Floats  # (n,) of each move, its wait over
    end: Floats  # (n,)
    programs: tuple[tuple[float, float], ...]  # begin, after a change of cutter, and end of each
    total: float


def moments(motions: Sequence[Motion], machine: Machine) -> Moments:
    """When each move of some motions, one after the other, is run; waits and changes of cutter are counted.

    What lies between the end of a move and the beginning of the next is a wait or a change of cutter.
    """
    timed = [timing(motion, machine) for motion in motions]
    seconds = np.concatenate([np.zeros(0), *(one.seconds for one in timed)])
    waits = np.concatenate([np.zeros(0), *(one.waits for one in timed)])
    cutter = joined(motions).cutter
    changes = np.zeros(len(cutter))
    changes[_changes(cutter)] = TOOL_CHANGE
    done = np.cumsum(changes + waits + seconds)
    edges = np.cumsum([0, *(len(one) for one in motions)]).tolist()
    spans = []
    at = 0.0
    for first, after in pairwise(edges):
        start = at + float(changes[first]) if after > first else at
        at = float(done[after - 1]) if after > first else at
        spans.append((start, at))
    return Moments(done - seconds, done, tuple(spans), at)


def clock(verdict: Verdict, loads: Loads, machine: Machine) -> Clock:
    """When each stretch is run; a move's time is shared out over its stretches by their length.

    What lies between the end of a stretch and the beginning of the next is a wait or a change of cutter.
    """
    when = moments([program.motion for program in verdict.programs], machine)
    begin, end = _shared_out(loads, when.begin, when.end - when.begin)
    return Clock(begin, end, when.programs, when.total)


def _changes(cutter: Ints) -> Rows:
    """The moves before which one cutter gives way to another; 0 is no cutter and no change."""
    named = np.flatnonzero(cutter)
    changes: Rows = named[1:][np.diff(cutter[named]) != 0]
    return changes


def _shared_out(loads: Loads, begin: Floats, seconds: Floats) -> tuple[Floats, Floats]:
    """Begin and end of each stretch from those of its move."""
    move = loads.move
    way = np.maximum(lengths(loads.motion), 1e-12)
    whole = np.bincount(move, weights=way, minlength=len(begin))
    took = seconds[move] * way / whole[move]
    until = np.cumsum(took)
    first = np.searchsorted(move, move)
    end: Floats = begin[move] + until - (until[first] - took[first])
    return end - took, end
