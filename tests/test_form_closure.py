"""Points that only push: when they leave a flat body no motion, by the literature and a linear programme."""

from itertools import combinations, pairwise
from math import cos, pi, sin

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.optimize import linprog

from proveout.hold.form_closure import Free, free_motion, is_closed

Point = tuple[float, float]
Touch = tuple[Point, Point]  # where, and the way it pushes


def closed(*touches: Touch) -> bool:
    """Whether these touches close the body in."""
    return is_closed(*arrays(touches))


def arrays(touches: tuple[Touch, ...]) -> tuple[np.ndarray, np.ndarray]:
    """Places and ways as arrays."""
    return np.array([at for at, _ in touches]), np.array([way for _, way in touches])


def on_rectangle(left: float, right: float, front: float, back: float) -> tuple[Touch, ...]:
    """A touch on each side of a rectangle of 300 by 200: the first two by their Y, the others by their X."""
    return (
        ((0.0, left), (1.0, 0.0)),
        ((300.0, right), (-1.0, 0.0)),
        ((front, 0.0), (0.0, 1.0)),
        ((back, 200.0), (0.0, -1.0)),
    )


def on_edges(corners: list[Point], shares: list[tuple[int, float]]) -> tuple[Touch, ...]:
    """Touches on edges of a polygon that runs anticlockwise: the edge, and the share of the way along it."""
    touches = []
    ring = list(pairwise([*corners, corners[0]]))
    for edge, share in shares:
        (ax, ay), (bx, by) = ring[edge]
        size = np.hypot(bx - ax, by - ay)
        at = ax + share * (bx - ax), ay + share * (by - ay)
        touches.append((at, (-(by - ay) / size, (bx - ax) / size)))
    return tuple(touches)


def by_programme(touches: tuple[Touch, ...]) -> bool:
    """Whether the wrenches hold the origin in the interior of their hull: all of them pushing, in balance."""
    at, ways = arrays(touches)
    arm = at - at.mean(axis=0)
    moment = (arm[:, 0] * ways[:, 1] - arm[:, 1] * ways[:, 0]) / 100
    wrenches = np.column_stack((moment, ways))
    if np.linalg.matrix_rank(wrenches, tol=1e-9) < 3:
        return False
    # Greatest least push of a balance whose pushes sum to 1.
    count = len(touches)
    found = linprog(
        np.append(np.zeros(count), -1.0),
        A_ub=np.column_stack((-np.eye(count), np.ones(count))),
        b_ub=np.zeros(count),
        A_eq=np.vstack((np.column_stack((wrenches.T, np.zeros(3))), np.append(np.ones(count), 0.0))),
        b_eq=[0.0, 0.0, 0.0, 1.0],
        bounds=[(None, None)] * (count + 1),
    )
    return bool(found.success and -found.fun > 1e-9)


@pytest.mark.parametrize(
    ("places", "yes"),
    [
        ((50, 150, 100, 200), True),  # a pinwheel: either pair turns it the other way
        ((150, 50, 200, 100), True),
        ((50, 150, 200, 100), False),  # both pairs turn it the same way
        ((100, 100, 150, 150), False),  # opposite each other: it turns about their crossing
        ((100, 100, 100, 200), False),
    ],
)
def test_one_touch_on_each_side_of_a_rectangle_closes_it_when_they_stand_like_a_pinwheel(
    places: tuple[float, float, float, float], yes: bool
) -> None:
    """By statics: the pairs' moments L (right - left) and B (front - back) must be against each other."""
    left, right, front, back = places
    assert closed(*on_rectangle(*places)) is yes
    assert ((right - left) * (back - front) > 0) is yes


@pytest.mark.parametrize("three", list(combinations(range(4), 3)))
def test_no_three_touches_close_a_rectangle(three: tuple[int, ...]) -> None:
    """Four is the least in the plane (Reuleaux; Lynch and Park 12.1.7): take any away and it moves."""
    four = on_rectangle(50, 150, 100, 200)
    assert closed(*four)
    assert not closed(*(four[one] for one in three))


def test_a_triangle_held_in_the_middle_of_each_side_still_turns_a_little() -> None:
    """Three touches may keep a triangle from moving far, but not from a small turn about its middle.

    Source: Cheong, Haverkort and van der Stappen, on immobilising grasps (read): immobile, not form closure.
    """
    corners = [(0.0, 0.0), (100.0, 0.0), (50.0, 50 * 3**0.5)]
    touches = on_edges(corners, [(0, 0.5), (1, 0.5), (2, 0.5)])
    free = free_motion(*arrays(touches))
    assert free is not None and free.centre == pytest.approx((50.0, 50 / 3**0.5), abs=1e-6)
    moved = on_edges(corners, [(0, 0.3), (0, 0.7), (1, 0.5), (2, 0.5)])
    assert closed(*moved), (
        "two touches on one side, one on each other: a fixture of three locators and a clamp"
    )


@settings(max_examples=60, deadline=None)
@given(st.lists(st.floats(0, 2 * pi), min_size=3, max_size=12))
def test_a_disc_is_never_closed_in(angles: list[float]) -> None:
    """However many touches: all push through its middle, about which it turns (Markenscoff and others)."""
    touches = tuple(((50 * cos(a), 50 * sin(a)), (-cos(a), -sin(a))) for a in angles)
    assert not closed(*touches)


def test_what_is_left_free_is_named() -> None:
    """Stops at the left and the front leave a shift away from them; a pair opposite each other a turn."""
    corner = ((0.0, 50.0), (1.0, 0.0)), ((0.0, 150.0), (1.0, 0.0)), ((100.0, 0.0), (0.0, 1.0))
    free = free_motion(*arrays(corner))
    assert isinstance(free, Free)
    assert free.centre is not None or min(free.way) > -1e-9
    straight = free_motion(*arrays(on_rectangle(100, 100, 150, 150)))
    assert straight is not None and straight.centre == pytest.approx((150.0, 100.0))
    assert free_motion(np.zeros((0, 2)), np.zeros((0, 2))) is not None


SHAPES: dict[str, list[Point]] = {
    "bracket": [(0, 0), (120, 0), (120, 30), (40, 30), (40, 90), (0, 90)],
    "pentagon": [(0, 0), (100, -10), (130, 60), (60, 110), (-20, 70)],
    "wedge": [(0, 0), (200, 0), (200, 40), (0, 90)],
    "triangle": [(0, 0), (100, 0), (30, 80)],
}
share = st.floats(0.05, 0.95)


@settings(max_examples=150, deadline=None)
@given(st.sampled_from(sorted(SHAPES)), st.lists(st.tuples(st.integers(0, 5), share), min_size=3, max_size=7))
def test_the_edges_of_the_cone_say_what_the_hull_of_the_wrenches_says(
    name: str, places: list[tuple[int, float]]
) -> None:
    """No free motion is the same as pushes in balance, every one of them above nothing (scipy)."""
    corners = SHAPES[name]
    touches = on_edges(corners, [(edge % len(corners), along) for edge, along in places])
    assert closed(*touches) == by_programme(touches)


@settings(max_examples=150, deadline=None)
@given(
    st.sampled_from(sorted(SHAPES)),
    st.lists(st.tuples(st.integers(0, 5), share), min_size=3, max_size=3),
    st.tuples(st.integers(0, 5), share),
)
def test_a_clamp_closes_three_locators_where_its_push_is_against_all_of_them(
    name: str, locators: list[tuple[int, float]], clamp: tuple[int, float]
) -> None:
    """Brost and Goldberg's condition: the clamp's wrench is a sum of the three's, each taken negatively.

    Source: A complete algorithm for designing planar fixtures using modular components, IEEE Trans. Robotics
    and Automation 12 (1996) (from memory)
    """
    corners = SHAPES[name]
    places = [(edge % len(corners), along) for edge, along in (*locators, clamp)]
    at, ways = arrays(on_edges(corners, places))
    moment = (at[:, 0] * ways[:, 1] - at[:, 1] * ways[:, 0]) / 100
    wrenches = np.column_stack((moment, ways))
    assume(abs(np.linalg.det(wrenches[:3])) > 1e-3)
    shares = np.linalg.solve(wrenches[:3].T, wrenches[3])
    assume((abs(shares) > 1e-6).all())
    assert is_closed(at, ways) == bool((shares < 0).all())
