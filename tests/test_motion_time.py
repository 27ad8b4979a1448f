"""How long a motion takes, against closed forms of constant acceleration."""

import math
from collections.abc import Sequence

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from proveout.job.records import Machine, Spindle
from proveout.motion import ZX, Motion, MotionBuilder
from proveout.motion_time import TOOL_CHANGE, corner_speed, move_seconds, timing

Triple = tuple[float, float, float]


def a_machine(
    max_feed: Triple = (100, 100, 100), acceleration: Triple = (500, 500, 500), deviation: float = 0.01
) -> Machine:
    return Machine(
        name="test gantry",
        travel=(600, 400, 100),
        tip_reach=80,
        max_feed=max_feed,
        acceleration=acceleration,
        corner_deviation=deviation,
        stiffness=200,
        dialect="plain",
        units="mm",
        line_limit=80,
        spindle=Spindle(
            min_rpm=5000,
            max_rpm=24000,
            power=300,
            nut_diameter=20,
            nut_length=15,
            body_diameter=52,
            spin_up=3,
        ),
    )


def a_builder(feed: float = 50.0) -> MotionBuilder:
    builder = MotionBuilder((0, 0, 0))
    builder.feed = feed
    return builder


def lines(*to: Sequence[float], feed: float = 50.0) -> Motion:
    builder = a_builder(feed)
    for point in to:
        builder.line_to((point[0], point[1], point[2] if len(point) > 2 else 0.0))
    return builder.motion()


def total(motion: Motion, machine: Machine | None = None) -> float:
    return float(move_seconds(motion, machine or a_machine()).sum())


def test_a_long_move() -> None:
    """300 mm at 50 mm/s and 500 mm/s2 take s/v + v/a = 6.100 s (closed form)."""
    assert total(lines((300, 0))) == pytest.approx(6.100, abs=5e-4)


def test_a_short_move_never_reaches_its_feed() -> None:
    """3 mm at 50 mm/s and 500 mm/s2 take 2 sqrt(s/a) = 0.1549 s (closed form)."""
    assert total(lines((3, 0))) == pytest.approx(2 * math.sqrt(3 / 500), rel=1e-12)


# Interior angle and speed at 0.01 mm and 500 mm/s2, from R = d sin(t/2) / (1 - sin(t/2)), v = sqrt(a R).
CORNERS = [(60, 2.236), (90, 3.474), (120, 5.685), (135, 7.790), (150, 11.91), (170, 36.18)]


@pytest.mark.parametrize(("angle", "speed"), CORNERS)
def test_corner_speeds(angle: float, speed: float) -> None:
    """The sharper the corner, the slower it is passed, after the permitted deviation."""
    sine_half = np.array([math.sin(math.radians(angle / 2))])
    assert corner_speed(sine_half, np.array([500.0]), 0.01)[0] == pytest.approx(speed, rel=5e-4)


def test_a_move_between_two_corners() -> None:
    """20 mm between two square corners, at 50 mm/s between: 0.4866 s (closed form)."""
    motion = lines((0, 100), (20, 100), (20, 200))
    assert move_seconds(motion, a_machine())[1] == pytest.approx(0.4866, abs=1e-4)


def test_a_square_with_full_stops() -> None:
    """A square of 50 mm whose corners are full stops takes 4 (s/v + v/a) = 4.400 s (closed form)."""
    square = lines((50, 0), (50, 50), (0, 50), (0, 0))
    assert total(square, a_machine(deviation=0)) == pytest.approx(4.400, abs=1e-9)


def test_a_square_with_rounded_corners() -> None:
    """Going round that square again and again, at 3.474 mm/s through its corners, takes 4.346 s a round."""
    sides = [(50, 0), (50, 50), (0, 50), (0, 0)] * 3
    seconds = move_seconds(lines(*sides), a_machine())
    assert seconds[4:8].sum() == pytest.approx(4.346, abs=5e-4)


def test_straight_on_is_no_corner() -> None:
    """A straight line in ten pieces takes as long as in one, even where no corner may be rounded at all."""
    whole = total(lines((30, 40)))
    pieces = lines(*[(3 * k, 4 * k) for k in range(1, 11)])
    assert total(pieces) == pytest.approx(whole, rel=1e-9)
    assert total(pieces, a_machine(deviation=0)) == pytest.approx(whole, rel=1e-9)


def test_going_back_means_a_full_stop() -> None:
    """There and back along a line is two moves from rest to rest."""
    assert total(lines((30, 0), (0, 0))) == pytest.approx(2 * total(lines((30, 0))), rel=1e-12)


def test_many_short_pieces_are_braked_in_time() -> None:
    """A line of 1 mm pieces ends at rest: the last pieces slow down as one long move would."""
    pieces = lines(*[(k, 0) for k in range(1, 101)])
    assert total(pieces) == pytest.approx(100 / 50 + 50 / 500, rel=1e-9)


def test_a_slow_z_slows_a_plunge_and_a_ramp() -> None:
    """With Z at 10 mm/s, a plunge runs at 10, and a ramp of 3 in 5 at 10 / 0.6."""
    machine = a_machine(max_feed=(100, 100, 10), acceleration=(500, 500, 1e9))
    assert total(lines((0, 0, -10)), machine) == pytest.approx(10 / 10, rel=1e-6)
    speed, pull = 10 / 0.6, 500 / 0.8
    assert total(lines((40, 0, -30)), machine) == pytest.approx(50 / speed + speed / pull, rel=1e-9)


def test_a_rapid_runs_as_fast_as_its_slowest_axis_lets_it() -> None:
    """A rapid at 45 degrees has both axes at 100 mm/s: 141 mm/s along the way."""
    builder = a_builder()
    builder.rapid((300, 300, 0))
    length, speed, pull = 300 * math.sqrt(2), 100 * math.sqrt(2), 500 * math.sqrt(2)
    assert total(builder.motion()) == pytest.approx(length / speed + speed / pull, rel=1e-12)


def test_a_small_circle_is_slowed_by_its_radius() -> None:
    """A radius of 3 mm at 500 mm/s2 allows sqrt(a r) = 38.73 mm/s, whatever the feed."""
    builder = a_builder(feed=90)
    builder.arc_to((0, 0, 0), (3, 0), 20 * math.tau)
    length, speed = 3 * 20 * math.tau, math.sqrt(500 * 3)
    assert total(builder.motion()) == pytest.approx(length / speed + speed / 500, rel=1e-12)


@pytest.mark.parametrize("hand", [1, -1])
def test_a_line_into_its_tangent_arc_is_no_corner(hand: int) -> None:
    """A line, the arc it touches and the next line run at full feed, to the left or to the right."""
    builder = a_builder()
    builder.line_to((100, 0, 0))
    builder.arc_to((120, hand * 20, 0), (100, hand * 20), hand * math.pi / 2)
    builder.line_to((120, hand * 120, 0))
    length = 200 + 20 * math.pi / 2
    assert total(builder.motion()) == pytest.approx(length / 50 + 50 / 500, rel=1e-9)


def test_a_kink_between_a_line_and_an_arc_is_a_corner() -> None:
    """A line into an arc that starts square to it is slowed for, as between two lines."""
    builder = a_builder()
    builder.line_to((100, 0, 0))
    builder.arc_to((120, 20, 0), (120, 0), -math.pi / 2)
    square = lines((100, 0), (100, 20 * math.pi / 2))
    assert total(builder.motion()) == pytest.approx(total(square), rel=1e-9)


def test_a_turn_of_a_helix() -> None:
    """A helix of radius 2.5 and pitch 1.5 has 15.779 mm a turn: 1.578 s at 600 mm/min (closed form)."""
    builder = a_builder(feed=10)
    builder.arc_to((0, 0, -15), (2.5, 0), 10 * math.tau)
    away = total(builder.motion()) - 10 / 500  # without speeding up and braking
    assert away / 10 == pytest.approx(1.578, abs=5e-4)


def test_an_upright_arc_is_held_to_the_slower_axis_of_its_plane() -> None:
    """In the ZX plane a slow Z limits the whole arc: it has to do the full speed somewhere."""
    builder = a_builder()
    builder.arc_to((0, 0, 0), (0, 30), math.tau, plane=ZX)
    machine = a_machine(max_feed=(100, 100, 10))
    assert total(builder.motion(), machine) == pytest.approx(30 * math.tau / 10 + 10 / 500, rel=1e-9)


def test_a_dwell_is_waited_at_a_stand() -> None:
    """A wait of 2 s in the middle of a line: two moves from rest to rest, and 2 s of air time."""
    builder = a_builder()
    builder.line_to((50, 0, 0))
    builder.wait(2)
    builder.line_to((100, 0, 0))
    times = timing(builder.motion(), a_machine())
    assert times.minutes.cutting * 60 == pytest.approx(2 * (50 / 50 + 50 / 500), rel=1e-12)
    assert times.minutes.air * 60 == pytest.approx(2)


@pytest.mark.parametrize(("dwell", "waited"), [(0.0, 3.0), (5.0, 5.0)])
def test_the_spindle_runs_up_once(dwell: float, waited: float) -> None:
    """Running up takes the spindle's 3 s, unless the program waits longer by itself; not both."""
    builder = a_builder()
    builder.speed_rpm = 18000
    builder.wait(dwell)
    builder.line_to((50, 0, 0))
    builder.line_to((100, 0, 0))
    assert timing(builder.motion(), a_machine()).waits.tolist() == [waited, 0]


def test_cutting_and_air_add_up_with_the_changes() -> None:
    """What removed something is cutting, the rest is air, and each change of cutter has its time."""
    builder = a_builder()
    builder.rapid((100, 0, 0))
    builder.line_to((200, 0, 0))
    builder.line_to((300, 0, 0))
    motion = builder.motion()
    times = timing(motion, a_machine(), tool_changes=2, removed=np.array([0.0, 5.0, 0.0]))
    assert times.minutes.cutting * 60 == pytest.approx(times.seconds[1])
    assert times.minutes.air * 60 == pytest.approx(times.seconds[[0, 2]].sum())
    assert times.minutes.tool_changes * 60 == pytest.approx(2 * TOOL_CHANGE)
    parts = times.minutes.cutting + times.minutes.air + times.minutes.tool_changes
    assert times.minutes.total == pytest.approx(parts)
    assert timing(motion, a_machine()).minutes.air * 60 == pytest.approx(times.seconds[0])


def test_no_moves_take_no_time() -> None:
    """An empty program, or one that stays where it is, takes no time and divides by nothing."""
    assert total(MotionBuilder((0, 0, 0)).motion()) == 0
    assert total(lines((0, 0), (0, 0))) == 0
    assert timing(MotionBuilder((0, 0, 0)).motion(), a_machine()).minutes.total == 0


def test_a_move_of_no_length_does_not_hide_a_corner() -> None:
    """A stop-gap line that repeats the point before it changes nothing."""
    plain = total(lines((50, 0), (50, 50)))
    assert total(lines((50, 0), (50, 0), (50, 50))) == pytest.approx(plain, rel=1e-12)


point = st.tuples(st.floats(-50, 50), st.floats(-50, 50), st.floats(-10, 10))


@settings(max_examples=100, deadline=None, derandomize=True)
@given(points=st.lists(point, min_size=1, max_size=12))
def test_time_lies_between_flying_and_stopping(points: list[Triple]) -> None:
    """No path is faster than length over feed, and none slower than stopping at every node."""
    motion = lines(*points)
    way = np.linalg.norm(motion.end - motion.start, axis=1)
    seconds = move_seconds(motion, a_machine())
    assert (seconds >= way / 50 - 1e-9).all()
    stopping = move_seconds(motion, a_machine(deviation=0)).sum()
    assert seconds.sum() <= stopping * (1 + 1e-9) + 1e-9
