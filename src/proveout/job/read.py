"""The reader of job and shop files: TOML in, `Job` and `Shop` out, or every error of both with its place."""

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any, Final

from proveout.filekind import JOB, SETUP, SHOP, kind_of_file, tables_kind
from proveout.finding import InputError, InputErrors, Place
from proveout.job import defaults
from proveout.job.bench_checks import check_bench
from proveout.job.fields import (
    MOST_CLAMPS,
    MOST_CUTTERS,
    MOST_PARTS,
    ClampAtFields,
    ClampFields,
    CouponFields,
    CutterFields,
    DrawnFields,
    InsertFields,
    JobFields,
    KnobFields,
    MachineFields,
    PartFields,
    PlateFields,
    ShopFields,
    SpindleFields,
    StockFields,
    StopFields,
    StrapFields,
    ZeroFields,
)
from proveout.job.kinds import Wrong
from proveout.job.pattern_checks import pattern_faults
from proveout.job.read_air import read_air
from proveout.job.read_coupon import read_coupon
from proveout.job.read_drawn import read_drawn
from proveout.job.read_hardware import dowel_of, hexagon_of
from proveout.job.read_means import MEANS, read_means
from proveout.job.read_places import read_flaws, read_places
from proveout.job.read_use import check_uses, read_finish, read_use
from proveout.job.records import (
    ClampAt,
    ClampKind,
    Cutter,
    Inserts,
    Job,
    KnobWanted,
    Machine,
    Plate,
    Shop,
    Spindle,
    Stock,
    StopWanted,
    StrapWanted,
    Wanted,
    Zero,
)
from proveout.job.source import Source, parse_source, read_source
from proveout.job.table import Faults, Table, Values
from proveout.quantity import NO_UNIT, System, show_length

PARTS_EXAMPLE: Final = 'name = "knob", count = 8 ...'
MOST_OFF: Final = 0.5  # of a cutter's diameter, by which it may be off; more is a slip of the point
UNEVEN: Final = 2.0  # times the thinnest reading; a slipped decimal point makes ten (project default)
MOST_BARE: Final = 5  # numbers without a unit that are told one by one; more come of one forgotten line
MOST_TOLD: Final = 50  # faults of one reading; the first few are mended first anyway


def read_shop(path: Path) -> Shop:
    """A shop file.

    Raises:
        InputErrors: everything that is wrong in it, in order of lines
    """
    faults = Faults()
    shop = _shop(source_of(path), faults)
    raise_all(faults, path)
    assert shop is not None
    return shop


def read_shop_text(text: str, path: Path) -> Shop:
    """The same of a text that stands, or might come to stand, in the file `path`.

    Raises:
        InputErrors: everything that is wrong in it
    """
    faults = Faults()
    try:
        shop = _shop(parse_source(text, path), faults)
    except InputError as error:
        raise InputErrors([error]) from None
    raise_all(faults, path)
    assert shop is not None
    return shop


def read_job(path: Path) -> Job:
    """A job file, the shop file that it names, and what that shop's book has taught.

    Raises:
        InputError: a shop book that can't be read
        InputErrors: everything that is wrong in both, file by file in order of lines
    """
    _refuse_other_kinds(path)
    return _with_book(_job(source_of(path)))


def read_job_text(text: str, path: Path) -> Job:
    """The same of a text that stands, or might come to stand, in the file `path`.

    Raises:
        InputError: a shop book that can't be read
        InputErrors: everything that is wrong in text and shop file
    """
    try:
        source = parse_source(text, path)
    except InputError as error:
        raise InputErrors([error]) from None
    return _with_book(_job(source))


def _with_book(job: Job) -> Job:
    if not job.shop.book.exists():
        return job
    # The model costs 0.1 s of imports; shops without a book don't pay.
    from proveout.job.read_book import with_book

    return with_book(job)


def _refuse_other_kinds(path: Path) -> None:
    kind = kind_of_file(path)
    ways_out = {
        SHOP: f'Name it in a job file: shop = "{path.name}". proveout new writes one to start from.',
        SETUP: "It wants no [[parts]], so there is nothing to make of it; proveout prove PROGRAM --setup "
        f"{path.name} proves a program on it.",
    }
    if kind not in ("", JOB):
        raise InputError(
            f"this is {kind}, where a job file is wanted. {ways_out.get(kind, 'Name a TOML file.')}",
            Place(file=path),
        )


def _job(source: Source) -> Job:
    faults, path = Faults(), source.file
    table = top_table(source, faults)
    head = table.values(JobFields, ("stock", "air", "zero", "clamps", *MEANS, "flaws", "parts", "places"))
    shop = shop_named(table, source, faults)
    stock = read_stock(table)
    zero = read_zero(table)
    clamps = [read_clamp_at(one) for one in table.tables("clamps", most=MOST_CLAMPS)]
    means = read_means(table, stock)
    air = read_air(table)
    parts = [_part(one) for one in table.tables("parts", most=MOST_PARTS, example=PARTS_EXAMPLE)]
    flaws = read_flaws(table, stock)
    places = read_places(table, stock, parts)
    finish = read_finish(table, head)
    check_bench(table, shop, stock, clamps, parts)
    if shop is not None:
        check_uses(table, shop, parts)
    if head is not None and shop is not None:
        _through_cuts(table, head[JobFields.through_allowance], shop)
    if head is not None:
        _travel_height(table, head[JobFields.safe_above])
    raise_all(faults, path)
    assert head is not None and shop is not None and stock is not None and zero is not None
    return Job(
        file=path,
        name=head[JobFields.name],
        units=head[JobFields.units] or "mm",
        shop=shop,
        stock=stock,
        zero=zero,
        clamps=tuple(one for one in clamps if one),
        wanted=tuple(one for one in parts if one),
        through_allowance=head[JobFields.through_allowance],
        safe_above=head[JobFields.safe_above],
        means=means,
        finish=finish,
        air=air,
        places=places,
        flaws=flaws,
    )


def source_of(path: Path) -> Source:
    """A file's values and places.

    Raises:
        InputErrors: the one thing that keeps it from being read
    """
    try:
        return read_source(path)
    except InputError as error:
        raise InputErrors([error]) from None


def raise_all(faults: Faults, first: Path) -> None:
    """Raises what was found, the `first` file's faults before the other's, each file's in order of lines."""

    def order(error: InputError) -> tuple[bool, int, int]:
        place = error.place or Place(file=first)
        return place.file != first, place.line or 0, place.column or 0

    errors = _units_once(sorted(faults.found, key=order))
    if len(errors) > MOST_TOLD:
        more = InputError(f"and {len(errors) - MOST_TOLD} more faults after these.", Place(file=first))
        errors = [*errors[:MOST_TOLD], more]
    if errors:
        raise InputErrors(errors)


def _units_once(errors: list[InputError]) -> list[InputError]:
    """One line that is forgotten, units, is told once in each file and not at every number."""
    bare: dict[Path | None, list[InputError]] = {}
    for error in errors:
        if NO_UNIT in error.text:
            bare.setdefault(error.place.file if error.place else None, []).append(error)
    told = {
        id(each[0]): InputError(
            f"{each[0].text} So it is with {len(each) - 1} more numbers of this file.",
            each[0].place,
        )
        for each in bare.values()
        if len(each) > MOST_BARE
    }
    folded = {id(one) for each in bare.values() if id(each[0]) in told for one in each[1:]}
    return [told.get(id(error), error) for error in errors if id(error) not in folded]


def top_table(source: Source, faults: Faults) -> Table:
    """The whole file as a table. Units that can't be read count as mm, so that they are told of once."""
    units = source.values.get("units")
    declared: System | None = "in" if units == "in" else "mm" if "units" in source.values else None
    return Table(source=source, keys=(), data=source.values, units=declared, faults=faults)


def shop_named(table: Table, source: Source, faults: Faults) -> Shop | None:
    try:
        path = source.file.parent / JobFields.shop.read(table.data.get("shop"), None)
    except Wrong:
        return None  # told of where the field is read
    try:
        shop_source = read_source(path)
    except InputError as error:
        if error.place and error.place.line is not None:
            faults.found.append(error)
        else:
            table.wrong(f"the shop file {path} can't be used: {error.text}", "shop")
        return None
    if tables_kind(set(shop_source.values)) == JOB:
        table.wrong(
            f"{path} is {JOB}, where a shop file is wanted: machine, plate, cutters and clamps.", "shop"
        )
        return None
    return _shop(shop_source, faults)


def _through_cuts(table: Table, allowance: float, shop: Shop) -> None:
    """Through cuts must not go deeper than the plate's face may be cut."""
    if allowance > shop.plate.cut_allowance + 1e-9:
        units = table.units or "mm"
        table.wrong(
            f"through cuts would go {show_length(allowance, units)} into the plate's face, and the shop file "
            f"allows {show_length(shop.plate.cut_allowance, units)} (plate.cut_allowance).",
            "through_allowance",
        )


def _travel_height(table: Table, above: float) -> None:
    """Less room over the highest clamp than that, and a bolt a thread longer is struck at rapid speed."""
    if above < defaults.LEAST_SAFE_ABOVE - 1e-9:
        units = table.units or "mm"
        least, common = (show_length(one, units) for one in (defaults.LEAST_SAFE_ABOVE, defaults.SAFE_ABOVE))
        table.wrong(
            f"{show_length(above, units)} over the highest clamp or knob is too little to travel in. Give at "
            f"least {least}; {common} is common.",
            "safe_above",
        )


# The shop file, table by table


def _shop(source: Source, faults: Faults) -> Shop | None:
    table = top_table(source, faults)
    head = table.values(ShopFields, ("machine", "plate", "cutters", "clamps"))
    if head is not None:
        _book_folder(table, source.file.parent / head[ShopFields.book])
    machine = read_machine(table)
    plate = read_plate(table)
    cutters = [
        read_cutter(one)
        for one in table.tables("cutters", most=MOST_CUTTERS, example="number = 1, name = ... and the rest")
    ]
    kinds = [read_clamp_kind(one) for one in table.tables("clamps", most=MOST_CLAMPS)]
    refuse_doubles(table, "cutters", [one and one.number for one in cutters], "number")
    refuse_doubles(table, "clamps", [one and one.name for one in kinds], "name")
    if head is None or machine is None or plate is None or not all(cutters) or not all(kinds):
        return None
    return Shop(
        file=source.file,
        name=head[ShopFields.name],
        machine=machine,
        plate=plate,
        cutters=tuple(one for one in cutters if one),
        clamps=tuple(one for one in kinds if one),
        book=source.file.parent / head[ShopFields.book],
    )


def refuse_doubles(table: Table, name: str, keys: list[Any], field: str) -> None:
    """No two tables of a list share their number or name."""
    first: dict[Any, int] = {}
    for index, key in enumerate(keys):
        if key is not None and first.setdefault(key, index) != index:
            table.wrong(
                f"{field} {key} is taken already. Give each of the {name} its own.", name, index, field
            )


def _book_folder(table: Table, book: Path) -> None:
    """A misspelt folder would lose all that was learned, without a word."""
    try:
        there = book.parent.is_dir()
    except OSError:  # too long to be one, or not to be looked into
        there = False
    if not there:
        table.wrong(f"there is no folder {book.parent}. Make it, or write where the shop book lies.", "book")


def read_machine(table: Table) -> Machine | None:
    inner = table.table("machine", example='name = "bench router" and the rest')
    if inner is None:
        return None
    found = inner.values(MachineFields, ("spindle",))
    spindle = _spindle(inner)
    if found is None or spindle is None:
        return None
    fields = MachineFields
    units = table.units or "mm"
    above = found[fields.tip_reach] - found[fields.travel][2]
    if above > 1e-6:
        inner.wrong(
            f"the cutter's tip would stay {show_length(above, units)} above the plate at the bottom of Z's "
            f"travel of {show_length(found[fields.travel][2], units)}. Measure from the plate up to the tip.",
            "tip_reach",
        )
    return Machine(
        name=found[fields.name],
        travel=_three(found[fields.travel]),
        tip_reach=found[fields.tip_reach],
        max_feed=_three(found[fields.max_feed]),
        acceleration=_three(found[fields.acceleration]),
        corner_deviation=found[fields.corner_deviation],
        stiffness=found[fields.stiffness],
        dialect=found[fields.dialect],
        units=found[fields.program_units],
        line_limit=found[fields.line_limit],
        spindle=spindle,
        repeatability=found[fields.repeatability],
        out_of_square=found[fields.out_of_square],
    )


def _three(values: tuple[float, ...]) -> tuple[float, float, float]:
    x, y, z = values
    return x, y, z


def two(values: tuple[float, ...]) -> tuple[float, float]:
    x, y = values
    return x, y


def _spindle(table: Table) -> Spindle | None:
    inner = table.table("spindle", example='min_speed = "8000 rpm" and the rest')
    found = inner.values(SpindleFields) if inner else None
    if inner is None or found is None:
        return None
    fields = SpindleFields
    if found[fields.min_speed] > found[fields.max_speed]:
        inner.wrong(
            f"{found[fields.min_speed]:.0f} rpm is above max_speed, which is "
            f"{found[fields.max_speed]:.0f} rpm. The slower one is min_speed.",
            "min_speed",
        )
        return None
    return Spindle(
        min_rpm=found[fields.min_speed],
        max_rpm=found[fields.max_speed],
        power=found[fields.power],
        nut_diameter=found[fields.nut_diameter],
        nut_length=found[fields.nut_length],
        body_diameter=found[fields.body_diameter],
        spin_up=found[fields.spin_up],
    )


def read_plate(table: Table) -> Plate | None:
    inner = table.table("plate", example='size = ["460 mm", "340 mm"] and the rest')
    if inner is None:
        return None
    found = inner.values(PlateFields, ("inserts",))
    inserts = _inserts(inner)
    if found is None or inserts is None:
        return None
    fields = PlateFields
    plate = Plate(
        size=two(found[fields.size]),
        at=two(found[fields.at]),
        first_hole=two(found[fields.first_hole]),
        pitch=found[fields.pitch],
        columns=found[fields.columns],
        rows=found[fields.rows],
        inserts=inserts,
        cut_allowance=found[fields.cut_allowance],
        material=found[fields.material],
    )
    for axis, count, name in ((0, plate.columns, "columns"), (1, plate.rows, "rows")):
        last = plate.first_hole[axis] + (count - 1) * plate.pitch
        if last >= plate.size[axis]:
            inner.wrong(
                f"the last of {count} {name} lies {show_length(last, table.units or 'mm')} from the plate's "
                f"corner, but the plate ends at {show_length(plate.size[axis], table.units or 'mm')}.",
                name,
            )
    return plate


def _inserts(table: Table) -> Inserts | None:
    inner = table.table("inserts", example='thread = "M6", diameter = "9 mm"')
    found = inner.values(InsertFields) if inner else None
    if found is None:
        return None
    return Inserts(
        thread=found[InsertFields.thread],
        diameter=found[InsertFields.diameter],
        depth_below_face=found[InsertFields.depth_below_face],
        length=found[InsertFields.length],
    )


def read_cutter(table: Table) -> Cutter | None:
    found = table.values(CutterFields)
    if found is None:
        return None
    fields = CutterFields
    kind = found[fields.kind]
    if kind == "vee" and found[fields.point] is None:
        table.wrong('a vee cutter needs its point angle. Write point = "60 deg".', "point")
        return None
    if not _corner_is_sound(table, kind, found[fields.diameter], found[fields.corner_radius]):
        return None
    for field in (fields.diameter_error, fields.runout):
        if (found[field] or 0.0) > MOST_OFF * found[fields.diameter]:
            most = show_length(MOST_OFF * found[fields.diameter], table.units or "mm")
            table.wrong(f"a cutter can't be off by more than {most}, half its diameter.", field.name)
            return None
    if found[fields.flute_length] > found[fields.stick_out]:
        units = table.units or "mm"
        table.wrong(
            f"flutes of {show_length(found[fields.flute_length], units)} are longer than the cutter sticks "
            f"out, {show_length(found[fields.stick_out], units)}. Measure both from the tip.",
            "flute_length",
        )
        return None
    centre = found[fields.centre_cutting]
    point = found[fields.point]
    return Cutter(
        number=found[fields.number],
        name=found[fields.name],
        kind=kind,
        diameter=found[fields.diameter],
        flutes=found[fields.flutes],
        flute_length=found[fields.flute_length],
        stick_out=found[fields.stick_out],
        shank_diameter=found[fields.shank_diameter] or found[fields.diameter],
        centre_cutting=(kind not in ("flat", "bull nose") or defaults.CENTRE_CUTTING)
        if centre is None
        else centre,
        spiral=found[fields.spiral],
        carbide=found[fields.made_of] == "carbide",
        point_deg=defaults.DRILL_POINT if point is None and kind == "drill" else point,
        corner_radius=found[fields.corner_radius],
        max_rpm=found[fields.max_speed],
        diameter_error=found[fields.diameter_error] or 0.0,
        runout=found[fields.runout] or 0.0,
    )


def _corner_is_sound(table: Table, kind: str, diameter: float, corner: float | None) -> bool:
    """Whether a corner radius is stated where there is one, nowhere else, and leaves some of the end flat."""
    units = table.units or "mm"
    if kind != "bull nose":
        if corner is not None:
            table.wrong(
                f'a {kind} cutter has no corner radius. Take it away, or write kind = "bull nose".',
                "corner_radius",
            )
        return corner is None
    if corner is None:
        example = show_length(min(0.5, diameter / 4), units)
        table.wrong(
            f'a bull nose cutter needs the radius of its corner. Write corner_radius = "{example}", '
            "or what its maker states.",
            "corner_radius",
        )
        return False
    if corner >= diameter / 2:
        table.wrong(
            f"a corner radius of {show_length(corner, units)} leaves no flat on a cutter of "
            f"{show_length(diameter, units)}: it must be less than {show_length(diameter / 2, units)}. "
            'If the end is round all over, write kind = "ball".',
            "corner_radius",
        )
        return False
    return True


def read_clamp_kind(table: Table) -> ClampKind | None:
    found = table.values(ClampFields)
    if found is None:
        return None
    fields = ClampFields
    if found[fields.nose_to_bolt] >= found[fields.length]:
        units = table.units or "mm"
        table.wrong(
            f"the bolt would stand {show_length(found[fields.nose_to_bolt], units)} from the nose of a bar "
            f"{show_length(found[fields.length], units)} long. It must go through the bar.",
            "nose_to_bolt",
        )
        return None
    return ClampKind(
        name=found[fields.name],
        count=found[fields.count],
        length=found[fields.length],
        width=found[fields.width],
        thickness=found[fields.thickness],
        nose_to_bolt=found[fields.nose_to_bolt],
        bolt=found[fields.bolt],
        knob_diameter=found[fields.knob_diameter],
        knob_height=found[fields.knob_height],
        knob_floor=found[fields.knob_floor] or 0.0,
        bolt_lengths=found[fields.bolt_lengths] or (),
        material=found[fields.material],
        knob_material=found[fields.knob_material],
    )


# The job file, table by table


def read_stock(table: Table) -> Stock | None:
    inner = table.table("stock", example='material = "birch plywood" and the rest')
    found = inner.values(StockFields) if inner else None
    if inner is None or found is None:
        return None
    fields = StockFields
    readings, nominal = found[fields.thickness], found[fields.nominal_thickness]
    if (readings is None) == (nominal is None):
        inner.wrong(
            'write thickness = ["11.8 mm", "11.9 mm"] from calipers, or nominal_thickness where nothing was '
            "measured; one of the two.",
            "thickness" if readings else "nominal_thickness" if nominal else "material",
        )
        return None
    if readings and max(readings) > UNEVEN * min(readings):
        units = table.units or "mm"
        inner.wrong(
            f"one reading is {show_length(max(readings), units)} and another "
            f"{show_length(min(readings), units)}: no sheet is that uneven. "
            "Look for a slipped decimal point, or measure again.",
            "thickness",
            readings.index(max(readings)),
        )
        return None
    return Stock(
        material=found[fields.material],
        size=two(found[fields.size]),
        readings=readings if readings is not None else (nominal or 0.0,),
        measured=readings is not None,
        at=two(found[fields.at]),
        edge_margin=found[fields.edge_margin],
    )


def read_zero(table: Table) -> Zero | None:
    inner = table.table("zero", example='level = "bed"')
    found = inner.values(ZeroFields) if inner else None
    if found is None:
        return None
    return Zero(
        corner=found[ZeroFields.corner],
        level=found[ZeroFields.level],
        error_across=found[ZeroFields.error_across] or 0.0,
        error_height=found[ZeroFields.error_height] or 0.0,
    )


def read_clamp_at(table: Table) -> ClampAt | None:
    found = table.values(ClampAtFields)
    if found is None:
        return None
    return ClampAt(
        clamp=found[ClampAtFields.clamp],
        hole=found[ClampAtFields.hole].upper(),
        towards=found[ClampAtFields.towards],
    )


def _part(table: Table) -> Wanted | None:
    pattern = table.data.get("pattern")
    reader = _PATTERNS.get(pattern.strip().lower()) if isinstance(pattern, str) else None
    if reader is None:
        # The fields depend on the pattern: until it is known, only those are judged that every part has.
        table.values(PartFields, tuple(table.data))
        return None
    wanted = reader(table)
    before = len(table.faults.found)
    if wanted is not None:
        for field, text in pattern_faults(wanted.pattern, table.units or "mm"):
            table.wrong(text, field)
    return wanted if len(table.faults.found) == before else None


def _wanted(found: Values, pattern: Any, rotations: tuple[float, ...]) -> Wanted:
    return Wanted(
        name=found[PartFields.name],
        count=found[PartFields.count],
        pattern=pattern,
        rotations_deg=found[PartFields.rotations] or rotations,
        cutter=found[PartFields.cutter],
    )


def _knob(table: Table) -> Wanted | None:
    found = table.values(KnobFields)
    if found is None:
        return None
    fields = KnobFields
    pattern = KnobWanted(
        diameter=found[fields.diameter],
        lobes=found[fields.lobes],
        scallop_depth=found[fields.scallop_depth],
        hardware=hexagon_of(
            found[fields.bolt], found[fields.holds], found[fields.across_flats], found[fields.head_height]
        ),
        fit=found[fields.fit],
        clearance=found[fields.clearance],
        use=read_use(table, found, own_nut=found[fields.holds] == "hex nut"),
    )
    return _wanted(found, pattern, defaults.KNOB_ROTATIONS)


def _strap(table: Table) -> Wanted | None:
    found = table.values(StrapFields)
    if found is None:
        return None
    fields = StrapFields
    pattern = StrapWanted(
        length=found[fields.length],
        width=found[fields.width],
        bolt=found[fields.bolt],
        clearance=found[fields.clearance],
        slot_length=found[fields.slot_length],
        slot_from_nose=found[fields.slot_from_nose],
        use=read_use(table, found, own_nut=False),
    )
    return _wanted(found, pattern, defaults.BAR_ROTATIONS)


def _stop(table: Table) -> Wanted | None:
    found = table.values(StopFields)
    if found is None:
        return None
    fields = StopFields
    pattern = StopWanted(
        length=found[fields.length],
        width=found[fields.width],
        corner_radius=found[fields.corner_radius],
        hardware=dowel_of(found[fields.dowel], found[fields.dowel_diameter], found[fields.dowel_limits]),
        fit=found[fields.fit],
        holes=found[fields.holes],
        spacing=found[fields.spacing],
    )
    return _wanted(found, pattern, defaults.BAR_ROTATIONS)


def _drawn(table: Table) -> Wanted | None:
    found = table.values(DrawnFields, ("rules",))
    pattern = read_drawn(table, found)
    if found is None or pattern is None:
        return None
    return _wanted(found, pattern, defaults.BAR_ROTATIONS)


def _coupon(table: Table) -> Wanted | None:
    found, pattern = table.values(CouponFields), None
    if found is not None:
        pattern = read_coupon(table, found)
    if found is None or pattern is None:
        return None
    return _wanted(found, pattern, defaults.COUPON_ROTATIONS)


_PATTERNS: Final[Mapping[str, Callable[[Table], Wanted | None]]] = {
    "lobed knob": _knob,
    "slotted strap": _strap,
    "stop block": _stop,
    "drawn part": _drawn,
    "coupon": _coupon,
}
