"""Remedies that make applies by itself: only gentler cutting, proved anew, and said aloud."""

from dataclasses import replace
from pathlib import Path
from types import MappingProxyType

import pytest

from proveout import choosing
from proveout.cutting.eased import AS_CHOSEN, LEAST_DEPTH, MOST_BRIDGES, Eased, eased_by
from proveout.finding import Change, Finding, Level
from proveout.job.read import read_job
from proveout.job.records import Job
from proveout.pack.made import Made
from proveout.plan import make, plan
from proveout.proof.grouped import flat
from proveout.proof.prove import prove

EXAMPLE = Path(__file__).parents[1] / "examples" / "clamp-kit" / "job.toml"


def small_knobs(diameter: float) -> Job:
    """The example's job in a shop whose clamps have knobs so small that they press less."""
    job = read_job(EXAMPLE)
    kinds = tuple(replace(kind, knob_diameter=diameter) for kind in job.shop.clamps)
    return replace(job, shop=replace(job.shop, clamps=kinds))


def trusting(diameter: float) -> None:
    """The same for who only wants it made."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(choosing, "stands_at", lambda blank, places: None)
        made_with_knobs_of(diameter)


def made_with_knobs_of(diameter: float) -> tuple[Job, Made]:
    """A job with weak clamps, made."""
    job = small_knobs(diameter)
    return job, make(job)


@pytest.fixture(scope="module")
def weak() -> tuple[Job, Made]:
    """A job with weak clamps, made once by a planner that takes them for strong."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(choosing, "stands_at", lambda blank, places: None)
        return made_with_knobs_of(5.0)


def hold_findings(findings: tuple[Finding, ...]) -> list[str]:
    """The programs whose cuts the clamps stand with too little margin."""
    return [one.program for one in flat(findings) if one.kind == "hold-margin" and one.program]


def test_make_cuts_shallower_where_its_own_proof_asks_for_it(weak: tuple[Job, Made]) -> None:
    """The first plan has less hold than is wanted; what is made has it."""
    job, made = weak
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(choosing, "stands_at", lambda blank, places: None)
        first = plan(job)
    before = hold_findings(prove(first.programs, first.setup).findings)
    after = hold_findings(made.verdict.findings)
    assert len(before) == 1
    assert not after
    notes = [one for one in made.findings if one.kind == "remedy-applied"]
    assert notes  # of each cutter that was eased
    assert all(one.level is Level.NOTE and "as deep at a time" in one.text for one in notes)


def test_the_reason_says_that_the_proof_asked(weak: tuple[Job, Made]) -> None:
    """Each lowered depth has its first value and the proof as its source."""
    _, made = weak
    depths = [one for one in made.figures if one.name.endswith(".depth of cut")]
    assert depths
    for depth in depths:
        assert depth.source == "this job's own proof"
        assert depth.inputs[0].value > depth.value


def test_a_sound_job_is_left_as_it_was_chosen() -> None:
    """No note, no change."""
    job = read_job(EXAMPLE)
    made = make(job)
    assert [one for one in made.findings if one.kind == "remedy-applied"] == []
    assert [one.text for one in made.programs] == [one.text for one in plan(job).programs]


def test_bridges_come_out_wider_when_asked_for() -> None:
    """A plan with bridges of twice the width has tabs of twice the waist."""
    job = read_job(EXAMPLE)
    usual, wide = plan(job).setup.tabs, plan(job, eased=Eased(bridges=1.5)).setup.tabs
    assert max(tab.length for tab in wide) == pytest.approx(1.5 * max(tab.length for tab in usual), rel=0.01)


def test_nothing_is_eased_without_end() -> None:
    """Depths stop at a share, bridges at a width; what would need more is left to a person."""
    deep = eased_by(AS_CHOSEN, [Change(what="depth of cut", times=0.01, cutter=2)])
    assert deep.depth == {2: LEAST_DEPTH}
    assert eased_by(AS_CHOSEN, [Change(what="bridges", times=50.0)]).bridges == MOST_BRIDGES
    again = eased_by(
        Eased(depth=MappingProxyType({2: 0.8})), [Change(what="depth of cut", times=0.9, cutter=2)]
    )
    assert again.depth[2] == pytest.approx(0.8 * 0.9 * 0.98)
    assert eased_by(AS_CHOSEN, []) == AS_CHOSEN
