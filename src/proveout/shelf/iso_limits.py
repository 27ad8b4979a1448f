"""Limits of a size by ISO 286: "h8", "m6", "H7" of a pin or a hole of up to 30 mm."""

import re
from typing import Final

from proveout.shelf.rows import Band, Row, rows
from proveout.shelf.spelling import ShelfError

LARGEST: Final = 30.0  # mm, that the table reaches
_ZONE: Final = re.compile(r"([fghkmnpH])(\d{1,2})")


def iso_limits(size: float, zone: str) -> Band:
    """The least and the largest that a pin or hole of that nominal size may be, mm.

    A pin's zone is a small letter and a grade: f and g lie below the nominal size, h hangs from it, k to p
    stand on or above it. A hole's H stands on it. k is tabled for grades 5 to 7 only, as in the standard.

    Raises:
        ShelfError: a zone or size that the table doesn't have
    Source: ISO 286-1, standard tolerance grades and fundamental deviations (from memory, see sources.toml)
    """
    letter, number = _parted(zone)
    row = _row(size)
    grade = row.number(f"it{number}_um") / 1000
    if letter == "H":
        return Band(size, size + grade)
    deviation = row.number(f"{letter}_um") / 1000
    if letter in "fgh":
        return Band(size + deviation - grade, size + deviation)
    return Band(size + deviation, size + deviation + grade)


def iso_zone(zone: str) -> str:
    """The zone as it is written, where the table has it.

    Raises:
        ShelfError: a zone that it doesn't have
    """
    return "".join(_parted(zone))


def _parted(zone: str) -> tuple[str, str]:
    found = _ZONE.fullmatch(zone.strip())
    grades = [int(name[2:-3]) for name in rows("iso_limits.csv")[0].cells if name.startswith("it")]
    if found is None or int(found[2]) not in grades or (found[1] == "k" and int(found[2]) > 7):
        raise ShelfError(
            f'"{zone}" is no tolerance zone on the shelf. Write one such as h8, m6, g6 or H7: letters f g h '
            f"k m n p, and H for holes, grades {min(grades)} to {max(grades)} (k to 7)."
        )
    return found[1], found[2]


def _row(size: float) -> Row:
    for row in rows("iso_limits.csv"):
        if row.number("over_mm") < size <= row.number("to_mm"):
            return row
    raise ShelfError(f"ISO limits are tabled for sizes to {LARGEST:g} mm, and {size:g} mm isn't one.")
