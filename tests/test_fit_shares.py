"""The size to cut and the shares that come of it, against counting random parts, and against sense."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fit_bench import a_job, flat_cutter
from proveout.book.learned import Law, Learned
from proveout.finding import Level
from proveout.fit.hardware import pin_size
from proveout.fit.hex_recess import HexRecess, hex_recess
from proveout.fit.holes import dowel_hole
from proveout.fit.scatter import cut_scatter, moisture_scatter
from proveout.fit.sized import TIGHT_COUNTS, best_size, shares_of
from proveout.fit.spread import bell, even, total
from proveout.job.records import Air, Hardware, Job
from proveout.shelf.fit_classes import FIT_NAMES, FitClass, fit_class

HEAD = Hardware(size="M6", form="hex head", across_flats=9.90, others=(9.89, 9.90, 9.88, 9.90))


def recess(job: Job, hardware: Hardware = HEAD, fit: str = "firm press") -> HexRecess:
    """The recess of a job for that head."""
    return hex_recess(job, hardware=hardware, fit=fit, name="knob.head recess", named=None)


def flat_sawn(cut: float, driest: float, dampest: float) -> Air:
    """The air that a flat-sawn board is cut in and used in: humidity in per cent, at 20 deg C."""
    return Air(
        cut_humidity=cut,
        cut_temperature=20.0,
        use_humidity=(driest, dampest),
        use_temperature=20.0,
        moisture=None,
        sawn="flat-sawn",
    )


def figure(made: HexRecess, name: str) -> float:
    """A figure's value, by the end of its name."""
    return next(one.value for one in made.figures if one.name.endswith(name))


@given(st.floats(-0.1, 0.1), st.floats(0.005, 0.05), st.sampled_from(FIT_NAMES))
@settings(max_examples=40, deadline=None)
def test_no_other_size_loses_fewer_parts(mean: float, deviation: float, name: str) -> None:
    """Every size within half a millimetre, counted another way: none is better by more than the grid."""
    fit = fit_class(name, "plywood")
    room = total([bell(mean, deviation), even(-0.02, 0.03)])
    weight = TIGHT_COUNTS if fit.is_press else 1.0

    def lost(size: float) -> float:
        clear = room.places + size
        return float(room.weights[clear > fit.high].sum() + weight * room.weights[clear < fit.low].sum())

    found = best_size(room, fit)
    assert lost(found) <= min(lost(found + step) for step in np.linspace(-0.5, 0.5, 401)) + 0.02


def test_the_shares_are_what_counting_a_million_parts_finds() -> None:
    """An independent second way, seed 11: heads, walls, runout, push-off and wood drawn one by one."""
    job = a_job(cutters=(replace(flat_cutter(1, 3.0, 15.0), runout=0.03, diameter_error=0.02),))
    head = Hardware(size="M6", form="hex head")
    made = recess(job, head, "light press")
    dice, n = np.random.default_rng(11), 1_000_000
    band = dice.uniform(9.78, 10.00, n)  # ISO 4014
    cut = (
        dice.uniform(-0.02, 0.02, n)
        + 0.03 * np.abs(np.cos(dice.uniform(0, 2 * np.pi, n)))
        + dice.normal(0, 0.02 / np.sqrt(2), n)
        + dice.uniform(-1, 1, n) * made.size.flats.value * 0.1 / 300 / 2
        + dice.uniform(-0.06, 0, n)
        + dice.normal(0, 0.03, n)
    )
    share = dice.uniform(0.00015, 0.0003, n)
    wood = made.size.flats.value * share * dice.uniform(-1.55, 1.73, n)  # 50 % to 40 and 60 %, at 20 C
    clear = made.flats + cut + wood - band
    shares = made.fitted.shares
    assert shares.too_loose == pytest.approx((clear > 0.0).mean(), abs=3e-3)
    assert shares.too_tight == pytest.approx((clear < -0.1).mean(), abs=3e-3)
    assert shares.too_loose + shares.right + shares.too_tight == pytest.approx(1.0)


def test_measuring_the_hardware_makes_more_parts_right() -> None:
    """None, one and five readings of a box: each says more, and the size follows the box."""
    job = a_job()
    none = recess(job, Hardware(size="M6", form="hex head")).fitted.shares.right
    one = recess(job, replace(HEAD, others=())).fitted.shares.right
    five = recess(job).fitted.shares.right
    assert none < 0.5 < one < five
    smaller = replace(HEAD, across_flats=9.80, others=(9.79, 9.80))
    assert recess(job, smaller).flats == pytest.approx(recess(job).flats - 0.1, abs=0.011)


def test_a_box_that_scatters_is_found_out() -> None:
    """Readings 0.2 mm apart leave fewer parts right than readings that agree."""
    wide = replace(HEAD, across_flats=9.98, others=(9.80, 9.85, 9.92, 9.78))
    found = recess(a_job(), wide)
    assert found.fitted.shares.right < 0.75
    (doubt,) = [one for one in found.findings if one.kind == "fit-doubtful"]
    assert "hardware scatters most" in doubt.text and "Sort" in doubt.remedy


def test_a_maple_board_that_will_dry_is_cut_wider_and_told() -> None:
    """From 60 % in the shop to 25 % in winter a flat-sawn board closes on the head; plywood doesn't."""
    air = flat_sawn(60.0, 25.0, 30.0)
    wet = replace(a_job(material="sugar maple"), air=air)
    steady = replace(wet, air=replace(air, use_humidity=(60.0, 60.0)))
    # 10 mm x 0.00353 x (11.0 - 5.4 to 6.2): about 0.18 mm; Wood Handbook, equations 4-5 and 13-2
    assert recess(wet).flats - recess(steady).flats == pytest.approx(0.18, abs=0.03)
    plywood = replace(wet, stock=a_job().stock)
    assert abs(moisture_scatter(plywood, size=10.0, form="round", name="x").spread.mean) < 0.02


def test_growing_wood_loosens_no_head_and_quarter_sawn_moves_less() -> None:
    """Along the grain it holds as before, so nothing above 0; a meter may be a point off either way."""
    air = flat_sawn(30.0, 60.0, 70.0)
    job = replace(a_job(material="sugar maple"), air=air)
    assert moisture_scatter(job, size=10.0, form="round", name="x").spread.mean == 0.0
    dry = replace(air, cut_humidity=60.0, use_humidity=(30.0, 35.0))
    flat = moisture_scatter(replace(job, air=dry), size=10.0, form="round", name="x").spread
    quarter = moisture_scatter(
        replace(job, air=replace(dry, sawn="quarter-sawn")), size=10.0, form="round", name="x"
    ).spread
    assert flat.mean < quarter.mean < 0
    metered = moisture_scatter(
        replace(job, air=replace(dry, moisture=11.0)), size=10.0, form="round", name="x"
    ).spread
    assert metered.deviation > flat.deviation


def test_runout_and_a_gantry_out_of_square_scatter_what_is_cut() -> None:
    """Each adds to the scatter; runout also widens the cut, so less is asked for."""
    job = a_job(cutters=(flat_cutter(1, 3.0, 15.0),))
    wobbly = a_job(cutters=(replace(flat_cutter(1, 3.0, 15.0), runout=0.08),))
    plain = cut_scatter(job, job.shop.cutters[0], size=10.0, feature="recess", name="x").spread
    wide = cut_scatter(wobbly, wobbly.shop.cutters[0], size=10.0, feature="recess", name="x").spread
    assert wide.mean == pytest.approx(plain.mean + 0.08 * 2 / np.pi, abs=1e-3)
    assert wide.deviation > plain.deviation
    assert recess(wobbly).flats < recess(job).flats
    machine = replace(job.shop.machine, out_of_square=3.0, repeatability=0.1)
    loose = replace(job, shop=replace(job.shop, machine=machine))
    assert recess(loose).fitted.shares.right < recess(job).fitted.shares.right
    bad = [one for one in recess(loose).findings if one.kind == "fit-doubtful"]
    assert "proveout coupon" in bad[0].remedy and bad[0].level is Level.CAUTION


def test_what_the_shop_book_says_comes_before_what_is_reckoned() -> None:
    """A cutter that is known to cut 0.07 mm small is told to cut 0.07 mm larger."""
    job = a_job(cutters=(flat_cutter(1, 3.0, 15.0),))
    known = Learned(
        cutter="1: 3 two-flute",
        material="birch plywood",
        feature="recess",
        laws=(Law(share=1.0, mean=-0.07, deviation=0.012),),
        words="offset -0.07 +/- 0.01 mm",
        source="shop book: 6 coupons",
    )
    learned = recess(replace(job, learned=(known,)))
    assert figure(learned, "to measure") == pytest.approx(9.894 - 0.15, abs=0.012)
    assert learned.flats == pytest.approx(figure(learned, "to measure") + 0.07, abs=1e-6)
    assert learned.fitted.shares.right > recess(job).fitted.shares.right
    other = replace(known, material="mdf")
    assert recess(replace(job, learned=(other,))).flats == recess(job).flats


def test_a_drilled_hole_has_the_drills_size_and_honest_shares() -> None:
    """Where a drill makes the hole, nothing is chosen: the shares say what comes of it."""
    job = a_job(cutters=(flat_cutter(1, 6.0, 22.0),))
    pin = Hardware(size="6", form="dowel", diameter=5.98)
    hole = dowel_hole(job, hardware=pin, fit="snug", name="hole", named=None)
    assert hole.drilled and hole.diameter == 6.0 and hole.fitted is not None
    assert 0.0 < hole.fitted.shares.right < 1.0


def test_pins_of_a_stated_zone_are_sized_for_it() -> None:
    """h8 pins are 0 to 0.018 mm small where m6 ones are large: their hole is smaller."""
    job = a_job(cutters=(flat_cutter(1, 3.0, 15.0),))
    m6, h8 = (
        dowel_hole(
            job, hardware=Hardware(size="6", form="dowel", limits=zone), fit="snug", name="hole", named=None
        )
        for zone in (None, "h8")
    )
    assert m6.diameter - h8.diameter == pytest.approx(0.017, abs=0.006)


def test_shares_of_nothing_that_scatters_are_whole() -> None:
    """A fit that is met exactly is right every time."""
    fit = FitClass(name="snug", low=0.0, high=0.1)
    assert shares_of(bell(0.0, 0.001), fit, 0.05).right == pytest.approx(1.0, abs=1e-6)


def test_a_press_stays_a_press_where_much_scatters() -> None:
    """However wide it scatters, a tenth of the right ones is the most that is given up to spare the tight."""
    fit = fit_class("light press", "plywood")
    for deviation in (0.05, 0.1, 0.15, 0.3):
        room = bell(0.0, deviation)
        found = shares_of(room, fit, best_size(room, fit)).right
        assert found >= 0.89 * shares_of(room, fit, fit.target).right


def test_inch_pins_of_a_stated_zone_have_their_own_nominal_size() -> None:
    """1/4 in h8: 6.350 to 6.328 mm, ISO 286 for 6 to 10 mm."""
    pin = pin_size(Hardware(size="1/4", form="dowel", limits="h8"), "pin")
    assert pin.low == pytest.approx(6.328) and pin.high == pytest.approx(6.350)


def test_a_hexagon_in_growing_wood_loosens_by_at_most_a_quarter() -> None:
    """Its three pairs lie 60 degrees apart: the one that grows least grows by sin^2 30 of it at worst."""
    air = flat_sawn(30.0, 65.0, 65.0)
    job = replace(a_job(material="sugar maple"), air=air)
    # 17 mm x 0.00353 x (12.0 - 6.2): 0.349 mm; Wood Handbook, equations 4-5 and 13-2
    spread = moisture_scatter(job, size=17.0, form="flats", name="x").spread
    assert spread.quantile(0.999) == pytest.approx(0.349 / 4, abs=0.003)
    assert spread.quantile(0.001) == pytest.approx(0.0, abs=0.003)


def test_what_is_to_be_measured_lies_in_its_own_range() -> None:
    """Also where the wood will dry and the recess is cut wider for it: a good part reads as good."""
    air = flat_sawn(75.0, 25.0, 30.0)
    for material in ("sugar maple", "birch plywood"):
        for fit in FIT_NAMES:
            made = recess(replace(a_job(material=material), air=air), fit=fit)
            read = next(one for one in made.figures if one.name.endswith("to measure"))
            assert read.low is not None and read.high is not None
            assert read.low <= read.value <= read.high
    unknown = recess(a_job(), Hardware(size="M6", form="hex head"))
    assert next(one for one in unknown.figures if one.name.endswith("to measure")).low is None


def test_a_fit_that_waits_for_the_wood_to_dry_says_so() -> None:
    """Maple from damp air to a heated room: loose on the day, and what to do; plywood says nothing."""
    air = flat_sawn(75.0, 25.0, 30.0)
    told = [
        [
            one.text
            for one in recess(replace(a_job(material=name), air=air)).findings
            if "will dry" in one.text
        ]
        for name in ("sugar maple", "birch plywood")
    ]
    assert len(told[0]) == 1 and "goes in loosely" in told[0][0]
    assert not told[1]
