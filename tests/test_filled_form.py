"""The form that comes back from a spreadsheet: all of its rows, or none and a word about each bad one."""

import csv
import io
import random
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Literal

import pytest

from book_pack import cut_in
from proveout.book.cut import Cut
from proveout.book.filled import BIGGEST, Given, read_form
from proveout.book.form import COLUMNS, form_text
from proveout.finding import InputError, InputErrors

DAY = date(2026, 3, 31)
GIVEN = Given(who="Ada", on=DAY, instrument="caliper", resolution=0.01)
NOBODY = Given(who=None, on=None, instrument="caliper", resolution=0.01)


@pytest.fixture
def cut(tmp_path: Path) -> Cut:
    """A pack to measure."""
    return cut_in(tmp_path / "pack")


def filled(cut: Cut, **cells: str) -> str:
    """The form with what is found of its articles: n2="9.75"; f2="firm press" for a word on fit."""
    rows = list(csv.reader(io.StringIO(form_text(cut))))
    for name, value in cells.items():
        number = "minutes" if name == "minutes" else name[1:]
        row = next(one for one in rows if one[0] == number)
        row[COLUMNS.index("fitted" if name[0] == "f" else "found")] = value
    text = io.StringIO()
    csv.writer(text).writerows(rows)
    return text.getvalue()


def readings(
    tmp_path: Path, cut: Cut, text: str | bytes, given: Given = GIVEN
) -> list[tuple[str, float | None]]:
    """Subject and reading of every entry that the text makes."""
    file = tmp_path / "form.csv"
    file.write_bytes(text.encode() if isinstance(text, str) else text)
    return [
        (one.entry.subject, None if one.entry.found is None else round(one.entry.found, 4))
        for row in read_form(file, cut, given)
        for one in row.stated
    ]


def complaints(tmp_path: Path, cut: Cut, text: str | bytes, given: Given = GIVEN) -> list[str]:
    """What is said of a text that can't be taken, each with its line."""
    with pytest.raises(InputError) as caught:
        readings(tmp_path, cut, text, given)
    errors = caught.value.errors if isinstance(caught.value, InputErrors) else (caught.value,)
    return [f"{one.place.line if one.place else None}: {one.text}" for one in errors]


def test_the_form_as_it_is_written_holds_no_reading(tmp_path: Path, cut: Cut) -> None:
    """Rows that were left alone are skipped, though the form prints a size of hardware in one."""
    assert readings(tmp_path, cut, form_text(cut)) == []


def test_what_is_filled_in_becomes_entries(tmp_path: Path, cut: Cut) -> None:
    """A size, a size with a word on its fit, and the minutes."""
    text = filled(cut, n1="43.95", n2="9.75", f2="firm press", minutes="14:30")
    file = tmp_path / "form.csv"
    file.write_text(text)
    entries = [one.entry for row in read_form(file, cut, GIVEN) for one in row.stated]
    assert [(one.kind, one.subject, one.found, one.fitted) for one in entries] == [
        ("size", "knob 1.over the lobes", 43.95, ""),
        ("size", "knob 1.head recess", 9.75, ""),
        ("fit", "knob 1.head recess", 9.75, "firm press"),
        ("minutes", "the whole job", 870.0, ""),
    ]
    fit = entries[2]
    assert (fit.hardware, fit.asked, fit.cutter) == (9.92, 9.73, "1: 3 mm two-flute up-cut")
    assert (fit.who, fit.taken_on, fit.sitting) == ("Ada", DAY, "clamp knobs, 2026-03-31")


def test_a_fit_alone_needs_no_size(tmp_path: Path, cut: Cut) -> None:
    """How it went in is worth knowing where nobody measured."""
    assert readings(tmp_path, cut, filled(cut, f2="too tight")) == [("knob 1.head recess", None)]


SAME = [("knob 1.head recess", 9.75), ("strap 1.length", 90.02)]


@pytest.mark.parametrize(
    "spoil",
    [
        lambda text: text,
        lambda text: "\ufeff" + text,
        lambda text: text.replace("\r\n", "\n"),
        lambda text: text.replace("\r\n", "\r\n\r\n,,,\r\n"),
        lambda text: text.replace("number,piece", " Number , PIECE"),
        lambda text: text.replace("(mm)", "[mm]"),
        lambda text: text.replace("9.75", '"9.75 mm"').replace("90.02", " 90.02 "),
        lambda text: text.replace("9.75", '"9,75"').replace("90.02", '"90,02"'),
        lambda text: _parted(text, ";"),
        lambda text: _parted(text, "\t"),
        lambda text: _parted(text, ";", quoting=csv.QUOTE_ALL),
        lambda text: _parted(text, ";").replace("9.75", "9,75").replace("90.02", "90,020"),
    ],
    ids=["as written", "mark", "LF", "empty rows", "capitals", "brackets", "with unit", "decimal comma",
         "semicolons", "tabs", "quoted", "semicolons and commas"],
)  # fmt: skip
def test_what_spreadsheets_do_to_a_form_changes_nothing(
    tmp_path: Path, cut: Cut, spoil: Callable[[str], str]
) -> None:
    """Each of their habits gives the same two readings."""
    assert readings(tmp_path, cut, spoil(filled(cut, n2="9.75", n5="90.02"))) == SAME


def test_wide_letters_are_read_too(tmp_path: Path, cut: Cut) -> None:
    """Some spreadsheets save text two bytes a letter."""
    assert readings(tmp_path, cut, filled(cut, n2="9.75", n5="90.02").encode("utf-16")) == SAME


def _parted(text: str, separator: str, *, quoting: Literal[0, 1] = csv.QUOTE_MINIMAL) -> str:
    rows = list(csv.reader(io.StringIO(text)))
    out = io.StringIO()
    csv.writer(out, delimiter=separator, quoting=quoting).writerows(rows)
    return out.getvalue()


def test_the_head_says_in_which_unit_a_size_is(tmp_path: Path, cut: Cut) -> None:
    """0.384 under found (in) is 9.7536 mm in a job that is read in mm."""
    text = filled(cut, n2="0.384").replace("found (mm)", "found (in)")
    assert readings(tmp_path, cut, text) == [("knob 1.head recess", 9.7536)]


def test_each_row_may_say_by_whom_when_and_with_what(tmp_path: Path, cut: Cut) -> None:
    """The row goes before the command's options."""
    head = "number,found,who,date,instrument,resolution,piece,note"
    text = f"{head}\n2,9.75,Bo,30.3.2026,gauge,0.02,3,left side\n"
    (row,) = read_form(_file(tmp_path, text), cut, GIVEN)
    entry = row.stated[0].entry
    assert (entry.who, entry.taken_on, entry.instrument) == ("Bo", date(2026, 3, 30), "gauge")
    assert (entry.resolution, entry.subject, entry.note) == (0.02, "knob 3.head recess", "left side")
    assert entry.sitting == "clamp knobs, 2026-03-30"


def _file(tmp_path: Path, text: str) -> Path:
    file = tmp_path / "form.csv"
    file.write_text(text)
    return file


def test_every_bad_row_is_told_with_its_line(tmp_path: Path, cut: Cut) -> None:
    """A line of the file, though cells hold line breaks and rows are empty; good rows are not told."""
    text = (
        'number,found,note\n1,43.95,"two\nlines"\n\n2,nine,\n99,1,\n3,-7.37,\n4,"6,600",\n,5,\n5,90.1,\n'
        "minutes,soon,\n"
    )
    assert complaints(tmp_path, cut, text) == [
        '5: found: "nine" is not a length. Write "18.5 mm" or "3/4 in".',
        '6: "99" is no number of this pack: it has 1 to 7, and minutes.',
        '7: found: "-7.37" is not more than zero. Type the size as you read it.',
        '8: found: "6,600" may be a thousand or a decimal. Write a point: 9.87.',
        "9: the row has no number. Copy it from the form: it says what was measured.",
        '11: found: "soon" is not a time. Write minutes, 14.5, or 14 min 30 s.',
    ]


def test_a_reading_that_nobody_owns_is_refused(tmp_path: Path, cut: Cut) -> None:
    """Who and when are in the row, or in the command; nothing is made up."""
    assert complaints(tmp_path, cut, "number,found\n2,9.75\n", NOBODY) == [
        "2: nobody is named who measured. Fill in the column who, or add --by NAME."
    ]
    assert complaints(tmp_path, cut, "number,found,who\n2,9.75,Bo\n", NOBODY) == [
        "2: no day is given. Fill in the column date, or add --on 2026-03-31."
    ]


@pytest.mark.parametrize(
    ("old", "new"), [("9.73", "9.85"), ("knob: head recess, across flats", "knob: nut recess, across flats")]
)
def test_a_form_of_another_state_of_the_job_is_refused(tmp_path: Path, cut: Cut, old: str, new: str) -> None:
    """What the form asks for and what this pack cuts must be the same, or a reading would tell a lie."""
    (said,) = complaints(tmp_path, cut, filled(cut, n2="9.75").replace(old, new))
    assert said.startswith(
        "3: the form's number 2 is not this pack's, which is knob: head recess, across flats, 9.73"
    )


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("", "the form is empty"),
        ("number,price\n1,2\n", '"price" is not a column'),
        ("number,found,found\n1,2,3\n", "the column found is there twice"),
        ("number,fitted\n2,snug\n", "has no column found"),
        ("number (mm),found\n1,2\n", "no other column has a unit"),
        ("number,found (cm)\n1,2\n", "sizes are in (mm) or (in)"),
        ("number,found\n2,9,75\n", "A decimal comma wants quotes"),
        ("number,found\n2,\x00\n", ""),
        ('number,found\n2,"9.75\n' + "x" * 200_000, "this is not CSV"),
        (b"number,found\n2,9.75 \xb1\n", "is not UTF-8"),
        (b"x" * (BIGGEST + 1), "over 2 MB"),
    ],
)
def test_what_is_no_form_is_told_why(tmp_path: Path, cut: Cut, text: str | bytes, why: str) -> None:
    """Each with what to do."""
    assert why in complaints(tmp_path, cut, text)[0]


def test_two_thousand_spoiled_forms_are_read_or_told(tmp_path: Path, cut: Cut) -> None:
    """Whatever the bytes: entries, or words with a line inside the file; never anything else."""
    dice = random.Random(3)
    seeds = [
        filled(cut, n1="43,95", n2="9.75", f2="snug", minutes="14"),
        _parted(filled(cut, n2="9,75"), ";"),
    ]
    pieces = [b";", b",", b'"', b"\n", b"\r", b"\x00", b"\xff", b"9", b"-", b" mm", b" in", b"e5", b"nan",
              b"number", b"found", b"minutes", b"\xef\xbb\xbf", b"/0", b"(", b"9" * 30]  # fmt: skip
    taken = 0
    for _ in range(2000):
        text = bytearray(dice.choice(seeds).encode())
        for _ in range(dice.randint(1, 6)):
            at = dice.randrange(len(text) + 1)
            text[at : at + dice.choice((0, 0, 1, 5))] = dice.choice(pieces)
        file = tmp_path / "form.csv"
        file.write_bytes(text)
        try:
            rows = read_form(file, cut, GIVEN)
        except InputError as error:
            lines = [one.place.line for one in getattr(error, "errors", (error,)) if one.place]
            assert all(
                line is None or 1 <= line <= text.count(b"\n") + text.count(b"\r") + 1 for line in lines
            )
        else:
            taken += bool(rows)
    assert 200 < taken < 1900
