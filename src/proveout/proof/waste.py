"""Cuts that serve no part, and cuts that part the frame of waste which the clamps hold."""

from collections.abc import Callable, Iterator, Sequence
from functools import reduce
from typing import Final, NamedTuple

import numpy as np
import numpy.typing as npt
import shapely

from proveout.finding import Finding, Level
from proveout.motion import RAPID, Floats, chords, lengths
from proveout.proof.allowed import Mask, covered, window
from proveout.proof.companion import cutting
from proveout.proof.loose import CRUMBS, held_by, stock_cells
from proveout.proof.removal import Removal
from proveout.proof.separation import Piece, Pieces, cells_of, separate
from proveout.proof.trial import Rows, Trial, cutters_of, length, only, opening, per_move, place
from proveout.setup import Grip, PlacedClamp, Setup

Holder = PlacedClamp | Grip

Lines = npt.NDArray[np.object_]

AWAY: Final = 1.5  # diameters of the cutter's middle from any part: its edge then keeps a whole diameter away
SLACK: Final = 0.2  # mm
CHORD: Final = 0.05  # mm
COARSE: Final = 1.0  # mm, of the cells in which the frame is looked at first
MOSTLY: Final = 0.5  # of a piece, that makes it a part and not waste
LEAST: Final = 5.0  # mm3 in one program; less is a scratch


class Stray(NamedTuple):
    """Moves that take material far from any part, with about how much of it."""

    moves: Rows
    volume: Floats  # mm3
    at: Floats  # (k, 2) where each is far from the parts


def stray_cuts(run: Trial, removal: Removal) -> Iterator[Finding]:
    """Cuts in waste where nothing was to be cut, once for each program."""
    if not run.setup.parts:
        return
    stray = _stray(run, removal)
    for number, file in enumerate(run.files):
        mine = run.program[stray.moves] == number
        total = float(stray.volume[mine].sum())
        if total < LEAST:
            continue
        first, count = int(stray.moves[mine][0]), int(mine.sum())
        at = (float(stray.at[mine][0, 0]), float(stray.at[mine][0, 1]))
        yield Finding(
            level=Level.CAUTION,
            kind="waste-cut",
            text=(
                f"{opening(run, first)} the cutter cuts waste {place(run.setup, at)}, where nothing was to "
                f"be cut: {count} move{'s' if count > 1 else ''}, about {_volume(run.setup, total)} in all."
            ),
            remedy=(
                f"Look at the numbers of that line; parts and their features want no cut further than "
                f"{_diameters(run, first)} from their edges."
            ),
            program=file,
            line=int(run.motion.line[first]) or None,
            at=(*at, float(run.motion.end[first, 2])),
        )


def _stray(run: Trial, removal: Removal) -> Stray:
    """By cutter; a move's volume is shared out by the length of its way."""
    moves = cutting(removal)
    moves = moves[run.motion.kind[moves] != RAPID]
    whole = shapely.union_all([part.outline for part in run.setup.parts])
    volume, at = np.zeros(len(moves)), np.zeros((len(moves), 2))
    for cutter in cutters_of(run):
        near = whole.buffer(AWAY * cutter.diameter + SLACK, quad_segs=32)
        shapely.prepare(near)
        mine = np.flatnonzero(run.motion.cutter[moves] == cutter.number)
        start, end, parent = chords(only(run.motion, moves[mine]), CHORD)
        lines = shapely.linestrings(np.stack((start[:, :2], end[:, :2]), axis=1))
        far = np.flatnonzero(~shapely.covers(near, lines))
        rows = mine[parent[far]]
        np.add.at(volume, rows, _way_outside(lines[far], near, np.linalg.norm(end - start, axis=1)[far]))
        first = np.unique(rows, return_index=True)[1]  # where each move is far from the parts first
        at[rows[first]] = _outside_at(lines[far[first]], near)
    moved = lengths(run.motion)[moves]
    volume *= removal.removed[moves] / np.where(moved > 0, moved, 1.0)
    found = volume > 0
    return Stray(moves[found], volume[found], at[found])


def _way_outside(lines: Lines, near: shapely.Geometry, way: Floats) -> Floats:
    """The part of each way, mm, that leads outside a region; all of an upright one, whose line is a point."""
    flat = shapely.length(lines)
    upright = flat == 0
    outside = shapely.length(shapely.difference(lines, near))
    share: Floats = way * np.where(upright, 1.0, outside / np.where(upright, 1.0, flat))
    return share


def _outside_at(lines: Lines, near: shapely.Geometry) -> Floats:
    """Where each line is outside a region first, (k, 2)."""
    upright = shapely.length(lines) == 0
    outside = shapely.difference(lines, near)
    parts = np.where(upright, lines, shapely.get_geometry(outside, 0))
    points = shapely.get_point(parts, 0)
    return np.column_stack((shapely.get_x(points), shapely.get_y(points)))


def _diameters(run: Trial, move: int) -> str:
    diameter = per_move(run, {cutter.number: cutter.diameter for cutter in run.setup.cutters})[move]
    return length(run.setup, float(diameter))


def _volume(setup: Setup, cubic_mm: float) -> str:
    if setup.machine.units == "in":
        return f"{cubic_mm / 25.4**3:.2g} cubic inches"
    return f"{cubic_mm / 1000:.2g} cm3" if cubic_mm >= 100 else f"{cubic_mm:.0f} mm3"


# --- the frame


def frame_parted(run: Trial, removal: Removal) -> Iterator[Finding]:
    """A frame of waste that the cuts part in two or more pieces, each held by clamps or screws of its own."""
    screws = [grip for grip in run.setup.grips if grip.kind == "screw"]
    every: tuple[Holder, ...] = (*run.setup.clamps, *screws)
    clamps = [one for one in every if not one.pressing.is_empty]
    if len(clamps) < 2 or (removal.through == 0).all():
        return
    if _surely_whole(run, removal, clamps):
        return
    field = removal.field
    stock = stock_cells(run.setup, field)
    held = held_by(clamps[:1], field)
    apart = separate(removal.through, stock, held, cell=field.cell, origin=field.origin, crumb=CRUMBS)
    frames = [
        (piece, mine)
        for piece in apart.pieces
        if piece.label and (mine := _clamps_on(run, removal, apart, piece, clamps))
    ]
    held_pieces = [[clamp.name for clamp in mine] for _, mine in frames]
    if _share_of_parts(run, removal, stock & (removal.through == 0) & (apart.labels == 0)) <= MOSTLY:
        taken = {name for names in held_pieces for name in names}
        held_pieces.append([clamp.name for clamp in clamps if clamp.name not in taken])
    if len(held_pieces) > 1:
        yield _parted(run, frames[0][0], held_pieces)


def _surely_whole(run: Trial, removal: Removal, clamps: Sequence[Holder]) -> bool:
    """Whether all clamps press on one piece even where a coarse cell counts as cut with any of its fine ones.

    That is quickly told, and so for nearly every sheet.
    """
    field = removal.field
    times = max(1, round(COARSE / field.cell))
    whole = stock_cells(run.setup, field) & (removal.through == 0)
    coarse = _blocks(whole, times, np.logical_and)
    pressed = [_blocks(held_by([clamp], field), times, np.logical_or) & coarse for clamp in clamps]
    through = np.where(coarse, np.int32(0), np.int32(1))
    apart = separate(through, coarse, pressed[0], cell=times * field.cell, origin=field.origin)
    return all((cells & (apart.labels == 0)).any() for cells in pressed)


def _blocks(cells: Mask, times: int, both: Callable[[Mask, Mask], Mask]) -> Mask:
    """A mask of blocks of so many cells each way; what sticks out at the right and back is left out."""
    rows, columns = (size // times for size in cells.shape)
    kept = cells[: rows * times, : columns * times]
    across = reduce(both, [kept[row::times] for row in range(times)])  # whole rows: fast on large sheets
    return reduce(both, [across[:, column::times] for column in range(times)])


def _clamps_on(
    run: Trial, removal: Removal, apart: Pieces, piece: Piece, clamps: Sequence[Holder]
) -> list[Holder]:
    """The clamps that press on a piece; none for a piece that is mostly part, which may well be clamped."""
    cells = cells_of(apart, piece)
    if _share_of_parts(run, removal, cells) > MOSTLY:
        return []
    return [clamp for clamp in clamps if (held_by([clamp], removal.field) & cells).any()]


def _share_of_parts(run: Trial, removal: Removal, cells: Mask) -> float:
    inside = 0
    for part in run.setup.parts:
        block = window(removal.field, part.outline, cells=1)
        inside += int((covered(removal.field, part.outline, block) & cells[block]).sum())
    return inside / max(int(cells.sum()), 1)


def _parted(run: Trial, piece: Piece, held: list[list[str]]) -> Finding:
    alone = [names[0] for names in held if len(names) == 1]
    swings = (
        f" {' and '.join(alone)} hold{'s' if len(alone) == 1 else ''} a piece alone, which can turn."
        if alone
        else ""
    )
    move = piece.freed_at
    begin = f"{opening(run, move)} here" if move >= 0 else "At last"
    return Finding(
        level=Level.CAUTION,
        kind="frame-parted",
        text=(
            f"{begin} the cuts part the frame of waste into {len(held)} pieces, each held by clamps of its "
            f"own: {'; '.join(' and '.join(names) for names in held)}. Neither steadies the other any more."
            f"{swings}"
        ),
        remedy=(
            f"Leave at least {length(run.setup, 10.0)} of waste whole between them, or hold "
            "every piece with 2 clamps."
        ),
        program=run.files[run.program[move]] if move >= 0 else "",
        line=(int(run.motion.line[move]) or None) if move >= 0 else None,
        at=(*piece.at, run.setup.stock.thickest),
    )
