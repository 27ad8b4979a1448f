"""Removal: what every move of a motion takes from the stock, exactly at each cell's centre."""

import math
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, fields
from typing import Any, Final

import numpy as np
import numpy.typing as npt

from proveout.job.records import Cutter
from proveout.kernels.sweep import BALL, BULL, CONE, FLAT, LEVEL_ARC, PIECE, STRAIGHT, TALLY, cut_rows
from proveout.motion import ARC, XY, Chords, Floats, Ints, Motion, arc_radius, chords
from proveout.proof.verdict import HeightField

Heights = npt.NDArray[np.float32]
Rows = npt.NDArray[np.int64]

CHORD: Final = 0.002  # mm that a piece may lie off a helix, or off an arc that stands upright
RIM: Final = 1e-7  # mm by which the radius is taken small, so that a cell exactly on a wall always stands
LEAST_TURN: Final = 1e-6  # rad; an arc of less is as good as straight
MOST_CELLS: Final = 300_000_000  # 1.2 GB of heights
MOST_BANDS: Final = 8  # of rows, swept side by side; fixed, so that sums never depend on the threads
LEAST_ROWS: Final = 128  # in a band


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Removal:
    """What a motion took, move by move, and what is left."""

    field: HeightField  # after all moves
    removed: Floats  # (n,) mm3 taken by each move
    depth: Floats  # (n,) mm, how far the material that a move cut stood above the tip; 0 where it cut nothing
    usual: Floats  # (n,) mm, the same in the mean over the volume that was taken; narrow slivers hardly count
    breach: Floats  # (n,) mm, deepest cut below the allowed floor, counting only what this move lowered
    breach_at: Floats  # (n, 2) mm, the middle of the cell where that was; means nothing where breach is 0
    through: Ints  # (rows, columns) 1 + the first move that took the cell to or below the level; 0 for none


def fresh_field(
    size: tuple[float, float], top: float, *, bed: float = 0.0, cell: float, margin: float
) -> HeightField:
    """The stock before the first cut, from (0, 0) to `size`, with a margin of bare bed around it.

    A cell whose centre lies over the stock stands at `top`, any other at `bed`. The stock's left front corner
    is a cell's corner.

    Raises:
        ValueError: sizes that are not positive, or more cells than MOST_CELLS
    """
    if not (min(size) > 0 and cell > 0 and margin >= 0):
        raise ValueError(f"a field needs a positive size and cell: {size}, {cell}, {margin}")
    ring = math.ceil(margin / cell - 1e-9)
    across, along = (math.ceil(length / cell - 1e-9) + 2 * ring for length in size)
    if across * along > MOST_CELLS:
        raise ValueError(f"{across * along} cells of {cell} mm are more than {MOST_CELLS}")
    heights = np.full((along, across), bed, dtype=np.float32)
    inner = [
        int(np.count_nonzero((np.arange(math.ceil(length / cell)) + 0.5) * cell < length + 1e-9))
        for length in size
    ]
    heights[ring : ring + inner[1], ring : ring + inner[0]] = top
    heights.setflags(write=False)
    return HeightField(heights=heights, cell=cell, origin=(-ring * cell, -ring * cell))


def remove(
    field: HeightField,
    motion: Motion,
    cutters: Sequence[Cutter],
    *,
    allowed: Heights | None = None,
    through_level: float = 0.0,
    threads: int = 2,
) -> Removal:
    """What is left of the field after every move, rapids included, and what each move did.

    A cell is cut to the lowest point of the cutter over its centre: exact for straight moves and for level
    arcs, within CHORD for helices. Shank and collet nut cut nothing. A move whose cutter number is not among
    `cutters` takes nothing. The result is the same, byte for byte, for any number of threads.

    Args:
        field: left as it is
        allowed: (rows, columns) float32, the height that no cut may go below at each cell; None for no limit
        through_level: mm; a cell at or below it is cut through
        threads: bands of rows swept side by side
    Raises:
        ValueError: `allowed` is not of the field's shape; a vee or drill without the angle of its point;
            a bull nose without the radius of its corner
    """
    own = HeightField(heights=field.heights.copy(), cell=field.cell, origin=field.origin)
    return carve(own, motion, cutters, allowed=allowed, through_level=through_level, threads=threads)


def carve(
    field: HeightField,
    motion: Motion,
    cutters: Sequence[Cutter],
    *,
    allowed: Heights | None = None,
    through_level: float = 0.0,
    threads: int = 2,
) -> Removal:
    """As `remove`, but in the field's own heights: nobody else may need them. It saves a sheet's memory."""
    heights, shape = field.heights, field.heights.shape
    if allowed is not None and allowed.shape != shape:
        raise ValueError(f"allowed has the shape {allowed.shape}, the field {shape}")
    through = np.zeros(shape, dtype=np.int32)  # zeros take no memory where nothing is cut through
    bands = band_edges(shape[0])
    tally = np.zeros((len(bands) - 1, len(motion)), dtype=TALLY)
    pieces = sealed(sweep_pieces(motion, cutters))
    boxes = pieces["front"].copy(), pieces["back"].copy()
    floor = sealed(np.zeros((0, 0), dtype=np.float32) if allowed is None else allowed)
    ceiling = float(heights.max(initial=-math.inf))
    heights.setflags(write=True)

    def cut(band: int) -> None:
        rows = bands[band], bands[band + 1]
        level = np.float32(through_level)
        frame = (field.origin[0], field.origin[1], field.cell)
        front, back = (
            field.origin[1] + (row + edge) * field.cell for row, edge in zip(rows, (-1, 1), strict=True)
        )
        which = np.flatnonzero((boxes[1] >= front) & (boxes[0] <= back))
        cut_rows(pieces, which, heights, frame, *rows, ceiling, floor, through, level, tally[band])

    in_bands(cut, len(bands) - 1, threads)
    return _removal(field, heights, through, tally)


def band_edges(rows: int) -> list[int]:
    """Where the bands of rows begin, and the end of the last; depends on nothing but the count of rows."""
    count = max(1, min(MOST_BANDS, rows // LEAST_ROWS))
    return [rows * band // count for band in range(count + 1)]


def in_bands(work: Any, bands: int, threads: int) -> None:
    """Do the work of each band, so many at a time."""
    if threads <= 1 or bands == 1:
        for band in range(bands):
            work(band)
        return
    with ThreadPoolExecutor(threads) as pool:
        list(pool.map(work, range(bands)))


def sealed(array: npt.NDArray[Any]) -> npt.NDArray[Any]:
    """A read-only, contiguous view: the compiler makes one version of a kernel for it, not two."""
    view = np.ascontiguousarray(array).view()
    view.setflags(write=False)
    return view


def _removal(field: HeightField, heights: Heights, through: Ints, tally: npt.NDArray[Any]) -> Removal:
    removed, moment = np.zeros(tally.shape[1]), np.zeros(tally.shape[1])
    for band in tally:  # one after the other, so that the sum is always the same
        removed += band["removed"]
        moment += band["moment"]
    worst = tally["breach"].argmax(axis=0)
    deepest = tally[worst, np.arange(tally.shape[1])]
    at = np.column_stack((deepest["column"], deepest["row"])) + 0.5
    out = Removal(
        field=HeightField(heights=heights, cell=field.cell, origin=field.origin),
        removed=removed * field.cell**2,
        depth=tally["depth"].max(axis=0),
        usual=moment / np.maximum(removed, 1e-12),
        breach=deepest["breach"].copy(),
        breach_at=np.asarray(field.origin) + at * field.cell,
        through=through,
    )
    for array in (heights, out.removed, out.depth, out.usual, out.breach, out.breach_at, through):
        array.setflags(write=False)
    return out


def sweep_pieces(motion: Motion, cutters: Sequence[Cutter]) -> npt.NDArray[Any]:
    """The motion as the kernel takes it: straight pieces and level arcs in order, (m,) PIECE."""
    known = np.isin(motion.cutter, [cutter.number for cutter in cutters])
    is_level = motion.start[:, 2] == motion.end[:, 2]
    turns = np.abs(motion.sweep) > LEAST_TURN
    flat_arc = (motion.kind == ARC) & (motion.plane == XY) & is_level & turns
    rows = np.flatnonzero(known & ~flat_arc)
    both = straight_pieces(_chopped(motion, rows), rows)
    if flat_arc.any():
        both = np.concatenate((_arc_pieces(motion, np.flatnonzero(known & flat_arc)), both))
        both = both[np.argsort(both["move"], kind="stable")]
    _dress(both, motion, cutters)
    return both


def _chopped(motion: Motion, rows: Rows) -> Chords:
    """Some of the moves as chords; lines alone stay as they are."""
    if (motion.kind[rows] == ARC).any():
        return chords(_some(motion, rows), CHORD)
    return Chords(motion.start[rows], motion.end[rows], np.arange(len(rows), dtype=np.int32))


def straight_pieces(chopped: Chords, rows: Rows) -> npt.NDArray[Any]:
    """A row for each chord, without its cutter; `rows` are the numbers of the moves that were chopped."""
    out = np.zeros(len(chopped.parent), dtype=PIECE)
    start, end = chopped.start, chopped.end
    way = end - start
    run = np.sqrt(way[:, 0] ** 2 + way[:, 1] ** 2)
    upright = run < 1e-9
    safe = np.where(upright, 1.0, run)
    out["form"] = STRAIGHT
    out["move"] = rows[chopped.parent]
    out["x"], out["y"] = start[:, 0], start[:, 1]
    out["low"] = np.minimum(start[:, 2], end[:, 2])
    # a plunge is a level piece of no length at its lowest height
    out["z"] = np.where(upright, out["low"], start[:, 2])
    out["ux"] = np.where(upright, 1.0, way[:, 0] / safe)
    out["uy"] = np.where(upright, 0.0, way[:, 1] / safe)
    out["run"] = np.where(upright, 0.0, run)
    out["rise"] = np.where(upright, 0.0, way[:, 2] / safe)
    for axis, (less, more) in enumerate((("left", "right"), ("front", "back"))):
        out[less] = np.minimum(start[:, axis], end[:, axis])
        out[more] = np.maximum(start[:, axis], end[:, axis])
    return out


def _arc_pieces(motion: Motion, rows: Rows) -> npt.NDArray[Any]:
    out = np.zeros(len(rows), dtype=PIECE)
    centre = motion.centre[rows]
    clockwise = (motion.sweep[rows] < 0)[:, None]
    first = np.where(clockwise, motion.end[rows], motion.start[rows]) - centre
    last = np.where(clockwise, motion.start[rows], motion.end[rows]) - centre
    out["form"] = LEVEL_ARC
    out["move"] = rows
    out["x"], out["y"] = centre[:, 0], centre[:, 1]
    out["z"] = out["low"] = motion.start[rows, 2]
    out["run"] = arc_radius(motion)[rows]
    out["turn"] = np.abs(motion.sweep[rows])
    out["first_x"], out["first_y"] = first[:, 0], first[:, 1]
    out["last_x"], out["last_y"] = last[:, 0], last[:, 1]
    begins = np.arctan2(first[:, 1], first[:, 0])
    for axis, (less, more) in enumerate((("left", "right"), ("front", "back"))):
        ends = np.stack((first[:, axis], last[:, axis]))
        passes_most = (axis * math.pi / 2 - begins) % math.tau <= out["turn"] + 1e-9
        passes_least = ((axis + 2) * math.pi / 2 - begins) % math.tau <= out["turn"] + 1e-9
        out[less] = centre[:, axis] + np.where(passes_least, -out["run"], ends.min(axis=0))
        out[more] = centre[:, axis] + np.where(passes_most, out["run"], ends.max(axis=0))
    return out


def _dress(pieces: npt.NDArray[Any], motion: Motion, cutters: Sequence[Cutter]) -> None:
    """Fill in the cutter of each piece, and widen its box by the cutter's radius."""
    for cutter in cutters:
        rows = motion.cutter[pieces["move"]] == cutter.number
        pieces["shape"][rows], pieces["slope"][rows] = underside(cutter)
        pieces["corner"][rows] = (cutter.corner_radius or 0.0) - RIM
        pieces["reach"][rows] = cutter.radius - RIM
    for less, more in (("left", "right"), ("front", "back")):
        pieces[less] -= pieces["reach"]
        pieces[more] += pieces["reach"]


def underside(cutter: Cutter) -> tuple[int, float]:
    """The shape of a cutter's underside as the kernel names it, and the slope of its cone."""
    if cutter.kind == "flat":
        return FLAT, 0.0
    if cutter.kind == "ball":
        return BALL, 0.0
    if cutter.kind == "bull nose":
        if cutter.corner_radius is None or not RIM < cutter.corner_radius < cutter.radius:
            raise ValueError(f"cutter {cutter.number} ({cutter.name}) needs the radius of its corner")
        return BULL, 0.0
    if cutter.point_deg is None or not 0 < cutter.point_deg <= 180:
        raise ValueError(f"cutter {cutter.number} ({cutter.name}) needs the angle of its point")
    return CONE, 1 / math.tan(math.radians(cutter.point_deg / 2))


def _some(motion: Motion, rows: Rows) -> Motion:
    return Motion(**{field.name: getattr(motion, field.name)[rows] for field in fields(Motion)})
