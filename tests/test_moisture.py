"""Wood and the damp of the air, against the Wood Handbook's equations, charts and worked example."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from proveout.fit.moisture import equilibrium_moisture, moved, moved_far, movement_of
from proveout.shelf.movements import Movement, movement, movements
from proveout.shelf.tables import materials

# Printed chart of equilibrium moisture, deg F by relative humidity in per cent. Wood Handbook, table 4-2, as
# a public chart of it was read; the chart rounds to a tenth.
CHART = {
    40: {20: 4.6, 30: 6.3, 40: 7.9, 50: 9.5, 60: 11.3, 65: 12.3, 70: 13.5, 80: 16.5, 90: 21.0},
    60: {20: 4.6, 30: 6.2, 40: 7.8, 50: 9.4, 60: 11.1, 65: 12.1, 70: 13.3, 80: 16.2, 90: 20.7},
    70: {20: 4.5, 30: 6.2, 40: 7.7, 50: 9.2, 60: 11.0, 65: 12.0, 70: 13.1, 80: 16.0, 90: 20.5},
    80: {20: 4.4, 30: 6.1, 40: 7.6, 50: 9.1, 60: 10.8, 65: 11.7, 70: 12.9, 80: 15.7, 90: 20.2},
    100: {20: 4.2, 30: 5.8, 40: 7.2, 50: 8.7, 60: 10.3, 65: 11.2, 70: 12.3, 80: 15.1, 90: 19.5},
}


@pytest.mark.parametrize("fahrenheit", CHART)
def test_the_moisture_of_wood_in_air_is_the_printed_charts(fahrenheit: int) -> None:
    """Wood Handbook, table 4-2: 45 places of it, to the chart's own rounding."""
    for humidity, printed in CHART[fahrenheit].items():
        found = equilibrium_moisture(humidity / 100, (fahrenheit - 32) / 1.8)
        assert found == pytest.approx(printed, abs=0.1)


def test_the_printed_board_grows_as_printed() -> None:
    """Wood Handbook, chapter 13: flat-sawn white fir of 232 mm, from 8 to 11 per cent, grows by 1.7 mm."""
    assert moved(232.0, coefficient=0.00245, before=8, after=11) == pytest.approx(1.7, abs=0.05)
    assert moved(9.15, coefficient=0.00245, before=8, after=11) == pytest.approx(0.067, abs=0.0005)  # in


SOLID = [one for one in movements() if one.radial_shrinkage]


@pytest.mark.parametrize("one", SOLID, ids=lambda one: one.material)
def test_both_rules_agree_within_the_straight_band(one: Movement) -> None:
    """Equations 13-2 and 13-3 are two ways to one thing: coefficients and shrinkage within a sixth.

    Not so two whose rows are of different wood in the two tables: red oak, whose coefficients are those of
    the commercial group, and western redcedar.
    """
    if one.material in ("western redcedar", "northern red oak"):
        return
    radial, tangential = (one.radial, one.radial_shrinkage), (one.tangential, one.tangential_shrinkage)
    for coefficient, shrinkage in (radial, tangential):
        assert shrinkage is not None
        straight = moved(100.0, coefficient=coefficient, before=10, after=12)
        far = moved_far(100.0, shrinkage=shrinkage, before=10, after=12)
        assert straight == pytest.approx(far, rel=0.16)


@given(st.floats(0.06, 0.93), st.floats(-5, 45))
def test_damper_air_makes_damper_wood(humidity: float, temperature: float) -> None:
    """At any temperature that a shop has."""
    assert equilibrium_moisture(humidity, temperature) < equilibrium_moisture(humidity + 0.01, temperature)


@given(st.floats(6, 14), st.floats(6, 14), st.floats(5, 200))
def test_wood_that_goes_there_and_back_has_its_size_again(before: float, after: float, size: float) -> None:
    """To what the rules' being straight lines leaves: a hundredth of the movement."""
    there = movement_of(size, coefficient=0.0035, shrinkage=9.9, before=before, after=after)
    back = movement_of(size + there, coefficient=0.0035, shrinkage=9.9, before=after, after=before)
    assert there + back == pytest.approx(0.0, abs=0.03 * abs(there) + 1e-12)


def test_outside_the_band_the_second_rule_counts_and_stops_at_fibre_saturation() -> None:
    """Maple from 10 to 20 per cent grows less than the straight line says, and above 30 not at all."""
    assert movement_of(100, coefficient=0.00353, shrinkage=9.9, before=10, after=20) == pytest.approx(
        100 * 10 / (3000 / 9.9 - 20)
    )
    assert moved_far(100, shrinkage=9.9, before=30, after=45) == 0.0


def test_no_humidity_beyond_nature() -> None:
    """A share of more than one is a slip of the unit."""
    with pytest.raises(ValueError, match="between 0 and 1"):
        equilibrium_moisture(45, 20)


def test_every_wood_and_panel_moves_and_no_plastic_does() -> None:
    """A tangential cut moves more than a radial one; a panel moves a tenth of what wood does."""
    known = {one.material for one in movements()}
    assert known == {one.name for one in materials() if one.kind not in ("plastic",)}
    for one in movements():
        assert 0 < one.radial < one.tangential < 0.005
        if one.radial_shrinkage is not None and one.tangential_shrinkage is not None:
            assert 2 < one.radial_shrinkage < one.tangential_shrinkage < 13
    assert movement("acetal") is None
