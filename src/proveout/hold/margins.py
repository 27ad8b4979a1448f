"""Margins over a blank: how many times friction stands one push at each place, and where it stands so much.

The places that stand at least so much make a convex region: the give 1 / F is a greatest of convex functions,
and so is what a pull up asks of each edge. A region drawn as the hull of points known to lie in it is
therefore never larger than the true one.
"""

from dataclasses import dataclass

import numpy as np
from shapely import MultiPoint, Polygon

from proveout.hold.slip import Contacts, SlipMap, slip_map, tip_share
from proveout.motion import Floats


@dataclass(frozen=True, slots=True, kw_only=True)
class Push:
    """One push in any direction in the plane, N, and the pull away from the plate that goes with it."""

    force: float
    pull: float = 0.0


def times_stood(held: Contacts, slides: Floats, tips: Floats, push: Floats, pull: Floats) -> Floats:
    """How many times pushes are stood, (n,): sliding and turning, and tipping.

    Friction stands mu less for each newton pulled off the plate: the friction that is missing lies near the
    cut, so a turn about a clamp far away loses as much as a shift does.

    Args:
        slides: (n,) N, what friction stands at each place
        tips: (n,) N, what pull each place stands
        push: (n,) N, more than 0
        pull: (n,) N
    """
    lost = pull * held.lost
    stood: Floats = np.minimum(np.maximum(slides - lost, 0.0) / push, tips / np.maximum(pull, 1e-9))
    return stood


def margin_map(held: Contacts, size: tuple[float, float], push: Push | None) -> SlipMap:
    """How many times a push is stood all over a blank; in N where no push is known."""
    stands = slip_map(held, size)
    if push is None or not len(held):
        return stands
    nodes = np.column_stack([axis.ravel() for axis in np.meshgrid(stands.x, stands.y)])
    count = len(nodes)
    times = times_stood(
        held,
        stands.force.ravel(),
        tip_share(held, nodes, size),
        np.full(count, push.force),
        np.full(count, push.pull),
    )
    return SlipMap(x=stands.x, y=stands.y, force=times.reshape(stands.force.shape))


def region_of(over: SlipMap, least: float) -> Polygon:
    """Where at least so much is stood: convex, and never more than there is; empty where nowhere is."""
    enough = over.force >= least
    nodes = np.column_stack([axis[enough] for axis in np.meshgrid(over.x, over.y)])
    along_x = _crossings(over.x, over.y, over.force, least)
    along_y = _crossings(over.y, over.x, over.force.T, least)[:, ::-1]
    hull = MultiPoint(np.concatenate((nodes, along_x, along_y))).convex_hull
    return hull if isinstance(hull, Polygon) else Polygon()


def _crossings(along: Floats, across: Floats, force: Floats, least: float) -> Floats:
    """Points of the lines between neighbours along an axis at which the level is met, (n, 2) along, across.

    The give is read by straight lines: it is convex, so that the crossing lies on the safe side.
    """
    over = least / np.maximum(force, 1e-9) - 1.0  # above 0: stands less
    row, column = np.nonzero((over[:, :-1] > 0) != (over[:, 1:] > 0))
    before, after = over[row, column], over[row, column + 1]
    share = before / (before - after)
    return np.column_stack((along[column] + share * (along[column + 1] - along[column]), across[row]))
