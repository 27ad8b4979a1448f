"""What every move takes from the stock, against closed forms, shapely and a plain twin."""

import math
from itertools import pairwise
from typing import Literal, NamedTuple

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString, Point, Polygon, box, points, union_all

from plain.sweep import remove_plainly
from proveout.job.records import Cutter
from proveout.motion import XY, YZ, Motion, MotionBuilder, turn_between
from proveout.proof.removal import Removal, fresh_field, remove
from proveout.proof.verdict import HeightField

Kind = Literal["flat", "ball", "bull nose", "vee", "drill"]

CELL = 0.1


def a_cutter(
    diameter: float = 6.0,
    kind: Kind = "flat",
    *,
    number: int = 1,
    point: float | None = None,
    corner: float | None = None,
) -> Cutter:
    return Cutter(
        number=number,
        name=f"{diameter} mm {kind}",
        kind=kind,
        diameter=diameter,
        flutes=2,
        flute_length=20.0,
        stick_out=30.0,
        shank_diameter=diameter,
        centre_cutting=True,
        spiral="up",
        carbide=True,
        point_deg=point,
        corner_radius=corner,
    )


def a_builder(at: tuple[float, float, float], number: int = 1) -> MotionBuilder:
    builder = MotionBuilder(at)
    builder.cutter, builder.feed = number, 20.0
    return builder


def straight(*through: tuple[float, float, float]) -> Motion:
    builder = a_builder(through[0])
    for point in through[1:]:
        builder.line_to(point)
    return builder.motion()


def a_block(size: tuple[float, float] = (80.0, 60.0), top: float = 12.0, cell: float = CELL) -> HeightField:
    return fresh_field(size, top, cell=cell, margin=0.0)


def taken(motion: Motion, cutter: Cutter, field: HeightField | None = None) -> float:
    return float(remove(field or a_block(), motion, [cutter]).removed.sum())


def turned(x: float, y: float, z: float, degrees: float = 23.0) -> tuple[float, float, float]:
    """A point turned about (12, 12), so that no wall runs along the grid."""
    cos, sin = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    return 12 + x * cos - y * sin, 12 + x * sin + y * cos, z


# --- volumes ----------------------------------------------------------------------------------------------


def assert_volume(found: float, true: float, *, perimeter: float, depth: float) -> None:
    """Within half a per cent, and no more wrong than a twentieth of a cell all along the rim."""
    assert found == pytest.approx(true, rel=5e-3)
    assert abs(found - true) <= 0.05 * perimeter * CELL * depth


def test_a_slot_takes_a_capsule() -> None:
    """A 6 mm cutter run 50 mm at 3 mm depth takes 3 x (2 r L + pi r2) = 3 x 328.3 mm3."""
    found = taken(straight(turned(0, 0, 9), turned(50, 0, 9)), a_cutter())
    true = 3 * (2 * 3 * 50 + math.pi * 9)
    assert_volume(found, true, perimeter=100 + 6 * math.pi, depth=3)


def test_a_ramp_takes_half_a_slot_and_a_whole_end() -> None:
    """A 6 mm flat cutter ramping 3 mm down over 40 mm takes d (D L / 2 + pi r2) = 444.8 mm3."""
    found = taken(straight(turned(0, 0, 12), turned(40, 0, 9)), a_cutter())
    assert_volume(found, 3 * (6 * 40 / 2 + math.pi * 9), perimeter=80 + 6 * math.pi, depth=3)


@pytest.mark.parametrize("steps", [1, 5])
def test_a_helix_with_a_last_level_turn_bores_a_cylinder(steps: int) -> None:
    """A 6 mm cutter on a helix of radius 2.5, 12 mm deep, takes pi (R + r)2 d = 1140 mm3."""
    builder = a_builder((32.52, 30.01, 12.0))
    for turn in range(steps):
        z = 12 - 12 * (turn + 1) / steps
        builder.arc_to((32.52, 30.01, z), (30.02, 30.01), math.tau)
    builder.arc_to((32.52, 30.01, 0.0), (30.02, 30.01), -math.tau)
    assert_volume(
        taken(builder.motion(), a_cutter()), math.pi * 5.5**2 * 12, perimeter=11 * math.pi, depth=12
    )


def test_a_wide_helix_leaves_its_core() -> None:
    """Where the helix is wider than the cutter, a core stands: 4 pi R r d is taken."""
    builder = a_builder((38.02, 30.01, 12.0))
    builder.arc_to((38.02, 30.01, 6.0), (30.02, 30.01), -2 * math.tau)
    builder.arc_to((38.02, 30.01, 6.0), (30.02, 30.01), -math.tau)
    found = remove(a_block(), builder.motion(), [a_cutter()])
    assert_volume(float(found.removed.sum()), 4 * math.pi * 8 * 3 * 6, perimeter=32 * math.pi, depth=6)
    assert found.field.heights[300, 300] == 12


def test_a_pocket_takes_its_area_less_the_round_corners() -> None:
    """A 40 x 25 mm pocket by a 6 mm cutter takes (a b - (4 - pi) r2) d."""
    builder = a_builder(turned(3, 3, 8))
    for row in range(8):
        y = 3 + 19 * row / 7
        there, back = (37, 3) if row % 2 == 0 else (3, 37)
        builder.line_to(turned(back, y, 8))
        builder.line_to(turned(there, y, 8))
    for x, y in ((3, 22), (3, 3), (37, 3), (37, 22), (3, 22)):
        builder.line_to(turned(x, y, 8))
    true = 4 * (40 * 25 - (4 - math.pi) * 9)
    assert_volume(taken(builder.motion(), a_cutter()), true, perimeter=130, depth=4)


def test_a_ball_slot_takes_a_round_groove() -> None:
    """A ball of radius 3 run 40 mm at 2 mm depth takes a circle's segment all along, and two half caps."""
    found = taken(straight(turned(0, 0, 10), turned(40, 0, 10)), a_cutter(kind="ball"))
    segment = 9 * math.acos(1 / 3) - 1 * math.sqrt(9 - 1)
    assert found == pytest.approx(segment * 40 + math.pi * 4 * (9 - 2) / 3, rel=1e-3)


def segment_of(corner: float, up: float) -> float:
    """The area under a corner's arc, on one side of the flat, up to a height below the corner's radius."""
    turn = math.acos(1 - up / corner)
    return corner**2 * (turn - math.sin(turn) * math.cos(turn)) / 2


@pytest.mark.parametrize(("depth", "corner"), [(2.0, 1.0), (0.4, 1.0), (1.5, 2.9), (2.0, 0.05)])
def test_a_bull_nose_slot_has_rounded_lower_corners(depth: float, corner: float) -> None:
    """All along a slot: the flat's width times the depth, and on both sides what the corner takes.

    That is the corner's square less what its quarter circle leaves of it, and the full width above; of a cut
    that is less deep than the corner, half a segment of the circle. The two ends make a solid of revolution.
    """
    length, flat = 40.0, 3 - corner
    way = straight(turned(0, 0, 12 - depth), turned(length, 0, 12 - depth))
    found = taken(way, a_cutter(kind="bull nose", corner=corner))
    beside = corner * depth - corner**2 * (1 - math.pi / 4) if depth >= corner else segment_of(corner, depth)
    up = np.linspace(0, depth, 20_001)
    half = flat + np.sqrt(corner**2 - np.maximum(corner - up, 0) ** 2)  # half the width at each height
    ends = float(np.trapezoid(math.pi * half**2, up))
    assert found == pytest.approx(2 * (flat * depth + beside) * length + ends, rel=1.5e-3)


def test_a_bull_nose_on_a_slope_lies_between_flat_and_ball() -> None:
    """On a ramp a bull nose takes less than a flat cutter and more than a ball, as its corner says."""
    way = straight(turned(0, 0, 11), turned(40, 0, 8))
    cutters = [
        a_cutter(kind="ball"),
        *(a_cutter(kind="bull nose", corner=r) for r in (2.99, 2, 1, 0.01)),
        a_cutter(),
    ]
    volumes = [taken(way, cutter) for cutter in cutters]
    assert volumes == sorted(volumes)
    assert volumes[1] == pytest.approx(volumes[0], rel=5e-3)
    assert volumes[4] == pytest.approx(volumes[5], rel=5e-3)


@pytest.mark.parametrize("corner", [None, 0.0, 3.0, 4.0])
def test_a_bull_nose_without_a_sound_corner_is_refused(corner: float | None) -> None:
    """A corner that isn't stated, or leaves no flat, can't be cut with."""
    with pytest.raises(ValueError, match="radius of its corner"):
        taken(straight((20, 20, 9), (30, 20, 9)), a_cutter(kind="bull nose", corner=corner))


def test_a_vee_slot_takes_a_triangle_all_along() -> None:
    """A 60 degree vee at 2 mm depth takes d2 tan 30 per mm, and a cone at its ends."""
    found = taken(straight(turned(0, 0, 10), turned(40, 0, 10)), a_cutter(12.0, "vee", point=60))
    half_width = 2 * math.tan(math.radians(30))
    assert found == pytest.approx(2 * half_width * 40 + math.pi * half_width**2 * 2 / 3, rel=1e-3)


def test_a_drill_leaves_a_cone_at_the_bottom() -> None:
    """A 6 mm drill with a 118 degree point, its tip 10 mm deep, drills pi r2 (10 - (2/3) r / tan 59)."""
    found = taken(straight((30.02, 30.01, 20), (30.02, 30.01, 2)), a_cutter(kind="drill", point=118))
    cone = 3 / math.tan(math.radians(59))
    assert found == pytest.approx(math.pi * 9 * (10 - cone + cone / 3), rel=5e-3)


# --- whole programs of level moves, against shapely ---------------------------------------------------------

Triple = tuple[float, float, float]
LEVELS = (11.0, 9.5, 8.0, 4.0)
CUTTERS = (a_cutter(6.0, number=1), a_cutter(3.2, number=2))
place = st.tuples(st.floats(-2, 32), st.floats(-2, 22))


class Level(NamedTuple):
    """A level way of one cutter, as it is programmed and as shapely knows it."""

    height: float
    cutter: Cutter
    moves: list[Triple]  # to X and Y, and how far round to the left; 0 straight
    line: LineString


@st.composite
def level_ways(draw: st.DrawFn) -> Level:
    """From a place by up to three lines and arcs, all at one height."""
    height, cutter = draw(st.sampled_from(LEVELS)), draw(st.sampled_from(CUTTERS))
    at = draw(place)
    moves: list[Triple] = []
    points = [at]
    for _ in range(draw(st.integers(1, 3))):
        to, sweep = draw(place), draw(st.sampled_from([0.0, 0.0, 2.0, -3.5, 5.5]))
        chord = math.dist(at, to)
        if chord < 0.5:
            continue
        moves.append((*to, sweep))
        count = 800 if sweep else 1
        points += [part_way(at, to, sweep, (k + 1) / count) for k in range(count)]
        at = to
    line = LineString(points if len(points) > 1 else [at, at])
    return Level(height, cutter, moves, line)


def middle_of(at: tuple[float, float], to: tuple[float, float], sweep: float) -> tuple[float, float]:
    """The middle of the arc between two places that turns by so much: half a chord over tan(sweep / 2)."""
    off = 0.5 / math.tan(sweep / 2)
    x, y = to[0] - at[0], to[1] - at[1]
    return (at[0] + to[0]) / 2 - off * y, (at[1] + to[1]) / 2 + off * x


def part_way(
    at: tuple[float, float], to: tuple[float, float], sweep: float, share: float
) -> tuple[float, float]:
    if not sweep:
        return at[0] + (to[0] - at[0]) * share, at[1] + (to[1] - at[1]) * share
    x, y = middle_of(at, to, sweep)
    cos, sin = math.cos(sweep * share), math.sin(sweep * share)
    return x + (at[0] - x) * cos - (at[1] - y) * sin, y + (at[0] - x) * sin + (at[1] - y) * cos


def programmed(ways: list[Level]) -> Motion:
    builder = a_builder((0.0, 0.0, 20.0))
    for way in ways:
        at = (float(way.line.coords[0][0]), float(way.line.coords[0][1]))
        builder.cutter = way.cutter.number
        builder.rapid((*at, 20.0))
        builder.line_to((*at, way.height))
        for x, y, sweep in way.moves:
            if sweep:
                builder.arc_to((x, y, way.height), middle_of(at, (x, y), sweep), sweep)
            else:
                builder.line_to((x, y, way.height))
            at = (x, y)
        builder.rapid((*at, 20.0))
    return builder.motion()


def widened(way: Level) -> list[Polygon]:
    """A way's chords, each widened by the cutter.

    Not the way as a whole: widened at once, arcs much tighter than the cutter come out too large by up to a
    tenth (GEOS 3.14), which its own distances contradict.
    """
    places = way.line.simplify(1e-3).coords
    return [LineString(pair).buffer(way.cutter.radius, quad_segs=64) for pair in pairwise(places)]


@settings(max_examples=40, deadline=None, derandomize=True)
@given(ways=st.lists(level_ways(), min_size=1, max_size=6))
def test_level_programs_leave_what_shapely_says_at_every_level(ways: list[Level]) -> None:
    """Down to each level, what is cut is the union of the ways at or below it, widened by their cutters.

    Cell by cell by shapely's distance to the ways, but for the arcs' chords; and in sum by the union's area,
    to half a cell's diagonal all along its edge: no count of middles can be further off.
    """
    field = a_block((30.0, 20.0), cell=0.4)
    heights = remove(field, programmed(ways), CUTTERS).field.heights
    middles = points(*centres(field))
    wanted, slack_of_all = 0.0, 0.0
    beyond = {id(way): way.line.distance(middles) - way.cutter.radius for way in ways}
    for above, level in zip((12.0, *LEVELS[:-1]), LEVELS, strict=True):
        lower = [way for way in ways if way.height <= level]
        off = np.min([np.full(heights.shape, np.inf), *(beyond[id(way)] for way in lower)], axis=0)
        cut = heights <= level + 1e-4
        clear_of_the_wall = np.abs(off) > 5e-4
        assert (cut == (off < 0))[clear_of_the_wall].all()
        swept = union_all([piece for way in lower for piece in widened(way)])
        swept = swept.intersection(box(0, 0, 30, 20))
        slack = field.cell / math.sqrt(2) * swept.length
        assert np.count_nonzero(cut) * field.cell**2 == pytest.approx(swept.area, abs=slack)
        wanted += swept.area * (above - level)
        slack_of_all += slack * (above - level)
    volume = float((12.0 - heights.astype(np.float64)).sum()) * field.cell**2
    assert volume == pytest.approx(wanted, abs=slack_of_all)


# --- walls ------------------------------------------------------------------------------------------------


def centres(field: HeightField) -> tuple[np.ndarray, np.ndarray]:
    rows, columns = field.heights.shape
    return np.meshgrid((np.arange(columns) + 0.5) * field.cell, (np.arange(rows) + 0.5) * field.cell)


@pytest.mark.parametrize("degrees", [0, 7, 45, 90, 133])
def test_a_cell_is_cut_exactly_where_the_cutter_covers_its_middle(degrees: float) -> None:
    """Around a slot at any angle, a cell goes if and only if its middle is within the radius (by shapely)."""
    field = a_block(cell=0.25)
    ends = [
        (40 + s * 20 * math.cos(math.radians(degrees)), 30 + s * 20 * math.sin(math.radians(degrees)))
        for s in (-1, 1)
    ]
    cut = remove(field, straight((*ends[0], 9), (*ends[1], 9)), [a_cutter(3.175)])
    away = LineString(ends).distance(points(*centres(field)))
    clear_of_the_wall = np.abs(away - 3.175 / 2) > 1e-6
    assert ((cut.field.heights == 9) == (away < 3.175 / 2))[clear_of_the_wall].all()


@pytest.mark.parametrize("sweep", [0.3, 1.5, math.pi, 4.0, 6.2, math.tau, -0.3, -2.5, -4.5, -math.tau])
@pytest.mark.parametrize("radius", [0.7, 9.0])
def test_an_arc_cuts_exactly_what_lies_within_the_radius_of_it(sweep: float, radius: float) -> None:
    """A level arc, of any sweep and hand, cuts what is within the radius of it (by shapely)."""
    field = a_block(cell=0.4)
    angles = 0.4 + sweep * np.linspace(0, 1, 601)
    curve = np.column_stack((40.013 + radius * np.cos(angles), 30.007 + radius * np.sin(angles)))
    builder = a_builder((curve[0, 0], curve[0, 1], 9.0))
    builder.arc_to((curve[-1, 0], curve[-1, 1], 9.0), (40.013, 30.007), sweep)
    cut = remove(field, builder.motion(), [a_cutter(5.0)])
    away = LineString(curve).distance(points(*centres(field)))
    clear_of_the_wall = np.abs(away - 2.5) > 5e-4  # the chords of the comparison
    assert ((cut.field.heights == 9) == (away < 2.5))[clear_of_the_wall].all()


def test_a_wall_lies_where_it_should_on_average() -> None:
    """A round boss's wall is within 0.01 mm of its place at 0.1 mm cells: area error over perimeter."""
    builder = a_builder((53.01, 30.02, 5.0))
    builder.arc_to((53.01, 30.02, 5.0), (40.01, 30.02), -math.tau)
    cut = remove(a_block(), builder.motion(), [a_cutter()]).field.heights
    x, y = centres(a_block())
    boss = (cut == 12) & (np.hypot(x - 40.01, y - 30.02) < 13)
    assert boss.sum() * CELL**2 == pytest.approx(math.pi * 100, abs=0.01 * 20 * math.pi)


def test_a_cell_just_on_the_wall_stands() -> None:
    """A cell whose middle is exactly on the wall is the part's: a 6.1 mm slot along the grid spares it."""
    cut = remove(a_block(), straight((20, 30, 9), (60, 30, 9)), [a_cutter(6.1)]).field.heights
    column = cut[:, 400]
    assert (column == 9).sum() == 60
    assert column[269] == column[330] == 12


# --- what each move did -----------------------------------------------------------------------------------


def test_the_books_of_two_passes() -> None:
    """Two passes of 2 mm each meet 2 mm of material each, and the second is the one that cuts through."""
    motion = straight((20, 30, 14), (20, 30, 2), (50, 30, 2), (50, 30, 0), (20, 30, 0))
    cut = remove(a_block(top=4.0), motion, [a_cutter()])
    assert cut.depth.tolist() == [2, 2, 2, 2]
    assert cut.through[300, 350] == 1 + 3
    assert cut.through[300, 510] == 1 + 2
    assert cut.through[300, 100] == 0


def test_air_cuts_nothing() -> None:
    """A move above the stock, or where all is gone already, removes nothing and meets nothing."""
    cut = remove(
        a_block(), straight((20, 30, 9), (40, 30, 9), (20, 30, 9), (20, 30, 13), (60, 30, 13)), [a_cutter()]
    )
    assert cut.removed[0] > 0
    assert (cut.removed[1:] == 0).all() and (cut.depth[1:] == 0).all()


def test_a_rapid_cuts_what_is_in_its_way() -> None:
    """A rapid through standing material takes it like any move: the spindle doesn't know the difference."""
    builder = a_builder((20, 30, 20))
    builder.rapid((60, 30, 10))
    assert remove(a_block(), builder.motion(), [a_cutter()]).removed[0] > 0


def test_the_first_move_that_cuts_too_deep_is_named() -> None:
    """A floor at 3 mm, cut to 2.5: the plunge and the pass breach it by 0.5, a second pass doesn't."""
    allowed = np.full(a_block().heights.shape, 3.0, dtype=np.float32)
    motion = straight((20, 30, 3), (40, 30, 3), (40, 30, 2.5), (20, 30, 2.5), (40, 30, 2.5))
    cut = remove(a_block(), motion, [a_cutter()], allowed=allowed)
    assert cut.breach.tolist() == [0, 0.5, 0.5, 0]
    x, y = cut.breach_at[2]
    assert Point(x, y).distance(LineString([(20, 30), (40, 30)])) < 3


def test_a_cut_to_the_very_floor_is_allowed() -> None:
    """A floor of 2.03 mm (which no binary number hits) cut at 2.03 mm is not breached."""
    allowed = np.full(a_block().heights.shape, 2.03, dtype=np.float32)
    cut = remove(a_block(), straight((20, 30, 2.03), (40, 30, 2.03)), [a_cutter()], allowed=allowed)
    assert cut.breach.max() == 0


def test_a_level_cut_at_the_through_level_goes_through() -> None:
    """A cut at just the level is through, whatever binary fractions make of 0.1."""
    cut = remove(a_block(), straight((20, 30, 0.1), (40, 30, 0.1)), [a_cutter()], through_level=0.1)
    assert cut.through[300, 300] == 1


def test_beside_the_stock_the_plate_is_cut() -> None:
    """A through cut 0.5 mm below the bed, half outside the stock, takes 0.5 mm of the plate there."""
    field = fresh_field((20.0, 20.0), 6.0, cell=CELL, margin=5.0)
    cut = remove(field, straight((20, 5, -0.5), (20, 15, -0.5)), [a_cutter()])
    assert cut.field.heights[150, 265] == -0.5
    assert cut.depth[0] == 6.5


def test_a_cutter_that_nobody_has_takes_nothing() -> None:
    """A move with a cutter number that the bench doesn't have leaves the stock as it was."""
    builder = a_builder((20, 30, 3), number=7)
    builder.line_to((40, 30, 3))
    assert remove(a_block(), builder.motion(), [a_cutter()]).removed.sum() == 0


def test_an_upright_arc_dips_into_the_stock() -> None:
    """A half circle of radius 5 that stands upright, hung 2 mm into the stock, reaches just that deep."""
    builder = a_builder((40, 25, 15))
    builder.arc_to((40, 35, 15), (30, 15), math.pi, plane=YZ)
    assert builder.motion().plane[0] == YZ
    cut = remove(a_block(), builder.motion(), [a_cutter(1.0)]).field.heights
    assert cut.min() == pytest.approx(10, abs=0.003)


# --- the field --------------------------------------------------------------------------------------------


def test_a_field_has_its_stock_corner_at_zero() -> None:
    """With a margin of 5 mm around 20 x 10 mm of stock, the corner cell of the stock begins at (0, 0)."""
    field = fresh_field((20.0, 10.0), 6.0, cell=0.5, margin=5.2)
    assert field.origin == (-5.5, -5.5)
    assert (field.heights == 6).sum() == 40 * 20
    assert field.heights[11, 11] == 6 and field.heights[10, 11] == 0


@pytest.mark.parametrize(("size", "cell"), [((0.0, 10.0), 0.1), ((10.0, 10.0), 0.0), ((1e6, 1e6), 0.1)])
def test_an_impossible_field_is_refused(size: tuple[float, float], cell: float) -> None:
    """No size, no cell or more cells than a small computer holds: refused before memory is taken."""
    with pytest.raises(ValueError, match="cell"):
        fresh_field(size, 6.0, cell=cell, margin=1.0)


def test_a_vee_without_an_angle_is_refused() -> None:
    """Nobody can say what a vee leaves whose angle isn't known."""
    with pytest.raises(ValueError, match="angle of its point"):
        remove(a_block(), straight((1, 1, 9), (2, 2, 9)), [a_cutter(kind="vee")])


# --- the twin, and the threads ------------------------------------------------------------------------------


coordinate = st.floats(-3, 23, allow_nan=False, width=32)
height = st.floats(-1, 8, allow_nan=False, width=32)


@st.composite
def motions(draw: st.DrawFn) -> Motion:
    """A handful of moves of every kind in and around a 20 x 15 mm block."""
    builder = a_builder((draw(coordinate), draw(coordinate), draw(height)))
    for _ in range(draw(st.integers(1, 6))):
        x, y, z = builder.at
        match draw(st.sampled_from(["line", "plunge", "level", "arc", "helix"])):
            case "line":
                builder.line_to((draw(coordinate), draw(coordinate), draw(height)))
            case "plunge":
                builder.line_to((x, y, draw(height)))
            case "level":
                builder.line_to((draw(coordinate), draw(coordinate), z))
            case kind:
                centre = draw(coordinate), draw(coordinate)
                sweep = draw(st.floats(-6, 6))
                cos, sin = math.cos(sweep), math.sin(sweep)
                arm = x - centre[0], y - centre[1]
                to = centre[0] + arm[0] * cos - arm[1] * sin, centre[1] + arm[0] * sin + arm[1] * cos
                builder.arc_to((*to, z if kind == "arc" else draw(height)), centre, sweep)
    return builder.motion()


@pytest.mark.parametrize(
    "cutter",
    [
        a_cutter(3.1),
        a_cutter(5, "ball"),
        a_cutter(6, "vee", point=60),
        a_cutter(4, "drill", point=118),
        a_cutter(5, "bull nose", corner=1.1),
        a_cutter(5, "bull nose", corner=0.2),
    ],
    ids=lambda cutter: cutter.kind,
)
@settings(max_examples=25, deadline=None, derandomize=True)
@given(motion=motions())
def test_the_kernel_matches_its_plain_twin(cutter: Cutter, motion: Motion) -> None:
    """Whatever the moves, the fast sweep takes the same as the plain one; a flat cutter's to the last bit."""
    field = fresh_field((20.0, 15.0), 6.0, cell=0.5, margin=2.0)
    allowed = np.full(field.heights.shape, 2.0, dtype=np.float32)
    fast = remove(field, motion, [cutter], allowed=allowed, through_level=0.0)
    plain = remove_plainly(field, motion, [cutter], allowed, 0.0)
    if cutter.kind == "flat":
        assert np.array_equal(fast.field.heights, plain.heights)
        assert np.array_equal(fast.through, plain.through)
    np.testing.assert_allclose(fast.field.heights, plain.heights, atol=2e-6)
    np.testing.assert_allclose(fast.removed, plain.removed, atol=1e-4)
    np.testing.assert_allclose(fast.depth, plain.depth, atol=1e-5)
    np.testing.assert_allclose(fast.breach, plain.breach, atol=1e-5)


def scribbled(count: int) -> Motion:
    """A long random walk with ramps and arcs over an 80 x 60 mm block."""
    random = np.random.default_rng(7)
    builder = a_builder((40, 30, 9))
    for x, y, z in random.uniform((0, 0, 0), (80, 60, 12), (count, 3)):
        builder.line_to((x, y, z))
        centre = float(random.uniform(0, 80)), float(random.uniform(0, 60))
        builder.arc_to((x, y, z), centre, turn_between((x, y), (x, y), centre, ccw=True), plane=XY)
    return builder.motion()


def as_bytes(cut: Removal) -> list[bytes]:
    arrays = (cut.field.heights, cut.removed, cut.depth, cut.breach, cut.breach_at, cut.through)
    return [array.tobytes() for array in arrays]


def test_threads_change_nothing() -> None:
    """One, two or five threads give the same heights, volumes and places, byte for byte."""
    field, motion = a_block(), scribbled(40)
    allowed = np.full(field.heights.shape, 5.0, dtype=np.float32)
    results = [
        as_bytes(remove(field, motion, [a_cutter()], allowed=allowed, threads=threads))
        for threads in (1, 2, 5)
    ]
    assert results[0] == results[1] == results[2]


def test_the_field_that_is_given_stays_as_it_was() -> None:
    """Removal works on a copy: the stock before the cut can be used again."""
    field = a_block()
    remove(field, straight((20, 30, 0), (40, 30, 0)), [a_cutter()])
    assert (field.heights == 12).all()
