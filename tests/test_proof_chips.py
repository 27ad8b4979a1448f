"""Feeds against teeth: what is far from usual is a caution, what is usual is silent."""

import pytest

from proof_bench import CUTTER, builder, setup, trial
from proveout.finding import Finding, Level
from proveout.motion import Motion
from proveout.proof.chips import (
    RUBBING,
    STRAIGHT_DOWN,
    TOO_THICK,
    chips_too_thick,
    chips_too_thin,
    plunges_too_fast,
)
from proveout.proof.removal import fresh_field, remove
from proveout.shelf.tables import chip_load, material

WOOD = material("birch plywood")
RANGE = chip_load(WOOD.chip_class, CUTTER.diameter).load


def found(motion: Motion) -> list[Finding]:
    """What both checks say of a motion on the bench."""
    run = trial(setup(), motion)
    field = fresh_field((60.0, 40.0), 12.0, cell=0.5, margin=2.0)
    removal = remove(field, motion, run.setup.cutters)
    checks = (chips_too_thick, chips_too_thin, plunges_too_fast)
    return [finding for check in checks for finding in check(run, removal)]


def slot(load: float) -> Motion:
    """A slot 1 mm deep with a chip load, entered from outside the stock."""
    moves = builder((-10.0, 20.0, 11.0))
    moves.feed = load * CUTTER.flutes * moves.speed_rpm / 60
    moves.line_to((50.0, 20.0, 11.0))
    return moves.motion()


@pytest.mark.parametrize(("times", "count"), [(0.99, 0), (1.01, 1)])
def test_a_chip_of_more_than_twice_the_usual_is_a_caution(times: float, count: int) -> None:
    """Twice the upper end of the range for light machines is the border (ranges: common practice)."""
    findings = found(slot(times * TOO_THICK * RANGE.max))
    assert [one.kind for one in findings] == ["chip-too-thick"] * count
    assert all(one.level is Level.CAUTION and "usual for this cutter" in one.text for one in findings)


@pytest.mark.parametrize(("times", "count"), [(1.01, 0), (0.99, 1)])
def test_a_chip_thinner_than_the_edge_is_round_is_a_caution(times: float, count: int) -> None:
    """A sharp carbide edge is rounded by 5 to 10 um (from memory); a thinner chip is rubbed, and burns."""
    findings = found(slot(times * RUBBING))
    assert [one.kind for one in findings] == ["chip-too-thin"] * count
    assert all("burns" in one.text for one in findings)


@pytest.mark.parametrize(("times", "count"), [(0.99, 0), (1.01, 1)])
def test_a_plunge_faster_than_half_the_usual_feed_is_a_caution(times: float, count: int) -> None:
    """Straight down, a quarter to a half of the cutting feed is common practice; more is told of."""
    moves = builder((20.0, 20.0, 13.0))
    moves.feed = times * STRAIGHT_DOWN * RANGE.min * CUTTER.flutes * moves.speed_rpm / 60
    moves.line_to((20.0, 20.0, 10.0))
    assert [one.kind for one in found(moves.motion())] == ["plunge-too-fast"] * count


def test_a_ramp_at_the_cutting_feed_is_no_plunge() -> None:
    """Three degrees down at the full feed is how a cutter should enter."""
    moves = builder((10.0, 20.0, 12.0))
    moves.feed = RANGE.min * CUTTER.flutes * moves.speed_rpm / 60
    moves.line_to((40.0, 20.0, 10.5))
    assert found(moves.motion()) == []


def test_a_fast_way_down_through_air_is_nobody_s_business() -> None:
    """Only what takes material counts."""
    moves = builder((20.0, 20.0, 40.0))
    moves.feed = 60.0
    moves.line_to((20.0, 20.0, 12.5))
    assert found(moves.motion()) == []
