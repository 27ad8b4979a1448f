"""What limits a job, and what loosening it is worth: every saving is the difference of two proofs."""

from dataclasses import replace
from pathlib import Path

import pytest

from proveout.faster import Faster, faster
from proveout.faster_text import faster_json, faster_text
from proveout.job.read import read_job
from proveout.job.records import Job
from proveout.plan import plan
from proveout.proof.prove import prove

EXAMPLES = Path(__file__).parents[1] / "examples"


def inch_knobs() -> Job:
    """The example that names one cutter for everything."""
    return read_job(EXAMPLES / "inch-knobs" / "job.toml")


@pytest.fixture(scope="module")
def knobs() -> Faster:
    """What could make it quicker."""
    return faster(inch_knobs())


def test_a_saving_is_what_planning_and_proving_anew_says(knobs: Faster) -> None:
    """The cutter set in further: the same job with that stick-out, planned and proved here, takes as long."""
    tried = next(one for one in knobs.tried if "sticks out" in one.what)
    job = inch_knobs()
    cutter = job.shop.cutters[0]
    short = replace(cutter, stick_out=cutter.flute_length + 2.0)
    shop = replace(job.shop, cutters=(short, *job.shop.cutters[1:]))
    planned = plan(replace(job, shop=shop))
    verdict = prove(planned.programs, planned.setup)
    assert tried.outcome is not None
    assert tried.outcome.minutes == pytest.approx(verdict.minutes.total)
    assert tried.saves(knobs.now) == pytest.approx(1 - verdict.minutes.total / knobs.now.minutes)


def test_the_most_helpful_comes_first_and_what_cannot_be_done_last(knobs: Faster) -> None:
    """In the order of what they save; a 1/4 in cutter can't make a 7/16 in hexagon, and it is said so."""
    saves = [one.saves(knobs.now) for one in knobs.tried]
    assert saves == sorted(saves, reverse=True)
    last = knobs.tried[-1]
    assert last.outcome is None
    assert "can't make" in last.why_not


def test_the_words_name_each_cuts_weakest_link(knobs: Faster) -> None:
    """Every kind of cut has its depth and feed with what limits them, and what is to buy is marked."""
    text = faster_text(knobs)
    for kind in ("bore", "recess", "outline"):
        assert f"1/8 in two-flute up-cut, {kind}: " in text
    assert text.count("limited by:") >= 6
    assert "3 flutes instead of 2 (to buy)" in " ".join(text.split())
    assert '"saves"' in faster_json(knobs)


def test_weak_clamps_are_named_and_one_more_lets_the_cutter_go_deeper() -> None:
    """Small knobs press little: the clamps limit the cuts; one more on hand, where it is free, saves time."""
    job = read_job(EXAMPLES / "clamp-kit" / "job.toml")
    kinds = tuple(replace(kind, knob_diameter=4.0) for kind in job.shop.clamps)
    found = faster(replace(job, shop=replace(job.shop, clamps=kinds)))
    limits = " ".join(dict(cut.data.limits)["depth of cut"] for cut in found.now.cuts)
    assert "the clamps' friction" in limits
    clamp = next(one for one in found.tried if one.what.startswith("one more "))
    assert clamp.outcome is not None
    assert clamp.saves(found.now) > 0.02
