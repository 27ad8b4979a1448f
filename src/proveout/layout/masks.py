"""Shapes and keep-outs as cells: masks that provably keep their distance."""

from typing import NamedTuple

import numpy as np
import numpy.typing as npt
import shapely
from shapely.geometry.base import BaseGeometry

Cells = npt.NDArray[np.bool_]
Ints = npt.NDArray[np.int32]


class Mask(NamedTuple):
    """A shape as row spans of cells, from its own left front corner."""

    spans: Ints  # (n, 3): row, first column, column past the last
    width: int
    height: int
    offset: tuple[float, float]  # from the mask's corner to the shape's origin, mm


def mask_of(shape: BaseGeometry, cell: float) -> Mask:
    """Cells whose centre lies within 0.7072 cells of the shape.

    Two such masks that share no cell belong to shapes that don't meet, wherever between the cell centres
    their edges lie: a point of both would be within half a cell's diagonal of some centre.
    """
    grown = shape.buffer(0.7072 * cell, quad_segs=8)
    left, front, right, back = grown.bounds
    columns, rows = int(np.ceil((right - left) / cell)), int(np.ceil((back - front) / cell))
    cells = cells_of(grown, cell, (left, front), columns, rows)
    return Mask(_spans(cells), columns, rows, (-left, -front))


def with_behind(mask: Mask, other: Mask, rows: int, cell: float) -> Mask:
    """A mask with another of the same shape's behind it, to be held against a map with a second one behind.

    Args:
        rows: of each of the two maps
    """
    dx, dy = (round((a - b) / cell) for a, b in zip(mask.offset, other.offset, strict=True))
    behind = other.spans + np.array([dy + rows, dx, dx], dtype=np.int32)
    return mask._replace(spans=np.concatenate((mask.spans, behind)))


def cells_of(shape: BaseGeometry, cell: float, corner: tuple[float, float], columns: int, rows: int) -> Cells:
    """Which cells have their centre inside the shape, (rows, columns)."""
    x = corner[0] + (np.arange(columns) + 0.5) * cell
    y = corner[1] + (np.arange(rows) + 0.5) * cell
    if shape.is_empty:
        return np.zeros((rows, columns), dtype=np.bool_)
    shapely.prepare(shape)
    inside: Cells = shapely.contains_xy(shape, *np.meshgrid(x, y))
    return inside


def _spans(cells: Cells) -> Ints:
    edges = np.diff(np.pad(cells, ((0, 0), (1, 1))).astype(np.int8), axis=1)
    first_rows, first = np.nonzero(edges == 1)
    _, past = np.nonzero(edges == -1)
    spans = np.column_stack((first_rows, first, past)).astype(np.int32)
    # The widest spans first: they are the likeliest to meet something, so a bad place is left early.
    return np.ascontiguousarray(spans[np.argsort(spans[:, 1] - spans[:, 2], kind="stable")])
