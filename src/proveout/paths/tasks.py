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
from proveout.motion_time import move_seconds
from proveout.parts.part import Feature, Part, PlacedPart
from proveout.paths.features import Bench, feature_cut, kind_of, opened
from proveout.paths.lying import LyingOutline, there
from proveout.paths.order import TraceOrder, bench_of
from proveout.paths.sequence import turns
from proveout.paths.travel import Cut

CHORD: Final = 0.5  # mm: how far the places along an outline may lie beside it


@dataclass(frozen=True, slots=True, kw_only=True)
class Work:
    """A task, and where on the sheet it is done."""

    task: Task
    places: Floats  # (n, 2) mm


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
        )


def _middles(asked: _Asked) -> Floats:
    """Where a feature lies on the sheet, by the middle of its box."""
    rings = [flatten(there(one, asked.feature.curves[0]), CHORD) for one in asked.placed]
    middles: Floats = np.array([(ring.min(axis=0) + ring.max(axis=0)) / 2 for ring in rings])
    return middles


def _feature_seconds(
    bench: Bench, asked: Sequence[_Asked], machine: Machine
) -> Callable[[CuttingData], float]:
    def seconds(data: CuttingData) -> float:
        tried = replace(bench, data=lambda number, kind: data)
        whole = 0.0
        for one in asked:
            cut, _ = feature_cut(tried, one.part, one.feature, one.top)
            whole += len(one.placed) * _time_of((cut,) if cut else (), machine)
        return whole

    return seconds


def _outline_works(order: TraceOrder, lying: Sequence[LyingOutline], machine: Machine) -> Iterator[Work]:
    by_cutter: dict[int, list[LyingOutline]] = {}
    for one in lying:
        if one.cutter is not None:
            by_cutter.setdefault(one.cutter.number, []).append(one)
    for _, mine in sorted(by_cutter.items()):
        rings = [flatten(ring, CHORD) for one in mine for ring in one.rings]
        yield Work(
            task=Task(
                cutter=_cutter_of(mine),
                kind="outline",
                heights=(round(order.stock_top - order.through_z, 6),),
                seconds=_outline_seconds(order, mine, machine),
            ),
            places=np.concatenate(rings),
        )


def _cutter_of(lying: Iterable[LyingOutline]) -> Cutter:
    return next(one.cutter for one in lying if one.cutter is not None)


def _outline_seconds(
    order: TraceOrder, lying: Sequence[LyingOutline], machine: Machine
) -> Callable[[CuttingData], float]:
    """The time round all outlines, told by the first of each kind of part: tabs move it by little."""
    bench = bench_of(order)
    firsts = {one.placed.part: one for one in reversed(lying)}
    counts = {part: sum(one.placed.part == part for one in lying) for part in firsts}

    def seconds(data: CuttingData) -> float:
        return math.fsum(
            counts[part] * _time_of(one.cuts(order, bench, data), machine) for part, one in firsts.items()
        )

    return seconds


def _time_of(cuts: Iterable[Cut], machine: Machine) -> float:
    return math.fsum(math.fsum(move_seconds(cut.motion, machine)) for cut in cuts)
