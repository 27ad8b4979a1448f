"""What the finished parts take, need by need, and needs of the same thing summed to one item of a list."""

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Final

from proveout.hold.use_bolts import UseBolts, use_bolts
from proveout.job.records import KnobWanted, StrapWanted, Wanted
from proveout.pack.fitted import Fitted, fitted
from proveout.pack.made import Made
from proveout.pack.sizes import sized
from proveout.quantity import INCH
from proveout.shelf.tables import dowel_pin

SPARE: Final = 1  # of each kind of fitted hardware
STANDS_OUT: Final = 2.0  # diameters of a dowel beyond its part; common practice, no source
BY_USE: Final = "length by use: state grips"
SHARED: Final = "several lengths: share them out by the work"


@dataclass(frozen=True, slots=True, kw_only=True)
class Need:
    """So many pieces of something for one part."""

    what: str  # "M6 hex head bolt"
    length: float | None = None  # mm; None where it has none, or where that hangs on its use
    count: int
    part: str
    fitted: bool = False  # one to spare
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Item:
    """A row of the shopping list."""

    what: str
    length: float | None = None
    count: int
    parts: tuple[str, ...] = ()  # that take it
    note: str = ""


def summed(needs: Iterable[Need]) -> tuple[Item, ...]:
    """Needs of the same thing in one row, in order of first meeting; fitted things with one to spare."""
    alike: dict[tuple[str, float | None], list[Need]] = {}
    for need in needs:
        alike.setdefault((need.what, need.length), []).append(need)
    return tuple(_item(what, length, group) for (what, length), group in alike.items())


def _item(what: str, length: float | None, group: list[Need]) -> Item:
    spare = SPARE if any(need.fitted for need in group) else 0
    notes = dict.fromkeys(need.note for need in group if need.note)
    return Item(
        what=what,
        length=length,
        count=sum(need.count for need in group) + spare,
        parts=tuple(dict.fromkeys(need.part for need in group)),
        note="; ".join((*notes, *(("one to spare",) if spare else ()))),
    )


def needs(made: Made) -> Iterator[Need]:
    """All hardware of the finished parts, in the job's order."""
    uses = {one.part: one for one in use_bolts(made.job, made.figures)}
    held = fitted(made)
    for wanted in made.job.wanted:
        use = uses.get(wanted.name)
        for one in held:
            if one.part == wanted.name:
                yield from _held(made, one, use)
        if use is not None:
            yield from _around(wanted, use)
        elif isinstance(wanted.pattern, StrapWanted):
            note = f"{BY_USE}; none where a knob brings its own"
            yield _need(wanted, f"{sized(wanted.pattern.bolt)} bolt", note=note)
        yield from _loose(made, wanted, {one.what for one in held if one.part == wanted.name})


def _held(made: Made, one: Fitted, use: UseBolts | None) -> Iterator[Need]:
    """Captive heads have a bolt's length, dowels their own, nuts none."""

    def need(length: float | None, note: str = "") -> Need:
        return Need(what=one.what, length=length, count=one.count, part=one.part, fitted=True, note=note)

    if one.hardware.form == "dowel":
        yield need(dowel_length(made, one))
    elif one.hardware.form == "hex nut":
        yield need(None)
    elif use is None or not use.bolts:
        yield need(None, BY_USE)
    else:
        yield from (need(length, note) for length, note in _lengths(use))


def _lengths(use: UseBolts) -> Iterator[tuple[float, str]]:
    """The lengths to buy, each with what must be known of it."""
    for bolt in use.bolts:
        along = ("threaded all along",) if bolt.all_thread else ()
        yield bolt.length, "; ".join((*along, *((SHARED,) if len(use.bolts) > 1 else ())))


def _around(wanted: Wanted, use: UseBolts) -> Iterator[Need]:
    """What goes with a stated use: bolts that no part holds, washers, loose nuts."""
    size, knob = sized(use.bolt), wanted.pattern if isinstance(wanted.pattern, KnobWanted) else None
    if knob is None or knob.hardware.form == "hex nut":
        for length, note in _lengths(use):
            yield _need(wanted, f"{size} hex head bolt", length=length, note=note)
    two = any(bolt.two_washers_below is not None for bolt in use.bolts)
    yield _need(wanted, f"{size} washer", each=2 if two else 1)
    if use.use.into == "nut" and (knob is None or knob.hardware.form == "hex head"):
        yield _need(wanted, f"{size} hex nut")


def _need(wanted: Wanted, what: str, *, length: float | None = None, each: int = 1, note: str = "") -> Need:
    return Need(what=what, length=length, count=wanted.count * each, part=wanted.name, note=note)


def _loose(made: Made, wanted: Wanted, held: set[str]) -> Iterator[Need]:
    """Bolts that only pass through a drawn part."""
    part = next((one.part for one in made.placed if one.part.name == wanted.name), None)
    names = [one.takes for one in part.features if one.takes and one.takes not in held] if part else []
    for what in dict.fromkeys(names):
        yield _need(wanted, what, each=names.count(what), note=BY_USE)


def dowel_length(made: Made, one: Fitted) -> float:
    """How long a dowel is cut, mm: through its part and two diameters beyond, in steps of 2 mm or 1/8 in."""
    across = one.hardware.diameter or dowel_pin(one.hardware.size).diameter.min
    step = 2.0 if made.job.units == "mm" else float(INCH) / 8
    return math.ceil((made.job.stock.thickest + STANDS_OUT * across) / step - 1e-9) * step
