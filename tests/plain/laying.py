"""Laying out with nothing spared: every centre asked for, every try gone through to its end."""

from collections.abc import Sequence
from typing import Any

import numpy as np
import numpy.typing as npt
import shapely

Cells = npt.NDArray[np.bool_]
Ints = npt.NDArray[np.int32]


def cells_plainly(
    shape: shapely.Geometry, cell: float, corner: tuple[float, float], columns: int, rows: int
) -> Cells:
    """Every centre asked whether it lies in the shape."""
    x = corner[0] + (np.arange(columns) + 0.5) * cell
    y = corner[1] + (np.arange(rows) + 0.5) * cell
    inside: Cells = shapely.contains_xy(shape, *np.meshgrid(x, y))
    return inside


def first_free_plainly(
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
    """Every place from the first on, whatever was found out before."""
    rows, columns = blocked.shape[0], blocked.shape[1] - 1
    for c in range(columns - width + 1):
        for r in range(rows - height + 1):
            if (
                (c, r) >= (column, row)
                and _clear(blocked, spans, c, r)
                and _clear(metal, kerf, c + dx, r + dy)
            ):
                return c, r
    return -1, -1


def _clear(counts: Ints, spans: Ints, column: int, row: int) -> bool:
    lines, first, past = row + spans[:, 0], column + spans[:, 1], column + spans[:, 2]
    return bool((counts[lines, first] == counts[lines, past]).all())


def block_plainly(counts: Ints, spans: Ints, column: int, row: int) -> None:
    """The cells blocked one span after the other, and all counted anew."""
    cells = np.diff(counts, axis=1) > 0
    for line, first, past in spans.tolist():
        cells[row + line, column + first : column + past] = True
    counts[:, 1:] = np.cumsum(cells, axis=1)


def whole_tries(lay_in: Any) -> Any:
    """Laying a sequence without looking at what is the best so far."""

    def plainly(sequence: Sequence[int], shapes: Any, sheet: Any, best: object = ()) -> Any:
        return lay_in(sequence, shapes, sheet)

    return plainly
