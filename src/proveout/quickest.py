"""Quickest: with which cutter outlines are cut, the change of cutters counted.

A large cutter goes round a part faster, but putting it in takes minutes. Parts are laid out with the
largest cutter that reaches; where one that is in the spindle anyway takes less time in all, it cuts the
outlines too. Its kerf is the narrower, so that everything may stay where it lies.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from proveout.choosing import Choice, Chosen, Sheet, blank_of, chosen
from proveout.cutting.eased import AS_CHOSEN, Eased
from proveout.cutting.limits import Allowed
from proveout.figure import Figure
from proveout.hold.stands import HeldBlank
from proveout.job.records import Cutter, Job
from proveout.motion_time import TOOL_CHANGE
from proveout.parts.part import Part, PlacedPart
from proveout.paths.lying import LyingOutline, lying_again, lying_outlines
from proveout.paths.order import TraceOrder
from proveout.paths.sequence import turns


@dataclass(frozen=True, slots=True, kw_only=True)
class Quickest:
    """A sheet with the cutters that take the least time, and its cutting values."""

    sheet: Sheet
    values: Chosen
    tried: tuple[Sheet, ...]  # with other cutters too
    choices: tuple[Choice, ...]  # for all of them
    blank: HeldBlank | None  # the sheet under its clamps


def quickest(
    job: Job,
    sheet: Sheet,
    eased: Eased = AS_CHOSEN,
    allowed: Allowed | None = None,
    before: Quickest | None = None,
) -> Quickest:
    """The sheet as it was laid out, or with all outlines cut by another cutter that is in use anyway.

    Args:
        job: with its bench; parts whose cutter it names keep that
        sheet: laid out
        eased: how much gentler than chosen at first
        allowed: how much of what there is may be asked; None: the usual
        before: the same of a job much like it, of which is taken over what can't have changed
    """
    blank = blank_of(job, sheet, before.blank if before else None)
    known = before.choices if before else ()
    first = chosen(job, sheet, eased, allowed, blank=blank, before=known)
    best, values, least = sheet, first, _seconds(sheet, first)
    tried, choices = [sheet], [*first.choices]
    for cutter, other in _others(job, sheet, before.tried if before else ()):
        others = chosen(job, other, eased, allowed, known=first, blank=blank, before=known)
        seconds = _seconds(other, others)
        if seconds < least:
            reason = _reason(cutter, _seconds(sheet, first) - seconds)
            best, values, least = other, replace(others, reasons=(reason,)), seconds
        tried.append(other)
        choices += others.choices
    return Quickest(sheet=best, values=values, tried=tuple(tried), choices=tuple(choices), blank=blank)


def outlines(order: TraceOrder, before: Sequence[Sheet]) -> tuple[LyingOutline, ...]:
    """The outlines of a sheet with their tabs, taken over from earlier sheets where they lie so again."""
    again = (lying_again(one.order, one.lying, order) for one in before)
    return next((one for one in again if one is not None), None) or lying_outlines(order)


def _seconds(sheet: Sheet, values: Chosen) -> float:
    """The cutting and the changes; ways between cuts are much the same whoever cuts."""
    count = len({turn.cutter for turn in turns(_kinds(sheet.order.placed))})
    return sum(values.seconds.values()) + TOOL_CHANGE * (count - 1)


def _kinds(placed: tuple[PlacedPart, ...]) -> tuple[Part, ...]:
    return tuple(dict.fromkeys(one.part for one in placed))


def _others(job: Job, sheet: Sheet, before: Sequence[Sheet]) -> Iterator[tuple[Cutter, Sheet]]:
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
            yield cutter, replace(sheet, order=other, lying=outlines(other, before))


def _reason(cutter: Cutter, saved: float) -> Figure:
    return Figure(
        name="outlines.time saved",
        value=saved,
        unit="s",
        rule=f"{cutter.name} cuts the outlines too: a larger cutter would go round faster, and its change "
        "would cost more than that",
        source="motion model; a change of cutter counts two minutes (common practice, no source)",
    )
