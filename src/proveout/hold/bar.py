"""A strap clamp's bar as a beam on its heel and its nose, the bolt's pull between, weakened by its slot."""

import math


def greatest_moment(pull: float, heel: float, nose: float) -> float:
    """Bending moment at the bolt, N mm: F a b / (a + b).

    Args:
        pull: of the bolt, F
        heel: from the bolt to where the heel bears, a
        nose: from the bolt to the middle of what the nose bears on, b
    Source: statics, a beam on two supports with one load between
    """
    return pull * heel * nose / (heel + nose)


def section_modulus(width: float, slot: float, thickness: float) -> float:
    """Of a bar across its slot, mm3: (w - s) t^2 / 6; none where the slot is as wide as the bar.

    Source: statics
    """
    return max(width - slot, 0.0) * thickness**2 / 6


def bending_pull(
    strength: float, *, width: float, slot: float, thickness: float, heel: float, nose: float
) -> float:
    """Pull of the bolt at which the bar breaks across its slot, N."""
    return strength * section_modulus(width, slot, thickness) / greatest_moment(1.0, heel, nose)


def shear_pull(
    strength: float,
    *,
    width: float,
    slot: float,
    thickness: float,
    arms: tuple[float, float],
    clear: tuple[float, float],
) -> float:
    """Pull of the bolt at which the bar's layers slide over each other beside the slot, N.

    tau = 1.5 V / ((w - s) t), V the force on the arm. Where washer and support come nearer to each other than
    the bar is thick, the wood between is pressed rather than sheared: V counts by that share.

    Args:
        strength: in planar shear, or along the grain
        width: of the bar, over all
        slot: its width
        thickness: of the bar
        arms: from the bolt to the heel's bearing and to the middle of the nose's
        clear: between the washer's rim and where each bears; not positive where they overlap
    Returns:
        infinite where neither arm is sheared
    Source: statics; EN 1995-1-1 leaves a load within a beam's height of its support out of the shear (from
        memory), of which the share counted here is the careful half
    """
    heel, nose = arms
    shares = (nose / (heel + nose), heel / (heel + nose))
    sheared = max(
        share * min(max(free / thickness, 0.0), 1.0) for share, free in zip(shares, clear, strict=True)
    )
    area = max(width - slot, 0.0) * thickness
    return math.inf if sheared == 0 else strength * area / 1.5 / sheared


def washer_on_slot(outside: float, slot: float) -> float:
    """Area of a washer that bears on both sides of a slot, mm2: the disc less the strip through its middle.

    Source: plane geometry
    """
    radius, half = outside / 2, slot / 2
    if half >= radius:
        return 0.0
    strip = 2 * (half * math.sqrt(radius**2 - half**2) + radius**2 * math.asin(half / radius))
    return math.pi * radius**2 - strip
