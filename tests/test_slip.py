"""What friction under the clamps stands, against a linear programme and closed forms."""

from math import cos, hypot, pi, sin

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import linprog

from proveout.hold.slip import Contacts, slip_force, slip_map, tip_share

SIDES = 64  # of the polygon that stands for a circle of friction
WAYS = 48  # of the force, over half a turn


def held(*points: tuple[float, float, float], pressed: float = 1000.0) -> Contacts:
    """Contacts of (x, y, friction)."""
    table = np.array(points)
    return Contacts(at=table[:, :2], friction=table[:, 2], pressed=pressed)


def by_programme(contacts: Contacts, point: tuple[float, float], angle: float) -> float:
    """The greatest force in one direction at a point for which statics finds forces that friction can give.

    A linear programme over the contacts' forces; the circle of friction is a polygon around it.
    """
    count, way = len(contacts), (cos(angle), sin(angle))
    sides = np.arange(SIDES) * 2 * pi / SIDES
    limits = np.zeros((count * SIDES, 2 * count + 1))
    for number in range(count):
        limits[number * SIDES : (number + 1) * SIDES, 2 * number] = np.cos(sides)
        limits[number * SIDES : (number + 1) * SIDES, 2 * number + 1] = np.sin(sides)
    balance = np.zeros((3, 2 * count + 1))
    balance[0, 0:-1:2], balance[1, 1:-1:2] = 1.0, 1.0
    balance[2, 0:-1:2], balance[2, 1:-1:2] = -contacts.at[:, 1], contacts.at[:, 0]
    balance[:, -1] = -way[0], -way[1], -(point[0] * way[1] - point[1] * way[0])
    found = linprog(
        np.append(np.zeros(2 * count), -1.0),
        A_ub=limits,
        b_ub=np.repeat(contacts.friction, SIDES),
        A_eq=balance,
        b_eq=np.zeros(3),
        bounds=[(None, None)] * (2 * count + 1),
    )
    assert found.success
    return float(-found.fun)


coordinate = st.floats(0, 300)
contact = st.tuples(coordinate, coordinate, st.floats(5, 200))


@settings(max_examples=25, deadline=None)
@given(st.lists(contact, min_size=2, max_size=6), st.tuples(coordinate, coordinate))
def test_the_least_over_centres_of_turning_is_the_least_over_directions_of_the_force(
    points: list[tuple[float, float, float]], place: tuple[float, float]
) -> None:
    """The kinematic way agrees with statics, a linear programme for each direction (scipy)."""
    contacts = held(*points)
    turns = [by_programme(contacts, place, number * pi / WAYS) for number in range(WAYS)]
    stands = float(slip_force(contacts, np.array([place]))[0])
    slack = 1e-3 * float(contacts.friction.sum())
    assert stands <= min(turns) * 1.002 + slack
    # the true least lies between the directions tried, near neighbours of the best one
    assert stands >= min(turns) * cos(pi / SIDES) * 0.9 - slack


def test_two_clamps_stand_all_their_friction_between_them_and_a_lever_beyond() -> None:
    """Midway all friction counts; at a distance d beyond one, the other stands c l/(l + d)."""
    two = held((0, 0, 100), (200, 0, 100))
    midway, beyond = slip_force(two, np.array([(100.0, 0.0), (300.0, 0.0)]))
    assert midway == pytest.approx(200, rel=1e-3)
    assert beyond == pytest.approx(100 * 200 / 300, rel=1e-3)


def test_one_point_holds_nothing_against_a_turn() -> None:
    """About a single contact the blank turns freely."""
    assert slip_force(held((50, 50, 100)), np.array([(80.0, 50.0)]))[0] == pytest.approx(0, abs=1e-6)


@settings(max_examples=25, deadline=None)
@given(
    st.lists(contact, min_size=3, max_size=8),
    st.lists(st.tuples(coordinate, coordinate), min_size=5, max_size=20),
)
def test_a_map_never_promises_more_than_there_is(
    points: list[tuple[float, float, float]], places: list[tuple[float, float]]
) -> None:
    """1/F is convex, so reading it along straight lines between nodes is on the safe side."""
    contacts, somewhere = held(*points), np.array(places)
    read = slip_map(contacts, (300.0, 300.0)).at(somewhere)
    assert (read <= slip_force(contacts, somewhere) * 1.005 + 1e-6).all()


def test_the_worked_example_of_two_straps() -> None:
    """N 2250, mu 0.25, 60 N sideways and 20 N up: 9.292 times (a worked example of the trade, by statics)."""
    straps = held((0, 0, 0.25 * 1125), (100, 0, 0.25 * 1125), pressed=2250.0)
    stands = slip_force(straps, np.array([(50.0, 0.0)]))[0] * (1 - 20 / 2250)
    assert stands / 60 == pytest.approx(9.292, rel=1e-3)


def test_a_pull_up_tips_the_blank_about_the_edge_that_the_clamps_are_near() -> None:
    """Clamps 10 mm from an edge, a pull at the far edge of 200 mm: 1/20 of what they press with."""
    near = held((10, 50, 25), (10, 150, 25), pressed=400.0)
    pull = tip_share(near, np.array([(200.0, 100.0)]), (200.0, 200.0))[0]
    assert pull == pytest.approx(400 * 10 / 200)


def test_nothing_holds_without_clamps() -> None:
    """No contact, no force."""
    none = Contacts(at=np.zeros((0, 2)), friction=np.zeros(0), pressed=0.0)
    assert slip_force(none, np.array([(1.0, 1.0)]))[0] == 0
    assert tip_share(none, np.array([(1.0, 1.0)]), (10.0, 10.0))[0] == 0


def test_distances_are_what_they_seem() -> None:
    """A square of four contacts stands a push in its middle with all of them."""
    square = held((0, 0, 10), (100, 0, 10), (100, 100, 10), (0, 100, 10))
    stands = float(slip_force(square, np.array([(50.0, 50.0)]))[0])
    assert stands == pytest.approx(40, rel=1e-3)
    assert float(slip_force(square, np.array([(500.0, 50.0)]))[0]) < 4 * 10 * hypot(50, 50) / 450 * 1.01


@settings(max_examples=60, deadline=None)
@given(
    st.lists(contact, min_size=2, max_size=8),
    st.lists(st.tuples(coordinate, coordinate), min_size=2, max_size=20),
)
def test_a_first_look_is_not_far_off(
    points: list[tuple[float, float, float]], places: list[tuple[float, float]]
) -> None:
    """What is looked at no closer, because it stands enough, stands enough."""
    contacts, somewhere = held(*points), np.array(places)
    closely = slip_force(contacts, somewhere)
    for share in (0.3, 1.0, 3.0):
        enough = share * closely + 1e-3 * contacts.friction.sum()
        assert ((slip_force(contacts, somewhere, enough) >= enough) == (closely >= enough)).all()
