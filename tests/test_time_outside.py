"""How long a motion takes, against a general library for time-optimal motion along a path.

The library finds the fastest way to run a path whose axes keep their speeds and accelerations: minimise the
sum of 2 ds / (sqrt(b_i) + sqrt(b_i+1)), b the squared path speed, under |q'' b + q' a| <= limit for each axis
(Pham and Pham, IEEE Transactions on Robotics 34 (2018) 645; the same problem as Verscheure et al., IEEE
Transactions on Automatic Control 54 (2009) 2318; both from memory).

What can be compared, and how closely:

- Straight moves: the same problem. The library works on a grid; with the corners and both ends on it, its
  time is the true one to the second order of the step, since the plan's b is piecewise straight in s.
- Corners: the library knows none, for a path with a corner has no finite q'' there. It is told the speed at
  which ours passes each corner, and every step keeps to the direction of the move that it lies in.
- Arcs: ours is held to the slower axis all the way round, where the library uses each axis for what it has
  left, so the library may be faster. But ours speeds up along an arc at its full acceleration while the arc
  asks for some across the path, as small controllers do; together that is up to sqrt(2) of what an axis has.
  So ours is never faster than the library with axes sqrt(2) times as strong. That is a bound, not a guess:
  our plan of speeds is one of those that the library looks among.
"""

import math
import warnings
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from proveout.job.records import Machine, Spindle
from proveout.motion import ARC, RAPID, Floats, Motion, MotionBuilder, arc_radius, lengths
from proveout.motion_time import corner_speed, move_seconds

with warnings.catch_warnings():
    warnings.simplefilter("ignore")  # the library's own, about its docstrings
    why = "the path library has no wheel for this system"
    algorithm: Any = pytest.importorskip("toppra.algorithm", reason=why)
    constraint: Any = pytest.importorskip("toppra.constraint", reason=why)
    interpolator: Any = pytest.importorskip("toppra.interpolator", reason=why)

Triple = tuple[float, float, float]

SPINDLE = Spindle(
    min_rpm=5000,
    max_rpm=24000,
    power=300,
    nut_diameter=20,
    nut_length=15,
    body_diameter=52,
    spin_up=3,
)
GANTRY = Machine(
    name="test gantry",
    travel=(600, 400, 100),
    tip_reach=80,
    max_feed=(100, 80, 20),
    acceleration=(500, 400, 150),
    corner_deviation=0.01,
    stiffness=200,
    dialect="plain",
    units="mm",
    line_limit=80,
    spindle=SPINDLE,
)
EVEN = replace(GANTRY, max_feed=(100, 100, 100), acceleration=(500, 500, 500))
FREE = 1e6  # mm/s, mm/s2: no limit


def a_builder(feed: float) -> MotionBuilder:
    builder = MotionBuilder((0, 0, 0))
    builder.feed = feed
    return builder


def lines(*to: Sequence[float], feed: float = 50.0) -> Motion:
    builder = a_builder(feed)
    for point in to:
        builder.line_to((point[0], point[1], point[2] if len(point) > 2 else 0.0))
    return builder.motion()


def ours(motion: Motion, machine: Machine = EVEN) -> float:
    return float(move_seconds(motion, machine).sum())


class Path(interpolator.AbstractGeometricPath):  # type: ignore[misc]  # the library has no types
    """A motion as a path of four axes: X, Y, Z, and the way itself, whose speed is the feed.

    Arcs lie in the XY plane. At a node the path belongs to the move that begins there.
    """

    def __init__(self, motion: Motion) -> None:
        self.motion = motion
        self.nodes = np.concatenate(([0.0], np.cumsum(lengths(motion))))

    @property
    def dof(self) -> int:
        return 4

    @property
    def path_interval(self) -> Floats:
        return np.array([0.0, self.nodes[-1]])

    def move_at(self, way: float) -> int:
        found = int(np.searchsorted(self.nodes, way + 1e-9, side="right")) - 1
        return min(max(found, 0), len(self.motion) - 1)

    def __call__(self, way: Any, order: int = 0) -> Floats:
        values = np.array([self._one(float(s), order) for s in np.atleast_1d(way)])
        return values if np.ndim(way) else values[0]

    def _one(self, way: float, order: int) -> list[float]:
        move = self.move_at(way)
        start, end = self.motion.start[move], self.motion.end[move]
        whole = self.nodes[move + 1] - self.nodes[move]
        share = (way - self.nodes[move]) / whole
        own = (way, 1.0, 0.0)[order]
        if self.motion.kind[move] != ARC:
            return [*(start + (end - start) * share, (end - start) / whole, np.zeros(3))[order], own]
        centre, sweep = self.motion.centre[move], float(self.motion.sweep[move])
        arm = start - centre
        radius, angle = math.hypot(arm[0], arm[1]), math.atan2(arm[1], arm[0]) + sweep * share
        turn, rise = sweep / whole, (end[2] - start[2]) / whole
        out, across = (
            np.array([math.cos(angle), math.sin(angle)]),
            np.array([-math.sin(angle), math.cos(angle)]),
        )
        if order == 0:
            return [*(centre[:2] + radius * out), start[2] + (end[2] - start[2]) * share, own]
        if order == 1:
            return [*(radius * turn * across), rise, own]
        return [*(-radius * turn**2 * out), 0.0, own]


def fastest(
    motion: Motion, machine: Machine = EVEN, *, corners: Sequence[float] = (), strength: float = 1.0
) -> float:
    """The library's time, s; `corners`: the speed at each inner node, none for no limit."""
    path = Path(motion)
    passed = dict(zip(path.nodes[1:-1].tolist(), corners, strict=False))
    feed = np.where(motion.kind == RAPID, FREE, motion.feed)

    def speeds(way: float) -> Floats:
        move = path.move_at(way)
        before = path.move_at(way - 2e-9)
        own = min(float(feed[move]), float(feed[before]))
        for node, limit in passed.items():
            if abs(node - way) < 1e-9:
                own = min(own, max(limit, 1e-4))
        most = np.array([*machine.max_feed, own])
        return np.column_stack((-most, most))

    pull = np.array([*machine.acceleration, FREE]) * strength
    pieces = [
        np.linspace(begin, end, max(120, math.ceil((end - begin) / 0.1)) + 1)[:-1]
        for begin, end in zip(path.nodes[:-1], path.nodes[1:], strict=True)
    ]
    grid = np.concatenate([*pieces, path.nodes[-1:]])
    held = [
        constraint.JointVelocityConstraintVarying(speeds),
        constraint.JointAccelerationConstraint(
            np.column_stack((-pull, pull)),
            discretization_scheme=constraint.DiscretizationType.Collocation,
        ),
    ]
    found = algorithm.TOPPRA(held, path, gridpoints=grid, solver_wrapper="seidel")
    _, speed, _ = found.compute_parameterization(0, 0)
    assert speed is not None and np.isfinite(speed).all()
    return float((2 * np.diff(grid) / (speed[:-1] + speed[1:])).sum())


SLOPES = [(300, 0, 0), (3, 0, 0), (30, 40, 0), (40, 0, -30), (0, 0, -10), (0.2, -0.1, 0.05)]


@pytest.mark.parametrize("machine", [EVEN, GANTRY], ids=["even axes", "a slow Z"])
@pytest.mark.parametrize("to", SLOPES, ids=str)
def test_one_straight_move_is_run_as_fast_as_can_be(to: Triple, machine: Machine) -> None:
    """From rest to rest no axis could do it sooner; 1e-4 is the library's grid on a short move."""
    motion = lines(to)
    assert ours(motion, machine) == pytest.approx(fastest(motion, machine), rel=1e-4)


@pytest.mark.parametrize("machine", [EVEN, GANTRY], ids=["even axes", "a slower Y"])
def test_a_square_corner_with_a_stop_is_two_moves_from_rest_to_rest(machine: Machine) -> None:
    """A right angle that must not be rounded costs what a stop costs, and no more."""
    motion = lines((50, 0), (50, 50))
    sharp = replace(machine, corner_deviation=0.0)
    assert ours(motion, sharp) == pytest.approx(fastest(motion, machine, corners=[0.0]), rel=1e-5)


def corners_of(motion: Motion, machine: Machine) -> list[float]:
    """Speeds at the inner nodes after the rule of the permitted deviation, on a machine with even axes."""
    way = (motion.end - motion.start) / lengths(motion)[:, None]
    sine = np.sqrt((1 + (way[:-1] * way[1:]).sum(axis=1)) / 2)
    found: list[float] = corner_speed(
        sine, np.full(len(sine), machine.acceleration[0]), machine.corner_deviation
    ).tolist()
    return found


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize(("step", "feed"), [(0.8, 60.0), (6.0, 90.0)], ids=["short moves", "longer moves"])
def test_a_line_of_many_corners_is_run_as_fast_as_they_allow(seed: int, step: float, feed: float) -> None:
    """Braking for corners to come and picking up speed behind them: no plan within the limits is faster."""
    rng = np.random.default_rng(seed)
    heading = np.cumsum(rng.uniform(-0.8, 0.8, 12))
    way = rng.uniform(0.1, 1.9, 12) * step
    points = np.cumsum(way[:, None] * np.column_stack((np.cos(heading), np.sin(heading))), axis=0)
    motion = lines(*points.tolist(), feed=feed)
    loose = replace(EVEN, corner_deviation=0.05)
    limits = corners_of(motion, loose)
    assert ours(motion, loose) == pytest.approx(fastest(motion, loose, corners=limits), rel=1e-4)


def test_a_path_whose_feed_changes_on_the_way_brakes_before_the_slow_piece() -> None:
    """Straight on from 80 to 10 mm/s and back to 60: the slow piece is slow from its first point."""
    builder = a_builder(80)
    builder.line_to((40, 0, 0))
    builder.feed = 10
    builder.line_to((45, 0, 0))
    builder.feed = 60
    builder.line_to((90, 0, 0))
    motion = builder.motion()
    assert ours(motion) == pytest.approx(fastest(motion), rel=1e-5)


def circle(radius: float, feed: float, turns: int = 1) -> Motion:
    builder = a_builder(feed)
    builder.arc_to((0, 0, 0), (radius, 0), turns * math.tau)
    return builder.motion()


def winding(seed: int, feed: float, radii: tuple[float, float]) -> Motion:
    """Lines and arcs, each going on in the direction in which the one before ended."""
    rng = np.random.default_rng(seed)
    builder, heading, x, y = a_builder(feed), float(rng.uniform(0, math.tau)), 0.0, 0.0
    for number in range(6):
        if number % 2 == 0:
            way = float(rng.uniform(1, 30))
            x, y = x + way * math.cos(heading), y + way * math.sin(heading)
            builder.line_to((x, y, 0))
        side, sweep = float(rng.choice([-1, 1])), float(rng.uniform(0.2, 2.5))
        radius = side * float(rng.uniform(*radii))
        middle = x - radius * math.sin(heading), y + radius * math.cos(heading)
        heading += side * sweep
        x, y = middle[0] + radius * math.sin(heading), middle[1] - radius * math.cos(heading)
        builder.arc_to((x, y, 0), middle, side * sweep)
    return builder.motion()


CIRCLES = [(3, 90, 5), (10, 90, 1), (20, 30, 1)]  # radius, feed, turns
ROUND = [
    *(pytest.param(circle(*one), id="circle {} at {}, {} turns".format(*one)) for one in CIRCLES),
    *(pytest.param(winding(seed, 90, (2, 20)), id=f"winding {seed}") for seed in range(6)),
]


@pytest.mark.parametrize("motion", ROUND)
def test_round_ways_are_never_run_faster_than_can_be(motion: Motion) -> None:
    """Not by axes sqrt(2) times as strong, which is proved; nor by the axes as they are, which was found.

    That ours isn't faster with the axes as they are is no theorem: what it asks too much of an axis while it
    speeds up in an arc, it gives away at the arc's diagonals. 2e-4 is the library's grid.
    """
    taken = ours(motion)
    assert taken >= fastest(motion, strength=math.sqrt(2)) * (1 - 1e-6)
    assert taken >= fastest(motion) * (1 - 2e-4)


@pytest.mark.parametrize("motion", ROUND)
def test_round_ways_lose_little_to_the_slower_axis(motion: Motion) -> None:
    """Holding arcs to the slower axis all the way round costs a twentieth at most where both are alike."""
    assert ours(motion) <= 1.05 * fastest(motion)


@pytest.mark.parametrize("seed", range(6))
def test_a_gentle_way_of_lines_and_arcs_takes_the_fastest_time(seed: int) -> None:
    """Where an arc asks for a tenth of an axis or less, the two plans agree within 1 %."""
    motion = winding(seed, 22, (10, 30))
    assert (22**2 / arc_radius(motion)[motion.kind == ARC] < 0.1 * 500).all()
    assert ours(motion) == pytest.approx(fastest(motion), rel=1e-2)
