"""The whole road on jobs of several kinds: what is planned proves, and how it is stated changes nothing."""

from dataclasses import replace
from functools import cache
from typing import Literal, get_args

import numpy as np
import pytest

from fit_bench import INCH, a_job, a_knob, a_stop, a_strap, an_inch_job, an_inch_knob, want
from proveout.figure import Figure, walk
from proveout.finding import InputError, Level
from proveout.job.records import ClampAt, ClampKind, Corner, DialectName, Job, Towards, Zero, ZeroLevel
from proveout.pack.made import Made
from proveout.plan import make, plan
from proveout.proof.prove import prove

STRAP = ClampKind(
    name="strap",
    count=4,
    length=75.0,
    width=25.0,
    thickness=12.0,
    nose_to_bolt=30.0,
    bolt="M6",
    knob_diameter=40.0,
    knob_height=18.0,
)
PLACES: tuple[tuple[str, Towards], ...] = (("B4", "right"), ("B9", "right"), ("P4", "left"), ("P9", "left"))


def clamped(job: Job) -> Job:
    """The job with four clamps beside its sheet."""
    clamps = tuple(ClampAt(clamp="strap", hole=hole, towards=towards) for hole, towards in PLACES)
    return replace(job, shop=replace(job.shop, clamps=(STRAP,)), clamps=clamps)


def metric(level: ZeroLevel = "bed") -> Job:
    """Two knobs, two straps, two stops."""
    return clamped(
        a_job(want(a_knob(), "knob"), want(a_strap(), "strap"), want(a_stop(), "stop"), level=level)
    )


def in_inches() -> Job:
    """Two knobs of 1-1/2 in from plywood sold as 1/4 in, one 1/8 in cutter for all."""
    return clamped(an_inch_job(want(an_inch_knob(), "knob", cutter=1)))


@cache
def made(of: Literal["metric", "inch"]) -> Made:
    """A made job, once."""
    return make(metric() if of == "metric" else in_inches())


def doubts(job: Job) -> list[tuple[str, str]]:
    """Level and kind of what the prover alone has to say, notes left out."""
    planned = plan(job)
    verdict = prove(planned.programs, planned.setup, cell=0.2)
    return [(one.level.value, one.kind) for one in verdict.findings if one.level is not Level.NOTE]


def figure(made_job: Made, name: str) -> Figure:
    """A number of a made job by its name."""
    return next(one for one in walk(made_job.figures) if one.name == name)


def test_a_planned_job_proves() -> None:
    """The prover has neither stop nor caution on what the planner wrote; metric and inch."""
    assert made("metric").ready
    assert made("inch").ready
    for job in (metric(), in_inches()):
        assert doubts(job) == []


@pytest.mark.parametrize("dialect", get_args(DialectName))
@pytest.mark.parametrize("units", ["mm", "in"])
def test_every_dialect_and_unit_proves(dialect: DialectName, units: Literal["mm", "in"]) -> None:
    """The same job for any controller, in inches or millimetres, is proved from its own text."""
    job = metric()
    machine = replace(job.shop.machine, dialect=dialect, units=units)
    assert doubts(replace(job, shop=replace(job.shop, machine=machine))) == []


@pytest.mark.parametrize("corner", get_args(Corner))
@pytest.mark.parametrize("level", ["top", "bed"])
def test_moving_the_zero_never_changes_the_cut(corner: Corner, level: ZeroLevel) -> None:
    """Wherever the zero is set, the sheet that is left is the same to a few micrometres."""
    job = metric()
    here = plan(replace(job, zero=Zero(corner=corner, level=level)))
    there = plan(metric(level=level))
    one = prove(here.programs, here.setup, cell=0.5)
    other = prove(there.programs, there.setup, cell=0.5)
    differing = np.abs(one.result.heights - other.result.heights) > 0.002
    assert differing.mean() < 1e-4, "only cells that lie on a rim may differ"
    assert one.minutes.cutting == pytest.approx(other.minutes.cutting, rel=1e-3)


def test_floors_survive_at_the_thinnest_reading_wherever_the_zero_is() -> None:
    """A recess leaves the same floor under the head at the thinnest place, from the bed or from the top."""
    for level in ("bed", "top"):
        job = metric(level)
        planned = plan(job)
        depth = next(one for one in walk(planned.figures) if one.name == "knob.head recess.depth")
        assert depth.value > 4.15, "an M6 head is up to 4.15 mm high (ISO 4014)"
        knob = next(part for part in planned.setup.parts if part.name.startswith("knob"))
        (recess,) = [feature for feature in knob.features if not feature.through]
        under = recess.floor if level == "bed" else recess.floor - (job.stock.thickest - job.stock.thinnest)
        assert under == pytest.approx(11.7 - depth.value, abs=0.01)


def test_practitioners_would_know_the_inch_job() -> None:
    """Values from common practice, no source, for a 1/8 in cutter in plywood that measures about 0.235 in.

    Depth, feed and plunge differ, and each says what limits it: test_practice proves that they cost nothing.
    """
    job = made("inch")

    def inches(name: str) -> float:
        return figure(job, name).value / INCH

    for name in ("depth of cut", "feed", "plunge feed"):
        assert figure(job, f"cutting.cutter 1.outline.{name}").rule.startswith("limited by: ")
    assert figure(job, "knob.tabs.count").value == 3
    assert inches("tabs.waist") == pytest.approx(0.30, abs=0.02)
    assert inches("tabs.height") == pytest.approx(0.09, abs=0.01)
    assert inches("knob.head recess.floor left") == pytest.approx(0.08, abs=0.005)
    assert figure(job, "safe height").value - figure(job, "clamps.top").value == pytest.approx(INCH / 2)


def test_the_reason_where_proveout_differs_from_practice_is_visible() -> None:
    """A 1/4 in bolt's hole is .266 in where shops bore .260, and the figure names the standard for it."""
    hole = figure(made("inch"), "knob.bolt hole.diameter")
    assert hole.value / INCH == pytest.approx(0.266, abs=0.001)
    reasons = " ".join(one.source for one in walk([hole]))
    assert "B18.2.8" in reasons


def test_every_figure_has_a_rule_and_a_source() -> None:
    """No number without its reason, and no name twice for different values."""
    values: dict[str, float] = {}
    for one in walk(made("metric").figures):
        assert one.rule
        assert one.source
        assert values.setdefault(one.name, one.value) == one.value


def test_parts_that_do_not_fit_are_refused_with_the_sheet_it_would_take() -> None:
    """Forty knobs on a small sheet: refused, with the count that is left over and a length that would do."""
    job = metric()
    many = replace(job, wanted=(replace(job.wanted[0], count=40),))
    with pytest.raises(InputError, match=r"of 40 knob did not fit .* long"):
        plan(many)


def test_the_machine_takes_longer_than_the_cutting() -> None:
    """Minutes add up: cutting, air and cutter changes make the total."""
    minutes = made("metric").verdict.minutes
    assert minutes.total == pytest.approx(minutes.cutting + minutes.air + minutes.tool_changes)
    assert minutes.cutting > minutes.air > 0
