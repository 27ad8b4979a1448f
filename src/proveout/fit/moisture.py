"""Wood takes up and gives off water: its moisture in the air of a room, and how a size moves with it."""

from typing import Final

# The band in which sizes move in proportion to moisture, per cent. Wood Handbook, equation 13-2.
STRAIGHT: Final = (6.0, 14.0)


def equilibrium_moisture(humidity: float, temperature: float) -> float:
    """Moisture that wood comes to in air, per cent of its dry mass.

    M = 1800/W (K h/(1 - K h) + (K1 K h + 2 K1 K2 K^2 h^2)/(1 + K1 K h + K1 K2 K^2 h^2)), with W, K, K1, K2
    quadratic in the temperature. Solid wood; panels run lower: plywood by about one point, fibreboard by two
    to four, which drops out where only differences count.

    Args:
        humidity: relative, 0 to 1
        temperature: of the air, deg C
    Raises:
        ValueError: humidity outside 0 to 1
    Source: Wood Handbook (FPL-GTR-190), equation 4-5; Simpson 1973; FPL-RN-0268
    """
    if not 0 <= humidity < 1:
        raise ValueError(f"relative humidity lies between 0 and 1, not at {humidity}")
    t = temperature
    mass = 349 + 1.29 * t + 0.0135 * t**2
    k = (0.805 + 0.000736 * t - 0.00000273 * t**2) * humidity
    k1 = 6.27 - 0.00938 * t - 0.000303 * t**2
    k2 = 1.91 + 0.0407 * t - 0.000293 * t**2
    bound = (k1 * k + 2 * k1 * k2 * k**2) / (1 + k1 * k + k1 * k2 * k**2)
    return 1800 / mass * (k / (1 - k) + bound)


def moved(size: float, *, coefficient: float, before: float, after: float) -> float:
    """By how much a size grows while its moisture goes from `before` to `after`, mm; less than 0: it shrinks.

    dD = D C (M_F - M_I).

    Args:
        size: at the moisture before
        coefficient: C_R of quarter-sawn wood, C_T of flat-sawn, share of the size for each per cent
        before, after: per cent; both within 6 to 14, where the rule holds (see `moved_far`)
    Source: Wood Handbook (FPL-GTR-190), equation 13-2
    """
    return size * coefficient * (after - before)


def moved_far(size: float, *, shrinkage: float, before: float, after: float) -> float:
    """The same where moisture leaves the band of 6 to 14 per cent.

    dD = D (M_F - M_I) / (30 (100)/S - 30 + M_I).

    Args:
        shrinkage: from green to ovendry, per cent
        before, after: per cent, at most 30: above, wood doesn't move
    Source: Wood Handbook (FPL-GTR-190), equation 13-3
    """
    return size * (min(after, 30.0) - before) / (30 * 100 / shrinkage - 30 + before)


def movement_of(
    size: float, *, coefficient: float, shrinkage: float | None, before: float, after: float
) -> float:
    """By how much a size grows, mm, by whichever of the two rules holds; panels know the first only."""
    low, high = STRAIGHT
    if shrinkage is None or (low <= before <= high and low <= after <= high):
        return moved(size, coefficient=coefficient, before=before, after=after)
    return moved_far(size, shrinkage=shrinkage, before=before, after=after)
