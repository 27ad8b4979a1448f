"""Torque: what a hand puts in, what tension a bolt makes of it, what a wooden recess and its floor stand."""

import math
from typing import Final

LARGEST_GRIP: Final = 60.0  # mm; no measured hand supports more torque on a wider knob


def bolt_preload(torque_nmm: float, diameter: float, nut_factor: float = 0.2) -> float:
    """Tension that a tightening torque leaves in a bolt, N.

    F = T / (K D): all friction is lumped into K, so expect 30 % either way in a shop.

    Args:
        torque_nmm: at the head or nut
        diameter: of the thread, nominal
        nut_factor: K; about 0.2 dry, 0.15 oiled
    Raises:
        ValueError: a diameter or nut factor that is not positive
    Source: Shigley, Mechanical Engineering Design, chapter on screws and fasteners (from memory)
    """
    if diameter <= 0 or nut_factor <= 0:
        raise ValueError(f"diameter {diameter} and nut factor {nut_factor} must be positive")
    return torque_nmm / (nut_factor * diameter)


def hand_torque(knob_diameter: float, tangential_force: float) -> float:
    """Torque of a hand on a knob, N mm.

    T = F D / 2, for knobs of 30 to 60 mm; a wider one counts as 60 mm, since measured torques stop growing
    about there. Below 30 mm a hand does less than this.

    Args:
        knob_diameter: over the lobes
        tangential_force: of the hand at the rim, N
    Source: project default; published maximal efforts are 4 to 6.5 N m (Kreifeldt 1985, and a study of lobed
        handwheels in Human Factors; both read as quoted)
    """
    return tangential_force * min(knob_diameter, LARGEST_GRIP) / 2


def crushing_torque(pressure: float, depth: float, flat: float, sides: int = 6) -> float:
    """Torque that a polygonal recess holds when its walls are crushed evenly, N mm.

    Each side bears on half of its flat length L, under a uniform pressure p: T = n p k (L/2)^2 / 2. With
    whole sides of a hexagon (L = F / sqrt(3)) that is p k F^2 / 4.

    Args:
        pressure: at which the wall crushes, N/mm2
        depth: over which head and wall touch
        flat: length of flat wall on each side
    Source: statics
    """
    return sides * pressure * depth * (flat / 2) ** 2 / 2


def elastic_torque(peak_pressure: float, depth: float, flat: float, sides: int = 6) -> float:
    """Torque at which the walls' pressure, growing evenly from each side's middle, has that peak, N mm.

    T = n p k (L/2)^2 / 3; with whole sides of a hexagon p k F^2 / 6. Below it no lasting mark is left.

    Source: statics
    """
    return sides * peak_pressure * depth * (flat / 2) ** 2 / 3


def plywood_embedding(diameter: float, density: float) -> float:
    """Pressure under a bolt at which plywood embeds, N/mm2.

    f = 0.11 (1 - 0.01 d) rho, for bolts pressed in the plane of the panel, with large deformation. For a hex
    head this is a stretch of the rule: take it as the upper end.

    Args:
        diameter: of the bolt, or the flats of a head in its place
        density: kg/m3
    Source: EN 1995-1-1, rule for bolts in plywood, as coded in open timber-design programs (read)
    """
    return 0.11 * (1 - 0.01 * diameter) * density


def solid_wood_embedding(diameter: float, density: float) -> float:
    """Pressure under a bolt, across the grain of hardwood, at which it embeds, N/mm2.

    f = 0.082 (1 - 0.01 d) rho / k90, k90 = 0.90 + 0.015 d: across the grain, the weaker direction. (For
    softwood k90 is 1.35 + 0.015 d, which this takes where the density is under 500 kg/m3.)

    Source: EN 1995-1-1, rule for bolts in timber, as coded in open timber-design programs (read)
    """
    across = (1.35 if density < 500 else 0.90) + 0.015 * diameter
    return 0.082 * (1 - 0.01 * diameter) * density / across


def bearing_force(pressure: float, flats: float, hole: float) -> float:
    """Force at which a hexagonal head dents the floor that it lies on, N.

    F = p (sqrt(3)/2 F^2 - pi/4 d^2): the hexagon less the bolt's hole. Without a washer a head bears on its
    washer face alone at first, which is about half of that.

    Source: statics
    """
    return pressure * (math.sqrt(3) / 2 * flats**2 - math.pi / 4 * hole**2)


def punching_force(shear: float, flats: float, floor: float) -> float:
    """Force at which a hexagonal head shears the floor of its recess out, N.

    F = tau * 6 (F / sqrt(3)) * t: the head's rim times the floor, under the panel's shear strength. A floor
    that lies on something solid holds far more.

    Args:
        shear: strength through the thickness, N/mm2
        flats: of the head
        floor: thickness left
    Source: statics
    """
    return shear * 6 * flats / math.sqrt(3) * floor
