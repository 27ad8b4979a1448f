"""The lowest height that a cut may reach, cell by cell, as the intent says."""

import math
from typing import Final, NamedTuple

import numpy as np
import numpy.typing as npt
from shapely import Polygon
from shapely.geometry import Point

from proveout.motion import Floats
from proveout.proof.intent import GONE, lowest_floor
from proveout.proof.verdict import HeightField
from proveout.setup import Setup, Tab

Heights = npt.NDArray[np.float32]
Mask = npt.NDArray[np.bool_]
Longs = npt.NDArray[np.int64]

WAIST: Final = 0.75  # of a bridge's waist: what surely stands of it on an outline of any curvature
TAB_TOLERANCE: Final = 0.1  # mm by which a bridge may come out lower than intended


class Window(NamedTuple):
    """A block of cells of a field."""

    rows: slice
    columns: slice


class Spans(NamedTuple):
    """The cells whose centres lie in a region: row by row, from `first` up to `end`."""

    row: Longs
    first: Longs
    end: Longs


def allowed_heights(setup: Setup, field: HeightField) -> Heights:
    """(rows, columns) float32: the lowest height that a cut may reach at each cell; GONE where any may.

    A part's material stands up to the stock's top, a blind feature down to its floor less its tolerance, a
    bridge up to its height. Waste and bed are not judged here but by the height of the tip. A cell beside a
    lower one takes that one's height, so that cells under a wall don't count: walls have their own check.
    """
    allowed = np.full(field.heights.shape, GONE, dtype=np.float32)
    for part in setup.parts:
        fill(allowed, field, part.outline, setup.stock.thickest)
        for feature in sorted(part.features, key=lowest_floor, reverse=True):
            fill(allowed, field, feature.region, lowest_floor(feature))
    for part in setup.parts:
        lower_walls(allowed, window(field, part.outline, cells=3))
    for tab in setup.tabs:
        _bridge(allowed, field, setup, tab)
    return allowed


def fill(heights: Heights, field: HeightField, region: Polygon, value: float) -> None:
    """Set every cell whose centre lies in the region."""
    for row, first, end in zip(*(column.tolist() for column in spans(field, region)), strict=True):
        heights[row, first:end] = value


def covered(field: HeightField, region: Polygon, block: Window) -> Mask:
    """Which cells of a block have their centres in the region."""
    found = np.zeros(field.heights[block].shape, dtype=np.bool_)
    top, left = block.rows.start, block.columns.start
    for row, first, end in zip(*(column.tolist() for column in spans(field, region)), strict=True):
        if block.rows.start <= row < block.rows.stop:
            found[row - top, max(first - left, 0) : max(end - left, 0)] = True
    return found


def spans(field: HeightField, region: Polygon) -> Spans:
    """The cells whose centres lie in a region, by the crossings of its rings with each row of centres."""
    rows, columns = field.heights.shape
    row, x = _crossings(region, field)
    order = np.lexsort((x, row))
    row, x = row[order], x[order]
    column = np.ceil((x - field.origin[0]) / field.cell - 0.5).astype(np.int64)
    first = np.clip(column[0::2], 0, columns)
    end = np.clip(column[1::2], 0, columns)
    kept = (first < end) & (row[0::2] >= 0) & (row[0::2] < rows)
    return Spans(row[0::2][kept], first[kept], end[kept])


def _crossings(region: Polygon, field: HeightField) -> tuple[Longs, Floats]:
    """Row number and x of every crossing of the region's edges with a row of cell centres."""
    edges = [
        np.concatenate((points[:-1], points[1:]), axis=1)
        for points in (np.asarray(ring.coords)[:, :2] for ring in (region.exterior, *region.interiors))
    ]
    x0, y0, x1, y1 = np.concatenate(edges).T
    # An edge owns the rows from its lower end up to, not including, its upper end, so each ring is even.
    low = np.ceil((np.minimum(y0, y1) - field.origin[1]) / field.cell - 0.5).astype(np.int64)
    high = np.ceil((np.maximum(y0, y1) - field.origin[1]) / field.cell - 0.5).astype(np.int64)
    count = high - low
    edge = np.repeat(np.arange(len(count)), count)
    row = low[edge] + np.arange(len(edge)) - (np.cumsum(count) - count)[edge]
    y = field.origin[1] + (row + 0.5) * field.cell
    x = x0[edge] + (y - y0[edge]) * (x1 - x0)[edge] / (y1 - y0)[edge]
    return row, x


def window(field: HeightField, region: Polygon, *, cells: int = 0) -> Window:
    """The block of cells around a region, with so many cells on each side, cut off at the field's edge."""
    left, front, right, back = region.bounds
    rows, columns = field.heights.shape

    def index(value: float, axis: int, limit: int, more: int) -> int:
        return min(max(math.floor((value - field.origin[axis]) / field.cell) + more, 0), limit)

    return Window(
        slice(index(front, 1, rows, -cells), index(back, 1, rows, cells + 1)),
        slice(index(left, 0, columns, -cells), index(right, 0, columns, cells + 1)),
    )


def lower_walls(allowed: Heights, block: Window) -> None:
    """Give every cell of a block the lowest height among itself and its eight neighbours in the block."""
    heights = allowed[block]
    across = heights.copy()
    np.minimum(across[:, 1:], heights[:, :-1], out=across[:, 1:])
    np.minimum(across[:, :-1], heights[:, 1:], out=across[:, :-1])
    heights[...] = across
    np.minimum(heights[1:], across[:-1], out=heights[1:])
    np.minimum(heights[:-1], across[1:], out=heights[:-1])


def shrunk(mask: Mask) -> Mask:
    """The cells of a mask all of whose eight neighbours belong to it."""
    if not mask.size:  # of a region that lies off the field
        return mask
    across = mask.copy()
    across[:, 1:] &= mask[:, :-1]
    across[:, :-1] &= mask[:, 1:]
    across[:, 0] = across[:, -1] = False
    out = across.copy()
    out[1:] &= across[:-1]
    out[:-1] &= across[1:]
    out[0] = out[-1] = False
    return out


def _bridge(allowed: Heights, field: HeightField, setup: Setup, tab: Tab) -> None:
    """A bridge stands at least within a disc of a good part of its waist, outside its part.

    On a tight outline the cutter rounds a bridge's corners more than on a straight one.
    """
    disc = Point(tab.at).buffer(WAIST * tab.length / 2, quad_segs=16)
    for part in setup.parts:
        if part.name == tab.part:
            disc = disc.difference(part.outline)
    for piece in getattr(disc, "geoms", [disc]):
        if not piece.is_empty:
            fill(allowed, field, piece, tab.height - TAB_TOLERANCE)
