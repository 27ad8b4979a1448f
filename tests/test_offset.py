"""Offset rings: exact lines and arcs at the distance from the walls that was asked for."""

import math
from itertools import pairwise

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from proveout.curve import Curve, Segment, circle, from_points, moved, polygon
from proveout.paths.arcs import fitted
from proveout.paths.clear import wall_rings
from proveout.paths.offset import is_anticlockwise, offset_rings, region_of
from shapes_to_cut import distance, hexagon, lobed, notched, obround, rectangle, relief_centre, samples

ISLANDS = (rectangle(80, 60), circle((50, 32), 20), moved(obround(20, 8), x=18, y=14, turn_deg=30))
SHAPES: dict[str, tuple[Curve, ...]] = {
    "knob": (lobed(),),
    "twelve lobes": (lobed(12, 30.0, 4.0, 5.0),),
    "plate with a notch": (notched(),),
    "hexagon with fillets": (hexagon(10.1, 1.5, 0.0),),
    "hexagon with reliefs": (hexagon(10.1, 1.5, 0.2),),
    "obround": (obround(40, 6.6),),
    "islands": ISLANDS,
}
CASES = [
    pytest.param(curves, by, id=f"{name} {by:+g}")
    for name, curves in SHAPES.items()
    for by in (3.0, 1.5, -0.4, -1.5, -3.1, -5.0)
]


@pytest.mark.parametrize(("curves", "by"), CASES)
def test_every_point_of_a_ring_is_at_its_distance(curves: tuple[Curve, ...], by: float) -> None:
    """A cutter that follows a ring touches the wall everywhere, to a millionth of a millimetre."""
    for ring in offset_rings(curves, by):
        assert max(abs(distance(curves, point) - abs(by)) for point in samples(ring)) < 1e-6


@pytest.mark.parametrize(("curves", "by"), CASES)
def test_rings_enclose_what_a_polygon_library_says(curves: tuple[Curve, ...], by: float) -> None:
    """The region inside the rings has the area of the library's offset of a much finer polygon."""
    expected = polygon(curves, 1e-4).buffer(by, quad_segs=200)
    rings = offset_rings(curves, by)
    area = region_of(rings, 1e-4).area if rings else 0.0
    assert area == pytest.approx(expected.area, abs=2e-4 * expected.length + 1e-3)


@pytest.mark.parametrize(
    ("curve", "by", "lines", "arcs"),
    [
        (lobed(), 1.5, 0, 12),
        (lobed(12, 30.0, 4.0, 5.0), 1.5, 0, 24),
        (notched(), 3.0, 8, 6),  # six outer corners are rounded, the notch's two inner ones stay sharp
        (hexagon(10.1, 1.5, 0.0), -1.5, 6, 0),  # the cutter's own fillets shrink to corners
        (hexagon(10.1, 1.5, 0.2), -1.5, 6, 12),
        (obround(40, 6.6), -3.1, 2, 2),
    ],
)
def test_a_ring_has_no_more_pieces_than_the_shape_gives_it(
    curve: Curve, by: float, lines: int, arcs: int
) -> None:
    """An arc of the part is one arc of the path, not a hundred chords."""
    (ring,) = offset_rings((curve,), by)
    round_ones = sum(piece.centre is not None for piece in ring.segments)
    assert (len(ring.segments) - round_ones, round_ones) == (lines, arcs)


def test_grown_plate_has_the_closed_form_area_and_length() -> None:
    """80 x 60 grown by 3: A + P r + pi r2 = 5668.3 mm2 and 298.8 mm round. (Steiner's formula.)"""
    (ring,) = offset_rings((rectangle(80, 60),), 3.0)
    assert ring.length == pytest.approx(280 + 6 * math.pi, abs=1e-9)
    assert region_of((ring,), 1e-5).area == pytest.approx(4800 + 840 + 9 * math.pi, abs=1e-3)


def test_rings_keep_the_region_on_their_left() -> None:
    """Outer rings run anticlockwise and rings round islands clockwise, whichever way the source was drawn."""
    backwards = (ISLANDS[0].reversed(), ISLANDS[1], ISLANDS[2].reversed())
    for curves in (ISLANDS, backwards):
        assert sorted(is_anticlockwise(ring) for ring in offset_rings(curves, -1.5)) == [False, False, True]


@pytest.mark.parametrize("travel", [0.02, 0.1, 0.2, 0.2359])
def test_the_finishing_path_goes_to_the_bottom_of_every_corner_relief(travel: float) -> None:
    """A relief that is exactly the cutter's circle is reached by the path that touches the flats."""
    rings = wall_rings((hexagon(10.1, 1.5, travel),), 1.5)
    for corner in range(6):
        assert distance(rings, relief_centre(10.1, 1.5, travel, corner)) < 1e-5


@pytest.mark.parametrize("travel", [0.0, 0.02, 0.2])
def test_the_finishing_path_grown_back_is_the_recess(travel: float) -> None:
    """What the cutter sweeps on its way is the recess, no more and no less than 5 um of it."""
    curve = hexagon(10.1, 1.5, travel)
    ring = region_of(wall_rings((curve,), 1.5), 1e-4)
    swept, recess = ring.buffer(1.5, quad_segs=128), polygon((curve,), 1e-4)
    assert swept.difference(recess.buffer(0.005)).is_empty
    assert recess.buffer(-0.005).difference(swept).is_empty


def keyhole(radius: float) -> Curve:
    """A square recess of 20 with a channel as wide as the cutter, round-ended about (14, 0)."""
    r = radius
    points = [(10.0, r), (10.0, 10.0), (-10.0, 10.0), (-10.0, -10.0), (10.0, -10.0), (10.0, -r), (14.0, -r)]
    straight = [Segment(one, two) for one, two in pairwise(points)]
    return Curve((*straight, Segment((14.0, -r), (14.0, r), (14.0, 0.0)), Segment((14.0, r), points[0])))


def test_a_channel_as_wide_as_the_cutter_is_visited_and_left_again() -> None:
    """Where an offset shrinks a channel to nothing, the cutter still goes to its end and back."""
    rings = wall_rings((keyhole(1.5),), 1.5)
    assert distance(rings, (14.0, 0.0)) < 1e-5
    for point in samples(rings[0]):
        assert distance((keyhole(1.5),), point) > 1.5 - 0.005


def test_a_neck_that_only_rounding_keeps_open_splits_the_ring() -> None:
    """Two rooms joined by a neck 1 nm wider than the cutter are two rings, not one with a hairline."""
    half = 1.5 + 5e-7
    below = [(-20.0, -8.0), (-4.0, -8.0), (-4.0, -half), (4.0, -half), (4.0, -8.0), (20.0, -8.0)]
    rooms = from_points([*below, *((-x, -y) for x, y in below)])
    assert len(offset_rings((rooms,), -1.5)) == 2


@pytest.mark.parametrize("curve", [obround(40, 6.0), rectangle(5.9, 30), circle((0, 0), 6.0)])
def test_nothing_is_left_inside_what_the_cutter_fills(curve: Curve) -> None:
    """A recess no wider than twice the distance has no ring."""
    assert offset_rings((curve,), -3.0) == ()


def rings_of_random_polygons() -> st.SearchStrategy[Curve]:
    """Star-shaped polygons with corners from needle-sharp to deeply hollow."""
    radii = st.lists(st.integers(4, 30), min_size=3, max_size=10)

    def ring(lengths: list[int]) -> Curve:
        step = math.tau / len(lengths)
        return from_points(
            [(length * math.cos(step * n), length * math.sin(step * n)) for n, length in enumerate(lengths)]
        )

    return radii.map(ring)


@settings(max_examples=150, deadline=None)
@given(curve=rings_of_random_polygons(), by=st.sampled_from([-4.0, -1.5, -0.5, 0.5, 1.5, 4.0]))
def test_any_polygon_gets_rings_at_the_distance(curve: Curve, by: float) -> None:
    """Whatever the corners, the rings are at the distance, and all that is further in lies inside them."""
    rings = offset_rings((curve,), by)
    for ring in rings:
        assert max(abs(distance((curve,), point) - abs(by)) for point in samples(ring, 4)) < 0.004
    shape = polygon((curve,))
    low_x, low_y, high_x, high_y = shape.buffer(abs(by)).bounds
    x, y = (axis.ravel() for axis in np.mgrid[low_x:high_x:40j, low_y:high_y:40j])
    signed = np.where(shapely.contains_xy(shape, x, y), -1.0, 1.0) * shapely.distance(
        shape.boundary, shapely.points(x, y)
    )
    inside = shapely.contains_xy(region_of(rings, 0.001), x, y)
    clear_of_doubt = np.abs(signed - by) > 0.02
    assert (inside == (signed < by))[clear_of_doubt].all()


@settings(max_examples=60, deadline=None)
@given(curve=rings_of_random_polygons(), by=st.sampled_from([-2.0, -1.0, 1.0]))
def test_offsets_of_rounded_shapes_are_exact_too(curve: Curve, by: float) -> None:
    """A polygon whose corners a cutter has rounded is offset again with nothing lost."""
    for grown in offset_rings((curve,), 2.0):
        if is_anticlockwise(grown):
            for ring in offset_rings((grown,), by):
                assert max(abs(distance((grown,), p) - abs(by)) for p in samples(ring, 4)) < 0.004


def test_a_dense_curve_is_fitted_with_few_arcs_close_to_it() -> None:
    """A wavy edge r = 25 + 3 cos 12t, known only by points, is followed within 2 um of those points."""
    angle = np.linspace(0, math.tau, 4000, endpoint=False)
    reach = 25 + 3 * np.cos(12 * angle)
    points = np.column_stack((reach * np.cos(angle), reach * np.sin(angle)))
    ring = fitted(points, 0.002)
    assert len(ring.segments) < 250
    worst = max(distance((ring,), (float(x), float(y))) for x, y in points[::7])
    assert worst < 0.002 + 1e-6
