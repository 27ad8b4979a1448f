"""What other entries of the book say of something that was never read: the nearer alike, the more.

Offsets are sums of what the cutter, the material and the kind of feature each bring, and of what is an
offset's own; each part normal, with the deviations of priors.py. What was read of some tells of the others by
the conditional normal distribution.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from proveout.book.priors import ALONE, BY_CUTTER, BY_FEATURE, BY_MATERIAL


@dataclass(frozen=True, slots=True, kw_only=True)
class Kind:
    """What an offset belongs to."""

    cutter: str
    material: str
    feature: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Known:
    """What was read of one kind: its mean about what was reckoned, mm, and the variance of that mean, mm2."""

    kind: Kind
    mean: float
    variance: float


def told_by_others(kind: Kind, others: Sequence[Known]) -> tuple[float, float]:
    """Mean and standard deviation of an offset about what was reckoned, mm, given what was read of others.

    m = k' (K + V)^-1 y,  v = k0 - k' (K + V)^-1 k, the conditional normal distribution.
    """
    own = _shared(kind, kind)
    others = [one for one in others if one.kind != kind]
    if not others:
        return 0.0, own**0.5
    between = np.array([[_shared(a.kind, b.kind) for b in others] for a in others])
    read = between + np.diag([one.variance for one in others])
    mine = np.array([_shared(kind, one.kind) for one in others])
    weights = np.linalg.solve(read, mine)
    mean = float(weights @ np.array([one.mean for one in others]))
    return mean, max(own - float(weights @ mine), 0.0) ** 0.5


def _shared(a: Kind, b: Kind) -> float:
    """Covariance of two offsets, mm2."""
    return (
        BY_CUTTER**2 * (a.cutter == b.cutter)
        + BY_MATERIAL**2 * (a.material == b.material)
        + BY_FEATURE**2 * (a.feature == b.feature)
        + ALONE**2 * (a == b)
    )
