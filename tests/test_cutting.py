"""Cutting data: worked examples of the formulas, and answers that a practitioner would recognise."""

import math
from dataclasses import replace

import pytest

from fit_bench import an_inch_job, flat_cutter
from proveout.cutting.choose import Bench, choose, peak_force
from proveout.cutting.force import (
    CARBIDE,
    STEEL,
    bending,
    chip_load,
    cutting_power,
    drill_thrust,
    feed_for,
    tooth_force,
)
from proveout.figure import Figure
from proveout.hold.bridges import bridge_findings, bridge_size, bridge_strength
from proveout.job.records import Cutter, Machine
from proveout.shelf.tables import material

INCH = 25.4


def bench(machine: Machine | None = None, hold: float | None = None, wood: str = "birch plywood") -> Bench:
    """A light gantry and a sheet."""
    return Bench(material=material(wood), machine=machine or an_inch_job().shop.machine, hold=hold)


def eighth() -> Cutter:
    """A two-flute 1/8 in cutter."""
    return flat_cutter(1, INCH / 8, INCH / 2)


def test_chip_load_of_a_printed_example() -> None:
    """500 in/min at 15,000 rpm with two flutes is .0167 in a tooth (a supplier's chart: .017)."""
    assert chip_load(500 * INCH / 60, 2, 15_000) / INCH == pytest.approx(0.01667, rel=1e-3)
    assert feed_for(0.01667 * INCH, 2, 15_000) * 60 / INCH == pytest.approx(500, rel=1e-3)


def test_a_slot_in_birch_plywood_worked_by_hand() -> None:
    """6 mm, two flutes, 18,000 rpm, 1500 mm/min, 3 mm deep, k 35: 15.75 W and 4.375 N at the tooth's peak.

    Worked from the definitions: Q = 6 x 3 x 1500 = 27,000 mm3/min, P = 35 x 27,000 / 60,000.
    """
    load = chip_load(25.0, 2, 18_000)
    assert load == pytest.approx(0.0416667, rel=1e-5)
    assert cutting_power(6.0, 3.0, 25.0, 35.0) == pytest.approx(15.75, rel=1e-3)
    assert tooth_force(3.0, load, 35.0) == pytest.approx(4.375, rel=1e-3)


@pytest.mark.parametrize(
    ("diameter", "length", "modulus", "give"),
    [(6.0, 20.0, CARBIDE, 0.003529), (3.175, 16.0, CARBIDE, 0.02304), (6.0, 20.0, STEEL, 0.01023)],
)
def test_bending_of_a_cutter_worked_by_hand(
    diameter: float, length: float, modulus: float, give: float
) -> None:
    """20 N at the tip: I = pi (0.8 D)^4 / 64 and F L^3 / (3 E I), a fluted bar after Kops and Vo (1990)."""
    assert 20 * bending(diameter, length, modulus) == pytest.approx(give, rel=1e-3)
    assert bending(diameter, 1.5 * length, modulus) / bending(diameter, length, modulus) == pytest.approx(
        3.375
    )
    assert bending(diameter / 2, length, modulus) / bending(diameter, length, modulus) == pytest.approx(16)


def test_an_eighth_inch_cutter_in_quarter_inch_plywood_cuts_as_practitioners_do() -> None:
    """Depth .050 to .065 in, feed about 55 in/min, plunge about 10 in/min: common practice, no source."""
    data = choose(eighth(), "outline", bench())
    assert 0.050 <= data.depth_of_cut / INCH <= 0.065
    assert data.feed * 60 / INCH == pytest.approx(55, abs=5)
    assert data.plunge_feed * 60 / INCH == pytest.approx(10, abs=2)
    assert data.stepover < data.depth_of_cut * 2


def test_every_value_names_what_limits_it() -> None:
    """Depth, stepover, feed and plunge each come with their weakest link in words."""
    data = choose(eighth(), "recess", bench())
    limits = dict(data.limits)
    assert set(limits) == {"depth of cut", "stepover", "feed", "plunge feed"}
    assert all(words.startswith("limited by: ") for words in limits.values())


def limit_of_depth(cutter: Cutter, where: Bench) -> str:
    """What limits the depth of cut."""
    return dict(choose(cutter, "outline", where).limits)["depth of cut"]


def test_the_weakest_link_moves_to_whatever_is_weak() -> None:
    """A springy gantry, a weak spindle, weak clamps and short flutes each become the limit in turn."""
    machine = an_inch_job().shop.machine
    assert "half the cutter's diameter" in limit_of_depth(eighth(), bench())
    springy = replace(machine, stiffness=20.0)
    assert "give way" in limit_of_depth(eighth(), bench(springy))
    weak = replace(machine, spindle=replace(machine.spindle, power=2.0))
    assert "the spindle's power" in limit_of_depth(eighth(), bench(weak))
    assert "the clamps' friction" in limit_of_depth(eighth(), bench(hold=10.0))
    assert "the flutes' length" in limit_of_depth(replace(eighth(), flute_length=1.0), bench())


def test_weak_clamps_never_see_more_than_a_third_of_their_friction() -> None:
    """With the depth that weak clamps allow, a dull cutter pushes with a third of what they stand."""
    where = bench(hold=9.0)
    data = choose(eighth(), "outline", where)
    assert peak_force(data, where.material, 2) <= 9.0 / 3 * 1.01


def test_a_slow_machine_turns_the_spindle_slower_rather_than_rub() -> None:
    """Where the gantry can't follow, the speed drops so that the chip keeps its thickness."""
    machine = an_inch_job().shop.machine
    slow = replace(machine, max_feed=(12.0, 12.0, 8.0))
    data = choose(eighth(), "outline", bench(slow))
    assert data.feed <= 12.0
    assert data.speed_rpm < 18_000
    assert chip_load(data.feed, 2, data.speed_rpm) >= 0.037


def test_a_marked_speed_is_never_exceeded() -> None:
    """The speed marked on a cutter wins over the usual one."""
    assert choose(replace(eighth(), max_rpm=12_000), "bore", bench()).speed_rpm == 12_000


def test_a_drill_is_fed_by_its_thrust() -> None:
    """A 6 mm drill on a light gantry is fed so that it pushes with at most 50 N (project default)."""
    tool = replace(flat_cutter(3, 6.0, 40.0), kind="drill", point_deg=118.0)
    data = choose(tool, "drill", bench())
    per_turn = data.feed * 60 / data.speed_rpm
    assert drill_thrust(6.0, per_turn) <= 50.0
    assert data.speed_rpm == 8_000


def test_harder_wood_is_cut_with_less_depth_on_a_springy_gantry() -> None:
    """Where force limits, sugar maple allows less depth than white pine."""
    springy = replace(an_inch_job().shop.machine, stiffness=20.0)
    pine = choose(eighth(), "outline", bench(springy, wood="eastern white pine"))
    maple = choose(eighth(), "outline", bench(springy, wood="sugar maple"))
    assert maple.depth_of_cut * chip_load(maple.feed, 2, maple.speed_rpm) < pine.depth_of_cut * chip_load(
        pine.feed, 2, pine.speed_rpm
    )


def test_every_figure_has_a_value_that_can_be_cut_with() -> None:
    """No value is zero, negative or endless, for any cutter and kind of cut."""
    for kind in ("recess", "bore", "slot", "outline", "drill"):
        data = choose(eighth(), kind, bench())
        assert all(math.isfinite(figure.value) and figure.value > 0 for figure in data.figures)


def thickness(value: float) -> Figure:
    """A measured thickness."""
    return Figure(name="stock.thinnest", value=value, unit="mm", rule="least reading", source="measured")


def test_tabs_in_quarter_inch_plywood_are_as_practitioners_make_them() -> None:
    """About .30 x .09 in on a 1-1/2 in knob in a .235 in sheet: common practice, no source."""
    size = bridge_size(thickness(0.235 * INCH))
    assert size.waist / INCH == pytest.approx(0.30, abs=0.02)
    assert size.height / INCH == pytest.approx(0.09, abs=0.01)


def test_a_tab_s_strength_worked_by_hand() -> None:
    """6 x 3 mm under 60 N sees 1.5 x 60 / 18 = 5 N/mm2 (beam theory), so at 5 N/mm2 it stands 60 N."""
    size = replace(bridge_size(thickness(12.0)), waist=6.0, height=3.0)
    wood = replace(material("birch plywood"), planar_shear=5.0)
    assert bridge_strength("knob", size, 2, wood).value == pytest.approx(60.0)
    assert bridge_strength("knob", size, 4, wood).value == pytest.approx(180.0), "one tab is taken as missing"


def test_tabs_that_the_cutter_could_break_are_a_caution_and_then_a_stop() -> None:
    """Less than twice the force is a caution, less than the force itself a stop."""
    strength = bridge_strength("knob", bridge_size(thickness(6.0)), 3, material("birch plywood"))
    assert not bridge_findings("knob", strength, strength.value / 2.5)
    (caution,) = bridge_findings("knob", strength, strength.value / 1.5)
    (stop,) = bridge_findings("knob", strength, strength.value * 1.1)
    assert (caution.level.value, stop.level.value) == ("caution", "stop")
