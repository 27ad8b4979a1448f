"""The reader of a drawn part's fields: its drawing, and the rules by which its curves are cut."""

from collections.abc import Iterator
from typing import Final

from proveout.job import defaults
from proveout.job.fields import DrawnFields, RuleFields
from proveout.job.pattern_checks import far_from_standard
from proveout.job.read_hardware import dowel_of, hexagon_of
from proveout.job.records import DrawnRule, DrawnWanted, Takes
from proveout.job.table import Table, Values
from proveout.quantity import System
from proveout.shelf.spelling import ShelfError
from proveout.shelf.tables import dowel_pin, hex_head, hex_nut

MOST_RULES: Final = 50

WHICH: Final = (
    'a rule says which curves it is for. Write layer = "POCKET", size = "6.6 mm", or curve = 3, the number '
    "that proveout look gives it."
)
DEPTH_TWICE: Final = (
    'write depth = "5 mm" from the top, or floor = "7 mm" above the bed; neither for a cut through.'
)
DEPTH_FOLLOWS: Final = (
    "a captive head's depth follows from its height, and holes for bolts and dowels go right through. Leave "
    "it out."
)

# A field that means nothing without another.
_NEEDS: Final = (
    ("holds", "bolt"),
    ("clearance", "bolt"),
    ("across_flats", "holds"),
    ("head_height", "holds"),
    ("dowel_diameter", "dowel"),
    ("dowel_limits", "dowel"),
)
_MISSING: Final = {
    "bolt": 'says nothing without the bolt. Write bolt = "M6".',
    "holds": 'is of a captive head or nut. Write holds = "head" or holds = "nut" too.',
    "dowel": 'is of a dowel. Write dowel = "6" too.',
}


def read_drawn(table: Table, found: Values | None) -> DrawnWanted | None:
    """What a drawn part's table says of its drawing."""
    rules = [_rule(one) for one in table.tables("rules", most=MOST_RULES)]
    if found is None or not all(rules):
        return None
    fields = DrawnFields
    return DrawnWanted(
        drawing=found[fields.drawing],
        known=found[fields.known],
        units=found[fields.units],
        layers=_with_outline(found[fields.layers], found[fields.outline]),
        part=found[fields.part],
        outline=found[fields.outline],
        rules=tuple(one for one in rules if one),
    )


def _with_outline(layers: tuple[str, ...] | None, outline: str | None) -> tuple[str, ...] | None:
    """The layers that count, to which that of the outline belongs whether it is listed or not."""
    if layers is None or outline is None or outline.lower() in (one.lower() for one in layers):
        return layers
    return (outline, *layers)


def _rule(table: Table) -> DrawnRule | None:
    found = table.values(RuleFields)
    if found is None:
        return None
    before = len(table.faults.found)
    for field, text in _faults(found):
        table.wrong(text, field)
    takes = _takes(found)
    for field, text in _far(takes, table.units or "mm") if takes else ():
        table.wrong(text, field)
    if len(table.faults.found) > before:
        return None
    fields = RuleFields
    return DrawnRule(
        layer=found[fields.layer],
        size=found[fields.size],
        curve=found[fields.curve],
        depth=found[fields.depth],
        floor=found[fields.floor],
        takes=takes,
    )


def _faults(found: Values) -> Iterator[tuple[str, str]]:
    """Fields that are missing or exclude each other."""
    stated = {name for name in vars(RuleFields) if not name.startswith("_")}
    stated = {name for name in stated if found[getattr(RuleFields, name)] is not None}
    if not stated & {"layer", "size", "curve"}:
        yield "layer", WHICH
    if {"depth", "floor"} <= stated:
        yield "floor", DEPTH_TWICE
    if {"bolt", "dowel"} <= stated:
        yield "dowel", "a curve is meant for a bolt or for a dowel. Leave one of them out."
    if stated & {"bolt", "dowel"} and (deep := stated & {"depth", "floor"}):
        yield min(deep), DEPTH_FOLLOWS
    if "fit" in stated and not stated & {"holds", "dowel"}:
        yield "fit", 'is of what is pressed in. Write bolt = "M6" and holds = "head", or dowel = "6".'
    for name, wanted in _NEEDS:
        if name in stated and wanted not in stated:
            yield name, _MISSING[wanted]


def _takes(found: Values) -> Takes | None:
    """The hardware that a rule states, with the defaults of the patterns."""
    fields = RuleFields
    bolt, dowel, form = found[fields.bolt], found[fields.dowel], found[fields.holds]
    if bolt is None and dowel is None:
        return None
    hardware = None
    if dowel is not None:
        hardware = dowel_of(dowel, found[fields.dowel_diameter], found[fields.dowel_limits])
    elif form is not None and bolt is not None:
        flats, height = found[fields.across_flats], found[fields.head_height]
        hardware = hexagon_of(bolt, form, flats, height)
    return Takes(
        bolt=bolt,
        hardware=hardware,
        fit=found[fields.fit] or (defaults.PIN_FIT if dowel is not None else defaults.FIT),
        clearance=found[fields.clearance] or defaults.CLEARANCE,
    )


def _far(takes: Takes, units: System) -> Iterator[tuple[str, str]]:
    """What the calipers said must be near the standard's size."""
    hardware = takes.hardware
    if hardware is None:
        return
    if hardware.form == "dowel":
        band = dowel_pin(hardware.size).diameter
        yield from far_from_standard("dowel_diameter", hardware.diameter, band, units, hardware.others)
        return
    try:
        row = hex_head(hardware.size) if hardware.form == "hex head" else hex_nut(hardware.size)
    except ShelfError as error:
        yield "bolt", str(error)
        return
    yield from far_from_standard(
        "across_flats", hardware.across_flats, row.across_flats, units, hardware.others
    )
    yield from far_from_standard("head_height", hardware.height, row.height, units)
