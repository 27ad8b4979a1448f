"""An offset and its scatter from a few readings: a small Bayesian model, exact on a grid.

What is read is the offset, plus what the sitting brings, plus what one part differs by from the next, plus
the instrument's own error. A sitting - another day, the cutter taken out and put back - brings an effect of
its own, for the edges stand anew to the spindle's axis; and from one to the next the offset may drift by a
random step, as the edge wears. Neither the scatter nor the size of the steps is known, nor how far out this
shop is at all: each triple on a grid has its exact normal posterior by the recursion of the local level
model, and its share by how well it foretold the readings.

Source: West and Harrison, Bayesian Forecasting and Dynamic Models, the first-order polynomial model (from
memory); with one sitting and a known scatter it is the textbook's normal with a normal prior.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from proveout.book.learned import Law

Floats = NDArray[np.float64]

# Share that a drift must gain before it is told of: nine in ten.
NOTICED: Final = 0.9
LEAST_SHARE: Final = 1e-4  # of a law that is kept


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """One value that was read."""

    value: float
    noise: float  # standard deviation of the reading itself
    sitting: str  # readings of one sitting share its effect, and stand together


@dataclass(frozen=True, slots=True, kw_only=True)
class Prior:
    """What is believed before anything was read, in the readings' unit; shares of a grid add up to 1."""

    mean: float
    deviations: tuple[float, ...]  # of the offset
    deviation_shares: tuple[float, ...]
    scatters: tuple[float, ...]  # standard deviations that parts may differ by
    scatter_shares: tuple[float, ...]
    drifts: tuple[float, ...]  # steps from sitting to sitting, the first of them 0
    drift_shares: tuple[float, ...]
    sitting: float  # standard deviation of a sitting's own effect


@dataclass(frozen=True, slots=True, kw_only=True)
class Posterior:
    """What is believed after the readings."""

    offset: float
    error: float  # standard deviation of the offset
    scatter: float  # of parts about it, its mean
    laws: tuple[Law, ...]  # of the next part, in a sitting of its own; shares add up to 1
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


@dataclass(slots=True)
class _State:
    """For every triple of the grid: offset and sitting's effect, jointly normal, and the triple's weight."""

    offset: Floats
    effect: Floats
    of_offset: Floats  # variance
    of_effect: Floats
    both: Floats  # covariance
    logs: Floats

    def begin_sitting(self, step: Floats | float, own: float) -> None:
        """The offset may have stepped; the effect of the last sitting is gone."""
        self.of_offset = self.of_offset + step
        self.effect = np.zeros_like(self.offset)
        self.of_effect = np.full_like(self.offset, own)
        self.both = np.zeros_like(self.offset)

    def read(self, value: float, variance: Floats) -> None:
        """What a reading of offset and effect together teaches."""
        with_offset, with_effect = self.of_offset + self.both, self.of_effect + self.both
        told = with_offset + with_effect + variance
        off = value - self.offset - self.effect
        self.logs = self.logs - (np.log(2 * math.pi * told) + off**2 / told) / 2
        self.offset = self.offset + with_offset / told * off
        self.effect = self.effect + with_effect / told * off
        self.of_offset = self.of_offset - with_offset**2 / told
        self.of_effect = self.of_effect - with_effect**2 / told
        self.both = self.both - with_offset * with_effect / told


def learn(readings: Sequence[Reading], prior: Prior) -> Posterior:
    """The posterior of readings in the order in which they were taken, those of a sitting together.

    Raises:
        ValueError: a grid whose shares don't match it
    """
    deviations, scatters, drifts, shares = _grid(prior)
    zeros = np.zeros_like(shares)
    state = _State(zeros + prior.mean, zeros, deviations**2, zeros, zeros, np.log(shares))
    sitting, sittings, firsts = None, 0, state.offset
    for one in readings:
        if one.sitting != sitting:
            if sittings == 1:
                firsts = state.offset
            state.begin_sitting(drifts**2 if sittings else 0.0, prior.sitting**2)
            sitting, sittings = one.sitting, sittings + 1
        state.read(one.value, scatters**2 + one.noise**2)
    if sittings <= 1:
        firsts = state.offset
    weights = np.exp(state.logs - state.logs.max())
    return _posterior(prior, weights / weights.sum(), state, firsts, len(readings), sittings)


def _grid(prior: Prior) -> tuple[Floats, Floats, Floats, Floats]:
    """Deviation, scatter, drift and prior share of every triple."""
    grids = (
        (prior.deviations, prior.deviation_shares),
        (prior.scatters, prior.scatter_shares),
        (prior.drifts, prior.drift_shares),
    )
    if any(len(values) != len(shares) for values, shares in grids):
        raise ValueError("every value of a grid needs its share")
    values = np.meshgrid(*(np.array(each) for each, _ in grids), indexing="ij")
    shares = np.einsum("i,j,k->ijk", *(np.array(each) for _, each in grids)).ravel()
    deviations, scatters, drifts = (each.ravel() for each in values)
    return deviations, scatters, drifts, shares / shares.sum()


def _posterior(
    prior: Prior, weights: Floats, state: _State, firsts: Floats, readings: int, sittings: int
) -> Posterior:
    _, scatters, drifts, _ = _grid(prior)
    offset = float(weights @ state.offset)
    error = math.sqrt(float(weights @ (state.of_offset + (state.offset - offset) ** 2)))
    moving = drifts > 0
    drifting = float(weights[moving].sum())
    gone = float(weights[moving] @ (state.offset - firsts)[moving]) / drifting if drifting > 0 else 0.0
    # The next part comes a sitting later.
    ahead = state.of_offset + prior.sitting**2 + (drifts**2 if sittings else 0.0)
    return Posterior(
        offset=offset,
        error=error,
        scatter=float(weights @ scatters),
        laws=_laws(weights, state.offset, ahead, scatters),
        drifts=drifting,
        drifted=gone,
        readings=readings,
        sittings=sittings,
    )


def _laws(weights: Floats, means: Floats, variances: Floats, scatters: Floats) -> tuple[Law, ...]:
    """One normal law for each scatter, with the mean and variance of what the rest of the grid makes."""
    laws: list[Law] = []
    for scatter in np.unique(scatters):
        of = scatters == scatter
        whole = float(weights[of].sum())
        if whole < LEAST_SHARE:
            continue
        middle = float(weights[of] @ means[of]) / whole
        spread = float(weights[of] @ (variances[of] + (means[of] - middle) ** 2)) / whole
        laws.append(Law(share=whole, mean=middle, deviation=math.sqrt(spread + float(scatter) ** 2)))
    total = sum(law.share for law in laws)
    return tuple(Law(share=law.share / total, mean=law.mean, deviation=law.deviation) for law in laws)
