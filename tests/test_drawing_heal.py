"""Healing: what was cut to pieces, shuffled and drawn twice comes back whole; all that was done is told."""

import math
import random
from collections import Counter
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from ezdxf import recover
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon

from proveout.curve import Curve, Point, Segment, circle, from_points, is_circle, moved, polygon
from proveout.drawing.dxf_sheet import read_dxf_sheet
from proveout.drawing.heal import Healed, heal
from proveout.drawing.near import grouped, near_pairs
from proveout.drawing.wires import Wires
from proveout.finding import InputError

DRAWINGS = Path(__file__).resolve().parents[2] / "shared" / "drawings"

Row = tuple[Segment, int]  # and its ring, -1 for none


def wires(rows: list[Row], layer: list[int] | None = None, entity: list[int] | None = None) -> Wires:
    none = (math.nan, math.nan)
    return Wires(
        start=np.array([one.start for one, _ in rows], float).reshape(-1, 2),
        end=np.array([one.end for one, _ in rows], float).reshape(-1, 2),
        centre=np.array([one.centre or none for one, _ in rows], float).reshape(-1, 2),
        ccw=np.array([one.ccw for one, _ in rows], bool),
        layer=np.array(layer or [0] * len(rows), np.int32),
        entity=np.array(entity or list(range(len(rows))), np.int32),
        ring=np.array([ring for _, ring in rows], np.int32),
    )


def healed(segments: list[Segment], **named: list[int]) -> Healed:
    return heal(wires([(one, -1) for one in segments], **named), ("cut", "mark"), names(len(segments)))


def ringed(*curves: Curve) -> Healed:
    rows = [(one, number) for number, curve in enumerate(curves) for one in curve.segments]
    return heal(wires(rows), ("cut", "mark"), names(len(rows)))


def names(count: int) -> tuple[str, ...]:
    return tuple(f"E {number}" for number in range(count))


def lines(*points: Point) -> list[Segment]:
    return [Segment(a, b) for a, b in pairwise(points)]


def kinds(one: Healed) -> Counter[str]:
    return Counter(act.kind for act in one.acts)


def ngon(count: int, radius: float, at: Point = (0.0, 0.0)) -> list[Point]:
    turn = [math.tau * number / count for number in range(count)]
    return [(at[0] + radius * math.cos(one), at[1] + radius * math.sin(one)) for one in turn]


SQUARE = [(0.0, 0.0), (40.0, 0.0), (40.0, 30.0), (0.0, 30.0)]

# --- pieces back to what they were


@st.composite
def shapes(draw: st.DrawFn) -> tuple[Curve, float, float]:
    """A rectangle, a circle or an obround somewhere turned, its area and its length in closed form."""
    a, b = draw(st.floats(2, 18)), draw(st.floats(2, 18))
    match draw(st.sampled_from(("rectangle", "circle", "obround"))):
        case "rectangle":
            curve = from_points([(0, 0), (a, 0), (a, b), (0, b)])
            area, length = a * b, 2 * (a + b)
        case "circle":
            curve, area, length = circle((0, 0), a), math.pi * a * a / 4, math.pi * a
        case _:
            curve = slot(a, b)
            area, length = a * b + math.pi * b * b / 4, 2 * a + math.pi * b
    return moved(curve, turn_deg=draw(st.floats(0, 360))), area, length


def slot(between: float, width: float) -> Curve:
    r = width / 2
    return Curve(
        (
            Segment((0.0, -r), (between, -r)),
            Segment((between, -r), (between, r), (between, 0.0)),
            Segment((between, r), (0.0, r)),
            Segment((0.0, r), (0.0, -r), (0.0, 0.0)),
        )
    )


def cut(segment: Segment, luck: random.Random) -> list[Segment]:
    """A line or arc in up to three pieces."""
    shares = sorted([0.0, 1.0, *(luck.uniform(0.2, 0.8) for _ in range(luck.randrange(3)))])
    points = [segment.start, *(segment.at(one) for one in shares[1:-1]), segment.end]
    if any(math.dist(a, b) < 0.3 for a, b in pairwise(points)):
        return [segment]
    return [replace(segment, start=a, end=b) for a, b in pairwise(points)]


def loosened(segment: Segment, gap: float, luck: random.Random) -> Segment:
    """Its ends moved along it, each by at most half the gap, so that an arc stays on its circle."""
    first, last = (luck.uniform(0, gap / 2) / segment.length for _ in range(2))
    return replace(segment, start=segment.at(first), end=segment.at(1 - last))


@settings(deadline=None, max_examples=150)
@given(
    made=st.lists(shapes(), min_size=1, max_size=8),
    seed=st.integers(0, 2**32),
    gap=st.sampled_from((0.0, 0.04)),
)
def test_what_was_cut_to_pieces_comes_back_whole(
    made: list[tuple[Curve, float, float]], seed: int, gap: float
) -> None:
    luck = random.Random(seed)
    pieces: list[Segment] = []
    for number, (curve, _, _) in enumerate(made):
        placed = moved(curve, x=60.0 * number)
        pieces += [loosened(piece, gap, luck) for one in placed.segments for piece in cut(one, luck)]
    count = len(pieces)
    pieces += [luck.choice(pieces) for _ in range(luck.randrange(6))]
    twice = len(pieces) - count
    pieces = [one.reversed() if luck.random() < 0.5 else one for one in pieces]
    luck.shuffle(pieces)

    found = healed(pieces)

    assert not found.open_chains and not found.crossed
    assert kinds(found)["duplicate dropped"] == twice
    assert len(found.loops) == len(made)
    got = sorted(found.loops, key=lambda loop: loop.region.centroid.x)
    for loop, (_, area, length) in zip(got, made, strict=True):
        # flattened to 0.001 mm and closed over gaps of gap: no further off than a strip round the loop
        assert loop.region.area == pytest.approx(area, abs=(0.001 + gap) * length)
        assert loop.curve.length == pytest.approx(length, abs=1e-6 + 12 * gap)
        assert loop.region.is_valid
    for act in found.acts:
        assert act.at is not None and act.size is not None and "mm" in act.text
        if act.kind == "gap closed":
            assert act.size <= 0.05


def test_an_arc_keeps_its_circle_where_a_gap_is_closed() -> None:
    pieces = [loosened(one, 0.04, random.Random(3)) for one in slot(20, 8).segments]
    (loop,) = healed(pieces).loops
    arcs = [one for one in loop.curve.segments if one.centre]
    assert [one.radius for one in arcs] == pytest.approx([4.0, 4.0], abs=1e-12)
    assert sorted(one.centre for one in arcs if one.centre) == [(0.0, 0.0), (20.0, 0.0)]


# --- every act with its place and size


def test_what_has_no_length_is_dropped() -> None:
    found = healed([*from_points(SQUARE).segments, Segment((7.0, 8.0), (7.0, 8.00005))])
    (act,) = found.acts
    assert (act.kind, act.at) == ("zero length dropped", (7.0, 8.0))
    assert act.size == pytest.approx(5e-5)
    assert len(found.loops) == 1


@pytest.mark.parametrize("off", [0.0, 0.004])
@pytest.mark.parametrize("back", [False, True])
def test_a_copy_is_dropped_either_way_round_but_not_a_neighbour(off: float, back: bool) -> None:
    base = list(from_points(SQUARE).segments)
    copy = Segment((0.0, off), (40.0, off))
    found = healed([*base, copy.reversed() if back else copy])
    (act,) = found.acts
    assert act.kind == "duplicate dropped"
    assert act.size == pytest.approx(40)
    assert act.at == pytest.approx((20.0, off))
    assert len(found.loops) == 1
    apart = healed([*base, Segment((0.0, 0.5), (40.0, 0.5))])
    assert kinds(apart)["duplicate dropped"] == 0
    assert len(apart.open_chains) == 1


def test_an_arc_is_no_copy_of_its_chord_nor_of_the_other_half() -> None:
    up = Segment((5.0, 0.0), (-5.0, 0.0), (0.0, 0.0), True)
    down = Segment((5.0, 0.0), (-5.0, 0.0), (0.0, 0.0), False)
    (loop,) = healed([up, down]).loops
    assert is_circle(loop.curve) is not None
    (half,) = healed([up, Segment((5.0, 0.0), (-5.0, 0.0)), up.reversed()]).loops
    assert half.region.area == pytest.approx(math.pi * 25 / 2, abs=0.02)


def test_a_whole_loop_drawn_twice_is_kept_once_however_it_is_cut() -> None:
    corner = ngon(4, 6.0, (3.0, 4.0))
    quarter = [Segment(a, b, (3.0, 4.0)) for a, b in zip(corner, corner[1:] + corner[:1], strict=True)]
    rows = [*((one, 0) for one in circle((3.0, 4.0), 12).segments), *((one, -1) for one in quarter)]
    found = heal(wires(rows), ("cut",), names(len(rows)))
    assert len(found.loops) == 1
    assert kinds(found) == {"duplicate dropped": 1}
    assert found.acts[0].size == pytest.approx(12 * math.pi)


def test_a_closed_entity_keeps_an_edge_that_another_shares() -> None:
    other = from_points([(40, 0), (80, 0), (80, 30), (40, 30)])
    found = ringed(from_points(SQUARE), other)
    assert len(found.loops) == 2 and not found.acts


def test_lines_on_a_closed_entity_are_dropped() -> None:
    rows = [*((one, 0) for one in from_points(SQUARE).segments), (Segment((40.0, 30.0), (40.0, 0.0)), -1)]
    found = heal(wires(rows), ("cut",), names(5))
    assert len(found.loops) == 1 and not found.open_chains
    assert kinds(found) == {"duplicate dropped": 1}


@pytest.mark.parametrize("turn", [0.0, 33.0, math.degrees(0.5), 90.0, 135.0, 180.0])
def test_lines_that_overlap_are_made_one(turn: float) -> None:
    parts = [
        *lines(*SQUARE[1:], SQUARE[0]),
        *lines((0.0, 0.0), (25.0, 1e-7)),
        *lines((15.0, 1e-7), (40.0, 0.0)),
    ]
    curve = [moved_segment(one, turn) for one in parts]
    found = healed(curve)
    (act,) = found.acts
    assert act.kind == "overlap merged"
    assert act.size == pytest.approx(10)
    (loop,) = found.loops
    assert loop.region.area == pytest.approx(1200)
    assert len(loop.curve.segments) == 4


def moved_segment(one: Segment, turn: float) -> Segment:
    return moved(Curve((one, one.reversed())), x=3, y=5, turn_deg=turn).segments[0]


def test_a_shape_keeps_its_own_edge_on_another_s_longer_one() -> None:
    small = [(10.0, 0.0), (20.0, 0.0), (20.0, -10.0), (10.0, -10.0)]
    found = healed([*from_points(SQUARE).segments, *from_points(small).segments])
    assert sorted(round(loop.region.area) for loop in found.loops) == [100, 1200]
    assert kinds(found)["overlap merged"] == 0


def test_a_gap_within_the_limit_is_closed_and_a_wider_one_told() -> None:
    for wide, kind in ((0.03, "gap closed"), (0.4, "gap left open")):
        found = healed(lines(*SQUARE, (0.0, wide)))
        (act,) = [one for one in found.acts if one.kind.startswith("gap")]
        assert act.kind == kind
        assert act.size == pytest.approx(wide)
        assert act.at == pytest.approx((0.0, wide / 2))
        assert len(found.loops) == (kind == "gap closed")
    (chain,) = found.open_chains
    assert sorted(chain.ends) == [(0.0, 0.0), (0.0, 0.4)]
    assert chain.length == pytest.approx(139.6)
    assert (chain.layer, chain.entity) == ("cut", "E 0")


def test_the_nearest_ends_are_closed_first() -> None:
    # three ends within the limit: the two that lie 0.01 mm apart meet, the third stays
    stray = Segment((-0.03, 0.0), (-9.0, 0.0))
    found = healed([*lines(*SQUARE, (0.0, 0.01)), stray])
    assert len(found.loops) == 1 and len(found.open_chains) == 1
    assert next(one for one in found.acts if one.kind == "gap closed").size == pytest.approx(0.01)


def test_a_branch_goes_on_along_its_own_entity_or_layer_and_is_told_otherwise() -> None:
    whisker = Segment((0.0, 0.0), (-9.0, 0.0))
    pieces = [*from_points(SQUARE).segments, whisker]
    by_entity = healed(pieces, entity=[0, 0, 0, 0, 1])
    by_layer = healed(pieces, layer=[0, 0, 0, 0, 1])
    for found in (by_entity, by_layer):
        assert len(found.loops) == 1 and len(found.open_chains) == 1
        assert kinds(found)["branch"] == 0
    found = healed(pieces)
    act = next(one for one in found.acts if one.kind == "branch")
    assert (act.at, act.size) == ((0.0, 0.0), 3.0)
    assert not found.loops


def test_a_loop_that_crosses_itself_is_told_with_its_place_and_left() -> None:
    found = ringed(from_points([(0, 0), (10, 10), (10, 0), (0, 10)]))
    (act,) = found.acts
    assert act.kind == "self-crossing"
    assert act.at == pytest.approx((5, 5))
    assert not found.loops
    assert found.crossed[0].curve == from_points([(0, 0), (10, 10), (10, 0), (0, 10)])


def test_a_loop_that_encloses_nothing_is_dropped() -> None:
    found = ringed(from_points([(0, 0), (20, 0), (40, 0.001)]))
    (act,) = found.acts
    assert act.kind == "no area dropped"
    assert act.size == pytest.approx(80)
    assert not found.loops


def test_more_arcs_than_polygons_can_hold_are_refused() -> None:
    huge = [
        Segment((90_000.0 + x, 0.0), (-90_000.0 + x, 0.0), (x, 0.0))
        for x in np.linspace(0, 9, 2_000).tolist()
    ]
    with pytest.raises(InputError, match="points"):
        healed(huge)


def test_more_loose_ends_in_one_spot_than_can_be_told_apart_are_refused() -> None:
    spots = np.random.default_rng(1).uniform(-0.02, 0.02, (8_000, 2)).tolist()
    with pytest.raises(InputError, match="coarser"):
        healed([Segment((x, y), (x + 50.0, y + 1e3 * x)) for x, y in spots])


# --- arcs found again


@pytest.mark.parametrize("count", [13, 25, 40, 100])
@pytest.mark.parametrize("radius", [1.0, 1.5, 3.0, 30.0])
@pytest.mark.parametrize("ring", [True, False])
def test_a_ring_of_lines_is_a_circle_only_within_the_tolerance(count: int, radius: float, ring: bool) -> None:
    corners = ngon(count, radius, (7.0, -3.0))
    found = ringed(from_points(corners)) if ring else healed(list(from_points(corners).segments))
    (loop,) = found.loops
    # corners and middles lie in a band of r (1 - cos(pi / n)): half of it off a circle in the middle
    bulge = radius * (1 - math.cos(math.pi / count))
    if bulge / 2 > 0.01:
        assert not found.acts and len(loop.curve.segments) == count
        return
    (act,) = found.acts
    assert act.kind == "circle refitted"
    assert act.size == pytest.approx(bulge)
    centre, diameter = is_circle(loop.curve) or ((math.nan, math.nan), math.nan)
    assert centre == pytest.approx((7.0, -3.0), abs=1e-9)
    assert diameter == pytest.approx(2 * radius)


@pytest.mark.parametrize("turn", [0.0, 17.0])
def test_a_slot_of_tiny_lines_is_a_slot_of_arcs_again(turn: float) -> None:
    whole = moved(slot(30, 12), turn_deg=turn)
    corners = [
        one.at(share / 48) for one in whole.segments for share in (range(48) if one.centre else range(1))
    ]
    found = healed(list(from_points(corners).segments))
    (loop,) = found.loops
    arcs = [one for one in loop.curve.segments if one.centre]
    assert len(arcs) == 2 and len(loop.curve.segments) == 4
    assert [one.radius for one in arcs] == pytest.approx([6.0, 6.0], abs=0.002)
    assert kinds(found)["arc refitted"] == 2
    assert loop.region.symmetric_difference(polygon((whole,))).area < 0.01 * whole.length
    # the arcs run smoothly into the lines: the radius stands square on them
    for arc in arcs:
        for line in (one for one in loop.curve.segments if not one.centre):
            for end in {arc.start, arc.end} & {line.start, line.end}:
                arm = np.subtract(end, arc.centre or end)
                way = np.subtract(line.end, line.start)
                assert abs(arm @ way) / (np.hypot(*arm) * np.hypot(*way)) < math.radians(0.5)


@pytest.mark.parametrize("off", [0.2, -0.3, 0.9])
def test_a_join_that_is_nearly_smooth_is_made_so_and_no_other(off: float) -> None:
    # a quarter turn of 1 mm between two lines, the first of which comes in askew
    arc = [(math.cos(one), math.sin(one)) for one in np.linspace(0, math.pi / 2, 31).tolist()]
    askew = math.radians(off)
    start = (1 + 5 * math.sin(askew), -5 * math.cos(askew))
    found = ringed(from_points([start, *arc, (-20.0, 1.0), (-20.0, start[1])]))
    (curve,) = [one.curve for one in found.loops]
    (number,) = [number for number, one in enumerate(curve.segments) if one.centre]
    bend, line = curve.segments[number], curve.segments[number - 1]
    arm, way = np.subtract(bend.start, bend.centre or bend.start), np.subtract(line.end, line.start)
    angle = math.degrees(abs(math.asin(arm @ way / (np.hypot(*arm) * np.hypot(*way)))))
    told = [one for one in found.acts if one.kind == "join made smooth"]
    if abs(off) < 0.5:
        assert angle < 1e-6
        # both lines stay on themselves, and the arc leaves on the second as smoothly
        after = curve.segments[(number + 1) % len(curve.segments)]
        assert math.atan2(way[1], way[0]) == pytest.approx(math.pi / 2 + askew, abs=1e-9)
        assert (bend.end[1], after.start[1], after.end[1]) == pytest.approx((1, 1, 1), abs=1e-9)
        assert bend.end[0] == pytest.approx((bend.centre or bend.end)[0], abs=1e-6)
        assert told and all(one.at is not None and 0 < (one.size or 0) <= 0.05 for one in told)
    else:
        assert angle == pytest.approx(abs(off), abs=0.1)
        assert all(math.dist(one.at or start, (1, 0)) > 0.5 for one in told)


def test_seven_lines_and_a_straight_row_stay_lines() -> None:
    arc = [(10 * math.cos(one), 10 * math.sin(one)) for one in np.linspace(0, 0.5, 8).tolist()]  # 7 segments
    assert not kinds(ringed(from_points([*arc, (0.0, 0.0)])))["arc refitted"]
    bowed = [(4.0 * one, 1e-4 * one * (10 - one)) for one in range(11)]
    found = ringed(from_points([*bowed, (20.0, 30.0)]))
    assert not found.acts and len(found.loops[0].curve.segments) == 12


@settings(deadline=None, max_examples=60)
@given(
    radius=st.floats(2, 200),
    sweep=st.floats(0.6, 5.5),
    count=st.integers(8, 200),
    noise=st.sampled_from((0.0, 0.0005)),
    seed=st.integers(0, 999),
)
def test_an_arc_is_found_wherever_it_lies_within_the_tolerance(
    radius: float, sweep: float, count: int, noise: float, seed: int
) -> None:
    luck = random.Random(seed)
    step = sweep / count
    corners = []
    for one in range(count + 1):
        r = radius + luck.uniform(-noise, noise)
        corners.append((r * math.cos(one * step), r * math.sin(one * step)))
    found = ringed(from_points([*corners, (0.0, 0.0)]))
    before = Polygon([*corners, (0.0, 0.0)])
    curve = (found.loops or found.crossed)[0].curve
    bulge = radius * (1 - math.cos(step / 2))
    if noise == 0 and bulge < 0.019 and step < math.radians(29) and radius * (1 - math.cos(sweep / 2)) > 0.05:
        assert [one.radius for one in curve.segments if one.centre] == pytest.approx([radius], rel=1e-6)
    # whatever was refitted: nothing moved by more than the tolerances together
    assert polygon((curve,)).boundary.hausdorff_distance(before.boundary) < 0.04
    for act in found.acts:
        if act.kind == "arc refitted":
            assert act.size is not None and act.size <= 0.03


# --- the grid


@settings(deadline=None)
@given(
    points=st.lists(st.tuples(st.floats(-3, 3), st.floats(-3, 3)), min_size=1, max_size=40),
    reach=st.floats(0.05, 2),
)
def test_near_pairs_and_groups_are_those_of_the_slow_way(points: list[Point], reach: float) -> None:
    slow = {
        (one, other)
        for one in range(len(points))
        for other in range(one + 1, len(points))
        if np.hypot(points[one][0] - points[other][0], points[one][1] - points[other][1]) <= reach
    }
    pairs = near_pairs(np.array(points), reach)
    assert {(one, other) for one, other in pairs.tolist()} == slow and len(pairs) == len(slow)
    leader = list(range(len(points)))
    for _ in points:
        for one, other in slow:
            leader[one] = leader[other] = min(leader[one], leader[other])
    assert grouped(len(points), pairs).tolist() == leader


# --- drawings from elsewhere


def drawn(part: str) -> Healed:
    files = [one for one in DRAWINGS.glob("*.dxf") if part in one.name] if DRAWINGS.is_dir() else []
    if not files:
        pytest.skip("the shared drawings are not beside the project")
    sheet = read_dxf_sheet(files[0])
    return heal(sheet.wires, sheet.layers, sheet.entities)


def test_a_panel_that_is_really_open_is_not_closed() -> None:
    # its maker's file has 12 places where an odd number of ends meet, 1.42 mm apart and less
    found = drawn("1420.07")
    assert not found.loops
    ends = Counter(end for act in found.acts if act.kind == "branch" for end in [act.at])
    assert len(ends) == 12
    assert len(found.open_chains) == 18


def test_holes_that_were_cut_to_25_lines_are_circles_again() -> None:
    files = list(DRAWINGS.glob("tapsterbot*.dxf")) if DRAWINGS.is_dir() else []
    if not files:
        pytest.skip("the shared drawings are not beside the project")
    document, _ = recover.readfile(files[0])
    found = healed(
        [
            Segment((a.x, a.y), (b.x, b.y))
            for a, b in ((e.dxf.start, e.dxf.end) for e in document.modelspace())
        ]
    )
    sizes = Counter(
        round(round_[1], 3) for loop in found.loops if (round_ := is_circle(loop.curve, 1e-6)) is not None
    )
    assert sizes[3.0] >= 4


def test_a_plate_drawn_properly_needs_no_healing() -> None:
    found = drawn("Mid_Panel")
    assert len(found.loops) == 11 and not found.acts
