"""Writes docs/drawings.md, what becomes of real drawings: python tests/drawing_table.py.

The drawings are looked for in ../shared/drawings, whose INDEX.csv says the true unit of each and on what
that rests. drawing_table.toml says what a person states of each, and why its result is right; a row whose
result is no longer the one that its reason speaks of is marked in the table, and the reason is to be
written again.
"""

import re
import sys
import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from proveout.drawing.look import Look, look
from proveout.drawing.units import HOW
from proveout.finding import InputError
from proveout.quantity import System

ROOT: Final = Path(__file__).resolve().parents[1]
DRAWINGS: Final = ROOT.parent / "shared" / "drawings"
PAGE: Final = ROOT / "docs" / "drawings.md"
STALE: Final = "**This reason is of another result: write it again.**"

HEAD: Final = """# What becomes of real drawings

Drawings that other projects published for laser, router and mill, read as `proveout look` reads them: none
was mended or chosen for being easy. Their sources, licences and true units are in the index of the shared
drawings, which are no part of this project. The column *unit* says on what the size rests: on the file, or
on what a person states, and whether the file alone was refused until somebody did. Where a person should
get something else, the last column begins with *Not as it should be*.

This page is written by `python tests/drawing_table.py`; a test holds it against the reader of today.

| drawing | unit | result | why that is right, or isn't |
|---|---|---|---|
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One drawing, what a person states of it, and why the result is right."""

    file: str
    parts: int  # that the reason speaks of; 0: a refusal
    why: str
    known: str | None = None
    units: System | None = None

    @property
    def stated(self) -> str:
        """What a person states, as it is typed; empty where the file is taken at its word."""
        if self.known is not None:
            return f'`known = "{self.known}"`'
        return f'`units = "{self.units}"`' if self.units is not None else ""


def rows() -> tuple[Row, ...]:
    """Every row, in the order of the index."""
    text = Path(__file__).with_suffix(".toml").read_text(encoding="utf-8")
    return tuple(Row(**one) for one in tomllib.loads(text)["drawing"])


def answer(row: Row, *, stated: bool = True) -> Look | InputError:
    """What the reader says of a row's drawing.

    Args:
        stated: with what a person states of it
    """
    known, units = (row.known, row.units) if stated else (None, None)
    try:
        return look(DRAWINGS / row.file, known=known, units=units)
    except InputError as error:
        return error


def page() -> str:
    """The whole page."""
    return HEAD + "".join(f"{_line(row)}\n" for row in rows())


def _line(row: Row) -> str:
    found = answer(row)
    parts = 0 if isinstance(found, InputError) else len(found.drawn)
    why = " ".join(row.why.split()) if parts == row.parts else STALE
    cells = (row.file, _unit(row, found), _result(found), why)
    return f"| {' | '.join(cell.replace('|', '/') for cell in cells)} |"


def _unit(row: Row, found: Look | InputError) -> str:
    """On what the drawing's size rests."""
    if not row.stated:
        said = found.notes[0] if isinstance(found, Look) else "Its file."
        return said[:1].lower() + said[1:-1]
    alone = answer(row, stated=False)
    if isinstance(alone, Look):
        return f"{row.stated}; alone it is {_size(alone)}"
    return f"asked for: {row.stated}" if HOW in str(alone) else row.stated


def _result(found: Look | InputError) -> str:
    if isinstance(found, InputError):
        return f"refused: {_first_sentence(str(found))}"
    count = len(found.drawn)
    return f"{count} part{'s' if count > 1 else ''}, {_size(found)}"


def _size(found: Look) -> str:
    width, height = (f"{one:.2f}".rstrip("0").rstrip(".") for one in found.size)
    return f"{width} x {height} mm"


def _first_sentence(text: str) -> str:
    found = re.match(r".+?[.!?](?=\s|$)", text)
    return found[0] if found else text


def main() -> int:
    """Write the page; 1 where there are no drawings or a reason is to be written again."""
    if not DRAWINGS.is_dir():
        print(f"the shared drawings are not beside the project: {DRAWINGS}")
        return 1
    text = page()
    PAGE.write_text(text, encoding="utf-8")
    stale = [line for line in text.splitlines() if STALE in line]
    print("\n".join(stale) or f"{len(rows())} drawings in {PAGE.name}")
    return 1 if stale else 0


if __name__ == "__main__":
    sys.exit(main())
