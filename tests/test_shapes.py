"""What a closed curve is taken for: shapes built by their closed forms, turned, split, started anywhere."""

import math
from itertools import pairwise
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from proveout.curve import Curve, Point, Segment, circle, from_points, moved, polygon
from proveout.drawing.shapes import shape_of

sizes = st.floats(4.0, 200.0)
turns = st.floats(0.0, 179.9)
places = st.floats(-500.0, 500.0)


@st.composite
def redrawn(draw: Any, curve: Curve) -> Curve:
    """The same curve as another would draw it: edges split, another start, the other way round."""
    pieces: list[Segment] = []
    for one in curve.segments:
        cuts = sorted(draw(st.lists(st.floats(0.1, 0.9), max_size=2)))
        marks = [0.0, *(cut for i, cut in enumerate(cuts) if i == 0 or cut - cuts[i - 1] > 0.05), 1.0]
        points = [one.start, *(one.at(mark) for mark in marks[1:-1]), one.end]
        pieces += [Segment(a, b, one.centre, one.ccw) for a, b in pairwise(points)]
    start = draw(st.integers(0, len(pieces) - 1))
    whole = Curve(tuple(pieces[start:] + pieces[:start]))
    return whole.reversed() if draw(st.booleans()) else whole


def ngon(flats: float, sides: int = 6) -> list[Point]:
    reach = flats / 2 / math.cos(math.pi / sides)
    return [
        (reach * math.cos(math.tau * k / sides), reach * math.sin(math.tau * k / sides)) for k in range(sides)
    ]


def box(length: float, width: float, radius: float = 0.0) -> Curve:
    """A rectangle about the origin, its corners rounded."""
    x, y = length / 2, width / 2
    if not radius:
        return from_points([(-x, -y), (x, -y), (x, y), (-x, y)])
    a, b = x - radius, y - radius
    return Curve((
        Segment((-a, -y), (a, -y)), Segment((a, -y), (x, -b), (a, -b)),
        Segment((x, -b), (x, b)), Segment((x, b), (a, y), (a, b)),
        Segment((a, y), (-a, y)), Segment((-a, y), (-x, b), (-a, b)),
        Segment((-x, b), (-x, -b)), Segment((-x, -b), (-a, -y), (-a, -b)),
    ))  # fmt: skip


def obround(length: float, width: float) -> Curve:
    a, r = (length - width) / 2, width / 2
    return Curve((
        Segment((-a, -r), (a, -r)), Segment((a, -r), (a, r), (a, 0.0)),
        Segment((a, r), (-a, r)), Segment((-a, r), (-a, -r), (-a, 0.0)),
    ))  # fmt: skip


def same_turn(one: float, other: float, period: float) -> bool:
    return abs(math.remainder(one - other, period)) < 0.01


@given(st.data(), sizes, places, places)
def test_a_circle_in_any_number_of_arcs_is_a_circle(data: Any, diameter: float, x: float, y: float) -> None:
    found = shape_of(data.draw(redrawn(circle((x, y), diameter))))
    assert found.kind == "circle"
    assert found.length == pytest.approx(diameter, abs=1e-6)
    assert found.centre == pytest.approx((x, y), abs=1e-6)
    assert found.inside_radius(hole=True) == pytest.approx(diameter / 2)
    assert found.inside_radius(hole=False) is None


@given(st.data(), sizes, st.floats(1.02, 8.0), turns, places)
def test_an_obround_is_known_with_its_sizes(
    data: Any, width: float, share: float, turn: float, x: float
) -> None:
    curve = moved(obround(width * share, width), x=x, y=3.0, turn_deg=turn)
    found = shape_of(data.draw(redrawn(curve)))
    assert found.kind == "obround"
    assert (found.length, found.width) == pytest.approx((width * share, width), abs=0.01)
    assert same_turn(found.turn_deg, turn, 180)
    assert found.centre == pytest.approx((x, 3.0), abs=0.01)
    assert found.inside_radius(hole=True) == pytest.approx(width / 2, abs=0.01)
    assert found.fillets == ()


@given(st.data(), sizes, turns, places)
def test_a_hexagon_is_known_with_its_flats_and_turn(data: Any, flats: float, turn: float, x: float) -> None:
    found = shape_of(data.draw(redrawn(moved(from_points(ngon(flats)), x=x, y=-x, turn_deg=turn))))
    assert found.kind == "hexagon"
    assert found.length == pytest.approx(flats, abs=0.005)
    assert same_turn(found.turn_deg, turn, 60)
    assert found.inside_radius(hole=True) == 0
    assert found.inside_radius(hole=False) is None
    assert found.corners == found.straights == 6


@given(st.data(), sizes, st.floats(1.01, 6.0), st.sampled_from([0.0, 0.1, 0.3, 0.45]), turns)
def test_a_rectangle_is_known_rounded_or_not(
    data: Any, width: float, share: float, rounding: float, turn: float
) -> None:
    radius = width * rounding
    curve = moved(box(width * share, width, radius), x=7.0, y=-4.0, turn_deg=turn)
    found = shape_of(data.draw(redrawn(curve)))
    assert found.kind == "rectangle"
    assert (found.length, found.width) == pytest.approx((width * share, width), abs=0.01)
    assert found.corner_radius == pytest.approx(radius, abs=0.01)
    assert found.fillets == pytest.approx((radius,) * (4 if radius else 0), abs=0.01)
    assert found.inside_radius(hole=True) == pytest.approx(radius, abs=0.01)
    assert found.centre == pytest.approx((7.0, -4.0), abs=0.01)
    if width * (share - 1) > 0.1:
        assert same_turn(found.turn_deg, turn, 180)


# 0.1 mm is 0.2 % of 50 mm: from there on such a hexagon is regular enough
@given(st.floats(4.0, 49.0), st.integers(0, 5), turns, st.sampled_from([-0.1, 0.1]))
def test_a_hexagon_with_one_flat_off_is_none(flats: float, which: int, turn: float, off: float) -> None:
    # a flat that is moved along its normal slides its two corners along the neighbouring flats
    points = ngon(flats)
    normal = math.radians(60 * which + 30)
    slide = off / math.cos(math.radians(30))
    for corner, way in ((which, normal + math.radians(30)), ((which + 1) % 6, normal - math.radians(30))):
        x, y = points[corner]
        points[corner] = (x + slide * math.cos(way), y + slide * math.sin(way))
    found = shape_of(moved(from_points(points), turn_deg=turn))
    assert found.kind == "polygon"
    assert found.straights == 6


@given(st.sampled_from([5, 7, 8]), sizes)
def test_other_regular_shapes_are_no_hexagon(sides: int, flats: float) -> None:
    assert shape_of(from_points(ngon(flats, sides))).kind == "polygon"


@given(st.floats(0.1, 3.0), sizes)
def test_a_sheared_rectangle_is_none(shear: float, size: float) -> None:
    # the diagonals of a parallelogram differ by more than its shear's share of the length
    lean = shear + 0.01 * size
    points = [(0.0, 0.0), (2 * size, 0.0), (2 * size + lean, size), (lean, size)]
    assert shape_of(from_points(points)).kind == "polygon"


@given(st.integers(24, 800), st.floats(3.0, 60.0))
def test_a_circle_in_facets_is_a_circle_and_says_so(count: int, diameter: float) -> None:
    found = shape_of(from_points([circle_point(diameter, k, count) for k in range(count)]))
    assert found.kind == "circle"
    assert found.length == pytest.approx(diameter, abs=0.01)
    assert found.facets > 0
    assert "facets" in found.said


def circle_point(diameter: float, k: int, count: int) -> Point:
    angle = math.tau * k / count
    return diameter / 2 * math.cos(angle), diameter / 2 * math.sin(angle)


@given(st.floats(0.5, 4.0), turns)
def test_an_inside_corner_lies_on_the_side_that_is_cut(radius: float, turn: float) -> None:
    # an L whose one inside corner, as an outline, has a radius; as a hole it has five sharp ones
    bend = Segment((10.0 + radius, 10.0), (10.0, 10.0 + radius), (10.0 + radius, 10.0 + radius), False)
    points: list[Point] = [(10.0, 30.0), (0.0, 30.0), (0.0, 0.0), (30.0, 0.0), (30.0, 10.0), bend.start]
    lines = [Segment(a, b) for a, b in pairwise(points)]
    curve = moved(Curve((*lines, bend, Segment(bend.end, points[0]))), turn_deg=turn)
    for drawn in (curve, curve.reversed()):
        found = shape_of(drawn)
        assert found.inside_radius(hole=False) == pytest.approx(radius, abs=1e-6)
        assert found.inside_radius(hole=True) == 0
        assert found.corners == 5
        assert found.fillets == pytest.approx((radius,))


@settings(max_examples=50)
@given(st.data(), sizes, turns)
def test_the_size_of_what_has_no_name_is_its_regions(data: Any, size: float, turn: float) -> None:
    # a D: half a circle and its chord; compared with the polygon that another library holds
    half = Segment((size, 0.0), (-size, 0.0), (0.0, 0.0))
    curve = moved(Curve((half, Segment(half.end, half.start))), x=4.0, turn_deg=turn)
    found = shape_of(data.draw(redrawn(curve)))
    low_x, low_y, high_x, high_y = polygon((curve,)).bounds
    assert found.kind == "other"
    assert (found.length, found.width) == pytest.approx((high_x - low_x, high_y - low_y), abs=0.01)


@given(st.floats(2.0, 20.0), st.integers(20, 400))
def test_a_fillet_in_facets_has_nearly_its_radius(radius: float, count: int) -> None:
    step = math.pi / 2 / count
    bow = [(radius * math.sin(step * k), radius - radius * math.cos(step * k)) for k in range(count + 1)]
    # the bow runs tangentially into the floor, and on up into a wall: its region lies to the left
    found = shape_of(from_points([*bow, (radius, 200.0), (-200.0, 200.0), (-200.0, 0.0)]))
    assert found.tightest_left == 0  # of the two far corners
    # seen from the other side, where the bow is the only bend to the right
    outside = [*bow, (radius, 200.0), (300.0, 200.0), (300.0, -50.0), (-200.0, -50.0), (-200.0, 0.0)]
    # in coarse facets, the cutter that leaves 0.01 mm in each: r (1/cos(half a turn) - 1)
    wanted = min(radius, 0.01 / (1 / math.cos(step / 2) - 1))
    assert shape_of(from_points(outside)).tightest_right == pytest.approx(wanted, rel=0.05)


@given(st.lists(st.tuples(st.floats(5.0, 50.0), st.floats(0.01, 0.9)), min_size=3, max_size=30))
def test_any_star_has_a_name_and_the_size_of_its_points(star: list[tuple[float, float]]) -> None:
    points = [
        (
            reach * math.cos(math.tau * (k + off) / len(star)),
            reach * math.sin(math.tau * (k + off) / len(star)),
        )
        for k, (reach, off) in enumerate(star)
    ]
    found = shape_of(from_points(points))
    assert found.said
    if found.kind == "polygon":
        xs, ys = zip(*points, strict=True)
        assert (found.length, found.width) == pytest.approx((max(xs) - min(xs), max(ys) - min(ys)), abs=0.01)


def bulged(start: Point, end: Point, bulge: float) -> Segment:
    """An arc by its bulge, the tangent of a quarter of its turn; a line for none (DXF reference, code 42)."""
    if not bulge:
        return Segment(start, end)
    off = (1 - bulge * bulge) / (4 * bulge)
    (x, y), (to_x, to_y) = start, end
    middle = ((x + to_x) / 2 - off * (to_y - y), (y + to_y) / 2 + off * (to_x - x))
    return Segment(start, end, middle, bulge > 0)


@st.composite
def coarse(draw: Any, curve: Curve, step: float) -> Curve:
    """The curve split and started anywhere, its points rounded to a step and its arcs' bulges to 5 digits."""
    pieces = []
    for one in draw(redrawn(curve)).segments:
        start, end = ((round(x / step) * step, round(y / step) * step) for x, y in (one.start, one.end))
        pieces.append(bulged(start, end, round(math.tan(one.sweep / 4), 5)))
    return Curve(tuple(pieces))


@settings(max_examples=60)
@given(st.data(), st.floats(5.0, 100.0), turns)
def test_coordinates_rounded_to_a_thousandth_change_no_name(data: Any, size: float, turn: float) -> None:
    drawn = {
        "circle": circle((5.0, 6.0), size),
        "obround": obround(2 * size, size),
        "hexagon": from_points(ngon(size)),
        "rectangle": box(1.5 * size, size, 0.2 * size),
    }
    for kind, curve in drawn.items():
        found = shape_of(data.draw(coarse(moved(curve, x=100.0, y=50.0, turn_deg=turn), 0.001)))
        assert found.kind == kind
        assert found.width == pytest.approx(size, abs=0.02)
