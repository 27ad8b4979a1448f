"""A filled-in form read back: every row, or none and a word about each bad one.

Spreadsheets change what they save: another separator, a decimal comma, quotes, a mark at the front, empty
lines. All of that is taken; what could mean two things is refused.
"""

import csv
import io
import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Final, TypeVar

from proveout.book import typed
from proveout.book.article import Article
from proveout.book.cut import Cut, Taken, entries_of, minutes_entry
from proveout.book.doubts import Stated
from proveout.book.form import COLUMNS, MINUTES, SIZES, bare
from proveout.finding import InputError, InputErrors, Place
from proveout.quantity import QuantityError, System, seen

T = TypeVar("T")

BIGGEST: Final = 2_000_000  # bytes
MOST_ROWS: Final = 10_000
MOST_TOLD: Final = 50
MOST_PIECE: Final = 100_000

_HEAD = re.compile(r"(?P<name>[a-z]+)\s*(?:[(\[]\s*(?P<unit>[a-z\"]+)\s*[)\]])?")


@dataclass(frozen=True, slots=True, kw_only=True)
class Given:
    """What holds for all rows that don't say otherwise; None where nobody said."""

    who: str | None
    on: date | None
    instrument: str
    resolution: float | None
    note: str = ""
    sitting: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """What one row of a form says."""

    line: int  # 1-based, where it begins
    stated: tuple[Stated, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Sheet:
    """The form's cells by column, and what a bare number in them means."""

    file: Path
    units: Mapping[str, System]
    comma_is_point: bool
    lines: tuple[tuple[int, dict[str, str]], ...]


def read_form(file: Path, cut: Cut, given: Given) -> tuple[Row, ...]:
    """The rows of a filled-in form that say anything.

    Raises:
        InputErrors: everything that is wrong in it, each with its line
    """
    sheet = _sheet(_text(file), file, cut.units)
    rows: list[Row] = []
    errors: list[InputError] = []
    for line, cells in sheet.lines:
        try:
            stated = _stated(cells, sheet, cut, given)
        except QuantityError as error:
            errors.append(InputError(str(error), Place(file=file, line=line)))
            continue
        if stated:
            rows.append(Row(line=line, stated=stated))
    if errors:
        raise InputErrors(errors[:MOST_TOLD])
    return tuple(rows)


def _text(file: Path) -> str:
    try:
        with file.open("rb") as opened:
            content = opened.read(BIGGEST + 1)
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or str(error)
        raise InputError(f"the form can't be read: {why}.", Place(file=file)) from None
    if len(content) > BIGGEST:
        raise InputError(
            f"the form is over {BIGGEST // 1_000_000} MB. proveout record JOB --form FILE.csv writes one.",
            Place(file=file),
        )
    wide = content.startswith((b"\xff\xfe", b"\xfe\xff"))
    try:
        return content.decode("utf-16" if wide else "utf-8-sig")
    except UnicodeDecodeError:
        raise InputError(
            'the form is not UTF-8 text. In the spreadsheet, save it as "CSV UTF-8".', Place(file=file)
        ) from None


def _sheet(text: str, file: Path, units: System) -> _Sheet:
    first = next((line for line in text.splitlines() if line.strip()), "")
    separator = max(",;\t", key=first.count)
    try:
        every = list(_numbered(text, separator))
    except csv.Error as error:
        raise InputError(f"this is not CSV: {error}. Save the form as CSV.", Place(file=file)) from None
    if not every:
        raise InputError(
            "the form is empty. proveout record JOB --form FILE.csv writes one.", Place(file=file)
        )
    if len(every) > MOST_ROWS:
        raise InputError(f"the form has more than {MOST_ROWS} rows.", Place(file=file))
    (head_line, head), *rest = every
    names, by_column = _head(head, units, Place(file=file, line=head_line))
    lines, errors = [], []
    for line, cells in rest:
        if any(cell.strip() for cell in cells[len(names) :]):
            text = (
                f"the row has {len(cells)} cells under a head of {len(names)}. A decimal comma wants quotes "
                'around its number: "9,87".'
            )
            errors.append(InputError(text, Place(file=file, line=line)))
        lines.append((line, {name: cell.strip() for name, cell in zip(names, cells, strict=False) if name}))
    if errors:
        raise InputErrors(errors[:MOST_TOLD])
    return _Sheet(file=file, units=by_column, comma_is_point=separator != ",", lines=tuple(lines))


def _numbered(text: str, separator: str) -> Iterator[tuple[int, list[str]]]:
    """Rows that aren't empty, each with the line that it begins on."""
    rows = csv.reader(io.StringIO(text, newline=""), delimiter=separator)
    begins = 1
    for cells in rows:
        if any(cell.strip() for cell in cells):
            yield begins, cells
        begins = rows.line_num + 1


def _head(head: list[str], units: System, place: Place) -> tuple[list[str], dict[str, System]]:
    """The column of each cell of the head ("" for one without a head), and the units of those of sizes."""
    names: list[str] = []
    by_column: dict[str, System] = dict.fromkeys(SIZES, units)
    for cell in head:
        said = " ".join(cell.lower().split())
        found = _HEAD.fullmatch(said) if len(said) < 100 else None
        if said and (found is None or found["name"] not in COLUMNS):
            raise InputError(f"{seen(cell)} is not a column of the form. It has {', '.join(COLUMNS)}.", place)
        name, unit = (found["name"], found["unit"]) if found else ("", None)
        if name and name in names:
            raise InputError(f"the column {name} is there twice. Take one out.", place)
        if unit:
            if unit not in ("mm", "in") or name not in SIZES:
                raise InputError(
                    f"{seen(cell)}: sizes are in (mm) or (in); no other column has a unit.", place
                )
            by_column[name] = "in" if unit == "in" else "mm"
        names.append(name)
    for needed in ("number", "found"):
        if needed not in names:
            raise InputError(
                f"the form has no column {needed}. Its first line names the columns: {', '.join(COLUMNS)}.",
                place,
            )
    return names, by_column


def _stated(cells: dict[str, str], sheet: _Sheet, cut: Cut, given: Given) -> tuple[Stated, ...]:
    """What one row says; nothing where it was left as the form came."""
    if not cells.get("found") and not cells.get("fitted"):
        return ()
    if not cells.get("number"):
        raise QuantityError("the row has no number. Copy it from the form: it says what was measured.")
    taken = _taken(cells, sheet, given)
    sure = _cell(cells, "sure", typed.yes) or False
    if cells["number"].lower() == MINUTES:
        if not cells["found"]:
            raise QuantityError("the minutes have no number under found.")
        return (
            Stated(entry=minutes_entry(cut, taken, _cell(cells, "found", typed.seconds) or 0.0), sure=sure),
        )
    article = _article(cells, sheet, cut)
    size = _size(cells, "found", sheet)
    hardware = _size(cells, "hardware", sheet)
    entries = entries_of(
        article,
        cut,
        taken,
        piece=_cell(cells, "piece", _piece) or 1,
        found=size.value if size else None,
        fitted=_cell(cells, "fitted", typed.fitted) or "",
        hardware=hardware.value if hardware else None,
    )
    return tuple(Stated(entry=entry, step=size.step if size else None, sure=sure) for entry in entries)


def _taken(cells: dict[str, str], sheet: _Sheet, given: Given) -> Taken:
    who = _cell(cells, "who", typed.words) or given.who
    if not who:
        raise QuantityError("nobody is named who measured. Fill in the column who, or add --by NAME.")
    on = _cell(cells, "date", typed.day) or given.on
    if on is None:
        raise QuantityError("no day is given. Fill in the column date, or add --on 2026-03-31.")
    finest = _size(cells, "resolution", sheet)
    resolution = finest.value if finest else given.resolution
    if resolution is None:
        raise QuantityError("no resolution is given. Fill in the column, or add --resolution.")
    note = _cell(cells, "note", lambda text: typed.words(text, most=typed.MOST_NOTE)) or given.note
    instrument = _cell(cells, "instrument", typed.words) or given.instrument
    return Taken(
        who=who, on=on, instrument=instrument, resolution=resolution, note=note, sitting=given.sitting
    )


def _article(cells: dict[str, str], sheet: _Sheet, cut: Cut) -> Article:
    """What the row is about; a form that was written for another state of the job is refused."""
    said = cells["number"]
    article = next((one for one in cut.articles if str(one.number) == said.removesuffix(".")), None)
    if article is None:
        raise QuantityError(
            f"{seen(said)} is no number of this pack: it has 1 to {len(cut.articles)}, and {MINUTES}."
        )
    words = " ".join(cells.get("what", "").split())
    asked = _size(cells, "asked", sheet)
    shown = float(bare(article.asked, cut.units)) * (25.4 if cut.units == "in" else 1.0)
    if (words and words != article.words) or (asked and abs(asked.value - shown) > 0.002):
        raise QuantityError(
            f"the form's number {said} is not this pack's, which is {article.words}, "
            f"{bare(article.asked, cut.units)} {cut.units}: the job was made again since the form was "
            "written, or it is another job's. Write a new form."
        )
    return article


def _piece(text: str) -> int:
    if not re.fullmatch(r"[0-9]{1,6}", text) or not 1 <= int(text) <= MOST_PIECE:
        raise QuantityError(f"{seen(text)} is not the number of a piece. Write 1, 2, 3 ...")
    return int(text)


def _size(cells: dict[str, str], name: str, sheet: _Sheet) -> typed.Typed | None:
    return _cell(
        cells,
        name,
        lambda text: typed.length(text, sheet.units[name], comma_is_point=sheet.comma_is_point),
    )


def _cell(cells: dict[str, str], name: str, read: Callable[[str], T]) -> T | None:
    """A cell's value; None where it is empty or the form has no such column."""
    text = cells.get(name, "")
    if not text:
        return None
    try:
        return read(text)
    except QuantityError as error:
        raise QuantityError(f"{name}: {error}") from None
