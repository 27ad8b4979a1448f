"""Readings that are asked back before they go into the book: slips of the point, of the unit, of the day."""

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date
from typing import Final

from proveout.book.entry import Entry
from proveout.quantity import System, show_length, show_time

Key = tuple[object, ...]

# A reading in the other unit may be told a little more finely than an instrument: 0.01 mm for 0.0005 in.
CLOSE: Final = 0.45
# A slipped point or unit leaves the reading within this share of the slip. Project default.
NEAR: Final = 0.1
# Farther off than this share of what was asked is strange, in mm at least and at most. Project defaults.
STRANGE: Final = 0.1
LEAST_STRANGE: Final = 0.3
MOST_STRANGE: Final = 1.0
# What hardware goes into is cut far closer: twice what a shop without a coupon is out by, and more. Project
# default.
STRANGE_FIT: Final = 0.25  # mm
FITTING: Final = ("recess", "hole")
STRANGE_TIMES: Final = 3.0  # a job that takes so many times longer or shorter than was reckoned
FIRST_YEAR: Final = 2000


@dataclass(frozen=True, slots=True, kw_only=True)
class Stated:
    """An entry as it was typed, before it is kept."""

    entry: Entry
    step: float | None = None  # of the last digit that was typed; None where that says nothing
    sure: bool = False  # whether the person has said that it is so, however strange


def doubts(stated: Stated, *, today: date | None, known: Collection[Key], units: System) -> tuple[str, ...]:
    """Why a reading may be a slip, each in a sentence; empty where nothing speaks against it.

    Args:
        stated: the reading
        today: the day of recording; None where the day was settled before
        known: of the readings that the book has, or that come before this one
        units: in which the person reads lengths
    """
    entry = stated.entry
    found = (
        _far_off(entry, units),
        _too_fine(stated, units),
        strange_day(entry.taken_on, today) if today else "",
        "the same reading by the same person on that day stands in the book already."
        if key(entry) in known
        else "",
    )
    return tuple(one for one in found if one)


def key(entry: Entry) -> Key:
    """What two records of one and the same reading share."""
    size = None if entry.found is None else round(entry.found, 6)
    return (
        entry.kind,
        entry.taken_on,
        entry.who.lower(),
        entry.job,
        entry.sitting,
        entry.subject,
        entry.cutter,
        entry.material,
        entry.feature,
        entry.direction,
        size,
        entry.fitted,
    )


def _far_off(entry: Entry, units: System) -> str:
    if entry.asked is None or entry.found is None or entry.kind == "fit":
        return ""  # of a fit, its size is doubted where it stands alone
    if entry.kind == "minutes":
        return _odd_time(entry.found, entry.asked)
    read, asked = show_length(entry.found, units), show_length(entry.asked, units)
    for times, slip in _SLIPS:
        if abs(entry.found / entry.asked / times - 1) < NEAR:
            return f"{read}, where {asked} was asked for, looks like {slip}."
    strange = min(MOST_STRANGE, max(LEAST_STRANGE, STRANGE * entry.asked))
    if entry.feature in FITTING:
        strange = min(strange, STRANGE_FIT)
    off = abs(entry.found - entry.asked)
    if off > strange:
        return f"{read} is {show_length(off, units)} off the {asked} that was asked for."
    return ""


_POINT: Final = "a slipped decimal point"
_SLIPS: Final = (
    (10.0, _POINT),
    (0.1, _POINT),
    (100.0, _POINT),
    (0.01, _POINT),
    (25.4, "millimetres taken for inches"),
    (1 / 25.4, "inches taken for millimetres"),
)


def _odd_time(took: float, reckoned: float) -> str:
    if reckoned / STRANGE_TIMES <= took <= reckoned * STRANGE_TIMES:
        return ""
    return f"{show_time(took)} is far from the {show_time(reckoned)} that were reckoned."


def _too_fine(stated: Stated, units: System) -> str:
    found, resolution, step = stated.entry.found, stated.entry.resolution, stated.step
    if found is None or resolution is None or step is None or step > CLOSE * resolution:
        return ""
    steps = found / resolution
    if abs(steps - round(steps)) < 0.01:
        return ""  # zeros at its end
    name = stated.entry.instrument or "instrument"
    return f"it is told more finely than the {name} reads, which is to {_fine(resolution, units)}."


def _fine(resolution: float, units: System) -> str:
    return f"{resolution / 25.4:.4f} in" if units == "in" else f"{resolution:g} mm"


def strange_day(taken_on: date, today: date) -> str:
    """Why a day may be a slip, in a sentence; empty where it may well be so."""
    if taken_on > today:
        return f"{taken_on} is still to come: today is {today}."
    if taken_on.year < FIRST_YEAR:
        return f"{taken_on} is long ago: check the year."
    return ""
