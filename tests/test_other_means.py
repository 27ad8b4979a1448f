"""Other means of holding than straps, against linear programmes, closed forms and rows worked by hand."""

from collections.abc import Sequence
from math import cos, pi, sin

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import linprog

from proveout.hold.slip import Contacts, Stops, push_force, slip_force, slip_map

SIDES = 32  # of the polygon around a circle of friction
WAYS = 36  # of the push, all round


def held(
    points: Sequence[tuple[float, float, float]], stops: Sequence[tuple[float, float, int, float]] = ()
) -> Contacts:
    """Contacts of (x, y, friction) and stops of (x, y, quarter turns of the way they push, strength)."""
    table = np.array(list(points)).reshape(-1, 3)
    rows = np.array(list(stops)).reshape(-1, 4)
    turn = rows[:, 2] * pi / 2
    return Contacts(
        at=table[:, :2],
        friction=table[:, 2],
        pressed=1000.0,
        stops=Stops(at=rows[:, :2], normal=np.column_stack((np.cos(turn), np.sin(turn))), stands=rows[:, 3]),
    )


def by_programme(one: Contacts, point: tuple[float, float], angle: float) -> float:
    """The greatest push in one direction that statics balances: friction in polygons, stops from 0 up."""
    count, stops, way = len(one), len(one.stops), (cos(angle), sin(angle))
    sides = np.arange(SIDES) * 2 * pi / SIDES
    wide = 2 * count + stops + 1
    limits = np.zeros((count * SIDES, wide))
    for number in range(count):
        limits[number * SIDES : (number + 1) * SIDES, 2 * number] = np.cos(sides)
        limits[number * SIDES : (number + 1) * SIDES, 2 * number + 1] = np.sin(sides)
    balance = np.zeros((3, wide))
    balance[0, 0 : 2 * count : 2], balance[1, 1 : 2 * count : 2] = 1.0, 1.0
    balance[2, 0 : 2 * count : 2], balance[2, 1 : 2 * count : 2] = -one.at[:, 1], one.at[:, 0]
    at, normal = one.stops.at, one.stops.normal
    balance[:2, 2 * count : -1] = normal.T
    balance[2, 2 * count : -1] = at[:, 0] * normal[:, 1] - at[:, 1] * normal[:, 0]
    balance[:, -1] = *way, point[0] * way[1] - point[1] * way[0]
    found = linprog(
        np.append(np.zeros(wide - 1), -1.0),
        A_ub=limits if count else None,
        b_ub=np.repeat(one.friction, SIDES) if count else None,
        A_eq=balance,
        b_eq=np.zeros(3),
        bounds=[
            *[(None, None)] * (2 * count),
            *[(0.0, float(stands)) for stands in one.stops.stands],
            (0.0, None),
        ],
    )
    assert found.success
    return float(-found.fun)


along = st.integers(0, 300).map(float)
contact = st.tuples(along, along, st.floats(5, 200))
strength = st.sampled_from([50.0, 800.0, 20000.0])
edge_stop = st.one_of(
    st.tuples(st.just(0.0), along, st.just(0), strength),
    st.tuples(st.just(300.0), along, st.just(2), strength),
    st.tuples(along, st.just(0.0), st.just(1), strength),
    st.tuples(along, st.just(300.0), st.just(3), strength),
)


@settings(max_examples=40, deadline=None)
@given(
    st.lists(contact, min_size=1, max_size=5),
    st.lists(edge_stop, min_size=1, max_size=5),
    st.tuples(along, along),
    st.integers(0, WAYS - 1),
)
def test_clamps_and_stops_stand_in_each_direction_what_statics_balances(
    points: list[tuple[float, float, float]],
    stops: list[tuple[float, float, int, float]],
    place: tuple[float, float],
    way: int,
) -> None:
    """The kinematic way with stops agrees with a linear programme of pushes and friction (scipy)."""
    one, angle = held(points, stops), way * 2 * pi / WAYS
    stands = float(push_force(one, np.array([place]), (cos(angle), sin(angle)))[0])
    right = by_programme(one, place, angle)
    slack = 1e-3 * float(one.friction.sum())
    assert stands >= right * cos(pi / SIDES) - slack
    assert stands <= right * 1.03 + slack


@settings(max_examples=12, deadline=None)
@given(
    st.lists(contact, min_size=2, max_size=5),
    st.lists(edge_stop, min_size=1, max_size=4),
    st.tuples(along, along),
)
def test_the_least_over_all_directions_is_the_least_that_any_direction_is_stood(
    points: list[tuple[float, float, float]],
    stops: list[tuple[float, float, int, float]],
    place: tuple[float, float],
) -> None:
    """What the margins count with is no more than a linear programme finds in any of 36 directions."""
    one = held(points, stops)
    each = [by_programme(one, place, number * 2 * pi / WAYS) for number in range(WAYS)]
    stands = float(slip_force(one, np.array([place]))[0])
    slack = 1e-3 * float(one.friction.sum())
    assert stands <= min(each) * 1.03 + slack
    assert stands >= min(each) * 0.85 - slack  # the true least lies between the directions tried


@settings(max_examples=40, deadline=None)
@given(
    st.lists(contact, min_size=2, max_size=5),
    st.lists(edge_stop, min_size=1, max_size=4),
    st.lists(st.tuples(along, along), min_size=4, max_size=10),
)
def test_a_stop_never_weakens_a_hold_and_a_map_never_promises_more(
    points: list[tuple[float, float, float]],
    stops: list[tuple[float, float, int, float]],
    places: list[tuple[float, float]],
) -> None:
    """Adding stops adds to what every point stands, or nothing; reading between nodes stays below it."""
    bare, more, where = held(points), held(points, stops), np.array(places)
    with_stops = slip_force(more, where)
    assert (with_stops >= slip_force(bare, where) * 0.98 - 1e-6).all()
    assert (slip_map(more, (300.0, 300.0)).at(where) <= with_stops * 1.02 + 1e-6).all()


def test_a_stop_stands_the_push_towards_it_and_nothing_of_the_push_away() -> None:
    """Two clamps of 100 N in line with a stop of 5000 N: 5200 N towards it, 200 N away (statics)."""
    one = held([(100, 50, 100), (200, 50, 100)], [(0, 50, 0, 5000)])
    middle = np.array([(150.0, 50.0)])
    assert push_force(one, middle, (-1.0, 0.0))[0] == pytest.approx(5200, rel=1e-3)
    assert push_force(one, middle, (1.0, 0.0))[0] == pytest.approx(200, rel=1e-3)
    assert slip_force(one, middle)[0] == pytest.approx(200, rel=1e-3)


def test_four_stops_that_close_a_blank_in_need_no_friction() -> None:
    """A pinwheel of stops holds a frictionless blank by their strength; with the pairs opposite it turns."""
    pinwheel = [(0, 50, 0, 1000.0), (300, 250, 2, 1000.0), (50, 0, 1, 1000.0), (250, 300, 3, 1000.0)]
    opposite = [(0, 150, 0, 1000.0), (300, 150, 2, 1000.0), (150, 0, 1, 1000.0), (150, 300, 3, 1000.0)]
    place = (100.0, 120.0)
    closed = float(slip_force(held([], pinwheel), np.array([place]))[0])
    least = min(by_programme(held([], pinwheel), place, one * 2 * pi / WAYS) for one in range(WAYS))
    assert closed > 100
    assert least * 0.85 <= closed <= least * 1.03
    assert float(slip_force(held([], opposite), np.array([place]))[0]) == pytest.approx(0, abs=1e-6)
