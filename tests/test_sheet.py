"""The setup sheet: what a learner needs to run the job is on it, in words, and nothing else can get in."""

import os
import re
import shutil
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest

import made_example
from proveout.pack.cautions import CAUTIONS
from proveout.pack.made import Made
from proveout.pack.plan_picture import plan_svg
from proveout.pack.sheet import setup_sheet
from proveout.quantity import System

HOSTILE = (
    '#panic("stop") $x$ *b* _i_ @ref <label>',
    ']); #read("/etc/passwd")',
    "\x00\x07\ud800 knob",
    "クランプ knob",
    "",
)


def pdf_of(made: Made) -> bytes:
    return setup_sheet(made, plan_svg(made).encode())


def pages(made: Made, folder: Path, *, order: str = "-layout") -> list[str]:
    """The words on each page, as a general-purpose reader of PDF gives them, runs of space made one.

    In lines across the page ("-layout"), or in the order in which the page was set ("-raw").
    """
    reader = shutil.which("pdftotext")
    if reader is None:
        pytest.skip("pdftotext (poppler) is not on this machine")
    file = folder / "sheet.pdf"
    file.write_bytes(pdf_of(made))
    shown = subprocess.run([reader, order, file, "-"], capture_output=True, check=True)
    return [" ".join(page.split()) for page in shown.stdout.decode().split("\f")]


def test_the_first_page_is_enough_to_run_the_job(tmp_path: Path) -> None:
    """Verdict, minutes, stock with its measured thickness, both cutters, the clamps' holes, where zero is
    and every program stand on the first page."""
    first = pages(made_example.made(), tmp_path)[0]
    for words in (
        "clamp knobs",
        "READY",
        "17 min 06 s",  # 17.1 min
        "birch plywood",
        "11.72 mm to 11.85 mm",
        "3 mm two-flute up-cut",
        "6 mm two-flute up-cut",
        "stick-out 26 mm",
        "Clamps at B6, L6",
        "X and Y at the left front corner of the sheet, Z on the bed",
        "0-outline-check.nc",
        "1-3mm-two-flute.nc",
        "2-6mm-two-flute.nc",
        "220 mm = 8.661 in",
    ):
        assert words in first, words
    assert "NOT READY" not in first


def test_the_sheet_s_place_on_the_plate_is_told(tmp_path: Path) -> None:
    """Clamps and inserts were proved for one place of the sheet, so a learner is told where to lay it."""
    told: tuple[tuple[System, tuple[str, str]], ...] = (
        ("mm", ("60 mm", "80 mm")),
        ("in", ("2.362 in", "3.15 in")),
    )
    for units, place in told:
        first = pages(made_example.made(units=units), tmp_path)[0]
        assert f"left edge {place[0]} from the plate's left edge" in first.replace("\u2019", "'")
        assert f"front edge {place[1]} from the plate's front edge" in first.replace("\u2019", "'")


def test_the_outline_is_checked_before_anything_is_cut(tmp_path: Path) -> None:
    """Clamps, then cutter, then zero, then the outline check with the spindle off, then each program; the
    second cutter is changed with the machine isolated, after the first program."""
    text = pages(made_example.made(), tmp_path)[0]
    order = (
        "Measure the sheet and fill in",
        "Clamps at",
        "Machine isolated: cutter 1",
        "Work zero",
        "Run 0-outline-check.nc, spindle off",
        "Run 1-3mm-two-flute.nc",
        "Machine isolated: change to cutter 2",
        "Run 2-6mm-two-flute.nc",
    )
    places = [text.index(words) for words in order]
    assert places == sorted(places)


def test_a_job_that_is_not_ready_has_no_steps_to_run(tmp_path: Path) -> None:
    """The first page of a stopped job says not to cut, why, and the way out; it lists no program to run."""
    first = pages(made_example.made(stopped=True), tmp_path)[0]
    assert "NOT READY: do not cut" in first
    assert "1-3mm-two-flute.nc, line 14: The collet nut strikes the clamp at B6" in first
    assert "Raise the safe height to at least 31.5 mm above the bed." in first
    assert "Run 0-outline" not in first
    assert "Run 1-3mm" not in first


def test_a_finding_has_one_number_on_the_sheet_and_in_the_picture(tmp_path: Path) -> None:
    """The strike is number 1 in the list, since it matters most, and its mark on the plan says 1."""
    made = made_example.made(stopped=True)
    assert "No. 1: 1-3mm-two-flute.nc, line 14" in pages(made, tmp_path)[0]
    marks = re.findall(r'fill="#fff" stroke="none" font-weight="bold">(\d+)</text>', plan_svg(made))
    assert marks == ["1"]


def test_every_caution_and_every_finding_is_printed(tmp_path: Path) -> None:
    """No usual caution, no finding, no remedy and no limit of the proof is left off the sheet."""
    made = made_example.made()
    text = _letters("".join(pages(made, tmp_path, order="-raw")))
    said = [one for finding in made.findings for one in (finding.text, finding.remedy)]
    for words in (*said, *made.verdict.notes, *CAUTIONS):
        assert _letters(words) in text, words


def _letters(text: str) -> str:
    """The words without what setting changes: spaces, hyphens at line ends, curled quotes."""
    return re.sub(r"[\s\u2019'\u2010-]", "", text)


def test_the_first_article_is_measured_against_what_was_asked_for(tmp_path: Path) -> None:
    """The strap was asked for as 90 by 28 mm and the knob as 44 mm over its lobes; its recess, 4.35 mm deep
    in the thinnest sheet of 11.72 mm, leaves 7.37 mm of wood."""
    text = " ".join(pages(made_example.made(), tmp_path))
    for words in (
        r"strap: length 90\.00 mm ± 0\.10 mm",
        r"strap: width 28\.00 mm ± 0\.10 mm",
        r"knob: over the lobes 44\.00 mm ± 0\.10 mm",
        r"wood left",
        r"7\.37 mm ± 0\.10 mm",
    ):
        assert re.search(words, text), words


def test_an_inch_job_is_read_in_inches(tmp_path: Path) -> None:
    """Calipers in inches: 11.72 mm is 0.461 in, a 6 mm stick-out of 30 mm is 1.181 in, 44 mm is 1.732 in."""
    text = " ".join(pages(made_example.made(units="in"), tmp_path))
    for words in ("0.461 in (11.72 mm)", "stick-out 1.181 in", "1.732 in (44.00 mm)", "55.1 in/min"):
        assert words in text, words


def test_a_thickness_that_nobody_measured_is_called_so(tmp_path: Path) -> None:
    """Where a thickness was only stated the sheet says so at the boxes for the readings."""
    made = made_example.made()
    stock = replace(made.job.stock, measured=False, readings=(12.0,))
    first = pages(replace(made, job=replace(made.job, stock=stock)), tmp_path)[0]
    assert "Nothing was measured" in first


def test_the_sheet_prints_on_a4() -> None:
    """Every page is 210 by 297 mm (ISO 216), which is 595.3 by 841.9 points of 1/72 in."""
    boxes = re.findall(rb"/MediaBox\[0 0 ([\d.]+) ([\d.]+)\]", pdf_of(made_example.made()))
    assert len(boxes) >= 2
    for width, height in boxes:
        assert float(width) == pytest.approx(210 / 25.4 * 72, abs=0.1)
        assert float(height) == pytest.approx(297 / 25.4 * 72, abs=0.1)


PRINT = """
import sys
sys.path.insert(0, sys.argv[1])
import made_example
from proveout.pack.plan_picture import plan_svg
from proveout.pack.sheet import setup_sheet
from proveout.quantity import System
made = made_example.made()
sys.stdout.buffer.write(setup_sheet(made, plan_svg(made).encode()))
"""


def test_equal_jobs_give_equal_bytes(tmp_path: Path) -> None:
    """Another folder, another time zone, another process with another hash seed: the same PDF, undated."""
    here = pdf_of(made_example.made())
    surroundings = {**os.environ, "TZ": "Pacific/Auckland", "PYTHONHASHSEED": "7", "LC_ALL": "C"}
    there = subprocess.run(
        [sys.executable, "-c", PRINT, str(Path(__file__).parent)],
        cwd=tmp_path,
        env=surroundings,
        capture_output=True,
        check=True,
    )
    assert there.stdout == here
    assert b"CreationDate" not in here
    assert b"CreateDate" not in here


@pytest.mark.parametrize("name", HOSTILE)
def test_no_name_is_taken_for_an_instruction(name: str, tmp_path: Path) -> None:
    """A job or part called like a typesetting command is printed by that name, and nothing is carried out."""
    made = made_example.renamed(made_example.made(), name)
    text = "".join(pages(made, tmp_path))
    if name.isascii() and name.isprintable():
        assert re.sub(r"\s", "", name) in re.sub(r"\s", "", text)
    assert "root:" not in text
