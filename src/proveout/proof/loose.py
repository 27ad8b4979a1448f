"""Pieces that come loose, and what touches them afterwards."""

from collections.abc import Iterable, Iterator
from dataclasses import replace
from typing import Final

import numpy as np
from shapely import Polygon, get_parts
from shapely.geometry.base import BaseGeometry
from shapely.ops import unary_union

from proveout.finding import Finding, Level
from proveout.motion import Motion
from proveout.proof.allowed import Mask, covered, window
from proveout.proof.intent import inside
from proveout.proof.removal import Removal
from proveout.proof.separation import Piece, separate, touched_at
from proveout.proof.trial import Trial, at_least, end_of, length, opening, place
from proveout.proof.verdict import HeightField
from proveout.setup import Grip, PlacedClamp, Setup, holders

SKIN: Final = 0.2  # mm of material left under a cut, below which it holds nothing
CRUMBS: Final = 4.0  # mm2; a loose bit below this is swept away like a chip
SCRAP: Final = 100.0  # mm2; a loose piece from here on can be thrown, or jam the cutter


def blank_not_held(run: Trial) -> Iterator[Finding]:
    """A setup without clamps or anything else that holds the blank down."""
    if not holders(run.setup):
        yield Finding(
            level=Level.STOP,
            kind="blank-not-held",
            text="No clamp holds the blank, so whether pieces come loose could not be judged either.",
            remedy="Place at least 2 clamps on the blank, or tape or screws, and name them in the setup.",
        )


def loose_pieces(run: Trial, removal: Removal) -> Iterator[Finding]:
    """Pieces that part from everything a clamp holds, and pieces that are touched after that."""
    if not holders(run.setup):
        return
    field = removal.field
    stock, held = stock_cells(run.setup, field), all_held(run.setup, field)
    loose = separate(removal.through, stock, held, cell=field.cell, origin=field.origin, crumb=CRUMBS)
    later = touched_at(
        loose, without_retracts(run.motion), run.setup.cutters, field, top=run.setup.stock.thickest
    )
    crumbs = [piece for piece in loose.pieces if piece.area < CRUMBS]
    for piece, touched in zip(loose.pieces, later.tolist(), strict=True):
        if piece.area >= CRUMBS:
            yield _loose(run, piece)
            if touched >= 0:
                yield _touched(run, piece, touched)
    if crumbs:
        yield _crumbs(run.setup, crumbs)


def stock_cells(setup: Setup, field: HeightField) -> Mask:
    """Where there is stock: the field's block of cells whose centres lie over it."""
    rows, columns = field.heights.shape
    width, depth = setup.stock.size
    x = field.origin[0] + (np.arange(columns) + 0.5) * field.cell
    y = field.origin[1] + (np.arange(rows) + 0.5) * field.cell
    return np.outer((y > 0) & (y < depth + 1e-9), (x > 0) & (x < width + 1e-9))


def held_by(clamps: Iterable[PlacedClamp | Grip], field: HeightField) -> Mask:
    """(rows, columns), where some clamps press, or grips hold."""
    return _over((clamp.pressing for clamp in clamps), field)


def all_held(setup: Setup, field: HeightField) -> Mask:
    """Where anything keeps a piece from coming loose. A vacuum counts under waste alone.

    A part that is cut free lets air in all round, and what is left of the vacuum under it is not known.
    """
    sure = [one for one in holders(setup) if not (isinstance(one, Grip) and one.kind == "vacuum")]
    return held_by(sure, field) | frame_held(setup, field)


def frame_held(setup: Setup, field: HeightField) -> Mask:
    """Where the frame of waste is held: under clamps, and over grips that lie under no part."""
    parts = unary_union([part.outline for part in setup.parts])
    beside = [grip.pressing.difference(parts) for grip in setup.grips if grip.holds_down]
    return held_by(setup.clamps, field) | _over(beside, field)


def _over(areas: Iterable[BaseGeometry], field: HeightField) -> Mask:
    held = np.zeros(field.heights.shape, dtype=np.bool_)
    for area in areas:
        for one in get_parts(area):
            if isinstance(one, Polygon) and not one.is_empty:
                block = window(field, one, cells=1)
                held[block] |= covered(field, one, block)
    return held


def without_retracts(motion: Motion) -> Motion:
    """The motion with every straight way up made nobody's: leaving a kerf touches both its sides anyhow."""
    up = (motion.end[:, 2] > motion.start[:, 2]) & (motion.end[:, :2] == motion.start[:, :2]).all(axis=1)
    return replace(motion, cutter=np.where(up, np.int32(0), motion.cutter))


def _loose(run: Trial, piece: Piece) -> Finding:
    name = called(run.setup, piece)
    return Finding(
        level=Level.STOP if piece.area >= SCRAP else Level.CAUTION,
        kind="piece-loose",
        text=(
            f"{opening(run, piece.freed_at)} {name} comes loose here with nothing to hold it."
            if piece.freed_at >= 0
            else f"{name[0].upper()}{name[1:]} is held by no clamp at any time."
        )
        + f" It lies {place(run.setup, piece.at)}.",
        remedy=(
            f"{_bridges(run.setup, name)}, clamp it, or cut away all of it before it parts."
            if piece.freed_at >= 0
            else "Clamp it with at least 2 clamps."
        ),
        name=name,
        program=run.files[run.program[piece.freed_at]] if piece.freed_at >= 0 else "",
        line=(int(run.motion.line[piece.freed_at]) or None) if piece.freed_at >= 0 else None,
        at=(*piece.at, run.setup.stock.thickest),
    )


def _touched(run: Trial, piece: Piece, move: int) -> Finding:
    name = called(run.setup, piece)
    since = int(run.motion.line[piece.freed_at])
    loose_since = f" since line {since}" if since else ""
    return Finding(
        level=Level.STOP if piece.area >= SCRAP else Level.CAUTION,
        kind="piece-touched",
        text=(f"{opening(run, move)} the cutter touches {name}, which is loose{loose_since}."),
        remedy=f"{_bridges(run.setup, name)}, or make this cut before the piece parts.",
        name=name,
        program=run.files[run.program[move]],
        line=int(run.motion.line[move]) or None,
        at=end_of(run.motion, move),
    )


def _bridges(setup: Setup, name: str) -> str:
    """The bridges that were meant to hold a part, or how many are usual."""
    meant = [tab for tab in setup.tabs if tab.part == name]
    if not meant:
        return "Leave at least 3 bridges at it"
    high = at_least(setup, max(tab.height for tab in meant))
    return f"Leave its {len(meant)} bridges standing, {high} high"


def called(setup: Setup, piece: Piece) -> str:
    """The part that a piece is most of, or what else it is."""
    point = np.array([piece.at])
    for part in setup.parts:
        if inside(part.outline, point)[0]:
            kept = part.outline.area - sum(one.region.area for one in part.features if one.through)
            return (
                part.name if piece.area > kept / 2 else f"a slug of {_area(setup, piece.area)} in {part.name}"
            )
    return f"a piece of waste of {_area(setup, piece.area)}"


def _area(setup: Setup, square_mm: float) -> str:
    side = length(setup, float(np.sqrt(square_mm)))
    return f"about {side} by {side}"


def _crumbs(setup: Setup, crumbs: list[Piece]) -> Finding:
    return Finding(
        level=Level.NOTE,
        kind="piece-loose",
        text=(
            f"{len(crumbs)} loose bits smaller than {_area(setup, CRUMBS)} come free; the first lies "
            f"{place(setup, crumbs[0].at)}."
        ),
        remedy="Extract at the cutter and wear eye protection; at least 1 pass of the brush before handling.",
        at=(*crumbs[0].at, setup.stock.thickest),
    )
