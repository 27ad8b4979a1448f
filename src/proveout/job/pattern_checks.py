"""Sizes that make a part impossible, whatever the sheet and the cutter. Margins are judged in fitting."""

import math
from collections.abc import Iterator
from typing import Final, NamedTuple

from proveout.job import defaults
from proveout.job.records import (
    CouponWanted,
    DrawnWanted,
    Hardware,
    KnobWanted,
    Pattern,
    StopWanted,
    StrapWanted,
)
from proveout.quantity import System, show_fine, show_length
from proveout.shelf.spelling import ShelfError
from proveout.shelf.tables import clearance_hole, dowel_pin, hex_head, hex_nut


class Fault(NamedTuple):
    """The field that states an impossible size, and what is wrong in words."""

    field: str
    text: str


def pattern_faults(pattern: Pattern, units: System) -> Iterator[Fault]:
    """Everything that makes a part impossible whatever the sheet and the cutter."""
    match pattern:
        case KnobWanted():
            yield from _knob(pattern, units)
        case StrapWanted():
            yield from _strap(pattern, units)
        case StopWanted():
            yield from _stop(pattern, units)
        case DrawnWanted():
            return  # judged when the drawing is opened
        case CouponWanted():
            yield from _coupon(pattern, units)


def _knob(knob: KnobWanted, units: System) -> Iterator[Fault]:
    hardware = knob.hardware
    row = hex_head(hardware.size) if hardware.form == "hex head" else hex_nut(hardware.size)
    flats = hardware.across_flats or row.across_flats.max
    left = knob.diameter / 2 - knob.scallop_depth
    corner = flats / math.sqrt(3)
    if left <= corner:
        yield Fault(
            "scallop_depth",
            f"scallops {show_length(knob.scallop_depth, units)} deep come within "
            f"{show_length(max(left, 0.0), units)} of the middle, and the corners of the {hardware.size} "
            f"{hardware.form} reach {show_length(corner, units)}. Make the scallops shallower or the knob "
            "larger.",
        )
    yield from far_from_standard(
        "across_flats", hardware.across_flats, row.across_flats, units, hardware.others
    )
    yield from far_from_standard("head_height", hardware.height, row.height, units)


# Heads to older standards differ by up to 13 % (17 mm for 15.73 to 16.00 mm, M10); more is another bolt or
# a slip of the unit.
_FAR: Final = 0.25


def far_from_standard(
    field: str,
    measured: float | None,
    band: tuple[float, float],
    units: System,
    others: tuple[float, ...] = (),
) -> Iterator[Fault]:
    """Readings that are no scatter of the standard's size: another size, or a slip of the unit."""
    low, high = band[0], band[1]
    readings = () if measured is None else (measured, *others)
    far = [one for one in readings if not low * (1 - _FAR) <= one <= high * (1 + _FAR)]
    if far:
        yield Fault(
            field,
            f"{show_length(far[0], units)} is far from the standard's {show_length(low, units)} to "
            f"{show_length(high, units)}. Measure again, and check the size and the unit.",
        )


def _strap(strap: StrapWanted, units: System) -> Iterator[Fault]:
    if strap.length <= strap.width:
        yield Fault(
            "length",
            f"a strap with round ends must be longer than it is wide: {show_length(strap.length, units)} by "
            f"{show_length(strap.width, units)}.",
        )
    slot = clearance_hole(strap.bolt, strap.clearance).diameter
    if slot >= strap.width:
        yield Fault(
            "width",
            f"a slot for {strap.bolt} is {show_length(slot, units)} wide, and the strap "
            f"{show_length(strap.width, units)}. Make the strap wider or the bolt smaller.",
        )
    if strap.slot_length < slot:
        yield Fault(
            "slot_length",
            f"{show_length(strap.slot_length, units)} is shorter than the slot is wide, which is "
            f"{show_length(slot, units)} for {strap.bolt}. Write its overall length.",
        )
    end = strap.slot_from_nose + strap.slot_length
    if end >= strap.length:
        yield Fault(
            "slot_length",
            f"the slot ends {show_length(end, units)} from the nose (slot_from_nose and slot_length), and "
            f"the strap is {show_length(strap.length, units)} long. Make the slot shorter or the strap "
            "longer.",
        )


def _stop(stop: StopWanted, units: System) -> Iterator[Fault]:
    pin = stop.hardware.diameter or dowel_pin(stop.hardware.size).diameter.max
    if pin >= stop.width:
        yield Fault(
            "width",
            f"a hole for a {show_length(pin, units)} dowel leaves nothing of a block "
            f"{show_length(stop.width, units)} wide. Make the block wider or the dowel thinner.",
        )
    if stop.holes > 1 and stop.spacing <= pin:
        yield Fault(
            "spacing",
            f"holes {show_length(stop.spacing, units)} apart run into each other: the dowel is "
            f"{show_length(pin, units)} thick.",
        )
    row = (stop.holes - 1) * stop.spacing + pin
    if row >= stop.length:
        yield Fault(
            "spacing",
            f"a row of {stop.holes} holes takes {show_length(row, units)}, and the block is "
            f"{show_length(stop.length, units)} long. Space them closer or make the block longer.",
        )
    most = min(stop.length, stop.width) / 2
    if stop.corner_radius > most:
        yield Fault(
            "corner_radius",
            f"corners of {show_length(stop.corner_radius, units)} don't fit: at most "
            f"{show_length(most, units)}, half the block's shorter side.",
        )
    yield from far_from_standard(
        "dowel_diameter",
        stop.hardware.diameter,
        dowel_pin(stop.hardware.size).diameter,
        units,
        stop.hardware.others,
    )


# A fit is a matter of tenths: sizes that differ more than this from the hardware's are a slip.
_ASIDE: Final = 1.0  # mm
# Calipers read no finer, and a router places no wall more finely.
LEAST_STEP: Final = 0.01  # mm


def _coupon(coupon: CouponWanted, units: System) -> Iterator[Fault]:
    try:
        stated = tuple(_stated(coupon.hardware))
    except ShelfError as error:
        yield Fault("bolt", str(error))
        return
    others = coupon.hardware.others
    far = [
        fault
        for number, one in enumerate(stated)
        for fault in far_from_standard(*one, units, () if number else others)
    ]
    yield from far
    if not far:
        _, measured, band = stated[0]
        yield from _coupon_sizes(coupon, measured or band[1], units)


def _stated(hardware: Hardware) -> Iterator[tuple[str, float | None, tuple[float, float]]]:
    """The fields that state the hardware's size, what the calipers said, and the standard's band."""
    if hardware.form == "dowel":
        yield "dowel_diameter", hardware.diameter, dowel_pin(hardware.size).diameter
        return
    row = hex_head(hardware.size) if hardware.form == "hex head" else hex_nut(hardware.size)
    yield "across_flats", hardware.across_flats, row.across_flats
    yield "head_height", hardware.height, row.height


def _coupon_sizes(coupon: CouponWanted, size: float, units: System) -> Iterator[Fault]:
    if coupon.step < LEAST_STEP - 1e-9:
        yield Fault(
            "step",
            f"{show_fine(coupon.step, units)} is finer than calipers read and a router cuts. Write at least "
            f"{show_fine(LEAST_STEP, units)}; {show_fine(defaults.STEP[units], units)} is common.",
        )
    half = coupon.step * (coupon.steps // 2)
    if half > _ASIDE:
        yield Fault(
            "step",
            f"{coupon.steps} sizes {show_length(coupon.step, units)} apart reach {show_length(half, units)} "
            "to either side of the middle one, and a fit is a matter of tenths of a millimetre. Write a "
            f"smaller step; {show_fine(defaults.STEP[units], units)} is common.",
        )
    if coupon.around is not None and abs(coupon.around - size) > _ASIDE:
        yield Fault(
            "around",
            f"{show_length(coupon.around, units)} is far from the {show_length(size, units)} of the "
            f"{coupon.hardware.size} {coupon.hardware.form}, and a fit is a matter of tenths of a "
            "millimetre. Check the size and the unit, or leave it out.",
        )
