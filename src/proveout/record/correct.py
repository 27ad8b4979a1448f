"""Slips mended: an entry of the book is never changed, a new one takes its place."""

from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Final

from proveout.book import typed
from proveout.book.doubts import Stated, doubts
from proveout.book.entry import Entry, Kept, Kind
from proveout.book.store import open_book
from proveout.finding import InputError, Place
from proveout.quantity import System
from proveout.record.bench import Bench, Recorded, written
from proveout.record.single import length_of, read_as, refuse

# A size that was typed with a word on how its hardware went in makes two entries with one reading.
_TWIN: Final[dict[Kind, Kind]] = {"size": "fit", "fit": "size"}


def correct(
    bench: Bench, replaced: int, *, found: str, fitted: str, note: str, sure: bool, today: date
) -> Recorded:
    """A new entry in the place of one, and of its twin: a size and its fit share one reading."""
    old = _standing(bench.book, replaced)
    if not found and not fitted:
        raise InputError(f"say what entry {replaced} should be: --found SIZE, or --fitted WORD.")
    if fitted and old.entry.kind != "fit":
        raise InputError(
            f"entry {replaced} says nothing on how something fitted. Correct it with --found SIZE."
        )
    read, step = (old.entry.found, None) if not found else _value(old.entry, found, bench.units)
    word = read_as(typed.fitted, fitted) if fitted else old.entry.fitted
    new = replace(old.entry, found=read, fitted=word, note=note, replaces=old.id)
    if not sure:
        refuse(doubts(Stated(entry=new, step=step), today=today, known=(), units=bench.units))
    twins = [replace(twin.entry, found=read, note=note, replaces=twin.id) for twin in _twins(bench.book, old)]
    return written(bench.book, (new, *(twins if found else ())), bench.units)


def withdraw(bench: Bench, replaced: int, *, note: str) -> Recorded:
    """Take an entry back; of a size that was typed with a fit, the word on the fit stays."""
    old = _standing(bench.book, replaced)
    gone = replace(old.entry, found=None, fitted="", note=note, replaces=old.id)
    twins = [
        replace(twin.entry, found=None, note=note, replaces=twin.id)
        for twin in _twins(bench.book, old)
        if old.entry.kind == "size"
    ]
    return written(bench.book, (gone, *twins), bench.units)


def _standing(book: Path, wanted: int) -> Kept:
    with open_book(book, create=False) as opened:
        found = next((kept for kept in opened.everything() if kept.id == wanted), None)
        stands = any(kept.id == wanted for kept in opened.standing())
    if found is None:
        raise InputError(
            f"there is no entry {wanted}. proveout book lists them with their numbers.", Place(file=book)
        )
    if not stands:
        raise InputError(
            f"entry {wanted} was corrected or withdrawn before. proveout book shows by which: correct that.",
            Place(file=book),
        )
    return found


def _twins(book: Path, old: Kept) -> list[Kept]:
    """The entries that hold the same reading: the size of a fit, or the fit of a size."""
    other = _TWIN.get(old.entry.kind)
    if other is None or old.entry.found is None:
        return []
    with open_book(book, create=False) as opened:
        near = opened.standing(kind=other, cutter=old.entry.cutter, feature=old.entry.feature)
    shared = ("taken_on", "who", "job", "sitting", "subject", "direction", "found")
    return [
        kept for kept in near if all(getattr(kept.entry, name) == getattr(old.entry, name) for name in shared)
    ][:1]


def _value(entry: Entry, text: str, units: System) -> tuple[float, float | None]:
    if entry.kind == "minutes":
        return read_as(typed.seconds, text), None
    found = length_of(text, units)
    return found.value, found.step
