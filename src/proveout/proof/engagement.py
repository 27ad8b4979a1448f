"""How much of a cutter is in the cut, what chips it makes, and what they ask of it: plain formulas.

All work on arrays of any one shape. Angles in rad, lengths in mm, forces in N, power in W, feed in mm/s.
"""

from typing import Final

import numpy as np

from proveout.job.records import Cutter
from proveout.motion import Floats

CARBIDE: Final = 580_000.0  # N/mm2, modulus; from memory, handbooks give 580 to 600 GPa
STEEL: Final = 200_000.0  # N/mm2, high-speed steel; from memory
CORE: Final = 0.80  # effective diameter of a fluted length; Kops and Vo, CIRP Annals 39 (1990), abstract read


def engaged_angle(width: Floats, radius: Floats) -> Floats:
    """Arc of the cutter that is in material: cos(phi) = 1 - w/R.

    The width w is the area that the cut clears in plan for each mm of the way of the cutter's axis. On a
    straight way it is the radial width. On an arc of radius rho the cutter turns about the arc's middle as a
    rigid body, so it clears (r_out^2 - r_in^2) / 2 for each radian, r_in where its rim enters the material:
    r_in^2 = rho^2 + R^2 + 2 rho R cos(phi), r_out = rho + R, and the rho cancels. So the same formula holds
    inside a bore, round a boss and along an edge, wherever the engaged arc begins at the wall.

    Source: derived
    """
    angle: Floats = np.arccos(np.clip(1 - width / radius, -1.0, 1.0))
    return angle


def thickest_chip(per_tooth: Floats, angle: Floats) -> Floats:
    """Greatest thickness of a chip, mm: fz sin(phi), and fz itself from a quarter turn on."""
    thickest: Floats = per_tooth * np.sin(np.minimum(angle, np.pi / 2))
    return thickest


def mean_chip(per_tooth: Floats, angle: Floats) -> Floats:
    """Mean thickness of a chip over the engaged arc, mm: fz (1 - cos(phi)) / phi."""
    safe = np.maximum(angle, 1e-9)
    mean: Floats = per_tooth * (1 - np.cos(angle)) / safe
    return mean


def tangential_force(specific: Floats, depth: Floats, chip: Floats) -> Floats:
    """Greatest force on one tooth along its way, N: k ap h, k taken at that chip."""
    force: Floats = specific * depth * chip
    return force


def cutting_power(specific: Floats, rate: Floats) -> Floats:
    """Power at the cutter, W: k Q, with Q in mm3/s (N/mm2 times mm3/s is mW)."""
    power: Floats = specific * rate / 1000
    return power


def slimmest(cutter: Cutter) -> float:
    """The round bar that a cutter bends as, mm: 0.8 D, or its shank where that is slimmer still.

    A wide cutter on a slim shank bends, and breaks, in its shank.
    """
    return min(CORE * cutter.diameter, cutter.shank_diameter)


def bending(bar: float, length: float, modulus: float) -> float:
    """Sideways give of a cutter's tip, mm/N: L^3 / (3 E I), a cantilever loaded at its tip.

    Args:
        bar: its diameter, of a cutter its slimmest
        length: mm from the collet
        modulus: N/mm2

    Source: beam theory; 0.8 D from Kops and Vo, CIRP Annals 39 (1990), abstract read
    """
    inertia: float = np.pi * bar**4 / 64
    return length**3 / (3 * modulus * inertia)


def root_stress(force: Floats, bar: float, length: float) -> Floats:
    """Bending stress where a round bar leaves the collet, N/mm2: 32 F L / (pi d^3)."""
    stress: Floats = 32 * force * length / (np.pi * bar**3)
    return stress
