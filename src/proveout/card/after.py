"""After the cut: readings typed on the page, into the shop book by the same road as a filled-in form."""

import csv
import io
import tempfile
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Final

from proveout.book.article import FITS
from proveout.book.cut import Cut, read_cut
from proveout.book.entry import FITTED
from proveout.book.filled import Given
from proveout.book.form import COLUMNS
from proveout.book.said import FINEST, caliper, entry_words
from proveout.book.typed import day
from proveout.finding import InputError, InputErrors, Place
from proveout.job.records import Job
from proveout.pack.folder import MARK, default_folder
from proveout.quantity import QuantityError, show_time
from proveout.record.bench import Bench
from proveout.record.listing import listed
from proveout.record.readings import record_by_form
from proveout.record.single import length_of

Rows = Sequence[Mapping[str, str]]

MOST_ROWS: Final = 2000


@dataclass(frozen=True, slots=True, kw_only=True)
class Article:
    """A row to fill in."""

    number: int
    what: str
    wanted: str
    within: str
    fits: bool  # hardware may be tried in it
    takes: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """The page's form of first articles, and what the book has taught so far."""

    source: str  # which pack it is of
    articles: tuple[Article, ...]
    minutes: str
    words: tuple[str, ...]  # for how hardware went in
    learned: tuple[str, ...]
    count: int  # of entries in the book
    today: str
    step: str  # the usual one of a caliper


def after_sheet(job: Job, proved: Mapping[str, bytes] | None) -> Sheet | None:
    """What may be measured: of the pack beside the job, else of the proof; None where there is neither.

    Raises:
        InputError: a book that can't be read
    """
    with _folder(job, proved) as found:
        if found is None:
            return None
        folder, source = found
        cut = read_cut(folder)
    book = listed(job.file)
    return Sheet(
        source=source,
        articles=tuple(_articles(cut)),
        minutes=show_time(cut.seconds),
        words=FITTED,
        learned=book.learned,
        count=len(book.entries),
        today=date.today().isoformat(),
        step=FINEST[job.units],
    )


def _articles(cut: Cut) -> Iterator[Article]:
    for one in cut.articles:
        yield Article(
            number=one.number,
            what=one.words,
            wanted=caliper(one.expected, cut.units),
            within=caliper(one.within, cut.units),
            fits=bool(one.takes) and one.what in FITS,
            takes=one.takes,
        )


def record(
    job: Job, proved: Mapping[str, bytes] | None, rows: Rows, head: Mapping[str, str]
) -> tuple[str, ...]:
    """Write the rows into the shop book, all or none; what was written, in words.

    Args:
        rows: number, piece, found, fitted, sure of each; number "minutes" for the time it took
        head: who, date, instrument, resolution that hold for all
    Raises:
        InputErrors: every row that is wrong or doubtful; `place.line` is the row's, counted from 1
    """
    with _folder(job, proved) as found, tempfile.TemporaryDirectory() as scratch:
        if found is None:
            raise InputError("There is no pack yet to record readings of. Let the proof end first.")
        bench = Bench(named=job.file, folder=found[0], book=job.shop.book, job=job)
        form = Path(scratch) / "readings.csv"
        form.write_text(_form_text(rows[:MOST_ROWS]), encoding="utf-8")
        try:
            told = record_by_form(bench, _given(job, head), form, today=date.today())
        except InputErrors as errors:
            raise InputErrors([_plain(one, form) for one in errors.errors]) from None
        except InputError as error:
            raise _plain(error, form) from None
    if not told.ids:
        return (told.why.replace(str(form), "the form"),)
    return tuple(
        f"{number}: {entry_words(entry, told.units)}"
        for number, entry in zip(told.ids, told.entries, strict=True)
    )


def _given(job: Job, head: Mapping[str, str]) -> Given:
    try:
        on = day(head["date"]) if head.get("date") else date.today()
    except QuantityError as error:
        raise InputError(f"date: {error}") from None
    resolution = head.get("resolution", "").strip()
    return Given(
        who=head.get("who", "").strip() or None,
        on=on,
        instrument=head.get("instrument", "").strip() or "caliper",
        resolution=length_of(resolution or FINEST[job.units], job.units).value,
    )


def _form_text(rows: Rows) -> str:
    text = io.StringIO()
    out = csv.writer(text, lineterminator="\n")
    out.writerow(COLUMNS)
    for row in rows:
        out.writerow([row.get(name, "") for name in COLUMNS])
    return text.getvalue()


def _plain(error: InputError, form: Path) -> InputError:
    """The error without the form's path, which nobody on the page knows; its line counted in rows."""
    place = error.place
    text = error.text.replace(str(form), "the form")
    if place is None or place.line is None:
        return InputError(text)
    return InputError(text, Place(file=Path("readings"), line=place.line - 1))


@contextmanager
def _folder(job: Job, proved: Mapping[str, bytes] | None) -> Iterator[tuple[Path, str] | None]:
    """The pack that readings are of, and which it is in words."""
    folder = default_folder(job)
    if (folder / MARK).is_file():
        yield folder, f"the pack in {folder.name}"
    elif proved is not None:
        with tempfile.TemporaryDirectory() as scratch:
            (Path(scratch) / MARK).write_bytes(proved[MARK])
            yield Path(scratch), "the proof above"
    else:
        yield None
