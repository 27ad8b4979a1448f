"""Choosing: cutting values for everything that is cut on a sheet, with the hold-down where it is cut."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

import numpy as np

from proveout.curve import flatten
from proveout.cutting.choose import Task, choose
from proveout.cutting.data import CutKind, CuttingData
from proveout.cutting.eased import AS_CHOSEN, Eased, gentler
from proveout.cutting.limits import Allowed, Bench
from proveout.figure import Figure
from proveout.hold.bridges import Bridges, bridges_stand
from proveout.hold.stands import HeldBlank, held_blank, stands_at
from proveout.job.records import Job
from proveout.motion import Floats
from proveout.paths.lying import LyingOutline
from proveout.paths.order import TraceOrder
from proveout.paths.tasks import Work, works
from proveout.reckon import Held
from proveout.shelf.tables import Material, material

CHORD: Final = 0.5  # mm, of the outlines along which tabs are pushed at
MOST_POINTS: Final = 48  # of an outline


@dataclass(frozen=True, slots=True, kw_only=True)
class Chosen:
    """Cutting values by cutter and kind of cut."""

    data: Mapping[tuple[int, CutKind], CuttingData]
    seconds: Mapping[tuple[int, CutKind], float]  # that they take, ways between cuts left out
    places: tuple[Floats, ...] = ()  # (n, 2) mm, where each kind of cut is made
    reasons: tuple[Figure, ...] = ()  # why outlines are cut with the cutter that cuts them
    choices: tuple["Choice", ...] = ()

    def of(self, cutter: int, kind: CutKind) -> CuttingData:
        """The values of one cutter's cuts of one kind."""
        return self.data[cutter, kind]

    @property
    def figures(self) -> tuple[Figure, ...]:
        """Every value with its reason."""
        return (*self.reasons, *(figure for one in self.data.values() for figure in one.figures))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Choice:
    """What was chosen for one kind of cut, and all that it hangs on."""

    work: Work
    hangs_on: tuple[object, ...]  # besides the cuts and their places
    data: CuttingData
    seconds: float

    def is_for(self, work: Work, hangs_on: tuple[object, ...]) -> bool:
        """Whether it would be chosen again."""
        mine, other = self.work.task, work.task
        return (
            (mine.cutter.number, mine.kind, mine.heights) == (other.cutter.number, other.kind, other.heights)
            and self.hangs_on == hangs_on
            and np.array_equal(self.work.places, work.places)
            and self.work.hangs_on == work.hangs_on
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """A laid-out sheet, and what holds it."""

    order: TraceOrder  # whose cutting data are not asked for
    lying: tuple[LyingOutline, ...]
    held: Held
    bridges: Bridges


def chosen(
    job: Job,
    sheet: Sheet,
    eased: Eased = AS_CHOSEN,
    allowed: Allowed | None = None,
    known: Chosen | None = None,
    blank: HeldBlank | None = None,
    before: Sequence[Choice] = (),
) -> Chosen:
    """The values with which a sheet takes the least time.

    Args:
        job: with its bench
        sheet: where the parts lie
        eased: how much gentler than chosen at first
        allowed: how much of what there is may be asked; None: the usual
        known: what was chosen for the same sheet with other outline cutters; all but outlines is taken over
        blank: the sheet under its clamps, where that is known
        before: earlier choices, taken over where nothing that they hang on has changed
    """
    found: dict[tuple[int, CutKind], CuttingData] = {}
    seconds: dict[tuple[int, CutKind], float] = {}
    blank = blank or blank_of(job, sheet)
    choices: list[Choice] = []
    every = works(sheet.order, sheet.lying, job.shop.machine)
    for work in every:
        number, kind = key = work.task.cutter.number, work.task.kind
        if known and kind != "outline" and key in known.data:
            found[key], seconds[key] = known.data[key], known.seconds[key]
            continue
        share = eased.depth.get(number, 1.0)
        hangs_on = blank, material(job.stock.material), allowed, share
        same = next((one for one in before if one.is_for(work, hangs_on)), None)
        if same is None:
            data = gentler(choose(work.task, bench_of(job, sheet, work, blank, allowed)), share)
            same = Choice(work=work, hangs_on=hangs_on, data=data, seconds=work.task.seconds(data))
        found[key], seconds[key] = same.data, same.seconds
        choices.append(same)
    return Chosen(
        data=MappingProxyType(found),
        seconds=MappingProxyType(seconds),
        places=tuple(work.places for work in every),
        choices=tuple(choices),
    )


def blank_of(job: Job, sheet: Sheet, before: HeldBlank | None = None) -> HeldBlank | None:
    """The sheet under what holds it, the one before if it is the same; None where nothing does."""
    held, wood = sheet.held, material(job.stock.material)
    return held_blank(held.clamps, wood, job.stock.size, held.grips, held.stops, before)


def bench_of(
    job: Job, sheet: Sheet, work: Work, blank: HeldBlank | None, allowed: Allowed | None = None
) -> Bench:
    """What limits one task: the bench, the clamps where the task is done, the tabs of its parts."""
    wood = material(job.stock.material)
    return Bench(
        material=wood,
        machine=job.shop.machine,
        hold=stands_at(blank, work.places),
        tabs=_weakest_tabs(job, sheet, work.task),
        allowed=allowed or Allowed(),
    )


def _weakest_tabs(job: Job, sheet: Sheet, task: Task) -> float | None:
    """What the tabs of a cutter's outlines stand at their weakest, N; None where there are none.

    The first of each kind of part tells it: its copies have their tabs in much the same places.
    """
    if task.kind != "outline":
        return None
    mine = [one for one in sheet.lying if one.cutter and one.cutter.number == task.cutter.number]
    wood = material(job.stock.material)
    firsts = {one.placed.part: one for one in reversed(mine)}
    stands = [_tabs_stand(one, wood) for one in firsts.values()]
    return min((one for one in stands if one is not None), default=None)


def _tabs_stand(lying: LyingOutline, wood: Material) -> float | None:
    tabs = [tab for plan in lying.plans if plan for tab in plan.tabs]
    if not tabs:
        return None
    around = flatten(lying.rings[0], CHORD)
    return bridges_stand(tabs, around[:: max(1, len(around) // MOST_POINTS)], wood)
