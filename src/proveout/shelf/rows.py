"""Rows: the tables beside this file as text, and cells as numbers in mm, N, N/mm2.

A column's unit stands in its name: `height_max_mm`, `height_max_in`. A broken table is our mistake: it raises
ValueError with file and line.
"""

import csv
import pkgutil
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Final, Literal, NamedTuple, get_args

from proveout.quantity import INCH, POUND_FORCE

# How far a row can be trusted; where its values differ, the row carries the weakest of them.
Basis = Literal[
    "read",  # a table that cites the standard, or the paper itself, was read
    "memory",  # recalled, not read again
    "practice",  # what shops do; no authority behind it
    "derived",  # calculated from other values, the rule stated
    "default",  # the project's own choice, so that it can run: change it when you know better
]
BASES: Final[tuple[Basis, ...]] = get_args(Basis)

# Each unit that may end a column's name, in the unit that proveout uses inside.
UNITS: Final[dict[str, Fraction]] = {
    "mm": Fraction(1),
    "in": INCH,
    "mm2": Fraction(1),
    "in2": INCH**2,
    "N": Fraction(1),
    "N_mm2": Fraction(1),
    "GPa": Fraction(1000),
    "ksi": 1000 * POUND_FORCE / INCH**2,
}


class Band(NamedTuple):
    """The least and the largest that a size may be, mm unless said."""

    min: float
    max: float


@dataclass(frozen=True, slots=True)
class Row:
    """One line of a table, its cells still text."""

    table: str
    line: int
    cells: Mapping[str, str]

    def text(self, column: str) -> str:
        """A cell as it stands."""
        return self.cells[column]

    def names(self, column: str) -> tuple[str, ...]:
        """A cell that lists names, parted by semicolons."""
        return tuple(name.strip() for name in self.cells[column].split(";") if name.strip())

    def number(self, column: str) -> float:
        """A cell that has no unit, or one that is meant to be kept."""
        return float(self._fraction(column))

    def measure(self, stem: str) -> float:
        """A cell whose column is called `stem` and a unit, in proveout's own unit."""
        for unit, factor in UNITS.items():
            if f"{stem}_{unit}" in self.cells:
                return float(self._fraction(f"{stem}_{unit}") * factor)
        raise ValueError(f"{self}: no column {stem} with a known unit")

    def measure_or_none(self, stem: str) -> float | None:
        """The same, where the cell may be empty or the column missing."""
        stands = any(self.cells.get(f"{stem}_{unit}") for unit in UNITS)
        return self.measure(stem) if stands else None

    def band(self, stem: str) -> Band:
        """The cells of `stem_min` and `stem_max`."""
        return Band(self.measure(f"{stem}_min"), self.measure(f"{stem}_max"))

    def basis(self) -> Basis:
        """How far the row can be trusted."""
        for known in BASES:
            if known == self.cells["basis"]:
                return known
        raise ValueError(f"{self}: {self.cells['basis']!r} is no basis")

    def note(self) -> str:
        """What the row's user should know; often empty."""
        return self.cells.get("note", "")

    def _fraction(self, column: str) -> Fraction:
        try:
            return Fraction(self.cells[column])
        except (ValueError, ZeroDivisionError):
            raise ValueError(f"{self}: {column}: {self.cells[column]!r} is not a number") from None

    def __str__(self) -> str:
        return f"shelf/{self.table}:{self.line}"


def rows(table: str) -> tuple[Row, ...]:
    """Every row of a table, in the order of the file.

    Raises:
        ValueError: a row with too many or too few cells
    """
    reader = csv.reader(text(table).splitlines(), strict=True)
    columns = next(reader)
    read: list[Row] = []
    for cells in reader:
        if len(cells) != len(columns):
            raise ValueError(f"shelf/{table}:{reader.line_num}: {len(cells)} cells, {len(columns)} columns")
        read.append(Row(table, reader.line_num, dict(zip(columns, cells, strict=True))))
    return tuple(read)


def text(file: str) -> str:
    """A file of the shelf, as text."""
    # from any kind of install, like importlib.resources, whose import would cost 6 ms more at every start
    content = pkgutil.get_data("proveout.shelf", file)
    if content is None:
        raise ValueError(f"shelf/{file} is missing from this install")
    return content.decode("utf-8")
