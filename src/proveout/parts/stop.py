"""The stop block: a rectangle with rounded corners and a row of dowel holes.

The frame's origin is the block's middle; the holes lie on the X axis.
"""

from proveout.curve import Curve, Point, Segment, from_points


def block_outline(length: float, width: float, corner_radius: float) -> Curve:
    """The block's outline, anticlockwise; square corners where the radius is 0.

    Raises:
        ValueError: a size that is not positive, or corners that are rounder than half the block
    """
    if length <= 0 or width <= 0 or not 0 <= corner_radius <= min(length, width) / 2:
        raise ValueError(f"a block of {length} x {width} can't have corners of radius {corner_radius}")
    x, y = length / 2, width / 2
    if corner_radius == 0:
        return from_points(((-x, -y), (x, -y), (x, y), (-x, y)))
    flat_x, flat_y = x - corner_radius, y - corner_radius
    ring = (
        Segment((-flat_x, -y), (flat_x, -y)),
        Segment((flat_x, -y), (x, -flat_y), (flat_x, -flat_y)),
        Segment((x, -flat_y), (x, flat_y)),
        Segment((x, flat_y), (flat_x, y), (flat_x, flat_y)),
        Segment((flat_x, y), (-flat_x, y)),
        Segment((-flat_x, y), (-x, flat_y), (-flat_x, flat_y)),
        Segment((-x, flat_y), (-x, -flat_y)),
        Segment((-x, -flat_y), (-flat_x, -y), (-flat_x, -flat_y)),
    )
    return Curve(tuple(segment for segment in ring if segment.start != segment.end))


def hole_places(holes: int, spacing: float) -> tuple[Point, ...]:
    """Centres of the dowel holes, from left to right, evenly about the middle."""
    first = -spacing * (holes - 1) / 2
    return tuple((first + number * spacing, 0.0) for number in range(holes))
