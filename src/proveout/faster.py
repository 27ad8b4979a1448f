"""Faster: what limits each cut of a job, and what would loosen that, each way planned and proved anew.

Only what is on the bench, or is little to ask for, is tried: a cutter that sticks out less, another cutter on
hand, one clamp more, wider tabs, more flutes. A way counts when the whole job, planned with it and proved, is
ready; what it saves is the difference of two proofs' minutes.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Final

from shapely import Polygon

from proveout.cutting.data import CuttingData
from proveout.cutting.eased import AS_CHOSEN, Eased
from proveout.draft import Say
from proveout.finding import InputError, Level
from proveout.hold.clamps import placed_clamps
from proveout.hold.places import Place, places
from proveout.hold.stands import held_blank, stands_at
from proveout.job.records import ClampAt, ClampKind, Cutter, Job
from proveout.plan import Planned, plan
from proveout.proof.grouped import flat
from proveout.proof.load_shares import hardest, measured
from proveout.proof.prove import prove
from proveout.proof.verdict import Verdict
from proveout.quantity import show_length
from proveout.setup import PlacedClamp
from proveout.shelf.tables import material

OUT: Final = 2.0  # mm of shank that stays between the flutes and the collet; our own choice
SHORTER: Final = 1.0  # mm; a cutter that can be set in by less is left as it is
WIDER: Final = 1.5  # times, of tabs
MOST_FLUTES: Final = 3  # that small cutters for wood are sold with; common practice
APART: Final = 1.0  # mm between two bars


@dataclass(frozen=True, slots=True, kw_only=True)
class Limited:
    """One cutter's cuts of one kind, and what holds them back."""

    cutter: Cutter
    data: CuttingData
    kind: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """How a job comes out."""

    minutes: float
    ready: bool
    hardest: float  # share of its limit that whatever comes closest is asked
    worst: str  # the first thing that speaks against it; "" where nothing does
    cuts: tuple[Limited, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Tried:
    """One way to loosen a limit, and what became of it."""

    what: str
    to_buy: bool
    outcome: Outcome | None  # None: it can't even be planned
    why_not: str = ""

    def saves(self, now: Outcome) -> float:
        """Share of the minutes that it saves; below 0 where it takes longer."""
        return 1 - self.outcome.minutes / now.minutes if self.outcome else -math.inf


@dataclass(frozen=True, slots=True, kw_only=True)
class Faster:
    """What limits a job, and what was tried."""

    job: Job
    now: Outcome
    tried: tuple[Tried, ...]  # the most helpful first


@dataclass(frozen=True, slots=True)
class _Way:
    what: str
    job: Job
    eased: Eased = AS_CHOSEN
    to_buy: bool = False


def faster(job: Job, *, say: Say = lambda stage: None) -> Faster:
    """What limits a job's cuts, and which changes help: each planned and proved anew.

    Raises:
        InputError: a job that can't be planned as it is
    """
    say("planning and proving as it is")
    planned = plan(job)
    now = _outcome(job, planned)
    tried = []
    for way in _ways(job, planned):
        say(f"trying: {way.what}")
        tried.append(_tried(way))
    return Faster(job=job, now=now, tried=tuple(sorted(tried, key=lambda one: -one.saves(now))))


def _tried(way: _Way) -> Tried:
    try:
        planned = plan(way.job, eased=way.eased)
    except InputError as error:
        return Tried(what=way.what, to_buy=way.to_buy, outcome=None, why_not=str(error))
    return Tried(what=way.what, to_buy=way.to_buy, outcome=_outcome(way.job, planned))


def _outcome(job: Job, planned: Planned) -> Outcome:
    verdict = prove(planned.programs, planned.setup)
    findings = [one for one in flat((*verdict.findings, *planned.findings)) if one.level is Level.STOP]
    cutters = {cutter.number: cutter for cutter in job.shop.cutters}
    return Outcome(
        minutes=verdict.minutes.total,
        ready=not findings,
        hardest=_hardest(job, verdict),
        worst=findings[0].text if findings else "",
        cuts=tuple(
            Limited(cutter=cutters[number], data=data, kind=kind)
            for (number, kind), data in planned.values.data.items()
        ),
    )


def _hardest(job: Job, verdict: Verdict) -> float:
    if verdict.loads is None:
        return 0.0
    every = measured(verdict.loads, job.shop.machine, job.shop.cutters, job.stock.material)
    peak = hardest(verdict, verdict.loads, every)
    return peak.share if peak else 0.0


# What could be tried


def _ways(job: Job, planned: Planned) -> Iterator[_Way]:
    used = {number: set[str]() for number, _ in planned.values.data}
    for (number, _), data in planned.values.data.items():
        used[number].update(data.active)
    cutters = {cutter.number: cutter for cutter in job.shop.cutters}
    for number, active in used.items():
        yield from _set_in(job, cutters[number])
        if active & {"chip", "feed"}:
            yield from _more_flutes(job, cutters[number])
    every = set[str]().union(*used.values())
    if every & {"sliding", "tipping"}:
        yield from _another_clamp(job, planned)
    if "tabs" in every:
        yield _Way(f"tabs {WIDER:g} times as wide", job, Eased(bridges=WIDER))
    yield from _other_cutters(job, used)


def _with_cutter(job: Job, cutter: Cutter) -> Job:
    others = tuple(cutter if one.number == cutter.number else one for one in job.shop.cutters)
    return replace(job, shop=replace(job.shop, cutters=others))


def _set_in(job: Job, cutter: Cutter) -> Iterator[_Way]:
    out = cutter.flute_length + OUT
    if out <= cutter.stick_out - SHORTER:
        yield _Way(
            f"{cutter.name} set so that it sticks out {show_length(out, job.units)} instead of "
            f"{show_length(cutter.stick_out, job.units)}",
            _with_cutter(job, replace(cutter, stick_out=out)),
        )


def _more_flutes(job: Job, cutter: Cutter) -> Iterator[_Way]:
    if cutter.flutes < MOST_FLUTES:
        yield _Way(
            f"a cutter like {cutter.name} with {cutter.flutes + 1} flutes instead of {cutter.flutes}",
            _with_cutter(job, replace(cutter, flutes=cutter.flutes + 1)),
            to_buy=True,
        )


def _other_cutters(job: Job, used: dict[int, set[str]]) -> Iterator[_Way]:
    """The whole job with one cutter, where that would spare a change; or with another that is on hand."""
    if any(wanted.cutter is not None for wanted in job.wanted):
        free = replace(job, wanted=tuple(replace(one, cutter=None) for one in job.wanted))
        yield _Way("the cutters chosen by proveout instead of those that the job names", free)
    for cutter in job.shop.cutters:
        if cutter.kind != "flat" or list(used) == [cutter.number]:
            continue
        named = tuple(replace(one, cutter=cutter.number) for one in job.wanted)
        yield _Way(f"everything cut with {cutter.name}, no change of cutter", replace(job, wanted=named))


def _another_clamp(job: Job, planned: Planned) -> Iterator[_Way]:
    """One clamp more that is on hand, where the cuts need it most and none stands in the way."""
    taken = [clamp.bar.footprint for clamp in planned.setup.clamps]
    outlines = [part.outline for part in planned.setup.parts]
    free = [one for one in places(job.shop.plate, job.stock, _left(job)) if _is_free(one, taken, outlines)]
    if not free:
        return
    best = max(free, key=lambda one: (_stands(job, planned, one), one.at.hole))
    yield _Way(
        f"one more {best.at.clamp} at {best.at.hole}, nose to the {best.at.towards}",
        replace(job, clamps=(*job.clamps, best.at)),
    )


def _left(job: Job) -> list[ClampKind]:
    counts = {kind.name: kind.count for kind in job.shop.clamps}
    for at in job.clamps:
        counts[at.clamp] -= 1
    return [kind for kind in job.shop.clamps if counts[kind.name] > 0]


def _is_free(place: Place, taken: list[Polygon], outlines: list[Polygon]) -> bool:
    beside = all(place.bar.distance(bar) > APART for bar in taken)
    return beside and all(place.bar.distance(outline) > APART for outline in outlines)


def _stands(job: Job, planned: Planned, place: Place) -> float:
    """What the clamps stand with one more at the weakest place that is cut."""
    clamps = (*planned.setup.clamps, _placed(job, place.at))
    wood = material(job.stock.material)
    setup = planned.setup
    blank = held_blank(clamps, wood, job.stock.size, setup.grips, setup.stops)
    stands = [stands_at(blank, one) for one in planned.values.places]
    return min((one.slides for one in stands if one), default=0.0)


def _placed(job: Job, at: ClampAt) -> PlacedClamp:
    return placed_clamps(replace(job, clamps=(at,)))[0]
