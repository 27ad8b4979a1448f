"""What turns against what stands on the bed."""

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon, box
from shapely.affinity import rotate

from proof_bench import CUTTER, SPINDLE, builder, clamp, insert, setup, trial
from proveout.finding import Finding
from proveout.motion import Motion, chords
from proveout.proof.strikes import clipped, cylinders
from proveout.proof.struck import strike_findings

BAR = clamp("C2", box(0, 10, 14, 24), 12.0, 24.0)


def cut(*points: tuple[float, float, float]) -> Motion:
    """Feeds from point to point, the first reached from straight above by a rapid."""
    moves = builder((*points[0][:2], 60.0))
    for line, point in enumerate(points, 1):
        moves.line = line
        moves.line_to(point)
    return moves.motion()


def struck(motion: Motion, *clamps: object) -> list[Finding]:
    """What is struck on a bench with these clamps, or one bar at C2."""
    return strike_findings(trial(setup(clamps=clamps or [BAR]), motion))  # type: ignore[arg-type]  # clamps


def test_a_clamp_under_the_tool_is_found_even_when_only_the_collet_nut_reaches_it() -> None:
    """A nut of 20 mm, 26 mm above the tip, strikes a bar of 24 mm at 9 mm from it when the tip is at -3."""
    motion = cut((23, 17, 12), (23, 17, -3))
    (finding,) = struck(motion)
    assert finding.kind == "clamp-struck"
    assert finding.line == 2
    assert finding.text == (
        "Line 2: the collet nut strikes the clamp at C2: "
        "it passes 1 mm inside the clamp's bar, 1 mm below its top."
    )
    assert (
        finding.remedy == "Move the clamp 2 mm to the left, or give the cutter a stick-out of at least 28 mm."
    )
    assert struck(cut((23, 17, 12), (23, 17, -1.9))) == []
    assert struck(cut((24.1, 17, 12), (24.1, 17, -3))) == []


def test_a_rapid_below_a_clamps_top_asks_for_a_higher_safe_height() -> None:
    """Crossing a bar of 24 mm at 20 mm is answered with a safe height of 25 mm above the bed."""
    moves = builder((40, 17, 20))
    moves.line = 5
    moves.rapid((5, 17, 20))
    (finding,) = struck(moves.motion())
    assert finding.text.startswith("Line 5: the cutter strikes the clamp at C2: it passes")
    assert "4 mm below its top" in finding.text
    assert finding.remedy == "Raise the safe height to at least 25 mm above the bed."


def test_passing_just_over_or_just_beside_a_clamp_is_silent() -> None:
    """A cutter 0.01 mm over a bar, or 0.01 mm beside it, strikes nothing; 0.01 mm the other way it does."""
    for z, count in ((24.01, 0), (23.99, 1)):
        assert len(struck(cut((40, 17, z), (5, 17, z)))) == count
    for x, count in ((15.51, 0), (15.49, 1)):
        assert len(struck(cut((x, 40, 14), (x, 0, 14)))) == count


def test_beneath_a_raised_bar_there_is_room() -> None:
    """A bar that lies 12 mm up isn't struck from below by a cutter that ends under it, but its shank is."""
    short = replace(CUTTER, flute_length=2.0, stick_out=2.5, shank_diameter=1.0)
    low = replace(setup(clamps=[BAR], cutters=[short]).machine.spindle, nut_diameter=0.5, body_diameter=0.5)
    bench = setup(clamps=[BAR], cutters=[short])
    bench = replace(bench, machine=replace(bench.machine, spindle=low))
    (finding,) = strike_findings(trial(bench, cut((20, 17, 1), (5, 17, 1))))
    assert "the collet nut strikes" in finding.text or "the spindle body strikes" in finding.text


def test_the_shank_is_told_from_the_cutter() -> None:
    """A 6 mm shank above 15 mm of flutes strikes a bar that a 3 mm cutter passes."""
    thick = replace(CUTTER, shank_diameter=6.0, stick_out=40.0)
    for cutter, count in ((thick, 1), (replace(thick, shank_diameter=3.0), 0)):
        bench = setup(clamps=[BAR], cutters=[cutter])
        found = strike_findings(trial(bench, cut((16.5, 40, 8), (16.5, 0, 8))))
        assert len(found) == count
        assert all("the shank strikes" in finding.text for finding in found)


def test_a_sloped_move_strikes_only_where_it_is_low_enough() -> None:
    """Coming down past a clamp, what counts is the height where the bar is, not the height at the end."""
    assert struck(cut((8, 17, 30), (20, 17, 20))) != []  # 24 mm is reached at x = 15.2, within the cutter
    assert struck(cut((8, 17, 30), (18.2, 17, 20))) != []
    assert struck(cut((14, 17, 30), (26, 17, 20))) == []  # 24 mm is reached at x = 21.2


def test_an_arc_strikes_where_its_bulge_reaches_the_bar() -> None:
    """An arc whose ends are clear of a bar but whose middle comes within the cutter's radius is found."""
    for radius, count in ((10.0, 0), (10.6, 1)):
        moves = builder((26, 17 - radius, 40))
        moves.rapid((26, 17 - radius, 13))
        moves.arc_to((26, 17 + radius, 13), (26, 17), -math.pi)
        bench = setup(clamps=[BAR], cutters=[replace(CUTTER, stick_out=60.0)])
        assert len(strike_findings(trial(bench, moves.motion()))) == count


def test_metal_under_a_through_cut_is_found() -> None:
    """An insert flush with the plate is struck by a cut 0.3 mm into the bed; one 1.5 mm down is not."""
    for top, count in ((0.0, 1), (-0.31, 0), (-1.5, 0)):
        bench = setup(inserts=[insert("D3", 30, 20, top)])
        found = strike_findings(trial(bench, cut((20, 20, 14), (20, 20, -0.3), (40, 20, -0.3))))
        assert [finding.kind for finding in found] == ["insert-struck"] * count
    assert found == []


def test_a_bolt_beside_the_work_is_named_as_a_bolt() -> None:
    """A bolt that stands where the bar doesn't is struck on its own and named with its clamp."""
    with_bolt = clamp("C2", box(0, 10, 14, 24), 12.0, 24.0, box(-9, 14, -3, 20))
    (finding,) = struck(cut((-6, 50, 30), (-6, 17, 30)), with_bolt)
    assert finding.kind == "bolt-struck"
    assert "the cutter strikes the bolt of the clamp at C2" in finding.text


def test_many_strikes_of_one_clamp_are_one_finding() -> None:
    """Forty moves across a clamp are told once: the first line, the worst of them, and how many more."""
    points = [(30.0 if step % 2 else 10.0, 17.0, 23.0 - step / 10) for step in range(40)]
    (finding,) = struck(cut(*points))
    assert finding.line == 1
    assert finding.text.endswith("39 more moves do so too; the worst is line 2.")


# --- against shapely

corner = st.tuples(st.floats(0, 40), st.floats(0, 40), st.floats(-3, 60))


@settings(max_examples=60, deadline=None)
@given(corner, corner, st.floats(0, 90))
def test_straight_moves_agree_with_a_walk_in_small_steps(
    start: tuple[float, float, float], end: tuple[float, float, float], turn: float
) -> None:
    """Whether a move strikes a turned bar is what standing at two thousand places along it says."""
    bar: Polygon = rotate(box(10, 15, 30, 22), turn)
    bench = setup(clamps=[clamp("C2", bar, 12.0, 24.0)])
    moves = builder(start)
    moves.line_to(end)
    found = bool(strike_findings(trial(bench, moves.motion())))
    share = np.linspace(0, 1, 2001)[:, None]
    walk = np.array(start) * (1 - share) + np.array(end) * share
    away = shapely.distance(shapely.points(walk[:, :2]), bar)
    depth = [
        np.minimum(
            one.radius - away, np.minimum(24 - walk[:, 2] - one.bottom, walk[:, 2] + one.top - 12)
        ).max()
        for one in cylinders(CUTTER, SPINDLE)
    ]
    if abs(max(depth)) > 0.03:  # nearer than the walk can tell
        assert found == (max(depth) > 0)


@given(corner, corner, st.floats(0, 20), st.floats(0.1, 30))
def test_clipping_keeps_what_lies_between_two_heights(
    start: tuple[float, float, float], end: tuple[float, float, float], low: float, more: float
) -> None:
    """Of a sloped move, the clipped part lies on the move and between the heights."""
    ends = sorted((start[2], end[2]))
    if ends[0] > low + more or ends[1] < low or ends[1] - ends[0] < 1e-6:
        return
    first, last = clipped(np.array([start]), np.array([end]), low, low + more)
    for point in (first[0], last[0]):
        assert low - 1e-9 <= point[2] <= low + more + 1e-9
        assert np.linalg.norm(np.cross(point - start, np.subtract(end, start))) < 1e-6 * 100


def test_the_depth_of_a_strike_is_what_shapely_measures() -> None:
    """How far an arc passes inside a bar is the cutter's radius less its distance, as shapely sees it."""
    moves = builder((26, 6.4, 13))
    moves.arc_to((26, 27.6, 13), (26, 17), -math.pi)
    motion = moves.motion()
    bench = setup(clamps=[BAR], cutters=[replace(CUTTER, stick_out=60.0)])
    (finding,) = strike_findings(trial(bench, motion))
    start, end, _ = chords(motion, 1e-4)
    path = shapely.MultiLineString([(a[:2], b[:2]) for a, b in zip(start, end, strict=True)])
    inside = 1.5 - path.distance(BAR.bar.footprint)
    said = float(finding.text.partition("passes ")[2].partition(" mm")[0])
    assert said == pytest.approx(inside, abs=0.0055)
