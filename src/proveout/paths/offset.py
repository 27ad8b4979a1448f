"""Rings at a distance from a region's boundary, as exact lines and arcs.

The library's offset of the flattened region decides which rings there are and which piece of the source
each stretch of them comes from; the stretch then gets back the exact parallel line, concentric arc or
corner arc, and neighbours meet where those intersect. The result is checked against the distance; where
the check fails, the dense ring is fitted with arcs within a stated deviation.
"""

import math
from collections.abc import Iterator, Sequence
from functools import lru_cache
from itertools import groupby
from typing import Final, NamedTuple

import numpy as np
import numpy.typing as npt
import shapely
from shapely import Polygon, STRtree
from shapely.geometry.polygon import orient

from proveout.curve import Curve, Point, Points, Segment, circle, flatten, is_circle, polygon
from proveout.paths.arcs import fitted

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]

COARSE: Final = 0.01  # mm, flattening that is enough to see where each stretch comes from
FINE: Final = 0.001  # mm, second try, and the dense ring that arcs are fitted to
EXACT: Final = 1e-6  # mm, a rebuilt ring that is further off its distance is not used
SLIVER: Final = 0.002  # mm, half the width of corridors that rounding alone keeps open
TANGENT: Final = 1e-4  # rad, two pieces that meet at less than this run smoothly into one another


def offset_rings(curves: Sequence[Curve], distance: float) -> tuple[Curve, ...]:
    """Rings at a distance outside (positive) or inside (negative) of a region; none where nothing is left.

    Outer rings run anticlockwise, rings round islands clockwise: the offset region is always on the left.
    Lines and arcs are exact to 1e-6 mm; a ring that can't be rebuilt so is fitted within 0.003 mm.

    Args:
        curves: the region's outer boundary, then its islands, in either direction
        distance: mm
    """
    return _offset_rings(tuple(curves), distance)


@lru_cache(maxsize=1024)
def _offset_rings(curves: tuple[Curve, ...], distance: float) -> tuple[Curve, ...]:
    """Kept: walls are asked for with every stepover, and most rings again when a job changes a little."""
    region = tuple(turning(curve, ccw=number == 0) for number, curve in enumerate(curves))
    if distance == 0:
        return region
    if len(region) == 1 and (known := is_circle(region[0])):
        diameter = known[1] + 2 * distance
        return (circle(known[0], diameter),) if diameter > 2 * SLIVER else ()
    sites = _sites(region, distance)
    for flattening in (COARSE, FINE):
        dense = _dense_rings(region, distance, flattening)
        rings = [_rebuilt(sites, ring, flattening) for ring in dense]
        exact = [ring for ring in rings if ring is not None]
        if len(exact) == len(dense):
            return _in_order(exact)
    return _in_order([fitted(ring[:-1]) for ring in dense])


def turning(curve: Curve, *, ccw: bool) -> Curve:
    """The curve, walked anticlockwise or clockwise as asked."""
    return curve if is_anticlockwise(curve) == ccw else curve.reversed()


def is_anticlockwise(curve: Curve) -> bool:
    """Whether the curve's inside is on the left of one who walks along it."""
    doubled = 0.0
    for one in curve.segments:
        doubled += one.start[0] * one.end[1] - one.end[0] * one.start[1]
        if one.centre is not None:
            doubled += one.radius**2 * (one.sweep - math.sin(one.sweep))
    return doubled > 0


def _in_order(rings: list[Curve]) -> tuple[Curve, ...]:
    """Rings and their first points in an order that doesn't hang on the library's version."""
    begun = [_from_lowest(ring) for ring in rings]
    return tuple(sorted(begun, key=lambda ring: _rounded(ring.segments[0].start)))


def _from_lowest(ring: Curve) -> Curve:
    first = min(range(len(ring.segments)), key=lambda index: _rounded(ring.segments[index].start))
    return Curve(ring.segments[first:] + ring.segments[:first])


def _rounded(point: Point) -> Point:
    return round(point[0], 5), round(point[1], 5)


# The dense rings


def _dense_rings(region: Sequence[Curve], distance: float, flattening: float) -> list[Points]:
    shape = polygon(region, flattening)
    if not shape.is_valid:
        shape = shapely.make_valid(shape)
    step = 2 * math.acos(max(1 - flattening / abs(distance), 0.0))
    grown = shape.buffer(distance, quad_segs=max(4, math.ceil(math.pi / 2 / step)))
    rings: list[Points] = []
    for piece in _without_slivers(grown):
        piece = orient(piece)
        rings.extend(np.asarray(ring.coords) for ring in (piece.exterior, *piece.interiors))
    return rings


def _without_slivers(shape: shapely.Geometry) -> list[Polygon]:
    """The pieces of a shape; corridors and hairlines narrower than 4 um are closed where there are any."""
    thick = shape.buffer(-SLIVER, join_style="mitre")
    if thick.is_empty:
        return []
    if len(_polygons(thick)) != len(_polygons(shape)):
        shape = thick.buffer(SLIVER, join_style="mitre")
    return _polygons(shape)


def _polygons(shape: shapely.Geometry) -> list[Polygon]:
    return [one for one in shapely.get_parts(shape) if isinstance(one, Polygon) and not one.is_empty]


# What a ring is made from


class _Sites(NamedTuple):
    """The source's pieces as columns, and the shape that each lends to a ring at the distance."""

    distance: float  # signed: positive to the right of the walking direction, which is outside
    start: Floats  # (n, 2)
    end: Floats  # (n, 2)
    centre: Floats  # (n, 2), zeros for lines
    radius: Floats  # (n,), 0 for lines
    ccw: npt.NDArray[np.bool_]
    angle: Floats  # (n,) where an arc begins
    sweep: Floats  # (n,) positive
    before: Ints  # (n,) the piece that ends where this one starts
    after: Ints
    into: Floats  # (n, 2) unit direction at the start
    out: Floats  # (n, 2) unit direction at the end
    turn: Floats  # (n,) rad by which the walk turns left at the start of this piece
    corner: npt.NDArray[np.bool_]  # (n,) whether the start of this piece makes a corner arc at the distance
    lines: npt.NDArray[np.object_]  # (n,) flattened pieces


def _sites(region: Sequence[Curve], distance: float) -> _Sites:
    pieces = [one for curve in region for one in curve.segments]
    before, after, first = [], [], 0
    for curve in region:
        count = len(curve.segments)
        before += [first + (index - 1) % count for index in range(count)]
        after += [first + (index + 1) % count for index in range(count)]
        first += count
    into = np.array([_direction(one, one.start) for one in pieces])
    out = np.array([_direction(one, one.end) for one in pieces])
    came = out[before]
    turn = np.arctan2(came[:, 0] * into[:, 1] - came[:, 1] * into[:, 0], (came * into).sum(axis=1))
    return _Sites(
        distance=distance,
        start=np.array([one.start for one in pieces]),
        end=np.array([one.end for one in pieces]),
        centre=np.array([one.centre or (0.0, 0.0) for one in pieces]),
        radius=np.array([one.radius for one in pieces]),
        ccw=np.array([one.ccw for one in pieces]),
        angle=np.array([_angle(one) for one in pieces]),
        sweep=np.array([abs(one.sweep) for one in pieces]),
        before=np.array(before),
        after=np.array(after),
        into=into,
        out=out,
        turn=turn,
        corner=turn * math.copysign(1, distance) > TANGENT,
        lines=np.array([_polyline(one) for one in pieces]),
    )


def _direction(piece: Segment, at: Point) -> Point:
    if piece.centre is None:
        length = piece.length or 1.0
        return (piece.end[0] - piece.start[0]) / length, (piece.end[1] - piece.start[1]) / length
    sign = (1 if piece.ccw else -1) / piece.radius
    return -(at[1] - piece.centre[1]) * sign, (at[0] - piece.centre[0]) * sign


def _angle(piece: Segment) -> float:
    if piece.centre is None:
        return 0.0
    return math.atan2(piece.start[1] - piece.centre[1], piece.start[0] - piece.centre[0])


def _polyline(piece: Segment) -> shapely.LineString:
    count = 1
    if piece.centre is not None and piece.radius > COARSE:
        count = max(1, math.ceil(abs(piece.sweep) / (2 * math.acos(1 - COARSE / piece.radius))))
    return shapely.LineString([piece.start, *(piece.at(k / count) for k in range(1, count)), piece.end])


class _Feet(NamedTuple):
    distance: Floats
    place: Ints  # 0 within the piece, 1 at its start, 2 at its end


def _feet(sites: _Sites, site: Ints, points: Points) -> _Feet:
    """Exact distance of each point from the piece of its row, and where on the piece the foot is."""
    start, end = sites.start[site], sites.end[site]
    along = ((points - start) * sites.into[site]).sum(axis=1)
    length = np.hypot(*(end - start).T)
    across = np.abs(_cross(sites.into[site], points - start))
    is_arc = sites.radius[site] > 0
    arm = points - sites.centre[site]
    turned = np.arctan2(arm[:, 1], arm[:, 0]) - sites.angle[site]
    turned = np.where(sites.ccw[site], turned, -turned) % math.tau
    sweep = sites.sweep[site]
    past = np.where(turned - sweep < (math.tau - sweep) / 2, 2, 1)
    on_arc = np.where(turned <= sweep, 0, past)
    on_line = np.where(along < 0, 1, np.where(along > length, 2, 0))
    place = np.where(is_arc, on_arc, on_line)
    within = np.where(is_arc, np.abs(np.hypot(*arm.T) - sites.radius[site]), across)
    to_start, to_end = np.hypot(*(points - start).T), np.hypot(*(points - end).T)
    return _Feet(np.choose(place, (within, to_start, to_end)), place)


def _cross(one: Floats, other: Floats) -> Floats:
    product: Floats = one[..., 0] * other[..., 1] - one[..., 1] * other[..., 0]
    return product


def _nearest(sites: _Sites, points: Points, slack: float) -> tuple[Ints, _Feet] | None:
    """For each point the piece it is nearest to; None where some point is not at the distance at all."""
    tree = STRtree(sites.lines)
    row, site = tree.query(
        shapely.points(points), predicate="dwithin", distance=abs(sites.distance) + slack + COARSE
    )
    feet = _feet(sites, site, points[row])
    order = np.lexsort((site, feet.distance, row))
    rows, first = np.unique(row[order], return_index=True)
    if len(rows) != len(points):
        return None
    best = order[first]
    return site[best], _Feet(feet.distance[best], feet.place[best])


# Rebuilding one ring


class _Shape(NamedTuple):
    """What a stretch of ring lies on: a line through a point, a circle, or a single point (radius 0)."""

    label: int  # the source's piece, or count of pieces + the piece at whose start the corner is
    point: Point  # on the line, or the centre
    direction: Point | None  # of the line
    radius: float
    ccw: bool


def _rebuilt(sites: _Sites, ring: Points, flattening: float) -> Curve | None:
    """The ring as exact lines and arcs; None where the outcome is not at the distance everywhere."""
    middles = (ring[1:] + ring[:-1]) / 2
    found = _nearest(sites, middles, 3 * flattening)
    if found is None:
        return None
    curve = _curve(sites, _runs(sites, _labels(sites, *found), ring))
    if curve is None:
        return None
    dense_length = float(np.hypot(*np.diff(ring, axis=0).T).sum())
    same_way = abs(curve.length - dense_length) < 0.05 + 0.01 * dense_length
    return curve if same_way and _at_distance(sites, curve) else None


def _curve(sites: _Sites, runs: list[tuple[_Shape, Point]]) -> Curve | None:
    if len(runs) == 1:
        shape = runs[0][0]
        if shape.direction is not None or shape.radius < SLIVER:
            return None
        return turning(circle(shape.point, 2 * shape.radius), ccw=shape.ccw)
    segments = tuple(_segments(sites, runs))
    if len(segments) < 2:
        return None
    try:
        return Curve(segments)
    except ValueError:  # neighbours that don't meet: the labels were wrong somewhere
        return None


def _labels(sites: _Sites, site: Ints, feet: _Feet) -> Ints:
    """The piece or the corner that each dense stretch comes from."""
    vertex = np.where(feet.place == 2, sites.after[site], site)
    at_corner = (feet.place > 0) & sites.corner[vertex]
    labels: Ints = np.where(at_corner, len(sites.radius) + vertex, site)
    return labels


def _runs(sites: _Sites, labels: Ints, ring: Points) -> list[tuple[_Shape, Point]]:
    """Stretches in order: what each lies on, and the dense point where it begins."""
    shapes = {int(label): _shape(sites, int(label)) for label in np.unique(labels)}
    keep = np.array([shapes[int(label)] is not None for label in labels])
    labels, begins = labels[keep], ring[:-1][keep]
    if not len(labels):
        return []
    shift = (
        int(np.flatnonzero(np.append(np.diff(labels) != 0, labels[0] != labels[-1]))[0] + 1)
        if ((labels != labels[0]).any())
        else 0
    )
    labels, begins = np.roll(labels, -shift), np.roll(begins, -shift, axis=0)
    runs: list[tuple[_Shape, Point]] = []
    for label, rows in groupby(range(len(labels)), key=lambda row: int(labels[row])):
        shape = shapes[label]
        first = begins[next(rows)]
        if shape is not None:
            runs.append((shape, (float(first[0]), float(first[1]))))
    return runs


def _shape(sites: _Sites, label: int) -> _Shape | None:
    """What a piece or corner lends to the ring; None for an arc too tight for the distance."""
    count, by = len(sites.radius), sites.distance
    if label >= count:
        return _Shape(label, _pair(sites.start[label - count]), None, abs(by), by > 0)
    if not sites.radius[label]:
        direction = _pair(sites.into[label])
        point = _pair(sites.start[label])
        return _Shape(
            label, (point[0] + direction[1] * by, point[1] - direction[0] * by), direction, 0.0, True
        )
    radius = float(sites.radius[label]) + (by if sites.ccw[label] else -by)
    if radius < -EXACT:
        return None
    return _Shape(label, _pair(sites.centre[label]), None, max(radius, 0.0), bool(sites.ccw[label]))


def _pair(row: Floats) -> Point:
    return float(row[0]), float(row[1])


def _segments(sites: _Sites, runs: list[tuple[_Shape, Point]]) -> Iterator[Segment]:
    shapes = [shape for shape, _ in runs]
    meets = [_meeting(sites, shapes[index - 1], shape, near) for index, (shape, near) in enumerate(runs)]
    for index, shape in enumerate(shapes):
        start, end = meets[index], meets[(index + 1) % len(meets)]
        if shape.direction is None and shape.radius <= EXACT:
            continue
        if math.dist(start, end) < EXACT / 10:
            continue
        yield Segment(start, end, None if shape.direction else shape.point, shape.ccw)


def _meeting(sites: _Sites, one: _Shape, other: _Shape, near: Point) -> Point:
    """Where two neighbouring stretches meet: known from the source where they are neighbours there too."""
    count, by = len(sites.radius), sites.distance
    for shape in (one, other):
        if shape.direction is None and shape.radius <= EXACT:
            return shape.point
    if one.label < count and other.label < count and sites.after[one.label] == other.label:
        half = sites.turn[other.label] / 2
        if abs(half) < TANGENT / 2:
            return _beside(sites.start[other.label], sites.out[one.label], sites.into[other.label], by)
    if other.label >= count and one.label < count and sites.after[one.label] == other.label - count:
        return _beside(sites.end[one.label], sites.out[one.label], sites.out[one.label], by)
    if one.label >= count and one.label - count == other.label:
        return _beside(sites.start[other.label], sites.into[other.label], sites.into[other.label], by)
    return _crossing(one, other, near)


def _beside(point: Floats, came: Floats, goes: Floats, by: float) -> Point:
    """The point at a distance to the right of where two directions meet."""
    x, y = float(came[0] + goes[0]), float(came[1] + goes[1])
    length = math.hypot(x, y)
    return float(point[0]) + by * y / length, float(point[1]) - by * x / length


def _crossing(one: _Shape, other: _Shape, near: Point) -> Point:
    """The crossing of two lines or circles that is nearest to a point; their approach where they miss."""
    if one.direction and other.direction:
        across = one.direction[0] * other.direction[1] - one.direction[1] * other.direction[0]
        if abs(across) < 1e-12:
            return near
        gap = other.point[0] - one.point[0], other.point[1] - one.point[1]
        along = (gap[0] * other.direction[1] - gap[1] * other.direction[0]) / across
        return one.point[0] + along * one.direction[0], one.point[1] + along * one.direction[1]
    if one.direction:
        return _line_and_circle(one, other, near)
    if other.direction:
        return _line_and_circle(other, one, near)
    return _two_circles(one, other, near)


def _line_and_circle(line: _Shape, ring: _Shape, near: Point) -> Point:
    assert line.direction is not None
    ux, uy = line.direction
    gap = ring.point[0] - line.point[0], ring.point[1] - line.point[1]
    along = gap[0] * ux + gap[1] * uy
    off = gap[0] * uy - gap[1] * ux
    half = math.sqrt(max(ring.radius**2 - off**2, 0.0))
    points = [(line.point[0] + (along + s) * ux, line.point[1] + (along + s) * uy) for s in (-half, half)]
    return min(points, key=lambda point: math.dist(point, near))


def _two_circles(one: _Shape, other: _Shape, near: Point) -> Point:
    apart = math.dist(one.point, other.point)
    if apart < EXACT:
        return near
    ux, uy = (other.point[0] - one.point[0]) / apart, (other.point[1] - one.point[1]) / apart
    along = (apart**2 + one.radius**2 - other.radius**2) / (2 * apart)
    half = math.sqrt(max(one.radius**2 - along**2, 0.0))
    points = [(one.point[0] + along * ux - s * uy, one.point[1] + along * uy + s * ux) for s in (-half, half)]
    return min(points, key=lambda point: math.dist(point, near))


def _at_distance(sites: _Sites, curve: Curve) -> bool:
    shares = (0.0, 0.25, 0.5, 0.75)
    samples = np.array([one.at(share) for one in curve.segments for share in shares])
    found = _nearest(sites, samples, COARSE)
    if found is None:
        return False
    return bool((np.abs(found[1].distance - abs(sites.distance)) < EXACT).all())


def region_of(rings: Sequence[Curve], tolerance: float = COARSE) -> shapely.Geometry:
    """The region that rings of `offset_rings` enclose; chords are at most `tolerance` off their arcs."""
    outer = [ring for ring in rings if is_anticlockwise(ring)]
    islands = [ring for ring in rings if not is_anticlockwise(ring)]
    solid = shapely.union_all([Polygon(flatten(ring, tolerance)) for ring in outer])
    if not islands:
        return solid
    return solid.difference(shapely.union_all([Polygon(flatten(ring, tolerance)) for ring in islands]))
