"""What the machine, the spindle and the bed can take: found just beyond, silent just within."""

import math
from collections.abc import Callable, Iterable
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from proof_bench import CUTTER, builder, setup, trial
from proveout.finding import Finding, Level
from proveout.motion import XY, YZ, ZX, Motion, MotionBuilder, chords
from proveout.proof.limits import (
    bed_cut,
    beyond_travel,
    cuts_outside,
    cutters_unknown,
    feeds_too_fast,
    speeds_out_of_range,
)
from proveout.proof.trial import Trial, tip_boxes


def one_feed(to: tuple[float, float, float], start: tuple[float, float, float] = (30, 20, 40)) -> Motion:
    """A single feed move on line 4."""
    moves = builder(start)
    moves.line = 4
    moves.line_to(to)
    return moves.motion()


def found(check: Callable[[Trial], Iterable[Finding]], motion: Motion) -> list[Finding]:
    """What a check says of a motion on the plain bench."""
    return list(check(trial(setup(), motion)))


@pytest.mark.parametrize(("x", "count"), [(159.99, 0), (160.005, 0), (160.02, 1)])
def test_travel_ends_where_the_machine_ends(x: float, count: int) -> None:
    """A move 0.02 mm beyond the travel is found; one that ends on it, but for rounding, is not."""
    assert len(found(beyond_travel, one_feed((x, 20, 40)))) == count


def test_leaving_the_travel_says_where_and_by_how_much() -> None:
    """The sentence names the side and the millimetres."""
    (finding,) = found(beyond_travel, one_feed((30, -102.5, 40)))
    assert finding.text == "Line 4: the move leaves the machine's travel by 2.5 mm on its front side."
    assert finding.level is Level.STOP


def test_an_arc_that_bulges_out_of_the_travel_is_found() -> None:
    """Both ends of an arc may lie within the travel while its middle does not."""
    for x, count in ((149.9, 0), (150.1, 1)):
        moves = builder((x, 10, 40))
        moves.arc_to((x, 30, 40), (x, 20), math.pi)
        assert len(found(beyond_travel, moves.motion())) == count


@pytest.mark.parametrize(
    ("to", "feed", "count"),
    [
        ((50, 20, 40), 4000, 0),
        ((50, 20, 40), 4100, 1),
        ((50, 40, 40), 5600, 0),  # 4000 x sqrt 2 = 5657 along the diagonal
        ((50, 40, 40), 5700, 1),
        ((30, 20, 20), 1500, 0),
        ((30, 20, 20), 1550, 1),
    ],
)
def test_a_feed_is_held_against_each_axis_along_its_direction(
    to: tuple[float, float, float], feed: float, count: int
) -> None:
    """4000 mm/min along X, 5657 along the diagonal, 1500 straight down: no axis may be asked for more."""
    moves = builder((30, 20, 40))
    moves.feed = feed / 60
    moves.line_to(to)
    findings = found(feeds_too_fast, moves.motion())
    assert len(findings) == count
    assert all(finding.level is Level.CAUTION for finding in findings)


def test_a_feed_too_fast_names_what_the_machine_can_do() -> None:
    """The sentence gives the feed asked for and the one that can be had."""
    moves = builder((30, 20, 40))
    moves.feed, moves.line = 100.0, 9
    moves.line_to((50, 20, 40))
    (finding,) = found(feeds_too_fast, moves.motion())
    assert "Line 9: the feed of 6000 mm/min is more than the machine can do" in finding.text
    assert finding.remedy == "Ask for at most 4000 mm/min across."


@pytest.mark.parametrize(
    ("rpm", "limit", "count"),
    [
        (24000, None, 0),
        (24200, None, 1),
        (8000, None, 0),
        (7900, None, 1),
        (18000, 16000, 1),
        (16000, 16000, 0),
    ],
)
def test_speeds_within_spindle_and_cutter(rpm: float, limit: float | None, count: int) -> None:
    """Neither the spindle's range nor the speed marked on the cutter may be left."""
    moves = builder()
    moves.speed_rpm = rpm
    moves.line_to((30, 20, 30))
    bench = setup(cutters=[replace(CUTTER, max_rpm=limit)])
    assert len(list(speeds_out_of_range(trial(bench, moves.motion())))) == count


def test_a_standing_spindle_is_no_speed_out_of_range() -> None:
    """With the spindle off there is no speed to judge."""
    moves = builder()
    moves.speed_rpm = 0.0
    moves.line_to((30, 20, 30))
    assert found(speeds_out_of_range, moves.motion()) == []


@pytest.mark.parametrize(("z", "count"), [(-0.3, 0), (-0.305, 0), (-0.32, 1)])
def test_the_bed_may_be_cut_as_deep_as_the_plate_allows(z: float, count: int) -> None:
    """With 0.3 mm allowed, 0.32 mm into the bed is found."""
    assert len(found(bed_cut, one_feed((30, 20, z)))) == count


def test_a_rapid_or_a_still_spindle_may_not_touch_the_bed_at_all() -> None:
    """What a cut may scratch, a rapid or a standing cutter may not; leaving the cut straight up is no cut."""
    for kind in ("rapid", "still", "cut"):
        moves = builder((30, 20, 1.0))
        moves.speed_rpm = 0.0 if kind == "still" else 18_000.0
        (moves.rapid if kind == "rapid" else moves.line_to)((40, 20, -0.2))
        moves.speed_rpm = 18_000.0
        moves.rapid((40, 20, 40.0))
        assert len(found(bed_cut, moves.motion())) == (0 if kind == "cut" else 1), kind


def test_off_the_plate_there_is_no_bed_to_cut() -> None:
    """A cutter that stays off the plate by its radius cuts no bed, however low it goes."""
    bench = replace(setup(), plate=setup().plate.intersection(setup().plate.buffer(-90)))
    for x, count in ((71.6, 0), (71.4, 1)):
        run = trial(bench, one_feed((x, 20, -3), (x, 20, 40)))
        assert len(list(bed_cut(run))) == count


def test_cutting_air_beside_the_sheet_is_said() -> None:
    """Feeding at cutting height wholly beside the stock is a note; touching its edge is not."""
    for x, count in ((61.6, 1), (61.4, 0)):
        findings = found(cuts_outside, one_feed((x, 30, 5), (x, 10, 5)))
        assert [finding.level for finding in findings] == [Level.NOTE] * count


def test_a_rapid_beside_the_sheet_cuts_nothing_and_is_not_noted() -> None:
    """Rapids beside the stock below its top are no cuts outside it."""
    moves = builder((80, 10, 5))
    moves.rapid((80, 30, 5))
    assert found(cuts_outside, moves.motion()) == []


def test_a_cutter_that_nobody_has_is_a_stop() -> None:
    """Cutter 9 isn't on this bench: the finding says so and lists what is."""
    moves = builder()
    moves.cutter, moves.line = 9, 3
    moves.line_to((30, 20, 30))
    (finding,) = found(cutters_unknown, moves.motion())
    assert finding.text.startswith("Line 3: the program uses cutter 9, which the setup doesn't have")
    assert finding.remedy == "Use one of the cutters on hand: 1 (3 mm two-flute)."


def test_a_vee_without_its_angle_is_a_stop() -> None:
    """A vee cutter cuts nothing that could be judged until its angle is stated."""
    moves = builder()
    moves.line_to((30, 20, 30))
    for angle, count in ((None, 1), (90.0, 0)):
        bench = setup(cutters=[replace(CUTTER, kind="vee", point_deg=angle)])
        assert len(list(cutters_unknown(trial(bench, moves.motion())))) == count


def test_a_bull_nose_without_its_corner_is_a_stop() -> None:
    """Nor is a bull nose judged until its corner radius is stated; the remedy says below what."""
    moves = builder()
    moves.line_to((30, 20, 30))
    for corner, count in ((None, 1), (0.5, 0)):
        bench = setup(cutters=[replace(CUTTER, kind="bull nose", corner_radius=corner)])
        findings = list(cutters_unknown(trial(bench, moves.motion())))
        assert len(findings) == count
        assert all(one.remedy == "State the corner radius of cutter 1, less than 1.5 mm." for one in findings)


@settings(max_examples=60, deadline=None)
@given(
    st.sampled_from([XY, ZX, YZ]),
    st.tuples(*[st.floats(-20, 20)] * 3),
    st.tuples(*[st.floats(-20, 20)] * 2),
    st.floats(0.01, 6.28) | st.floats(-6.28, -0.01),
)
def test_the_box_of_an_arc_is_the_box_of_its_points(
    plane: int, start: tuple[float, float, float], centre: tuple[float, float], sweep: float
) -> None:
    """The highest and lowest a tip comes on an arc is what its chords say, in every plane."""
    moves = MotionBuilder(start)
    first, second = ((0, 1), (2, 0), (1, 2))[plane]
    arm = np.array([start[first] - centre[0], start[second] - centre[1]])
    turned = np.array([[math.cos(sweep), -math.sin(sweep)], [math.sin(sweep), math.cos(sweep)]]) @ arm
    end = list(start)
    end[first], end[second] = centre[0] + turned[0], centre[1] + turned[1]
    moves.arc_to((end[0], end[1], end[2]), centre, sweep, plane)
    low, high = tip_boxes(moves.motion())
    pieces = chords(moves.motion(), 1e-5)
    points = np.concatenate((pieces.start, pieces.end))
    assert low[0] == pytest.approx(points.min(axis=0), abs=2e-5)
    assert high[0] == pytest.approx(points.max(axis=0), abs=2e-5)
