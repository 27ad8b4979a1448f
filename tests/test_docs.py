"""What exists is documented: every finding, field, command and file of the pack has its words in the docs."""

import re
from pathlib import Path

import pytest

from proveout.finding import KINDS
from proveout.job import fields
from proveout.job.table import fields_of
from proveout.shelf.fit_classes import FIT_NAMES, fit_class

ROOT = Path(__file__).parent.parent
TABLES = [table for name, table in vars(fields).items() if name.endswith("Fields")]


def test_every_kind_of_finding_is_explained_and_no_other() -> None:
    """The page of findings has a row for each kind that the program can emit, with what to do."""
    rows = [
        line for line in (ROOT / "docs" / "findings.md").read_text().splitlines() if line.startswith("| `")
    ]
    assert [row.split("`")[1] for row in rows] == list(KINDS)
    assert all(row.count("|") == 4 for row in rows)
    for row, meaning in zip(rows, KINDS.values(), strict=True):
        assert meaning in row


@pytest.mark.parametrize("table", TABLES, ids=lambda table: table.__name__)
def test_every_field_is_in_the_reference(table: type) -> None:
    """The reference of job and shop file names every field that the reader knows."""
    text = (ROOT / "docs" / "job-file.md").read_text()
    listed = fields_of(table)
    assert listed
    for field in listed:
        assert f"`{field.name}`" in text, field.name


def test_the_commands_and_the_pack_are_in_the_design() -> None:
    """The design page has every command and every file of the pack."""
    text = (ROOT / "docs" / "design.md").read_text()
    for word in ("proveout new", "proveout make", "proveout prove", "proveout why"):
        assert word in text
    for name in (
        "result.json",
        "0-outline-check.nc",
        "setup-sheet.pdf",
        "setup-sheet-letter.pdf",
        "report.html",
        "plan.svg",
        "result.png",
    ):
        assert name in text


def test_the_readme_s_pictures_are_there_small_and_told_in_words() -> None:
    """Every picture of the README is one that the command makes, none is left over, each is under 150 kB and
    has words for whoever can't see it."""
    shown = re.findall(r"!\[([^\]]*)\]\(([^)]+)\)", (ROOT / "README.md").read_text())
    folder = ROOT / "docs" / "pictures"
    made = re.findall(r'^    "([\w-]+\.png)": ', (ROOT / "docs" / "pictures.py").read_text(), re.MULTILINE)
    assert len(made) >= 3
    assert sorted(target for _, target in shown) == sorted(f"docs/pictures/{name}" for name in made)
    assert sorted(path.name for path in folder.iterdir()) == sorted(made)
    for words, target in shown:
        assert len(words.split()) >= 8, target
        content = (ROOT / target).read_bytes()
        assert content.startswith(b"\x89PNG") and len(content) < 150_000, target


def test_links_between_the_pages_lead_somewhere() -> None:
    """No page links to a file that isn't there."""
    for page in (ROOT / "README.md", ROOT / "CONTRIBUTING.md", *(ROOT / "docs").rglob("*.md")):
        for target in page.read_text().split("](")[1:]:
            path = target.split(")")[0]
            if "://" not in path and not path.startswith("#"):
                assert (page.parent / path).exists(), f"{page.name}: {path}"


def test_the_page_on_fits_has_the_classes_as_they_are() -> None:
    """The table of docs/fits.md, cell by cell, against the classes that sizes are chosen by."""
    page = (ROOT / "docs" / "fits.md").read_text(encoding="utf-8")
    kinds = ("plywood", "solid wood", "fibreboard", "plastic")
    for name in FIT_NAMES:
        line = next(one for one in page.splitlines() if one.startswith(f"| {name} |"))
        cells = [cell.strip() for cell in line.strip("|").split("|")][1:]
        fits = [*(fit_class(name, kind) for kind in kinds), fit_class(name, "plywood", "round")]
        assert [tuple(float(end) for end in cell.split(" to ")) for cell in cells] == [
            (one.low, one.high) for one in fits
        ]
