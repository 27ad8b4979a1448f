"""The removal by exact booleans of a general mesh library (manifold3d), to set the kernel beside it."""

import math

import numpy as np

from proveout.motion import Motion

SIDES = 32


def removed_by_booleans(motion: Motion, radius: float, size: tuple[float, float], top: float) -> float:
    """mm3 that a flat cutter takes from a block: each move is swept as the hull of the cutter at its ends.

    The cutter is a prism of SIDES sides with the area of the true circle; its sweep is exact.
    """
    from manifold3d import Manifold, OpType

    block = Manifold.cube((*size, top))
    cutter = _prism(radius, top + 1)
    sweeps = [
        Manifold.hull_points(np.concatenate((cutter + start, cutter + end)))
        for start, end in zip(motion.start, motion.end, strict=True)
    ]
    swept = Manifold.batch_boolean(sweeps, OpType.Add)
    return float(block.volume() - (block - swept).volume())


def _prism(radius: float, height: float) -> np.ndarray:
    """Corners of the cutter with its tip at the origin, (2 SIDES, 3)."""
    turn = (np.arange(SIDES) + 0.5) * math.tau / SIDES
    out = radius * math.sqrt(math.tau / (SIDES * math.sin(math.tau / SIDES)))
    ring = out * np.column_stack((np.cos(turn), np.sin(turn)))
    return np.concatenate([np.column_stack((ring, np.full(SIDES, z))) for z in (0.0, height)])
