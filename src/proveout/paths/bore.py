"""Round holes: drilled where the cutter is the hole, else bored on a helix."""

import math
from typing import Final

from proveout.curve import Point, Segment
from proveout.job.records import Cutter
from proveout.paths.paces import FINISHING
from proveout.paths.travel import TOUCH, Cut, Descent, Travel, full_turn, helix, helix_pitch, levels

IS_THE_HOLE: Final = 0.02  # mm, difference in diameter up to which the cutter is taken to be the hole
CROWDED: Final = 0.08  # of the cutter's radius: a helix tighter than this is a plunge with a thousand turns
PECK_FROM: Final = 3.0  # diameters deep, from which chips must be cleared on the way; common practice


def is_the_hole(cutter: Cutter, diameter: float) -> bool:
    """Whether a hole is made by going straight down with this cutter."""
    return goes_straight_down(cutter) and fills(cutter, diameter)


def goes_straight_down(cutter: Cutter) -> bool:
    """Whether the cutter cuts at its centre."""
    return cutter.kind == "drill" or (cutter.kind == "flat" and cutter.centre_cutting)


def fills(cutter: Cutter, diameter: float) -> bool:
    """Whether the cutter is as wide as the hole."""
    return abs(cutter.diameter - diameter) <= IS_THE_HOLE + 1e-9


def point_length(cutter: Cutter) -> float:
    """How far a drill's point reaches below its full diameter, mm; 0 for a flat end."""
    if cutter.kind != "drill" or cutter.point_deg is None or cutter.point_deg >= 180:
        return 0.0
    return cutter.radius / math.tan(math.radians(cutter.point_deg / 2))


def pecks(down: Descent) -> tuple[float, ...]:
    """Heights at which a drill is drawn out to clear its chips; the last is the floor."""
    deep = PECK_FROM * down.cutter.diameter
    depth = down.top - down.floor
    if depth <= min(deep, down.data.depth_of_cut) + 1e-9:
        return (down.floor,)
    return levels(down.top, down.floor, min(down.data.depth_of_cut, deep))


def drilled(centre: Point, down: Descent) -> Cut:
    """Straight down, in pecks where the hole is deep."""
    travel = Travel(down.heights, down.data)
    _drill(travel, centre, down)
    return travel.done()


def _drill(travel: Travel, centre: Point, down: Descent) -> None:
    travel.reach(centre, down.top + TOUCH)
    for number, level in enumerate(pecks(down)):
        if number:
            travel.up_to_near()
        travel.straight_to(level)


def is_bored(cutter: Cutter, diameter: float) -> bool:
    """Whether one helix takes the whole hole: wider than the cutter, no core left in its middle."""
    return cutter.diameter + 1e-9 < diameter <= 2 * cutter.diameter


def bored(centre: Point, diameter: float, down: Descent) -> Cut:
    """A helix to the floor, a level turn there, then the wall in a finishing turn at full depth.

    A hole hardly wider than the cutter is drilled, where the cutter can, and turned out at the floor.
    """
    cutter, data = down.cutter, down.data
    wall = diameter / 2 - cutter.radius
    rough = wall - data.finish_allowance
    if rough < cutter.radius / 4:  # too tight a turn to rough in: the helix itself makes the wall
        rough = wall
    travel = Travel(down.heights, data)
    if rough < CROWDED * cutter.radius and cutter.centre_cutting:
        _drill(travel, centre, down)
        travel.line((centre[0] + wall, centre[1]))
        travel.follow(full_turn(centre, travel.here))
        return travel.done()
    travel.reach((centre[0] + rough, centre[1]), down.top + TOUCH)
    helix(travel, centre, down.floor, helix_pitch(rough, data))
    if rough < wall:
        _finish(travel, centre, rough, wall, levels(down.top, down.floor, data.finish_depth))
    return travel.done()


def _finish(travel: Travel, centre: Point, rough: float, wall: float, floors: tuple[float, ...]) -> None:
    """A turn along the wall at each floor, entered and left on half circles that touch both paths."""
    travel.title("finishing")
    travel.pace = FINISHING
    x, y = centre
    inside, outside = (x - rough, y), (x + wall, y)
    middle = (x + (wall - rough) / 2, y)
    travel.follow((Segment(travel.here, inside, centre),))
    for floor in floors:
        travel.straight_to(floor)
        travel.follow((Segment(inside, outside, middle), *full_turn(centre, outside)))
        travel.follow((Segment(outside, inside, middle),))
