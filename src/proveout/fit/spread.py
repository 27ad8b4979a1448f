"""How a length scatters, as shares on a grid of a thousandth of a millimetre: sums are exact convolutions.

No random numbers: equal input gives equal shares. A share belongs to the millimetre thousandth about its
place, so every law is exact at the borders of its cells, and a sum of laws is off by at most half a cell for
each law in it.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import reduce
from typing import Final

import numpy as np
from numpy.typing import NDArray

CELL: Final = 0.001  # mm
FAR: Final = 5.0  # standard deviations, beyond which a bell is cut off: 6 in 10 million

Law = Callable[[float], float]  # share that lies at or below a length


@dataclass(frozen=True, slots=True, eq=False)
class Spread:
    """Shares of a length that scatters: weights[i] of them lie about (first + i) cells."""

    first: int
    weights: NDArray[np.float64]  # (n,), their sum is 1

    @property
    def places(self) -> NDArray[np.float64]:
        """The middle of each cell, mm."""
        return np.asarray((self.first + np.arange(len(self.weights))) * CELL, np.float64)

    @property
    def mean(self) -> float:
        """mm"""
        return float(self.places @ self.weights)

    @property
    def deviation(self) -> float:
        """Standard deviation, mm."""
        return math.sqrt(float((self.places - self.mean) ** 2 @ self.weights))

    def below(self, length: float) -> float:
        """Share below a length; a cell that the length cuts counts in part."""
        return float(self.below_each(np.array([length]))[0])

    def below_each(self, lengths: NDArray[np.float64]) -> NDArray[np.float64]:
        """Share below each length: (n,), as `below`."""
        reach = np.concatenate(([0.0], np.cumsum(self.weights)))
        edges = (self.first - 0.5 + np.arange(len(self.weights) + 1)) * CELL
        return np.interp(lengths, edges, reach, left=0.0, right=1.0).astype(np.float64)

    def between(self, low: float, high: float) -> float:
        """Share from low to high."""
        return max(0.0, self.below(high) - self.below(low))

    def quantile(self, share: float) -> float:
        """The length below which that share lies, mm."""
        reach = np.cumsum(self.weights)
        return float(self.places[min(int(np.searchsorted(reach, share)), len(reach) - 1)])

    def mirrored(self) -> "Spread":
        """Of the length's negative."""
        return Spread(-(self.first + len(self.weights) - 1), self.weights[::-1].copy())


def spread_by(law: Law, low: float, high: float) -> Spread:
    """The spread with that law, which is 0 up to low and 1 from high on."""
    first, last = math.floor(low / CELL + 0.5), math.ceil(high / CELL - 0.5)
    edges = [(first - 0.5 + index) * CELL for index in range(last - first + 2)]
    reach = np.array([law(edge) for edge in edges])
    reach[0], reach[-1] = 0.0, 1.0
    return Spread(first, np.diff(reach))


def fixed(length: float) -> Spread:
    """A length that doesn't scatter; its share is parted between the two cells beside it."""
    cell = math.floor(length / CELL)
    part = length / CELL - cell
    return Spread(cell, np.array([1 - part, part]))


def even(low: float, high: float) -> Spread:
    """Anywhere between two ends with equal right: what is known of hardware from a box nobody measured."""
    if high - low < CELL:
        return fixed((low + high) / 2)
    return spread_by(lambda length: min(1.0, max(0.0, (length - low) / (high - low))), low, high)


def bell(mean: float, deviation: float) -> Spread:
    """A normal distribution, cut off far out."""
    if deviation < CELL / 4:
        return fixed(mean)
    reach = FAR * deviation

    def law(length: float) -> float:
        return (1 + math.erf((length - mean) / (deviation * math.sqrt(2)))) / 2

    return spread_by(law, mean - reach, mean + reach)


def turned(reading: float) -> Spread:
    """How much wider a cutter of two opposite edges cuts for its runout: reading x |cos a|, a anywhere.

    The axis lies off the spindle's by half the indicator's total reading, on a line that makes any angle with
    the edges; the edge that reaches further out cuts the wall. Share below x: 1 - 2/pi arccos(x/reading).

    Source: plane geometry
    """
    if reading < CELL:
        return fixed(reading / 2)
    return spread_by(
        lambda length: 1 - 2 / math.pi * math.acos(min(1.0, max(0.0, length / reading))), 0.0, reading
    )


def mixed(shares: Sequence[float], laws: Sequence[Spread]) -> Spread:
    """One of several spreads, each with its share."""
    first = min(law.first for law in laws)
    last = max(law.first + len(law.weights) for law in laws)
    weights = np.zeros(last - first)
    for share, law in zip(shares, laws, strict=True):
        weights[law.first - first : law.first - first + len(law.weights)] += share * law.weights
    return Spread(first, weights / weights.sum())


def total(laws: Sequence[Spread]) -> Spread:
    """Of the sum of lengths that scatter each for itself."""
    return reduce(_plus, laws, Spread(0, np.ones(1)))


def _plus(one: Spread, other: Spread) -> Spread:
    return Spread(one.first + other.first, np.convolve(one.weights, other.weights))
