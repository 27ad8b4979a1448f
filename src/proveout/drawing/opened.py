"""Opened: a drawing as closed curves in millimetres, each on its layer, whatever file it came in."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from proveout.drawing.from_wires import pieces_of
from proveout.drawing.known import SENSIBLE, read_known, unit_by
from proveout.drawing.loops import Loop, closed_loops
from proveout.drawing.piece import Piece
from proveout.drawing.read_dxf import read_dxf, stated_unit
from proveout.drawing.svg_sheet import read_svg_sheet
from proveout.finding import InputError
from proveout.quantity import System, show_length

# What stands in a drawing to be read, and is never cut.
WORDS: Final = frozenset(
    {"TEXT", "MTEXT", "DIMENSION", "LEADER", "MULTILEADER", "POINT", "ATTDEF", "ATTRIB", "VIEWPORT", "IMAGE"}
)
STATED: Final[dict[System, float]] = {"mm": 1.0, "in": 25.4}


@dataclass(frozen=True, slots=True, kw_only=True)
class Opened:
    """A drawing's closed curves, and what was settled and mended on the way."""

    loops: tuple[Loop, ...]
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """A drawing before its unit is settled."""

    pieces: Callable[[float], tuple[Piece, ...]]  # its pieces, where a unit is so many mm
    header: tuple[str, float] | None  # what the file states of its unit, where that can be trusted
    said: str  # the same as a sentence
    doubt: str  # what it says of it that can't
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
    source = _svg(file) if _is_svg(file) else _dxf(file)
    if known is not None:
        raw = _loops(source.pieces(1.0))
        wanted = read_known(known)
        mine = [one for one in raw if layer is None or one.layer.lower() == layer.lower()]
        unit = unit_by(wanted, mine if mine and wanted.what != "hole" else raw, header=source.header)
        return _opened(source, unit.mm, unit.said)
    if units is not None:
        said: tuple[str, ...] = ()
        if source.header is not None and abs(source.header[1] / STATED[units] - 1) > 1e-9:
            said = (f"its header says {source.header[0]}; it was read in {units}, as was stated.",)
        return _opened(source, STATED[units], *said)
    if source.header is not None:
        return _opened(source, source.header[1], f"{source.said}.")
    raise _no_unit(source)


def _opened(source: Source, mm: float, *said: str) -> Opened:
    return Opened(loops=_loops(source.pieces(mm)), notes=(*said, *source.notes))


def _is_svg(file: Path) -> bool:
    """By what is in it: a file may have any name."""
    try:
        with file.open("rb") as start:
            head = start.read(4096)
    except (OSError, ValueError):
        return False  # told where it is read
    return b"<svg" in head or (head.lstrip().startswith(b"<?xml") and file.suffix.lower() == ".svg")


def _dxf(file: Path) -> Source:
    strays = read_dxf(file, scale=1.0).strays
    for one in strays:
        if one.entity.split()[0] not in WORDS:
            raise InputError(
                f"{one.entity} on layer {one.layer} {one.why}, and a part without it would be another part. "
                "Explode it, or turn it into lines and arcs, where it was drawn."
            )
    left = f"{len(strays)} texts, dimensions and the like were left out." if strays else ""
    header = stated_unit(file)
    return Source(
        pieces=lambda mm: read_dxf(file, scale=mm).pieces,
        header=header,
        said=f"its header says {header[0]}" if header else "",
        doubt="",
        notes=(left,) if left else (),
    )


def _svg(file: Path) -> Source:
    sheet = read_svg_sheet(file)
    claim = sheet.claim
    sure = claim.sure and claim.mm is not None
    return Source(
        pieces=lambda mm: pieces_of(sheet, mm),
        header=(claim.basis, claim.mm) if sure and claim.mm is not None else None,
        said=claim.basis,
        doubt="" if sure else claim.basis,
        notes=tuple(act.text for act in sheet.acts),
    )


def _no_unit(source: Source) -> InputError:
    """Nothing says how long the unit is: the drawing's size in each that would make sense."""
    boxes = [one.region.bounds for one in _loops(source.pieces(1.0))]
    width = max(box[2] for box in boxes) - min(box[0] for box in boxes)
    height = max(box[3] for box in boxes) - min(box[1] for box in boxes)
    sizes = "; ".join(
        f"{show_length(width * mm)} x {show_length(height * mm)} if its unit is {name}"
        for name, mm in SENSIBLE.items()
        if 1 <= max(width, height) * mm <= 3000
    )
    doubt = f" (It says: {source.doubt}.)" if source.doubt else ""
    return InputError(
        f"nothing says how long its unit is.{doubt} It is {sizes}. State one dimension that you know: "
        'known = "width = 120 mm", or the unit itself.'
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
