"""DXF in: every flat curve of a drawing, through blocks of any depth, as lines and arcs on its layer."""

import math
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any, Final

import numpy as np

from proveout.drawing.dxf_file import load_dxf
from proveout.drawing.dxf_ink import DRAWERS, IN_WORLD, WORDS, Nothing, Unlike, flat_plane, width
from proveout.drawing.svg_curves import MOST_SEGMENTS, Ink, TooMuch, Unusable, wires_of
from proveout.drawing.svg_units import Matrix
from proveout.drawing.wires import Act, Sheet, UnitClaim, Wires
from proveout.finding import InputError
from proveout.quantity import printable

TOLERANCE: Final = 0.002  # mm that a chord may lie off its curve
SMALL: Final = 60.0  # units; a drawing no larger, whose unit nobody says, may be in inches
DEEPEST: Final = 32  # blocks in blocks
MOST_DRAWN: Final = 300_000  # entities, copies counted each
MOST_COPIES: Final = 100_000  # of one block, in rows and columns
MOST_TOLD: Final = 5  # entities of one kind that are named
# Layers that are drawn to draw by (common practice, no source).
TO_DRAW_BY: Final = frozenset(
    {"defpoints", "construction", "construction lines", "guides", "guide lines", "centerlines", "centrelines"}
)

SAME: Final[Matrix] = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)
MIRRORED: Final[Matrix] = (-1.0, 0.0, 0.0, 1.0, 0.0, 0.0)


@dataclass(frozen=True, slots=True)
class _Frame:
    """Where the content of a block comes to lie."""

    matrix: int
    layer: str  # that content on layer 0 takes
    blocks: tuple[str, ...]  # in which it lies, the outermost first
    inserts: tuple[str, ...]  # by whose names


@dataclass(slots=True)
class _Reading:
    document: Any
    tolerance: float
    ink: Ink = field(default_factory=Ink)
    matrices: list[Matrix] = field(default_factory=lambda: [SAME, MIRRORED])
    layers: dict[str, int] = field(default_factory=dict)
    drawn: list[tuple[Any, tuple[str, ...]]] = field(default_factory=list)  # by entity
    seen: int = 0
    words: Counter[str] = field(default_factory=Counter)
    left: dict[str, list[str]] = field(default_factory=dict)  # by why: names
    hidden: Counter[tuple[str, str]] = field(default_factory=Counter)  # by layer and why
    acts: list[Act] = field(default_factory=list)
    asleep: dict[str, str] = field(default_factory=dict)  # layers that are not read, and why


def read_dxf_sheet(file: Path) -> Sheet:
    """A DXF drawing's curves, in its own units.

    Lines, arcs, circles, ellipses, polylines with bulges, splines and hatches' boundaries, in the model's
    space and in blocks. Curves that are no arcs become chords within 0.002 mm: where the file says nothing of
    its unit, as if of a drawing in mm, or in inches where it is small. A hatch's boundary counts as drawn;
    where the same curve is drawn too, healing takes it for the copy that it is. Text, dimensions and what
    lies on layers that are frozen, off or to draw by is left out with an act; what can't be read is one of
    kind "not read", for the caller to refuse.

    Raises:
        InputError: without a place: no DXF, broken, cut short, too much of it, a block within itself, or
            numbers that are none or too large
    """
    loaded = load_dxf(file)
    reading = _Reading(loaded.document, _tolerance(loaded.claim, loaded.document))
    reading.asleep = _asleep(loaded.document)
    reading.acts += loaded.acts
    _walk(reading, loaded.document.modelspace(), _Frame(0, "", (), ()))
    wires = _inked(reading)
    named, layers, entities = _named(reading, wires)
    acts = (*reading.acts, *_acts(reading))
    return Sheet(file=file, wires=named, layers=layers, entities=entities, claim=loaded.claim, acts=acts)


def _tolerance(claim: UnitClaim, document: Any) -> float:
    """How far a chord may lie off its curve, in the drawing's units."""
    if claim.mm:
        return TOLERANCE / max(claim.mm, 1e-6)
    low, high = (document.header.get(name, (0, 0, 0)) for name in ("$EXTMIN", "$EXTMAX"))
    size = max(high[0] - low[0], high[1] - low[1])
    return TOLERANCE if math.isfinite(size) and size > SMALL else TOLERANCE / 25.4


def _asleep(document: Any) -> dict[str, str]:
    """Layers that are not read, by lower-case name, and why."""
    found: dict[str, str] = dict.fromkeys(TO_DRAW_BY, "to draw by")
    for layer in document.layers:
        name = str(layer.dxf.name).lower()
        if layer.is_frozen():
            found[name] = "frozen"
        elif layer.is_off():
            found[name] = "off"
        elif layer.dxf.get("plot", 1) == 0 and name not in found:
            found[name] = "never plotted"
    return found


# --- walking


def _walk(reading: _Reading, entities: Iterable[Any], frame: _Frame) -> None:
    for entity in entities:
        reading.seen += 1
        if reading.seen > MOST_DRAWN:
            raise _too_much(f"{MOST_DRAWN} entities, copies counted each")
        _one(reading, entity, frame)


def _one(reading: _Reading, entity: Any, frame: _Frame) -> None:
    kind = entity.dxftype()
    layer = str(entity.dxf.layer)
    if layer == "0" and frame.layer:
        layer = frame.layer
    why = reading.asleep.get(layer.lower()) if reading.asleep else None
    if why is None and entity.dxf.hasattr("invisible") and entity.dxf.invisible:
        why = "invisible"
    if why is not None:
        reading.hidden[layer, why] += 1
        return
    if kind in WORDS:
        reading.words[kind] += 1
        return
    try:
        if kind == "INSERT":
            _insert(reading, entity, layer, frame)
        elif kind in DRAWERS:
            _draw(reading, entity, kind, layer, frame)
        else:
            raise Unlike("is not read: turn it into lines, arcs, polylines or splines")
    except Unlike as unlike:
        name = _name(entity, frame.inserts)
        said = f"{name} on layer {printable(layer)} {unlike}"
        reading.acts.append(Act(kind="not read", text=said, at=_place(entity), layer=printable(layer)))
    except Nothing as nothing:
        reading.left.setdefault(str(nothing), []).append(_name(entity, frame.inserts))


def _draw(reading: _Reading, entity: Any, kind: str, layer: str, frame: _Frame) -> None:
    ink = reading.ink
    ink.matrix = frame.matrix
    if kind not in IN_WORLD and entity.dxf.hasattr("extrusion") and flat_plane(entity):
        ink.matrix = _matrix(reading, _times(reading.matrices[frame.matrix], MIRRORED))
    ink.layer = reading.layers.setdefault(layer, len(reading.layers))
    ink.entity = len(reading.drawn)
    reading.drawn.append((entity, frame.inserts))
    held = len(ink.rows)
    try:
        DRAWERS[kind](entity, ink, reading.tolerance)
    except TooMuch:
        raise _too_much(f"{MOST_SEGMENTS} lines and arcs") from None
    except (Unlike, Nothing):
        del ink.rows[held:]
        raise
    if kind.endswith("POLYLINE") and (wide := width(entity)):
        text = (
            f"{_name(entity, frame.inserts)} is drawn with a width of {wide:.4g} units: its middle was "
            "taken, and which edge is meant stays open."
        )
        reading.acts.append(Act(kind="polyline with a width", text=text, at=_place(entity), size=wide))


def _insert(reading: _Reading, entity: Any, layer: str, frame: _Frame) -> None:
    """The content of a block, as often as it is put there."""
    block = entity.block()
    if block is None:
        raise Unlike(f'names the block "{printable(str(entity.dxf.name))}", which is not there')
    name = str(entity.dxf.name)
    if name.lower() in frame.blocks:
        raise InputError(
            f'the block "{printable(name)}" contains itself (at {_name(entity, frame.inserts)}). Take it out '
            "of itself, or explode it."
        )
    if len(frame.blocks) >= DEEPEST:
        raise InputError(f"blocks lie in blocks more than {DEEPEST} deep. Explode some of them.")
    below = (*frame.blocks, name.lower())
    inserts = (_name(entity, ()), *frame.inserts)
    for matrix in _matrices(entity, block):
        number = _matrix(reading, _times(reading.matrices[frame.matrix], matrix))
        _walk(reading, block, _Frame(number, layer, below, inserts))


def _matrices(entity: Any, block: Any) -> Iterator[Matrix]:
    """From the block's coordinates to where each copy lies."""
    dxf = entity.dxf
    mirrored = flat_plane(entity) if dxf.hasattr("extrusion") else False
    across, up = dxf.get("xscale", 1.0), dxf.get("yscale", 1.0)
    if not across or not up:
        raise Unlike("is scaled to nothing")
    columns, rows = max(1, dxf.get("column_count", 1)), max(1, dxf.get("row_count", 1))
    if columns * rows > MOST_COPIES:
        raise _too_much(f"{MOST_COPIES} copies of a block")
    angle = math.radians(dxf.get("rotation", 0.0))
    cos, sin = math.cos(angle), math.sin(angle)
    base = block.block.dxf.get("base_point", (0.0, 0.0, 0.0))
    a, b, c, d = cos * across, sin * across, -sin * up, cos * up
    for column in range(columns):
        for row in range(rows):
            x, y = column * dxf.get("column_spacing", 0.0), row * dxf.get("row_spacing", 0.0)
            e = dxf.insert.x + cos * x - sin * y - a * base[0] - c * base[1]
            f = dxf.insert.y + sin * x + cos * y - b * base[0] - d * base[1]
            own = (a, b, c, d, e, f)
            yield _times(MIRRORED, own) if mirrored else own


def _times(outer: Matrix, inner: Matrix) -> Matrix:
    a, b, c, d, e, f = outer
    g, h, i, j, k, m = inner
    return (
        a * g + c * h, b * g + d * h, a * i + c * j, b * i + d * j, a * k + c * m + e, b * k + d * m + f,
    )  # fmt: skip


def _matrix(reading: _Reading, matrix: Matrix) -> int:
    if matrix == MIRRORED:
        return 1
    if matrix != reading.matrices[-1]:
        reading.matrices.append(matrix)
    return len(reading.matrices) - 1


# --- what came of it


def _inked(reading: _Reading) -> Wires:
    try:
        inked = wires_of(reading.ink, reading.matrices, reading.tolerance)
    except TooMuch:
        raise _too_much(f"{MOST_SEGMENTS} lines and arcs") from None
    except Unusable as bad:
        entity, inserts = reading.drawn[bad.entity]
        layer = printable(str(entity.dxf.layer))
        raise InputError(f"{_name(entity, inserts)} on layer {layer} {bad}. Correct or delete it.") from None
    if inked.flattened:
        text = f"{inked.flattened} curves became chords, none further off than {reading.tolerance:.4g} units."
        reading.acts.append(Act(kind="curve flattened", text=text, size=reading.tolerance))
    return inked.wires


def _too_much(what: str) -> InputError:
    return InputError(f"it holds more than {what}, the most that is read. Split the drawing.")


def _named(reading: _Reading, wires: Wires) -> tuple[Wires, tuple[str, ...], tuple[str, ...]]:
    """Wires with layers and entities numbered anew, so that each one has something on it."""
    layers, layer = np.unique(wires.layer, return_inverse=True)
    entities, entity = np.unique(wires.entity, return_inverse=True)
    names = [printable(one) for one in reading.layers]
    named = replace(wires, layer=layer.astype(np.int32), entity=entity.astype(np.int32))
    said = tuple(_name(*reading.drawn[one]) for one in entities.tolist())
    return named, tuple(names[one] for one in layers.tolist()), said


def _name(entity: Any, inserts: tuple[str, ...]) -> str:
    name = f"{entity.dxftype()} {entity.dxf.handle}"
    return name if not inserts else f"{name} in {' in '.join(inserts[:3])}"


def _place(entity: Any) -> tuple[float, float] | None:
    for name in ("start", "center", "insert", "location"):
        if entity.dxf.hasattr(name):
            point = entity.dxf.get(name)
            return (point[0], point[1]) if math.isfinite(point[0]) and math.isfinite(point[1]) else None
    return None


def _acts(reading: _Reading) -> Iterator[Act]:
    if reading.words:
        counts = ", ".join(f"{count} {kind}" for kind, count in sorted(reading.words.items()))
        yield Act(kind="left out", text=f"Left out, for it is to be read and not cut: {counts}.")
    for why, names in sorted(reading.left.items()):
        some = ", ".join(names[:MOST_TOLD])
        more = f" and {len(names) - MOST_TOLD} more" if len(names) > MOST_TOLD else ""
        yield Act(kind="nothing drawn", text=f"{some}{more} {why}: left out.")
    for (layer, why), count in sorted(reading.hidden.items()):
        text = f"{count} entities on layer {printable(layer)} were left out: the layer is {why}."
        if why == "invisible":
            text = f"{count} invisible entities on layer {printable(layer)} were left out."
        yield Act(kind="layer left out", text=text)
    paper = sum(
        1
        for layout in reading.document.layouts
        if layout.name != "Model"
        for one in layout
        if one.dxftype() in DRAWERS or one.dxftype() == "INSERT"
    )
    if paper:
        text = f"{paper} entities lie on the drawing's paper and not in its model: left out."
        yield Act(kind="paper left out", text=text)
