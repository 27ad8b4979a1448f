"""How far a cutter's path must stay from what stands on the bed."""

from collections.abc import Iterable, Sequence
from typing import Final

from shapely import Polygon
from shapely.geometry.base import BaseGeometry
from shapely.ops import unary_union

from proveout.job.records import Cutter, Spindle
from proveout.setup import Obstacle

OVER: Final = 2.0  # mm; project default, as the prover wants it of rapids


def thick_parts(cutter: Cutter, spindle: Spindle) -> tuple[tuple[float, float], ...]:
    """What turns above the tip: (radius, height above the tip at which it begins), from the tip up."""
    return (
        (cutter.radius, 0.0),
        (cutter.shank_diameter / 2, cutter.flute_length),
        (spindle.nut_diameter / 2, cutter.stick_out),
        (spindle.body_diameter / 2, cutter.stick_out + spindle.nut_length),
    )


def standoff(obstacle: Obstacle, cutter: Cutter, spindle: Spindle, lowest_tip: float) -> float:
    """Least distance of a cutter's axis from an obstacle while its tip may be as low as lowest_tip, mm.

    What turns less than OVER above an obstacle counts as beside it: a knob may stand a turn higher.
    """
    top = obstacle.top + OVER
    beside = [radius for radius, above in thick_parts(cutter, spindle) if lowest_tip + above < top]
    return max(beside, default=0.0)


def keep_out(
    obstacles: Iterable[Obstacle],
    cutters: Sequence[Cutter],
    spindle: Spindle,
    *,
    lowest_tip: float,
    clearance: float,
) -> BaseGeometry:
    """Where no axis of these cutters may come, as one region."""
    grown: list[Polygon] = []
    for obstacle in obstacles:
        away = max(standoff(obstacle, cutter, spindle, lowest_tip) for cutter in cutters)
        if away > 0:
            grown.append(obstacle.footprint.buffer(away + clearance, quad_segs=16))
    return unary_union(grown)
