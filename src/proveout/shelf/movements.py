"""How much wood and panels grow and shrink with their moisture, as shares of a size for each per cent."""

from dataclasses import dataclass

from proveout.shelf.rows import Basis, Row, rows
from proveout.shelf.tables import material


@dataclass(frozen=True, slots=True, kw_only=True)
class Movement:
    """A material's dimensional change coefficients; in a panel the least and the most in its plane."""

    material: str
    radial: float  # share of a size for each per cent of moisture, quarter-sawn
    tangential: float  # the same, flat-sawn
    radial_shrinkage: float | None  # per cent from green to ovendry; None: a panel
    tangential_shrinkage: float | None
    source: str
    basis: Basis
    note: str


def movements() -> tuple[Movement, ...]:
    """Every row, in the order of the table."""
    return tuple(_movement(row) for row in rows("movements.csv"))


def movement(material_name: str) -> Movement | None:
    """A material's coefficients; None: it doesn't move with moisture, or not so that it counts.

    Raises:
        ShelfError: a material that the shelf doesn't have
    """
    name = material(material_name).name
    return next((one for one in movements() if one.material == name), None)


def _movement(row: Row) -> Movement:
    return Movement(
        material=row.text("name"),
        radial=row.number("radial"),
        tangential=row.number("tangential"),
        radial_shrinkage=_percent(row, "radial_shrinkage_percent"),
        tangential_shrinkage=_percent(row, "tangential_shrinkage_percent"),
        source=row.text("source"),
        basis=row.basis(),
        note=row.note(),
    )


def _percent(row: Row, column: str) -> float | None:
    return row.number(column) if row.text(column) else None
