"""Two plain numpy ways to remove material, to set the kernel beside them."""

import math

import numpy as np

from proveout.job.records import Cutter
from proveout.motion import Motion
from proveout.proof.removal import sweep_pieces
from proveout.proof.verdict import HeightField


def stamped(field: HeightField, motion: Motion, cutter: Cutter, step: float) -> np.ndarray:
    """The plain baseline: a flat cutter's disc pressed into the field every so many mm along the way."""
    heights, cell = field.heights.copy(), field.cell
    reach = math.ceil(cutter.radius / cell) + 1
    for start, end in zip(motion.start, motion.end, strict=True):
        count = max(1, math.ceil(float(np.linalg.norm(end - start)) / step))
        for share in np.arange(count + 1) / count:
            x, y, z = start + (end - start) * share
            column, row = int((x - field.origin[0]) / cell), int((y - field.origin[1]) / cell)
            rows = slice(max(0, row - reach), row + reach + 1)
            columns = slice(max(0, column - reach), column + reach + 1)
            window = heights[rows, columns]
            dy = field.origin[1] + (np.arange(rows.start, rows.start + window.shape[0]) + 0.5) * cell - y
            dx = (
                field.origin[0] + (np.arange(columns.start, columns.start + window.shape[1]) + 0.5) * cell - x
            )
            disc = dy[:, None] ** 2 + dx[None, :] ** 2 <= cutter.radius**2
            np.minimum(window, np.float32(z), out=window, where=disc)
    return heights


def windowed(field: HeightField, motion: Motion, cutter: Cutter) -> np.ndarray:
    """The exact sweep in numpy, one window for each straight move."""
    heights = field.heights.copy()
    for piece in sweep_pieces(motion, [cutter]):
        box = tuple(
            slice(first, max(first, end))
            for first, end in (
                _cells(piece["front"], piece["back"], field.origin[1], heights.shape[0], field.cell),
                _cells(piece["left"], piece["right"], field.origin[0], heights.shape[1], field.cell),
            )
        )
        y, x = (
            field.origin[axis] + (np.arange(side.start, side.stop) + 0.5) * field.cell - piece[name]
            for side, axis, name in ((box[0], 1, "y"), (box[1], 0, "x"))
        )
        covered, under = _under(piece, x[None, :], y[:, None], cutter)
        window = heights[box]
        np.minimum(window, under.astype(np.float32), out=window, where=covered)
    return heights


def _cells(least: float, most: float, low: float, count: int, cell: float) -> tuple[int, int]:
    return max(0, math.floor((least - low) / cell - 0.5)), min(count, math.ceil((most - low) / cell + 1))


def _under(piece: np.void, x: np.ndarray, y: np.ndarray, cutter: Cutter) -> tuple[np.ndarray, np.ndarray]:
    """Which cells a piece covers, and the cutter's underside over them at its lowest."""
    rise, reach2 = float(piece["rise"]), float(piece["reach"]) ** 2
    along = x * piece["ux"] + y * piece["uy"]
    aside2 = (y * piece["ux"] - x * piece["uy"]) ** 2
    past = along - np.clip(along, 0, piece["run"])
    half = np.sqrt(np.maximum(0, reach2 - aside2))
    if cutter.kind == "flat":
        want = -half if rise >= 0 else half
    elif cutter.kind == "ball":
        want = -rise * half / math.sqrt(1 + rise**2)
    else:
        steep = piece["slope"] ** 2 - rise**2
        want = -math.copysign(1.0, rise) * half
        if steep > 0:
            want = np.clip(-rise * np.sqrt(aside2 / steep), -half, half)
    ahead = np.clip(want, -along, piece["run"] - along)
    away2 = ahead * ahead + aside2
    up: float | np.ndarray = 0.0
    if cutter.kind == "ball":
        up = float(piece["reach"]) - np.sqrt(np.maximum(0, reach2 - away2))
    elif cutter.kind != "flat":
        up = piece["slope"] * np.sqrt(away2)
    tip = np.maximum(piece["low"], piece["z"] + rise * (along + ahead))
    return past**2 + aside2 <= reach2, tip + up
