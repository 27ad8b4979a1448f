"""What each DXF entity draws, by its own numbers alone and never by a library's curve of it, as ink."""

import math
from collections.abc import Callable, Sequence
from itertools import pairwise
from typing import Any, Final

from proveout.drawing.nurbs import NoSpline, check, chords, cubic, spans
from proveout.drawing.svg_curves import Ink

LEVEL: Final = 0.001  # drawing units by which a line's ends may differ in height
FULL_TURN: Final = 1e-9  # degrees short of a full turn
FLATTEST: Final = 1e-12  # a bulge that is less is a line's
STEEPEST: Final = 1e6  # a bulge that is more is none
SAME: Final = 1e-9  # share of a spline's size by which its ends may be apart where it closes itself

Drawer = Callable[[Any, Ink, float], None]


class Unlike(Exception):
    """An entity that can't be taken for flat curves, and why."""


class Nothing(Exception):
    """An entity that draws nothing, and why: it can be left out."""


def _line(entity: Any, ink: Ink, tolerance: float) -> None:
    start, end = entity.dxf.start, entity.dxf.end
    if abs(start.z - end.z) > LEVEL:
        raise Unlike("doesn't lie flat: its ends differ in height")
    ink.line(start.x, start.y, end.x, end.y)
    ink.end(closed=False)


def _circle(entity: Any, ink: Ink, tolerance: float) -> None:
    centre = entity.dxf.center
    _turn(ink, centre.x, centre.y, _radius(entity), 0.0, 2 * math.pi)
    ink.end(closed=True)


def _arc(entity: Any, ink: Ink, tolerance: float) -> None:
    """An arc runs anticlockwise from its first angle to its last; a full turn is a circle."""
    first, last = entity.dxf.start_angle, entity.dxf.end_angle
    if first == last:
        raise Nothing("has no length: its two angles are the same")
    sweep = (last - first) % 360
    if min(sweep, 360 - sweep) <= FULL_TURN:
        return _circle(entity, ink, tolerance)
    centre = entity.dxf.center
    _turn(ink, centre.x, centre.y, _radius(entity), math.radians(first), math.radians(sweep))
    ink.end(closed=False)
    return None


def _radius(entity: Any) -> float:
    radius = float(entity.dxf.radius)
    if not radius > 0:
        raise Nothing("has no radius")
    return radius


def _turn(ink: Ink, x: float, y: float, radius: float, first: float, sweep: float) -> None:
    """An arc in pieces of no more than half a turn."""
    _ellipse_turn(ink, (x, y), (radius, 0.0), (0.0, radius), first, sweep)


def _ellipse_turn(
    ink: Ink,
    centre: tuple[float, float],
    major: tuple[float, float],
    minor: tuple[float, float],
    first: float,
    sweep: float,
) -> None:
    """Part of an ellipse from one parameter on, in pieces of no more than half a turn."""
    if not all(map(math.isfinite, (*centre, *major, *minor, first, sweep))):
        raise Unlike("has a number that is none")
    pieces = max(1, math.ceil(abs(sweep) / math.pi - 1e-9))
    rx, ry = math.hypot(*major), math.hypot(*minor)
    turn_deg = math.degrees(math.atan2(major[1], major[0]))
    ccw = (major[0] * minor[1] - major[1] * minor[0] > 0) == (sweep > 0)

    def at(number: int) -> tuple[float, float]:
        angle = first + sweep * number / pieces
        cos, sin = math.cos(angle), math.sin(angle)
        return centre[0] + cos * major[0] + sin * minor[0], centre[1] + cos * major[1] + sin * minor[1]

    points = [at(number) for number in range(pieces + 1)]
    if abs(abs(sweep) - 2 * math.pi) < 1e-9:
        points[-1] = points[0]
    for (x, y), (to_x, to_y) in pairwise(points):
        if rx == ry and ccw and not turn_deg:
            ink.round(x, y, to_x, to_y, centre[0], centre[1], rx, rx)
        else:
            ink.arc(x, y, to_x, to_y, rx, ry, turn_deg, large=False, sweep=ccw)


def _ellipse(entity: Any, ink: Ink, tolerance: float) -> None:
    dxf = entity.dxf
    centre, axis, extrusion = dxf.center, dxf.major_axis, dxf.get("extrusion", (0, 0, 1))
    up = 1.0 if extrusion[2] > 0 else -1.0
    if abs(axis.z) > LEVEL or abs(extrusion[0]) > 1e-6 or abs(extrusion[1]) > 1e-6:
        raise Unlike("doesn't lie flat: draw it in the plane seen from above")
    ratio = dxf.ratio
    if not ratio or not math.hypot(axis.x, axis.y):
        raise Nothing("has no width")
    first, last = dxf.start_param, dxf.end_param
    if not math.isfinite(first) or not math.isfinite(last):
        raise Unlike("has a number that is none")
    sweep = (last - first) % (2 * math.pi)
    whole = sweep < 1e-9 or 2 * math.pi - sweep < 1e-9
    minor = (-axis.y * ratio * up, axis.x * ratio * up)
    _ellipse_turn(ink, (centre.x, centre.y), (axis.x, axis.y), minor, first, 2 * math.pi if whole else sweep)
    ink.end(closed=whole)


# --- polylines


def _light_polyline(entity: Any, ink: Ink, tolerance: float) -> None:
    points = [(float(x), float(y), float(bulge)) for x, y, _, _, bulge in entity.lwpoints]
    vertices(ink, points, closed=bool(entity.closed))


def _polyline(entity: Any, ink: Ink, tolerance: float) -> None:
    """A polyline of vertices; of one that was smoothed, the points that were put in, not its frame."""
    if entity.is_poly_face_mesh or entity.is_polygon_mesh:
        raise Unlike("is a mesh: draw it flat")
    inside = [one.dxf for one in entity.vertices if not one.dxf.get("flags", 0) & 16]
    heights = [one.location.z for one in inside]
    if entity.is_3d_polyline and heights and max(heights) - min(heights) > LEVEL:
        raise Unlike("is a polyline in space: draw it flat")
    points = [(one.location.x, one.location.y, one.get("bulge", 0.0)) for one in inside]
    vertices(ink, points, closed=bool(entity.is_closed))


def vertices(ink: Ink, points: Sequence[tuple[float, float, float]], *, closed: bool) -> None:
    """Lines and arcs between points, each with the bulge of what follows it.

    A bulge is the tangent of a quarter of the arc's turn, positive anticlockwise.

    Source: the published DXF reference, group code 42
    """
    if len(points) < 2:
        raise Nothing("has fewer than two points")
    ends = [*points[1:], points[0]] if closed else points[1:]
    for (x, y, bulge), (to_x, to_y, _) in zip(points, ends, strict=False):
        if abs(bulge) > STEEPEST or bulge != bulge:
            raise Unlike("has an arc that no two points have")
        if abs(bulge) < FLATTEST:
            ink.line(x, y, to_x, to_y)
            continue
        chord = math.hypot(to_x - x, to_y - y)
        radius = chord * (1 + bulge * bulge) / (4 * abs(bulge))
        ink.arc(x, y, to_x, to_y, radius, radius, 0.0, large=abs(bulge) > 1, sweep=bulge > 0)
    ink.end(closed=closed)


def width(entity: Any) -> float:
    """The widest that a polyline is drawn, 0 for a line."""
    if entity.dxftype() == "LWPOLYLINE":
        if not entity.dxf.hasattr("const_width") and not any(
            point[2] or point[3] for point in entity.lwpoints
        ):
            return 0.0
        widths = [entity.dxf.get("const_width", 0.0)]
        widths += [one for point in entity.lwpoints for one in (point[2], point[3])]
    else:
        widths = [entity.dxf.get(name, 0.0) for name in ("default_start_width", "default_end_width")]
        for vertex in entity.vertices:
            widths += [vertex.dxf.get(name, 0.0) for name in ("start_width", "end_width")]
    return float(max(map(abs, widths), default=0.0))


# --- splines


def _spline(entity: Any, ink: Ink, tolerance: float) -> None:
    if len(entity.control_points):
        points, knots, weights = entity.control_points, entity.knots, entity.weights
        degree = entity.dxf.degree
    elif len(entity.fit_points) > 1:
        tool = entity.construction_tool()
        points, knots, weights = tool.control_points, tool.knots(), tool.weights()
        degree = tool.degree
    else:
        raise Nothing("has no points")
    heights = [point[2] for point in points]
    if max(heights) - min(heights) > LEVEL:
        raise Unlike("doesn't lie flat: its points differ in height")
    spline(
        ink, int(degree), list(map(float, knots)), [(point[0], point[1]) for point in points],
        list(map(float, weights)), tolerance,
    )  # fmt: skip


def spline(
    ink: Ink,
    degree: int,
    knots: Sequence[float],
    points: Sequence[tuple[float, float]],
    weights: Sequence[float],
    tolerance: float,
) -> None:
    """A spline of its numbers: cubics where it is one of degree 3 or less, else chords."""
    try:
        check(degree, knots, len(points), weights)
    except NoSpline as error:
        raise Unlike(f"{error}: it is no spline") from None
    if not all(math.isfinite(value) for point in points for value in point):
        raise Unlike("has a number that is none")
    rational = bool(weights) and max(weights) - min(weights) > 1e-12 * max(weights)
    controls: Sequence[Sequence[float]] = points
    if rational:
        controls = [(x * w, y * w, w) for (x, y), w in zip(points, weights, strict=True)]
    ends: list[tuple[float, float]] = []
    for span in spans(degree, knots, controls):
        if rational or degree > 3:
            run = chords(span, tolerance).tolist()
            for (x, y), (to_x, to_y) in pairwise(run):
                ink.line(x, y, to_x, to_y)
            ends += [tuple(run[0]), tuple(run[-1])]
        else:
            (x, y), (ax, ay), (bx, by), (to_x, to_y) = cubic(span)
            ink.cubic(x, y, ax, ay, bx, by, to_x, to_y)
            ends += [(x, y), (to_x, to_y)]
    if not ends:
        raise Nothing("has no length")
    size = max(max(map(abs, point)) for point in points)
    ink.end(closed=math.dist(ends[0], ends[-1]) <= SAME * max(size, 1.0))


# --- hatches


def _hatch(entity: Any, ink: Ink, tolerance: float) -> None:
    """The boundaries of what is filled, each a ring."""
    drawn = False
    for path in entity.paths.paths:
        if hasattr(path, "vertices"):
            points = [(float(x), float(y), float(bulge)) for x, y, bulge in path.vertices]
            if len(points) > 1:
                vertices(ink, points, closed=True)
                drawn = True
        elif path.edges:
            for edge in path.edges:
                _edge(edge, ink, tolerance)
            ink.end(closed=False)
            drawn = True
    if not drawn:
        raise Nothing("has no boundary")


def _edge(edge: Any, ink: Ink, tolerance: float) -> None:
    match edge.EDGE_TYPE:
        case "LineEdge":
            ink.line(edge.start[0], edge.start[1], edge.end[0], edge.end[1])
        case "ArcEdge":
            first, sweep = _edge_sweep(edge.start_angle, edge.end_angle, 360.0)
            x, y = edge.center[0], edge.center[1]
            _turn(ink, x, y, float(edge.radius), math.radians(first), math.radians(sweep))
        case "EllipseEdge":
            first, sweep = _edge_sweep(edge.start_param, edge.end_param, 2 * math.pi)
            x, y = edge.major_axis[0], edge.major_axis[1]
            minor = (-y * edge.ratio, x * edge.ratio)
            _ellipse_turn(ink, (edge.center[0], edge.center[1]), (x, y), minor, first, sweep)
        case "SplineEdge":
            if not edge.control_points:
                raise Unlike("has a boundary that is a spline without control points")
            points = [(point[0], point[1]) for point in edge.control_points]
            spline(ink, int(edge.degree), list(edge.knot_values), points, list(edge.weights), tolerance)
        case other:
            raise Unlike(f"has a boundary of a kind that is not read: {other}")


def _edge_sweep(first: float, last: float, whole: float) -> tuple[float, float]:
    """The library keeps arcs of boundaries anticlockwise, whichever way they are walked."""
    sweep = (last - first) % whole
    return first, sweep if sweep > 1e-9 else whole


DRAWERS: Final[dict[str, Drawer]] = {
    "LINE": _line,
    "CIRCLE": _circle,
    "ARC": _arc,
    "ELLIPSE": _ellipse,
    "LWPOLYLINE": _light_polyline,
    "POLYLINE": _polyline,
    "SPLINE": _spline,
    "HATCH": _hatch,
    "MPOLYGON": _hatch,
}
# Their points are the drawing's own, whatever plane they were drawn in; all others are mirrored with it.
IN_WORLD: Final = frozenset({"LINE", "ELLIPSE", "SPLINE", "INSERT"})
# What stands in a drawing to be read, or to draw by, and is never cut.
WORDS: Final = frozenset(
    {"TEXT", "MTEXT", "DIMENSION", "ARC_DIMENSION", "LARGE_RADIAL_DIMENSION", "LEADER", "MULTILEADER",
     "MLEADER", "POINT", "ATTDEF", "ATTRIB", "VIEWPORT", "IMAGE", "WIPEOUT", "OLEFRAME", "OLE2FRAME",
     "TOLERANCE", "SOLID", "TRACE", "RAY", "XLINE", "LIGHT", "SHAPE"}
)  # fmt: skip


def flat_plane(entity: Any) -> bool:
    """Whether an entity's plane is seen from below, which mirrors it left to right.

    Raises:
        Unlike: it is tilted
    """
    x, y, z = entity.dxf.extrusion
    if abs(x) > 1e-6 or abs(y) > 1e-6 or not z:
        raise Unlike("doesn't lie flat: draw it in the plane seen from above")
    return bool(z < 0)
