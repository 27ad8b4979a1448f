"""Chip, force, power and bending of one cutter: plain formulas, mm, N, N/mm2, W."""

import math
from typing import Final

from proveout.job.records import Spiral

CARBIDE: Final = 580_000.0  # N/mm2, modulus; from memory, handbooks give 580-600 GPa
STEEL: Final = 200_000.0  # N/mm2, high-speed steel; from memory
FLUTED: Final = (
    0.80  # effective diameter of a fluted length; Kops and Vo, CIRP Annals 39 (1990), abstract read
)


def chip_load(feed: float, flutes: int, speed_rpm: float) -> float:
    """Feed per tooth, mm: fz = vf / (z n).

    Args:
        feed: mm/s
        flutes: z
        speed_rpm: n
    """
    return feed * 60 / (flutes * speed_rpm)


def feed_for(load: float, flutes: int, speed_rpm: float) -> float:
    """Feed that gives a chip load, mm/s."""
    return load * flutes * speed_rpm / 60


def tooth_force(depth: float, load: float, specific: float) -> float:
    """Greatest tangential force on a tooth in a full slot, N: k ap fz.

    Args:
        depth: ap
        load: fz, the thickest chip
        specific: k, specific cutting force at that chip, N/mm2
    """
    return specific * depth * load


def cutting_power(width: float, depth: float, feed: float, specific: float) -> float:
    """Power at the cutter, W: k ae ap vf, with k in N/mm2 and vf in mm/s (then N mm/s = mW)."""
    return specific * width * depth * feed / 1000


def bending(diameter: float, length: float, modulus: float) -> float:
    """Sideways give of a cutter's tip, mm/N: L^3 / (3 E I) of a cantilever loaded at its tip.

    The fluted section counts as a round bar of 0.8 D. Loading the tip is unfavourable: the cut is spread.

    Source: beam theory; 0.8 D from Kops and Vo, CIRP Annals 39 (1990), abstract read
    """
    inertia = math.pi * (FLUTED * diameter) ** 4 / 64
    return length**3 / (3 * modulus * inertia)


def lift(force: float, spiral: Spiral) -> float:
    """Pull of an up-cut spiral away from the bed, N: F tan(30 deg) at most; other spirals press or are level.

    Source: geometry of a helix of 30 degrees, the steepest that is usual on router cutters (common practice)
    """
    return force * math.tan(math.radians(30)) if spiral == "up" else 0.0


def drill_thrust(diameter: float, per_turn: float) -> float:
    """Thrust of a drill in wood, N: about 1.5 N for each mm of diameter and 0.01 mm a turn.

    Project default, to be measured.
    """
    return 1.5 * diameter * per_turn / 0.01
