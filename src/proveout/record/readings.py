"""Readings of a pack: asked for one by one, or read from a filled-in form."""

from collections import Counter
from collections.abc import Sequence
from datetime import date
from pathlib import Path

from proveout.book.doubts import Key, doubts, key
from proveout.book.filled import Given, Row, read_form
from proveout.book.prompt import Asks, Sitting, agreed, asked_all
from proveout.finding import InputError, InputErrors, Place
from proveout.quantity import System
from proveout.record.bench import Bench, Recorded, counted, cut_of, written


def record_by_prompt(bench: Bench, given: Given, asks: Asks, *, today: date, piece: int) -> Recorded:
    """Ask for every reading, and write them once the person has said yes."""
    cut = cut_of(bench)
    if not cut.ready:
        asks.say("This pack's verdict is NOT READY. Was it really cut?")
    sitting = Sitting(cut=cut, given=given, today=today, known=frozenset(counted(bench.book)), piece=piece)
    entries = asked_all(asks, sitting)
    if not entries:
        return Recorded(book=bench.book, units=cut.units, why="Nothing was typed, so nothing was written.")
    if not agreed(asks, entries, cut.units, str(bench.book)):
        return Recorded(book=bench.book, units=cut.units, why="Nothing was written.")
    return written(bench.book, entries, cut.units)


def record_by_form(bench: Bench, given: Given, form: Path, *, today: date) -> Recorded:
    """Write what a filled-in form says: all of it, or nothing and a word about each bad row.

    Raises:
        InputErrors: every row that is wrong or doubtful
    """
    cut = cut_of(bench)
    rows = read_form(form, cut, given)
    entries = tuple(stated.entry for row in rows for stated in row.stated)
    if not entries:
        raise InputError("the form holds no reading: fill in the column found.", Place(file=form))
    known = counted(bench.book)
    if all(known[one] >= count for one, count in Counter(map(key, entries)).items()):
        why = f"All {len(entries)} readings of {form} stand in the book already. Nothing was changed."
        return Recorded(book=bench.book, units=cut.units, why=why)
    _refuse_doubtful(rows, form, today=today, known=frozenset(known), units=cut.units)
    return written(bench.book, entries, cut.units)


def _refuse_doubtful(
    rows: Sequence[Row], form: Path, *, today: date, known: frozenset[Key], units: System
) -> None:
    errors: list[InputError] = []
    for row in rows:
        for stated in row.stated:
            said = () if stated.sure else doubts(stated, today=today, known=known, units=units)
            place = Place(file=form, line=row.line)
            errors += [
                InputError(f"{one} Mend the row, or write yes in its column sure.", place) for one in said
            ]
        known |= {key(stated.entry) for stated in row.stated}
    if errors:
        raise InputErrors(_once(errors))


def _once(errors: Sequence[InputError]) -> list[InputError]:
    return list({str(error): error for error in errors}.values())
