"""A made-up cutter that goes along with the true one, to see what it would meet.

What rides with the tip - the edges less a hair, the shank, the collet nut - is taken as a flat cutter that
makes some of the moves too, as high above the tip as it rides: what it would take away is what it meets.
"""

from dataclasses import replace
from typing import Final, NamedTuple

import numpy as np

from proveout.motion import Floats, Motion
from proveout.proof.removal import Removal, carve, fresh_field
from proveout.proof.strikes import Cylinder
from proveout.proof.trial import Rows, Trial, judged, only

FLUSH: Final = 0.01  # mm of depth that doesn't count
GRAZE: Final = 0.1  # mm2 in plan; less is rounding, not cutting
CLEAR: Final = 0.05  # mm of radius by which a wall that the cutter made stands clear of what rides in its cut
COMPANION: Final = 1_000_000  # number of the made-up cutter


class Met(NamedTuple):
    """What a companion of the cutter met."""

    moves: Rows  # (k,) the moves during which it met material
    depth: Floats  # (k,) mm that the material stood above its lower end


def cutting(removal: Removal) -> Rows:
    """The moves that took material.

    By a program's rounding, a cutter that follows its own wall shaves single cells off it, deep but narrow;
    they don't count.
    """
    return np.flatnonzero((removal.depth > FLUSH) & (removal.removed > GRAZE * removal.depth))


def met(run: Trial, removal: Removal, cylinder: Cylinder, moves: Rows, *, ahead: bool) -> Met:
    """What a cylinder meets that goes along with some moves: ahead of the cutter, or after it."""
    order = np.sort(np.concatenate((np.arange(len(run.motion)), moves)), kind="stable")
    second = np.diff(order, prepend=-1) == 0
    companions = np.flatnonzero(second) - (1 if ahead else 0)
    motion = _raised(only(run.motion, order), companions, cylinder.bottom)
    companion = replace(run.setup.cutters[0], number=COMPANION, kind="flat", diameter=2 * cylinder.radius)
    stock, field = run.setup.stock, removal.field
    fresh = fresh_field(stock.size, stock.thickest, cell=field.cell, margin=-field.origin[0])
    done = carve(fresh, motion, (*judged(run.setup.cutters), companion))
    depth, removed = done.depth[companions], done.removed[companions]
    found = (depth > FLUSH) & (removed > GRAZE * depth)
    return Met(order[companions][found], depth[found])


def _raised(motion: Motion, rows: Rows, by: float) -> Motion:
    """The motion with some of its moves given to the companion, higher up."""
    start, end, centre = (points.copy() for points in (motion.start, motion.end, motion.centre))
    for points in (start, end, centre):
        points[rows, 2] += by
    cutter = motion.cutter.copy()
    cutter[rows] = COMPANION
    return replace(motion, start=start, end=end, centre=centre, cutter=cutter)
