"""Shapes that the tests of the paths cut: built here from their definitions, with nothing from `parts`."""

import math
from itertools import pairwise

from proveout.curve import Curve, Point, Segment, from_points


def polar(radius: float, angle: float) -> Point:
    return radius * math.cos(angle), radius * math.sin(angle)


def lobed(lobes: int = 6, reach: float = 22.0, rim: float = 6.0, scallop: float = 8.0) -> Curve:
    """A knob: rim arcs about points on a circle, scallop arcs that touch both neighbours from outside."""
    half, arm = math.pi / lobes, reach - rim
    cos = arm * math.cos(half)
    far = cos + math.sqrt(cos**2 - arm**2 + (rim + scallop) ** 2)
    touch: list[Point] = []
    for number in range(lobes):
        lobe = polar(arm, 2 * half * number)
        for side in (-1, 1):
            hollow = polar(far, half * (2 * number + side))
            share = rim / math.dist(lobe, hollow)
            touch.append((lobe[0] + (hollow[0] - lobe[0]) * share, lobe[1] + (hollow[1] - lobe[1]) * share))
    segments: list[Segment] = []
    for number in range(lobes):
        one, two, three = (touch[(2 * number + step) % len(touch)] for step in range(3))
        segments.append(Segment(one, two, polar(arm, 2 * half * number)))
        segments.append(Segment(two, three, polar(far, half * (2 * number + 1)), False))
    return Curve(tuple(segments))


def relief_centre(flats: float, radius: float, travel: float, corner: int) -> Point:
    """Where the cutter stands in a hexagon's corner, driven outward along the bisector by `travel`."""
    return polar(
        flats / math.sqrt(3) - radius / math.sin(math.radians(60)) + travel, math.radians(60 * corner + 30)
    )


def hexagon(flats: float, radius: float, travel: float) -> Curve:
    """A hexagon as a cutter leaves it: fillets of its radius (travel 0), or corner reliefs."""
    ends: list[tuple[Point, Point, Point]] = []
    for corner in range(6):
        centre = relief_centre(flats, radius, travel, corner)
        feet = []
        for side in (-1, 1):
            normal = math.radians(60 * corner + 30 + 30 * side)
            gap = flats / 2 - centre[0] * math.cos(normal) - centre[1] * math.sin(normal)
            width = side * math.sqrt(max(radius**2 - gap**2, 0.0))
            x, y = centre[0] + gap * math.cos(normal), centre[1] + gap * math.sin(normal)
            feet.append((x - width * math.sin(normal), y + width * math.cos(normal)))
        ends.append((feet[0], feet[1], centre))
    segments: list[Segment] = []
    for corner, (first, last, centre) in enumerate(ends):
        segments += [Segment(first, last, centre), Segment(last, ends[(corner + 1) % 6][0])]
    return Curve(tuple(segments))


def obround(length: float, width: float) -> Curve:
    """A slot with round ends along X about the origin."""
    half, radius = (length - width) / 2, width / 2
    right, left = (half, 0.0), (-half, 0.0)
    return Curve(
        (
            Segment((-half, -radius), (half, -radius)),
            Segment((half, -radius), (half, radius), right),
            Segment((half, radius), (-half, radius)),
            Segment((-half, radius), (-half, -radius), left),
        )
    )


def rectangle(length: float, width: float) -> Curve:
    return from_points([(0.0, 0.0), (length, 0.0), (length, width), (0.0, width)])


def notched(radius: float = 0.0) -> Curve:
    """A plate of 80 x 60 with a notch of 10 x 20 in its far side, its inside corners rounded or not."""
    if not radius:
        return from_points([(0, 0), (80, 0), (80, 60), (45, 60), (45, 40), (35, 40), (35, 60), (0, 60)])
    r = radius
    right: list[Point] = [(45.0, 60.0), (45.0, 40 + r), (45 - r, 40.0), (35 + r, 40.0), (35.0, 40 + r)]
    outside: list[Point] = [(35.0, 60.0), (0.0, 60.0), (0.0, 0.0), (80.0, 0.0), (80.0, 60.0), right[0]]
    return Curve(
        (
            Segment(right[0], right[1]),
            Segment(right[1], right[2], (45 - r, 40 + r), False),
            Segment(right[2], right[3]),
            Segment(right[3], right[4], (35 + r, 40 + r), False),
            Segment(right[4], outside[0]),
            *(Segment(one, two) for one, two in pairwise(outside)),
        )
    )


def distance(curves: tuple[Curve, ...], point: Point) -> float:
    """Distance of a point from the nearest line or arc, from their definitions."""
    return min(_distance(one, point) for curve in curves for one in curve.segments)


def _distance(piece: Segment, point: Point) -> float:
    ends = min(math.dist(point, piece.start), math.dist(point, piece.end))
    if piece.centre is None:
        dx, dy = piece.end[0] - piece.start[0], piece.end[1] - piece.start[1]
        share = ((point[0] - piece.start[0]) * dx + (point[1] - piece.start[1]) * dy) / (dx * dx + dy * dy)
        if not 0 < share < 1:
            return ends
        return math.dist(point, (piece.start[0] + share * dx, piece.start[1] + share * dy))
    low = piece if piece.ccw else Segment(piece.end, piece.start, piece.centre)
    first = math.atan2(low.start[1] - piece.centre[1], low.start[0] - piece.centre[0])
    last = math.atan2(low.end[1] - piece.centre[1], low.end[0] - piece.centre[0])
    here = math.atan2(point[1] - piece.centre[1], point[0] - piece.centre[0])
    if (here - first) % math.tau > (last - first) % math.tau:
        return ends
    return abs(math.dist(point, piece.centre) - math.dist(piece.start, piece.centre))


def samples(curve: Curve, each: int = 9) -> list[Point]:
    return [one.at(number / each) for one in curve.segments for number in range(each)]
