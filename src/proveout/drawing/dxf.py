"""DXF out: curves at their true size as lines, arcs and circles, in millimetres and saying so.

The text is a drawing interchange file of version AC1015, the first whose header can state its unit
($INSUNITS); a drawing that doesn't is how a part comes in at 25.4 times its size. Only entities that every
reader knows are used: no splines, no blocks, no polylines.
"""

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import count
from typing import Final

from proveout.curve import Curve, Segment, flatten, is_circle

_MILLIMETRES: Final = 4  # of $INSUNITS
_TABLES: Final = ("VPORT", "LTYPE", "LAYER", "STYLE", "VIEW", "UCS", "APPID", "DIMSTYLE", "BLOCK_RECORD")

Tag = tuple[int, str | int | float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Layer:
    """Curves that mean one thing."""

    name: str  # letters, digits, "_", "-" and "."
    curves: tuple[Curve, ...]


def dxf(layers: Sequence[Layer], remarks: Iterable[str] = ()) -> str:
    """The text of a drawing file with one layer for each kind of cut; lengths in mm, ASCII, CR LF."""
    handles = count(1)
    tags = [
        *_header(remarks, layers),
        *_section("TABLES", _tables([layer.name for layer in layers], handles)),
        *_section("BLOCKS", _blocks(handles)),
        *_section("ENTITIES", _entities(layers, handles)),
        *_section("OBJECTS", _objects(handles)),
        (0, "EOF"),
    ]
    lines = "\r\n".join(f"{code}\r\n{_value(value)}" for code, value in tags)
    return lines.encode("ascii", "replace").decode("ascii") + "\r\n"


def _value(value: str | int | float) -> str:
    """A tag's value on one line; a length to a nanometre, without a sign on zero."""
    if isinstance(value, float):
        return f"{round(value, 9) + 0.0:.9f}"
    return " ".join(str(value).split())


def _run(*tags: Tag) -> tuple[Tag, ...]:
    return tags


def _section(name: str, body: Iterable[Tag]) -> Iterator[Tag]:
    yield (0, "SECTION")
    yield (2, name)
    yield from body
    yield (0, "ENDSEC")


def _header(remarks: Iterable[str], layers: Sequence[Layer]) -> Iterator[Tag]:
    yield from ((999, remark[:200]) for remark in remarks)
    low, high = _extent(layers)
    yield from _section(
        "HEADER",
        [
            (9, "$ACADVER"), (1, "AC1015"),
            (9, "$DWGCODEPAGE"), (3, "ANSI_1252"),
            (9, "$EXTMIN"), (10, low[0]), (20, low[1]), (30, 0.0),
            (9, "$EXTMAX"), (10, high[0]), (20, high[1]), (30, 0.0),
            (9, "$INSUNITS"), (70, _MILLIMETRES),
            (9, "$MEASUREMENT"), (70, 1),
            (9, "$HANDSEED"), (5, "FFFF"),
        ],
    )  # fmt: skip


def _extent(layers: Sequence[Layer]) -> tuple[tuple[float, float], tuple[float, float]]:
    points = [flatten(curve) for layer in layers for curve in layer.curves]
    if not points:
        return (0.0, 0.0), (0.0, 0.0)
    lows, highs = [run.min(axis=0) for run in points], [run.max(axis=0) for run in points]
    return (
        (float(min(low[0] for low in lows)), float(min(low[1] for low in lows))),
        (float(max(high[0] for high in highs)), float(max(high[1] for high in highs))),
    )


def _tables(layers: Sequence[str], handles: Iterator[int]) -> Iterator[Tag]:
    for table in _TABLES:
        owner = _handle(handles)
        records = list(_records(table, layers))
        yield from [(0, "TABLE"), (2, table), (5, owner), (330, "0"), (100, "AcDbSymbolTable")]
        yield (70, len(records))
        if table == "DIMSTYLE":
            yield (100, "AcDbDimStyleTable")
        for subclass, name, rest in records:
            handle_code = 105 if table == "DIMSTYLE" else 5
            yield from [(0, table), (handle_code, _record_handle(table, name, handles)), (330, owner)]
            yield from [(100, "AcDbSymbolTableRecord"), (100, subclass), (2, name)]
            yield from rest
        yield (0, "ENDTAB")


# The handles of the two spaces are named by other records, so they are fixed above all counted ones.
_SPACES: Final = {"*Model_Space": "FF00", "*Paper_Space": "FF01"}


def _record_handle(table: str, name: str, handles: Iterator[int]) -> str:
    return _SPACES[name] if table == "BLOCK_RECORD" else _handle(handles)


def _handle(handles: Iterator[int]) -> str:
    return f"{next(handles):X}"


def _records(table: str, layers: Sequence[str]) -> Iterator[tuple[str, str, list[Tag]]]:
    """Subclass, name and further tags of each record that a table must hold."""
    match table:
        case "LTYPE":
            for name in ("ByBlock", "ByLayer", "Continuous"):
                yield "AcDbLinetypeTableRecord", name, [(70, 0), (3, ""), (72, 65), (73, 0), (40, 0.0)]
        case "LAYER":
            for name in ("0", *dict.fromkeys(layers)):
                yield "AcDbLayerTableRecord", name, [(70, 0), (62, 7), (6, "Continuous")]
        case "STYLE":
            rest: list[Tag] = [
                (70, 0),
                (40, 0.0),
                (41, 1.0),
                (50, 0.0),
                (71, 0),
                (42, 2.5),
                (3, "txt"),
                (4, ""),
            ]
            yield "AcDbTextStyleTableRecord", "Standard", rest
        case "APPID":
            yield "AcDbRegAppTableRecord", "ACAD", [(70, 0)]
        case "DIMSTYLE":
            yield "AcDbDimStyleTableRecord", "Standard", [(70, 0)]
        case "BLOCK_RECORD":
            for name in _SPACES:
                yield "AcDbBlockTableRecord", name, []
        case _:  # VPORT, VIEW and UCS may be empty
            return


def _blocks(handles: Iterator[int]) -> Iterator[Tag]:
    for name, record in _SPACES.items():
        yield from [(0, "BLOCK"), (5, _handle(handles)), (330, record), (100, "AcDbEntity"), (8, "0")]
        yield from _run((100, "AcDbBlockBegin"), (2, name), (70, 0), (10, 0.0), (20, 0.0), (30, 0.0))
        yield from [(3, name), (1, "")]
        yield from [(0, "ENDBLK"), (5, _handle(handles)), (330, record), (100, "AcDbEntity"), (8, "0")]
        yield (100, "AcDbBlockEnd")


def _entities(layers: Sequence[Layer], handles: Iterator[int]) -> Iterator[Tag]:
    for layer in layers:
        for curve in layer.curves:
            for kind, body in _shapes(curve):
                yield from [(0, kind), (5, _handle(handles)), (330, _SPACES["*Model_Space"])]
                yield from [(100, "AcDbEntity"), (8, layer.name)]
                yield from body


def _shapes(curve: Curve) -> Iterator[tuple[str, list[Tag]]]:
    found = is_circle(curve)
    if found is not None:
        (x, y), diameter = found
        yield "CIRCLE", [(100, "AcDbCircle"), (10, x), (20, y), (30, 0.0), (40, diameter / 2)]
        return
    yield from (_arc(one) if one.centre else _line(one) for one in curve.segments)


def _line(segment: Segment) -> tuple[str, list[Tag]]:
    (x, y), (to_x, to_y) = segment.start, segment.end
    return "LINE", [(100, "AcDbLine"), (10, x), (20, y), (30, 0.0), (11, to_x), (21, to_y), (31, 0.0)]


def _arc(segment: Segment) -> tuple[str, list[Tag]]:
    """An arc as the format wants it: always anticlockwise, in degrees."""
    forward = segment if segment.ccw else segment.reversed()
    assert forward.centre is not None
    x, y = forward.centre
    body: list[Tag] = [(100, "AcDbCircle"), (10, x), (20, y), (30, 0.0), (40, forward.radius)]
    body += [(100, "AcDbArc"), (50, _degrees(forward.start, x, y)), (51, _degrees(forward.end, x, y))]
    return "ARC", body


def _degrees(point: tuple[float, float], x: float, y: float) -> float:
    return math.degrees(math.atan2(point[1] - y, point[0] - x)) % 360


def _objects(handles: Iterator[int]) -> Iterator[Tag]:
    """The root dictionary that a file of this version must have, with one empty group list in it."""
    root, groups = _handle(handles), _handle(handles)
    yield from _run((0, "DICTIONARY"), (5, root), (330, "0"), (100, "AcDbDictionary"), (281, 1))
    yield from [(3, "ACAD_GROUP"), (350, groups)]
    yield from _run((0, "DICTIONARY"), (5, groups), (330, root), (100, "AcDbDictionary"), (281, 1))
