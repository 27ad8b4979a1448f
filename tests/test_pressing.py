"""Pressing hardware into wood: against Lame's equations solved another way, and a rule of the trade."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fit_bench import a_job, a_knob, flat_cutter, want
from proveout.figure import Figure
from proveout.finding import Finding, Level
from proveout.fit.hex_recess import hex_recess
from proveout.fit.pressing import (
    contact_pressure,
    press_force,
    pressed,
    splitting_interference,
    splitting_pressure,
)
from proveout.fit.shape import shape_part
from proveout.job.records import Hardware
from proveout.shelf.tables import material

HEAD = Hardware(size="M6", form="hex head", across_flats=9.90, others=(9.89, 9.90), height=4.0)


def test_the_plate_presses_back_as_lame_says() -> None:
    """Plane stress about a rigid plug, solved on a grid of rings to fifty times the radius: within 1 %.

    Source: equilibrium and Hooke's law, d/dr(1/r d(r u)/dr) = 0, by finite differences.
    """
    modulus, nu, size, tight = 4763.0, 0.3, 10.0, 0.02
    r = np.geomspace(size / 2, 50 * size / 2, 2000)
    # u = A r + B / r, free at the outside, moved by half the interference at the plug
    a = np.array([[1 / (1 - nu), -1 / (1 + nu) / r[-1] ** 2], [r[0], 1 / r[0]]])
    first, second = np.linalg.solve(a, [0.0, tight / 2])
    pressure = -modulus * (first / (1 - nu) - second / (1 + nu) / r[0] ** 2)
    assert contact_pressure(tight, size=size, modulus=modulus, crush=1e9) == pytest.approx(pressure, rel=0.01)


@given(st.floats(0, 0.5), st.floats(3, 30), st.floats(300, 12000), st.floats(2, 60))
def test_wood_never_presses_harder_than_it_crushes(
    tight: float, size: float, modulus: float, crush: float
) -> None:
    """And a loose plug is not pressed at all."""
    assert 0 <= contact_pressure(tight, size=size, modulus=modulus, crush=crush) <= crush
    assert contact_pressure(-tight, size=size, modulus=modulus, crush=crush) == 0


def test_the_trades_wall_in_solid_wood_is_about_what_statics_asks() -> None:
    """Common practice, no source: one across-flats of wall about a press fit in solid wood.

    The wall at which maple and oak crush before they part is 0.8 to 2 flats.
    """
    for name in ("sugar maple", "northern red oak", "yellow birch", "american beech"):
        wood = material(name)
        walls = np.linspace(0.1, 40, 400)
        enough = next(
            wall for wall in walls if math.isinf(splitting_interference(float(wall), size=10.0, wood=wood))
        )
        assert 0.8 < enough / 10.0 < 2.0


def test_a_thin_rim_of_maple_may_split_and_plywood_does_not() -> None:
    """A knob of 24 mm about an M6 head: in maple some may split, which is told, in plywood none."""
    slim = replace(a_knob(HEAD), diameter=24.0, scallop_depth=2.0, fit="firm press")
    maple = shape_part(a_job(material="sugar maple"), want(slim, "knob"))
    plywood = shape_part(a_job(), want(slim, "knob"))
    (split,) = [one for one in maple.findings if one.kind == "fit-splits"]
    assert split.level is Level.CAUTION and "may split" in split.text and "epoxy" in split.remedy
    assert not [one for one in plywood.findings if one.kind == "fit-splits"]
    shares = {one.name: one.value for one in (*maple.figures, *plywood.figures) if "splitting" in one.name}
    assert shares["knob.head recess.share splitting"] == 0.0  # the plywood's, which comes last
    snug = shape_part(a_job(material="sugar maple"), want(replace(slim, fit="snug"), "knob"))
    assert not [one for one in snug.figures if "press force" in one.name]


def test_a_wider_wall_stands_more() -> None:
    """Splitting pressure is statics: p d = 2 t f."""
    assert splitting_pressure(10.0, size=10.0, tension=4.0) == 8.0
    maple = material("sugar maple")
    assert splitting_interference(4.0, size=10.0, wood=maple) < splitting_interference(
        6.0, size=10.0, wood=maple
    )


def test_a_head_that_wants_more_than_a_vice_is_to_be_stepped() -> None:
    """The force grows with the walls' area; where it passes a small vice's, the remedy steps the recess."""
    job = a_job(cutters=(flat_cutter(1, 3.0, 15.0),))
    made = hex_recess(job, hardware=HEAD, fit="firm press", name="recess", named=None)
    wall = Figure(name="wall", value=20.0, unit="mm", rule="as it is", source="the test")

    def pressed_on(area: float) -> tuple[tuple[Figure, ...], tuple[Finding, ...]]:
        return pressed(
            made.fitted,
            wall=wall,
            size=9.9,
            area=area,
            wood=material("birch plywood"),
            name="recess",
            system="mm",
        )

    (force, _), easy = pressed_on(70.0)
    (more, _), hard = pressed_on(7000.0)
    assert force.low is not None and force.high is not None
    assert 0 < force.low < force.value < force.high
    assert more.value == pytest.approx(100 * force.value) and more.value > 3000
    assert not easy
    assert ["Step the recess" in one.remedy for one in hard] == [True]


def test_force_is_friction_times_pressure_times_area() -> None:
    """Statics."""
    assert press_force(6.7, area=72.0, friction=0.3) == pytest.approx(144.7, abs=0.1)
