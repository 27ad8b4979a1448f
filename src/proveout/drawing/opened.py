"""Opened: a drawing as closed curves in millimetres, each on its layer, whatever file it came in."""

from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from proveout.drawing.from_wires import on_layer, pieces_of, wires_of
from proveout.drawing.loops import Loop, closed_loops
from proveout.drawing.piece import Piece
from proveout.drawing.read_dxf import read_dxf, stated_unit
from proveout.drawing.svg_sheet import read_svg_sheet
from proveout.drawing.units import settle
from proveout.drawing.wires import Act, Sheet, UnitClaim
from proveout.finding import InputError
from proveout.quantity import System

DOUBTS: Final = ("scaled", "unit contradicted", "known dimension off")
# What stands in a drawing to be read, and is never cut.
WORDS: Final = frozenset(
    {"TEXT", "MTEXT", "DIMENSION", "LEADER", "MULTILEADER", "POINT", "ATTDEF", "ATTRIB", "VIEWPORT", "IMAGE"}
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Opened:
    """A drawing's closed curves, and what was settled and left out on the way."""

    loops: tuple[Loop, ...]
    notes: tuple[str, ...]
    doubts: tuple[str, ...]  # of its size: to be measured before anything is cut


def opened(
    file: Path, *, known: str | None = None, units: System | None = None, layer: str | None = None
) -> Opened:
    """A drawing's closed curves.

    Args:
        known: one dimension that settles the unit: "width = 120 mm", "hole for M6"
        units: of the drawing, where a person states it
        layer: of the outline, on which a known dimension is measured; None: all layers
    Raises:
        InputError: without a place: no drawing, no unit, curves that are open or cross themselves
    """
    sheet = read_svg_sheet(file) if _is_svg(file) else _dxf_sheet(file)
    by_hole = (known or "").lstrip().lower().startswith("hole")
    settled = settle(sheet if layer is None or by_hole else on_layer(sheet, layer), known=known, units=units)
    doubted = tuple(act.text for act in settled.acts if act.kind in DOUBTS)
    said = tuple(act.text for act in settled.acts if act.kind not in DOUBTS)
    return Opened(
        loops=_loops(pieces_of(sheet, settled.mm_per_unit)),
        notes=(f"{settled.basis[:1].upper()}{settled.basis[1:]}.", *said),
        doubts=doubted,
    )


def _is_svg(file: Path) -> bool:
    """By what is in it: a file may have any name."""
    try:
        with file.open("rb") as start:
            head = start.read(4096)
    except (OSError, ValueError):
        return False  # told where it is read
    return b"<svg" in head or (head.lstrip().startswith(b"<?xml") and file.suffix.lower() == ".svg")


def _dxf_sheet(file: Path) -> Sheet:
    drawing = read_dxf(file, scale=1.0)
    for one in drawing.strays:
        if one.entity.split()[0] not in WORDS:
            raise InputError(
                f"{one.entity} on layer {one.layer} {one.why}, and a part without it would be another part. "
                "Explode it, or turn it into lines and arcs, where it was drawn."
            )
    wires, layers, entities = wires_of(drawing.pieces)
    header = stated_unit(file)
    left = f"{len(drawing.strays)} texts, dimensions and the like were left out."
    return Sheet(
        file=file,
        wires=wires,
        layers=layers,
        entities=entities,
        claim=UnitClaim(
            mm=header[1] if header else None,
            basis=f"its header says {header[0]}" if header else "its header says nothing of its unit",
            sure=header is not None,
        ),
        acts=(Act(kind="left out", text=left),) if drawing.strays else (),
    )


def _loops(pieces: Iterable[Piece]) -> tuple[Loop, ...]:
    every = list(pieces)
    layers = dict.fromkeys(one.layer for one in every)
    loops = tuple(
        loop for layer in layers for loop in closed_loops([one for one in every if one.layer == layer])
    )
    if not loops:
        raise InputError("there is no closed curve in it.")
    return loops
