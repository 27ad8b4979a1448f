"""Spreads and their sums, against closed forms and against a Monte Carlo with random numbers."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from proveout.fit.spread import Spread, bell, even, fixed, mixed, total, turned

LENGTHS = st.floats(-0.3, 0.3)
DEVIATIONS = st.floats(0.002, 0.06)


@given(LENGTHS, DEVIATIONS, LENGTHS, DEVIATIONS)
@settings(max_examples=60, deadline=None)
def test_two_bells_make_a_bell(a: float, s: float, b: float, t: float) -> None:
    """Closed form: means add, variances add; every share within 3 in 1000 of scipy's normal."""
    both = total([bell(a, s), bell(b, t)])
    law = stats.norm(a + b, math.hypot(s, t))
    assert both.mean == pytest.approx(a + b, abs=2e-4)
    assert both.deviation == pytest.approx(math.hypot(s, t), rel=0.01, abs=3e-4)
    for share in (0.01, 0.2, 0.5, 0.8, 0.99):
        assert both.below(float(law.ppf(share))) == pytest.approx(share, abs=3e-3 + 2e-4 / min(s, t))


def test_two_even_spreads_make_a_triangle() -> None:
    """Closed form: evenly over 0.2 mm, twice, is a triangle over 0.4; an eighth lies lowest."""
    both = total([even(0.0, 0.2), even(-0.1, 0.1)])
    assert both.below(0.0) == pytest.approx(0.125, abs=1e-3)
    assert both.below(0.1) == pytest.approx(0.5, abs=1e-3)
    assert both.deviation == pytest.approx(0.2 / math.sqrt(6), rel=1e-3)


def test_runout_is_spread_like_a_turned_line() -> None:
    """Closed form: the mean of |cos a| is 2/pi, its mean square a half."""
    law = turned(0.05)
    assert law.mean == pytest.approx(0.05 * 2 / math.pi, abs=3e-4)
    assert law.deviation == pytest.approx(0.05 * math.sqrt(0.5 - 4 / math.pi**2), abs=3e-4)


def test_a_sum_is_what_a_monte_carlo_finds() -> None:
    """A second way: four million random parts of a fit, seed 7, share by share within 1 in 1000."""
    dice = np.random.default_rng(7)
    n = 4_000_000
    random = (
        dice.uniform(-0.11, 0.0, n)
        + dice.normal(0.01, 0.013, n)
        + 0.03 * np.abs(np.cos(dice.uniform(0, 2 * math.pi, n)))
        + dice.uniform(-0.06, 0, n)
    )
    exact = total([even(-0.11, 0.0), bell(0.01, 0.013), turned(0.03), even(-0.06, 0.0)])
    for length in np.linspace(-0.18, 0.06, 13):
        assert exact.below(float(length)) == pytest.approx(float((random < length).mean()), abs=1e-3)


@given(st.lists(st.tuples(LENGTHS, DEVIATIONS), min_size=1, max_size=4), LENGTHS)
@settings(max_examples=40, deadline=None)
def test_shares_always_add_up(bells: list[tuple[float, float]], length: float) -> None:
    """Whatever is summed and mixed: all of it lies somewhere, nothing is negative, the mirror mirrors."""
    laws = [bell(a, s) for a, s in bells]
    for spread in (total([*laws, fixed(length)]), mixed([1 / len(laws)] * len(laws), laws)):
        assert spread.weights.sum() == pytest.approx(1.0, abs=1e-5)
        assert (spread.weights >= -1e-15).all()
        assert spread.below(spread.mean) + spread.mirrored().below(-spread.mean) == pytest.approx(
            1.0, abs=1e-5
        )
        assert spread.mirrored().mean == pytest.approx(-spread.mean)


def test_a_length_that_does_not_scatter_keeps_its_place_between_cells() -> None:
    """Half a thousandth isn't lost."""
    assert fixed(0.0125).mean == pytest.approx(0.0125)
    assert isinstance(fixed(0.0125), Spread)
