"""An offset and its scatter from a few readings: a small Bayesian model, exact on a grid.

What is read is the offset, plus what one part differs by from the next, plus the instrument's own error.
From sitting to sitting - another day, the cutter taken out and put back - the offset may drift by a random
step, as the edge wears. Neither the scatter nor the size of the steps is known: each pair on a grid has its
exact normal posterior by the recursion of the local level model, and its share by how well it foretold the
readings.

Source: West and Harrison, Bayesian Forecasting and Dynamic Models, the first-order polynomial model (from
memory); without drift and with a known scatter it is the textbook's normal with a normal prior.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from proveout.book.learned import Law

Floats = NDArray[np.float64]

# Shares that a drift must gain before it is told of: nine in ten.
NOTICED: Final = 0.9


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """One value that was read."""

    value: float
    noise: float  # standard deviation of the reading itself
    sitting: str  # readings of one sitting share the offset


@dataclass(frozen=True, slots=True, kw_only=True)
class Prior:
    """What is believed before anything was read; all in the readings' unit."""

    mean: float
    deviation: float  # of the offset
    scatters: tuple[float, ...]  # standard deviations that parts may differ by
    scatter_shares: tuple[float, ...]
    drifts: tuple[float, ...]  # steps from sitting to sitting, the first of them 0
    drift_shares: tuple[float, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Posterior:
    """What is believed after the readings."""

    offset: float
    error: float  # standard deviation of the offset
    scatter: float  # of parts about it, its mean
    laws: tuple[Law, ...]  # of the next part, one for each scatter of the grid; shares add up to 1
    drifts: float  # probability that it drifts
    drifted: float  # how far the offset has gone since the first sitting, where it drifts
    readings: int
    sittings: int

    @property
    def is_drifting(self) -> bool:
        """Whether the drift is sure enough to be told."""
        return self.drifts >= NOTICED

    @property
    def deviation(self) -> float:
        """Of the next part, from the whole mixture."""
        mean = sum(law.share * law.mean for law in self.laws)
        return math.sqrt(sum(law.share * (law.deviation**2 + (law.mean - mean) ** 2) for law in self.laws))


def learn(readings: Sequence[Reading], prior: Prior) -> Posterior:
    """The posterior of readings in the order in which they were taken.

    Raises:
        ValueError: a grid whose shares don't match it
    """
    scatters, drifts, shares = _grid(prior)
    means = np.full(len(shares), prior.mean)
    variances = np.full(len(shares), prior.deviation**2)
    logs = np.log(shares)
    sitting, firsts = None, means
    sittings = 0
    for one in readings:
        if one.sitting != sitting:
            variances = variances + (drifts**2 if sitting is not None else 0.0)
            firsts = means if sittings == 1 else firsts
            sitting, sittings = one.sitting, sittings + 1
        told = variances + scatters**2 + one.noise**2
        off = one.value - means
        logs = logs - (np.log(2 * math.pi * told) + off**2 / told) / 2
        gain = variances / told
        means, variances = means + gain * off, variances * (1 - gain)
    weights = np.exp(logs - logs.max())
    weights /= weights.sum()
    if sittings <= 1:
        firsts = means
    return _posterior(prior, weights, means, variances, firsts, len(readings), sittings)


def _grid(prior: Prior) -> tuple[Floats, Floats, Floats]:
    """Scatter, drift and prior share of every pair, scatters slowest."""
    if len(prior.scatters) != len(prior.scatter_shares) or len(prior.drifts) != len(prior.drift_shares):
        raise ValueError("every scatter and every drift of the grid needs its share")
    scatters = np.repeat(np.array(prior.scatters), len(prior.drifts))
    drifts = np.tile(np.array(prior.drifts), len(prior.scatters))
    shares = np.outer(prior.scatter_shares, prior.drift_shares).ravel()
    return scatters, drifts, shares / shares.sum()


def _posterior(
    prior: Prior,
    weights: Floats,
    means: Floats,
    variances: Floats,
    firsts: Floats,
    readings: int,
    sittings: int,
) -> Posterior:
    scatters, drifts, _ = _grid(prior)
    offset = float(weights @ means)
    error = math.sqrt(float(weights @ (variances + (means - offset) ** 2)))
    moving = drifts > 0
    drifting = float(weights[moving].sum())
    gone = float(weights[moving] @ (means - firsts)[moving]) / drifting if drifting > 0 else 0.0
    # The next part comes a sitting later.
    ahead = variances + (drifts**2 if sittings else 0.0)
    rows = (len(prior.scatters), len(prior.drifts))
    laws = _laws(weights.reshape(rows), means.reshape(rows), ahead.reshape(rows), np.array(prior.scatters))
    return Posterior(
        offset=offset,
        error=error,
        scatter=float(weights @ scatters),
        laws=laws,
        drifts=drifting,
        drifted=gone,
        readings=readings,
        sittings=sittings,
    )


def _laws(weights: Floats, means: Floats, variances: Floats, scatters: Floats) -> tuple[Law, ...]:
    """One normal law for each scatter, with the mean and variance of what the drifts make of it."""
    laws: list[Law] = []
    for share, mean, variance, scatter in zip(weights, means, variances, scatters, strict=True):
        whole = float(share.sum())
        if whole < 1e-6:
            continue
        middle = float(share @ mean) / whole
        spread = float(share @ (variance + (mean - middle) ** 2)) / whole
        laws.append(Law(share=whole, mean=middle, deviation=math.sqrt(spread + float(scatter) ** 2)))
    total = sum(law.share for law in laws)
    return tuple(Law(share=law.share / total, mean=law.mean, deviation=law.deviation) for law in laws)
