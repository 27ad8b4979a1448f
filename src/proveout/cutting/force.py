"""Chip, force, power and bending of one cutter: plain formulas, mm, N, N/mm2, W."""

import math
from typing import Final

from proveout.job.records import Cutter, Machine, Spindle, Spiral

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


def bending(
    diameter: float,
    length: float,
    modulus: float,
    fluted: float = math.inf,
    shank: float | None = None,
) -> float:
    """Sideways give of a cutter's tip, mm/N: a stepped cantilever, (l^3 / I1 + (L^3 - l^3) / I2) / 3E.

    The fluted section counts as a round bar of 0.8 D. Loading the tip is unfavourable: the cut is spread.

    Args:
        diameter: of the cutter, mm
        length: L, from the tip to the collet
        modulus: E, N/mm2
        fluted: l, from the tip; all of the length where nothing is said
        shank: its diameter; the cutter's own where nothing is said
    Source: beam theory; 0.8 D from Kops and Vo, CIRP Annals 39 (1990), abstract read
    """
    flutes = min(fluted, length)
    weak = flutes**3 / _inertia(FLUTED * diameter)
    return (weak + (length**3 - flutes**3) / _inertia(shank or diameter)) / (3 * modulus)


def _inertia(diameter: float) -> float:
    return math.pi * diameter**4 / 64


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


def engaged_angle(width: float, radius: float) -> float:
    """Arc of a cutter's rim in the material, rad: cos(phi) = 1 - ae/R; a half turn in a full slot."""
    return math.acos(max(1 - width / radius, -1.0))


def thickest_chip(per_tooth: float, angle: float) -> float:
    """Greatest thickness of a chip, mm: fz sin(phi), and fz itself from a quarter turn on."""
    return per_tooth * math.sin(min(angle, math.pi / 2))


def mean_chip(per_tooth: float, angle: float) -> float:
    """Mean thickness of a chip over the engaged arc, mm: fz (1 - cos(phi)) / phi."""
    return per_tooth * (1 - math.cos(angle)) / angle


def power_at(spindle: Spindle, speed_rpm: float) -> float:
    """What a spindle has at a speed, W: in proportion up to its highest, as of a motor of one torque.

    Source: common practice, no source; the maker's curve may say more or less
    """
    return spindle.power * min(speed_rpm / spindle.max_rpm, 1.0)


def give(cutter: Cutter, machine: Machine) -> float:
    """By how much cutter and gantry together give way sideways, mm/N."""
    modulus = CARBIDE if cutter.carbide else STEEL
    fluted, shank = cutter.flute_length, cutter.shank_diameter
    return bending(cutter.diameter, cutter.stick_out, modulus, fluted, shank) + 1 / machine.stiffness


def stress(cutter: Cutter) -> float:
    """Greatest bending stress along a cutter for each newton at its tip, 1/mm2.

    Either where its flutes end, on 0.8 D, or where its shank leaves the collet: 32 L / (pi d^3).
    """
    at_flutes = _bent(FLUTED * cutter.diameter, min(cutter.flute_length, cutter.stick_out))
    if cutter.flute_length >= cutter.stick_out:
        return at_flutes
    return max(at_flutes, _bent(cutter.shank_diameter, cutter.stick_out))


def _bent(diameter: float, arm: float) -> float:
    return 32 * arm / (math.pi * diameter**3)
