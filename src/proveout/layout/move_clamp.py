"""Where a clamp could stand instead: the nearest hole from which it reaches the sheet, in nothing's way."""

import math
from collections.abc import Sequence
from typing import Final

from shapely.geometry.base import BaseGeometry

from proveout.finding import Edit, Way
from proveout.hold.clamps import placed_clamps, solids_at
from proveout.hold.grips import placed_grips
from proveout.hold.places import Place, places
from proveout.hold.stops import placed_stops
from proveout.job.grid import hole_at
from proveout.job.records import ClampAt, Job
from proveout.layout.clear_places import clear_places
from proveout.parts.part import PlacedPart
from proveout.setup import other_solids

# mm between its bolt's places: further away it would no longer hold what it held. The project's own choice.
FURTHEST: Final = 100.0


def nearest_place(job: Job, number: int, placed: Sequence[PlacedPart]) -> ClampAt | None:
    """Where one of the job's clamps would be in no cutter's way; None where there is no such hole.

    Args:
        number: which clamp, counted from 0
        placed: every part where it lies
    """
    now, shop = job.clamps[number], job.shop
    kind = next(one for one in shop.clamps if one.name == now.clamp)
    taken = {one.hole for one in job.clamps}
    around = _others(job, number)
    free = [
        one
        for one in places(shop.plate, job.stock, [kind])
        if one.at.hole not in taken and _stands_free(one, around, job.stock.thickest)
    ]
    clear = clear_places(
        free,
        placed,
        shop.cutters,
        shop.machine.spindle,
        thickest=job.stock.thickest,
        lowest_tip=-job.through_allowance,
    )
    x, y = (a - b for a, b in zip(hole_at(shop.plate, now.hole), job.stock.at, strict=True))

    def away(one: Place) -> tuple[float, bool, str]:
        return math.dist((x, y), one.bolt), one.at.towards != now.towards, one.at.hole

    near = [one for one in clear if away(one)[0] <= FURTHEST]
    return min(near, key=away).at if near else None


def clamp_way(job: Job, number: int, placed: Sequence[PlacedPart]) -> tuple[Way, ...]:
    """The way out that moves a clamp, where there is a place for it."""
    now, there = job.clamps[number], nearest_place(job, number, placed)
    if there is None:
        return ()
    edits = [Edit(what="set", keys=("clamps", number, "hole"), value=there.hole)]
    turned = f", pointing {there.towards}" if there.towards != now.towards else ""
    if turned:
        edits.append(Edit(what="set", keys=("clamps", number, "towards"), value=there.towards))
    return (Way(says=f"Move the clamp at {now.hole} to {there.hole}{turned}", edits=tuple(edits)),)


def _others(job: Job, number: int) -> list[BaseGeometry]:
    """What stands on the bed besides one of the clamps, from above."""
    clamps = [one for place, one in enumerate(placed_clamps(job)) if place != number]
    solids = [solid for one in clamps for solid in (one.bar, *one.bolt)]
    solids += other_solids(placed_grips(job), placed_stops(job))
    return [solid.footprint for solid in solids]


def _stands_free(place: Place, around: Sequence[BaseGeometry], thickest: float) -> bool:
    solids = solids_at(place.kind, place.bar, place.bolt, thickest=thickest, name=place.at.hole)
    return not any(solid.footprint.intersects(other) for solid in solids for other in around)
