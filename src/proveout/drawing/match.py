"""What hardware a drawn circle or hexagon is meant for, by the shelf's tables.

A drawing says how large a hole is, never what for. Each match says what the hole would be, how far off its
size is, and what a job would have to intend for it; which of them is meant stays the person's word.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache, lru_cache
from typing import Final, Literal

from proveout.drawing.shapes import Shape
from proveout.quantity import show_length
from proveout.shelf.tables import (
    HexHead,
    HexNut,
    clearance_holes,
    dowel_pins,
    hex_heads,
    hex_nuts,
    inserts,
    sources,
    threads,
    washers,
)

Use = Literal[
    "hex head", "hex nut", "hex head or nut", "bolt hole", "washer recess", "dowel pin", "insert pilot",
    "tapped hole", "bolt body",
]  # fmt: skip

NEAR: Final = 0.05  # mm that a circle may be off a table's size
TIGHT: Final = (
    0.3  # mm that a hexagon may be smaller than the largest head, to be taken for one pressed in ...
)
WIDE: Final = 0.5  # ... or larger
# Of the uses whose size fits equally well, the likelier first.
ORDER: Final = ("hex head or nut", "hex head", "hex nut", "bolt hole", "dowel pin", "bolt body",
                "washer recess", "tapped hole", "insert pilot")  # fmt: skip
FITS: Final = ("normal", "close", "loose")
STEP: Final = 0.005  # mm; sizes that are off by no more than that of one another fit equally well

# A sharp corner of a hexagon that meets a fillet of radius r needs (2 - sqrt(3)) r more across the flats.
CORNER: Final = 2 - math.sqrt(3)


@dataclass(frozen=True, slots=True, kw_only=True)
class Match:
    """One thing that a shape may be meant for."""

    use: Use
    size: str  # "M6", "1/4"; of a pin its nominal size
    text: str  # "hexagon 10.02 mm across flats: M6 head or nut (9.78 to 10 mm): ..."
    intent: str  # what a job would intend: "captive M6 hex head", "bolt hole for M6, normal"
    off: float  # mm by which the shape is larger than the table's size
    low: float  # mm, the table's least and largest of what goes in, or of the hole
    high: float
    source: str  # title
    rough: bool = False  # the shelf's row is a placeholder or a rule of the trade

    @property
    def accept(self) -> tuple[str, ...]:
        """Fields of a rule of the job file by which the hole is sized to it, as TOML; none where none is."""
        match self.use:
            case "hex head" | "hex head or nut":
                return (f'bolt = "{self.size}"', 'holds = "head"')
            case "hex nut":
                return (f'bolt = "{self.size}"', 'holds = "nut"')
            case "bolt hole" | "bolt body":
                return (f'bolt = "{self.size}"', f'clearance = "{self.intent.rpartition(", ")[2]}"')
            case "dowel pin":
                return (f'dowel = "{self.size}"',)
            case _:
                return ()


def matches(shape: Shape) -> tuple[Match, ...]:
    """What a shape may be meant for, best first; none where nothing on the shelf is near.

    A circle is compared within NEAR, a hexagon from TIGHT below the largest head to WIDE above.
    """
    if shape.kind == "circle":
        return _of_circle(round(shape.length, 4))
    if shape.kind == "hexagon":
        return _of_hexagon(round(shape.length, 4))
    return ()


# --- circles


@dataclass(frozen=True, slots=True)
class _Round:
    """A size on the shelf that a circle may have."""

    use: Use
    size: str
    low: float
    high: float
    said: str
    intent: str
    source: str
    rank: int = 0
    rough: bool = False


@lru_cache(maxsize=4096)
def _of_circle(diameter: float) -> tuple[Match, ...]:
    found = [(_off(diameter, one), one) for one in _rounds()]
    near = [(off, one) for off, one in found if abs(off) <= NEAR]
    near.sort(
        key=lambda pair: (round(abs(pair[0]) / STEP), ORDER.index(pair[1].use), pair[1].rank, pair[1].size)
    )
    return tuple(
        Match(
            use=one.use,
            size=one.size,
            text=f"circle {show_length(diameter)}: {one.said}{_by(off)}",
            intent=one.intent,
            off=off,
            low=one.low,
            high=one.high,
            source=one.source,
            rough=one.rough,
        )
        for off, one in near
    )


def _off(diameter: float, one: _Round) -> float:
    """How far a diameter lies above the size, or below it; 0 within its band."""
    return diameter - min(max(diameter, one.low), one.high)


def _by(off: float) -> str:
    if abs(off) < STEP:
        return ""
    return f", {show_length(abs(off))} {'larger' if off > 0 else 'smaller'} than the table's"


@cache
def _rounds() -> tuple[_Round, ...]:
    return (*_bolt_holes(), *_pins(), *_bodies(), *_washer_recesses(), *_pilots())


def _title(source: str) -> str:
    return sources()[source].title if source in sources() else source


def _short(source: str) -> str:
    """The standard alone, out of its title: "ISO 273"."""
    return _title(source).partition(",")[0]


def _bolt_holes() -> Iterator[_Round]:
    for row in clearance_holes():
        yield _Round(
            "bolt hole",
            row.size,
            row.diameter,
            row.diameter,
            f"{row.size} {row.fit} clearance hole ({_short(row.source)})",
            f"bolt hole for {row.size}, {row.fit}",
            _title(row.source),
            FITS.index(row.fit),
        )


def _pins() -> Iterator[_Round]:
    for row in dowel_pins():
        unit = "in" if "/" in row.size else "mm"
        wood = row.kind == "wood"
        what = "wooden dowel" if wood else "steel pin"
        low, high = row.diameter
        yield _Round(
            "dowel pin",
            row.size,
            low,
            high,
            f"{row.size} {unit} {what} by {_short(row.source)} ({_span(low, high)}), with no clearance",
            f"hole for a {row.size} {unit} {what}",
            _title(row.source),
            int(wood),
            row.basis != "read",
        )


def _bodies() -> Iterator[_Round]:
    """A circle of a bolt's own diameter: often drawn, and no bolt goes through it."""
    normal = {row.size: row.diameter for row in clearance_holes() if row.fit == "normal"}
    for row in threads():
        if row.size in normal:
            yield _Round(
                "bolt body",
                row.size,
                row.diameter,
                row.diameter,
                f"{row.size}'s own diameter, through which it doesn't go; its normal clearance hole is "
                f"{show_length(normal[row.size])}",
                f"bolt hole for {row.size}, normal",
                _title(row.source),
            )


def _washer_recesses() -> Iterator[_Round]:
    for row in washers():
        yield _Round(
            "washer recess",
            row.size,
            row.outside.max,
            row.outside.max,
            f"outside of the {row.size} {row.series} washer ({_short(row.source)}), with no clearance",
            f"recess for the {row.size} {row.series} washer",
            _title(row.source),
        )


def _pilots() -> Iterator[_Round]:
    for row in threads():
        if "-" in row.size:  # fine threads hold badly in what a router cuts
            continue
        tap = row.diameter - row.pitch
        yield _Round(
            "tapped hole",
            row.size,
            tap,
            tap,
            f"tap hole of {row.size} (diameter less pitch, common practice)",
            f"hole to tap {row.size}",
            "common practice",
            rough=True,
        )
    for insert in inserts():
        for size, wood in ((insert.pilot_soft, "softwood"), (insert.pilot_hard, "hardwood")):
            yield _Round(
                "insert pilot",
                insert.thread,
                size,
                size,
                f"pilot of an {insert.thread} insert in {wood} (a placeholder: read its maker's sheet)",
                f"pilot for an {insert.thread} insert",
                _title(insert.source),
                rough=True,
            )


# --- hexagons


@lru_cache(maxsize=4096)
def _of_hexagon(flats: float) -> tuple[Match, ...]:
    found = [
        _hexagon(flats, use, row)
        for use, row in _hexagons()
        if -TIGHT <= flats - row.across_flats.max <= WIDE
    ]
    return tuple(sorted(found, key=lambda one: (_misfit(one), one.low, ORDER.index(one.use), one.size)))


def _misfit(one: Match) -> int:
    """How far from a hexagon drawn at the hardware's largest, in steps: what is too small counts twice."""
    return round((one.off if one.off >= 0 else -2 * one.off) / STEP)


@cache
def _hexagons() -> tuple[tuple[Use, HexHead | HexNut], ...]:
    """Heads, and nuts of another size across flats than their bolt's head."""
    nuts = {row.size: row for row in hex_nuts()}
    rows: list[tuple[Use, HexHead | HexNut]] = []
    for head in hex_heads():
        nut = nuts.get(head.size)
        if nut is not None and nut.across_flats == head.across_flats:
            rows.append(("hex head or nut", head))
            del nuts[head.size]
        else:
            rows.append(("hex head", head))
    return (*rows, *(("hex nut", nut) for nut in nuts.values()))


def _hexagon(flats: float, use: Use, row: HexHead | HexNut) -> Match:
    low, high = row.across_flats
    noun = use.removeprefix("hex ")
    return Match(
        use=use,
        size=row.size,
        text=f"hexagon {show_length(flats)} across flats: {row.size} {noun} ({_span(low, high)}): "
        f"cut literally it would be {_looseness(flats - high, flats - low)}",
        intent=f"captive {row.size} {use}",
        off=flats - high,
        low=low,
        high=high,
        source=_title(row.source),
    )


def _looseness(least: float, most: float) -> str:
    """ "loose by 0.02 to 0.24 mm", or how far the largest is too wide."""
    if most <= 0:
        return f"too tight by {_span(-most, -least)}"
    if least < -STEP:
        return (
            f"too tight by {show_length(-least)} for the largest, loose by {show_length(most)} for the least"
        )
    return f"loose by {_span(max(least, 0.0), most)}"


def _span(low: float, high: float) -> str:
    return f"{show_length(low).removesuffix(' mm')} to {show_length(high)}"


def largest_seated(flats: float, cutter: float) -> float:
    """Flats of the largest sharp hexagon that seats in a literal hexagon cut by a round cutter.

    The cutter of radius r leaves fillets; a sharp corner touches one on its bisector, where the fillet lies
    r (2/sqrt(3) - 1) short of the drawn corner: F = F' - (2 - sqrt(3)) r.

    Args:
        flats: of the drawn hexagon, F'
        cutter: its diameter, 2 r

    Source: plane geometry
    """
    return flats - CORNER * cutter / 2


def seating(shape: Shape, match: Match, cutter: float) -> str:
    """Whether sharp-cornered hardware goes into a hexagon that is cut as drawn with a cutter of a diameter.

    A corner that is drawn rounder than the cutter is as round as it is drawn.
    """
    round_by = max(cutter, 2 * shape.corner_radius)
    seated = largest_seated(shape.length, round_by)
    rounding = show_length(round_by / 2)
    said = f"Cut as drawn with a {show_length(cutter)} cutter its corners stay round by {rounding}"
    short = match.high - seated
    if short <= 0:
        return f"{said}, and sharp {match.size} hexagons of up to {show_length(match.high)} still seat."
    least = match.low - seated
    some = "none of them seats" if least > 0 else f"only those of up to {show_length(seated)} seat"
    return (
        f"{said}: {some} where corners are sharp. It would have to be {show_length(short)} wider across "
        f'flats, or its corners relieved: intend "{match.intent}".'
    )
