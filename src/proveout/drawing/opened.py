"""Opened: a drawing as closed curves in millimetres, each on its layer, whatever file it came in."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from proveout.drawing.from_wires import on_layer, wires_of
from proveout.drawing.heal import GAP, Healed, heal
from proveout.drawing.loops import Loop, spot
from proveout.drawing.read_dxf import read_dxf, stated_unit
from proveout.drawing.svg_sheet import read_svg_sheet
from proveout.drawing.units import scaled, settle
from proveout.drawing.wires import Act, Sheet, UnitClaim
from proveout.finding import InputError
from proveout.quantity import System

DOUBTS: Final = ("scaled", "unit contradicted", "known dimension off")
SHOWN: Final = 5  # acts of one kind that are told one by one
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
    healed = heal(scaled(sheet.wires, settled.mm_per_unit), sheet.layers, sheet.entities)
    _refuse_open(healed)
    doubted = tuple(act.text for act in settled.acts if act.kind in DOUBTS)
    said = tuple(act.text for act in settled.acts if act.kind not in DOUBTS)
    return Opened(
        loops=healed.loops,
        notes=(f"{settled.basis[:1].upper()}{settled.basis[1:]}.", *said, *_mended(healed.acts)),
        doubts=doubted,
    )


def _refuse_open(healed: Healed) -> None:
    """Curves that don't close or cross themselves: nobody knows what was meant."""
    if healed.crossed:
        first = healed.crossed[0]
        raise InputError(
            f"{first.said} crosses itself{_more(len(healed.crossed))}. Draw it as one ring that never "
            "touches itself."
        )
    if healed.open_chains:
        longest = max(healed.open_chains, key=lambda one: one.length)
        one, other = (spot(end) for end in longest.ends)
        raise InputError(
            f"the chain that begins with {longest.entity} on layer {longest.layer} is open: its ends lie at "
            f"{one} and {other}{_more(len(healed.open_chains))}. Close it in the drawing, or move what is no "
            f"outline or hole to another file; gaps of up to {GAP} mm are closed here."
        )
    if not healed.loops:
        raise InputError("there is no closed curve in it.")


def _more(count: int) -> str:
    return f", and so do {count - 1} more" if count > 1 else ""


def _mended(acts: Sequence[Act]) -> Iterator[str]:
    """What was done to the drawing, each kind of act with its first few places."""
    by_kind: dict[str, list[Act]] = {}
    for act in acts:
        by_kind.setdefault(act.kind, []).append(act)
    for alike in by_kind.values():
        yield from (act.text for act in alike[:SHOWN])
        if len(alike) > SHOWN:
            yield f"{len(alike) - SHOWN} more like this: {alike[0].kind}."


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
