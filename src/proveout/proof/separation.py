"""Pieces that come loose: which they are, at which move they part, and what touches them afterwards."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt

from proveout.job.records import Cutter
from proveout.kernels.pieces import parted
from proveout.kernels.sweep import touch_labels
from proveout.motion import Ints, Motion, chords
from proveout.proof.removal import RIM, sealed, straight_pieces
from proveout.proof.verdict import HeightField

Mask = npt.NDArray[np.bool_]

CRUMB: Final = 1.0  # mm2; what is smaller when it parts, and is cut away later, is a chip and not a piece
CHORD: Final = 0.01  # mm, of arcs when contact is looked for


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """A piece of stock that nothing holds."""

    label: int  # in Pieces.labels; 0 where later moves cut all of it away
    freed_at: int  # the move at which it parted from the last that holds; -1: nothing ever held it
    cut_at: int  # the first later move that cuts through some of what had parted; -1 for none
    area: float  # mm2 that stay at the end; of a piece that is cut away, when it parted
    at: tuple[float, float]  # in its inside


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Pieces:
    """Every loose piece of one sheet: those that stay, then those that are cut away by and by."""

    pieces: tuple[Piece, ...]
    labels: Ints  # (rows, columns) from 1 for the pieces that stay; 0 for what is held, cut or no stock


def separate(
    through: Ints, inside: Mask, held: Mask, *, cell: float, origin: tuple[float, float], crumb: float = CRUMB
) -> Pieces:
    """The pieces that no held cell is part of.

    Cells hang together along their edges only: a contact at a corner holds nothing, so a piece is never
    thought to be held for longer than it is. A piece whose last link goes together with a larger loose one
    has the move at which the larger one parted. A piece that parts and is then cut away is reported too,
    unless it is a crumb.

    Args:
        through: (rows, columns), 1 + the first move that cuts each cell through; 0 for none
        inside: (rows, columns), where there is stock
        held: (rows, columns), where a clamp presses: a cell that can't come loose while it stands
        cell: mm
        origin: left front corner of cell (0, 0)
        crumb: mm2
    Raises:
        ValueError: arrays of different shapes
    """
    if not through.shape == inside.shape == held.shape:
        raise ValueError(f"shapes differ: {through.shape}, {inside.shape}, {held.shape}")
    moves = int(through.max(initial=0))
    least = max(1, math.ceil(crumb / cell**2))
    labels = np.zeros(through.shape, dtype=np.int32)
    freed, cut, size, inner, gone = parted(
        sealed(through), sealed(inside), sealed(held), moves, least, labels
    )
    labels.setflags(write=False)

    def place(row: int, column: int) -> tuple[float, float]:
        return origin[0] + (column + 0.5) * cell, origin[1] + (row + 0.5) * cell

    stay = [
        Piece(
            label=number + 1,
            freed_at=int(freed[number]),
            cut_at=int(cut[number]),
            area=float(size[number] * cell**2),
            at=place(int(inner[number, 0]), int(inner[number, 1])),
        )
        for number in range(len(freed))
    ]
    went = [
        Piece(
            label=0,
            freed_at=int(row[0]),
            cut_at=int(row[1]),
            area=float(row[2] * cell**2),
            at=place(int(row[3]), int(row[4])),
        )
        for row in gone[::-1]
    ]
    return Pieces(pieces=(*stay, *went), labels=labels)


def joined_cells(there: Mask) -> Ints:
    """A number from 1 for each body of cells joined along their edges, (rows, columns); 0 elsewhere."""
    never, nobody = np.zeros(there.shape, dtype=np.int32), np.zeros(there.shape, dtype=np.bool_)
    labels = np.zeros(there.shape, dtype=np.int32)
    parted(sealed(never), sealed(there), sealed(nobody), 0, 1, labels)
    return labels


def cells_of(pieces: Pieces, piece: Piece) -> Mask:
    """The cells of a piece that stays, (rows, columns)."""
    cells: Mask = (pieces.labels == piece.label) & (piece.label > 0)
    return cells


def touched_at(
    pieces: Pieces, motion: Motion, cutters: Sequence[Cutter], field: HeightField, *, top: float
) -> Ints:
    """The first move after each piece parted that touches it, (pieces,); -1 for none.

    A move touches a piece when, below `top`, the cutter comes within its radius and a cell of the middle of
    one of the piece's cells, or when it cuts through some of what parted with the piece: a wall lies less
    than a cell from the nearest middle that stands, so going along a kerf again touches both its sides. The
    move that frees a piece doesn't count; the one by which the cutter then leaves the cut does. A piece that
    nothing ever held has no such move.

    Args:
        field: of the same cells as the labels; its heights don't matter
        top: mm, of the piece, as high as it can be
    """
    first = np.array([piece.cut_at for piece in pieces.pieces], dtype=np.int32)
    staying = [piece for piece in pieces.pieces if piece.label and piece.freed_at >= 0]
    if not staying:
        return first
    since = np.full(len(pieces.pieces) + 1, len(motion), dtype=np.int64)
    since[[piece.label for piece in staying]] = [piece.freed_at for piece in staying]
    touched = np.full(len(since), -1, dtype=np.int64)
    near = near_pieces(motion, cutters, field.cell, int(since.min()) + 1)
    frame = (field.origin[0], field.origin[1], field.cell)
    touch_labels(near, sealed(pieces.labels), frame, 0, pieces.labels.shape[0], top, since, touched)
    for number, piece in enumerate(pieces.pieces):
        move = int(touched[piece.label])
        if piece.label and move >= 0 and not 0 <= first[number] <= move:
            first[number] = move
    return first


def near_pieces(motion: Motion, cutters: Sequence[Cutter], cell: float, first: int) -> npt.NDArray[np.void]:
    """The moves from `first` on as straight pieces that reach as far as contact does."""
    radius = {cutter.number: cutter.radius for cutter in cutters}
    chopped = chords(motion, CHORD)
    out = straight_pieces(chopped, np.arange(len(motion)))
    reach = np.array([radius.get(int(number), 0.0) for number in motion.cutter])
    out["reach"] = reach[chopped.parent] + cell - RIM
    for less, more in (("left", "right"), ("front", "back")):
        out[less] -= out["reach"]
        out[more] += out["reach"]
    keep = (reach[chopped.parent] > 0) & (out["move"] >= first)
    return sealed(out[keep])
