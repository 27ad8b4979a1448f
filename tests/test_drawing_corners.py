"""Sharp inside corners as a round cutter leaves them, against buffers of the same shapes (shapely)."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon

from proveout.curve import Curve, Segment, circle, from_points, polygon
from proveout.drawing.corners import least_inside_radius, rounded, sharp_corners, turning_left
from proveout.finding import InputError

BOX = from_points([(0.0, 0.0), (40.0, 0.0), (40.0, 20.0), (0.0, 20.0)])
ELL = from_points([(0.0, 0.0), (60.0, 0.0), (60.0, 20.0), (20.0, 20.0), (20.0, 50.0), (0.0, 50.0)])


def opened(shape: Polygon, radius: float) -> Polygon:
    """What a round cutter inside a shape can clear."""
    return shape.buffer(-radius, quad_segs=256).buffer(radius, quad_segs=256)


def closed(shape: Polygon, radius: float) -> Polygon:
    """What a round cutter outside a shape must leave."""
    return shape.buffer(radius, quad_segs=256, join_style="mitre").buffer(-radius, quad_segs=256)


@settings(max_examples=40, deadline=None)
@given(st.floats(0.5, 9.0), st.booleans())
def test_a_hole_is_left_as_its_cutter_can_clear_it(radius: float, backwards: bool) -> None:
    """A box has four such corners, walked either way round."""
    ring = rounded(BOX.reversed() if backwards else BOX, radius, hole=True)
    assert polygon((ring,)).symmetric_difference(opened(polygon((BOX,)), radius)).area < 0.05
    assert polygon((ring,)).area == pytest.approx(800 - (4 - math.pi) * radius**2, abs=0.05)


@settings(max_examples=40, deadline=None)
@given(st.floats(0.5, 12.0))
def test_an_outline_keeps_wood_only_in_its_inside_corner(radius: float) -> None:
    """An L has one; its outer corners stay sharp."""
    ring = rounded(ELL, radius, hole=False)
    extra = polygon((ring,)).area - polygon((ELL,)).area
    assert extra == pytest.approx((1 - math.pi / 4) * radius**2, abs=0.03)
    assert len(ring.segments) == len(ELL.segments) + 1


def test_corners_are_counted_on_the_cutters_side() -> None:
    """A box as a hole has four, as an outline none; an L as an outline one."""
    assert len(sharp_corners(BOX, hole=True)) == 4
    assert sharp_corners(BOX, hole=False) == ()
    assert sharp_corners(ELL, hole=False) == ((20.0, 20.0),)


def test_arcs_count_by_the_side_they_bend_to() -> None:
    """A round hole binds its cutter; a round outline doesn't."""
    assert least_inside_radius(circle((0, 0), 10.0), hole=True) == pytest.approx(5)
    assert math.isinf(least_inside_radius(circle((0, 0), 10.0), hole=False))


def test_a_ring_of_arcs_is_turned_by_its_true_area() -> None:
    """Two half circles have no area between their chords; their bulges tell which way they go round."""
    ring = circle((3.0, 4.0), 8.0)
    assert turning_left(ring.reversed()).segments[0].ccw
    assert turning_left(ring) is ring


def test_a_side_too_short_for_the_cutter_is_refused_with_its_place() -> None:
    """A step of 2 mm has no room for a radius of 5."""
    step = from_points([(0, 0), (60, 0), (60, 20), (40, 20), (40, 22), (20, 22), (20, 60), (0, 60)])
    with pytest.raises(InputError, match=r"\(40.000, 20.000\) mm has a side of 2.00 mm"):
        rounded(step, 5.0, hole=False)


def test_a_sharp_corner_at_an_arc_is_refused() -> None:
    """A half disc as a hole: the line meets the arc at a right angle."""
    half = Curve((Segment((0, 0), (20, 0)), Segment((20, 0), (0, 0), (10, 0), True)))
    with pytest.raises(InputError, match="lies at an arc"):
        rounded(half, 2.0, hole=True)
