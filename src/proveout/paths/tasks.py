"""What there is to cut, by cutter and kind of cut, and how long that takes at any cutting values.

The chooser asks here for the time of the very cuts that are traced afterwards.
"""

import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from proveout.curve import flatten
from proveout.cutting.choose import Task
from proveout.cutting.data import CutKind, CuttingData
from proveout.job.records import Cutter, Machine
from proveout.motion import Floats
from proveout.motion_time import Course, course_of, course_seconds
from proveout.parts.part import Feature, Part, PlacedPart
from proveout.paths.features import Bench, feature_cut, kind_of, opened
from proveout.paths.lying import LyingOutline, there
from proveout.paths.order import TraceOrder, bench_of
from proveout.paths.paces import Paces, feeds_at
from proveout.paths.sequence import turns
from proveout.paths.travel import Cut

CHORD: Final = 0.5  # mm: how far the places along an outline may lie beside it


@dataclass(frozen=True, slots=True, kw_only=True)
class Work:
    """A task, and where on the sheet it is done."""

    task: Task
    places: Floats  # (n, 2) mm
    hangs_on: object  # all that the time of the cuts hangs on: equal where they take the same time


def works(order: TraceOrder, lying: Sequence[LyingOutline], machine: Machine) -> tuple[Work, ...]:
    """All that is cut on a sheet, in order of cutter and kind; the order's cutting data are not asked for."""
    return (*_feature_works(order, machine), *_outline_works(order, lying, machine))


@dataclass(frozen=True, slots=True)
class _Asked:
    """A feature that is cut in so many copies."""

    part: Part
    feature: Feature
    top: float
    placed: tuple[PlacedPart, ...]


def _feature_works(order: TraceOrder, machine: Machine) -> Iterator[Work]:
    bench, cutters = bench_of(order), {cutter.number: cutter for cutter in order.cutters}
    kinds = tuple(dict.fromkeys(placed.part for placed in order.placed))
    sequence = turns(kinds) if kinds else ()
    asked: dict[tuple[int, CutKind], list[_Asked]] = {}
    for part in kinds:
        placed = tuple(one for one in order.placed if one.part == part)
        for feature, _, top in opened(bench, part, sequence):
            if feature.cutter in cutters:
                key = feature.cutter, kind_of(feature, cutters[feature.cutter])
                asked.setdefault(key, []).append(_Asked(part, feature, top, placed))
    for (number, kind), mine in sorted(asked.items(), key=lambda item: item[0]):
        floors = [order.through_z if one.feature.through else one.feature.floor for one in mine]
        heights = {round(one.top - floor, 6) for one, floor in zip(mine, floors, strict=True)}
        yield Work(
            task=Task(
                cutter=cutters[number],
                kind=kind,
                heights=tuple(sorted(heights)),
                seconds=_feature_seconds(bench, mine, machine),
            ),
            places=np.concatenate([_middles(one) for one in mine]),
            hangs_on=(
                _shared(bench, machine),
                cutters[number],
                [(one.feature, one.top, len(one.placed)) for one in mine],
            ),
        )


def _middles(asked: _Asked) -> Floats:
    """Where a feature lies on the sheet, by the middle of its box."""
    rings = [flatten(there(one, asked.feature.curves[0]), CHORD) for one in asked.placed]
    middles: Floats = np.array([(ring.min(axis=0) + ring.max(axis=0)) / 2 for ring in rings])
    return middles


def _feature_seconds(
    bench: Bench, asked: Sequence[_Asked], machine: Machine
) -> Callable[[CuttingData], float]:
    def cuts(data: CuttingData) -> Iterator[tuple[Cut, ...]]:
        tried = replace(bench, data=lambda number, kind: data)
        for one in asked:
            cut, _ = feature_cut(tried, one.part, one.feature, one.top)
            yield (cut,) if cut else ()

    times = _timer(cuts, machine)

    def seconds(data: CuttingData) -> float:
        whole = 0.0
        for one, time in zip(asked, times(data), strict=True):
            whole += len(one.placed) * time
        return whole

    return seconds


def _outline_works(order: TraceOrder, lying: Sequence[LyingOutline], machine: Machine) -> Iterator[Work]:
    by_cutter: dict[int, list[LyingOutline]] = {}
    for one in lying:
        if one.cutter is not None:
            by_cutter.setdefault(one.cutter.number, []).append(one)
    for _, mine in sorted(by_cutter.items()):
        rings = [flatten(ring, CHORD) for one in mine for ring in one.rings]
        cutter, counted = _cutter_of(mine), _counted(mine)
        yield Work(
            task=Task(
                cutter=cutter,
                kind="outline",
                heights=(round(order.stock_top - order.through_z, 6),),
                seconds=_outline_seconds(order, counted, machine),
            ),
            places=np.concatenate(rings),
            hangs_on=(
                _shared(bench_of(order), machine),
                cutter,
                [(one.rings, one.plans, count) for one, count in counted],
            ),
        )


def _shared(bench: Bench, machine: Machine) -> tuple[object, ...]:
    return bench.heights, bench.stock_top, bench.through_z, bench.deepest_z, machine


def _counted(lying: Sequence[LyingOutline]) -> list[tuple[LyingOutline, int]]:
    """The first of each kind of part, and how many there are."""
    firsts = {one.placed.part: one for one in reversed(lying)}
    return [(one, sum(other.placed.part == part for other in lying)) for part, one in firsts.items()]


def _cutter_of(lying: Iterable[LyingOutline]) -> Cutter:
    return next(one.cutter for one in lying if one.cutter is not None)


def _outline_seconds(
    order: TraceOrder, counted: Sequence[tuple[LyingOutline, int]], machine: Machine
) -> Callable[[CuttingData], float]:
    """The time round all outlines, told by the first of each kind of part: tabs move it by little."""
    bench = bench_of(order)
    times = _timer(lambda data: (one.cuts(order, bench, data) for one, _ in counted), machine)

    def seconds(data: CuttingData) -> float:
        return math.fsum(count * time for (_, count), time in zip(counted, times(data), strict=True))

    return seconds


def _timer(
    cuts: Callable[[CuttingData], Iterable[tuple[Cut, ...]]], machine: Machine
) -> Callable[[CuttingData], Iterator[float]]:
    """How long each of some cuts takes; a way that was traced before is only run at other feeds."""
    known: dict[CuttingData, tuple[tuple[tuple[Course, Paces], ...], ...]] = {}

    def times(data: CuttingData) -> Iterator[float]:
        way = replace(data, feed=1.0, plunge_feed=1.0, finish_feed=1.0, limits=(), figures=(), active=())
        if way not in known:
            known[way] = tuple(
                tuple((course_of(cut.motion, machine), cut.paces) for cut in some) for some in cuts(way)
            )
        for some in known[way]:
            yield math.fsum(
                math.fsum(course_seconds(course, feeds_at(paces, data))) for course, paces in some
            )

    return times
