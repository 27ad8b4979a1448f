"""By how much a program is cut beside its place: its paths laid over those that the intent asks for."""

from collections.abc import Iterator
from typing import Final

import numpy as np
import shapely
from shapely import LinearRing
from shapely.geometry.base import BaseGeometry

from proveout.job.records import Cutter
from proveout.motion import RAPID, Floats, chords
from proveout.proof.trial import Mask, Trial, cutters_of, lowest, only
from proveout.setup import Setup

CELL: Final = 0.5  # mm, of the maps that are laid over each other
FAR: Final = 1.5  # times the stock's longer side: a longer path is wrong in another way
CHORD: Final = 0.05  # mm
MOST_POINTS: Final = 3000  # of a path that are set against the rings
NEAR: Final = (1.0, 0.5, 0.25, 0.12, 0.12)  # mm within which a point counts, round by round

Shift = tuple[float, float]


def shift_of(run: Trial, moves: Mask) -> Shift | None:
    """How far right and back of their place the cuts among some moves lie, mm; None where that can't be told.

    Where walls are finished the cutter's middle runs a radius off them. The path is moved about until most of
    it lies on those lines: first by correlation of maps, then by least squares.
    """
    rings = [ring for cutter in cutters_of(run) for ring in _rings(run.setup, cutter)]
    path = _path(run, moves)
    if not rings or len(path) < 2 or np.ptp(path, axis=0).max() > FAR * max(run.setup.stock.size):
        return None
    there = np.concatenate([_sampled(np.asarray(ring.coords)[:, :2]) for ring in rings])
    shift = _refined(path, rings, _roughly(path, there))
    return round(float(shift[0]), 2), round(float(shift[1]), 2)


def _rings(setup: Setup, cutter: Cutter) -> Iterator[LinearRing]:
    """Where a cutter's middle runs when it finishes the walls."""
    for part in setup.parts:
        yield from _rings_of(part.outline.buffer(cutter.radius))
        for feature in part.features:
            yield from _rings_of(feature.region.buffer(-cutter.radius))


def _rings_of(shape: BaseGeometry) -> Iterator[LinearRing]:
    for polygon in getattr(shape, "geoms", [shape]):
        if not polygon.is_empty:
            yield polygon.exterior
            yield from polygon.interiors


def _path(run: Trial, moves: Mask) -> Floats:
    """Points along the cuts, (n, 2)."""
    cuts = moves & (run.motion.kind != RAPID) & (lowest(run.motion) < run.setup.stock.thickest)
    pieces = chords(only(run.motion, np.flatnonzero(cuts)), CHORD)
    if not len(pieces.start):
        return np.zeros((0, 2))
    step = (pieces.end - pieces.start)[:, :2]
    count = np.ceil(np.hypot(step[:, 0], step[:, 1]) / CELL).astype(np.int64)
    piece = np.repeat(np.arange(len(count)), count)
    number = np.arange(len(piece)) - (np.cumsum(count) - count)[piece]
    points: Floats = pieces.start[piece, :2] + step[piece] * (number / np.maximum(count, 1)[piece])[:, None]
    return points


def _sampled(corners: Floats) -> Floats:
    return np.asarray(
        shapely.get_coordinates(shapely.segmentize(shapely.linestrings(corners), CELL)), dtype=np.float64
    )


def _roughly(path: Floats, there: Floats) -> Floats:
    """The shift, to a cell, at which the most of the path lies where it should."""
    corner = np.minimum(path.min(axis=0), there.min(axis=0))
    size = np.maximum(path.max(axis=0), there.max(axis=0)) - corner
    across, along = (2 * np.ceil(size / CELL).astype(np.int64) + 4).tolist()
    maps = [np.fft.rfft2(_map(points - corner, (along, across))) for points in (path, there)]
    alike = np.fft.irfft2(maps[0] * np.conj(maps[1]), s=(along, across))
    row, column = np.unravel_index(int(np.argmax(alike)), alike.shape)
    cells = [int(column), int(row)]
    signed = [
        cell - most if cell > most // 2 else cell for cell, most in zip(cells, (across, along), strict=True)
    ]
    return np.array(signed, dtype=np.float64) * CELL


def _map(points: Floats, shape: tuple[int, int]) -> Floats:
    """Cells that have points, and at half weight their neighbours."""
    cell = np.floor(points / CELL).astype(np.int64)
    plain = np.zeros(shape)
    plain[cell[:, 1], cell[:, 0]] = 1.0
    wide = plain.copy()
    for axis in (0, 1):
        wide = wide + 0.5 * (np.roll(wide, 1, axis=axis) + np.roll(wide, -1, axis=axis))
    return wide


def _refined(path: Floats, rings: list[LinearRing], shift: Floats) -> Floats:
    """The shift that brings the path's points nearest to the rings, by least squares."""
    points = path[:: max(1, len(path) // MOST_POINTS)]
    corners = [np.asarray(ring.coords)[:, :2] for ring in rings]
    sides = np.concatenate([np.stack((each[:-1], each[1:]), axis=1) for each in corners])
    tree = shapely.STRtree(shapely.linestrings(sides))
    for near in NEAR:
        moved = points - shift
        marks = shapely.points(moved)
        each, side = tree.query_nearest(marks, all_matches=False)
        ways = shapely.shortest_line(marks[each], tree.geometries[side])
        ends = shapely.get_coordinates(ways).reshape(-1, 2, 2)
        off = ends[:, 0] - ends[:, 1]
        far = np.hypot(off[:, 0], off[:, 1])
        used = (far < near) & (far > 1e-9)
        if used.sum() < 3:
            break
        normal = off[used] / far[used][:, None]
        more, *_ = np.linalg.lstsq(normal, far[used], rcond=None)
        shift = shift + more
    return shift
