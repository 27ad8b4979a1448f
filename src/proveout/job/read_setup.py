"""The reader of setup files: the bench for a program from elsewhere, and what the program shall make.

A setup file is a job file without parts. It may hold the shop's tables itself, or take them from a shop file;
a table of its own stands in place of the shop file's.
"""

from dataclasses import replace
from pathlib import Path
from typing import Final

from proveout.filekind import JOB, SETUP, SHOP, kind_of_file
from proveout.finding import InputError, Place
from proveout.job import defaults
from proveout.job.bench_checks import check_bench
from proveout.job.fields import MOST_CLAMPS, MOST_CUTTERS
from proveout.job.read import (
    raise_all,
    read_clamp_at,
    read_clamp_kind,
    read_cutter,
    read_job,
    read_machine,
    read_plate,
    read_stock,
    read_zero,
    refuse_doubles,
    shop_named,
    source_of,
    top_table,
    two,
)
from proveout.job.read_air import read_air
from proveout.job.read_means import MEANS, read_means
from proveout.job.records import (
    ClampKind,
    Cutter,
    FloorStated,
    IntendedStated,
    Job,
    Shop,
    Stock,
    TabStated,
)
from proveout.job.setup_fields import (
    MOST_INTENDED,
    MOST_LAYERS,
    MOST_TABS,
    FloorFields,
    IntendedFields,
    SetupFields,
    TabFields,
)
from proveout.job.source import Source
from proveout.job.table import Faults, Table
from proveout.quantity import show_length

OF_THE_SHOP: Final = ("machine", "plate", "cutters", "clamp_kinds")
WHOLE: Final = (*OF_THE_SHOP, "stock", "air", "zero", "clamps", *MEANS, "intended")


def read_setup(path: Path) -> Job:
    """A setup file, or a job file, which is a setup that brings its own parts.

    Raises:
        InputErrors: everything that is wrong in it and in the shop file that it names
        InputError: it is another kind of file
    """
    _refuse_other_kinds(path)
    source = source_of(path)
    if "parts" in source.values:
        _refuse_both(source)
        return read_job(path)
    faults = Faults()
    table = top_table(source, faults)
    head = table.values(SetupFields, WHOLE)
    shop = _shop(table, source, faults)
    stock, zero = read_stock(table), read_zero(table)
    clamps = [read_clamp_at(one) for one in table.tables("clamps", most=MOST_CLAMPS)]
    means = read_means(table, stock)
    air = read_air(table)
    intended = [_intended(one, stock) for one in table.tables("intended", most=MOST_INTENDED)]
    refuse_doubles(table, "intended", [one and one.name.lower() for one in intended], "name")
    check_bench(table, shop, stock, clamps, ())
    raise_all(faults, path)
    assert head is not None and shop is not None and stock is not None and zero is not None
    return Job(
        file=path,
        name=head[SetupFields.name],
        units=head[SetupFields.units] or "mm",
        shop=shop,
        stock=stock,
        zero=zero,
        clamps=tuple(one for one in clamps if one),
        wanted=(),
        through_allowance=head[SetupFields.through_allowance],
        safe_above=head[SetupFields.safe_above],
        means=means,
        air=air,
        intended=tuple(one for one in intended if one),
    )


def _refuse_other_kinds(path: Path) -> None:
    kind = kind_of_file(path)
    if kind == SHOP:
        raise InputError(
            f'this is {kind}, where a setup file is wanted. Name it in one: shop = "{path.name}", and below '
            "that [stock], [zero] and [[clamps]].",
            Place(file=path),
        )
    if kind not in ("", JOB, SETUP):
        raise InputError(
            f"this is {kind}, where a setup file is wanted (TOML: stock, zero, clamps, cutters ...).",
            Place(file=path),
        )


def _refuse_both(source: Source) -> None:
    """proveout makes the shapes of [[parts]] itself, and takes those of [[intended]] from drawings."""
    if "intended" in source.values:
        raise InputError(
            "[[parts]] and [[intended]] can't stand in one file. Keep parts that proveout shall size in a "
            "job file, and those of bought programs in a setup file.",
            source.place(("intended",)),
        )


# The bench


def _shop(table: Table, source: Source, faults: Faults) -> Shop | None:
    """The shop file's tables with the setup's own in their place; without a shop file all are the setup's."""
    named = "shop" in table.data
    shop = shop_named(table, source, faults) if named else None
    machine = read_machine(table) if _own(table, "machine", named) else shop.machine if shop else None
    plate = read_plate(table) if _own(table, "plate", named) else shop.plate if shop else None
    cutters = _cutters(table) if _own(table, "cutters", named) else shop.cutters if shop else None
    kinds = _clamp_kinds(table) if _own(table, "clamp_kinds", named) else shop.clamps if shop else None
    if machine is None or plate is None or cutters is None or kinds is None:
        return None
    if shop is not None:
        return replace(shop, machine=machine, plate=plate, cutters=cutters, clamps=kinds)
    return Shop(
        file=source.file,
        name=str(table.data.get("name", "")),
        machine=machine,
        plate=plate,
        cutters=cutters,
        clamps=kinds,
        book=source.file.parent / defaults.BOOK,
    )


def _own(table: Table, name: str, shop_is_named: bool) -> bool:
    return name in table.data or not shop_is_named


def _cutters(table: Table) -> tuple[Cutter, ...] | None:
    example = 'number = 1, name = ... and the rest, or name a shop file: shop = "shop.toml"'
    found = [read_cutter(one) for one in table.tables("cutters", most=MOST_CUTTERS, example=example)]
    refuse_doubles(table, "cutters", [one and one.number for one in found], "number")
    whole = tuple(one for one in found if one)
    return whole if whole and len(whole) == len(found) else None


def _clamp_kinds(table: Table) -> tuple[ClampKind, ...] | None:
    found = [read_clamp_kind(one) for one in table.tables("clamp_kinds", most=MOST_CLAMPS)]
    refuse_doubles(table, "clamp_kinds", [one and one.name for one in found], "name")
    whole = tuple(one for one in found if one)
    return whole if len(whole) == len(found) else None


# What is intended


def _intended(table: Table, stock: Stock | None) -> IntendedStated | None:
    found = table.values(IntendedFields, ("floor", "tabs"))
    floors = [_floor(one, stock) for one in table.tables("floor", most=MOST_LAYERS)]
    tabs = [_tab(one, stock) for one in table.tables("tabs", most=MOST_TABS)]
    if found is None or not all(floors) or not all(tabs):
        return None
    fields = IntendedFields
    stated = IntendedStated(
        name=found[fields.name],
        drawing=found[fields.drawing],
        units=found[fields.units],
        known=found[fields.known],
        at=two(found[fields.at]),
        anchor=found[fields.anchor],
        turn_deg=found[fields.angle],
        outline=found[fields.outline],
        through=found[fields.through] or (),
        floors=tuple(one for one in floors if one),
        tabs=tuple(one for one in tabs if one),
        tolerance=found[fields.tolerance],
    )
    return stated if _layers_once(table, stated) else None


def _layers_once(table: Table, stated: IntendedStated) -> bool:
    """A layer is cut through or down to one floor, not both."""
    where = [(layer, ("through", index)) for index, layer in enumerate(stated.through)]
    floors = [(one.layer, ("floor", index, "layer")) for index, one in enumerate(stated.floors)]
    taken: set[str] = set()
    before = len(table.faults.found)
    for layer, keys in (*where, *floors):
        if layer.lower() in taken:
            table.wrong(f'layer "{layer}" has its floor already. Name each layer once.', *keys)
        taken.add(layer.lower())
    return len(table.faults.found) == before


def _floor(table: Table, stock: Stock | None) -> FloorStated | None:
    found = table.values(FloorFields)
    if found is None:
        return None
    depth, floor = found[FloorFields.depth], found[FloorFields.floor]
    if (depth is None) == (floor is None):
        table.wrong(
            'write depth = "5 mm" from the stock\'s top, or floor = "7 mm" above the bed; one of the two.',
            "depth" if depth is not None else "layer",
        )
        return None
    name, value = ("depth", depth) if depth is not None else ("floor", floor)
    if stock is not None and value is not None and value >= stock.thickest:
        units = table.units or "mm"
        table.wrong(
            f"{show_length(value, units)} is not less than the sheet's thickness, "
            f"{show_length(stock.thickest, units)}. What is cut through stands under through.",
            name,
        )
        return None
    return FloorStated(
        layer=found[FloorFields.layer],
        depth=depth,
        floor=floor,
        tolerance=found[FloorFields.tolerance],
    )


def _tab(table: Table, stock: Stock | None) -> TabStated | None:
    found = table.values(TabFields)
    if found is None:
        return None
    height = found[TabFields.height]
    if stock is not None and height > stock.thickest:
        units = table.units or "mm"
        table.wrong(
            f"{show_length(height, units)} is more than the sheet's thickness, "
            f"{show_length(stock.thickest, units)}. A tab's height counts from the bed.",
            "height",
        )
        return None
    return TabStated(at=two(found[TabFields.at]), length=found[TabFields.length], height=height)
