"""Form closure: whether points that only push, without friction, leave a blank no motion at all.

A small motion of the blank is (turn, shift along X, shift along Y); each point forbids the motions that
would press the blank into it. What none of them forbids is free. The blank is closed in where nothing is
free, which is where the points' wrenches hold the origin in the interior of their hull: four points at least,
and no disc.

Source: Reuleaux 1876 by way of Lynch and Park, Modern Robotics, 12.1.7 (read); that four are enough for any
flat shape but a disc: Markenscoff, Ni and Papadimitriou, Int. J. Robotics Research 9 (1990) (from memory)
"""

from dataclasses import dataclass
from itertools import combinations
from typing import Final

import numpy as np

from proveout.motion import Floats

NOTHING: Final = 1e-9  # of a unit wrench


@dataclass(frozen=True, slots=True, kw_only=True)
class Free:
    """A motion that is left: a turn about a centre, or a shift."""

    centre: tuple[float, float] | None  # None: a shift
    turn: int  # 1 to the left, anticlockwise; -1 to the right; 0 a shift
    way: tuple[float, float] = (0.0, 0.0)  # of a shift, of length 1


def is_closed(at: Floats, normals: Floats) -> bool:
    """Whether frictionless points leave a rigid flat body no small motion.

    Args:
        at: (n, 2) mm, where they touch
        normals: (n, 2) the way each can push, into the body
    """
    return free_motion(at, normals) is None


def free_motion(at: Floats, normals: Floats) -> Free | None:
    """A motion that no point forbids, None where there is none.

    The free motions are a cone; where it holds no straight line, one of its edges is free too, and an edge
    lies in the planes of two of the points. So the cross products of all pairs are tried, both ways.
    """
    wrenches, middle, scale = _wrenches(at, normals)
    for motion in _edges(wrenches):
        if (wrenches @ motion >= -NOTHING).all():
            return _told(motion, middle, scale)
    return None


def _wrenches(at: Floats, normals: Floats) -> tuple[Floats, Floats, float]:
    """(moment, force) of each point about their middle, lengths in the shape's own size."""
    if not len(at):
        return np.zeros((0, 3)), np.zeros(2), 1.0
    middle: Floats = at.mean(axis=0)
    arm = at - middle
    scale = max(float(np.hypot(arm[:, 0], arm[:, 1]).max()), 1e-9)
    unit = normals / np.hypot(normals[:, 0], normals[:, 1])[:, None]
    moment = (arm[:, 0] * unit[:, 1] - arm[:, 1] * unit[:, 0]) / scale
    return np.column_stack((moment, unit)), middle, scale


def _edges(wrenches: Floats) -> list[Floats]:
    """Motions among which there is a free one if any is."""
    _, sizes, ways = np.linalg.svd(np.concatenate((wrenches, np.zeros((3, 3)))))
    whole = [ways[row] for row in range(3) if sizes[row] <= NOTHING]  # that press on no point at all
    pairs = [np.cross(one, other) for one, other in combinations(wrenches, 2)]
    lengths = [float(np.linalg.norm(pair)) for pair in pairs]
    edges = [pair / size for pair, size in zip(pairs, lengths, strict=True) if size > NOTHING]
    return [way for edge in (*whole, *edges) for way in (edge, -edge)]


def _told(motion: Floats, middle: Floats, scale: float) -> Free:
    turn, along, up = motion.tolist()
    if abs(turn) <= NOTHING:
        size = float(np.hypot(along, up))
        return Free(centre=None, turn=0, way=(along / size, up / size))
    x, y = middle.tolist()
    # v = shift + turn x arm is nothing at the centre; a turn counts in the shape's size.
    return Free(centre=(x - up / turn * scale, y + along / turn * scale), turn=1 if turn > 0 else -1)
