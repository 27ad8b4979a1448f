"""The size of a drawing's unit, from one dimension that a person knows."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from proveout.curve import is_circle
from proveout.drawing.loops import Loop, outermost
from proveout.finding import InputError
from proveout.quantity import Kind, QuantityError, parse, show_length

# A unit of a drawing in mm. Points and pixels are what pictures are made of.
SENSIBLE: Final[dict[str, float]] = {
    "mm": 1.0,
    "cm": 10.0,
    "in": 25.4,
    "m": 1000.0,
    "pt": 25.4 / 72,
    "px at 96 to the inch": 25.4 / 96,
    "px at 90 to the inch": 25.4 / 90,
}
NEAR: Final = 0.01  # by which a known dimension may differ from what a sensible unit makes of the drawing

_KNOWN: Final = re.compile(r"\s*(width|height|hole)\s*=\s*(.+)", re.IGNORECASE)


@dataclass(frozen=True, slots=True, kw_only=True)
class Known:
    """One dimension: of which thing, and how long, mm."""

    what: str  # "width", "height" or "hole"
    length: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Unit:
    """How long a drawing's unit is, and how that came out."""

    mm: float
    said: str


def read_known(text: str) -> Known:
    """A stated dimension.

    Raises:
        InputError: not one, or a length without a unit
    """
    found = _KNOWN.fullmatch(text)
    if not found:
        raise InputError(
            f'"{text}" is not a dimension that is read. Write "width = 120 mm" or "height = 4-3/4 in" of the '
            'outline, or "hole = 6.6 mm" of the round hole that there are most of.'
        )
    try:
        length = parse(found[2], Kind.LENGTH)
    except QuantityError:
        raise InputError(
            f'"{text}": {found[2]!r} is no length with its unit. Write "120 mm" or "4-3/4 in".'
        ) from None
    if not 0.1 <= length <= 10_000:
        raise InputError(f'"{text}": a length of 0.1 mm to 10 m is read.')
    return Known(what=found[1].lower(), length=length)


def unit_by(known: Known, loops: Sequence[Loop], *, header: tuple[str, float] | None) -> Unit:
    """The unit that makes a dimension of the drawing what it is known to be.

    Args:
        loops: closed curves in the drawing's own units
        header: the unit that the file states, name and mm
    Raises:
        InputError: nothing of the kind is drawn, or no sensible unit makes it so
    """
    drawn = _drawn(known, loops)
    scale = known.length / drawn
    near = [name for name, mm in SENSIBLE.items() if abs(mm / scale - 1) <= NEAR]
    if not near:
        sizes = ", ".join(f"{show_length(drawn * mm)} in {name}" for name, mm in SENSIBLE.items())
        raise InputError(
            f"the {known.what} is {drawn:g} in the drawing, which no unit makes {show_length(known.length)}: "
            f"it would be {sizes}. Measure again, or have the drawing redrawn at its true size."
        )
    mm = SENSIBLE[near[0]]
    said = (
        f"its {known.what}, {drawn:g} in the drawing, is {show_length(known.length)}: its unit is {near[0]}"
    )
    if header is not None and abs(header[1] / mm - 1) > NEAR:
        said += f", though its header says {header[0]}, which would make it {show_length(drawn * header[1])}"
    return Unit(mm=mm, said=f"{said}.")


def _drawn(known: Known, loops: Sequence[Loop]) -> float:
    if known.what == "hole":
        sizes = [round(circle[1], 4) for one in loops if (circle := is_circle(one.curve, 1e-6))]
        if not sizes:
            raise InputError("no round hole is drawn, and a hole was to settle the unit. State a width.")
        return max(sorted(set(sizes)), key=sizes.count)
    boxes = [one.region.bounds for one in outermost(loops)]
    first, last = (0, 2) if known.what == "width" else (1, 3)
    return float(max(box[last] for box in boxes) - min(box[first] for box in boxes))
