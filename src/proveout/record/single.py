"""Single readings: the stock's thickness, a cutter's diameter, a size of hardware."""

import re
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import date
from typing import TypeVar

from proveout.book import typed
from proveout.book.cut import Taken, sitting_of
from proveout.book.doubts import Stated, doubts, key
from proveout.book.entry import Entry, Kind, cutter_words
from proveout.finding import InputError, Place
from proveout.job.records import Job
from proveout.quantity import QuantityError, System
from proveout.record.bench import Bench, Recorded, counted, written

T = TypeVar("T")

_BETWEEN = re.compile(r";|,\s|\s")


def record_stock(bench: Bench, taken: Taken, text: str, lot: str, *, today: date, sure: bool) -> Recorded:
    """Thickness readings of the sheet on the bench, or of a lot that the person names."""
    job = _job(bench, "--stock")
    about = replace(
        _plain("stock", job, taken),
        subject=lot or job.stock.material,
        material=job.stock.material,
        asked=job.stock.mean,
    )
    stated = [
        Stated(entry=replace(about, found=one.value), step=one.step) for one in _several(text, job.units)
    ]
    return _checked(bench, stated, today=today, sure=sure)


def record_cutter(bench: Bench, taken: Taken, number: int, text: str, *, today: date, sure: bool) -> Recorded:
    """A cutter's diameter as it was measured."""
    job = _job(bench, "--cutter")
    cutter = next((one for one in job.shop.cutters if one.number == number), None)
    if cutter is None:
        has = ", ".join(str(one.number) for one in job.shop.cutters)
        raise InputError(f"the shop file has no cutter {number}. It has: {has}.", Place(file=job.shop.file))
    found = length_of(text, job.units)
    named = cutter_words(cutter.number, cutter.name)
    entry = replace(
        _plain("cutter", job, taken),
        subject=named,
        cutter=named,
        diameter=cutter.diameter,
        asked=cutter.diameter,
        found=found.value,
    )
    return _checked(bench, [Stated(entry=entry, step=found.step)], today=today, sure=sure)


def record_hardware(bench: Bench, taken: Taken, name: str, text: str, *, today: date, sure: bool) -> Recorded:
    """Hardware as it was measured: a head's flats, a dowel's diameter."""
    found = length_of(text, bench.units)
    entry = replace(_plain("hardware", bench.job, taken), subject=name, found=found.value)
    return _checked(bench, [Stated(entry=entry, step=found.step)], today=today, sure=sure)


def read_as(read: Callable[[str], T], text: str) -> T:
    """What a person gave with an option.

    Raises:
        InputError: it can't be read so
    """
    try:
        return read(text)
    except QuantityError as error:
        raise InputError(str(error)) from None


def length_of(text: str, units: System) -> typed.Typed:
    """A length that a person gave with an option."""
    return read_as(lambda said: typed.length(said, units), text)


def refuse(said: Sequence[str]) -> None:
    """Refuses a reading that is doubted.

    Raises:
        InputError: with all that speaks against it
    """
    if said:
        text = " ".join(said)
        raise InputError(
            f"{text[0].upper()}{text[1:]} Check it, and add --sure if it is so. Nothing was written."
        )


def _several(text: str, units: System) -> list[typed.Typed]:
    """Several lengths in a row, or one that has a blank in it: "1 1/4 in"."""
    try:
        return [typed.length(text, units)]
    except QuantityError:
        parts = [one for one in (text.split(";") if ";" in text else _BETWEEN.split(text)) if one.strip()]
        return [length_of(one, units) for one in parts or [text]]


def _checked(bench: Bench, stated: Sequence[Stated], *, today: date, sure: bool) -> Recorded:
    """Written, unless one is doubtful or all are in the book already: those of one sheet are often alike."""
    has = counted(bench.book)
    mine = Counter(key(one.entry) for one in stated)
    known = frozenset(mine) if all(has[one] >= count for one, count in mine.items()) else frozenset()
    if not sure:
        for one in stated:
            refuse(doubts(one, today=today, known=known, units=bench.units))
    return written(bench.book, [one.entry for one in stated], bench.units)


def _job(bench: Bench, option: str) -> Job:
    if bench.job is None:
        raise InputError(
            f"{option} needs the job file: a pack doesn't have the whole bench.", Place(file=bench.named)
        )
    return bench.job


def _plain(kind: Kind, job: Job | None, taken: Taken) -> Entry:
    name = job.name if job else ""
    return Entry(
        kind=kind,
        taken_on=taken.on,
        who=taken.who,
        job=name,
        sitting=sitting_of(name, taken) if name else taken.sitting,
        found=0.0,
        instrument=taken.instrument,
        resolution=taken.resolution,
        note=taken.note,
    )
