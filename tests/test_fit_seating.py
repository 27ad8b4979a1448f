"""When a hexagon seats in what a round cutter leaves: against brute force on polygons, and worked values."""

import math

import numpy as np
import pytest
import shapely
from hypothesis import assume, example, given, settings
from hypothesis import strategies as st
from shapely import Polygon

from proveout.curve import Curve, polygon
from proveout.fit import seating
from proveout.fit.recess_curve import recess_curve, sharp_polygon

M8_FLATS = 13.0  # ISO 4014, largest flats of an M8 head
EIGHTH_INCH = 25.4 / 16  # radius of a 1/8 in cutter

NEAR = 0.002  # mm: closer to the limit than this the flattened polygons can't tell

flats = st.floats(5.0, 20.0)
radii = st.floats(0.3, 3.5)
clearances = st.floats(-0.3, 1.5)
sides = st.sampled_from((4, 6, 8))


def ngon(across: float, count: int = 6, turn: float = 0.0) -> Polygon:
    """A sharp regular polygon, drawn without the code under test."""
    reach = across / 2 / math.cos(math.pi / count)
    angles = turn + 2 * math.pi * np.arange(count) / count
    return Polygon(np.column_stack((reach * np.cos(angles), reach * np.sin(angles))))


def opened(across: float, radius: float, count: int = 6) -> Polygon:
    """All that a round cutter can clear inside a sharp polygon."""
    inner = ngon(across, count).buffer(-radius, join_style="mitre")
    return inner.buffer(radius, quad_segs=512)


def test_an_m8_head_and_an_eighth_inch_cutter_give_the_worked_values() -> None:
    """A 13 mm hexagon needs a 13.43 mm recess, or relief of 0.19 mm at 13.10 mm.

    Worked by hand, four figures; no published table was found.
    """
    least = seating.least_flats(M8_FLATS, EIGHTH_INCH)
    travel = seating.relief_travel(13.10, M8_FLATS, EIGHTH_INCH)
    full = seating.corner_gap(EIGHTH_INCH)
    assert seating.corner_gap(EIGHTH_INCH) == pytest.approx(0.2456, rel=1e-3)
    assert least == pytest.approx(13.4254, rel=1e-5)
    assert travel == pytest.approx(0.1879, rel=1e-3)
    assert seating.overcut(travel) == pytest.approx(0.1627, rel=1e-3)
    assert seating.overcut(full) == pytest.approx(0.2127, rel=1e-3)
    assert seating.flat_left(13.10, EIGHTH_INCH, full) == pytest.approx(4.388, rel=1e-3)
    assert seating.relief_travel(12.90, M8_FLATS, EIGHTH_INCH) == pytest.approx(0.3033, rel=1e-3)


def test_a_square_needs_more_room_than_a_hexagon() -> None:
    """Its corners are sharper: F' >= F + (2 - sqrt 2) r, against F + (2 - sqrt 3) r. Closed forms."""
    assert seating.least_flats(10, 1, sides=4) == pytest.approx(12 - math.sqrt(2))
    assert seating.least_flats(10, 1, sides=6) == pytest.approx(12 - math.sqrt(3))


@given(flats, clearances, radii, sides)
@settings(max_examples=150, deadline=None)
@example(13.0, 0.43, EIGHTH_INCH, 6)
@example(13.0, 0.42, EIGHTH_INCH, 6)
def test_seating_agrees_with_brute_force(across: float, clearance: float, radius: float, count: int) -> None:
    """A sharp hexagon, square or octagon seats exactly when it lies in the opened polygon."""
    wide = across + clearance
    assume(wide > 2 * radius + 0.1)
    assume(abs(wide - max(across, seating.least_flats(across, radius, count))) > NEAR)
    fits = opened(wide, radius, count).buffer(1e-4).covers(ngon(across, count))
    assert seating.seats(wide, across, radius, count) == fits


@given(flats, clearances, radii, st.floats(0, math.pi / 3))
@settings(max_examples=100, deadline=None)
def test_turning_a_head_never_makes_it_fit(
    across: float, clearance: float, radius: float, turn: float
) -> None:
    """A head that doesn't seat straight doesn't seat turned either."""
    wide = across + clearance
    assume(wide > 2 * radius + 0.1 and not seating.seats(wide + NEAR, across, radius))
    assert not opened(wide, radius).covers(ngon(across, turn=turn))


@given(flats, st.floats(-0.1, 1.0), radii, st.floats(0.0, 1.0))
@settings(max_examples=150, deadline=None)
@example(10.0, 0.0, 3.0, 0.9)
def test_blunt_seating_agrees_with_brute_force(
    across: float, clearance: float, radius: float, share: float
) -> None:
    """A hexagon turned down to a cylinder seats exactly when it lies in the opened polygon."""
    wide = across + clearance
    corners = across * (1 + share * (2 / math.sqrt(3) - 1))
    assume(wide > 2 * radius + 0.1)
    round_bar = shapely.Point(0, 0).buffer(corners / 2, quad_segs=512)
    blunt = ngon(across).intersection(round_bar)
    surely = opened(wide - NEAR, radius).covers(blunt)
    possibly = opened(wide + NEAR, radius).covers(blunt)
    assume(surely == possibly)
    assert seating.seats_blunt(wide, across, corners, radius) == surely


def test_corners_that_clear_the_fillets_tips_can_still_jam_beside_them() -> None:
    """A head of 10 mm turned to 10.6 over its corners jams in a recess of 10 mm cut at r = 3."""
    tips = 10 / math.sqrt(3) - seating.corner_gap(3.0)
    turned = ngon(10.0).intersection(shapely.Point(0, 0).buffer(5.3, quad_segs=256))
    assert tips > 5.3
    assert not opened(10 + NEAR, 3.0).covers(turned)
    assert not seating.seats_blunt(10.0, 10.0, 10.6, 3.0)


@given(flats, st.floats(0.0, 1.0), radii)
@settings(max_examples=100, deadline=None)
def test_relief_goes_just_far_enough(across: float, clearance: float, radius: float) -> None:
    """With the computed relief the sharp hexagon fits; with a hundredth less it doesn't."""
    wide = across + clearance
    travel = seating.relief_travel(wide, across, radius)
    assume(travel > 0.011 and seating.flat_left(wide, radius, travel) > 0.05)
    head = polygon([sharp_polygon(across - 0.004)])
    assert polygon([recess_curve(wide, radius, travel)]).covers(head)
    assert not polygon([recess_curve(wide, radius, travel - 0.01)]).covers(ngon(across))


@given(flats, st.floats(0.1, 3.5), st.floats(0.0, 1.0), sides)
@settings(max_examples=150, deadline=None)
@example(10.0, 0.3, 1.0, 6)
@example(12.9, EIGHTH_INCH, 0.19, 6)
def test_the_recess_is_what_the_cutter_sweeps(across: float, radius: float, share: float, count: int) -> None:
    """The recess is the opened polygon and, in each corner, the cutter driven out along the bisector."""
    travel = share * radius
    assume(seating.flat_left(across, radius, travel, count) > 0.05)
    swept = opened(across, radius, count)
    start = (across / 2 - radius) / math.cos(math.pi / count)
    for corner in range(count):
        angle = 2 * math.pi * corner / count
        away = np.array((math.cos(angle), math.sin(angle)))
        path = shapely.LineString([away * start, away * (start + travel)])
        swept = swept.union((path if travel else shapely.Point(away * start)).buffer(radius, quad_segs=512))
    made = polygon([recess_curve(across, radius, travel, count)])
    assert made.symmetric_difference(swept).area < 0.002 * swept.length


def exact_area(curve: Curve) -> float:
    """Area within a ring of lines and arcs by Green's theorem, no flattening."""
    area = 0.0
    for one in curve.segments:
        area += (one.start[0] * one.end[1] - one.end[0] * one.start[1]) / 2
        area += one.radius**2 * (one.sweep - math.sin(one.sweep)) / 2
    return area


def test_fillets_take_their_closed_form_from_the_area() -> None:
    """Six fillets of radius r take 6 r^2 (1/tan 60 - pi/6) from a hexagon of area sqrt(3)/2 F^2."""
    recess = recess_curve(13.0, 1.5)
    expected = math.sqrt(3) / 2 * 13**2 - 6 * 1.5**2 * (1 / math.sqrt(3) - math.pi / 6)
    assert exact_area(recess) == pytest.approx(expected, rel=1e-12)


@given(flats, radii, st.floats(0.0, 0.5))
def test_the_cutter_fits_into_every_arc_of_a_recess(across: float, radius: float, travel: float) -> None:
    """Every arc of a recess has exactly the radius of the cutter that finishes it."""
    assume(seating.flat_left(across, radius, travel) > 0.01)
    arcs = [one for one in recess_curve(across, radius, travel).segments if one.centre]
    assert len(arcs) == 6
    assert all(arc.radius == pytest.approx(radius, abs=1e-9) for arc in arcs)


def test_a_cutter_that_leaves_no_flat_is_refused() -> None:
    """A 6 mm cutter with full relief leaves nothing of the sides of a 10 mm hexagon."""
    with pytest.raises(ValueError, match="leaves no flat"):
        recess_curve(10.0, 3.0, seating.corner_gap(3.0))
