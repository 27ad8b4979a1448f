"""Which of many points lie near one another: a grid of cells, sorted, and groups of what is near."""

from typing import Final

import numpy as np
import numpy.typing as npt

from proveout.drawing.wires import Floats
from proveout.finding import InputError

Numbers = npt.NDArray[np.int64]

MOST_PAIRS: Final = 5_000_000

# A cell and half of its neighbours: the other half look at it.
_AHEAD: Final = ((0, 0), (0, 1), (1, -1), (1, 0), (1, 1))


class Crowded(InputError):
    """So many points lie so near one another that their pairs don't fit in memory."""


def near_pairs(points: Floats, reach: float) -> Numbers:
    """(m, 2) the numbers of every two points no further apart than reach, the lower first.

    Args:
        points: (n, 2), at most about 1e9 reaches from corner to corner
    Raises:
        Crowded: more than MOST_PAIRS candidates
    """
    if len(points) < 2:
        return np.empty((0, 2), np.int64)
    cell = np.floor((points - points.min(axis=0)) / reach).astype(np.int64)
    rows = int(cell[:, 1].max()) + 3
    key = cell[:, 0] * rows + cell[:, 1]
    order = np.argsort(key, kind="stable")
    ranked = key[order]
    found = [_pairs(points, order, ranked, i * rows + j, reach) for i, j in _AHEAD]
    return np.sort(np.concatenate(found), axis=1)


def _pairs(points: Floats, order: Numbers, ranked: Numbers, off: int, reach: float) -> Numbers:
    """Those between each cell and the one whose key is `off` higher."""
    last = np.searchsorted(ranked, ranked + off, side="right")
    first = np.arange(1, len(ranked) + 1) if off == 0 else np.searchsorted(ranked, ranked + off, side="left")
    count = last - first
    total = int(count.sum())
    if total > MOST_PAIRS:
        raise Crowded(
            f"over {MOST_PAIRS} pairs of its ends lie within {reach:g} mm of one another. Export the drawing "
            "with a coarser resolution, or take away what lies on top of one another."
        )
    one = np.repeat(np.arange(len(ranked)), count)
    other = np.arange(total) - np.repeat(np.cumsum(count) - count, count) + np.repeat(first, count)
    pairs = np.column_stack((order[one], order[other]))
    apart = points[pairs[:, 0]] - points[pairs[:, 1]]
    return np.asarray(pairs[np.hypot(apart[:, 0], apart[:, 1]) <= reach], np.int64)


def grouped(count: int, pairs: Numbers) -> Numbers:
    """(count,) for each number the lowest of those that pairs tie it to, itself if none."""
    leader = np.arange(count)
    while len(pairs):
        before = leader
        leader = leader.copy()
        low = np.minimum(before[pairs[:, 0]], before[pairs[:, 1]])
        np.minimum.at(leader, pairs[:, 0], low)
        np.minimum.at(leader, pairs[:, 1], low)
        np.minimum.at(leader, before[pairs[:, 0]], low)
        np.minimum.at(leader, before[pairs[:, 1]], low)
        leader = leader[leader]
        if np.array_equal(leader, before):
            break
    return np.asarray(leader, np.int64)


def places(points: Floats, reach: float) -> Numbers:
    """(n,) the number of the place, from 0, at which each point lies: points within reach share theirs."""
    exact, which = np.unique((points[:, 0] + 0.0) + 1j * (points[:, 1] + 0.0), return_inverse=True)
    apart = np.column_stack((exact.real, exact.imag))
    _, place = np.unique(grouped(len(exact), near_pairs(apart, reach)), return_inverse=True)
    return np.asarray(place.reshape(-1)[which.reshape(-1)], np.int64)
