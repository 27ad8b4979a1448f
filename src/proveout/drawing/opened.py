"""Opened: a drawing as closed curves in millimetres, each on its layer, whatever file it came in."""

import json
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from proveout.drawing.dxf_sheet import read_dxf_sheet
from proveout.drawing.heal import GAP, Healed, heal
from proveout.drawing.loops import Loop, spot
from proveout.drawing.on_layers import on_layers
from proveout.drawing.svg_sheet import read_svg_sheet
from proveout.drawing.units import Settled, extents, scaled, settle
from proveout.drawing.wires import Act, Sheet
from proveout.finding import InputError
from proveout.quantity import System

DOUBTS: Final = (
    "scaled", "unit contradicted", "known dimension off", "damaged", "polyline with a width",
)  # fmt: skip
LARGEST: Final = 100_000.0  # mm, ten times the longest bench
MOST_LAYERS: Final = 20  # named in a message
SHOWN: Final = 5  # acts of one kind that are told one by one


@dataclass(frozen=True, slots=True, kw_only=True)
class Opened:
    """A drawing's closed curves, and what was settled and left out on the way."""

    loops: tuple[Loop, ...]
    notes: tuple[str, ...]
    doubts: tuple[str, ...]  # of its size: to be measured before anything is cut


def opened(
    file: Path,
    *,
    known: str | None = None,
    units: System | None = None,
    outline: str | None = None,
    layers: Collection[str] | None = None,
) -> Opened:
    """A drawing's closed curves.

    Args:
        known: one dimension that settles the unit: "width = 120 mm", "hole for M6"
        units: of the drawing, where a person states it
        outline: the layer on which a known dimension is measured; None: all layers
        layers: those that count, the outline's among them; None: all
    Raises:
        InputError: without a place: no drawing, no unit, no such layer, something that can't be read, curves
            that are open or cross themselves
    """
    return opened_sheet(read_sheet(file), known=known, units=units, outline=outline, layers=layers)


def read_sheet(file: Path) -> Sheet:
    """A drawing in its own units, whatever kind of file it is.

    Raises:
        InputError: without a place: no drawing, or one that can't be read
    """
    return read_svg_sheet(file) if _is_svg(file) else read_dxf_sheet(file)


def opened_sheet(
    sheet: Sheet,
    *,
    known: str | None = None,
    units: System | None = None,
    outline: str | None = None,
    layers: Collection[str] | None = None,
) -> Opened:
    """The same of a drawing that has been read."""
    if layers is not None:
        _refuse_unknown(sheet, layers)
    _refuse_unread(sheet, layers)
    sheet = sheet if layers is None else on_layers(sheet, layers)
    has_outline = outline is not None and any(one.lower() == outline.lower() for one in sheet.layers)
    by_hole = (known or "").lstrip().lower().startswith("hole")
    measured = on_layers(sheet, [outline]) if outline and has_outline and not by_hole else sheet
    settled = settle(measured, known=known, units=units)
    _refuse_huge(settled)
    healed = heal(scaled(sheet.wires, settled.mm_per_unit), sheet.layers, sheet.entities)
    _refuse_open(healed)
    doubted = tuple(act.text for act in settled.acts if act.kind in DOUBTS)
    said = tuple(act.text for act in settled.acts if act.kind not in DOUBTS)
    return Opened(
        loops=healed.loops,
        notes=(f"{settled.basis[:1].upper()}{settled.basis[1:]}.", *said, *_mended(healed.acts)),
        doubts=doubted,
    )


def _refuse_huge(settled: Settled) -> None:
    low, high = extents(settled.wires)
    size = float(max(high - low))
    if size > LARGEST:
        raise InputError(
            f"it is {size / 1000:.0f} m large, and no more than {LARGEST / 1000:.0f} m is read. Delete what "
            "lies far off, or check its unit."
        )


def _refuse_unknown(sheet: Sheet, layers: Collection[str]) -> None:
    there = {one.lower() for one in sheet.layers}
    for layer in layers:
        if layer.lower() not in there:
            raise InputError(no_such_layer(sheet, layer))


def no_such_layer(sheet: Sheet, layer: str) -> str:
    """What is said of a layer that a drawing doesn't have, or that nothing is drawn on."""
    more = " ..." if len(sheet.layers) > MOST_LAYERS else ""
    return f'it has no layer "{layer}". It has: {", ".join(sheet.layers[:MOST_LAYERS])}{more}.'


def _refuse_unread(sheet: Sheet, layers: Collection[str] | None) -> None:
    wanted = None if layers is None else {one.lower() for one in layers}
    unread = [
        act
        for act in sheet.acts
        if act.kind == "not read" and (wanted is None or (act.layer or "").lower() in wanted)
    ]
    if unread:
        raise InputError(
            f"{unread[0].text}{_more(len(unread))}. A part without it would be another part, so mend or "
            "delete it where it was drawn."
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
        some = {one.layer for one in healed.open_chains}
        elsewhere = {one.layer for one in healed.loops} - some
        how = ""
        if elsewhere:
            how = f" Or name the layers that count: layers = {_listed(elsewhere)}."
        raise InputError(
            f"the chain that begins with {longest.entity} on layer {longest.layer} is open: its ends lie at "
            f"{one} and {other}{_more(len(healed.open_chains))}. Close it in the drawing, or move what is no "
            f"outline or hole to another file; gaps of up to {GAP} mm are closed here.{how}"
        )
    if not healed.loops:
        raise InputError("there is no closed curve in it.")


def _listed(layers: Collection[str]) -> str:
    return f"[{', '.join(json.dumps(one, ensure_ascii=False) for one in sorted(layers)[:MOST_LAYERS])}]"


def _more(count: int) -> str:
    """How many others are like the one that is told."""
    return f" (so it is with {count - 1} more)" if count > 1 else ""


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
