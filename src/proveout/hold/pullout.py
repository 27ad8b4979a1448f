"""What pulls a threaded insert out of a plate, and what strips a bolt's thread in it, N."""

import math
from typing import Final

from proveout.shelf.materials import SHEAR_VARIATION, TENTH_IN_A_HUNDRED, Material, unfavourable

FILLED: Final = (
    0.75  # of the cylinder about a thread that is wood, not the thread's own metal; project default
)
# Of a thread's ideal shear area, what the tolerances 6H and 6g leave on M6, rounded down (derived).
WORN: Final = 0.7
# Shear strength of an insert's metal, N/mm2. Die-cast zinc 214 (read, a die caster's table), free-cutting
# brass 0.6 of its 380 (read, a mill's table); the low end is under both, since zinc ages and is porous.
INSERT_SHEAR: Final = (180.0, 230.0)
# 0.6 of the tensile strength of class 4.6 and of class 8.8. ISO 898-1 (from memory).
BOLT_SHEAR: Final = (240.0, 480.0)


def lag_withdrawal(gravity: float, diameter: float, length: float) -> float:
    """Force that draws a lag screw out of side grain, N: an average of tests.

    p = 125.4 G^(3/2) D^(3/4) L in N and mm; 8100 G^(3/2) D^(3/4) L in lb and inches.

    Args:
        gravity: G, specific gravity, oven-dry mass on volume at 12 % moisture
        diameter: D of the shank, mm
        length: L of thread in the wood, mm
    Source: Wood Handbook FPL-GTR-190, chapter 8, lag screws (from memory; the timber code's 1800 was
        read, and is this over 4.5)
    """
    return 125.4 * math.pow(gravity, 1.5) * math.pow(diameter, 0.75) * length


def board_withdrawal(gravity: float, diameter: float, length: float) -> float:
    """Force that draws a screw out of the face of particleboard, N: an average of tests.

    p = 41.1 D^(1/2) (L - D/3)^(5/4) G^2 in N and mm.

    Source: Wood Handbook FPL-GTR-190, chapter 8, screws in particleboard (from memory); for fibreboard
        and for an insert a stretch of the rule
    """
    return 41.1 * math.sqrt(diameter) * math.pow(max(length - diameter / 3, 0.0), 1.25) * gravity**2


def sheared_cylinder(shear: float, diameter: float, length: float) -> float:
    """Force that shears the wood out round a thread's outside, N: tau pi D L.

    Source: statics
    """
    return shear * math.pi * diameter * length


def insert_pullout(stuff: Material, diameter: float, length: float) -> tuple[float, float, float]:
    """Force that pulls an insert out of a panel's face, N: the least to count on, the usual, the most.

    The least is the lower of two: the shear strength at its unfavourable end on three quarters of the
    cylinder about the thread, and the published average for screws less the scatter of shear. The usual is
    that average, of lag screws, or of screws in particleboard for fibreboard.

    Source: statics; Wood Handbook, chapter 8 (from memory)

    Args:
        stuff: of the plate
        diameter: over the insert's outside thread
        length: of that thread
    """
    whole = sheared_cylinder(stuff.panel_shear, diameter, length)
    least = FILLED * whole
    if stuff.kind in ("plastic", "metal"):
        return least, least, whole
    gravity = stuff.density / 1120  # 12 % of water: Wood Handbook, chapter 4
    screw = board_withdrawal if stuff.kind == "fibreboard" else lag_withdrawal
    average = screw(gravity, diameter, length)
    low = min(least, unfavourable(average, SHEAR_VARIATION, TENTH_IN_A_HUNDRED))
    return low, average, max(average, whole)


def internal_thread_area(diameter: float, engaged: float) -> float:
    """Shear area of a nut's or an insert's thread, mm2, of ideal form.

    A = pi D Le (1/2 + tan 30 (D - D2) / P), which is 7/8 pi D Le for the 60 degree thread, D2 = D - 0.6495 P.

    Source: ASME B1.1, shear areas (formula read in two public tables)
    """
    return 0.875 * math.pi * diameter * engaged


def external_thread_area(diameter: float, pitch: float, engaged: float) -> float:
    """Shear area of a bolt's thread, mm2, of ideal form.

    A = pi D1 Le (1/2 + tan 30 (D2 - D1) / P), which is 3/4 pi D1 Le, with D1 = D - 1.0825 P.

    Source: ASME B1.1, shear areas (formula read in two public tables)
    """
    return 0.75 * math.pi * (diameter - 1.0825 * pitch) * engaged


def stripping(diameter: float, pitch: float, engaged: float) -> tuple[float, float]:
    """Pull that strips a steel bolt's thread or the insert's round it, N, at its least and its most.

    Args:
        diameter: of the bolt
        pitch: of its thread
        engaged: length of thread in thread
    """
    inside, outside = (
        internal_thread_area(diameter, engaged),
        external_thread_area(diameter, pitch, engaged),
    )
    low = WORN * min(INSERT_SHEAR[0] * inside, BOLT_SHEAR[0] * outside)
    return low, min(INSERT_SHEAR[1] * inside, BOLT_SHEAR[1] * outside)
