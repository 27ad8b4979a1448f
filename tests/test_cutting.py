"""Cutting data: worked examples of the formulas, and answers that a practitioner would recognise."""

import math
from collections.abc import Iterator
from dataclasses import replace
from random import Random

import numpy as np
import pytest

from fit_bench import an_inch_job, flat_cutter
from proveout.cutting.choose import SHALLOWEST, Task, choose, peak_force, straight_cut
from proveout.cutting.data import CutKind, CuttingData
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
from proveout.cutting.limits import RUBBING, Allowed, Bench, Way, asked, chip_window, limits_of
from proveout.figure import Figure
from proveout.hold.bridges import bridge_findings, bridge_size, bridge_strength
from proveout.hold.stands import Stands
from proveout.job.records import Cutter, Machine
from proveout.shelf.tables import cutting_energy, material

INCH = 25.4


def bench(machine: Machine | None = None, wood: str = "birch plywood") -> Bench:
    """A light gantry and a sheet."""
    return Bench(material=material(wood), machine=machine or an_inch_job().shop.machine)


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


def chosen(cutter: Cutter, kind: CutKind, where: Bench) -> CuttingData:
    """The values for a metre of straight slot through quarter-inch plywood, a little below it."""
    return choose(straight_cut(cutter, kind, 0.235 * INCH + 0.4, where.machine), where)


def shares(cutter: Cutter, where: Bench, way: Way) -> dict[str, float]:
    """What a way of cutting asks of each limit."""
    return {limit.name: limit.share(way) for limit in limits_of(cutter, where, tabs=True)}


def test_what_practitioners_do_is_within_all_limits_and_slower() -> None:
    """.050 to .065 in deep at 55 in/min, 18,000 rpm: common practice, no source. The chooser's is quicker."""
    where = bench()
    data = chosen(eighth(), "outline", where)
    for depth in (0.050, 0.065):
        usual = Way(depth * INCH, INCH / 8, 55 * INCH / 60, 18_000)
        assert max(shares(eighth(), where, usual).values()) < 1
        assert data.depth_of_cut * data.feed > usual.depth * usual.feed
    assert 10 <= data.plunge_feed * 60 / INCH <= 20


def test_every_value_names_what_limits_it() -> None:
    """Depth, stepover, feed and plunge each come with their weakest link in words."""
    data = chosen(eighth(), "recess", bench())
    limits = dict(data.limits)
    assert set(limits) == {"depth of cut", "stepover", "feed", "plunge feed"}
    assert all(words.startswith("limited by: ") for words in limits.values())


def limit_of_depth(cutter: Cutter, where: Bench) -> str:
    """What limits the depth of cut."""
    return dict(chosen(cutter, "outline", where).limits)["depth of cut"]


def clamped(slides: float) -> Stands:
    """A hold-down that stands so many newtons sideways at its weakest place."""
    return Stands(slides=slides, at=(10.0, 20.0), lost=0.25, tips=1e6)


def test_the_weakest_link_moves_to_whatever_is_weak() -> None:
    """A springy gantry, a weak spindle, weak clamps, weak tabs and short flutes each become the limit."""
    machine = an_inch_job().shop.machine
    stiff = replace(machine, stiffness=1e5)
    stubby = replace(eighth(), stick_out=13.0)
    assert "give way" in limit_of_depth(eighth(), bench())
    assert "the cutter's diameter" in limit_of_depth(stubby, bench(stiff))
    weak = replace(machine, spindle=replace(machine.spindle, power=3.0))
    assert "the spindle's power" in limit_of_depth(eighth(), bench(weak))
    held = limit_of_depth(eighth(), replace(bench(), hold=clamped(25.0)))
    assert "the clamps' friction at its weakest place (10, 20)" in held
    assert "the tabs" in limit_of_depth(eighth(), replace(bench(), tabs=8.0))
    assert "the flutes' length" in limit_of_depth(replace(eighth(), flute_length=1.0), bench())


@pytest.mark.parametrize("kind", ["outline", "slot", "recess", "bore"])
@pytest.mark.parametrize("hold", [None, 30.0, 60.0])
@pytest.mark.parametrize("tool", [eighth(), flat_cutter(2, 6.0, 22.0)])
def test_nothing_is_asked_more_than_it_stands(kind: CutKind, hold: float | None, tool: Cutter) -> None:
    """Whatever is weak, the chosen way keeps every limit, the finishing pass its stricter one too."""
    where = replace(bench(), hold=clamped(hold) if hold else None, tabs=30.0)
    data = chosen(tool, kind, where)
    way = Way(data.depth_of_cut, tool.diameter, data.feed, data.speed_rpm)
    held = limits_of(tool, where, tabs=kind == "outline")
    assert max(limit.share(way) for limit in held) <= 1 + 1e-6
    if data.finish_allowance:
        last = Way(data.finish_depth, data.finish_allowance, data.finish_feed, data.speed_rpm)
        finishing = limits_of(tool, where, finishing=True)
        assert max(one.share(last) for one in finishing if one.name != "diameter") <= 1 + 1e-6


@pytest.mark.parametrize("seed", range(24))
def test_no_denser_search_finds_a_quicker_way(seed: int) -> None:
    """A dense grid over depth, feed and speed, every limit kept, is at most 2 % quicker on random benches."""
    draw = Random(seed)
    machine = an_inch_job().shop.machine
    machine = replace(
        machine,
        stiffness=draw.uniform(60, 2000),
        max_feed=(draw.uniform(15, 120),) * 3,
        spindle=replace(machine.spindle, power=draw.uniform(20, 800), max_rpm=draw.uniform(12_000, 30_000)),
    )
    wood = draw.choice(["birch plywood", "sugar maple", "mdf", "eastern white pine"])
    hold = clamped(draw.uniform(10, 200)) if draw.random() < 0.5 else None
    where = replace(bench(machine, wood=wood), hold=hold, tabs=draw.uniform(10, 100))
    tool = draw.choice([eighth(), flat_cutter(2, 6.0, 22.0), flat_cutter(3, 2.0, 8.0)])
    task = straight_cut(tool, "outline", draw.uniform(2.0, 18.0), machine)
    data = choose(task, where)
    best = min(dense(task, where), default=math.inf)
    if best < math.inf:
        assert task.seconds(data) <= 1.02 * best + 60 / 25.4 / data.feed  # feeds are whole in/min


def dense(task: Task, where: Bench) -> Iterator[float]:
    """The time of every way on a dense grid that keeps all limits, and keeps chips from rubbing."""
    limits = limits_of(task.cutter, where, tabs=True)
    low = chip_window(where.material, task.cutter).load.min
    machine = where.machine
    for passes in range(1, 40):
        for share in np.linspace(0.02, 1, 40).tolist():
            for turns in np.linspace(0.3, 1, 15).tolist():
                way = Way(
                    task.heights[0] / passes,
                    task.cutter.diameter,
                    share * machine.max_feed[0],
                    max(turns * machine.spindle.max_rpm, machine.spindle.min_rpm),
                )
                if chip_load(way.feed, task.cutter.flutes, way.speed_rpm) < max(low, RUBBING):
                    continue
                if all(limit.share(way) <= 1 for limit in limits):
                    yield passes * 1000 / way.feed


def test_weak_clamps_never_see_more_than_a_third_of_their_friction() -> None:
    """With the depth that weak clamps allow, a dull cutter pushes with a third of what they stand."""
    where = replace(bench(), hold=clamped(25.0))
    data = chosen(eighth(), "outline", where)
    assert peak_force(data, where.material, eighth(), where.machine) <= 25.0 / 3 * 1.01


def test_clamps_that_hold_next_to_nothing_get_the_gentlest_cut() -> None:
    """Where no depth is gentle enough the shallowest is chosen, and the proof says what is wrong with it."""
    data = chosen(eighth(), "outline", replace(bench(), hold=clamped(0.5)))
    assert data.depth_of_cut == SHALLOWEST
    assert data.feed > 0


def test_a_slow_machine_turns_the_spindle_slower_rather_than_rub() -> None:
    """Where the gantry can't follow, the speed drops so that the chip keeps its thickness."""
    machine = an_inch_job().shop.machine
    slow = replace(machine, max_feed=(12.0, 12.0, 8.0))
    data = chosen(eighth(), "outline", bench(slow))
    assert data.feed <= 12.0
    assert data.speed_rpm < 18_000
    assert chip_load(data.feed, 2, data.speed_rpm) >= 0.037


def test_a_marked_speed_is_never_exceeded() -> None:
    """The speed marked on a cutter wins over the spindle's."""
    assert chosen(replace(eighth(), max_rpm=12_000), "bore", bench()).speed_rpm == 12_000


def test_a_drill_is_fed_by_its_thrust() -> None:
    """A 6 mm drill on a light gantry is fed so that it pushes with at most 50 N (project default)."""
    tool = replace(flat_cutter(3, 6.0, 40.0), kind="drill", point_deg=118.0)
    data = chosen(tool, "drill", bench())
    per_turn = data.feed * 60 / data.speed_rpm
    assert drill_thrust(6.0, per_turn) <= 50.0
    assert data.speed_rpm == 8_000


def test_harder_wood_is_cut_with_less_depth_on_a_springy_gantry() -> None:
    """Where force limits, sugar maple is cut more slowly than white pine."""
    springy = replace(an_inch_job().shop.machine, stiffness=20.0)
    pine = chosen(eighth(), "outline", bench(springy, wood="eastern white pine"))
    maple = chosen(eighth(), "outline", bench(springy, wood="sugar maple"))
    assert maple.depth_of_cut * maple.feed < pine.depth_of_cut * pine.feed


def test_a_share_of_what_is_allowed_asks_for_no_more_than_that() -> None:
    """With a twentieth of everything allowed and walls off by 0.02 mm, no cutter or spindle is asked more."""
    half = replace(bench(), allowed=Allowed(share=0.05, push_off=0.02))
    data = chosen(eighth(), "outline", half)
    way = Way(data.depth_of_cut, INCH / 8, data.feed, data.speed_rpm)
    asks = shares(eighth(), bench(), way)
    assert max(asks[name] for name in ("bending", "power")) <= 0.05 + 1e-6
    assert asks["wall"] <= 0.02 / 0.05 + 1e-6


def test_finishing_passes_take_turns_where_one_would_bend_too_far() -> None:
    """A deep recess on a springy gantry is finished in several passes, a stiff one's in one."""
    task = replace(straight_cut(eighth(), "recess", 10.0, an_inch_job().shop.machine), heights=(10.0,))
    stiff = choose(task, bench(replace(an_inch_job().shop.machine, stiffness=5000.0)))
    springy = choose(task, bench(replace(an_inch_job().shop.machine, stiffness=60.0)))
    assert springy.finish_depth < stiff.finish_depth


def test_every_figure_has_a_value_that_can_be_cut_with() -> None:
    """No value is zero, negative or endless, for any cutter and kind of cut."""
    kinds: tuple[CutKind, ...] = ("recess", "bore", "slot", "outline", "drill")
    for kind in kinds:
        data = chosen(eighth(), kind, bench())
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


def test_the_spindle_is_asked_what_published_energies_say() -> None:
    """Particleboard: 32.0 to 37.6 N/mm2 were measured in peripheral milling. At chips of 0.1 mm the power of
    a slot 6 mm wide and 3 mm deep at 30 mm/s lies within a tenth of what those ask, and its range holds both.

    Source: Palubicki, Materials 14 (2021) 2208, mean principal specific forces (read)
    """
    energy = cutting_energy("fibreboard")
    published = [cutting_power(6.0, 3.0, 30.0, force) for force in (32.0, 37.6)]
    speed = 30.0 * 60 / (2 * 0.1)  # two flutes, 0.1 mm a tooth
    slot = asked(flat_cutter(2, 6.0, 22.0), material("mdf"), an_inch_job().shop.machine, Way(3, 6, 30, speed))
    mean_chip_costs = (
        2 / math.pi
    ) ** -energy.exponent  # the mean chip of a slot is thinner than its thickest
    assert published[0] * 0.9 <= slot.power / mean_chip_costs <= published[1] * 1.1
    assert slot.power * energy.low <= published[0] and published[1] <= slot.power * energy.high
