"""The draft: what makes it quick changes nothing, and what is taken over from an earlier one is the same."""

import random
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from good_programs import varied
from plain.choosing import asker_plainly, reach_plainly, timer_plainly, weakest_plainly
from proveout.cutting.choose import Task, choose
from proveout.cutting.data import CuttingData
from proveout.cutting.eased import Eased
from proveout.cutting.limits import Allowed, Bench
from proveout.draft import Draft, draft
from proveout.finding import InputError
from proveout.hold.slip import contacts
from proveout.hold.weakest import coarse_map, weakest_place
from proveout.job.read import read_job
from proveout.job.records import Job, KnobWanted, Wanted
from proveout.kernels.speeds import reach
from proveout.layout.lay import Laid, LayOrder, lay
from proveout.paths.order import bench_of
from proveout.paths.paces import feeds_at
from proveout.plan import plan
from proveout.reckon import reckon
from proveout.shelf.tables import material

EXAMPLES = Path(__file__).parents[1] / "examples"
NAMES = ("clamp-kit", "inch-knobs", "drawn-bracket")


def example(name: str) -> Job:
    """One of the examples."""
    return read_job(EXAMPLES / name / "job.toml")


def told(one: Draft) -> list[str]:
    """All that a draft says, to the last digit."""
    values = one.values
    plain = replace(values, choices=(), places=())
    said = (one.placed, one.figures, one.findings, one.strength, one.tabs, plain, one.seconds)
    return [*map(repr, said), *(places.tobytes().hex() for places in values.places)]


def jobs() -> list[Job]:
    """The examples on other benches, with other sheets, in other numbers."""
    dice = random.Random(11)
    return [varied(example(name), dice)[1] for name in NAMES]


def test_drafts_are_those_of_plain_loops(monkeypatch: pytest.MonkeyPatch) -> None:
    """Three varied jobs: every node looked at, every cut traced at its feeds, every edge reckoned anew."""
    quick = [told(draft(job)) for job in jobs()]
    monkeypatch.setattr("proveout.hold.stands.weakest_place", weakest_plainly)
    monkeypatch.setattr("proveout.paths.tasks._timer", timer_plainly)
    monkeypatch.setattr("proveout.cutting.limits.asker", asker_plainly)
    monkeypatch.setattr("proveout.motion_time.reach", reach_plainly)
    assert [told(draft(job)) for job in jobs()] == quick


@pytest.mark.parametrize("name", NAMES)
def test_the_weakest_place_is_that_of_the_whole_map(name: str) -> None:
    """Wherever places lie, however many contacts of whatever strength there are: the same place and force."""
    job, chance = example(name), np.random.default_rng(5)
    held, size = reckon(job).held, job.stock.size
    whole = contacts(held.clamps, material(job.stock.material), held.grips, held.stops)
    for _ in range(15):
        some = chance.choice(len(whole), chance.integers(1, len(whole) + 1), replace=False)
        mine = replace(
            whole,
            at=whole.at[some] + chance.normal(0, 40, (len(some), 2)),
            friction=whole.friction[some] * chance.uniform(0.2, 2, len(some)),
            own=None,
            down=None,
        )
        around = chance.uniform(0, 1, 2) * size
        places = around + chance.normal(0, chance.uniform(5, 200), (chance.integers(1, 300), 2))
        asked = mine, size, coarse_map(mine, size), places
        assert weakest_place(*asked) == weakest_plainly(*asked)


@pytest.mark.parametrize("name", NAMES)
def test_a_cut_at_other_feeds_is_the_cut_traced_at_them(name: str) -> None:
    """Outlines, all of them ramped and lifted over tabs: another feed changes no way, and each move's feed as
    tracing would."""
    one = draft(example(name))
    order, bench = one.sheet.order, bench_of(one.sheet.order)
    for lying in one.sheet.lying:
        assert lying.cutter
        data = one.values.of(lying.cutter.number, "outline")
        for other in (
            replace(data, feed=7.0, plunge_feed=0.3),
            replace(data, feed=31.0, plunge_feed=11.0),
        ):
            for cut, anew in zip(
                lying.cuts(order, bench, data), lying.cuts(order, bench, other), strict=True
            ):
                assert (cut.motion.end == anew.motion.end).all()
                assert (feeds_at(cut.paces, other) == anew.motion.feed).all()
                assert len(set(anew.motion.feed.tolist())) >= 3


@pytest.mark.parametrize("seed", range(20))
def test_speeds_at_nodes_are_those_of_a_plain_loop(seed: int) -> None:
    """Braking and picking up speed, whatever the moves are."""
    chance = np.random.default_rng(seed)
    squared, gain = chance.uniform(0, 100, 41), chance.uniform(0, 30, 40)
    plain = squared.copy()
    reach(squared, gain)
    reach_plainly(plain, gain)
    assert (squared == plain).all()


def renamed(job: Job) -> Job:
    """A name changes nothing."""
    return replace(job, name="another")


def thicker(job: Job) -> Job:
    """Every depth changes."""
    return replace(job, stock=replace(job.stock, readings=tuple(one + 0.1 for one in job.stock.readings)))


def other_fit(job: Job) -> Job:
    """The knobs' recesses change and nothing around them."""

    def looser(one: Wanted) -> Wanted:
        pattern = one.pattern
        return (
            replace(one, pattern=replace(pattern, fit="slides")) if isinstance(pattern, KnobWanted) else one
        )

    return replace(job, wanted=tuple(looser(one) for one in job.wanted))


def fewer(job: Job) -> Job:
    """Others come to lie elsewhere."""
    return replace(job, wanted=tuple(replace(one, count=max(1, one.count - 1)) for one in job.wanted))


def one_clamp_less(job: Job) -> Job:
    """The hold changes, and where parts may lie."""
    return replace(job, clamps=job.clamps[:-1])


def thinner_cutter(job: Job) -> Job:
    """The first cutter is a little thinner than was said."""
    first, *others = job.shop.cutters
    cutters = (replace(first, diameter=first.diameter - 0.02), *others)
    return replace(job, shop=replace(job.shop, cutters=cutters))


def slower_machine(job: Job) -> Job:
    """Only the time and the feeds change."""
    machine = replace(job.shop.machine, acceleration=(90.0, 80.0, 40.0))
    return replace(job, shop=replace(job.shop, machine=machine))


Change = Callable[[Job], Job]
CHANGES: tuple[Change, ...] = (
    renamed,
    thicker,
    other_fit,
    fewer,
    one_clamp_less,
    thinner_cutter,
    slower_machine,
)


@pytest.mark.parametrize("name", NAMES)
def test_a_draft_after_another_is_the_draft_alone(name: str) -> None:
    """Whatever is changed, one change upon the other and back again: nothing stale is taken over."""
    job = example(name)
    before = draft(job)
    for change in (*CHANGES, None):
        job = change(job) if change else example(name)
        alone, after = draft(job), draft(job, before=before)
        assert told(after) == told(alone)
        before = after
    gentler = Eased(depth={1: 0.7, 2: 0.8}, bridges=1.3)
    assert told(draft(job, eased=gentler, before=before)) == told(draft(job, eased=gentler))
    less = Allowed(share=0.6)
    assert told(draft(job, allowed=less, before=before)) == told(draft(job, allowed=less))


def chosen_anew(change: Change, monkeypatch: pytest.MonkeyPatch) -> tuple[int, list[tuple[int, str]]]:
    """How often the clamp kit is laid out anew after a change, and what is chosen anew."""
    job = example("clamp-kit")
    before, layouts, tasks = draft(job), [], []

    def lay_counted(order: LayOrder) -> Laid:
        layouts.append(order)
        return lay(order)

    def choose_counted(task: Task, bench: Bench) -> CuttingData:
        tasks.append((task.cutter.number, task.kind))
        return choose(task, bench)

    monkeypatch.setattr("proveout.draft.lay", lay_counted)
    monkeypatch.setattr("proveout.choosing.choose", choose_counted)
    draft(change(job), before=before)
    return len(layouts), sorted(tasks)


def test_only_what_a_change_touches_is_gone_through_again(monkeypatch: pytest.MonkeyPatch) -> None:
    """A name costs nothing, another fit its own recess, a slower machine all values but no layout; with a
    thicker sheet the clamps stand higher, so that it is laid out again as well."""
    assert chosen_anew(renamed, monkeypatch) == (0, [])
    assert chosen_anew(other_fit, monkeypatch) == (0, [(1, "recess")])
    for change, layouts in ((slower_machine, 0), (thicker, 1)):
        laid, tasks = chosen_anew(change, monkeypatch)
        assert (laid, len(tasks)) == (layouts, 5)


def test_a_plan_is_its_draft_and_the_moves() -> None:
    """One road: the plan says first what the draft said."""
    job = example("inch-knobs")
    early, planned = draft(job), plan(job)
    assert planned.placed == early.placed
    assert planned.setup.tabs == early.tabs
    assert planned.findings[: len(early.findings)] == early.findings
    assert planned.figures[: len(early.figures)] == early.figures
    assert early.seconds > 60


def test_a_draft_refuses_what_a_plan_refuses() -> None:
    """Parts that don't fit on the sheet are refused with a way out, with and without a draft before."""
    job = example("inch-knobs")
    many = replace(job, wanted=tuple(replace(one, count=90) for one in job.wanted))
    for before in (None, draft(job)):
        with pytest.raises(InputError, match="did not fit on the sheet"):
            draft(many, before=before)
