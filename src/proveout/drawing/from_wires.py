"""Between a reader's arrays and pieces: one piece for each stroke of an entity."""

import math
from collections.abc import Sequence
from dataclasses import fields, replace
from itertools import groupby

import numpy as np

from proveout.curve import Point, Segment
from proveout.drawing.piece import Piece
from proveout.drawing.wires import Sheet, Wires


def pieces_of(sheet: Sheet, mm: float) -> tuple[Piece, ...]:
    """The sheet's lines and arcs, each run that an entity draws in one stroke as a piece.

    Args:
        mm: to one unit of the drawing
    """
    wires = sheet.wires
    rows = range(len(wires))
    rings, entities, layers = wires.ring.tolist(), wires.entity.tolist(), wires.layer.tolist()
    pieces: list[Piece] = []
    for (ring, entity, layer), run in groupby(rows, key=lambda row: (rings[row], entities[row], layers[row])):
        segments = [_scaled(wires.segment(row), mm) for row in run]
        name, on = sheet.entities[entity], sheet.layers[layer]
        if ring >= 0:
            pieces.append(Piece(layer=on, entity=name, segments=tuple(segments), closed=True))
            continue
        pieces += [
            Piece(layer=on, entity=name, segments=tuple(stroke), closed=False)
            for stroke in _strokes(segments)
        ]
    return tuple(pieces)


def _strokes(segments: list[Segment]) -> list[list[Segment]]:
    """Segments that run on from each other together, a new stroke wherever the pen was lifted."""
    strokes: list[list[Segment]] = []
    for one in segments:
        if strokes and strokes[-1][-1].end == one.start:
            strokes[-1].append(one)
        else:
            strokes.append([one])
    return strokes


def _scaled(segment: Segment, mm: float) -> Segment:
    def place(point: Point) -> Point:
        return point[0] * mm, point[1] * mm

    centre = place(segment.centre) if segment.centre is not None else None
    return Segment(place(segment.start), place(segment.end), centre, segment.ccw)


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
