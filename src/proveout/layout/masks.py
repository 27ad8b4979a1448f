"""Shapes and keep-outs as cells: masks that provably keep their distance."""

from typing import Final, NamedTuple

import numpy as np
import numpy.typing as npt
import shapely
from shapely.geometry.base import BaseGeometry

Cells = npt.NDArray[np.bool_]
Ints = npt.NDArray[np.int32]
Longs = npt.NDArray[np.int64]
Floats = npt.NDArray[np.float64]

NEAR: Final = 1e-9  # mm, a thousand times what rounding may do to a crossing on the largest sheet


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
    """Which cells have their centre inside the shape, (rows, columns).

    A row of centres is cut where the shape's edges cross it; only centres that lie on an edge or nearly so
    are looked at one by one. The cells are those that `contains_xy` finds.
    """
    x = corner[0] + (np.arange(columns, dtype=np.float64) + 0.5) * cell
    y = corner[1] + (np.arange(rows, dtype=np.float64) + 0.5) * cell
    cells = np.zeros((rows, columns), dtype=np.bool_)
    if shape.is_empty:
        return cells
    left, front, right, back = shape.bounds
    c0, c1 = np.searchsorted(x, left), np.searchsorted(x, right, side="right")
    r0, r1 = np.searchsorted(y, front), np.searchsorted(y, back, side="right")
    if c0 < c1 and r0 < r1:
        cells[r0:r1, c0:c1] = _inside(shape, x[c0:c1], y[r0:r1])
    return cells


def _inside(shape: BaseGeometry, x: Floats, y: Floats) -> Cells:
    """Which centres, those of columns x and rows y, lie inside a shape."""
    row, at, slope = _crossings(shape, y)
    past = np.searchsorted(x, at)
    toggles = np.bincount(row * (len(x) + 1) + past, minlength=len(y) * (len(x) + 1))
    odd = (toggles & 1).astype(np.uint8).reshape(len(y), len(x) + 1)
    inside: Cells = np.bitwise_xor.accumulate(odd, axis=1)[:, :-1].astype(np.bool_)
    # How far off a crossing is by rounding grows with how flat its edge lies.
    near = NEAR * (1 + np.abs(slope))
    doubtful = np.searchsorted(x, at + near, side="right") > np.searchsorted(x, at - near)
    corners = shapely.get_coordinates(shape)[:, 1]
    met = np.searchsorted(y, corners + NEAR, side="right") > np.searchsorted(y, corners - NEAR)
    rows = np.unique(np.concatenate((row[doubtful], np.searchsorted(y, corners[met] - NEAR))))
    if rows.size:
        shapely.prepare(shape)
        inside[rows] = shapely.contains_xy(shape, *np.meshgrid(x, y[rows]))
    return inside


def _crossings(shape: BaseGeometry, y: Floats) -> tuple[Longs, Floats, Floats]:
    """Row, x and slope dx/dy of every crossing of the shape's edges with a row of centres."""
    points, ring = shapely.get_coordinates(shapely.get_rings(shapely.get_parts(shape)), return_index=True)
    joined = ring[1:] == ring[:-1]
    (x0, y0), (x1, y1) = points[:-1][joined].T, points[1:][joined].T
    # An edge owns the rows from its lower end up to, not including, its upper end, so each ring is even.
    low, high = np.searchsorted(y, np.minimum(y0, y1)), np.searchsorted(y, np.maximum(y0, y1))
    count = high - low
    edge = np.repeat(np.arange(len(count)), count)
    row = low[edge] + np.arange(len(edge)) - (np.cumsum(count) - count)[edge]
    slope = (x1 - x0)[edge] / (y1 - y0)[edge]
    return row, x0[edge] + (y[row] - y0[edge]) * slope, slope


def _spans(cells: Cells) -> Ints:
    edges = np.diff(np.pad(cells, ((0, 0), (1, 1))).astype(np.int8), axis=1)
    first_rows, first = np.nonzero(edges == 1)
    _, past = np.nonzero(edges == -1)
    spans = np.column_stack((first_rows, first, past)).astype(np.int32)
    # The widest spans first: they are the likeliest to meet something, so a bad place is left early.
    return np.ascontiguousarray(spans[np.argsort(spans[:, 1] - spans[:, 2], kind="stable")])
