"""The exact boundary of a polygonal recess as its cutter leaves it: walls, and an arc in each corner."""

import math

from proveout.curve import Curve, Point, Segment, from_points
from proveout.fit.seating import across_corners, corner_gap, flat_left, half_angle, is_slot, wall_lost


def sharp_polygon(flats: float, sides: int = 6) -> Curve:
    """A regular polygon of those flats about the origin, anticlockwise, a corner on +X."""
    reach = across_corners(flats, sides) / 2
    angles = (math.tau * number / sides for number in range(sides))
    return from_points([(reach * math.cos(angle), reach * math.sin(angle)) for angle in angles])


def recess_curve(flats: float, radius: float, travel: float = 0.0, sides: int = 6) -> Curve:
    """The recess that a cutter of that radius leaves, about the origin, anticlockwise, a corner on +X.

    Without travel the corners are fillets of the cutter's radius; with it they are relieved by arcs of the
    same radius whose centres lie that much further out.

    Raises:
        ValueError: no flat is left on the sides
    """
    if flat_left(flats, radius, travel, sides) <= 0:
        raise ValueError(f"a cutter of radius {radius} leaves no flat in a recess of {flats} across flats")
    corners = [_corner(flats, radius, travel, sides, number) for number in range(sides)]
    segments: list[Segment] = []
    for corner, following in zip(corners, corners[1:] + corners[:1], strict=True):
        segments.extend(corner)
        segments.append(Segment(corner[-1].end, following[0].start))
    return Curve(tuple(segments))


def _corner(flats: float, radius: float, travel: float, sides: int, number: int) -> list[Segment]:
    """What the cutter leaves at one corner, from the wall before it to the wall after it."""
    beta = half_angle(sides)
    tip = across_corners(flats, sides) / 2
    lost = wall_lost(radius, travel, sides)
    along, aside = tip - lost * math.cos(beta), lost * math.sin(beta)
    out = tip - corner_gap(radius, sides) - radius + travel
    angle = math.tau * number / sides

    def place(x: float, y: float) -> Point:
        cos, sin = math.cos(angle), math.sin(angle)
        return x * cos - y * sin, x * sin + y * cos

    before, after, centre = place(along, -aside), place(along, aside), place(out, 0.0)
    if not is_slot(radius, travel, sides):
        return [Segment(before, after, centre)]
    first, last = place(out, -radius), place(out, radius)
    return [Segment(before, first), Segment(first, last, centre), Segment(last, after)]
