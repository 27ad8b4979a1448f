"""The shopping list and the cutting list of a job, in pieces: what to buy, and what it becomes."""

import math
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from proveout.curve import polygon
from proveout.job.records import KnobWanted, Wanted
from proveout.pack.finishing import called
from proveout.pack.made import Made
from proveout.pack.needs import Item, Need, needs, summed
from proveout.pack.sizes import extent, listed, sold_length, span
from proveout.parts.part import PlacedPart, lies
from proveout.quantity import INCH, System, show_length

KERF: Final = 1.5  # mm that a fine saw takes between two dowels; common practice, no source
ROD: Final[dict[System, float]] = {"mm": 1000.0, "in": 36.0 * float(INCH)}  # as dowel rod is sold


@dataclass(frozen=True, slots=True, kw_only=True)
class Cut:
    """A row of the cutting list."""

    part: str
    count: int
    size: tuple[float, float] | None  # the box about it, longer side first; None: it isn't on the sheet
    lies: str  # "along X": where its longer side lies on the sheet; "" where it has none
    across: float | None = None  # of a round part


@dataclass(frozen=True, slots=True, kw_only=True)
class Blanks:
    """The sheets that a job takes."""

    count: int
    size: tuple[float, float]
    parts_area: float  # mm2 that become parts
    share: float  # of the sheets that is, 0 to 1


def items(made: Made) -> tuple[Item, ...]:
    """What to buy: the sheet, hardware, rods for dowels, and what the job uses up."""
    every = tuple(needs(made))
    return (_sheet(made), *summed(every), *_rods(made, every), *_used_up(made))


# The sheet, and what is cut from it


def blanks(made: Made) -> Blanks:
    """How many sheets of the stated size the job takes, and what of them becomes parts."""
    count = max((one.sheet for one in made.placed), default=1)
    wide, deep = made.job.stock.size
    area = sum(float(polygon((one.part.outline,)).area) for one in made.placed)
    return Blanks(count=count, size=(wide, deep), parts_area=area, share=area / (count * wide * deep))


def _sheet(made: Made) -> Item:
    stock, units, found = made.job.stock, made.job.units, blanks(made)
    size = " x ".join(show_length(side, units) for side in stock.size)
    return Item(
        what=f"{stock.material}, {size}, {span(stock.thinnest, stock.thickest, units)} thick",
        count=found.count,
        parts=tuple(one.name for one in made.job.wanted),
        note=f"{_area(found.parts_area, units)} of it, {found.share:.0%}, become parts",
    )


def _area(value: float, units: System) -> str:
    """An area from mm2, as one buys tape and finish by."""
    if units == "mm":
        return f"{value / 100:.0f} cm2"
    return f"{value / float(INCH) ** 2:.0f} in2"


def cuts(made: Made) -> tuple[Cut, ...]:
    """The parts, in the job's order."""
    return tuple(_cut(made, wanted) for wanted in made.job.wanted)


def _cut(made: Made, wanted: Wanted) -> Cut:
    there = [one for one in made.placed if one.part.name == wanted.name]
    ways = dict.fromkeys(filter(None, map(_long_side, there)))
    return Cut(
        part=wanted.name,
        count=wanted.count,
        size=extent(there[0].part) if there else None,
        lies="" if isinstance(wanted.pattern, KnobWanted) else listed(ways) if ways else "",
        across=wanted.pattern.diameter if isinstance(wanted.pattern, KnobWanted) else None,
    )


def _long_side(placed: PlacedPart) -> str:
    """Where a part's longer side lies; "" where the sides differ by less than a tenth."""
    left, front, right, back = polygon((lies(placed).outline,)).bounds
    wide, deep = right - left, back - front
    if abs(wide - deep) < 0.1 * max(wide, deep):
        return ""
    return "along X" if wide > deep else "along Y"


# Rods


def per_rod(length: float, rod: float) -> int:
    """How many pieces a rod gives, a saw's kerf between them; at least one: a longer rod is found then."""
    return max(1, int((rod + KERF + 1e-9) // (length + KERF)))


def _rods(made: Made, every: tuple[Need, ...]) -> Iterator[Item]:
    """Rods to cut the dowels from, where they are of wood."""
    rod = ROD[made.job.units]
    for item in summed(need for need in every if need.what.endswith(" dowel")):
        assert item.length is not None
        yield Item(
            what=f"{item.what} rod",
            length=rod,
            count=math.ceil(item.count / per_rod(item.length, rod)),
            parts=item.parts,
            note="instead, where the dowels are of wood",
        )


# What the job uses up


def _used_up(made: Made) -> Iterator[Item]:
    means, units = made.job.means, made.job.units
    if means.tape:
        area = _area(sum(one.size[0] * one.size[1] for one in means.tape), units)
        yield Item(what="double-sided tape, piece", count=len(means.tape), note=f"{area} in all")
    for (across, length), count in Counter((one.diameter, one.length) for one in means.screws).items():
        yield Item(what=f"wood screw, {show_length(across, units)}", length=length, count=count)
    finish = made.job.finish
    if finish is not None:
        coats = f"{finish.coats} coat{'s' if finish.coats > 1 else ''}"
        surface = sum(_surface(one, made.job.stock.mean) for one in made.placed)
        yield Item(what=f"tin of {called(finish)}", count=1, note=f"{coats} on {_area(surface, units)}")


def _surface(placed: PlacedPart, thick: float) -> float:
    """Both faces and the outer edges of a part, mm2."""
    outline = polygon((placed.part.outline,))
    return float(2 * outline.area + outline.length * thick)


# In words


def shopping_rows(made: Made) -> list[list[str]]:
    """Count, what, and for which parts with what to know, a row an item."""
    return [_row(item, made.job.units) for item in items(made)]


def _row(item: Item, units: System) -> list[str]:
    length = f" x {_item_length(item.what, item.length, units)}" if item.length is not None else ""
    parts = f"for {listed(item.parts)}" if item.parts else ""
    return [str(item.count), f"{item.what}{length}", "; ".join(filter(None, (parts, item.note)))]


def _item_length(what: str, length: float, units: System) -> str:
    return sold_length(what, length) if what.endswith("bolt") else show_length(length, units)


def cutting_rows(made: Made) -> list[list[str]]:
    """Part, count, finished size, thickness, material, how it lies on the sheet."""
    stock, units = made.job.stock, made.job.units
    thick = span(stock.thinnest, stock.thickest, units)
    return [
        [
            cut.part,
            str(cut.count),
            _finished(cut, units),
            thick,
            stock.material,
            cut.lies,
        ]
        for cut in cuts(made)
    ]


def _finished(cut: Cut, units: System) -> str:
    if cut.across is not None:
        return f"{show_length(cut.across, units)} across"
    return " x ".join(show_length(side, units) for side in cut.size) if cut.size else "not laid out"


def shopping_record(made: Made) -> dict[str, object]:
    """Both lists as plain data, lengths in mm."""
    found = blanks(made)
    return {
        "buy": [
            {
                "what": item.what,
                "length": None if item.length is None else round(item.length, 6),
                "count": item.count,
                "parts": list(item.parts),
                "note": item.note,
            }
            for item in items(made)
        ],
        "cut": [
            {
                "part": cut.part,
                "count": cut.count,
                "size": None if cut.size is None else [round(side, 6) for side in cut.size],
                "lies": cut.lies,
            }
            for cut in cuts(made)
        ],
        "sheets": {"count": found.count, "share": round(found.share, 4)},
    }
