"""When a part with flats and corners seats in a recess that a round cutter has left.

A regular polygon of `sides` sides and flats F' (twice the distance from its middle to a side) is cut by a
cutter of radius r. The cutter can't reach into the corners: it leaves fillets. Either the recess is wide
enough for the corners to clear the fillets, or the cutter is driven a little further into each corner along
its bisector: corner relief. Throughout, beta is half the inside angle at a corner: 60 deg in a hexagon,
45 deg in a square; c = F' - F is the clearance on the flats, less than 0 for a press fit.

All of it is plane geometry, exact, for part and recess with the same middle and the same direction.
"""

import math


def half_angle(sides: int = 6) -> float:
    """Half the inside angle at a corner of a regular polygon, rad.

    Raises:
        ValueError: fewer than three sides
    """
    if sides < 3:
        raise ValueError(f"a polygon has at least three sides, not {sides}")
    return math.pi / 2 - math.pi / sides


def across_corners(flats: float, sides: int = 6) -> float:
    """Twice the distance from the middle to a sharp corner: F / sin(beta), for a hexagon 2 F / sqrt(3)."""
    return flats / math.sin(half_angle(sides))


def corner_gap(radius: float, sides: int = 6) -> float:
    """From a sharp corner to the fillet that the cutter leaves there: r (1/sin(beta) - 1)."""
    return radius * (1 / math.sin(half_angle(sides)) - 1)


def least_flats(flats: float, radius: float, sides: int = 6) -> float:
    """Flats of the smallest recess without relief in which a sharp-cornered part seats untouched.

    F' = F + 2 r (1 - sin(beta)); for a hexagon F + (2 - sqrt(3)) r. The region that the cutter can reach is
    convex, so the part fits if and only if its corners do; a fillet is farthest from the middle on the
    bisector, so turning the part doesn't help.

    Source: plane geometry
    """
    return flats + 2 * radius * (1 - math.sin(half_angle(sides)))


def seats(recess_flats: float, flats: float, radius: float, sides: int = 6) -> bool:
    """Whether a sharp-cornered part of those flats seats in the recess without corner relief."""
    return recess_flats >= max(least_flats(flats, radius, sides), 2 * radius)


def seats_blunt(recess_flats: float, flats: float, corners: float, radius: float, *, sides: int = 6) -> bool:
    """Whether a part with blunt corners seats in the recess without corner relief.

    Nothing is known of the corners' shape but how far they are apart, so the fullest shape is judged: the
    sharp polygon turned down to a cylinder of that diameter. It seats if F' >= F and the points where flats
    and cylinder meet lie within the recess. (The simpler test on the bisector, corners/2 <= F'/(2 sin(beta))
    - r (1/sin(beta) - 1), is enough for corners that are rounded tangent to the flats, not for turned ones.)

    Args:
        recess_flats: F'
        flats: F
        corners: measured across corners; at most F / sin(beta)
        radius: of the cutter
    Raises:
        ValueError: corners closer than the flats
    Source: plane geometry
    """
    if corners < flats:
        raise ValueError(f"{corners} across corners is less than {flats} across flats")
    if recess_flats < max(flats, 2 * radius):
        return False
    beta = half_angle(sides)
    half_side = min(math.sqrt(corners**2 - flats**2), flats / math.tan(beta)) / 2
    inner = (recess_flats - 2 * radius) / 2  # the polygon that the cutter's centre can reach
    past = half_side - inner / math.tan(beta)
    if past <= 0:
        return True
    return math.hypot(past, flats / 2 - inner) <= radius


def relief_travel(recess_flats: float, flats: float, radius: float, sides: int = 6) -> float:
    """How far beyond the fillet's centre the cutter must go, along the bisector, for the corners to seat.

    t = max(0, r (1/sin(beta) - 1) - c / (2 sin(beta))): the sharp corner then touches the relief. The sharp
    corner of the recess itself is reached with t = `corner_gap`.

    Source: plane geometry
    """
    needed = corner_gap(radius, sides) - (recess_flats - flats) / (2 * math.sin(half_angle(sides)))
    return max(0.0, needed)


def overcut(travel: float, sides: int = 6) -> float:
    """How far the relief cuts behind each of the two walls at its corner: t sin(beta)."""
    return travel * math.sin(half_angle(sides))


def wall_lost(radius: float, travel: float, sides: int = 6) -> float:
    """Length of each wall, from the sharp corner, that fillet or relief leaves no flat on.

    r/tan(beta) - t cos(beta) + sqrt(2 r t sin(beta) - t^2 sin(beta)^2), which is r/tan(beta) without relief
    and 2 r cos(beta) with full relief. Beyond t = r (1 - cos(beta)) / sin(beta) the relief is a slot along
    the bisector and the length stays r / sin(beta).

    Source: plane geometry
    """
    beta = half_angle(sides)
    if is_slot(radius, travel, sides):
        return radius / math.sin(beta)
    behind = overcut(travel, sides)
    chord = math.sqrt(2 * radius * behind - behind**2)
    return radius / math.tan(beta) - travel * math.cos(beta) + chord


def is_slot(radius: float, travel: float, sides: int = 6) -> bool:
    """Whether the relief goes so far that its sides run along the bisector."""
    beta = half_angle(sides)
    return travel * math.sin(beta) > radius * (1 - math.cos(beta))


def flat_left(recess_flats: float, radius: float, travel: float, sides: int = 6) -> float:
    """Length of flat wall that is left on each side; not positive where none is.

    Source: plane geometry
    """
    side = recess_flats / math.tan(half_angle(sides))
    return side - 2 * wall_lost(radius, travel, sides)
