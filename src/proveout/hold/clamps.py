"""Clamps where they sit: bar, bolt, knob and the patch that presses on the stock."""

from dataclasses import replace
from typing import Final

import numpy as np
import shapely
from shapely import Point, Polygon, box
from shapely.affinity import rotate, translate

from proveout.figure import Figure
from proveout.hold.chain import stood_by
from proveout.hold.preload import clamp_force
from proveout.job.grid import hole_at, holes_of
from proveout.job.records import ClampAt, ClampKind, Inserts, Job, Plate, Stock
from proveout.setup import Obstacle, PlacedClamp
from proveout.shelf.tables import thread

INSERT_LENGTH: Final = 50.0  # mm, deeper than any cut: an insert has metal all the way down
QUARTERS: Final = {"right": 0.0, "back": 90.0, "left": 180.0, "front": 270.0}


def placed_clamps(job: Job) -> tuple[PlacedClamp, ...]:
    """The job's clamps in the internal frame."""
    kinds = {kind.name: kind for kind in job.shop.clamps}
    return tuple(_placed(at, kinds[at.clamp], job) for at in job.clamps)


def clamp_forces(job: Job) -> tuple[Figure, ...]:
    """What each of the job's clamps presses with, and why."""
    kinds = {kind.name: kind for kind in job.shop.clamps}
    return tuple(
        replace(
            _force(at, kinds[at.clamp], job),
            name=f"hold.clamp at {at.hole}.force",
        )
        for at in job.clamps
    )


def _force(at: ClampAt, kind: ClampKind, job: Job) -> Figure:
    """By the hand, and never more than the clamp's own links stand."""
    bite = bite_of(kind, at, job)
    return clamp_force(kind, bite=bite, stands=stood_by(kind, job.shop.plate, bite))


def _placed(at: ClampAt, kind: ClampKind, job: Job) -> PlacedClamp:
    stock, name = job.stock, f"clamp at {at.hole}"
    x, y = (a - b for a, b in zip(hole_at(job.shop.plate, at.hole), stock.at, strict=True))
    bar = bar_outline(kind, at, (x, y))
    pressing = bar.intersection(box(0, 0, *stock.size))
    solid, *below_and_above = solids_at(kind, bar, (x, y), thickest=stock.thickest, name=name)
    return PlacedClamp(
        name=name,
        hole=at.hole,
        bar=solid,
        bolt=tuple(below_and_above),
        pressing=pressing if isinstance(pressing, Polygon) else Polygon(),
        force=_force(at, kind, job).low or 0.0,
        bolt_size=kind.bolt,
    )


def solids_at(
    kind: ClampKind, bar: Polygon, bolt_xy: tuple[float, float], *, thickest: float, name: str
) -> tuple[Obstacle, Obstacle, Obstacle]:
    """What stands there of a clamp: its bar on the stock, the bolt below the bar, the knob above it."""
    top = thickest + kind.thickness
    axis = Point(bolt_xy)
    bolt = axis.buffer(thread(kind.bolt).diameter / 2, quad_segs=32)
    knob = axis.buffer(kind.knob_diameter / 2, quad_segs=32)
    return (
        Obstacle(kind="clamp", name=name, footprint=bar, bottom=thickest, top=top),
        Obstacle(kind="bolt", name=f"bolt of the {name}", footprint=bolt, bottom=0.0, top=top),
        Obstacle(
            kind="bolt",
            name=f"knob of the {name}",
            footprint=knob,
            bottom=top,
            top=top + kind.knob_height,
        ),
    )


def bar_outline(kind: ClampKind, at: ClampAt, bolt_xy: tuple[float, float]) -> Polygon:
    """The bar from above, its nose pointing towards the work."""
    along_x = box(kind.nose_to_bolt - kind.length, -kind.width / 2, kind.nose_to_bolt, kind.width / 2)
    turned = rotate(along_x, QUARTERS[at.towards], origin=(0, 0))
    return translate(turned, *bolt_xy)


def bite_of(kind: ClampKind, at: ClampAt, job: Job) -> float:
    """How far the nose lies over the stock, mm; negative where it doesn't reach."""
    x, y = (a - b for a, b in zip(hole_at(job.shop.plate, at.hole), job.stock.at, strict=True))
    reach = kind.nose_to_bolt
    match at.towards:
        case "right":
            return x + reach
        case "left":
            return job.stock.size[0] - (x - reach)
        case "back":
            return y + reach
        case "front":
            return job.stock.size[1] - (y - reach)


def placed_inserts(plate: Plate, stock: Stock) -> tuple[Obstacle, ...]:
    """The plate's metal inserts in the internal frame."""
    inserts, holes = plate.inserts, list(holes_of(plate))
    centres = shapely.points(np.array([at for _, at in holes]).reshape(-1, 2) - stock.at)
    discs = shapely.buffer(centres, inserts.diameter / 2, quad_segs=16)
    return tuple(_insert(name, disc, inserts) for (name, _), disc in zip(holes, discs, strict=True))


def _insert(name: str, footprint: Polygon, inserts: Inserts) -> Obstacle:
    return Obstacle(
        kind="insert",
        name=f"insert at {name}",
        footprint=footprint,
        bottom=-INSERT_LENGTH,
        top=-inserts.depth_below_face,
    )
