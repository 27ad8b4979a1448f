"""Quickest: with which cutter outlines are cut, the change of cutters counted.

A large cutter goes round a part faster, but putting it in takes minutes. Parts are laid out with the
largest cutter that reaches; where one that is in the spindle anyway takes less time in all, it cuts the
outlines too. Its kerf is the narrower, so that everything may stay where it lies.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace

from proveout.choosing import Chosen, Sheet, chosen
from proveout.cutting.eased import AS_CHOSEN, Eased
from proveout.cutting.limits import Allowed
from proveout.figure import Figure
from proveout.job.records import Cutter, Job
from proveout.motion_time import TOOL_CHANGE
from proveout.parts.part import Part, PlacedPart
from proveout.paths.lying import lying_outlines
from proveout.paths.sequence import turns


@dataclass(frozen=True, slots=True, kw_only=True)
class Quickest:
    """A sheet with the cutters that take the least time, and its cutting values."""

    sheet: Sheet
    values: Chosen


def quickest(job: Job, sheet: Sheet, eased: Eased = AS_CHOSEN, allowed: Allowed | None = None) -> Quickest:
    """The sheet as it was laid out, or with all outlines cut by another cutter that is in use anyway.

    Args:
        job: with its bench; parts whose cutter it names keep that
        sheet: laid out
        eased: how much gentler than chosen at first
        allowed: how much of what there is may be asked; None: the usual
    """
    first = chosen(job, sheet, eased, allowed)
    best, least = Quickest(sheet=sheet, values=first), _seconds(sheet, first)
    for cutter, other in _others(job, sheet):
        values = chosen(job, other, eased, allowed, known=first)
        seconds = _seconds(other, values)
        if seconds < least:
            reason = _reason(cutter, _seconds(sheet, first) - seconds)
            best, least = Quickest(sheet=other, values=replace(values, reasons=(reason,))), seconds
    return best


def _seconds(sheet: Sheet, values: Chosen) -> float:
    """The cutting and the changes; ways between cuts are much the same whoever cuts."""
    count = len({turn.cutter for turn in turns(_kinds(sheet.order.placed))})
    return sum(values.seconds.values()) + TOOL_CHANGE * (count - 1)


def _kinds(placed: tuple[PlacedPart, ...]) -> tuple[Part, ...]:
    return tuple(dict.fromkeys(one.part for one in placed))


def _others(job: Job, sheet: Sheet) -> Iterator[tuple[Cutter, Sheet]]:
    order = sheet.order
    kinds = _kinds(order.placed)
    free = {wanted.name for wanted in job.wanted if wanted.cutter is None}
    cutters = {cutter.number: cutter for cutter in job.shop.cutters}
    deep = order.stock_top - order.through_z
    for number in sorted({feature.cutter for part in kinds for feature in part.features}):
        cutter = cutters[number]
        if cutter.kind != "flat" or cutter.flute_length < deep:
            continue
        swapped = {
            part: replace(part, cutter=number)
            for part in kinds
            if part.name in free and cutters[part.cutter].diameter > cutter.diameter
        }
        if swapped:
            placed = tuple(replace(one, part=swapped.get(one.part, one.part)) for one in order.placed)
            other = replace(order, placed=placed)
            yield cutter, replace(sheet, order=other, lying=lying_outlines(other))


def _reason(cutter: Cutter, saved: float) -> Figure:
    return Figure(
        name="outlines.time saved",
        value=saved,
        unit="s",
        rule=f"{cutter.name} cuts the outlines too: a larger cutter would go round faster, and its change "
        "would cost more than that",
        source="motion model; a change of cutter counts two minutes (common practice, no source)",
    )
