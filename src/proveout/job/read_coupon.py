"""The reader of a coupon's fields: the hardware that it is for, and the sizes on it."""

from collections.abc import Iterator
from typing import Final

from proveout.job import defaults
from proveout.job.fields import CouponFields
from proveout.job.read_hardware import dowel_of, hexagon_of
from proveout.job.records import CouponWanted, Hardware
from proveout.job.table import Table, Values

WHAT: Final = 'a coupon is for a bolt\'s head, a nut or a dowel. Write bolt = "M6", or dowel = "6".'

# Fields that say nothing of the other kind of hardware.
_OF_BOLTS: Final = ("holds", "across_flats", "head_height", "clearance")
_OF_DOWELS: Final = ("dowel_diameter", "dowel_limits")


def read_coupon(table: Table, found: Values) -> CouponWanted | None:
    """What a coupon's table says."""
    faults = tuple(_faults(found))
    for field, text in faults:
        table.wrong(text, field)
    return None if faults else _coupon(table, found)


def _faults(found: Values) -> Iterator[tuple[str, str]]:
    """Hardware that is missing or stated twice, and fields of other hardware."""
    fields = CouponFields
    bolt, dowel = found[fields.bolt], found[fields.dowel]
    if bolt is None and dowel is None:
        yield "bolt", WHAT
        return
    if bolt is not None and dowel is not None:
        yield "dowel", "a coupon is for a bolt or for a dowel. Leave one of them out, or write two coupons."
        return
    others, what, meant = (_OF_DOWELS, "dowel", "bolt") if dowel is None else (_OF_BOLTS, "bolt", "dowel")
    for name in others:
        if found[getattr(fields, name)] is not None:
            yield name, f"is of a {what}, and this coupon is for a {meant}. Leave it out."


def _coupon(table: Table, found: Values) -> CouponWanted:
    fields = CouponFields
    return CouponWanted(
        hardware=_hardware(found),
        fit=found[fields.fit] or (defaults.PIN_FIT if found[fields.dowel] else defaults.FIT),
        clearance=found[fields.clearance] or defaults.CLEARANCE,
        steps=found[fields.steps],
        step=found[fields.step] or defaults.STEP[table.units or "mm"],
        around=found[fields.around],
    )


def _hardware(found: Values) -> Hardware:
    fields = CouponFields
    dowel = found[fields.dowel]
    if dowel:
        return dowel_of(dowel, found[fields.dowel_diameter], found[fields.dowel_limits])
    return hexagon_of(
        found[fields.bolt] or "",
        found[fields.holds] or "hex head",
        found[fields.across_flats],
        found[fields.head_height],
    )
