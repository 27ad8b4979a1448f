"""Real drawings: the page that says what becomes of each is true, and parts come out at their true size."""

import csv
import re
from pathlib import Path

import pytest
from ezdxf import bbox, recover
from ezdxf.entities.dxfgfx import DXFGraphic
from ezdxf.filemanagement import readfile
from ezdxf.lldxf.const import DXFError

from drawing_table import DRAWINGS, PAGE, STALE, Row, answer, page, rows
from proveout.finding import InputError

MM = {"mm": 1.0, "cm": 10.0, "inch": 25.4, "0.1 mm": 0.1}  # as the index names the units of DXF
READ_ONLY = {"TEXT", "MTEXT", "DIMENSION", "LEADER", "POINT"}


def index() -> dict[str, dict[str, str]]:
    if not DRAWINGS.is_dir():
        pytest.skip("the shared drawings are not beside the project")
    with (DRAWINGS / "INDEX.csv").open(encoding="utf-8", newline="") as file:
        return {one["file"]: one for one in csv.DictReader(file)}


def test_the_page_says_what_the_reader_does_today() -> None:
    """docs/drawings.md is what its writer would write now, and every reason is of the result beside it."""
    index()
    text = page()
    assert STALE not in text
    assert PAGE.read_text(encoding="utf-8") == text, "write it again: python tests/drawing_table.py"


def test_every_shared_drawing_is_on_the_page() -> None:
    """No drawing is left out because it is awkward."""
    assert [one.file for one in rows()] == list(index())


@pytest.mark.parametrize("row", rows(), ids=lambda row: row.file)
def test_parts_come_out_at_their_true_size(row: Row) -> None:
    """What is cut from a real drawing is as large as its makers meant it, by the index of the drawings."""
    listed = index()[row.file]
    found = answer(row)
    if isinstance(found, InputError):
        assert row.parts == 0
        return
    wanted = _svg_size(listed) if row.file.endswith(".svg") else _dxf_size(row.file, listed)
    assert found.size == pytest.approx(wanted, rel=5e-4, abs=0.02)


def _svg_size(listed: dict[str, str]) -> tuple[float, float]:
    """mm; the index measured at 96 px to the inch, another reader's way, and names the true count."""
    shown = re.search(r"\(([\d.]+) x ([\d.]+) mm\)", listed["extents_drawing_units"])
    assert shown
    count = re.search(r"1/(\d+) in|at (\d+) dpi", listed["true_unit"])
    times = 96 / float(count[1] or count[2]) if count else 1.0
    return float(shown[1]) * times, float(shown[2]) * times


def _dxf_size(file: str, listed: dict[str, str]) -> tuple[float, float]:
    """mm; by a general DXF library from what is no text, and the index's unit.

    The index's own extents count texts and the control points of curves, so they may only be larger.
    """
    mm = MM[listed["true_unit"].partition(" (")[0]]
    drawn = [one for one in _model(DRAWINGS / file) if one.dxftype() not in READ_ONLY]
    box = bbox.extents(drawn, fast=False).size
    loose = re.search(r"\(([\d.]+) x ([\d.]+)\)", listed["extents_drawing_units"])
    assert loose
    assert box.x <= float(loose[1]) + 1e-3 and box.y <= float(loose[2]) + 1e-3
    return box.x * mm, box.y * mm


def _model(file: Path) -> list[DXFGraphic]:
    try:
        return list(readfile(file).modelspace())
    except (DXFError, OSError):  # what has no header is no DXF to it
        return list(recover.readfile(file)[0].modelspace())
