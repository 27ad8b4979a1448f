"""Learning an offset from readings: against closed forms, scipy, and shops whose truth is known."""

import math
from itertools import product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from proveout.book.alike import Kind, Known, told_by_others
from proveout.book.learn import Posterior, Prior, Reading, learn
from proveout.book.priors import (
    ALONE,
    BY_CUTTER,
    BY_FEATURE,
    BY_MATERIAL,
    UNRECKONED,
    minutes_prior,
    offset_prior,
)
from proveout.shelf.fit_classes import fit_class
from simulated_shops import STAGES, row

VALUES = st.lists(st.floats(-0.2, 0.2), min_size=1, max_size=12)


def simple(deviation: float, scatter: float) -> Prior:
    """One known scatter, no drift: the textbook's case."""
    return Prior(
        mean=0.0,
        deviations=(deviation,),
        deviation_shares=(1.0,),
        scatters=(scatter,),
        scatter_shares=(1.0,),
        drifts=(0.0,),
        drift_shares=(1.0,),
        sitting=0.0,
    )


def read(values: list[float], noise: float = 0.0, sittings: int = 1) -> list[Reading]:
    """Readings of so many sittings, in order."""
    return [
        Reading(value=one, noise=noise, sitting=str(number * sittings // len(values)))
        for number, one in enumerate(values)
    ]


@given(VALUES, st.floats(0.005, 0.1), st.floats(0.005, 0.05))
@settings(max_examples=60, deadline=None)
def test_a_known_scatter_gives_the_textbooks_posterior(
    values: list[float], prior: float, scatter: float
) -> None:
    """Closed form, normal with a normal prior: precision 1/t^2 + n/s^2, mean n x/s^2 over it.

    Source: any text on Bayesian statistics, the normal mean with known variance.
    """
    found = learn(read(values), simple(prior, scatter))
    precision = 1 / prior**2 + len(values) / scatter**2
    assert found.error == pytest.approx(precision**-0.5)
    assert found.offset == pytest.approx(sum(values) / scatter**2 / precision, abs=1e-9)
    assert found.laws[0].deviation == pytest.approx(math.hypot(precision**-0.5, scatter))


@given(st.lists(st.floats(-0.15, 0.15), min_size=2, max_size=9), st.integers(1, 4))
@settings(max_examples=25, deadline=None)
def test_the_whole_grid_is_what_scipys_normal_laws_say(values: list[float], sittings: int) -> None:
    """A second way, without recursion: every pair's readings are one multivariate normal, by scipy.

    Its density weighs the pair, its conditional law is the offset's.
    """
    noise, prior = 0.012, offset_prior(-0.02, 0.04, 0.01)
    readings = read(values, noise, min(sittings, len(values)))
    found = learn(readings, prior)
    at = np.array([int(one.sitting) for one in readings])
    y = np.array(values)
    weights, means, moving = [], [], []
    grid = product(
        zip(prior.deviations, prior.deviation_shares, strict=True),
        zip(prior.scatters, prior.scatter_shares, strict=True),
        zip(prior.drifts, prior.drift_shares, strict=True),
    )
    for (deviation, a), (scatter, b), (drift, c) in grid:
        offsets = deviation**2 + drift**2 * np.minimum.outer(at, at)
        whole = offsets + prior.sitting**2 * np.equal.outer(at, at) + np.eye(len(y)) * (scatter**2 + noise**2)
        density = stats.multivariate_normal(np.full(len(y), prior.mean), whole).pdf(y)
        last = deviation**2 + drift**2 * np.minimum(at, at[-1])
        weights.append(a * b * c * density)
        means.append(prior.mean + float(last @ np.linalg.solve(whole, y - prior.mean)))
        moving.append(drift > 0)
    share = np.array(weights) / sum(weights)
    assert found.offset == pytest.approx(float(share @ np.array(means)), abs=1e-6)
    assert found.drifts == pytest.approx(float(share[np.array(moving)].sum()), abs=1e-6)


def test_three_readings_help_and_thirty_rule() -> None:
    """Readings of -0.07 against a prior of 0 +/- 0.03: three pull most of the way, thirty all of it."""
    values = [-0.07, -0.06, -0.08] * 10
    three, thirty = learn(read(values[:3]), offset_prior(0, 0.03)), learn(read(values), offset_prior(0, 0.03))
    assert -0.07 < three.offset < -0.05
    assert thirty.offset == pytest.approx(-0.07, abs=0.002)
    assert thirty.error < three.error < 0.03


def sittings_of(offsets: list[float], seed: int) -> Posterior:
    """Five readings of each sitting, with a usual scatter and caliper."""
    dice = np.random.default_rng(seed)
    readings = [
        Reading(value=offset + dice.normal(0, 0.012) + dice.normal(0, 0.01), noise=0.01, sitting=str(number))
        for number, offset in enumerate(offsets)
        for _ in range(5)
    ]
    return learn(readings, offset_prior(-0.02, 0.035))


def test_a_wearing_cutter_is_noticed_and_a_steady_one_is_not() -> None:
    """0.02 mm a sitting, over six: noticed nine times in ten. Steady: told wrongly once in twenty or less."""
    worn = [sittings_of([-0.02 * number for number in range(6)], seed) for seed in range(40)]
    steady = [sittings_of([-0.03] * 6, seed) for seed in range(100)]
    assert sum(one.is_drifting for one in worn) >= 36
    assert sum(one.is_drifting for one in steady) <= 5
    assert all(one.drifted < -0.05 for one in worn if one.is_drifting)
    assert np.mean([one.offset for one in worn]) == pytest.approx(-0.1, abs=0.01)  # where it is now


def test_what_is_foretold_comes_true_as_often_as_it_says() -> None:
    """Of 1,500 shops drawn from the prior, half of the next parts lie in the middle half foretold."""
    dice, prior = np.random.default_rng(3), offset_prior(0, 0.03)
    inside = 0
    for _ in range(1500):
        offset = dice.normal(0, dice.choice(prior.deviations, p=prior.deviation_shares))
        sitting = dice.normal(0, prior.sitting, 2)
        scatter = dice.choice(prior.scatters, p=prior.scatter_shares)
        drift = dice.choice(prior.drifts, p=prior.drift_shares)
        values = offset + sitting[0] + dice.normal(0, np.hypot(scatter, 0.01), 4)
        found = learn(read(list(values), 0.01), prior)
        one = offset + sitting[1] + dice.normal(0, drift) + dice.normal(0, scatter)
        below = sum(
            law.share * (1 + math.erf((one - law.mean) / law.deviation / 2**0.5)) / 2 for law in found.laws
        )
        inside += 0.25 <= below <= 0.75
    # Laws of one scatter are told by their mean and variance alone, which errs to the wide side.
    assert 0.47 < inside / 1500 < 0.57


# What others tell


HERE = Kind(cutter="1: 3 mm", material="birch plywood", feature="recess")


def test_one_like_offset_tells_by_the_closed_form() -> None:
    """Same cutter and material, a hole instead of a recess: shrunk by shared over whole variance."""
    hole = Kind(cutter="1: 3 mm", material="birch plywood", feature="hole")
    mean, deviation = told_by_others(HERE, [Known(kind=hole, mean=-0.08, variance=0.005**2)])
    own = BY_CUTTER**2 + BY_MATERIAL**2 + BY_FEATURE**2 + ALONE**2
    shared = BY_CUTTER**2 + BY_MATERIAL**2
    assert mean == pytest.approx(-0.08 * shared / (own + 0.005**2))
    assert deviation**2 == pytest.approx(own - shared**2 / (own + 0.005**2))


def test_nothing_alike_tells_nothing_and_the_parts_make_the_whole() -> None:
    """An unknown cutter in another wood says nothing; with nothing said the spread is the prior's."""
    other = Kind(cutter="9: drill", material="mdf", feature="outline")
    assert told_by_others(HERE, [Known(kind=other, mean=-0.3, variance=0.0)])[0] == 0.0
    assert told_by_others(HERE, [])[1] == pytest.approx(UNRECKONED, rel=0.02)


def test_minutes_are_learned_in_the_same_way() -> None:
    """Six jobs that took a fifth longer: the next is foretold nearly a fifth longer."""
    logs = [math.log(one) for one in (1.2, 1.18, 1.25, 1.15, 1.22, 1.2)]
    found = learn(read(logs, sittings=6), minutes_prior())
    assert math.exp(found.offset) == pytest.approx(1.19, abs=0.02)


# Shops whose truth is known


@pytest.mark.parametrize(("kind", "name"), [("plywood", "firm press"), ("solid wood", "light press")])
def test_readings_make_fits_right(kind: str, name: str) -> None:
    """The short run of `python tests/simulated_shops.py`: 60 shops, better with readings."""
    found = row(kind, fit_class(name, kind), 60, 1)
    assert STAGES[:3] == (0, 3, 5) and 20 in STAGES
    assert found.right[0] < 0.85
    assert found.right[5] >= 0.90
    assert found.right[20] >= 0.94
    assert found.right[20] <= found.known
