"""Loose pieces by filling the stock anew after every move."""

from typing import NamedTuple

import numpy as np
import numpy.typing as npt
from scipy import ndimage

Mask = npt.NDArray[np.bool_]


class Parting(NamedTuple):
    move: int
    area: int  # cells that are loose together after the move
    next_cut: int  # first later move that cuts some of them; -1 for none


def loose_after(through: npt.NDArray[np.int32], inside: Mask, held: Mask, move: int) -> Mask:
    """The cells that hang on no held cell once a move is done; -1: before the first."""
    standing = inside & ((through == 0) | (through > move + 1))
    labels, _ = ndimage.label(standing)  # joined along edges
    loose: Mask = standing & ~np.isin(labels, np.unique(labels[held & standing]))
    return loose


def partings_of_waste(through: npt.NDArray[np.int32], inside: Mask, held: Mask, moves: int) -> list[Parting]:
    """Every piece that parts at some move and is wholly cut away by later ones."""
    out = []
    before = loose_after(through, inside, held, -1)
    for move in range(moves):
        after = loose_after(through, inside, held, move)
        labels, count = ndimage.label(after)
        for label in range(1, count + 1):
            cells = labels == label
            if (cells & ~before).any() and (through[cells] > 0).all():
                out.append(Parting(move, int(cells.sum()), int(through[cells].min()) - 1))
        before = after
    return out
