"""From pieces to arrays, and what lies on one layer."""

import math
from collections.abc import Sequence
from dataclasses import fields, replace

import numpy as np

from proveout.drawing.piece import Piece
from proveout.drawing.wires import Sheet, Wires


def wires_of(pieces: Sequence[Piece]) -> tuple[Wires, tuple[str, ...], tuple[str, ...]]:
    """Pieces as arrays, with the names of their layers and entities."""
    layers = tuple(dict.fromkeys(one.layer for one in pieces))
    entities = tuple(dict.fromkeys(one.entity for one in pieces))
    on, of = {name: i for i, name in enumerate(layers)}, {name: i for i, name in enumerate(entities)}
    rows = [
        (one, on[piece.layer], of[piece.entity], number if piece.closed else -1)
        for number, piece in enumerate(pieces)
        for one in piece.segments
    ]
    nowhere = (math.nan, math.nan)
    wires = Wires(
        start=np.array([one.start for one, *_ in rows], dtype=np.float64).reshape(-1, 2),
        end=np.array([one.end for one, *_ in rows], dtype=np.float64).reshape(-1, 2),
        centre=np.array([one.centre or nowhere for one, *_ in rows], dtype=np.float64).reshape(-1, 2),
        ccw=np.array([one.ccw for one, *_ in rows], dtype=np.bool_),
        layer=np.array([layer for _, layer, _, _ in rows], dtype=np.int32),
        entity=np.array([entity for _, _, entity, _ in rows], dtype=np.int32),
        ring=np.array([ring for *_, ring in rows], dtype=np.int32),
    )
    return wires, layers, entities


def on_layer(sheet: Sheet, layer: str) -> Sheet:
    """The sheet with what lies on one layer alone; whole where there is no such layer."""
    number = next((i for i, name in enumerate(sheet.layers) if name.lower() == layer.lower()), None)
    if number is None:
        return sheet
    rows = np.flatnonzero(sheet.wires.layer == number)
    arrays = {one.name: getattr(sheet.wires, one.name)[rows] for one in fields(Wires)}
    return replace(sheet, wires=Wires(**arrays))
