"""The setup sheet: what a learner needs to run the job is on it, in words, and nothing else can get in."""

import os
import re
import subprocess
import sys
from dataclasses import replace
from functools import cache
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pytest

import made_example
import printed
from crowded import UNBROKEN, crowded
from proveout.finding import Level
from proveout.job.read import read_job
from proveout.pack.cautions import CAUTIONS, FIRST
from proveout.pack.made import Made
from proveout.pack.on_the_bed import bolt_words
from proveout.pack.plan_picture import plan_svg
from proveout.pack.sheet import ROOM, Paper, setup_sheet, sheet_pictures
from proveout.plan import make
from proveout.quantity import System

HOSTILE = (
    '#panic("stop") $x$ *b* _i_ @ref <label>',
    ']); #read("/etc/passwd")',
    "\x00\x07\ud800 knob",
    "クランプ knob",
    "",
)


PAPERS: tuple[Paper, Paper] = ("a4", "letter")
HOLE = re.compile(r"[A-Z]{1,2}\d+")  # the plate's own holes, which sheet and clamps may cover


def pdf_of(made: Made, paper: Paper = "a4") -> bytes:
    return setup_sheet(made, plan_svg(made, ROOM).encode(), paper)


def pages(made: Made, folder: Path, paper: Paper = "a4") -> list[str]:
    """The words on each page in the order in which it was set, runs of space made one."""
    return printed.text(pdf_of(made, paper), folder)


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
        "2 x low strap",
        "bolt M6 x 35 mm",
        "B6, nose right",
        "L6, nose left",
        "Clamps 1 to 2 at B6, L6",
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
        "Clamps 1 to 2 at",
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
    text = _letters("".join(pages(made, tmp_path)))
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


@pytest.mark.parametrize(
    ("paper", "size"), [("a4", (210.0, 297.0)), ("letter", (8.5 * 25.4, 11 * 25.4))], ids=PAPERS
)
def test_the_sheet_prints_on_both_papers(paper: Paper, size: tuple[float, float]) -> None:
    """Every page is 210 by 297 mm (ISO 216), or 8-1/2 by 11 in (US Letter), in points of 1/72 in."""
    boxes = re.findall(rb"/MediaBox\[0 0 ([\d.]+) ([\d.]+)\]", pdf_of(made_example.made(), paper))
    assert len(boxes) >= 2
    for box in boxes:
        assert [float(one) * 25.4 / 72 for one in box] == pytest.approx(size, abs=0.05)


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("name", ["inch-knobs", "drawn-bracket"])
def test_the_examples_are_run_from_one_page(name: str, paper: Paper, tmp_path: Path) -> None:
    """From the title to the last operation and the first caution, all of it is on page 1 of either paper."""
    made = made_of(name)
    first = pages(made, tmp_path, paper)[0]
    assert _letters(FIRST) in _letters(first)
    assert all(f"Run {program.file}" in first for program in made.programs)


@cache
def made_of(name: str) -> Made:
    """An example, planned and proved once."""
    return make(read_job(Path(__file__).parent.parent / "examples" / name / "job.toml"))


def test_an_inch_job_has_its_fractions_on_the_first_page(tmp_path: Path) -> None:
    """A 1/8 in cutter that stands out 1 in, a sheet of 9 by 6-1/2 in, a 1/4 in bolt as long as sold."""
    first = pages(made_of("inch-knobs"), tmp_path)[0]
    for words in (
        "1/8 in across",
        "stick-out 1 in",
        "9 in x 6-1/2 in",
        "bolt 1/4 in x 1-1/4 in",
        "from the left: 3-1/2 in",
    ):
        assert words in first, words


def test_operations_count_in_tens_and_each_reading_has_its_box(tmp_path: Path) -> None:
    """Route cards leave room between numbers; corners, place, cutter, zero and gap are written down."""
    first = pages(made_example.made(), tmp_path)[0]
    for number in range(10, 111, 10):
        assert re.search(rf"\b{number}\b", first), number
    for words in (
        "left front right front right back left back",
        "across: 3 mm stick-out: 26 mm",
        "X set Y set Z set",
        "gap seen: 12.7 mm",
        "SIGNED",
        "RUN BY",
        "DATE",
    ):
        assert words in first, words


def test_cautions_are_accepted_before_anything_else(tmp_path: Path) -> None:
    """A caution means: cut only if you accept it. So the first operation is to read it and sign."""
    made = made_example.made()
    first = pages(made, tmp_path)[0]
    assert "10 Read caution No. 1 under" in first
    calm = replace(made, findings=tuple(one for one in made.findings if one.level is Level.NOTE))
    assert "Read caution" not in pages(calm, tmp_path)[0]


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("stopped", [False, True], ids=["ready", "stopped"])
def test_a_crowded_sheet_loses_nothing(stopped: bool, paper: Paper, tmp_path: Path) -> None:
    """Twelve clamps, six cutters, thirty findings, a word of 77 letters: every one is there, all on the
    paper, and no word lies over another."""
    made = crowded(stopped=stopped)
    pdf = pdf_of(made, paper)
    text = _letters("".join(printed.text(pdf, tmp_path)))
    assert UNBROKEN in text
    for finding in made.findings:
        assert _letters(finding.text) in text and _letters(finding.remedy) in text
    for clamp in made.setup.clamps:
        assert f"{clamp.hole},nose" in text
    assert all(_letters(f"Run {program.file}") in text for program in made.programs) is not stopped
    for (wide, high), found in printed.words(pdf, tmp_path):
        assert all(one.left >= 0 and one.right <= wide - 30 and one.bottom <= high - 8 for one in found)
        assert printed.collisions([one for one in found if not HOLE.fullmatch(one.text)]) == []


def test_a_stopped_job_is_told_by_shape_and_word_on_every_page(tmp_path: Path) -> None:
    """A black octagon, NOT READY at the foot of every page, a crossed-out place for operations."""
    pdf = pdf_of(made_example.made(stopped=True))
    told = printed.text(pdf, tmp_path)
    assert all("NOT READY: do not cut" in page for page in told)
    assert "no operations: not ready" in told[0]
    black = [
        float((page[70:160, 830:1140] < 60).mean())
        for page in (
            printed.grey(pdf, tmp_path, per_inch=150)[0],
            printed.grey(pdf_of(made_example.made()), tmp_path, per_inch=150)[0],
        )
    ]
    assert black[0] > 3 * black[1], "the stamp of a stopped job is filled black"


@pytest.mark.parametrize("paper", PAPERS)
def test_any_printer_will_do(paper: Paper, tmp_path: Path) -> None:
    """Nothing on any page has a colour, so nothing is lost in grey; and each word stands out from its
    ground with at least 4.5 to 1 (WCAG 2.2, 1.4.3, contrast minimum)."""
    pdf = pdf_of(crowded(stopped=True), paper)
    for page in printed.coloured(pdf, tmp_path, per_inch=60):
        assert int(np.ptp(page.astype(int), axis=2).max()) == 0
    scale = 200 * printed.PER_POINT
    for (_, found), tones in zip(
        printed.words(pdf, tmp_path), printed.grey(pdf, tmp_path, per_inch=200), strict=True
    ):
        for one in found:
            box = tones[
                int(one.top * scale) : int(one.bottom * scale) + 1,
                int(one.left * scale) : int(one.right * scale) + 1,
            ]
            if not HOLE.fullmatch(one.text):
                assert printed.contrast(int(box.min()), int(box.max())) >= 4.5, one


def test_a_printer_of_one_black_shows_no_tint_for_a_recess() -> None:
    """Tints become dots there, and dots mean a recess: no area of the plan is filled with a grey."""
    fills = set(re.findall(r'fill="([^"]+)"', plan_svg(made_example.made())))
    assert fills <= {"#fff", "#000", "none", "url(#plan-hatch)", "url(#plan-dots)"}


def test_balloons_tie_the_clamps_of_the_picture_to_the_list(tmp_path: Path) -> None:
    """Clamp 1 in the picture is the one at B6, beyond the heel of its bar; the list says the same."""
    made = made_example.made()
    root = ElementTree.fromstring(plan_svg(made))
    marks = {
        text.text: float(text.attrib["x"])
        for text in root.iter("{http://www.w3.org/2000/svg}text")
        if text.get("font-weight")
    }
    heel = 30  # mm behind the bolt, in the picture's own scale
    assert marks["1"] < marks["B6"] - heel
    assert marks["2"] > marks["L6"] + heel
    assert "1 B6, nose right 2 L6, nose left" in pages(made, tmp_path)[0]


def test_bolts_are_told_as_they_are_on_hand() -> None:
    """M6 through a floor of 7.5 mm, a bar of 12 mm, a washer of 1.6 mm (ISO 7089, from memory) and 11.85 mm
    of work into an insert 1.5 mm down leaves 10 mm of a 45 mm bolt in the thread: it holds, and 30 mm
    can't. Where nothing on hand reaches it says to buy."""
    made = made_example.made()
    (kind,) = made.job.shop.clamps
    plate = made.job.shop.plate
    plate = replace(plate, inserts=replace(plate.inserts, length=13.0))
    job = replace(made.job, shop=replace(made.job.shop, plate=plate))
    with_knob = replace(kind, knob_floor=7.5, bolt_lengths=(30.0, 45.0))
    assert bolt_words(job, with_knob) == "M6 x 45 mm"
    assert bolt_words(job, replace(with_knob, bolt_lengths=(30.0,))) == (
        "M6 x 45 mm: buy it, none on hand reaches"
    )
    assert bolt_words(made.job, kind).endswith("try first that it can't bottom in its insert")


def test_pages_can_be_had_as_pictures() -> None:
    """PNG files, one a page, as wide as the paper at so many dots to the inch."""
    made = made_example.made()
    shown = sheet_pictures(made, plan_svg(made, ROOM).encode(), per_inch=60)
    assert len(shown) >= 2
    assert all(one.startswith(b"\x89PNG") for one in shown)
    assert int.from_bytes(shown[0][16:20]) == round(210 / 25.4 * 60)


PRINT = """
import sys
sys.path.insert(0, sys.argv[1])
import made_example
from proveout.pack.plan_picture import plan_svg
from proveout.pack.sheet import ROOM, setup_sheet
made = made_example.made()
sys.stdout.buffer.write(setup_sheet(made, plan_svg(made, ROOM).encode()))
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
