"""The reader of what a person settled on the sheet: parts that they put somewhere, and flaws to keep off."""

from collections.abc import Sequence
from typing import Final

from proveout.job.fields import MOST_COPIES, MOST_FLAWS, FlawFields, PlaceFields
from proveout.job.records import Flaw, PlaceAt, Stock, Wanted
from proveout.job.table import Table
from proveout.quantity import seen, show_length

MOST_NAMES: Final = 6  # of parts that a message lists


def read_flaws(table: Table, stock: Stock | None) -> tuple[Flaw, ...]:
    """The flaws that a job file states; faults are noted at their fields."""
    found = (_flaw(one, stock) for one in table.tables("flaws", most=MOST_FLAWS))
    return tuple(one for one in found if one is not None)


def read_places(table: Table, stock: Stock | None, parts: Sequence[Wanted | None]) -> tuple[PlaceAt, ...]:
    """Where a job file says that parts lie; faults are noted at their fields."""
    wanted = [one for one in parts if one is not None]
    whole = len(wanted) == len(parts)  # what a part that can't be read is called isn't known
    places: list[PlaceAt] = []
    for inner in table.tables("places", most=MOST_COPIES):
        place = _place(inner, stock, wanted, whole)
        if place is not None and any(place.part == other.part for other in places):
            inner.wrong(f"{place.part} has a place already. Take one of the two out.", "part")
        elif place is not None:
            places.append(place)
    return tuple(places)


def placed_name(part: str, number: int, count: int) -> str:
    """What a copy of a part is called where it lies: its name, with its number where there are several."""
    return part if count == 1 else f"{part} {number}"


def _flaw(table: Table, stock: Stock | None) -> Flaw | None:
    found = table.values(FlawFields)
    if found is None:
        return None
    x, y = found[FlawFields.at]
    size, diameter = found[FlawFields.size], found[FlawFields.diameter]
    if (size is None) == (diameter is None):
        table.wrong(
            'a flaw has a size or a diameter, one of the two. Write size = ["30 mm", "12 mm"] for a '
            'rectangle, or diameter = "18 mm" for a round one.',
            "diameter" if diameter else "at",
        )
        return None
    if stock is not None and (x > stock.size[0] or y > stock.size[1]):
        _far_off(table, stock, "flaw")
        return None
    across = (size[0], size[1]) if size is not None else None
    return Flaw(at=(x, y), size=across, diameter=diameter, what=found[FlawFields.what])


def _place(table: Table, stock: Stock | None, wanted: Sequence[Wanted], whole: bool) -> PlaceAt | None:
    found = table.values(PlaceFields)
    if found is None:
        return None
    x, y = found[PlaceFields.at]
    if stock is not None and not (
        -stock.size[0] <= x <= stock.size[0] and -stock.size[1] <= y <= stock.size[1]
    ):
        _far_off(table, stock, "part")
        return None
    names = {
        placed_name(one.name, number, one.count).lower(): placed_name(one.name, number, one.count)
        for one in wanted
        for number in range(1, one.count + 1)
    }
    said = found[PlaceFields.part]
    name = names.get(said.lower())
    if name is None:
        if whole:
            table.wrong(_no_such(said, wanted), "part")
        return None
    return PlaceAt(part=name, at=(x, y), turn_deg=found[PlaceFields.turn])


def _far_off(table: Table, stock: Stock, what: str) -> None:
    units = table.units or "mm"
    size = " x ".join(show_length(side, units) for side in stock.size)
    table.wrong(
        f"the {what} would lie wholly off the sheet of {size}. Count from the sheet's left front corner, "
        "and look for a slipped point or unit.",
        "at",
    )


def _no_such(said: str, wanted: Sequence[Wanted]) -> str:
    """That no part lies under that name, and which names there are."""
    base, _, number = said.rpartition(" ")
    for one in wanted:
        if said.lower() == one.name.lower():
            return (
                f'there are {one.count} of "{one.name}". Say which: "{one.name} 1" to '
                f'"{one.name} {one.count}".'
            )
        if base.lower() == one.name.lower() and number.isdigit():
            if one.count == 1:
                return f'there is one "{one.name}", which has no number. Write "{one.name}".'
            return f'only {one.count} of "{one.name}" are cut. Take a number up to {one.count}, or set count.'
    known = [
        f"{one.name} 1 to {one.name} {one.count}" if one.count > 1 else one.name
        for one in wanted[:MOST_NAMES]
    ]
    more = " and more" if len(wanted) > MOST_NAMES else ""
    return f"there is no part called {seen(said)}. There are: {', '.join(known)}{more}."
