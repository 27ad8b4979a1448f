"""Recesses and slots: cleared level by level with rings from the source, then finished along the wall."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Final

import shapely
from shapely import Point as PlanePoint
from shapely import Polygon

from proveout.curve import Curve, Point, Segment, flatten, polygon
from proveout.cutting.data import CuttingData
from proveout.job.records import Cutter
from proveout.paths.along import begun_at, direction, heading, longest_middle, nearest, place, stretch
from proveout.paths.offset import EXACT, is_anticlockwise, offset_rings, region_of, turning
from proveout.paths.paces import FINISHING
from proveout.paths.travel import TOUCH, Cut, Descent, Room, Travel, helix, helix_pitch, levels

SQUEEZE: Final = 0.005  # mm, by which a wall may be passed where the cutter is as wide as the slot
REACHED: Final = 0.005  # mm, a region that is further out of the cutter's reach than this is reported
HELIX_SHARE: Final = 0.9  # of the cutter's radius: a wider helix would leave a core standing
SMALLEST_HELIX: Final = 0.25  # of the cutter's radius: below that a ramp along the ring is kinder

SHORTEST_RAMP: Final = 0.5  # of the cutter's radius: a shorter ring is no way to ramp along


@dataclass(frozen=True, slots=True, kw_only=True)
class Node:
    """One connected piece of a clearing level, with the pieces that lie further in."""

    outer: Curve  # anticlockwise
    islands: tuple[Curve, ...]  # clockwise
    inner: tuple["Node", ...]
    entry: tuple[Point, float] | None = None  # of the innermost: where it is roomiest, and how roomy


@dataclass(frozen=True, slots=True, kw_only=True)
class Clearing:
    """The rings that clear a region and the rings that finish its walls."""

    nodes: tuple[Node, ...]  # outermost rings; empty where the cutter doesn't fit in at all
    finish: tuple[Curve, ...]  # along the walls; empty where the clearing rings are the walls' own
    unreached: tuple[tuple[Point, float], ...]  # places and areas, mm2, that the cutter can't come to
    room: Room  # in which the clearing rings lie


def clearing(curves: Sequence[Curve], cutter: Cutter, data: CuttingData) -> Clearing:
    """How a region is cleared by a cutter: rings from the wall inwards, a finishing allowance off the wall.

    No allowance is left where the roughing would not get through a neck that the finishing pass must:
    a cutter at full depth is no slotting cutter.
    """
    return _clearing(tuple(curves), cutter.radius, data.stepover, data.finish_allowance)


@lru_cache(maxsize=128)
def _clearing(curves: tuple[Curve, ...], radius: float, stepover: float, allowance: float) -> Clearing:
    """Kept, since the same rings are asked for at every depth of cut that is tried."""
    walls = wall_rings(curves, radius)
    if not walls:
        nothing = ((_inside(curves), polygon(curves).area),)
        return Clearing(nodes=(), finish=(), unreached=nothing, room=Room(curves))
    unreached = _unreached(curves, walls, radius)
    if allowance > 0:
        rough = offset_rings(curves, -radius - allowance)
        if rough and not _leaves_much(curves, rough, radius, allowance):
            return _planned(_nodes(curves, radius, stepover, rough, radius + allowance), walls, unreached)
    return _planned(_nodes(curves, radius, stepover, walls, radius), (), unreached)


def _planned(
    nodes: tuple[Node, ...], finish: tuple[Curve, ...], unreached: tuple[tuple[Point, float], ...]
) -> Clearing:
    room = Room(ring for node in nodes for ring in (node.outer, *node.islands))
    entered = tuple(_with_entries(node, room) for node in nodes)
    return Clearing(nodes=entered, finish=finish, unreached=unreached, room=room)


def _with_entries(node: Node, room: Room) -> Node:
    """The node, its innermost pieces with the place at which they are entered."""
    if node.inner:
        return replace(node, inner=tuple(_with_entries(one, room) for one in node.inner))
    return replace(node, entry=_roomiest(node, room))


def wall_rings(curves: Sequence[Curve], radius: float) -> tuple[Curve, ...]:
    """Rings on which a cutter touches the walls, corner reliefs included."""
    rings = offset_rings(curves, -radius) or offset_rings(curves, SQUEEZE - radius)
    for centre in _relief_centres(curves, radius):
        rings = _with_relief(rings, centre, polygon(curves), radius)
    return rings


def _relief_centres(curves: Sequence[Curve], radius: float) -> Iterator[Point]:
    """Centres of the wall's arcs that are exactly the cutter's circle."""
    for number, curve in enumerate(curves):
        for one in turning(curve, ccw=number == 0).segments:
            if one.centre is not None and one.ccw and abs(one.radius - radius) < 100 * EXACT:
                yield one.centre


def _with_relief(
    rings: tuple[Curve, ...], centre: Point, region: Polygon, radius: float
) -> tuple[Curve, ...]:
    """The rings, one of them with a way out to a relief's centre and back where none passes through it.

    A relief no wider than the cutter shrinks to a point that an offset may lose.
    """
    found = [(*nearest(ring, centre)[::-1], index) for index, ring in enumerate(rings)]
    gap, at, index = min(found)
    if gap < 10 * EXACT:
        return rings
    start = place(rings[index], at)
    swept = shapely.LineString([start, centre]).buffer(radius - REACHED, quad_segs=64)
    if not region.covers(swept):
        return rings
    ring = rings[index]
    out = (Segment(start, centre), Segment(centre, start))
    spurred = Curve((*stretch(ring, 0.0, at), *out, *stretch(ring, at, ring.length)))
    return (*rings[:index], spurred, *rings[index + 1 :])


def _leaves_much(curves: Sequence[Curve], rough: Sequence[Curve], radius: float, allowance: float) -> bool:
    taken = region_of(rough).buffer(radius, quad_segs=32)
    left = polygon(curves, 0.01).difference(taken)
    return not left.buffer(-max(allowance, radius / 4)).is_empty


@lru_cache(maxsize=128)
def _unreached(
    curves: tuple[Curve, ...], walls: tuple[Curve, ...], radius: float
) -> tuple[tuple[Point, float], ...]:
    region = polygon(curves)
    left = _left(region, region_of(walls, 0.001), radius)
    if left.is_empty:
        return ()
    ways = shapely.MultiLineString(
        [[p.start, p.end] for ring in walls for p in ring.segments if not p.centre]
    )
    left = _left(left, ways, radius)  # ways into reliefs enclose nothing
    return tuple(_spot(one) for one in shapely.get_parts(left) if not one.is_empty)


def _left(region: shapely.Geometry, way: shapely.Geometry, radius: float) -> shapely.Geometry:
    return region.difference(way.buffer(radius, quad_segs=64)).buffer(-REACHED / 2)


def _spot(shape: Polygon) -> tuple[Point, float]:
    inside = shape.representative_point()
    return (inside.x, inside.y), float(shape.area)


def _inside(curves: Sequence[Curve]) -> Point:
    return _spot(polygon(curves))[0]


# Rings from the wall inwards


def _nodes(
    curves: Sequence[Curve], radius: float, stepover: float, first: tuple[Curve, ...], distance: float
) -> tuple[Node, ...]:
    """The tree of rings: every ring holds those that lie one stepover further in."""
    step = min(stepover, corner_stepover(first, radius))
    by_depth = [first]
    while rings := offset_rings(curves, -distance - step):
        by_depth.append(rings)
        distance += step
    if step > radius and (last := offset_rings(curves, -distance - radius)):
        by_depth.append(last)
    nodes: tuple[Node, ...] = ()
    for rings in reversed(by_depth):
        nodes = _around(rings, nodes)
    return nodes


def corner_stepover(rings: Sequence[Curve], radius: float) -> float:
    """Widest stepover that leaves nothing in the rings' sharpest corner, mm.

    s = r (1 + sin beta), beta half of the corner's angle: the inner ring's circle reaches out along the
    bisector as far as the outer ring's reaches in. Derived from the two circles.
    """
    sharpest = math.pi / 2
    for ring in rings:
        for one, following in zip(ring.segments, ring.segments[1:] + ring.segments[:1], strict=True):
            came, goes = heading(one, one.end), heading(following, following.start)
            turn = math.atan2(came[0] * goes[1] - came[1] * goes[0], came[0] * goes[0] + came[1] * goes[1])
            sharpest = min(sharpest, (math.pi - max(turn, 0.0)) / 2)
    return radius * (1 + math.sin(sharpest))


def _around(rings: Sequence[Curve], inner: tuple[Node, ...]) -> tuple[Node, ...]:
    nodes = []
    islands = [ring for ring in rings if not is_anticlockwise(ring)]
    for outer in (ring for ring in rings if is_anticlockwise(ring)):
        shape = Polygon(flatten(outer, 0.01))
        shapely.prepare(shape)
        nodes.append(
            Node(
                outer=outer,
                islands=tuple(ring for ring in islands if _holds(shape, ring)),
                inner=tuple(node for node in inner if _holds(shape, node.outer)),
            )
        )
    return tuple(nodes)


def _holds(shape: Polygon, ring: Curve) -> bool:
    return bool(shape.intersects(PlanePoint(ring.segments[0].start)))


# Cutting them


def cleared(plan: Clearing, down: Descent) -> Cut:
    """A region cut from a surface down to its floor: all rings level by level, then the walls."""
    travel = Travel(down.heights, down.data)
    room = plan.room
    above = down.top + TOUCH
    for floor in levels(down.top, down.floor, down.data.depth_of_cut):
        for node in plan.nodes:
            _cut_node(_Level(travel, room, down.cutter, down.data, above, floor), node)
        above = floor
    if plan.finish:
        travel.title("finishing")
        travel.pace = FINISHING
        _finish(travel, room, plan.finish, down)
    return travel.done()


@dataclass(frozen=True, slots=True)
class _Level:
    """One level of one region while it is being cut."""

    travel: Travel
    room: Room
    cutter: Cutter
    data: CuttingData
    above: float  # what has been cleared before
    floor: float


def _cut_node(level: _Level, node: Node) -> None:
    """All rings of a piece from the inside out, so that the cutter always has a free side."""
    for inner in node.inner:
        _cut_node(level, inner)
    rings = [node.outer, *node.islands]
    if not node.inner:
        _enter(level, node)
    while rings:
        here = level.travel.here
        found = [nearest(one, here) for one in rings]
        number = min(range(len(rings)), key=lambda index: round(found[index][1], 6))
        _cut_ring(level, rings.pop(number), found[number][0])


def _cut_ring(level: _Level, ring: Curve, at: float) -> None:
    travel = level.travel
    ring = begun_at(ring, at)
    first = ring.segments[0].start
    is_near = math.dist(travel.here, first) <= 2.5 * level.cutter.radius
    if travel.z > level.floor + EXACT or not is_near or not level.room.is_open(travel.here, first):
        ring = _ramped_along(level, ring)
    elif math.dist(travel.here, first) > EXACT:
        travel.line(first)
    travel.follow(ring.segments)


def _enter(level: _Level, node: Node) -> None:
    """Down to the level on a helix where one fits; else the first ring is ramped."""
    travel, radius = level.travel, level.cutter.radius
    middle, spare = node.entry or _roomiest(node, level.room)
    turn = min(HELIX_SHARE * radius, spare)
    if turn < SMALLEST_HELIX * radius:
        at = longest_middle(node.outer) if not travel.has_begun else nearest(node.outer, travel.here)[0]
        travel.reach(place(node.outer, at), level.above, level.room)
        return
    travel.reach((middle[0] + turn, middle[1]), level.above, level.room)
    helix(travel, middle, level.floor, helix_pitch(turn, level.data))


def _roomiest(node: Node, room: Room) -> tuple[Point, float]:
    """The point of a piece that is furthest from its edges, and how far a cutter's centre may go from it."""
    shape = Polygon(flatten(node.outer, 0.01), [flatten(ring, 0.01) for ring in node.islands])
    spoke = shapely.maximum_inscribed_circle(shape, tolerance=0.01)
    middle = shapely.get_point(spoke, 0)
    return (middle.x, middle.y), max(float(room.shape.boundary.distance(middle)) - 0.005, 0.0)


def _ramped_along(level: _Level, ring: Curve) -> Curve:
    """Down to the level along the ring, round and round if the ring is short, never steeper than the ramp.

    Returns the ring begun where the ramp has ended, to be cut level from there.
    """
    travel = level.travel
    travel.reach(ring.segments[0].start, level.above, level.room)
    if ring.length < SHORTEST_RAMP * level.cutter.radius and level.cutter.centre_cutting:
        travel.straight_to(level.floor)
        return ring
    run = (travel.z - level.floor) / math.tan(math.radians(level.data.ramp_deg))
    travel.follow(stretch(ring, 0.0, run), level.floor)
    return begun_at(ring, run % ring.length)


def _finish(travel: Travel, room: Room, walls: Sequence[Curve], down: Descent) -> None:
    """Along each wall at full depth, or in as few passes as the flutes are long for."""
    waiting = list(walls)
    inside = Room(walls)
    while waiting:
        ring = min(waiting, key=lambda one: round(nearest(one, travel.here)[1], 6))
        waiting.remove(ring)
        ring = begun_at(ring, longest_middle(ring))
        lead = _lead(ring, inside, room, down.cutter.radius, down.data.finish_allowance)
        for floor in levels(down.top, down.floor, down.data.finish_depth):
            start = lead[0].start if lead else ring.segments[0].start
            travel.reach(start, floor, room if lead else inside)
            travel.follow((*lead[:1], *ring.segments, *lead[1:]))


def _lead(ring: Curve, inside: Room, room: Room, radius: float, allowance: float) -> tuple[Segment, ...]:
    """Quarter circles onto and off the wall's ring at its first point; none where there is no room."""
    point, way = ring.segments[0].start, direction(ring, 0.0)
    for size in (radius, radius / 2, radius / 4):
        if size < 1.2 * allowance:
            break
        centre = point[0] - way[1] * size, point[1] + way[0] * size
        onto = Segment((centre[0] - way[0] * size, centre[1] - way[1] * size), point, centre)
        off = Segment(point, (centre[0] + way[0] * size, centre[1] + way[1] * size), centre)
        path = shapely.LineString([onto.at(k / 8) for k in range(8)] + [off.at(k / 8) for k in range(9)])
        ends = shapely.LineString([onto.start, off.end])
        if inside.shape.covers(path) and room.shape.covers(ends):
            return onto, off
    return ()
