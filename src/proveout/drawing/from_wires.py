"""From a reader's arrays to pieces in millimetres, one for each entity's run of lines and arcs."""

from itertools import groupby

from proveout.curve import Point, Segment
from proveout.drawing.piece import Piece
from proveout.drawing.wires import Sheet


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
