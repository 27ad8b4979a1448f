"""Where clamps could stand: every kind at every hole beside the blank from which its nose reaches over it."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from shapely import Point, Polygon, box

from proveout.hold.chain import stood_by
from proveout.hold.clamps import bar_outline
from proveout.hold.preload import clamp_force
from proveout.job.grid import WAYS, hole_at, holes_of
from proveout.job.records import ClampAt, ClampKind, Plate, Stock
from proveout.shelf.tables import thread

LEAST_BITE: Final = 6.0  # mm that a nose lies over the blank; project default
MOST_BITE: Final = 40.0  # mm; further in it is in the cutter's way for nothing
BESIDE: Final = 0.5  # mm between a bolt and the blank


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """One clamp at one hole, in the blank's own frame."""

    at: ClampAt
    kind: ClampKind
    bolt: tuple[float, float]  # its axis
    bar: Polygon
    patch: Polygon  # that presses on the blank
    bite: float
    force: float  # N on the work, at its low end
    highest: float  # N, of a strong hand on a slippery thread


def places(plate: Plate, stock: Stock, kinds: Sequence[ClampKind]) -> tuple[Place, ...]:
    """All places, kind by kind and hole by hole; only kinds whose bolt fits the plate's inserts."""
    return tuple(
        place
        for kind in kinds
        if kind.bolt == plate.inserts.thread and kind.count > 0
        for place in _of_kind(plate, stock, kind)
    )


def _of_kind(plate: Plate, stock: Stock, kind: ClampKind) -> Iterator[Place]:
    blank = box(0.0, 0.0, *stock.size)
    bed = box(-stock.at[0], -stock.at[1], plate.size[0] - stock.at[0], plate.size[1] - stock.at[1])
    bolt = thread(kind.bolt).diameter / 2 + BESIDE
    for name, (hole_x, hole_y) in holes_of(plate):
        x, y = hole_x - stock.at[0], hole_y - stock.at[1]
        if Point(x, y).distance(blank) < bolt:
            continue
        for way, (along_x, along_y) in WAYS.items():
            bite = _bite((x, y), (along_x, along_y), kind.nose_to_bolt, stock.size)
            if not LEAST_BITE <= bite <= MOST_BITE:
                continue
            at = ClampAt(clamp=kind.name, hole=name, towards=way)
            bar = bar_outline(kind, at, (x, y))
            patch = bar.intersection(blank)
            full = bite * kind.width
            if not bed.covers(bar) or not isinstance(patch, Polygon) or patch.area < 0.999 * full:
                continue  # off the plate, or over the blank's corner
            yield _place(at, kind, plate, (x, y), bar, patch, bite)


def stated_places(
    plate: Plate, stock: Stock, kinds: Sequence[ClampKind], clamps: Sequence[ClampAt]
) -> tuple[Place, ...]:
    """Clamps where a job says that they stand; those that press on nothing are left out."""
    blank = box(0.0, 0.0, *stock.size)
    named = {kind.name: kind for kind in kinds}
    found: list[Place] = []
    for at in clamps:
        kind, (hole_x, hole_y) = named[at.clamp], hole_at(plate, at.hole)
        xy = hole_x - stock.at[0], hole_y - stock.at[1]
        bar = bar_outline(kind, at, xy)
        patch = bar.intersection(blank)
        if isinstance(patch, Polygon) and not patch.is_empty:
            found.append(
                _place(
                    at,
                    kind,
                    plate,
                    xy,
                    bar,
                    patch,
                    _bite(xy, WAYS[at.towards], kind.nose_to_bolt, stock.size),
                )
            )
    return tuple(found)


def _place(
    at: ClampAt,
    kind: ClampKind,
    plate: Plate,
    bolt: tuple[float, float],
    bar: Polygon,
    patch: Polygon,
    bite: float,
) -> Place:
    force = clamp_force(kind, bite=bite, stands=stood_by(kind, plate, bite))
    return Place(
        at=at,
        kind=kind,
        bolt=bolt,
        bar=bar,
        patch=patch,
        bite=bite,
        force=force.low or 0.0,
        highest=force.high or 0.0,
    )


def _bite(bolt: tuple[float, float], way: tuple[int, int], reach: float, size: tuple[float, float]) -> float:
    """How far the nose lies over the blank; below 0 where it points elsewhere or doesn't reach."""
    axis = 0 if way[0] else 1
    from_edge = -bolt[axis] if way[axis] > 0 else bolt[axis] - size[axis]
    return reach - from_edge if from_edge > 0 else -math.inf
