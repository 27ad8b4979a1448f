"""DXF in, strictly: lines, arcs, circles and polylines with bulges, each exactly as its entity states it.

An entity is taken from its own numbers, never from a curve that a library makes of it. Whatever else the
drawing holds is kept as a stray, for the one who uses its layer to refuse.
"""

import math
import re
import stat
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from proveout.curve import Point, Segment, circle
from proveout.drawing.piece import Drawing, Piece, Stray
from proveout.filekind import DRAWING, file_kind
from proveout.finding import InputError
from proveout.quantity import System, printable

if TYPE_CHECKING:
    from ezdxf.document import Drawing as Document

BIGGEST: Final = 20_000_000  # bytes
MOST_SEGMENTS: Final = 200_000
FURTHEST: Final = 100_000.0  # mm from the drawing's zero, ten times the longest bench
SMALLEST: Final = 1e-9  # mm; a segment no longer than this is no segment
LEVEL: Final = 0.001  # mm by which a line's ends may differ in height
FULL_TURN: Final = 1e-9  # degrees short of a full turn

# $INSUNITS, a DXF header's statement of its unit: name and mm.
UNITS: Final[dict[int, tuple[str, float]]] = {
    1: ("inches", 25.4),
    2: ("feet", 304.8),
    4: ("millimetres", 1.0),
    5: ("centimetres", 10.0),
    6: ("metres", 1000.0),
    9: ("thousandths of an inch", 0.0254),
    14: ("decimetres", 100.0),
}
STATED: Final[dict[System, int]] = {"in": 1, "mm": 4}

_STATED_UNIT: Final = re.compile(rb"\$INSUNITS\s+70\s+(\d{1,3})\s")

READABLE: Final = "lines, arcs, circles and polylines are read"


class _Unlike(Exception):
    """An entity that can't be taken for lines and arcs, and why."""


def stated_unit(file: Path) -> tuple[str, float] | None:
    """The unit that a drawing's header states, its name and mm; None where it states none that is known.

    Raises:
        InputError: without a place: no such file, or no DXF
    """
    return UNITS.get(_header_unit(_content(file)))


def read_dxf(file: Path, units: System | None = None, *, scale: float | None = None) -> Drawing:
    """A drawing's lines and arcs, in mm.

    Args:
        units: what the person says a drawing's unit is; None takes the one that its header states
        scale: mm to one unit of the drawing, where that has been settled otherwise

    Raises:
        InputError: without a place: no such file, no DXF, too much of it, or nobody states its unit
    """
    content = _content(file)
    notes: tuple[str, ...] = ()
    if scale is None:
        scale, notes = _scale(_header_unit(content), units)
    document = _document(file)
    pieces: list[Piece] = []
    strays: list[Stray] = []
    count = 0
    for entity in document.modelspace():
        layer, name = _said(entity.dxf.get("layer", "0")), f"{entity.dxftype()} {entity.dxf.handle}"
        try:
            segments, closed = _segments(entity, scale)
        except _Unlike as unlike:
            strays.append(Stray(layer=layer, entity=name, why=str(unlike)))
            continue
        count += len(segments)
        if count > MOST_SEGMENTS:
            raise InputError(f"it holds more than {MOST_SEGMENTS} lines and arcs, the most that is read.")
        if segments:
            pieces.append(Piece(layer=layer, entity=name, segments=segments, closed=closed))
    return Drawing(file=file, pieces=tuple(pieces), strays=tuple(strays), notes=notes)


def _said(layer: object) -> str:
    return printable(str(layer))


def _content(file: Path) -> bytes:
    try:
        if not stat.S_ISREG(file.stat().st_mode):
            raise InputError("it is not a plain file. Name a DXF drawing.")
        with file.open("rb") as opened:
            content = opened.read(BIGGEST + 1)
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or str(error)
        raise InputError(
            f"it can't be read: {why}. Name a DXF drawing, counted from the setup file's folder."
        ) from None
    if len(content) > BIGGEST:
        raise InputError(f"it is over {BIGGEST // 1_000_000} MB, the most that is read of a drawing.")
    kind = file_kind(content)
    if kind != DRAWING:
        said = f"it is {kind}" if kind else "it is no DXF text"
        raise InputError(f"{said}, where a DXF drawing is wanted. Save the drawing as DXF, as text.")
    return content


def _document(file: Path) -> "Document":
    from ezdxf.filemanagement import readfile

    try:
        return readfile(file)
    except Exception as error:  # the library lets whatever a broken file provokes through, of any type
        said = printable(str(error)).rstrip(".") or type(error).__name__
        raise InputError(f"it is a broken DXF drawing: {said}. Save it as DXF again, as text.") from None


def _scale(code: int, units: System | None) -> tuple[float, tuple[str, ...]]:
    """How many mm the drawing's unit is, and what there is to say of it."""
    if units is not None:
        name, scale = UNITS[STATED[units]]
        if code in UNITS and UNITS[code][1] != scale:
            return scale, (f"its header says {UNITS[code][0]}; it was read in {name}, as the setup says.",)
        return scale, ()
    if code in UNITS:
        return UNITS[code][1], ()
    said = "its header states no unit" if code == 0 else f"its header's unit (code {code}) is not read"
    raise InputError(f'{said}. Write units = "mm" or units = "in" here, after checking one known size.')


def _header_unit(content: bytes) -> int:
    """$INSUNITS as the file itself states it, else 0.

    Not the library's: where a file has no header, that makes one up which says metres.
    """
    header = content.partition(b"ENTITIES")[0]
    found = _STATED_UNIT.search(header)
    return int(found[1]) if found else 0


def _segments(entity: Any, scale: float) -> tuple[tuple[Segment, ...], bool]:
    """What an entity draws, and whether it closes itself.

    Raises:
        _Unlike: it is no level line, arc, circle or plain polyline
    """
    match entity.dxftype():
        case "LINE":
            segments, closed = [_line(entity)], False
        case "CIRCLE":
            segments, closed = _circle(entity), True
        case "ARC":
            segments, closed = _arc(entity)
        case "LWPOLYLINE":
            segments, closed = _light_polyline(entity)
        case "POLYLINE":
            segments, closed = _polyline(entity)
        case _:
            raise _Unlike(f"is not read: {READABLE}")
    if entity.dxftype() != "LINE":  # whose ends are in the drawing's own frame already
        segments = _upright(entity, segments)
    scaled = [_scaled(one, scale) for one in segments]
    for one in scaled:
        _check(one)
    return tuple(one for one in scaled if math.dist(one.start, one.end) > SMALLEST), closed


def _scaled(segment: Segment, scale: float) -> Segment:
    def place(point: Point) -> Point:
        return point[0] * scale, point[1] * scale

    centre = place(segment.centre) if segment.centre else None
    return Segment(place(segment.start), place(segment.end), centre, segment.ccw)


def _check(segment: Segment) -> None:
    points = (segment.start, segment.end, segment.centre or segment.start)
    if not all(abs(value) <= FURTHEST for point in points for value in point):  # NaN is not either
        raise _Unlike(f"reaches further than {FURTHEST / 1000:.0f} m from the drawing's zero")


def _upright(entity: Any, segments: list[Segment]) -> list[Segment]:
    """Segments of an entity whose plane is seen from above, or from below, which mirrors it left to right."""
    x, y, z = entity.dxf.get("extrusion", (0.0, 0.0, 1.0))
    if abs(x) > SMALLEST or abs(y) > SMALLEST or z == 0:
        raise _Unlike("doesn't lie flat: draw it in the plane seen from above")
    if z > 0:
        return segments

    def mirrored(point: Point) -> Point:
        return -point[0], point[1]

    return [
        Segment(
            mirrored(one.start), mirrored(one.end), mirrored(one.centre) if one.centre else None, not one.ccw
        )
        for one in segments
    ]


def _line(entity: Any) -> Segment:
    start, end = entity.dxf.start, entity.dxf.end
    if abs(start.z - end.z) > LEVEL:
        raise _Unlike("doesn't lie flat: its ends differ in height")
    return Segment((start.x, start.y), (end.x, end.y))


def _circle(entity: Any) -> list[Segment]:
    centre, radius = entity.dxf.center, entity.dxf.radius
    if not radius > 0:
        raise _Unlike("has no radius")
    return list(circle((centre.x, centre.y), 2 * radius).segments)


def _arc(entity: Any) -> tuple[list[Segment], bool]:
    """An arc runs anticlockwise from its first angle to its last; a full turn is a circle."""
    first, last = entity.dxf.start_angle, entity.dxf.end_angle
    sweep = (last - first) % 360
    if first != last and min(sweep, 360 - sweep) <= FULL_TURN:
        return _circle(entity), True
    centre, radius = entity.dxf.center, entity.dxf.radius
    if not radius > 0 or first == last:
        raise _Unlike("has no radius" if first != last else "has no length: its two angles are the same")

    def at(degrees: float) -> Point:
        angle = math.radians(degrees)
        return centre.x + radius * math.cos(angle), centre.y + radius * math.sin(angle)

    return [Segment(at(first), at(last), (centre.x, centre.y))], False


def _light_polyline(entity: Any) -> tuple[list[Segment], bool]:
    points = [tuple(map(float, point)) for point in entity.get_points("xyseb")]
    widths = [entity.dxf.get("const_width", 0.0), *(width for point in points for width in point[2:4])]
    return _vertices([(x, y, bulge) for x, y, _, _, bulge in points], widths, closed=bool(entity.closed))


def _polyline(entity: Any) -> tuple[list[Segment], bool]:
    if not entity.is_2d_polyline:
        raise _Unlike("is a polyline in space or a mesh: draw it flat")
    if entity.dxf.flags & 6:
        raise _Unlike("is a polyline smoothed to a curve: explode it to lines and arcs")
    vertices = [one.dxf for one in entity.vertices]
    widths = [one.get(name, 0.0) for one in vertices for name in ("start_width", "end_width")]
    widths += [entity.dxf.get(name, 0.0) for name in ("default_start_width", "default_end_width")]
    points = [(one.location.x, one.location.y, one.get("bulge", 0.0)) for one in vertices]
    return _vertices(points, widths, closed=bool(entity.is_closed))


def _vertices(
    points: list[tuple[float, float, float]], widths: Iterable[float], *, closed: bool
) -> tuple[list[Segment], bool]:
    if any(widths):
        raise _Unlike("is a polyline with a width: set it to 0, so that it is clear which edge is meant")
    if len(points) < 2:
        raise _Unlike("has fewer than two points")
    return list(_between(points, closed=closed)), closed


def _between(points: list[tuple[float, float, float]], *, closed: bool) -> Iterator[Segment]:
    ends = points[1:] + points[:1] if closed else points[1:]
    for (x, y, bulge), (end_x, end_y, _) in zip(points, ends, strict=False):
        yield bulged((x, y), (end_x, end_y), bulge)


def bulged(start: Point, end: Point, bulge: float) -> Segment:
    """The arc between two points whose bulge is the tangent of a quarter of its turn, positive anticlockwise.

    Its centre lies (1 - b2) / 4b of the chord off the chord's middle, to the left where b is positive and
    less than 1. A bulge of 0 is a line.

    Source: the published DXF reference, group code 42; the centre from tan(2a) = 2 tan(a) / (1 - tan2(a))
    """
    if not bulge:
        return Segment(start, end)
    off = (1 - bulge * bulge) / (4 * bulge)
    along = (end[0] - start[0], end[1] - start[1])
    middle = ((start[0] + end[0]) / 2, (start[1] + end[1]) / 2)
    return Segment(start, end, (middle[0] - off * along[1], middle[1] + off * along[0]), bulge > 0)
