"""What is put on the machine's bed: clamps with their bolts, cutters in order of use, what else holds.

Sheet and report list the same rows; a clamp's number is the one in its balloon in the picture.
"""

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass

from proveout.hold.stack import ENGAGED, Stack, choose_bolt, reach, stack_of, standard_lengths
from proveout.job.records import (
    ClampAt,
    ClampKind,
    CouponWanted,
    Cutter,
    DrawnWanted,
    Job,
    KnobWanted,
    OtherMeans,
    StopWanted,
    StrapWanted,
    Wanted,
)
from proveout.pack.coupon_words import coupon_hardware
from proveout.pack.made import Made
from proveout.pack.plan_picture import balloons
from proveout.pack.sizes import sized, sold_length
from proveout.quantity import System, show_length
from proveout.shelf.tables import thread


@dataclass(frozen=True, slots=True, kw_only=True)
class ClampsAlike:
    """All clamps of one kind: what to take, and where each goes."""

    kind: str
    bolt: str  # in words: "M6 x 45 mm"
    places: tuple[tuple[int, ClampAt], ...]  # each with the number in its balloon


def clamps_alike(made: Made) -> tuple[ClampsAlike, ...]:
    """The job's clamps kind by kind, in the job's order."""
    stated = {one.hole: one for one in made.job.clamps}
    placed = [(number, stated[one.hole]) for number, one in balloons(made) if one.hole in stated]
    kinds = {kind.name: kind for kind in made.job.shop.clamps}
    return tuple(
        ClampsAlike(
            kind=name,
            bolt=bolt_words(made.job, kinds[name]),
            places=tuple((number, at) for number, at in placed if at.clamp == name),
        )
        for name in dict.fromkeys(at.clamp for _, at in placed)
    )


def bolt_words(job: Job, kind: ClampKind) -> str:
    """Which bolt of a clamp reaches over this sheet, in words: on hand, else the shortest that is sold."""
    inserts = job.shop.plate.inserts
    stack = stack_of(
        kind.bolt,
        bar=kind.thickness,
        below_face=inserts.depth_below_face,
        floor=kind.knob_floor,
        thread_length=inserts.length,
    )
    work = job.stock.thinnest, job.stock.thickest
    found = choose_bolt(stack, work, kind.bolt_lengths)
    name, on_hand = sized(kind.bolt), [sold_length(kind.bolt, one.length) for one in found.on_hand]
    if on_hand:
        return f"{name} x {' or '.join(on_hand)}"
    length = found.buy.length if found.buy else _long_enough(stack, work)
    if length is None:
        return f"{name}: longer than any that is sold"
    said = f"{name} x {sold_length(kind.bolt, length)}"
    if found.buy is None or inserts.length is None:
        return f"{said}: try first that it can't bottom in its insert"
    return f"{said}: buy it, none on hand reaches" if kind.bolt_lengths else said


def _long_enough(stack: Stack, work: tuple[float, float]) -> float | None:
    """The shortest length that is sold with enough thread in the insert, though it may bottom there."""
    wanted = ENGAGED * thread(stack.bolt).diameter - 1e-9
    lengths = standard_lengths(stack.bolt)
    return next((one for one in lengths if reach(stack, one, work).least >= wanted), None)


def cutters_in_order(made: Made) -> tuple[Cutter, ...]:
    """The cutters that the programs call, first use first."""
    kinds = {one.number: one for one in made.setup.cutters}
    used = dict.fromkeys(number for program in made.programs for number in program.cutters)
    return tuple(kinds[number] for number in used if number in kinds)


def otherwise_held(means: OtherMeans, units: System) -> Iterator[tuple[str, str]]:
    """What else holds the sheet, counted: what it is, and how many of which."""
    if means.stops:
        yield "stops", f"{len(means.stops)}, to be fixed to the plate against the sheet's edges"
    for dowel, count in Counter(one.diameter for one in means.dowels).items():
        yield "dowels", f"{count} x {show_length(dowel, units)}"
    for tape in means.tape:
        yield "tape", f"double-sided, {' x '.join(show_length(one, units) for one in tape.size)}"
    for (wide, long), count in Counter((one.diameter, one.length) for one in means.screws).items():
        yield "screws", f"{count} x {show_length(wide, units)}, {show_length(long, units)} long"
    if means.vacuum:
        yield "vacuum", "pump, hose and gauge, seal laid under the sheet"


def hardware_rows(made: Made) -> Iterator[tuple[str, str]]:
    """What the finished parts take, part by part."""
    for wanted in made.job.wanted:
        for hardware in _hardware(made, wanted):
            yield "hardware", f"{hardware}, for {wanted.name}"


def _hardware(made: Made, wanted: Wanted) -> Iterator[str]:
    match wanted.pattern:
        case KnobWanted() as knob:
            form = "hex head bolt" if knob.hardware.form == "hex head" else "hex nut"
            yield f"{wanted.count} x {sized(knob.hardware.size)} {form}"
        case StopWanted() as stop:
            yield f"{wanted.count * stop.holes} x {sized(stop.hardware.size)} dowel"
        case StrapWanted() as strap:
            yield f"{wanted.count} x {sized(strap.bolt)} bolt"
        case CouponWanted() as coupon:
            yield coupon_hardware(wanted, coupon)
        case DrawnWanted():
            part = next((one.part for one in made.placed if one.part.name == wanted.name), None)
            taken = Counter(one.takes for one in part.features if one.takes) if part else Counter()
            yield from (f"{wanted.count * count} x {what}" for what, count in taken.items())
