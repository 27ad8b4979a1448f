"""Parts on one sheet: leftmost first, on a grid, around the clamps, in the best of a fixed number of orders.

The budget is a number of tries, never seconds, so the same input gives the same layout on every machine.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from random import Random
from typing import Final, NamedTuple

import numpy as np
from shapely import Polygon, box
from shapely.affinity import rotate
from shapely.geometry.base import BaseGeometry

from proveout.curve import polygon
from proveout.finding import Finding, Level
from proveout.job.read_places import placed_name
from proveout.job.records import Cutter, Spindle
from proveout.kernels.place import block, first_free
from proveout.layout.keepouts import keep_out
from proveout.layout.masks import Cells, Ints, Mask, cells_of, mask_of, with_behind
from proveout.layout.settled import settled_rooms
from proveout.parts.part import Part, PlacedPart
from proveout.quantity import System, show_length
from proveout.setup import Obstacle

WEB: Final = 4.0  # mm of wood left between two kerfs, so that tabs have something to hold to; project default
CLEARANCE: Final = 1.5  # mm beyond touching, between anything that turns and a clamp; project default
INSERT_CLEARANCE: Final = 0.5  # mm of wood kept between a cut's bottom and an insert's metal; project default
TRIES: Final = 24
FINEST: Final = 0.5  # mm, of the sheet's grid
MOST_CELLS: Final = 1_000_000  # and coarser where a large sheet would have more cells


@dataclass(frozen=True, slots=True, kw_only=True)
class LayOrder:
    """All that laying out needs."""

    parts: tuple[tuple[Part, int], ...]
    size: tuple[float, float]  # of the sheet
    edge_margin: float  # between a kerf and the sheet's edge
    cutters: tuple[Cutter, ...]
    spindle: Spindle
    obstacles: tuple[Obstacle, ...]  # clamps, bolts, knobs
    inserts: tuple[Obstacle, ...]
    through_z: float  # the lowest that any tip goes
    units: System
    settled: tuple[PlacedPart, ...] = ()  # copies of the parts that lie where a person put them
    flaws: tuple[Polygon, ...] = ()  # of the sheet, which no outline may hold


@dataclass(frozen=True, slots=True, kw_only=True)
class Laid:
    """Where the parts lie."""

    placed: tuple[PlacedPart, ...]
    used_length: float  # of the sheet along X, mm
    findings: tuple[Finding, ...]


class _Shape(NamedTuple):
    """One part in one rotation, ready to be tried."""

    part: int
    turn: float
    room: Mask  # the part with its kerf and half the web
    kerf: Mask  # what is cut through, to be kept off the inserts; with flaws, the outline's face behind it
    group: int  # which keep-out map it obeys


class _Put(NamedTuple):
    part: int
    turn: float
    x: float
    y: float


class _Sheet(NamedTuple):
    """The empty sheet as cells, one map a group of parts that use the same cutters."""

    blocked: list[Ints]  # running count of blocked cells
    metal: Ints  # of cells over inserts that a through cut would meet; behind them, of flaws
    cell: float


def lay(order: LayOrder) -> Laid:
    """The parts placed on the sheet, or a finding that says what did not fit and what sheet it would take."""
    cell = _cell(order.size)
    shapes = _shapes(order, cell)
    counts = _counts(order)
    sheet = _empty_sheet(order, order.size, cell)
    best: list[_Put] = []
    for sequence in _sequences(order, counts):
        puts = _lay_in(sequence, shapes, sheet, best)
        if puts and (not best or _merit(puts, shapes, cell) > _merit(best, shapes, cell)):
            best = puts
    placed = _named(best, order)
    findings = () if len(best) == sum(counts) else (_refusal(order, best, counts),)
    return Laid(placed=placed, used_length=min(_used(best, shapes, cell), order.size[0]), findings=findings)


def _counts(order: LayOrder) -> list[int]:
    """How many of each part are still to be laid."""
    settled = [one.part for one in order.settled]
    return [count - settled.count(part) for part, count in order.parts]


def _cell(size: tuple[float, float]) -> float:
    return max(FINEST, math.sqrt(size[0] * size[1] / MOST_CELLS))


def _shapes(order: LayOrder, cell: float) -> list[list[_Shape]]:
    """For each part, its rotations; rotations that give the same cells are kept once."""
    by_number = {cutter.number: cutter for cutter in order.cutters}
    groups = _groups(order)
    table: list[list[_Shape]] = []
    for index, (part, _) in enumerate(order.parts):
        outline = polygon((part.outline,), tolerance=0.01)
        kerf_width = by_number[part.cutter].diameter
        room = outline.buffer(kerf_width + WEB / 2, quad_segs=16)
        kerf = kerf_of(part, outline, kerf_width)
        rows: list[_Shape] = []
        for turn in part.rotations_deg:
            kerf_mask = mask_of(rotate(kerf, turn, origin=(0, 0)), cell)
            if order.flaws:
                face = mask_of(rotate(outline, turn, origin=(0, 0)), cell)
                kerf_mask = with_behind(kerf_mask, face, int(order.size[1] // cell), cell)
            shape = _Shape(
                index,
                turn,
                mask_of(rotate(room, turn, origin=(0, 0)), cell),
                kerf_mask,
                groups.index(_cutters_of(part)),
            )
            if not any(np.array_equal(shape.room.spans, other.room.spans) for other in rows):
                rows.append(shape)
        table.append(rows)
    return table


def kerf_of(part: Part, outline: Polygon, width: float) -> BaseGeometry:
    """All that is cut below the bed's face: the outline's kerf and every through feature."""
    cut = outline.buffer(width, quad_segs=16).difference(outline)
    for feature in part.features:
        if feature.through:
            cut = cut.union(polygon(feature.curves, tolerance=0.01))
    return cut


def _cutters_of(part: Part) -> tuple[int, ...]:
    return tuple(sorted({part.cutter, *(feature.cutter for feature in part.features)}))


def _groups(order: LayOrder) -> list[tuple[int, ...]]:
    return sorted({_cutters_of(part) for part, _ in order.parts})


def _empty_sheet(order: LayOrder, size: tuple[float, float], cell: float) -> _Sheet:
    columns, rows = int(size[0] // cell), int(size[1] // cell)
    by_number = {cutter.number: cutter for cutter in order.cutters}
    inset = max(order.edge_margin - WEB / 2, 0.0)
    free = box(inset, inset, size[0] - inset, size[1] - inset)
    on_sheet = cells_of(free, cell, (0.0, 0.0), columns, rows)
    reach = {cutter.number: cutter.diameter + WEB / 2 for cutter in order.cutters}
    settled = settled_rooms(order.settled, reach, 0.7072 * cell)
    taken = ~on_sheet | cells_of(settled, cell, (0.0, 0.0), columns, rows)
    blocked = []
    for numbers in _groups(order):
        cutters = [by_number[number] for number in numbers]
        away = keep_out(
            order.obstacles, cutters, order.spindle, lowest_tip=order.through_z, clearance=CLEARANCE
        )
        # Axes stay one radius outside an outline, the mask reaches a whole kerf and half a web outside it:
        # the keep-out gives back what the mask has too much, but no more than every obstacle was grown by.
        spare = min(cutter.radius for cutter in cutters) + min(WEB / 2, CLEARANCE)
        kept_off = cells_of(away.buffer(-spare), cell, (0.0, 0.0), columns, rows)
        blocked.append(_running(taken | kept_off))
    met = [one.footprint for one in order.inserts if one.top + INSERT_CLEARANCE > order.through_z]
    metal = _covered(met, cell, columns, rows)
    if order.flaws:
        metal = np.concatenate((metal, _covered(order.flaws, cell, columns, rows)))
    return _Sheet(blocked, _running(metal), cell)


def _covered(footprints: Sequence[Polygon], cell: float, columns: int, rows: int) -> Cells:
    """Which cells lie over any of these."""
    cells = np.zeros((rows, columns), dtype=np.bool_)
    for footprint in footprints:
        left, front, right, back = footprint.bounds
        c0, r0 = max(int(left // cell), 0), max(int(front // cell), 0)
        c1, r1 = min(int(right // cell) + 2, columns), min(int(back // cell) + 2, rows)
        if c1 > c0 and r1 > r0:
            # 0.7072 cells for the grid, as for any mask, and as much again: the two masks' corners differ by
            # a part of a cell.
            grown = footprint.buffer(1.5 * cell)
            cells[r0:r1, c0:c1] |= cells_of(grown, cell, (c0 * cell, r0 * cell), c1 - c0, r1 - r0)
    return cells


def _running(cells: Cells) -> Ints:
    sums = np.zeros((cells.shape[0], cells.shape[1] + 1), dtype=np.int32)
    np.cumsum(cells, axis=1, out=sums[:, 1:])
    return sums


def _sequences(order: LayOrder, counts: Sequence[int]) -> list[list[int]]:
    """Orders to try: by size, then fixed shuffles of the part types (copies of a part stay together)."""
    areas = [polygon((part.outline,), tolerance=0.01).area for part, _ in order.parts]
    by_area = sorted(range(len(counts)), key=lambda i: (-areas[i], i))
    lengths = [max(extent_of(part)) for part, _ in order.parts]
    by_length = sorted(range(len(counts)), key=lambda i: (-lengths[i], i))
    orders = [by_area, by_length, by_area[::-1]]
    dice = Random(2718)  # a fixed stream: the same input, the same layout
    while len(orders) < TRIES:
        shuffled = list(by_area)
        dice.shuffle(shuffled)
        orders.append(shuffled)
    unique = list(dict.fromkeys(tuple(one) for one in orders))
    return [[i for i in one for _ in range(counts[i])] for one in unique]


def extent_of(part: Part) -> tuple[float, float]:
    """Width and height of a part's outline, mm."""
    left, front, right, back = polygon((part.outline,), tolerance=0.01).bounds
    return right - left, back - front


def _lay_in(
    sequence: Sequence[int], shapes: list[list[_Shape]], sheet: _Sheet, best: Sequence[_Put] = ()
) -> list[_Put]:
    """Each part of the sequence at the leftmost place that is still free; parts with none are left out.

    Nothing where it turns out on the way that `best` is better.
    """
    running = [counts.copy() for counts in sheet.blocked]
    start: dict[tuple[int, float], tuple[int, int]] = {}
    puts: list[_Put] = []
    most, least = len(sequence), _used(best, shapes, sheet.cell)
    for index in sequence:
        found = [
            (*place, shape)
            for shape in shapes[index]
            if (place := _first(shape, running[shape.group], sheet, start)) is not None
        ]
        if found:
            column, row, shape = min(found, key=lambda one: (one[0] + one[2].room.width, one[1], one[2].turn))
            for counts in running:
                block(counts, shape.room.spans, column, row)
            puts.append(_put(shape, column, row, sheet.cell))
        else:
            most -= 1
        if best and (most, -_used(puts[-1:], shapes, sheet.cell)) < (len(best), -least):
            return []
    return puts


def _first(
    shape: _Shape, running: Ints, sheet: _Sheet, start: dict[tuple[int, float], tuple[int, int]]
) -> tuple[int, int] | None:
    """First free place for a shape. What was blocked for it once stays blocked: no search goes back."""
    column, row = start.get((shape.part, shape.turn), (0, 0))
    room, kerf = shape.room, shape.kerf
    # The kerf's mask has a corner of its own, some cells inside the room's.
    dx, dy = (round((a - b) / sheet.cell) for a, b in zip(room.offset, kerf.offset, strict=True))
    column, row = first_free(
        running, room.spans, room.width, room.height, sheet.metal, kerf.spans, dx, dy, column, row
    )
    start[shape.part, shape.turn] = (running.shape[1], 0) if column < 0 else (column, row)
    return None if column < 0 else (column, row)


def _put(shape: _Shape, column: int, row: int, cell: float) -> _Put:
    x = column * cell + shape.room.offset[0]
    y = row * cell + shape.room.offset[1]
    return _Put(shape.part, shape.turn, round(x, 4), round(y, 4))


def _extent(put: _Put, shapes: list[list[_Shape]], cell: float) -> float:
    """How far a part with its kerf reaches to the right of its origin."""
    shape = next(one for one in shapes[put.part] if one.turn == put.turn)
    return shape.room.width * cell - shape.room.offset[0]


def _merit(puts: list[_Put], shapes: list[list[_Shape]], cell: float) -> tuple[float, float, float]:
    """More parts first, then a shorter length, then everything further left: the offcut stays whole."""
    return len(puts), -_used(puts, shapes, cell), -sum(put.x for put in puts)


def _used(puts: Sequence[_Put], shapes: list[list[_Shape]], cell: float) -> float:
    return max((put.x + _extent(put, shapes, cell) for put in puts), default=0.0)


def _named(puts: Sequence[_Put], order: LayOrder) -> tuple[PlacedPart, ...]:
    """The parts by kind and number: those that were settled keep their names, the rest take what is left."""
    placed = []
    for index, (part, count) in enumerate(order.parts):
        settled = {one.name: one for one in order.settled if one.part == part}
        mine = iter(sorted((put for put in puts if put.part == index), key=lambda put: (put.x, put.y)))
        for number in range(1, count + 1):
            name = placed_name(part.name, number, count)
            if name in settled:
                placed.append(settled[name])
            elif (put := next(mine, None)) is not None:
                placed.append(PlacedPart(name=name, part=part, sheet=1, x=put.x, y=put.y, turn_deg=put.turn))
    return tuple(placed)


def _refusal(order: LayOrder, puts: Sequence[_Put], counts: Sequence[int]) -> Finding:
    left = [count - sum(put.part == i for put in puts) for i, count in enumerate(counts)]
    names = " and ".join(
        f"{count} of {total} {part.name}"
        for (part, total), count in zip(order.parts, left, strict=True)
        if count
    )
    needed = _length_needed(order, counts)
    width, height = (show_length(side, order.units) for side in order.size)
    others = [word for word, there in (("flaws", order.flaws), ("settled parts", order.settled)) if there]
    around = " and ".join(["the clamps", *others])
    remedy = "fewer parts, smaller parts, or clamps further out"
    if needed is not None:
        longer = show_length(math.ceil(needed), order.units)
        remedy = (
            f"a sheet {longer} long and {height} wide would take them all with these clamps; or cut fewer"
        )
    if order.settled:
        remedy += ", or let the parts that have a place be laid out again"
    return Finding(
        level=Level.STOP,
        kind="does-not-fit",
        text=f"{names} did not fit on the sheet of {width} x {height} around {around}.",
        remedy=remedy,
    )


def _length_needed(order: LayOrder, counts: Sequence[int]) -> float | None:
    """Length of a sheet as wide as this one, with the clamps where they are, that takes every part."""
    length = order.size[0]
    for _ in range(4):
        length *= 2
        size = (length, order.size[1])
        cell = max(1.0, math.sqrt(size[0] * size[1] / MOST_CELLS))
        shapes = _shapes(order, cell)
        sheet = _empty_sheet(order, size, cell)
        puts = _lay_in(_sequences(order, counts)[0], shapes, sheet)
        if len(puts) == sum(counts):
            return _used(puts, shapes, cell) + order.edge_margin
    return None
