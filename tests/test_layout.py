"""Laying out: nothing overlaps, nothing comes near a clamp, and a refusal says what would help."""

import math
from dataclasses import replace
from itertools import combinations

import pytest
from shapely import Polygon, box
from shapely.geometry import Point

from proveout.curve import circle, from_points, polygon
from proveout.finding import Level
from proveout.job.records import Cutter, Spindle
from proveout.layout.keepouts import standoff
from proveout.layout.lay import CLEARANCE, WEB, LayOrder, lay
from proveout.parts.part import Feature, Part, PlacedPart, lies
from proveout.setup import Obstacle

THREE = Cutter(
    number=1,
    name="3 mm",
    kind="flat",
    diameter=3.0,
    flutes=2,
    flute_length=15,
    stick_out=26,
    shank_diameter=3,
    centre_cutting=True,
    spiral="up",
    carbide=True,
)
SPINDLE = Spindle(
    min_rpm=8000, max_rpm=24000, power=400, nut_diameter=20, nut_length=16, body_diameter=65, spin_up=3
)


def disc(diameter: float = 40.0) -> Part:
    """A round part with a hole in its middle."""
    hole = Feature(
        name="hole",
        kind="hole",
        intent="bolt hole",
        curves=(circle((0, 0), 6.6),),
        floor=0.0,
        through=True,
        tolerance=0.1,
        cutter=1,
    )
    return Part(
        name="disc", outline=circle((0, 0), diameter), cutter=1, features=(hole,), rotations_deg=(0.0,)
    )


def bar(length: float = 90.0, width: float = 28.0) -> Part:
    """A rectangular part that may lie along or across."""
    ring = from_points([(0, 0), (length, 0), (length, width), (0, width)])
    return Part(name="bar", outline=ring, cutter=1, features=(), rotations_deg=(0.0, 90.0))


def clamp(x: float, y: float, top: float = 40.0) -> Obstacle:
    """A clamp's bar with its corner at (x, y)."""
    return Obstacle(kind="clamp", name="clamp", footprint=box(x, y, x + 25, y + 60), bottom=12, top=top)


def sheet(*parts: tuple[Part, int], obstacles: tuple[Obstacle, ...] = ()) -> LayOrder:
    """An order for a 300 x 200 mm sheet."""
    return LayOrder(
        parts=parts,
        size=(300.0, 200.0),
        edge_margin=6.0,
        cutters=(THREE,),
        spindle=SPINDLE,
        obstacles=obstacles,
        inserts=(),
        through_z=-0.3,
        units="mm",
    )


def outlines(placed: tuple[PlacedPart, ...]) -> list[Polygon]:
    """The parts as they lie."""
    return [polygon((lies(one).outline,)) for one in placed]


def test_kerfs_never_meet_and_a_web_stays_between_them() -> None:
    """Between any two parts there is room for both kerfs and the web that their tabs hold to."""
    laid = lay(sheet((disc(), 8), (bar(), 4)))
    assert len(laid.placed) == 12
    assert not laid.findings
    for one, other in combinations(outlines(laid.placed), 2):
        assert one.distance(other) >= 2 * THREE.diameter + WEB - 1e-6


def test_parts_keep_the_edge_margin_outside_their_kerf() -> None:
    """A kerf never runs off the sheet: the margin is kept between the kerf and the edge."""
    order = sheet((disc(), 8), (bar(), 4))
    inside = box(0, 0, *order.size).buffer(-(order.edge_margin + THREE.diameter) + 1e-6)
    assert all(inside.contains(outline) for outline in outlines(lay(order).placed))


def test_nothing_that_turns_comes_near_a_clamp() -> None:
    """Cutter, collet nut and spindle body all pass a clamp with the stated clearance at the deepest cut."""
    obstacles = (clamp(-10, 70), clamp(285, 70))
    order = sheet((disc(), 6), (bar(), 3), obstacles=obstacles)
    laid = lay(order)
    assert len(laid.placed) == 9
    away = standoff(obstacles[0], THREE, SPINDLE, order.through_z)
    assert away == SPINDLE.body_diameter / 2, "the body hangs 1.7 mm over this clamp: less than is kept"
    for outline in outlines(laid.placed):
        axis = outline.buffer(THREE.radius)
        for obstacle in obstacles:
            assert axis.distance(obstacle.footprint) >= away + CLEARANCE - 0.01


@pytest.mark.parametrize(
    ("top", "radius"),
    [(-2.4, 0.0), (10.0, 1.5), (20.0, 1.5), (24.0, 10.0), (30.0, 10.0), (50.0, 32.5)],
    ids=[
        "far below the tip",
        "beside flutes",
        "beside shank",
        "1.7 mm under the nut",
        "beside nut",
        "beside spindle",
    ],
)
def test_the_higher_the_clamp_the_thicker_the_thing_that_passes_it(top: float, radius: float) -> None:
    """A clamp counts from the widest part that hangs below its top, or less than 2 mm above it."""
    assert standoff(replace(clamp(0, 0), top=top), THREE, SPINDLE, -0.3) == radius


def test_the_same_sheet_is_laid_the_same_way_twice() -> None:
    """The budget is tries, not seconds: two runs agree to the last digit."""
    order = sheet((disc(), 5), (bar(), 3), obstacles=(clamp(100, 100),))
    assert lay(order) == lay(order)


def test_a_refusal_says_what_did_not_fit_and_which_sheet_would_do() -> None:
    """The length that the refusal asks for is enough when it is given."""
    order = sheet((disc(), 30))
    laid = lay(order)
    (finding,) = laid.findings
    assert finding.level is Level.STOP
    assert f"{30 - len(laid.placed)} of 30 disc did not fit on the sheet of 300 mm x 200 mm" in finding.text
    length = float(finding.remedy.split("a sheet ")[1].split(" mm long")[0])
    assert length > 300
    assert len(lay(replace(order, size=(length + 1.0, 200.0))).placed) == 30


def test_a_part_larger_than_any_sheet_is_refused_without_a_false_promise() -> None:
    """A part wider than the sheet can't be helped by a longer one, and the refusal doesn't say so."""
    (finding,) = lay(sheet((disc(250.0), 1))).findings
    assert "1 of 1 disc did not fit" in finding.text
    assert "long" not in finding.remedy


def test_through_cuts_keep_off_flush_inserts_and_ignore_deep_ones() -> None:
    """A kerf or a through hole never lies over metal that the cutter's tip would reach."""

    def insert(x: float, y: float, top: float) -> Obstacle:
        return Obstacle(kind="insert", name="i", footprint=Point(x, y).buffer(4.5), bottom=-50, top=top)

    places = [(x, y) for x in range(25, 300, 50) for y in range(25, 200, 50)]
    flush = tuple(insert(x, y, 0.0) for x, y in places)
    deep = tuple(insert(x, y, -1.0) for x, y in places)
    order = sheet((disc(36.0), 4))
    laid = lay(replace(order, inserts=flush))
    assert len(laid.placed) == 4
    for one in laid.placed:
        there = lies(one)
        outline = polygon((there.outline,))
        cut = outline.buffer(THREE.diameter).difference(outline)
        cut = cut.union(polygon(there.features[0].curves))
        assert all(not cut.intersects(metal.footprint) for metal in flush)
    assert lay(replace(order, inserts=deep)) == lay(order)


def test_a_bar_is_turned_where_that_saves_length() -> None:
    """A bar allowed to lie across does so when a sheet is only long enough for that."""
    order = replace(sheet((bar(120.0, 30.0), 3)), size=(140.0, 160.0))
    assert {one.turn_deg for one in lay(order).placed} == {90.0}
    fixed = replace(bar(120.0, 30.0), rotations_deg=(90.0,))
    assert len(lay(replace(order, parts=((fixed, 3),))).placed) == 3


def test_used_length_reaches_the_last_kerf() -> None:
    """The stated length covers every part with its kerf."""
    laid = lay(sheet((disc(), 3)))
    right = max(outline.bounds[2] for outline in outlines(laid.placed))
    assert right + THREE.diameter <= laid.used_length <= right + THREE.diameter + WEB + 2.0
    assert math.isfinite(laid.used_length)
