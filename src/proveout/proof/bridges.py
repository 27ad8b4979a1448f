"""Pieces that hang by bridges, an onion skin or what is under them, and whether those stand the later cuts.

Material thinner than a level counts as a bridge. A piece that only bridges tie to what the clamps hold is
held at their necks: each bit of a neck stands shear in any direction, so the piece breaks away as a blank
slips under its clamps, and the same rule tells what it stands. Tape or a screw under such a piece is counted
with its bridges; a vacuum is not, for the kerf lets air in.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final, NamedTuple

import numpy as np
import numpy.typing as npt

from proveout.finding import Change, Finding, Level
from proveout.hold.slip import Contacts, slip_force
from proveout.motion import Floats, Ints
from proveout.proof.load_checks import Worst, at_least_times, worst_in_each
from proveout.proof.loads import DULL
from proveout.proof.loose import CRUMBS, SKIN, called, frame_held, held_by, stock_cells
from proveout.proof.removal import Removal, fresh_field, remove
from proveout.proof.separation import Piece, Pieces, joined_cells, separate
from proveout.proof.trial import Mask, Rows, Trial, at_most, judged
from proveout.proof.verdict import HeightField, Loads
from proveout.setup import Setup, holders
from proveout.shelf.tables import material

THIN: Final = 0.5  # of the sheet's thickness; what is thinner bridges, whatever it was meant for
OVER: Final = 0.2  # mm over the highest stated bridge, for the cells' rounding
CELL: Final = 0.3  # mm, coarse enough to be quick and fine enough for a neck of 4 mm
MOST_CELLS: Final = 4_000_000
WANTED: Final = 2.0  # times; project default
MOST_POINTS: Final = 12  # of contact for each bridge
KERFS: Final = 2.0  # diameters of the largest cutter: how far from a piece a bridge is followed
BATCH: Final = 2000  # stretches looked at together,
MOST_LOOKED_AT: Final = 2_000_000  # with no more cells around them than these, for a wide cutter's memory
SPOT: Final = 5.0  # mm: of the cuts within a square of this side, the hardest is the one that is tried
LEVER: Final = 10.0  # times; bridges that lack more than this are too few, not too narrow


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Hanging:
    """A piece, what ties it to the rest, and the stretches that cut at it afterwards."""

    piece: Piece
    bridges: int
    grips: tuple[str, ...]  # "tape 1": what holds it from below
    necks: Contacts
    rows: Rows  # stretches that touch the piece after it parted but for its bridges


class Neck(NamedTuple):
    """The narrowest section of a bridge."""

    at: Floats  # (k, 2) mm, its cells
    stands: Floats  # (k,) N of shear, each cell


class BridgeLoad(NamedTuple):
    """What a cut asks of the bridges of the piece it cuts at."""

    margin: float  # times that they stand it
    push: float  # N
    depth: float  # mm of that cut


class Weak(NamedTuple):
    """A cut at a hanging piece that asks too much of its bridges."""

    hanging: Hanging
    load: BridgeLoad
    sight: Worst


def bridges_too_weak(run: Trial, loads: Loads) -> Iterator[Finding]:
    """Cuts at pieces that hang by bridges which a dull cutter could break: the worst in each program."""
    if not holders(run.setup):
        return
    weak = [one for hanging in hanging_pieces(run.setup, loads) for one in _weak(run, loads, hanging)]
    for file in run.files:
        mine = [one for one in weak if one.sight.file == file]
        if mine:
            worst = min(mine, key=lambda one: one.load.margin)
            yield _told(run, worst, len(mine) - 1)


def _weak(run: Trial, loads: Loads, hanging: Hanging) -> Iterator[Weak]:
    push = DULL * np.hypot(loads.force[hanging.rows], loads.lift[hanging.rows])
    middle = (loads.motion.start[hanging.rows, :2] + loads.motion.end[hanging.rows, :2]) / 2
    worst = _hardest_in_each_spot(middle, push)
    rows, push, middle = hanging.rows[worst], push[worst], middle[worst]
    margin = slip_force(hanging.necks, middle, WANTED * push) / push
    short = margin < WANTED
    for sight in worst_in_each(run, loads, rows[short], -margin[short]):
        here = int(np.flatnonzero(rows == sight.row)[0])
        load = BridgeLoad(float(margin[here]), float(push[here]), float(loads.depth[sight.row]))
        yield Weak(hanging, load, sight)


def _hardest_in_each_spot(middle: Floats, push: Floats) -> Rows:
    """Of the cuts within each square of SPOT, the hardest; a cut far from the bridges counts by its lever."""
    hardest_first = np.argsort(-push, kind="stable")
    _, first = np.unique(np.floor(middle[hardest_first] / SPOT), axis=0, return_index=True)
    return np.sort(hardest_first[first])


def _told(run: Trial, weak: Weak, others: int) -> Finding:
    load, sight, count = weak.load, weak.sight, weak.hanging.bridges
    name = called(run.setup, weak.hanging.piece)
    by = " and ".join(
        [*([f"{count} bridge{'s' if count > 1 else ''}"] if count else []), *weak.hanging.grips]
    )
    begins = f"Line {sight.line}: {name}" if sight.line else f"{name[0].upper()}{name[1:]}"
    times = WANTED / max(load.margin, 1e-3)
    more = f" {others} more of its pieces hang too weakly." if others > 1 else ""
    more = " 1 more of its pieces hangs too weakly." if others == 1 else more
    return Finding(
        level=Level.STOP if load.margin < 1 else Level.CAUTION,
        kind="tab-weak" if count else "hold-margin",
        text=(
            f"{begins} hangs by {by} when this cut is made. They stand about "
            f"{load.margin * load.push:.0f} N here; a dull cutter pushes with up to {load.push:.0f} N. Twice "
            f"as much is wanted.{more}"
        ),
        remedy=_more_bridges(run.setup, count, times, load.depth) if count else _more_grip(times),
        program=sight.file,
        line=sight.line or None,
        at=sight.at,
        name=name,
        change=Change(what="bridges", times=times) if count else None,
    )


def _more_grip(times: float) -> str:
    return f"Leave at least 3 bridges at it, or put {at_least_times(times)} times as much tape under it."


def _more_bridges(setup: Setup, count: int, times: float, depth: float) -> str:
    if times > LEVER:
        return (
            f"Leave at least {max(3, count + 1)} bridges spread all round it, or clamp it before this cut: "
            "what it hangs by lets it turn."
        )
    return (
        f"Make the bridges {at_least_times(times)} times as wide or leave {int(np.ceil(count * times))} of "
        f"them, or cut no more than {at_most(setup, depth / times)} deep here."
    )


def bridge_level(setup: Setup) -> float:
    """The height up to which material counts as a bridge, mm."""
    stated = max((tab.height for tab in setup.tabs), default=0.0) + OVER
    return min(max(THIN * setup.stock.thinnest, stated), 0.9 * setup.stock.thinnest)


def hanging_pieces(setup: Setup, loads: Loads) -> Iterator[Hanging]:
    """Every piece that only bridges hold in the end, with the cuts that were made at it then."""
    removal = _thin_removal(setup, loads)
    field = removal.field
    stock, held = stock_cells(setup, field), frame_held(setup, field)
    pieces = separate(removal.through, stock, held, cell=field.cell, origin=field.origin, crumb=CRUMBS)
    hanging = [
        piece for piece in pieces.pieces if piece.label and piece.freed_at >= 0 and piece.area > CRUMBS
    ]
    if not hanging:
        return
    bodies = joined_cells(stock & (field.heights > SKIN) & (removal.through > 0))
    reach = int(np.ceil(KERFS * max(cutter.diameter for cutter in setup.cutters) / field.cell)) + 1
    shear = material(setup.stock.material).planar_shear / 1.5
    touching = _touching(setup, loads, pieces, field)
    blocks = _blocks(pieces.labels, reach)
    for piece in hanging:
        necks = list(_necks(pieces.labels, piece.label, bodies, blocks[piece.label], reach, field, shear))
        rows = np.flatnonzero(touching[piece.label] & (np.arange(len(loads)) > piece.freed_at))
        under = dict(_under(setup, pieces.labels == piece.label, field)) if setup.grips else {}
        if (necks or under) and rows.size:
            ties = _contacts([*necks, *under.values()])
            yield Hanging(piece=piece, bridges=len(necks), grips=tuple(under), necks=ties, rows=rows)


def _under(setup: Setup, mine: Mask, field: HeightField) -> Iterator[tuple[str, Neck]]:
    """What lies under a piece, each with its cells and what it stands sideways there by its share."""
    for grip in setup.grips:
        if grip.shear <= 0 or grip.kind == "vacuum":
            continue
        cells = held_by([grip], field)
        row, column = np.nonzero(cells & mine)
        if row.size:
            at = np.asarray(field.origin) + (np.column_stack((column, row)) + 0.5) * field.cell
            yield grip.name, Neck(at, np.full(row.size, grip.shear / cells.sum()))


def _thin_removal(setup: Setup, loads: Loads) -> Removal:
    """The way once more on coarse cells, where a cell counts as through when only a bridge is left of it."""
    stock = setup.stock
    cell = max(CELL, float(np.sqrt(stock.size[0] * stock.size[1] / MOST_CELLS)))
    field = fresh_field(stock.size, stock.thickest, cell=cell, margin=2 * cell)
    return remove(field, loads.motion, judged(setup.cutters), through_level=bridge_level(setup))


def _touching(setup: Setup, loads: Loads, pieces: Pieces, field: HeightField) -> dict[int, Mask]:
    """For each label, the stretches that cut within the cutter's reach of its cells, (m,)."""
    found = np.zeros(
        (max((piece.label for piece in pieces.pieces), default=0) + 1, len(loads)), dtype=np.bool_
    )
    ends = loads.motion.start[:, :2], loads.motion.end[:, :2]
    for cutter in setup.cutters:
        near = _disc((cutter.radius + field.cell) / field.cell)
        mine = np.flatnonzero((loads.force > 0) & (loads.motion.cutter == cutter.number))
        batch = min(BATCH, max(1, MOST_LOOKED_AT // len(near)))
        for first in range(0, len(mine), batch):
            rows = mine[first : first + batch]
            for share in (0.0, 0.5, 1.0):
                middle = ends[0][rows] * (1 - share) + ends[1][rows] * share
                seen = _labels_near(pieces.labels, field, middle, near)
                which, cell = np.nonzero(seen)
                found[seen[which, cell], rows[which]] = True
    return {piece.label: found[piece.label] for piece in pieces.pieces if piece.label}


def _disc(radius: float) -> npt.NDArray[np.int64]:
    """Steps to the cells whose middles lie within a radius in cells, (k, 2) of row and column."""
    reach = int(np.ceil(radius))
    row, column = np.mgrid[-reach : reach + 1, -reach : reach + 1]
    inside = np.hypot(row, column) <= radius
    return np.column_stack((row[inside], column[inside]))


def _labels_near(labels: Ints, field: HeightField, points: Floats, near: npt.NDArray[np.int64]) -> Ints:
    """Labels of the cells around each point, (n, k); 0 off the field."""
    middle = np.floor((points - np.asarray(field.origin)) / field.cell).astype(np.int64)
    row, column = middle[:, 1:2] + near[:, 0], middle[:, 0:1] + near[:, 1]
    rows, columns = labels.shape
    outside = (row < 0) | (row >= rows) | (column < 0) | (column >= columns)
    found = labels[np.clip(row, 0, rows - 1), np.clip(column, 0, columns - 1)]
    near_by: Ints = np.where(outside, 0, found).astype(np.int32)
    return near_by


def _blocks(labels: Ints, reach: int) -> dict[int, tuple[slice, slice]]:
    """For each label from 1 the block of cells around its own, with so many cells on each side."""
    rows, columns = np.nonzero(labels)
    mine = labels[rows, columns]
    ends = []
    for place in (rows, columns):
        low, high = np.full(labels.max(initial=0) + 1, labels.size), np.zeros(labels.max(initial=0) + 1, int)
        np.minimum.at(low, mine, place)
        np.maximum.at(high, mine, place)
        ends.append((low.tolist(), high.tolist()))
    (front, back), (left, right) = ends
    return {
        label: (
            slice(max(0, front[label] - reach), back[label] + reach + 1),
            slice(max(0, left[label] - reach), right[label] + reach + 1),
        )
        for label in range(1, len(front))
    }


def _necks(
    labels: Ints,
    label: int,
    bodies: Ints,
    block: tuple[slice, slice],
    reach: int,
    field: HeightField,
    shear: float,
) -> Iterator[Neck]:
    """The narrowest sections of the bridges that tie a piece to anything else.

    Thin cells are counted off from the piece in layers, as far as the first that touches something else; the
    layer that stands the least is the neck. Layers follow the cells' edges, so a slanting one counts for less
    than it is.
    """
    mine, weak = labels[block] == label, bodies[block] > 0
    other = ~mine & ~weak & (field.heights[block] > SKIN)
    layer = _layers(mine, weak, reach)
    body_of = np.where(layer > 0, bodies[block], 0)
    for number in np.unique(body_of[body_of > 0]).tolist():
        body = body_of == number
        if not (_grown(body) & other).any():
            continue
        deepest = int(layer[body & _grown(other)].min())
        stands = [
            float(field.heights[block][body & (layer == depth)].sum()) for depth in range(1, deepest + 1)
        ]
        neck = body & (layer == 1 + int(np.argmin(stands)))
        row, column = np.nonzero(neck)
        at = np.column_stack((column + block[1].start, row + block[0].start)) + 0.5
        yield Neck(
            np.asarray(field.origin) + at * field.cell, field.heights[block][neck] * field.cell * shear
        )


def _grown(mask: Mask) -> Mask:
    """A mask and its neighbours along the cells' edges."""
    grown = mask.copy()
    grown[1:] |= mask[:-1]
    grown[:-1] |= mask[1:]
    grown[:, 1:] |= mask[:, :-1]
    grown[:, :-1] |= mask[:, 1:]
    return grown


def _layers(mine: Mask, weak: Mask, most: int) -> Ints:
    """How many steps each weak cell lies from the piece, 0 where it can't be reached."""
    layer = np.zeros(mine.shape, dtype=np.int32)
    front, left = mine, weak.copy()
    for depth in range(1, most + 1):
        front = _grown(front) & left
        if not front.any():
            break
        layer[front] = depth
        left &= ~front
    return layer


def _contacts(necks: list[Neck]) -> Contacts:
    """All necks of a piece as points of contact, each neck as a few of them."""
    points, stands = [], []
    for neck in necks:
        for some in np.array_split(
            np.argsort(neck.at @ np.array([1.0, 1.7])), min(MOST_POINTS, len(neck.at))
        ):
            points.append(neck.at[some].mean(axis=0))
            stands.append(float(neck.stands[some].sum()))
    return Contacts(at=np.array(points), friction=np.array(stands), pressed=0.0)
