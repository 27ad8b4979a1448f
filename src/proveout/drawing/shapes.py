"""What a closed curve is: a circle, an obround, a regular hexagon, a rectangle; else its edges and radii.

Arcs of one circle and lines that run on straight are put together first, so that neither the start, nor the
direction, nor how often an edge is split makes a difference. Lengths in mm.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final, Literal, NamedTuple

import numpy as np

from proveout.curve import Curve, Point, Segment, is_circle
from proveout.quantity import show_length

Kind = Literal["circle", "obround", "hexagon", "rectangle", "rounded", "polygon", "other"]

REGULAR: Final = 0.02  # mm by which a flat, a corner or a radius may differ in a shape that has a name ...
REGULAR_SHARE: Final = 0.002  # ... or this share of its size, where that is more
# Drawings round their coordinates to 0.01 mm at worst: so far may each point of a straight edge be off.
STRAIGHT: Final = 0.008  # mm that a point between two lines may lie aside for them to be one
SAME_ARC: Final = 0.015  # mm that an arc may stray from the circle of the one before, to be one with it
TANGENT: Final = math.radians(1.0)  # a lesser turn between two edges is none
FINE: Final = 1e-3  # rad; but a curve in fine facets turns by less than TANGENT between two of them
LEFT: Final = 0.01  # mm that a cutter may leave standing in a corner that counts as cut
FACETS: Final = 16  # straight edges round a circle, from which on it is taken for one
FACET_TURN: Final = math.radians(
    30.0
)  # the most between two facets of a curve; what turns further is a sharp corner


class _Edge(NamedTuple):
    """A line, or an arc where its sweep isn't 0, with its directions at both ends, rad."""

    start: Point
    end: Point
    centre: Point
    radius: float
    sweep: float
    first: float
    last: float
    length: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Shape:
    """A closed curve's name and sizes.

    Walked anticlockwise, a curve turns left round what sticks out of its region and right round what is cut
    into it. The tightest of both are kept, for which of them is an inside corner depends on the side on which
    material stays: `inside_radius`.
    """

    kind: Kind
    centre: Point  # of its circle or its middle
    length: float  # diameter; across flats of a hexagon; along the turn of what has one, else along X
    width: float  # across that
    turn_deg: float  # of its length (0 to 180), of the corner nearest to +X of a hexagon (0 to 60); else 0
    corner_radius: float  # of all its corners alike; 0 where they are sharp or differ
    fillets: tuple[float, ...]  # radii of the arcs that run tangentially into both neighbours, half turns not
    straights: int  # edges that are lines, after putting together
    corners: int  # places where it turns at once
    tightest_left: float | None  # radius, 0 where it is sharp; None where it never turns left
    tightest_right: float | None
    facets: int = 0  # lines that a circle was drawn with; 0 of a true one

    @property
    def said(self) -> str:
        """Its name and size in mm: "circle 6.6 mm", "rectangle 40 by 20 mm, corners of 3 mm radius"."""
        size = f"{_n(self.length)} by {show_length(self.width)}"
        match self.kind:
            case "circle":
                facets = f" in {self.facets} facets" if self.facets else ""
                return f"circle {show_length(self.length)}{facets}"
            case "hexagon":
                return f"hexagon {show_length(self.length)} across flats{self._rounding}"
            case "rectangle" if self.length - self.width <= REGULAR:
                return f"square {show_length(self.length)}{self._rounding}"
            case "obround" | "rectangle":
                return f"{self.kind} {size}{self._rounding}"
            case "rounded":
                return f"rounded shape {size}"
            case "polygon":
                return f"shape of {self.straights} straight edges, {size}"
            case _:
                return f"shape {size}"

    @property
    def _rounding(self) -> str:
        return f", corners of {show_length(self.corner_radius)} radius" if self.corner_radius else ""

    def inside_radius(self, *, hole: bool) -> float | None:
        """The tightest inside corner that a cutter meets, 0 where it is sharp; None where there is none.

        The material that stays lies inside an outline, and the cutter goes round outside: its inside corners
        are where the curve, walked anticlockwise, turns right. Round a hole the material stays outside and
        the cutter is within: there they are where the curve turns left, so a rectangular hole has four.
        """
        return self.tightest_left if hole else self.tightest_right


def _n(value: float) -> str:
    return show_length(value).removesuffix(" mm")


def shape_of(curve: Curve) -> Shape:
    """Name, sizes and radii of a closed curve, which may run either way round."""
    whole = is_circle(curve)
    if whole is not None and len(curve.segments) == 2:  # by far the most of a drawing's loops
        return _circle(whole[0], whole[1] / 2)
    edges = _merged([_edge(one) for one in curve.segments if one.start != one.end])
    if _turned(edges) < 0:
        edges = [_back(one) for one in edges[::-1]]
    if len(edges) == 1:
        return _circle(edges[0].centre, edges[0].radius)
    return _faceted(edges) or _obround(edges) or _cornered(edges) or _unnamed(edges)


# --- edges


def _edge(one: Segment) -> _Edge:
    (x, y), (to_x, to_y) = one.start, one.end
    if one.centre is None:
        along = math.atan2(to_y - y, to_x - x)
        return _Edge(one.start, one.end, one.start, 0.0, 0.0, along, along, math.hypot(to_x - x, to_y - y))
    return _arc(one.start, one.end, one.centre, one.sweep)


def _arc(start: Point, end: Point, centre: Point, sweep: float) -> _Edge:
    quarter = math.copysign(math.pi / 2, sweep)
    first = math.atan2(start[1] - centre[1], start[0] - centre[0]) + quarter
    radius = math.dist(start, centre)
    return _Edge(start, end, centre, radius, sweep, first, first + sweep, abs(sweep) * radius)


def _back(one: _Edge) -> _Edge:
    return one._replace(
        start=one.end, end=one.start, sweep=-one.sweep, first=one.last + math.pi, last=one.first + math.pi
    )


def _turn(one: _Edge, following: _Edge) -> float:
    """How far the way turns from one edge to the next, rad, left positive, -pi to pi."""
    return math.remainder(following.first - one.last, math.tau)


def _turns(edges: Sequence[_Edge]) -> list[float]:
    """The turn after each edge."""
    return [_turn(one, edges[(i + 1) % len(edges)]) for i, one in enumerate(edges)]


def _turned(edges: Sequence[_Edge]) -> float:
    """How far the way turns once round: a full turn, left or right."""
    if len(edges) == 1:
        return edges[0].sweep
    return sum(_turns(edges)) + sum(one.sweep for one in edges)


def _merged(edges: list[_Edge]) -> list[_Edge]:
    """Edges with those put together that are one, past the start too."""
    runs = _put_together(edges)
    if len(runs) > 1:  # the ring's start may lie within an edge
        runs = _put_together([runs[-1], *runs[:-1]])
    return runs


def _put_together(edges: list[_Edge]) -> list[_Edge]:
    runs = [edges[0]]
    cone = _cone(edges[0])
    for one in edges[1:]:
        last = runs[-1]
        both = _one_line(last, one, cone) if not last.sweep and not one.sweep else _one_arc(last, one)
        if both is None:
            runs.append(one)
            cone = _cone(one)
        else:
            runs[-1] = both
            cone = _within(cone, both)
    return runs


_Cone = tuple[float, float]


def _cone(one: _Edge) -> _Cone:
    """The directions, rad from the edge's own start, in which a line passes its end by STRAIGHT at most."""
    half = math.asin(min(STRAIGHT / max(one.length, STRAIGHT), 1.0))
    return one.first - half, one.first + half


def _within(cone: _Cone, one: _Edge) -> _Cone:
    """What two cones from one start share, so that no point of a long run strays."""
    low, high = _cone(one)
    off = math.tau * round((one.first - (cone[0] + cone[1]) / 2) / math.tau)
    return max(cone[0], low - off), min(cone[1], high - off)


def _one_line(one: _Edge, other: _Edge, cone: _Cone) -> _Edge | None:
    if abs(_turn(one, other)) > math.pi / 4:
        return None
    both = _edge(Segment(one.start, other.end))
    middle = (cone[0] + cone[1]) / 2
    half = (cone[1] - cone[0]) / 2
    return both if abs(math.remainder(both.first - middle, math.tau)) <= half else None


def _one_arc(one: _Edge, other: _Edge) -> _Edge | None:
    """Two arcs as one where the second keeps to the circle of the longer of them, and turns the same way."""
    if one.sweep * other.sweep <= 0 or abs(_turn(one, other)) > TANGENT:
        return None
    if abs(one.radius - other.radius) > max(SAME_ARC, 0.01 * max(one.radius, other.radius)):
        return None
    long, short = (one, other) if one.length >= other.length else (other, one)
    far = short.end if short is other else short.start
    half = short.first - math.copysign(math.pi / 2, short.sweep) + short.sweep / 2
    middle = (
        short.centre[0] + short.radius * math.cos(half),
        short.centre[1] + short.radius * math.sin(half),
    )
    if any(abs(math.dist(point, long.centre) - long.radius) > SAME_ARC for point in (far, middle)):
        return None
    sweep = one.sweep + other.sweep
    if abs(sweep) >= math.tau - 1e-6:
        return long._replace(sweep=math.copysign(math.tau, sweep), length=math.tau * long.radius)
    return _arc(one.start, other.end, long.centre, sweep)


# --- shapes that have a name


def _room(size: float) -> float:
    return max(REGULAR, REGULAR_SHARE * size)


def _circle(centre: Point, radius: float, facets: int = 0) -> Shape:
    return Shape(
        kind="circle",
        centre=centre,
        length=2 * radius,
        width=2 * radius,
        turn_deg=0.0,
        corner_radius=0.0,
        fillets=(),
        straights=facets,
        corners=0,
        tightest_left=radius,
        tightest_right=None,
        facets=facets,
    )


def _faceted(edges: Sequence[_Edge]) -> Shape | None:
    """A circle that was drawn as many short lines; its diameter is that of the points on it."""
    if len(edges) < FACETS or any(one.sweep for one in edges):
        return None
    points = np.array([one.start for one in edges])
    middle = points.mean(axis=0)
    shifted = points - middle
    # The circle of least squares: x2 + y2 = 2 a x + 2 b y + c.
    known = np.column_stack((2 * shifted, np.ones(len(points))))
    a, b, c = np.linalg.lstsq(known, (shifted**2).sum(axis=1), rcond=None)[0].tolist()
    radius = math.sqrt(max(c + a * a + b * b, 0.0))
    off = np.abs(np.hypot(shifted[:, 0] - a, shifted[:, 1] - b) - radius).max()
    sides = max(one.length for one in edges)
    if off > _room(2 * radius) / 2 or sides > 2 * radius * math.sin(math.pi / (FACETS * 0.6)):
        return None
    return _circle((float(middle[0] + a), float(middle[1] + b)), radius, len(edges))


def _obround(edges: Sequence[_Edge]) -> Shape | None:
    """Two half circles with two straight sides."""
    if len(edges) != 4:
        return None
    one, side, other, back = edges if edges[0].sweep else (*edges[1:], edges[0])
    if side.sweep or back.sweep or one.sweep <= 0 or other.sweep <= 0:
        return None
    radius = (one.radius + other.radius) / 2
    room = _room(2 * radius) / 2
    if abs(one.radius - other.radius) > room or any(abs(turn) > TANGENT for turn in _turns(edges)):
        return None
    if any(abs(arc.sweep - math.pi) > max(TANGENT, room / radius) for arc in (one, other)):
        return None
    if abs(side.length - back.length) > 2 * room:
        return None
    (x, y), (to_x, to_y) = one.centre, other.centre
    return _shape(
        edges,
        "obround",
        centre=((x + to_x) / 2, (y + to_y) / 2),
        size=(math.dist(one.centre, other.centre) + 2 * radius, 2 * radius),
        turn=math.degrees(math.atan2(to_y - y, to_x - x)) % 180,
    )


def _cornered(edges: Sequence[_Edge]) -> Shape | None:
    """A rectangle or a regular hexagon, its corners sharp or rounded."""
    lines = [one for one in edges if not one.sweep]
    if len(lines) not in (4, 6) or len(edges) > 2 * len(lines):
        return None
    radii = _corner_radii(edges)
    points = _sharpened(edges) if radii is not None else None
    if radii is None or points is None:
        return None
    alike = max(radii) - min(radii) <= REGULAR
    radius = sum(radii) / len(radii) if alike else 0.0
    return (_rectangle if len(lines) == 4 else _hexagon)(edges, points, radius)


def _corner_radii(edges: Sequence[_Edge]) -> list[float] | None:
    """The radius between each line and the next; None where one isn't a corner or a rounded one."""
    radii: list[float] = []
    turns = _turns(edges)
    for i, one in enumerate(edges):
        following = edges[(i + 1) % len(edges)]
        if one.sweep:
            blends = abs(turns[i - 1]) <= TANGENT and abs(turns[i]) <= TANGENT
            if one.sweep < 0 or not blends or following.sweep or edges[i - 1].sweep:
                return None
            radii.append(one.radius)
        elif not following.sweep:
            radii.append(0.0)
    return radii


def _sharpened(edges: Sequence[_Edge]) -> list[Point] | None:
    """Where each line, drawn on, meets the next: the corners, the first that before the first line."""
    lines = [one for one in edges if not one.sweep]
    points: list[Point] = []
    for i, other in enumerate(lines):
        one = lines[i - 1]
        ux, uy = math.cos(one.first), math.sin(one.first)
        vx, vy = math.cos(other.first), math.sin(other.first)
        across = ux * vy - uy * vx
        if abs(across) < 0.2:
            return None
        dx, dy = other.start[0] - one.start[0], other.start[1] - one.start[1]
        share = (dx * vy - dy * vx) / across
        points.append((one.start[0] + share * ux, one.start[1] + share * uy))
    return points


def _middle(points: Sequence[Point]) -> Point:
    return sum(x for x, _ in points) / len(points), sum(y for _, y in points) / len(points)


def _rectangle(edges: Sequence[_Edge], points: Sequence[Point], radius: float) -> Shape | None:
    sides = [math.dist(points[i], points[i - 3]) for i in range(4)]
    diagonals = math.dist(points[0], points[2]), math.dist(points[1], points[3])
    room = _room(min(sides))
    opposite = (sides[0] - sides[2], sides[1] - sides[3], diagonals[0] - diagonals[1])
    if max(abs(one) for one in opposite) > room:
        return None
    first, second = (sides[0] + sides[2]) / 2, (sides[1] + sides[3]) / 2
    a, b = (points[0], points[1]) if first >= second else (points[1], points[2])
    return _shape(
        edges,
        "rectangle",
        centre=_middle(points),
        size=(max(first, second), min(first, second)),
        turn=_settled(math.degrees(math.atan2(b[1] - a[1], b[0] - a[0])), 180),
        radius=radius,
    )


def _hexagon(edges: Sequence[_Edge], points: Sequence[Point], radius: float) -> Shape | None:
    x, y = middle = _middle(points)
    halves = []
    for i, (px, py) in enumerate(points):
        qx, qy = points[i - 5]
        halves.append(((px - x) * (qy - y) - (qx - x) * (py - y)) / math.dist((px, py), (qx, qy)))
    flats = sum(halves) / 3
    room = _room(flats) / 2
    reach = flats / math.sqrt(3)
    pairs = [halves[i] + halves[i + 3] for i in range(3)]
    if max(pairs) - min(pairs) > 2 * room or any(abs(half - flats / 2) > room for half in halves):
        return None
    if any(abs(math.dist(point, middle) - reach) > room for point in points):
        return None
    # The six corners tell the turn six times: the mean of the sixfold angle.
    angles = [6 * math.atan2(py - y, px - x) for px, py in points]
    turn = math.atan2(sum(map(math.sin, angles)), sum(map(math.cos, angles))) / 6
    return _shape(
        edges,
        "hexagon",
        centre=middle,
        size=(flats, flats),
        turn=_settled(math.degrees(turn), 60),
        radius=radius,
    )


def _settled(degrees: float, period: float) -> float:
    """An angle from 0 up to the period, without the noise that makes 0 a period."""
    turn = degrees % period
    return 0.0 if min(turn, period - turn) < 1e-9 else turn


def _unnamed(edges: Sequence[_Edge]) -> Shape:
    turns = _turns(edges)
    if not any(one.sweep for one in edges):
        kind: Kind = "polygon"
    else:
        kind = "other" if any(abs(turn) > TANGENT for turn in turns) else "rounded"
    low_x, low_y, high_x, high_y = _bounds(edges)
    return _shape(
        edges,
        kind,
        centre=((low_x + high_x) / 2, (low_y + high_y) / 2),
        size=(high_x - low_x, high_y - low_y),
        turn=0.0,
    )


def _bounds(edges: Sequence[_Edge]) -> tuple[float, float, float, float]:
    points = [one.start for one in edges]
    for one in edges:
        if one.sweep:
            points.extend(_furthest(one))
    xs, ys = [x for x, _ in points], [y for _, y in points]
    return min(xs), min(ys), max(xs), max(ys)


def _furthest(arc: _Edge) -> Iterator[Point]:
    """The points of an arc that lie straight right, above, left or below of its centre."""
    begin = arc.first - math.copysign(math.pi / 2, arc.sweep)
    low, high = sorted((begin, begin + arc.sweep))
    for quarter in range(math.ceil(low / (math.pi / 2)), math.floor(high / (math.pi / 2)) + 1):
        angle = quarter * math.pi / 2
        yield arc.centre[0] + arc.radius * math.cos(angle), arc.centre[1] + arc.radius * math.sin(angle)


def _shape(
    edges: Sequence[_Edge],
    kind: Kind,
    *,
    centre: Point,
    size: tuple[float, float],
    turn: float,
    radius: float = 0.0,
) -> Shape:
    turns = _turns(edges)
    blended = sorted(
        one.radius
        for i, one in enumerate(edges)
        if one.sweep
        and abs(turns[i - 1]) <= TANGENT
        and abs(turns[i]) <= TANGENT
        and abs(one.sweep) < math.pi - 5 * TANGENT
    )
    bends = list(_bends(edges, turns))
    return Shape(
        kind=kind,
        centre=centre,
        length=size[0],
        width=size[1],
        turn_deg=turn,
        corner_radius=radius,
        fillets=tuple(blended),
        straights=sum(not one.sweep for one in edges),
        corners=sum(abs(turn) > TANGENT for turn in turns),
        tightest_left=min((radius for radius, left in bends if left), default=None),
        tightest_right=min((radius for radius, left in bends if not left), default=None),
    )


def _bends(edges: Sequence[_Edge], turns: Sequence[float]) -> Iterator[tuple[float, bool]]:
    """Each bend's radius, 0 where it is sharp, and whether it is to the left.

    A slight corner counts with the radius of the cutter that leaves LEFT in it: r (1/cos(turn/2) - 1); where
    its sides are facets of a tighter curve, with that of the circle within them.
    """
    for i, one in enumerate(edges):
        if one.sweep:
            yield one.radius, one.sweep > 0
        following = edges[(i + 1) % len(edges)]
        turn = abs(turns[i])
        if turn > FACET_TURN:
            yield 0.0, turns[i] > 0
        elif turn > (TANGENT if one.sweep or following.sweep else FINE):
            sides = one.length + following.length
            yield min(LEFT / (1 / math.cos(turn / 2) - 1), sides / 4 / math.tan(turn / 2)), turns[i] > 0
