"""Opened: a drawing as closed curves in millimetres, each on its layer, whatever file it came in."""

from dataclasses import dataclass
from pathlib import Path

from proveout.drawing.known import SENSIBLE, read_known, unit_by
from proveout.drawing.loops import Loop, closed_loops
from proveout.drawing.piece import Drawing
from proveout.drawing.read_dxf import read_dxf, stated_unit
from proveout.finding import InputError
from proveout.quantity import System, show_length


@dataclass(frozen=True, slots=True, kw_only=True)
class Opened:
    """A drawing's closed curves, and what was settled and mended on the way."""

    loops: tuple[Loop, ...]
    notes: tuple[str, ...]


def opened(
    file: Path, *, known: str | None = None, units: System | None = None, layer: str | None = None
) -> Opened:
    """A drawing's closed curves.

    Args:
        known: one dimension that settles the unit: "width = 120 mm"
        units: of the drawing, where a person states it
        layer: of the outline, on which a known width is measured; None: all layers
    Raises:
        InputError: without a place: no drawing, no unit, curves that are open or cross themselves
    """
    if known is not None:
        return _settled(file, known, layer)
    header = stated_unit(file)
    if units is None and header is None:
        raise _no_unit(file)
    drawing = read_dxf(file, units)
    return Opened(loops=_loops(drawing), notes=drawing.notes)


def _settled(file: Path, known: str, layer: str | None) -> Opened:
    wanted = read_known(known)
    raw = _loops(read_dxf(file, scale=1.0))
    mine = [one for one in raw if layer is None or one.layer.lower() == layer.lower()]
    unit = unit_by(wanted, mine if mine and wanted.what != "hole" else raw, header=stated_unit(file))
    drawing = read_dxf(file, scale=unit.mm)
    return Opened(loops=_loops(drawing), notes=(unit.said, *drawing.notes))


def _no_unit(file: Path) -> InputError:
    """Nothing says how long the unit is: the drawing's size in each that would make sense."""
    raw = _loops(read_dxf(file, scale=1.0))
    boxes = [one.region.bounds for one in raw]
    width = max(box[2] for box in boxes) - min(box[0] for box in boxes)
    height = max(box[3] for box in boxes) - min(box[1] for box in boxes)
    sizes = "; ".join(
        f"{show_length(width * mm)} x {show_length(height * mm)} if its unit is {name}"
        for name, mm in SENSIBLE.items()
        if 1 <= max(width, height) * mm <= 3000
    )
    return InputError(
        f"nothing says how long its unit is. It is {sizes}. State one dimension that you know: "
        'known = "width = 120 mm", or the unit itself.'
    )


def _loops(drawing: Drawing) -> tuple[Loop, ...]:
    loops = tuple(
        loop
        for layer in drawing.layers
        for loop in closed_loops([one for one in drawing.pieces if one.layer == layer])
    )
    if not loops:
        raise InputError("there is no closed curve in it.")
    return loops
