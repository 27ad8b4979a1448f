"""The plate's grid: where a named hole lies, and which way a clamp's nose points."""

import re
from typing import Final

from proveout.job.records import Plate, Towards

_ROW = re.compile(r"[1-9][0-9]?")

WAYS: Final[dict[Towards, tuple[int, int]]] = {
    "right": (1, 0),
    "back": (0, 1),
    "left": (-1, 0),
    "front": (0, -1),
}


def hole_at(plate: Plate, hole: str) -> tuple[float, float]:
    """Where a named hole lies, from the plate's left front corner: letter along X, number along Y.

    Raises:
        ValueError: no such hole on this plate
    """
    letter, number = hole[:1].upper(), hole[1:]
    column = ord(letter) - ord("A") if letter.isascii() and letter.isalpha() else -1
    # One name for each hole: B04 would be another name of B4.
    row = int(number) - 1 if _ROW.fullmatch(number) else -1
    if not (0 <= column < plate.columns and 0 <= row < plate.rows):
        raise ValueError(f"{hole} is not a hole of the plate")
    return plate.first_hole[0] + column * plate.pitch, plate.first_hole[1] + row * plate.pitch


def is_hole(plate: Plate, hole: str) -> bool:
    """Whether the plate has a hole of this name."""
    try:
        hole_at(plate, hole)
    except ValueError:
        return False
    return True


def holes_of(plate: Plate) -> list[tuple[str, tuple[float, float]]]:
    """Every hole's name and place, column by column."""
    names = [f"{chr(ord('A') + i)}{j + 1}" for i in range(plate.columns) for j in range(plate.rows)]
    return [(name, hole_at(plate, name)) for name in names]


def nose_direction(towards: Towards) -> tuple[int, int]:
    """The way a clamp's nose points, as a unit step along X and Y."""
    return WAYS[towards]
