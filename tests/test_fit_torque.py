"""Torque, tension, crushing and punching: against published pairs and an integral by hand."""

import math

import numpy as np
import pytest

from proveout.fit import torque
from proveout.shelf.tables import hand_torque as hand_on_shelf

FOOT_POUND = 1355.818  # N mm
POUND = 4.448222  # N


@pytest.mark.parametrize(
    ("inches", "foot_pounds", "stud_pounds"),
    [(1 / 4, 4, 1000), (5 / 16, 9, 1800), (3 / 8, 16, 2600), (1 / 2, 38, 4600)],
)
def test_preload_agrees_with_a_strap_clamp_table(
    inches: float, foot_pounds: float, stud_pounds: float
) -> None:
    """T/(K D) with K 0.2 gives the stud tensions of a clamp maker's printed torque table within 5 %."""
    tension = torque.bolt_preload(foot_pounds * FOOT_POUND, inches * 25.4, 0.2)
    assert tension / POUND == pytest.approx(stud_pounds, rel=0.05)


def test_preload_agrees_with_a_printed_example() -> None:
    """3/8-16 at 30 lb-ft with K 0.20 pulls 4800 lbf (worked example of a mechanical design page, read)."""
    assert torque.bolt_preload(30 * FOOT_POUND, 9.525, 0.2) / POUND == pytest.approx(4800, rel=1e-3)


def test_friction_that_is_not_positive_is_refused() -> None:
    """A bolt without friction would pull without end."""
    with pytest.raises(ValueError, match="must be positive"):
        torque.bolt_preload(1000, 8, 0.0)


@pytest.mark.parametrize(
    ("force", "newton_metres"), [("comfortable", 2.0), ("strong", 2.825), ("upper", 4.375)]
)
def test_a_hand_on_a_50_mm_knob(force: str, newton_metres: float) -> None:
    """A hand does 2 N m in comfort, 2.8 strongly, 4.4 at most on a 50 mm knob (project default).

    Published means of greatest efforts: 4.07 N m on a consumer knob, 4.17 to 6.35 on lobed handwheels.
    """
    at_rim = getattr(hand_on_shelf("knob"), force)
    assert torque.hand_torque(50, at_rim) / 1000 == pytest.approx(newton_metres)


def test_a_wider_knob_than_was_measured_brings_no_more() -> None:
    """No measured hand does more on 90 mm than on 60 mm."""
    assert torque.hand_torque(90, 80) == torque.hand_torque(60, 80) > torque.hand_torque(50, 80)


def test_recess_torque_of_whole_flats() -> None:
    """An M8 head, 5.3 deep, at 6.7 N/mm2: p k F^2/4 = 1.500 N m crushed, p k F^2/6 = 1.000 elastic."""
    flat = 13 / math.sqrt(3)
    assert torque.crushing_torque(6.7, 5.3, flat) == pytest.approx(6.7 * 5.3 * 169 / 4)
    assert torque.crushing_torque(6.7, 5.3, flat) == pytest.approx(1500, rel=1e-3)
    assert torque.elastic_torque(6.7, 5.3, flat) == pytest.approx(1000, rel=1e-3)


def test_recess_torque_of_relieved_flats_is_the_integral_of_pressure_times_lever() -> None:
    """Summed strip by strip over half of each shortened flat, the moment is the same: 0.4995 N m for M8."""
    half = 13 / math.sqrt(3) / 2 - 1.5875
    middle = (np.arange(100_000) + 0.5) * half / 100_000
    strips = 6 * 6.7 * 5.3 * float(middle.sum()) * half / 100_000
    assert torque.crushing_torque(6.7, 5.3, 2 * half) == pytest.approx(strips, rel=1e-6)
    assert torque.crushing_torque(6.7, 5.3, 2 * half) == pytest.approx(499.5, rel=1e-3)
    growing = 6 * 5.3 * float((6.7 * middle / half * middle).sum()) * half / 100_000
    assert torque.elastic_torque(6.7, 5.3, 2 * half) == pytest.approx(growing, rel=1e-6)


def test_plywood_embeds_at_the_codes_pressure() -> None:
    """13 mm in 680 kg/m3: 0.11 (1 - 0.13) 680 = 65.08 N/mm2 (EN 1995-1-1, read in open programs)."""
    assert torque.plywood_embedding(13, 680) == pytest.approx(65.08, rel=1e-4)


def test_wood_embeds_more_easily_across_the_grain_than_plywood() -> None:
    """At equal density solid wood across the grain is the weaker, and softwood weaker than hardwood."""
    assert torque.solid_wood_embedding(10, 680) < torque.plywood_embedding(10, 680)
    soft, hard = torque.solid_wood_embedding(10, 499.9), torque.solid_wood_embedding(10, 500.1)
    assert soft / hard == pytest.approx((0.90 + 0.15) / (1.35 + 0.15), rel=1e-3)  # k90 at 10 mm


def test_a_floor_of_6_mm_under_an_m8_head_is_pushed_out_by_2567_n() -> None:
    """Shear 9.5 N/mm2 over a rim of 6 x 13/sqrt(3) and 6 mm of floor. Worked by hand."""
    assert torque.punching_force(9.5, 13, 6) == pytest.approx(2567, rel=1e-3)


def test_an_m8_head_over_a_9_mm_hole_dents_birch_at_554_n() -> None:
    """82.7 mm2 of hexagon less hole, times 6.7 N/mm2 (yellow birch, Wood Handbook). Worked by hand."""
    assert torque.bearing_force(6.7, 13, 9) == pytest.approx(554, rel=1e-3)
