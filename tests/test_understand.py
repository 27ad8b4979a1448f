"""Parts out of loops: what lies in what, in which order, and where a cutter can't go."""

import itertools
import math
import random
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Point as Dot
from shapely import Polygon

from proveout.curve import Curve, circle, from_points, moved, polygon
from proveout.drawing.loops import Loop
from proveout.drawing.understand import WIDTH_ERROR, narrowest, narrowest_web, reaches, understand
from proveout.finding import InputError
from proveout.job.records import Cutter


def loop(curve: Curve, layer: str = "cut", entity: str = "LINE 1") -> Loop:
    return Loop(layer=layer, entity=entity, curve=curve, region=polygon((curve,)))


def box(x: float, y: float, length: float, width: float) -> Curve:
    return from_points([(x, y), (x + length, y), (x + length, y + width), (x, y + width)])


def cutter(diameter: float, number: int = 1) -> Cutter:
    return Cutter(
        number=number, name=f"{diameter} mm", kind="flat", diameter=diameter, flutes=2, flute_length=20.0,
        stick_out=30.0, shank_diameter=6.0, centre_cutting=True, spiral="up", carbide=True,
    )  # fmt: skip


@st.composite
def nested(draw: Any, x: float = 0.0, y: float = 0.0, size: float = 400.0, depth: int = 0) -> list[Any]:
    """Loops as (curve, depth), boxes and circles in the quarters of one another."""
    drawn: list[Any] = []
    for i, j in itertools.product((0, 1), repeat=2):
        if depth < 4 and draw(st.booleans()):
            side = size / 2
            left, front = x + i * side + 0.05 * side, y + j * side + 0.05 * side
            inner = 0.9 * side
            if draw(st.booleans()):
                drawn.append((box(left, front, inner, inner), depth))
                drawn += draw(nested(left, front, inner, depth + 1))
            else:
                drawn.append((circle((left + inner / 2, front + inner / 2), inner), depth))
                within = inner / math.sqrt(2)
                edge = (inner - within) / 2
                drawn += draw(nested(left + edge, front + edge, within, depth + 1))
    return drawn


@settings(max_examples=60, deadline=None)
@given(nested(), st.integers(0, 1000))
def test_random_nests_are_parted_as_they_were_drawn(drawn: list[Any], seed: int) -> None:
    mixed = list(drawn)
    random.Random(seed).shuffle(mixed)
    parts = understand([loop(curve) for curve, _ in mixed])
    assert sum(1 + len(part.holes) for part in parts) == len(drawn)
    assert len(parts) == sum(depth % 2 == 0 for _, depth in drawn)
    depths = {id(curve): depth for curve, depth in drawn}
    for part in parts:
        assert bool(part.inside) == (depths[id(part.loop.curve)] > 0)
        for hole in part.holes:
            assert depths[id(hole.loop.curve)] == depths[id(part.loop.curve)] + 1
            assert part.loop.region.contains(hole.loop.region)
    # every place lies in a part where it lies in an odd number of loops: the even-odd rule, by points
    dice = random.Random(seed)
    for _ in range(30):
        dot = Dot(dice.uniform(0, 400), dice.uniform(0, 400))
        inside = sum(polygon((curve,)).contains(dot) for curve, _ in drawn)
        assert any(part.region.contains(dot) for part in parts) == bool(inside % 2)
    # and the names don't hang on the order of drawing
    assert [(one.name, one.lines) for one in understand([loop(curve) for curve, _ in drawn])] == [
        (one.name, one.lines) for one in parts
    ]


def test_the_area_of_a_part_is_its_outline_less_its_holes() -> None:
    drawn = [box(0, 0, 100, 50), circle((20, 25), 6.6), circle((80, 25), 10.0)]
    (part,) = understand([loop(curve) for curve in drawn])
    assert part.region.area == pytest.approx(5000 - math.pi * (3.3**2 + 5**2), abs=0.05)
    assert [hole.name for hole in part.holes] == ["hole 1", "hole 2"]
    assert part.holes[0].shape.length == pytest.approx(10.0)
    assert part.holes[1].text == "hole 2: circle 6.6 mm: M6 normal clearance hole (ISO 273)"


def test_an_island_in_a_hole_is_a_part_that_says_where_it_lies() -> None:
    drawn = [box(0, 0, 100, 100), box(10, 10, 80, 80), box(20, 20, 20, 20), box(60, 20, 20, 20)]
    outer, left, right = understand([loop(curve) for curve in drawn])
    assert (outer.inside, left.inside, right.inside) == ("", "part 1", "part 1")
    assert left.loop.region.bounds[0] < right.loop.region.bounds[0]
    assert left.lines[0] == "part 2: square 20 mm, in a hole of part 1"


def test_only_the_layers_named_are_cuts() -> None:
    drawn = [loop(box(0, 0, 100, 50)), loop(circle((20, 20), 8), layer="notes")]
    assert len(understand(drawn)[0].holes) == 1
    assert understand(drawn, layers={"cut"})[0].holes == ()
    assert understand(drawn, layers=()) == ()


@pytest.mark.parametrize("other", [box(90, 10, 20, 20), circle((0.0, 20.0), 8.0)])
def test_loops_that_cross_are_refused_with_the_place(other: Curve) -> None:
    with pytest.raises(InputError, match=r"crosses .* at \(-?\d+") as told:
        understand([loop(box(0, 0, 100, 50)), loop(other, entity="CIRCLE 9")])
    assert "CIRCLE 9" in str(told.value)


def test_a_hole_that_shares_an_edge_with_its_outline_is_refused() -> None:
    with pytest.raises(InputError, match="touches"):
        understand([loop(box(0, 0, 100, 50)), loop(box(0, 10, 20, 20))])


# --- where cutters go


@given(st.floats(0.5, 15.0), st.floats(0.0, 179.0))
@settings(max_examples=30, deadline=None)
def test_a_slot_between_two_rooms_is_as_narrow_as_drawn(width: float, turn: float) -> None:
    a, b = width / 2, 40.0
    points = [(-80, -b), (-20, -b), (-20, -a), (20, -a), (20, -b), (80, -b),
              (80, b), (20, b), (20, a), (-20, a), (-20, b), (-80, b)]  # fmt: skip
    found = narrowest(polygon((moved(from_points([(float(x), y) for x, y in points]), turn_deg=turn),)))
    assert found is not None
    assert found[0] == pytest.approx(width, abs=WIDTH_ERROR)


@given(st.floats(0.5, 15.0))
@settings(max_examples=30, deadline=None)
def test_a_blind_slot_and_an_hourglass_are_found(width: float) -> None:
    # a blind slot 30 deep in the side of a room; and the neck between two circles cut out of a bar
    room = Polygon(
        [(0, 0), (60, 0), (60, 60), (30 + width, 60), (30 + width, 90), (30, 90), (30, 60), (0, 60)]
    )
    blind = narrowest(room)
    assert blind is not None
    assert blind[0] == pytest.approx(width, abs=WIDTH_ERROR)
    bar = Polygon([(-60, -40), (60, -40), (60, 40), (-60, 40)])
    for side in (-1, 1):
        bar = bar.difference(Dot(0, side * (25 + width / 2)).buffer(25, 256))
    neck = narrowest(bar)
    assert neck is not None
    assert neck[0] == pytest.approx(width, abs=WIDTH_ERROR)
    assert math.hypot(*neck[1]) < 3


def test_corners_of_wide_rooms_are_not_narrow() -> None:
    assert narrowest(Polygon([(0, 0), (100, 0), (50, 90)])) is None
    assert narrowest(polygon((circle((0, 0), 60.0),))) is None


@given(st.floats(0.3, 9.0), st.floats(0.3, 9.0))
@settings(deadline=None)
def test_webs_are_the_distance_between_circles_and_to_the_edge(between: float, edge: float) -> None:
    drawn = [box(0, 0, 200, 100), circle((50, 50), 20.0), circle((70 + between, 50), 20.0),
             circle((150, 10 + edge), 20.0)]  # fmt: skip
    (part,) = understand([loop(curve) for curve in drawn])
    web = narrowest_web(part)
    assert web is not None
    assert web[0] == pytest.approx(min(between, edge), abs=0.003)
    at = (60 + between / 2, 50) if between < edge else (150, edge / 2)
    if abs(between - edge) > 0.01:
        assert web[1] == pytest.approx(at, abs=0.5)


def told(*curves: Curve, diameters: tuple[float, ...] = (3.0, 6.0)) -> dict[str, str]:
    (part,) = understand([loop(curve) for curve in curves])
    cutters = [cutter(diameter, number) for number, diameter in enumerate(diameters, 1)]
    return {act.kind: act.text for act in reaches(part, cutters)}


def test_the_largest_cutter_that_cuts_every_corner_is_named() -> None:
    assert "cutter 2 (6 mm)" in told(box(0, 0, 100, 100), circle((50, 50), 6.6))["corners cut"]
    assert "cutter 1 (3 mm)" in told(box(0, 0, 100, 100), circle((50, 50), 5.9))["corners cut"]


def test_sharp_corners_of_a_hole_say_what_stays_and_of_an_outline_nothing() -> None:
    # 1.5 (sqrt(2) - 1) = 0.62
    said = told(box(0, 0, 100, 100), box(30, 30, 40, 40))
    assert "0.62 mm in a right angle" in said["corners not cut"]
    assert "radius of at least 1.5 mm" in said["corners not cut"]
    assert told(box(0, 0, 100, 100)) == {}


def test_a_slot_and_a_bay_narrower_than_every_cutter_are_told() -> None:
    hole = told(box(0, 0, 100, 100), box(30, 30, 40, 2.5))
    assert "hole 1: 2.5 mm at the narrowest" in hole["slot too narrow"]
    bay = from_points([(0, 0), (100, 0), (100, 60), (52.5, 60), (52.5, 30), (50, 30), (50, 60), (0, 60)])
    (part,) = understand([loop(bay)])
    (act,) = (one for one in reaches(part, [cutter(3.0)]) if one.kind == "slot too narrow")
    assert act.size == pytest.approx(2.5, abs=WIDTH_ERROR)
    assert "outline" in act.text
    assert "slot too narrow" not in told(bay, diameters=(2.0,))


def test_no_flat_cutter_is_said() -> None:
    assert set(told(box(0, 0, 10, 10), diameters=())) == {"no cutter"}


def test_cuts_that_are_alike_are_told_together() -> None:
    small = [circle((10.0 + 10 * k, 10.0), 2.0) for k in range(9)]
    (part,) = understand([loop(curve) for curve in (box(0, 0, 100, 20), *small)])
    narrow, web = reaches(part, [cutter(3.0)])
    assert "hole 1, hole 2, hole 3 and 6 more" in narrow.text
    assert web.kind == "narrowest web"


def test_a_cutter_of_a_slots_own_width_goes_in_and_rounding_doesnt_matter() -> None:
    for width in (3.0, 3.0 - 1e-7):
        said = told(box(0, 0, 100, 100), circle((50, 50), width), diameters=(3.0,))
        assert "cutter 1 (3 mm)" in said["corners cut"]
    assert "slot too narrow" in told(box(0, 0, 100, 100), circle((50, 50), 2.98), diameters=(3.0,))


def test_a_narrow_hole_that_is_drawn_twice_is_told_where_it_first_lies() -> None:
    # the same notched hole at two places, searched once: the place told lies in the first one's notch
    notched = [(0, 0), (30, 0), (30, 20), (16, 20), (16, 35), (14, 35), (14, 20), (0, 20)]
    holes = [from_points([(x + dx, y + 10.0) for x, y in notched]) for dx in (10.0, 60.0)]
    (part,) = understand([loop(curve) for curve in (box(0, 0, 100, 60), *holes)])
    (act,) = (one for one in reaches(part, [cutter(3.0)]) if one.kind == "slot too narrow")
    assert act.size == pytest.approx(2.0, abs=WIDTH_ERROR)
    assert "hole 1, hole 2" in act.text
    assert act.at is not None
    assert 24 <= act.at[0] <= 26
    assert 30 <= act.at[1] <= 45
