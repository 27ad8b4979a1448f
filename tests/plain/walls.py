"""The plain twin of the wall kernel: walk along the path in small steps and measure at each."""

import math

import numpy as np

from proveout.job.records import Cutter
from proveout.motion import Floats, Motion, chords


def width_at(cutter: Cutter, height: Floats) -> Floats:
    """The cutter's radius at heights above its tip, from its shape alone."""
    radius = cutter.diameter / 2
    if cutter.kind == "ball":
        return np.where(
            height < radius, np.sqrt(np.clip(radius**2 - (radius - height) ** 2, 0, None)), radius
        )
    if cutter.kind == "bull nose":
        corner = cutter.corner_radius or 0.0
        short = np.clip(corner - height, 0, None)
        return radius - corner + np.sqrt(np.clip(corner**2 - short**2, 0, None))
    if cutter.kind in ("vee", "drill"):
        return np.minimum(radius, height * math.tan(math.radians(cutter.point_deg or 180.0) / 2))
    return np.full(len(height), radius)


def most_past(points: Floats, level: float, motion: Motion, cutter: Cutter, step: float = 0.002) -> Floats:
    """The most that the cutter reaches past each point at a level, while its tip is below it."""
    best = np.full(len(points), -np.inf)
    for start, end in zip(*chords(motion, 1e-5)[:2], strict=True):
        steps = max(1, math.ceil(float(np.linalg.norm(end - start)) / step))
        walk = start + (end - start) * (np.arange(steps + 1) / steps)[:, None]
        walk = walk[walk[:, 2] < level]
        if len(walk):
            away = np.hypot(points[:, None, 0] - walk[None, :, 0], points[:, None, 1] - walk[None, :, 1])
            best = np.maximum(best, (width_at(cutter, level - walk[:, 2])[None, :] - away).max(axis=1))
    return best
