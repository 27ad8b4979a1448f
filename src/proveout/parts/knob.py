"""The lobed knob: a round hand knob with scallops, nothing but tangent arcs.

Lobes and scallops are arcs of one and the same radius, each running into the next without a corner, so the
rim is comfortable and a round cutter can follow all of it. The frame's origin is the knob's axis; a lobe
points along +X.
"""

import math
from typing import Final

from proveout.curve import Curve, Point, Segment

FEWEST_LOBES: Final = 3  # with two it is a bar


def lobed_outline(diameter: float, lobes: int, scallop_depth: float) -> Curve:
    """The knob's rim, anticlockwise: lobes that touch the diameter, scallops that dip below it.

    Args:
        diameter: over the lobes
        lobes: how many, evenly spaced
        scallop_depth: from the lobes' circle to the bottom of a scallop
    Raises:
        ValueError: as `rim_radius`
    """
    rim = rim_radius(diameter, lobes, scallop_depth)
    step = math.pi / lobes
    lobe_at = diameter / 2 - rim
    scallop_at = diameter / 2 - scallop_depth + rim
    segments: list[Segment] = []
    for number in range(lobes):
        middle = 2 * number * step
        lobe = _polar(lobe_at, middle)
        before = _halfway(lobe, _polar(scallop_at, middle - step))
        after = _halfway(lobe, _polar(scallop_at, middle + step))
        following = _halfway(_polar(lobe_at, middle + 2 * step), _polar(scallop_at, middle + step))
        segments.append(Segment(before, after, lobe, ccw=True))
        segments.append(Segment(after, following, _polar(scallop_at, middle + step), ccw=False))
    return Curve(tuple(segments))


def rim_radius(diameter: float, lobes: int, scallop_depth: float) -> float:
    """Radius of the lobes and of the scallops; no cutter of a larger radius can follow the rim.

    With R half the diameter, P = R - scallop_depth, c = cos(180 deg / lobes) and a the radius, a lobe's
    centre lies at R - a and a scallop's at P + a; they touch where these centres are 2a apart, which gives
    2(1-c) a^2 + 2(1+c)(R-P) a - (R^2 + P^2 - 2cRP) = 0. Exact.

    Raises:
        ValueError: fewer than three lobes, or scallops that are not above 0 or deeper than `deepest_scallop`
    Source: plane geometry
    """
    outer = diameter / 2
    if lobes < FEWEST_LOBES:
        raise ValueError(f"a lobed knob needs at least {FEWEST_LOBES} lobes, not {lobes}")
    deepest = deepest_scallop(diameter, lobes)
    if not 0 < scallop_depth <= deepest:
        raise ValueError(
            f"{lobes} lobes on {diameter:g} mm take scallops of up to {deepest:.2f} mm, "
            f"not {scallop_depth:g} mm"
        )
    inner = outer - scallop_depth
    cos = math.cos(math.pi / lobes)
    half_linear = (1 + cos) * scallop_depth
    square = 2 * (1 - cos)
    apart = outer**2 + inner**2 - 2 * cos * outer * inner
    # The root in the form that stays accurate where many lobes make `square` small.
    return apart / (half_linear + math.sqrt(half_linear**2 + square * apart))


def deepest_scallop(diameter: float, lobes: int) -> float:
    """Depth at which a scallop becomes a half circle; deeper ones would narrow towards their mouth.

    There the line between the centres of lobe and scallop stands square on the scallop's axis: with R half
    the diameter and b = 180 deg / lobes, (R - a) sin(b) = 2a and depth = R + a - (R - a) cos(b). Exact.

    Source: plane geometry
    """
    outer, half_step = diameter / 2, math.pi / lobes
    rim = outer * math.sin(half_step) / (2 + math.sin(half_step))
    return outer + rim - (outer - rim) * math.cos(half_step)


def _polar(distance: float, angle: float) -> Point:
    return distance * math.cos(angle), distance * math.sin(angle)


def _halfway(one: Point, other: Point) -> Point:
    return (one[0] + other[0]) / 2, (one[1] + other[1]) / 2
