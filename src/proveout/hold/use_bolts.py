"""Which bolts to buy for a part in use: from the least to the greatest thickness of what it clamps.

Under its head a bolt passes the part (a knob's floor, a strap's thickness), a washer and what is clamped;
then it ends in one of the plate's inserts (hold/stack.py says how deep) or in a nut, which it must fill, with
a thread to show beyond it. A nut must not run onto the bolt's smooth shank either, at the least thickness.
Where standard lengths leave a gap between them, a second washer closes it.

Source: a full nut and one to three threads beyond it: common practice, no source. Thread lengths and the
lengths to which screws are threaded all along: ISO 4014, ISO 4017 and ASME B18.2.1, from memory.
"""

import itertools
import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from proveout.figure import Figure
from proveout.hold.stack import (
    ENGAGED,
    TO_BOTTOM,
    Stack,
    fewest_of,
    stack_of,
    standard_lengths,
    thread_range,
)
from proveout.job.records import Job, KnobWanted, StrapWanted, Use, Wanted
from proveout.quantity import show_length
from proveout.shelf.tables import hex_nut, thread, washer

Spans = Mapping[float, tuple[float, float]]  # what each length holds, mm

SHOWN: Final = 2.0  # threads beyond the nut that are aimed at
LEAST_SHOWN: Final = 1.0  # threads beyond it at the worst of all tolerances
# Metric screws are sold threaded all along up to so many mm; longer ones have a smooth shank.
_ALL_THREAD: Final = {"M4": 40.0, "M5": 50.0, "M6": 60.0, "M8": 80.0, "M10": 100.0, "M12": 120.0}


@dataclass(frozen=True, slots=True, kw_only=True)
class UseBolt:
    """A length to buy, and what it clamps."""

    length: float
    least: float  # mm of what is clamped, of the range that was stated
    greatest: float
    stands_out: float  # mm beyond the nut at the least thickness; 0 in an insert
    all_thread: bool  # whether it must be threaded all along
    two_washers_below: float | None = None  # mm of what is clamped, under which it takes a second washer


@dataclass(frozen=True, slots=True, kw_only=True)
class UseBolts:
    """The bolts for one part's use."""

    part: str
    bolt: str  # "M6"
    use: Use
    bolts: tuple[
        UseBolt, ...
    ]  # one length, or several where no single one spans the range; none: none reaches
    figures: tuple[Figure, ...]


def use_bolts(job: Job, figures: Iterable[Figure]) -> tuple[UseBolts, ...]:
    """The bolts for every part whose use is stated.

    Args:
        figures: of the sized parts: the floor left under a knob's recess is among them
    """
    by_name = {figure.name: figure for figure in figures}
    stated = ((wanted, _passed(job, wanted, by_name)) for wanted in job.wanted)
    return tuple(_bolts(job, wanted, passed) for wanted, passed in stated if passed is not None)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Passed:
    """What a bolt passes besides its washer and what is clamped."""

    bolt: str
    use: Use
    part: Figure  # the part's own wood under the head, with its range


def _passed(job: Job, wanted: Wanted, figures: dict[str, Figure]) -> _Passed | None:
    match wanted.pattern:
        case KnobWanted(use=Use() as use) as knob:
            noun = "nut" if knob.hardware.form == "hex nut" else "head"
            left = figures.get(f"{wanted.name}.{noun} recess.floor left")
            if left is None:
                return None
            return _Passed(bolt=knob.hardware.size, use=use, part=_floor(job, wanted, left))
        case StrapWanted(use=Use() as use) as strap:
            return _Passed(bolt=strap.bolt, use=use, part=_thickness(job, wanted))
        case _:
            return None


def _floor(job: Job, wanted: Wanted, left: Figure) -> Figure:
    """A knob's floor: one height above the bed, or as uneven as the sheet where zero is on its top."""
    uneven = 0.0 if job.zero.level == "bed" else job.stock.thickest - job.stock.thinnest
    return Figure(
        name=f"{wanted.name}.bolt.floor",
        value=left.value,
        unit="mm",
        rule="The wood under the head in its recess.",
        source="geometry",
        inputs=(left,),
        low=left.value if uneven else None,
        high=left.value + uneven if uneven else None,
    )


def _thickness(job: Job, wanted: Wanted) -> Figure:
    return Figure(
        name=f"{wanted.name}.bolt.thickness",
        value=job.stock.mean,
        unit="mm",
        rule="The sheet's thickness, its readings' mean.",
        source="measured" if job.stock.measured else "nominal, not measured",
        low=job.stock.thinnest,
        high=job.stock.thickest,
    )


def _bolts(job: Job, wanted: Wanted, passed: _Passed) -> UseBolts:
    stack, use = _stack(job, passed), passed.use
    spans = {one: held for one in standard_lengths(passed.bolt) if (held := _held(stack, passed, one))}
    wider = {length: _with_two_washers(passed.bolt, span) for length, span in spans.items()}
    chosen = fewest_of(spans, use.least, use.greatest) or fewest_of(wider, use.least, use.greatest) or ()
    ends = [use.least, *_seams(job, chosen, spans, wider), use.greatest]
    bolts = [
        _bolt(stack, passed, length, ends[at], ends[at + 1], alone=spans[length][0])
        for at, length in enumerate(chosen)
    ]
    figures = tuple(_figures(job, wanted, passed, stack, bolts))
    return UseBolts(part=wanted.name, bolt=passed.bolt, use=use, bolts=tuple(bolts), figures=figures)


def _seams(job: Job, chosen: Sequence[float], with_one: Spans, with_two: Spans) -> Iterator[float]:
    """Where one length hands over to the next: the roundest thickness that both hold."""
    steps = (5.0, 1.0, 0.5, 0.1) if job.units == "mm" else (25.4 / 8, 25.4 / 16, 25.4 / 32, 25.4 / 64)
    for lower, upper in itertools.pairwise(chosen):
        high = with_one[lower][1]
        low = max(with_one[lower][0], with_one[upper][0])
        if low > high:  # only a second washer closes the gap
            low = max(with_two[lower][0], with_two[upper][0])
        round_ones = (math.floor(high / step + 1e-9) * step for step in steps)
        yield next((one for one in round_ones if one >= low), high)


def _with_two_washers(bolt: str, span: tuple[float, float]) -> tuple[float, float]:
    """What a length holds with a second washer where it bottoms with one; the same if that leaves a gap."""
    more, (least, greatest) = washer(bolt).thickness, span
    return (max(0.0, least - more.min), greatest) if greatest - more.max >= least else span


def _stack(job: Job, passed: _Passed) -> Stack:
    """The stack at its thickest; `_held` counts how much thinner the part may be."""
    inserts = job.shop.plate.inserts
    if passed.use.into == "insert":
        return stack_of(
            passed.bolt,
            bar=_high(passed.part),
            below_face=inserts.depth_below_face,
            thread_length=inserts.length,
        )
    return Stack(
        bolt=passed.bolt, floor=0.0, washers=1, bar=_high(passed.part), below_face=0.0, thread_length=0.0
    )


def _high(figure: Figure) -> float:
    return figure.value if figure.high is None else figure.high


def _low(figure: Figure) -> float:
    return figure.value if figure.low is None else figure.low


def _held(stack: Stack, passed: _Passed, length: float) -> tuple[float, float] | None:
    """What a length holds, from the least to the greatest thickness; None where there is nothing."""
    uneven = _high(passed.part) - _low(passed.part)
    if passed.use.into == "insert":
        return thread_range(
            stack, length, least=ENGAGED * thread(stack.bolt).diameter, most=stack.thread_length - TO_BOTTOM,
            uneven=uneven,
        )  # fmt: skip
    nut, pitch = hex_nut(stack.bolt).height.max, thread(stack.bolt).pitch
    thick = washer(stack.bolt).thickness
    nominal = length - passed.part.value - (thick.min + thick.max) / 2 - nut - SHOWN * pitch
    held = thread_range(
        stack, length, least=nut + LEAST_SHOWN * pitch, most=length - smooth_shank(stack.bolt, length),
        uneven=uneven,
    )  # fmt: skip
    if held is None or nominal <= held[0]:
        return None
    return held[0], min(held[1], nominal)


def smooth_shank(bolt: str, length: float) -> float:
    """The length without thread under a bolt's head, mm; 0 where it is sold threaded all along."""
    diameter = thread(bolt).diameter
    if bolt.upper().startswith("M"):
        return 0.0 if length <= _ALL_THREAD.get(bolt.upper(), 0.0) else length - part_thread(bolt, length)
    return max(0.0, length - 2 * diameter - 25.4 / 4)


def part_thread(bolt: str, length: float) -> float:
    """The thread of a bolt that is threaded in part, mm: 2 d + 6 mm to 125 mm, then 12; inch 2 d + 1/4."""
    diameter = thread(bolt).diameter
    if not bolt.upper().startswith("M"):
        return 2 * diameter + 25.4 / 4
    return 2 * diameter + (6.0 if length <= 125 else 12.0)


def _bolt(
    stack: Stack, passed: _Passed, length: float, least: float, greatest: float, *, alone: float
) -> UseBolt:
    """A length as it is bought; `alone`: the least that it holds with one washer."""
    below = alone if least < alone - 1e-9 else None
    if passed.use.into == "insert":
        return UseBolt(
            length=length,
            least=least,
            greatest=greatest,
            stands_out=0.0,
            all_thread=False,
            two_washers_below=below,
        )
    thick = washer(stack.bolt).thickness
    to_nut = _low(passed.part) + thick.min + least
    nut = hex_nut(stack.bolt).height.min
    smooth = length - part_thread(stack.bolt, length)
    return UseBolt(
        length=length,
        least=least,
        greatest=greatest,
        stands_out=max(0.0, length - to_nut - nut),
        all_thread=smooth > to_nut,
        two_washers_below=below,
    )


def _figures(
    job: Job, wanted: Wanted, passed: _Passed, stack: Stack, bolts: list[UseBolt]
) -> Iterable[Figure]:
    """The lengths to buy, each with what it passes."""
    name, use = wanted.name, passed.use
    thick = washer(stack.bolt).thickness
    washer_figure = Figure(
        name=f"{name}.bolt.washer",
        value=(thick.min + thick.max) / 2,
        unit="mm",
        rule=f"One {stack.bolt} washer.",
        source="ISO 7089" if stack.bolt.upper().startswith("M") else "ASME B18.21.1",
        low=thick.min,
        high=thick.max,
    )
    ends = _ends(job, passed, name)
    for number, bolt in enumerate(bolts, 1):
        clamped = Figure(
            name=f"{name}.bolt.clamped{f' {number}' if len(bolts) > 1 else ''}",
            value=bolt.greatest,
            unit="mm",
            rule="What it clamps at its thickest.",
            source="job file: grips",
            low=bolt.least,
            high=bolt.greatest,
        )
        inputs = (passed.part, washer_figure, clamped, *ends)
        yield Figure(
            name=f"{name}.bolt length{f' {number}' if len(bolts) > 1 else ''}",
            value=bolt.length,
            unit="mm",
            rule=_rule(job, bolt, use),
            source="standard lengths: ISO 4014, ISO 4017 and ASME B18.2.1, from memory",
            inputs=inputs,
        )


def _rule(job: Job, bolt: UseBolt, use: Use) -> str:
    least, greatest = (show_length(one, job.units) for one in (bolt.least, bolt.greatest))
    where = "stands in the insert's thread and doesn't bottom" if use.into == "insert" else "fills the nut"
    span = f"at {least}" if math.isclose(bolt.least, bolt.greatest) else f"from {least} to {greatest}"
    return f"A standard length that {where} {span} of what is clamped, at the worst of all tolerances."


def _ends(job: Job, passed: _Passed, name: str) -> tuple[Figure, ...]:
    """The thread at the bolt's end."""
    row = thread(passed.bolt)
    practice = "common practice, no source"
    if passed.use.into == "insert":
        inserts = job.shop.plate.inserts
        measured = inserts.length is not None
        stack = _stack(job, passed)
        return (
            Figure(name=f"{name}.bolt.below the face", value=inserts.depth_below_face, unit="mm",
                   rule="From the plate's face to the insert.", source="shop file"),
            Figure(name=f"{name}.bolt.engaged", value=ENGAGED * row.diameter, unit="mm",
                   rule="One diameter of thread in an insert in wood.", source=practice),
            Figure(name=f"{name}.bolt.insert's thread", value=stack.thread_length, unit="mm",
                   rule="A longer bolt bottoms in it.",
                   source="shop file" if measured else "the shelf's placeholder: measure yours"),
        )  # fmt: skip
    nut = hex_nut(passed.bolt).height
    return (
        Figure(name=f"{name}.bolt.nut", value=nut.max, unit="mm", rule="A full nut, at its highest.",
               source="ISO 4032" if passed.bolt.upper().startswith("M") else "ASME B18.2.2"),
        Figure(name=f"{name}.bolt.beyond", value=SHOWN * row.pitch, unit="mm",
               rule="Two threads beyond the nut.", source=practice),
    )  # fmt: skip
