"""Where a mask of row spans first fits on a map of blocked cells."""

import numpy as np
import numpy.typing as npt
from numba import njit

Ints = npt.NDArray[np.int32]


@njit(cache=True, nogil=True)
def meets(blocked: Ints, spans: Ints, column: int, row: int, first: int) -> int:
    """Number of a span of the mask, its corner at (column, row), that meets a blocked cell; -1: none does.

    first: number of the span that is looked at before the others
    """
    count = spans.shape[0]
    for k in range(-1, count):
        span = first if k < 0 else k
        if span < count:
            line = row + spans[span, 0]
            if blocked[line, column + spans[span, 2]] != blocked[line, column + spans[span, 1]]:
                return span
    return -1


@njit(cache=True, nogil=True)
def first_free(
    blocked: Ints,
    spans: Ints,
    width: int,
    height: int,
    metal: Ints,
    kerf: Ints,
    dx: int,
    dy: int,
    column: int,
    row: int,
) -> tuple[int, int]:
    """First place, column by column from (column, row), where neither mask meets a blocked cell of its map.

    blocked, metal: (rows, columns + 1) int32, running count of blocked cells along each row
    spans, kerf: (n, 3) int32 masks for the one and the other: row, first column, column past the last
    width, height: of the first mask
    dx, dy: of the second mask's corner from the first's, in cells
    Returns (-1, -1) where there is none.
    """
    rows, columns = blocked.shape[0], blocked.shape[1] - 1
    in_room = in_kerf = 0  # what met something at one place most often does at the next
    for c in range(column, columns - width + 1):
        first = row if c == column else 0
        for r in range(first, rows - height + 1):
            met = meets(blocked, spans, c, r, in_room)
            if met >= 0:
                in_room = met
                continue
            met = meets(metal, kerf, c + dx, r + dy, in_kerf)
            if met < 0:
                return c, r
            in_kerf = met
    return -1, -1


@njit(cache=True, nogil=True)
def block(blocked: Ints, spans: Ints, column: int, row: int) -> None:
    """Block the cells of a mask, its corner at (column, row), in a running count; the count is changed."""
    columns = blocked.shape[1] - 1
    for k in range(spans.shape[0]):
        line = blocked[row + spans[k, 0]]
        more = 0
        before = line[column + spans[k, 1]]
        for c in range(column + spans[k, 1], columns):
            count = line[c + 1]
            if c < column + spans[k, 2]:
                more += 1 - (count - before)
            elif more == 0:
                break
            before = count
            line[c + 1] = count + more
