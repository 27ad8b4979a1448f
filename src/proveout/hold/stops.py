"""Stops where they stand against the blank's edges, and what they leave it of motion."""

from collections.abc import Sequence
from typing import Final

import numpy as np
from shapely import box

from proveout.figure import Figure
from proveout.hold.form_closure import Free, free_motion
from proveout.job.records import Job, Stock, StopAt
from proveout.setup import Obstacle, PlacedStop
from proveout.shelf.cited import cited
from proveout.shelf.materials import Material
from proveout.shelf.tables import material

INTO: Final = {"left": (1.0, 0.0), "right": (-1.0, 0.0), "front": (0.0, 1.0), "back": (0.0, -1.0)}


def placed_stops(job: Job) -> tuple[PlacedStop, ...]:
    """The job's stops in the internal frame, each with what it stands at its low end."""
    wood = material(job.stock.material)
    return tuple(_placed(one, number, job.stock, wood) for number, one in enumerate(job.means.stops, 1))


def stop_figures(job: Job) -> tuple[Figure, ...]:
    """What each of the job's stops stands, and why."""
    wood = material(job.stock.material)
    return tuple(
        stop_strength(one, f"stop {number}", job.stock, wood) for number, one in enumerate(job.means.stops, 1)
    )


def stop_strength(stop: StopAt, name: str, stock: Stock, wood: Material) -> Figure:
    """The push that a stop stands, N: bearing of the blank's edge, or what is stated if that is less."""
    touch = stop.width * min(stop.height or stock.thinnest, stock.thinnest)
    low, usual = wood.crush_low * touch, wood.crush * touch
    rule = "the edge's bearing: the stop's width times the sheet's thinnest reading times what dents the wood"
    if stop.stands is not None:
        low, usual = min(low, stop.stands), min(usual, stop.stands)
        rule += ", at most what the stop is said to stand"
    return Figure(
        name=f"hold.{name}.stands",
        value=usual,
        unit="N",
        rule=rule,
        source=f"statics; {cited(wood)}",
        low=low,
        high=usual,
    )


def _placed(stop: StopAt, number: int, stock: Stock, wood: Material) -> PlacedStop:
    name, push = f"stop {number}", INTO[stop.side]
    return PlacedStop(
        name=name,
        at=stop.at,
        push=push,
        stands=stop_strength(stop, name, stock, wood).low or 0.0,
        solid=_block(stop, name, push, stock),
    )


def _block(stop: StopAt, name: str, push: tuple[float, float], stock: Stock) -> Obstacle:
    """The stop as a solid: half its width to either side of where it touches, and away from the blank."""
    half = stop.width / 2
    spans = [
        sorted((place, place - way * stop.depth)) if way else [place - half, place + half]
        for place, way in zip(stop.at, push, strict=True)
    ]
    (left, right), (front, back) = spans
    top = stock.thinnest if stop.height is None else stop.height
    return Obstacle(kind="stop", name=name, footprint=box(left, front, right, back), bottom=0.0, top=top)


def left_free(stops: Sequence[PlacedStop]) -> Free | None:
    """A motion that the stops alone leave the blank; None where they close it in."""
    return free_motion(
        np.array([one.at for one in stops]).reshape(-1, 2),
        np.array([one.push for one in stops]).reshape(-1, 2),
    )
