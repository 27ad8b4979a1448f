"""Where a mask of row spans first fits on a map of blocked cells."""

import numpy as np
import numpy.typing as npt
from numba import njit

Ints = npt.NDArray[np.int32]


@njit(cache=True, nogil=True)
def is_clear(blocked: Ints, spans: Ints, column: int, row: int) -> bool:
    """Whether no span of the mask, its corner at (column, row), meets a blocked cell."""
    for k in range(spans.shape[0]):
        line = row + spans[k, 0]
        if blocked[line, column + spans[k, 2]] != blocked[line, column + spans[k, 1]]:
            return False
    return True


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
    for c in range(column, columns - width + 1):
        first = row if c == column else 0
        for r in range(first, rows - height + 1):
            if is_clear(blocked, spans, c, r) and is_clear(metal, kerf, c + dx, r + dy):
                return c, r
    return -1, -1
