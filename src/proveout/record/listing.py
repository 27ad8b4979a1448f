"""`proveout book`: all that the shop's book has."""

import csv
import io
from dataclasses import fields
from pathlib import Path
from typing import Final

from proveout.book.entry import Entry
from proveout.book.store import is_begun, open_book
from proveout.filekind import SHOP, kind_of_file
from proveout.job.read import read_job, read_shop
from proveout.job.read_book import cutter_now
from proveout.job.records import Cutter
from proveout.quantity import System
from proveout.record.taught import taught_lines
from proveout.record.text import Listed

_DATABASE: Final = b"SQLite format 3\0"  # how every database file of this kind begins


def listed(named: Path) -> Listed:
    """The book of a job's shop, of a shop file, or in the file itself; reading it changes nothing.

    Raises:
        InputError: a file that is none of these, or a book that can't be read
    """
    book, units, cutters = _book(named)
    if not is_begun(book):
        return Listed(book=book, units=units, begun=False)
    with open_book(book, create=False) as opened:
        standing = tuple(kept.entry for kept in opened.standing())
        return Listed(
            book=book,
            units=units,
            begun=True,
            entries=opened.everything(),
            learned=tuple(
                taught_lines(standing, opened.means(), [cutter_now(one) for one in cutters], units)
            ),
        )


def _book(named: Path) -> tuple[Path, System, tuple[Cutter, ...]]:
    try:
        with named.open("rb") as file:
            is_book = file.read(len(_DATABASE)) == _DATABASE
    except (OSError, ValueError):
        is_book = False  # told by whoever reads it as a job
    if is_book:
        return named, "mm", ()
    if kind_of_file(named) == SHOP:
        shop = read_shop(named)
        return shop.book, "mm", shop.cutters
    job = read_job(named)
    return job.shop.book, job.units, job.shop.cutters


def listed_csv(found: Listed) -> str:
    """Every entry with all its fields, those that were replaced too; mm and s."""
    names = [field.name for field in fields(Entry)]
    text = io.StringIO()
    rows = csv.writer(text, lineterminator="\r\n")
    rows.writerow(["id", "recorded_at", *names])
    for kept in found.entries:
        values = (getattr(kept.entry, name) for name in names)
        rows.writerow([kept.id, kept.recorded_at.isoformat(), *map(_cell, values)])
    return text.getvalue()


def _cell(value: object) -> str:
    """A cell that no spreadsheet takes for a formula."""
    text = "" if value is None else str(value)
    return f"'{text}" if text[:1] in "=+-@" and text else text
