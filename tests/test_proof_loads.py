"""What the way asks of cutter, spindle and gantry: worked examples, closed forms and a second way."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Point, box

from proof_bench import CUTTER, builder, clamp, setup, trial
from proveout.finding import Finding, Level
from proveout.hold.slip import contacts, slip_force
from proveout.motion import Floats, Motion, lengths, stepped
from proveout.proof.engagement import (
    bending,
    cutting_power,
    engaged_angle,
    mean_chip,
    root_stress,
    tangential_force,
    thickest_chip,
    worst_stress,
)
from proveout.proof.judge import LOAD_CHECKS
from proveout.proof.loads import DULL, gathered, loads, stretches
from proveout.proof.removal import fresh_field, remove
from proveout.proof.verdict import Loads
from proveout.setup import Setup
from proveout.shelf.tables import material

SIX = replace(CUTTER, diameter=6.0, shank_diameter=6.0, stick_out=20.0, flute_length=18.0)
CLAMPS = (clamp("A1", box(0, 0, 8, 60), 12, 24), clamp("C1", box(112, 0, 120, 60), 12, 24))
BENCH = setup((120.0, 60.0, 12.0), clamps=CLAMPS, cutters=(SIX,))


def loads_of(motion: Motion, bench: Setup = BENCH, cell: float = 0.1) -> Loads:
    """The loads of a motion on a bench."""
    parts = stretches(motion, bench)
    field = fresh_field(bench.stock.size, bench.stock.thickest, cell=cell, margin=4.0)
    found = loads(bench, parts, remove(field, parts.motion, bench.cutters))
    assert found is not None
    return found


def said(motion: Motion, bench: Setup = BENCH) -> list[Finding]:
    """What the checks of loads say."""
    run, asked = trial(bench, motion), loads_of(motion, bench)
    return [finding for check in LOAD_CHECKS for finding in check(run, asked)]


def one(value: float) -> Floats:
    """A value as the formulas take it."""
    return np.array([value])


# --- formulas


def test_a_slot_in_birch_plywood() -> None:
    """D 6, z 2, 18 000 rpm, 1500 mm/min, 3 deep, k 35 N/mm2: 4.375 N on a tooth, 15.75 W, mean 2.785 N.

    A worked example by definition of the terms; the mean force is also z k ap fz / pi.
    """
    per_tooth = 1500 / (18000 * 2)
    power = float(cutting_power(one(35.0), one(6 * 3 * 25.0))[0])
    assert float(tangential_force(one(35.0), one(3.0), one(per_tooth))[0]) == pytest.approx(4.375, abs=5e-4)
    assert power == pytest.approx(15.75)
    assert power / (math.pi * 6 * 18000 / 60000) == pytest.approx(2 * 35 * 3 * per_tooth / math.pi)


def test_a_quarter_of_the_cutter_in_the_cut() -> None:
    """ae 1.5 of D 6: 60 degrees, chip 0.03608 mm at most and 0.01989 in the mean (closed forms)."""
    angle = engaged_angle(one(1.5), one(3.0))
    assert math.degrees(angle[0]) == pytest.approx(60.0)
    assert thickest_chip(one(0.0416667), angle)[0] == pytest.approx(0.03608, abs=1e-5)
    assert mean_chip(one(0.0416667), angle)[0] == pytest.approx(0.01989, abs=1e-5)


@pytest.mark.parametrize(
    ("diameter", "stick_out", "give", "stress"), [(6.0, 20.0, 0.003529, 36.8), (3.175, 16.0, 0.02304, 198.9)]
)
def test_how_a_cutter_bends(diameter: float, stick_out: float, give: float, stress: float) -> None:
    """20 N at the tip of carbide, by beam theory on 0.8 D."""
    assert 20 * bending(diameter, stick_out, 580_000.0) == pytest.approx(give, rel=1e-3)
    assert root_stress(one(20.0), diameter, stick_out)[0] == pytest.approx(stress, abs=0.06)


def test_a_wide_cutter_bends_in_its_slim_shank() -> None:
    """20 mm on a shank of 6, 40 out: 50 N bend the shank with 32 F L / (pi 6^3) = 94.3 N/mm2.

    Of two steel cutters that differ in nothing but the shank, the one on the slim shank is told.
    """
    wide = replace(SIX, diameter=20.0, shank_diameter=6.0, stick_out=40.0)
    stress, _ = worst_stress(one(50.0), 20.0, 40.0, fluted=wide.flute_length, shank=6.0)
    assert stress[0] == pytest.approx(94.3, abs=0.05)
    told = []
    for shank in (5.0, 16.0):
        steel = replace(wide, shank_diameter=shank, stick_out=90.0, carbide=False)
        bench = replace(BENCH, cutters=(steel,))
        told.append("cutter-overloaded" in [one.kind for one in said(slot(11.0, feed=60.0), bench)])
    assert told == [True, False]


@pytest.mark.parametrize(
    ("diameter", "fluted", "shank", "length", "at_collet"),
    [(1.0, 4.0, 3.175, 20.0, False), (25.0, 8.0, 6.0, 40.0, True), (6.0, 22.0, 6.0, 32.0, False)],
)
def test_a_cutter_bends_as_its_flutes_and_its_shank_are_thick(
    diameter: float, fluted: float, shank: float, length: float, at_collet: bool
) -> None:
    """Summed slice by slice: the give is the integral of x^2 / EI, the stress the most of 32 M / (pi d^3)."""
    x = (np.arange(400_000) + 0.5) * length / 400_000
    thick = np.where(x < fluted, 0.8 * diameter, shank)
    give = float((x**2 / (580_000.0 * math.pi * thick**4 / 64)).sum()) * length / 400_000
    assert bending(diameter, length, 580_000.0, fluted=fluted, shank=shank) == pytest.approx(give, rel=1e-4)
    stress, where = worst_stress(one(20.0), diameter, length, fluted=fluted, shank=shank)
    assert stress[0] == pytest.approx(float((32 * 20 * x / (math.pi * thick**3)).max()), rel=1e-4)
    assert where is at_collet


def test_flutes_as_long_as_the_cutter_are_a_plain_bar() -> None:
    """Then nothing of the shank stands out, whatever it measures."""
    assert bending(6.0, 20.0, 580_000.0, fluted=20.0, shank=12.0) == bending(6.0, 20.0, 580_000.0)
    stress, at_collet = worst_stress(one(20.0), 6.0, 20.0, fluted=20.0, shank=12.0)
    assert (stress[0], at_collet) == (root_stress(one(20.0), 6.0, 20.0)[0], True)


def test_a_small_cutter_on_a_thick_shank_is_not_taken_for_a_needle() -> None:
    """1 mm with flutes of 4 mm on a shank of 3.175 mm takes 0.5 mm of plywood, where a needle gives way."""
    small = replace(SIX, diameter=1.0, flute_length=4.0, shank_diameter=3.175)
    kinds = [
        [found.kind for found in said(slot(0.5, feed=15.0), replace(BENCH, cutters=(cutter,)))]
        for cutter in (small, replace(small, flute_length=20.0))
    ]
    assert "wall-push-off" not in kinds[0]
    assert "wall-push-off" in kinds[1]


# --- engagement from the material


def middle_of(values: Floats, asked: Loads) -> float:
    """The median over the stretches that cut sideways."""
    return float(np.median(values[asked.force > 0]))


def test_a_straight_slot_takes_half_the_rim() -> None:
    """180 degrees, the cutter's whole width, the depth of the slot, and the volume for each second."""
    moves = builder((-10.0, 30.0, 9.0))
    moves.line_to((110.0, 30.0, 9.0))
    asked = loads_of(moves.motion())
    assert math.degrees(middle_of(asked.engaged, asked)) == pytest.approx(180, abs=3)
    assert middle_of(asked.width, asked) == pytest.approx(6.0, rel=2e-3)
    assert middle_of(asked.depth, asked) == pytest.approx(3.0, rel=1e-3)
    assert middle_of(asked.rate, asked) == pytest.approx(6 * 3 * 20.0, rel=2e-3)


def test_half_the_cutter_along_an_edge_takes_a_quarter_of_the_rim() -> None:
    """90 degrees where the axis runs along the stock's edge."""
    moves = builder((-10.0, 0.0, 9.0))
    moves.line_to((110.0, 0.0, 9.0))
    asked = loads_of(moves.motion())
    assert math.degrees(middle_of(asked.engaged, asked)) == pytest.approx(90, abs=1)


@settings(max_examples=15, deadline=None)
@given(st.floats(0.5, 5.5), st.floats(4.0, 12.0))
def test_widening_a_bore_takes_what_geometry_says(width: float, radius: float) -> None:
    """All round a bore: the rim's arc outside the bore as it was, by the law of cosines; shapely agrees.

    The closed form for a full circle: cos(phi) = (r_in^2 - rho^2 - R^2) / (2 rho R).
    """
    bore = radius + 3.0 - width
    if bore < 3.1 or bore > radius + 2.9:
        return
    moves = builder((60.0 + bore - 3.0, 30.0, 9.0))
    moves.arc_to((60.0 + bore - 3.0, 30.0, 9.0), (60.0, 30.0), math.tau)
    inner = 0.0
    while inner < bore - 3.0:  # clear all of the bore first
        moves.line_to((60.0 + inner, 30.0, 9.0))
        if inner:
            moves.arc_to((60.0 + inner, 30.0, 9.0), (60.0, 30.0), math.tau)
        inner += 1.0
    moves.line_to((60.0 + radius, 30.0, 9.0))
    before = len(moves)
    moves.arc_to((60.0 + radius, 30.0, 9.0), (60.0, 30.0), math.tau)
    asked = loads_of(moves.motion(), cell=0.05)
    last = np.flatnonzero((asked.move == before) & (asked.force > 0))[1:-2]
    closed = math.acos(max(-1.0, min(1.0, (bore**2 - radius**2 - 9) / (2 * radius * 3))))
    assert float(np.median(asked.engaged[last])) == pytest.approx(closed, abs=0.05)
    rim = Point(60 + radius, 30).buffer(3.0, quad_segs=720).exterior
    outside = rim.difference(Point(60, 30).buffer(bore, quad_segs=720)).length / 3.0 / 2
    assert outside == pytest.approx(closed, abs=0.01)


def test_stretches_end_to_end_are_the_way() -> None:
    """Cut into stretches, a motion takes the same material, and its arcs stay arcs of their circle."""
    moves = builder((20.0, 30.0, 13.0))
    moves.line_to((20.0, 30.0, 10.0))
    moves.arc_to((40.0, 30.0, 8.0), (30.0, 30.0), -3 * math.pi)
    moves.wait(2.0)
    moves.line_to((90.0, 40.0, 8.0))
    moves.rapid((90.0, 40.0, 30.0))
    motion = moves.motion()
    parts, move = stepped(motion, 1.7)
    field = fresh_field((120.0, 60.0), 12.0, cell=0.2, margin=4.0)
    whole, cut = remove(field, motion, (SIX,)), remove(field, parts, (SIX,))
    upright = (parts.start[:, :2] == parts.end[:, :2]).all(axis=1)
    assert lengths(parts)[~upright].max() <= 1.7 + 1e-9
    assert np.bincount(move, weights=lengths(parts)) == pytest.approx(lengths(motion))
    assert parts.end[:-1] == pytest.approx(parts.start[1:], abs=1e-9)
    assert np.abs(whole.field.heights - cut.field.heights).max() < 3e-3
    back = gathered(cut, move, len(motion))
    assert back.removed == pytest.approx(whole.removed, rel=1e-3, abs=1.0)
    assert back.depth == pytest.approx(whole.depth, abs=0.01)
    assert parts.dwell.sum() == motion.dwell.sum()


# --- findings, and remedies that are true


def slot(depth: float, feed: float = 20.0, turns: float = 18000.0) -> Motion:
    """A slot from outside the stock right across it."""
    moves = builder((60.0, -10.0, 12.0 - depth))
    moves.feed, moves.speed_rpm = feed, turns
    moves.line_to((60.0, 70.0, 12.0 - depth))
    return moves.motion()


def test_a_usual_slot_is_silent() -> None:
    """3 mm deep at a chip of 0.033 mm in birch plywood, as on any bench."""
    assert said(slot(3.0)) == []


def depth_of(finding: Finding) -> float:
    """The depth that a remedy allows."""
    return float(finding.remedy.split("no deeper than ")[1].split(" ")[0])


@pytest.mark.parametrize(
    ("kind", "bench"),
    [
        ("wall-push-off", replace(BENCH, machine=replace(BENCH.machine, stiffness=60.0))),
        ("cutter-overloaded", replace(BENCH, cutters=(replace(SIX, diameter=2.0, stick_out=30.0),))),
        (
            "spindle-overloaded",
            replace(
                BENCH,
                machine=replace(BENCH.machine, spindle=replace(BENCH.machine.spindle, power=30.0)),
            ),
        ),
        ("hold-margin", replace(BENCH, clamps=tuple(replace(one, force=25.0) for one in CLAMPS))),
    ],
)
def test_each_limit_is_told_and_the_depth_that_its_remedy_names_cures_it(kind: str, bench: Setup) -> None:
    """Too deep for gantry, cutter, spindle or clamps; as deep as the remedy says, it is silent."""
    found = [one for one in said(slot(11.0, feed=40.0), bench) if one.kind == kind]
    assert len(found) == 1
    assert found[0].line == 1
    depth = depth_of(found[0])
    assert 0.1 < depth < 11
    assert kind not in [one.kind for one in said(slot(depth, feed=40.0), bench)]


def test_the_feed_that_a_remedy_names_cures_an_overloaded_spindle() -> None:
    """Thinner chips ask more for their volume, so the feed has to fall further than the power."""
    spindle = replace(BENCH.machine.spindle, power=30.0)
    bench = replace(BENCH, machine=replace(BENCH.machine, spindle=spindle))
    found = [one for one in said(slot(11.0, feed=40.0), bench) if one.kind == "spindle-overloaded"]
    assert len(found) == 1
    feed = float(found[0].remedy.split("no more than ")[1].split(" mm/min")[0]) / 60
    assert 1.0 < feed < 40.0
    assert "spindle-overloaded" not in [one.kind for one in said(slot(11.0, feed=feed), bench)]


@pytest.mark.parametrize("depth", [4.0, 11.0])
def test_the_feed_that_a_weak_spindle_is_given_cures_it(depth: float) -> None:
    """Half the feed doesn't ask for half the power, for thin chips cost more: the remedy knows it."""
    weak = replace(BENCH.machine, spindle=replace(BENCH.machine.spindle, power=30.0))
    bench = replace(BENCH, machine=weak)
    found = [one for one in said(slot(depth, feed=40.0), bench) if one.kind == "spindle-overloaded"]
    feed = float(found[0].remedy.split("no more than ")[1].split(" ")[0]) / 60
    assert 0.2 < feed < 40
    again = [one.kind for one in said(slot(depth, feed=feed), bench)]
    assert "spindle-overloaded" not in again


@pytest.mark.parametrize("force", [62.0, 202.0, 370.0, 406.0, 412.0])
def test_pressing_as_much_harder_as_the_remedy_says_is_enough(force: float) -> None:
    """Clamps that press so many times as hard hold with the margin that is wanted; not 1.0 times as hard."""
    bench = replace(BENCH, clamps=tuple(replace(one, force=force) for one in CLAMPS))
    found = [one for one in said(slot(11.0, feed=40.0), bench) if one.kind == "hold-margin"]
    times = float(found[0].remedy.split("press ")[1].split(" ")[0])
    harder = replace(bench, clamps=tuple(replace(one, force=force * times) for one in CLAMPS))
    assert "hold-margin" not in [one.kind for one in said(slot(11.0, feed=40.0), harder)]


def test_an_up_cut_takes_friction_where_it_pulls() -> None:
    """Beside one of two clamps: what stands is a turn about the other, and the pull is missing from the near.

    By statics: the near clamp presses with N less the pull P, so a cut on it has mu (N - P) l / l against it.
    """
    near = builder((-10.0, 30.0, 4.0))
    near.line_to((9.0, 30.0, 4.0))
    asked = loads_of(near.motion())
    last = int(np.flatnonzero(asked.force > 0)[-1])
    push, pull = DULL * asked.force[last], DULL * asked.lift[last]
    assert pull > 0
    held = contacts(BENCH.clamps, material(BENCH.stock.material))
    mu = float(held.friction.sum()) / held.pressed
    middle = (asked.motion.start[[last], :2] + asked.motion.end[[last], :2]) / 2
    stands = float(slip_force(held, middle)[0])
    assert stands < 0.8 * float(held.friction.sum())  # a turn is easier than a shift here
    assert asked.margin[last] == pytest.approx((stands - mu * pull) / push, rel=0.03)
    assert asked.margin[last] <= (stands - mu * pull) / push + 1e-9


def test_clamps_that_stand_less_than_the_push_are_a_stop() -> None:
    """Below the force itself it is no longer a question of margin."""
    weak = replace(BENCH, clamps=tuple(replace(one, force=5.0) for one in CLAMPS))
    levels = [one.level for one in said(slot(11.0, feed=40.0), weak) if one.kind == "hold-margin"]
    assert levels == [Level.STOP]


def test_doubling_the_feed_adds_to_every_load() -> None:
    """A doubled feed within the usual chips still pushes harder, and the model says so: 2^(1 - m)."""
    slow, fast = loads_of(slot(3.0, feed=20.0)), loads_of(slot(3.0, feed=40.0))
    assert fast.force.max() / slow.force.max() == pytest.approx(2 ** (1 - 0.35), rel=1e-6)
    assert fast.rate.max() == pytest.approx(2 * slow.rate.max())


def test_a_material_that_the_shelf_does_not_know_has_no_loads() -> None:
    """Nothing is guessed."""
    bench = replace(BENCH, stock=replace(BENCH.stock, material="unobtainium"))
    parts = stretches(slot(3.0), bench)
    field = fresh_field((120.0, 60.0), 12.0, cell=0.5, margin=4.0)
    assert loads(bench, parts, remove(field, parts.motion, bench.cutters)) is None
