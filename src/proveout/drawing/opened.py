"""Opened: a drawing as closed curves in millimetres, each on its layer, whatever file it came in."""

from dataclasses import dataclass
from pathlib import Path

from proveout.drawing.loops import Loop, closed_loops
from proveout.drawing.read_dxf import read_dxf
from proveout.finding import InputError
from proveout.quantity import System


@dataclass(frozen=True, slots=True, kw_only=True)
class Opened:
    """A drawing's closed curves, and what was settled and mended on the way."""

    loops: tuple[Loop, ...]
    notes: tuple[str, ...]


def opened(file: Path, *, known: str | None = None, units: System | None = None) -> Opened:
    """A drawing's closed curves.

    Args:
        known: one dimension that settles the unit: "width = 120 mm"
        units: of the drawing, where a person states it
    Raises:
        InputError: without a place: no drawing, no unit, curves that are open or cross themselves
    """
    if known is not None and units is None:
        raise InputError('a known dimension is not read yet. State the unit: drawing_units = "mm" or "in".')
    drawing = read_dxf(file, units)
    loops = tuple(
        loop
        for layer in drawing.layers
        for loop in closed_loops([one for one in drawing.pieces if one.layer == layer])
    )
    if not loops:
        raise InputError("there is no closed curve in it.")
    return Opened(loops=loops, notes=drawing.notes)
