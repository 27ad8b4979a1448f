"""What the clamped blank can stand sideways, and the margin that leaves."""

import math
from collections.abc import Sequence
from typing import Final

from shapely import Polygon

from proveout.figure import Figure
from proveout.finding import Finding, Level
from proveout.setup import Grip, PlacedClamp
from proveout.shelf.cited import cited
from proveout.shelf.holding import Friction
from proveout.shelf.materials import Material
from proveout.shelf.tables import friction

SPREAD: Final = 0.5  # of the sheet's longer side
WANTED: Final = 3.0  # safety on friction alone; project default after fixture-design practice of 2 and more


def plate_friction(stock: Material) -> Friction:
    """What the underside of a stock does on a wooden plate: plastics slide the most easily."""
    pairs = {"plastic": "plastic on wood", "fibreboard": "wood on fibreboard"}
    return friction(pairs.get(stock.kind, "wood on wood"))


def holding_force(
    clamps: tuple[PlacedClamp, ...],
    stock: Material,
    forces: tuple[Figure, ...] = (),
    grips: Sequence[Grip] = (),
) -> Figure:
    """Sideways force that friction under the blank can stand, N: mu times the sum of the clamps' forces.

    What tape, screws and dowels stand of their own is added, and what a vacuum presses with. Stops are left
    out: they stand pushes towards them only.

    Friction under the clamps' noses is left out: a strap may swing about its bolt.

    Args:
        clamps: where they sit, each with its force at the low end
        stock: that lies on the plate
        forces: the figures those forces come from
        grips: what else holds it
    """
    pair = plate_friction(stock)
    pressed = sum(clamp.force for clamp in clamps) + sum(grip.force for grip in grips)
    stands = pair.design * pressed + sum(grip.shear for grip in grips)
    others = ", and what tape, screws and dowels stand sideways" if grips else ""
    return Figure(
        name="hold.friction",
        value=stands,
        unit="N",
        rule=f"design friction of {pair.pair} times the clamps' forces, each at its low end{others}",
        source=cited(pair),
        inputs=forces,
        low=stands,
    )


def margin_findings(
    capacity: Figure,
    force: float,
    clamps: Sequence[PlacedClamp | Grip],
    stock: Material,
    lift: float = 0.0,
) -> list[Finding]:
    """Whether the hold-down stands the greatest cutting force with the margin that is wanted.

    Args:
        capacity: what friction stands sideways
        force: sideways, of a dull cutter, N
        clamps: and whatever else holds the blank
        stock: that lies on the plate
        lift: by which an up-cut spiral takes load off the bed, N
    """
    if not clamps or force <= 0:
        return []
    stands = max(capacity.value - plate_friction(stock).design * lift, 0.0)
    margin = stands / force
    if margin >= WANTED:
        return []
    short = capacity.value + WANTED * force - stands
    needed = math.ceil(short / capacity.value * len(clamps)) if capacity.value > 0 else len(clamps) + 1
    return [
        Finding(
            level=Level.STOP if margin < 1 else Level.CAUTION,
            kind="hold-margin",
            text=(
                f"{_holders(clamps)} {stands:.0f} N sideways; a dull cutter pushes with "
                f"up to {force:.0f} N. That is a margin of {margin:.1f}, where {WANTED:g} is wanted."
            ),
            remedy=_firmer(clamps, needed, short / capacity.value if capacity.value > 0 else 0.0),
        )
    ]


def _holders(held: Sequence[PlacedClamp | Grip]) -> str:
    clamped = all(isinstance(one, PlacedClamp) for one in held)
    return "The clamps' friction stands" if clamped else "All that holds the blank stands"


def _firmer(held: Sequence[PlacedClamp | Grip], needed: int, times: float) -> str:
    if all(isinstance(one, PlacedClamp) for one in held):
        return f"use {needed} clamps like these, or set stops against the blank's edges"
    said = f"{math.ceil(times * 10) / 10:.1f} times as firmly" if times else "much more firmly"
    return f"hold it {said}: more clamps, more tape, or screws through the waste"


def spread_findings(clamps: tuple[PlacedClamp, ...], size: tuple[float, float]) -> list[Finding]:
    """Whether the clamps stand far enough apart to keep the blank from turning and its far end from lifting.

    The sum of friction says nothing of a lever: one clamp, or several at one end, let the rest swing. At
    least half the sheet's longer side between the outermost is common practice, no source.
    """
    pressing = [clamp.pressing for clamp in clamps if not clamp.pressing.is_empty]
    if not pressing or is_spread(pressing, size):
        return []
    span, axis = _span(pressing, size), 0 if size[0] >= size[1] else 1
    return [
        Finding(
            level=Level.CAUTION,
            kind="hold-margin",
            text=(
                f"The clamps press within {span:.0f} mm of a sheet {size[axis]:.0f} mm "
                "long: the rest can swing and lift."
            ),
            remedy=f"spread them over at least {SPREAD * size[axis]:.0f} mm, one at least near each end",
        )
    ]


def is_spread(pressing: Sequence[Polygon], size: tuple[float, float]) -> bool:
    """Whether patches that press lie far enough apart along the sheet's longer side."""
    return _span(pressing, size) >= SPREAD * max(size)


def _span(pressing: Sequence[Polygon], size: tuple[float, float]) -> float:
    axis = 0 if size[0] >= size[1] else 1
    along = [float((patch.centroid.x, patch.centroid.y)[axis]) for patch in pressing]
    return max(along) - min(along)
