"""Slip: the force at a point of the blank that friction under its clamps can stand, whichever way it pushes.

The blank is rigid and lies on the plate; each clamp presses it down at a few points, and each point stands
friction of up to mu N in any direction. The blank slips when some small motion of it, a shift or a turn about
some centre, takes less work against friction than the force puts in (the kinematic theorem of limit
analysis): for turns about c, F(p) = min of sum(mu N_i |r_i - c|) / |p - c|; for shifts, sum(mu N_i). The work
about a centre is the same for all points, has its kinks at the contacts, and is smooth elsewhere.

A stop at an edge pushes and never pulls: a motion away from it costs nothing, one into it costs the stop's
strength times the way. It is without friction. So a turn to the left and one to the right differ in work.

1 / F(p) is the greatest of |v(p)| over all motions of work 1, so it is convex in p: reading it between the
nodes of a grid by straight lines never promises more than there is.

Source: Goyal, Ruina and Papadopoulos, Wear 143 (1991), the limit surface (from memory); the rest derived
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Final, NamedTuple

import numpy as np
import numpy.typing as npt
from shapely import Polygon

from proveout.hold.friction import plate_friction
from proveout.motion import Floats
from proveout.setup import Grip, PlacedClamp, PlacedStop
from proveout.shelf.materials import Material

CENTRES: Final = 24  # of turning, tried along each side of the blank and half as far again on either side
BEARINGS: Final = 36
FAR: Final = (2.0, 3.0, 5.0, 10.0, 30.0, 100.0)  # times half the blank, of centres further out
HALVINGS: Final = 12  # of the search's step
SURELY: Final = 1.5  # times; a first look overrates what a point stands by less (the tests look)
SPACING: Final = 10.0  # mm between the nodes of a map, or more where the blank is large
MOST_NODES: Final = 2500
PART: Final = 50.0  # mm, of a large area that holds
MOST_PARTS: Final = 5  # of it, each way, where there are no more than
FEW: Final = 16  # of them; else two
POINT: Final = 80.0  # mm2; what holds on less counts as a point


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Stops:
    """Points at the blank's edges that push and never pull."""

    at: Floats  # (m, 2) mm
    normal: Floats  # (m, 2) of length 1, the way each pushes: into the blank
    stands: Floats  # (m,) N before the stop or the edge gives

    def __len__(self) -> int:
        return len(self.at)


NO_STOPS: Final = Stops(at=np.zeros((0, 2)), normal=np.zeros((0, 2)), stands=np.zeros(0))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Contacts:
    """Points at which the blank is pressed on the plate."""

    at: Floats  # (k, 2) mm
    friction: Floats  # (k,) N, mu N of each and what it stands sideways of its own
    pressed: float  # N, all clamps together
    own: Floats | None = None  # (k,) N of that which needs no pressing: tape, screws, pins; None: nothing
    down: Floats | None = None  # (k,) N by which each holds the blank down; None: its share of `pressed`
    stops: Stops = NO_STOPS

    def __len__(self) -> int:
        return len(self.at)

    @property
    def lost(self) -> float:
        """Friction that goes for each newton by which the blank is pulled up."""
        pressing = float(self.friction.sum() - (0.0 if self.own is None else self.own.sum()))
        return pressing / self.pressed if self.pressed > 0 else 0.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SlipMap:
    """The force that friction stands at each node of a grid over the blank, N."""

    x: Floats  # (columns,) mm
    y: Floats  # (rows,) mm
    force: Floats  # (rows, columns)

    def at(self, points: Floats) -> Floats:
        """The force at points (n, 2), never more than there is; points off the grid count at its edge."""
        x, y = np.clip(points[:, 0], self.x[0], self.x[-1]), np.clip(points[:, 1], self.y[0], self.y[-1])
        column, row = cell_of(self.x, x), cell_of(self.y, y)
        right = (x - self.x[column]) / (self.x[column + 1] - self.x[column])
        back = (y - self.y[row]) / (self.y[row + 1] - self.y[row])
        give = 1 / np.maximum(self.force, 1e-9)
        front_edge = give[row, column] * (1 - right) + give[row, column + 1] * right
        back_edge = give[row + 1, column] * (1 - right) + give[row + 1, column + 1] * right
        stands: Floats = 1 / (front_edge * (1 - back) + back_edge * back)
        return stands


def cell_of(nodes: Floats, values: Floats) -> npt.NDArray[np.int64]:
    """Number of the node before each value, the last but one at most."""
    return np.clip(np.searchsorted(nodes, values, side="right") - 1, 0, len(nodes) - 2)


def contacts(
    clamps: Sequence[PlacedClamp],
    stock: Material,
    grips: Sequence[Grip] = (),
    stops: Sequence[PlacedStop] = (),
) -> Contacts:
    """Where a stock is held: a patch as four points half way to its corners, larger areas as more.

    A grip's own stand sideways is added to what its pressing gives by friction.
    """
    mu = plate_friction(stock).design
    rows = [
        *(_Patch(one.pressing, one.force, 0.0, one.force) for one in clamps if not one.pressing.is_empty),
        *(_Patch(one.pressing, one.force, one.shear, one.down) for one in grips),
    ]
    most = MOST_PARTS if len(rows) <= FEW else 2
    points = [_spread(row.area, most) for row in rows]
    counts = [len(some) for some in points]

    def shared(values: list[float]) -> Floats:
        return np.repeat(np.array(values) / counts, counts) if rows else np.zeros(0)

    return Contacts(
        at=np.concatenate(points) if rows else np.zeros((0, 2)),
        friction=shared([mu * row.press + row.own for row in rows]),
        pressed=sum(row.press for row in rows),
        own=shared([row.own for row in rows]),
        down=shared([row.down for row in rows]),
        stops=Stops(
            at=np.array([one.at for one in stops]).reshape(-1, 2),
            normal=np.array([one.push for one in stops]).reshape(-1, 2),
            stands=np.array([one.stands for one in stops]),
        ),
    )


class _Patch(NamedTuple):
    """An area that holds: N pressed, of its own sideways, of a pull up."""

    area: Polygon
    press: float
    own: float
    down: float


def _spread(patch: Polygon, most: int) -> Floats:
    """The middles of a patch's equal parts: two each way, more where it is long; of pins and heads one."""
    left, front, right, back = patch.bounds
    across, along = (
        (np.arange(count) + 0.5) / count
        for count in (
            1 if patch.area < POINT else min(max(2, round(side / PART)), most)
            for side in (right - left, back - front)
        )
    )
    x, y = np.meshgrid(left + across * (right - left), front + along * (back - front))
    places: Floats = np.column_stack((x.ravel(), y.ravel()))
    return places


def slip_force(
    held: Contacts, points: Floats, enough: Floats | float = np.inf, among: Floats | None = None
) -> Floats:
    """The force that friction stands at each point whatever its direction in the plane, (n,) N.

    The least over centres of turning near and far, then by steps to ever nearer neighbours of the best one.

    Args:
        enough: N; where a point stands half as much again at a first look, that is looked at no closer
        among: the points are looked at as if they were some of these
    """
    if not len(held) and not len(held.stops):
        return np.zeros(len(points))
    return _least_force(held, points, None, enough, among)


def push_force(held: Contacts, points: Floats, way: tuple[float, float]) -> Floats:
    """The force that is stood at each point in one direction of the plane, (n,) N.

    Args:
        way: of the push, of length 1
    """
    if not len(held) and not len(held.stops):
        return np.zeros(len(points))
    return _least_force(held, points, np.asarray(way, dtype=np.float64), np.inf)


def _least_force(
    held: Contacts,
    points: Floats,
    way: Floats | None,
    enough: Floats | float,
    among: Floats | None = None,
) -> Floats:
    centres = _centres(held, points if among is None else among)
    force = _force(_works(held, centres), points[:, None, :] - centres, way)
    best = force.argmin(axis=1)
    stands: Floats = force[np.arange(len(points)), best]
    near = np.flatnonzero(stands < SURELY * enough)
    if near.size:
        spread = points[near] if among is None else among
        span = float(np.max(spread.max(axis=0) - spread.min(axis=0)))
        stands[near] = _refined(held, points[near], way, centres[best[near]], stands[near], span)
    return np.minimum(stands, _shift(held, way))


def _shift(held: Contacts, way: Floats | None) -> float:
    """The force that a shift takes, N: friction, and the stops that it goes into.

    Between two stops' edges the work is a piece of a cosine, which is least at an end: along one of them.
    """
    along = held.stops.normal[:, ::-1] * (1.0, -1.0)
    ways = np.concatenate((np.eye(2), -np.eye(2), along, -along))
    if way is not None:
        ways = np.concatenate((ways, way[None]))
    into = np.maximum(-(ways @ held.stops.normal.T), 0.0) @ held.stops.stands
    speed = np.ones(len(ways)) if way is None else ways @ way
    work = float(held.friction.sum()) + into
    return float(np.where(speed > 1e-9, work / np.maximum(speed, 1e-9), np.inf).min())


def _force(works: Floats, arm: Floats, way: Floats | None) -> Floats:
    """Work over the way of the point; a turn that doesn't move it along the push needs no force.

    Args:
        works: (2, ...) N mm of a turn of 1 rad to the left and to the right about each centre
        arm: (..., 2) from each centre to the point
        way: of the push; None: whichever is the worst
    """
    if way is None:
        return _over(works.min(axis=0), np.hypot(arm[..., 0], arm[..., 1]))
    speed = way[1] * arm[..., 0] - way[0] * arm[..., 1]
    return np.minimum(_over(works[0], speed), _over(works[1], -speed))


def _over(work: Floats, away: Floats) -> Floats:
    force: Floats = np.where(away > 1e-6, work / np.maximum(away, 1e-6), np.inf)
    return force


def _works(held: Contacts, centres: Floats) -> Floats:
    """Work for a turn of 1 rad to the left and to the right about each centre, (2, k) N mm."""
    arm = held.at[None, :, :] - centres[:, None, :]
    done = np.hypot(arm[:, :, 0], arm[:, :, 1]) @ held.friction
    if not len(held.stops):
        return np.broadcast_to(done, (2, *done.shape))
    to_stop = held.stops.at[None, :, :] - centres[:, None, :]
    normal = held.stops.normal
    out = normal[:, 1] * to_stop[:, :, 0] - normal[:, 0] * to_stop[:, :, 1]  # mm a rad, away from each
    left, right = (np.maximum(-way, 0.0) @ held.stops.stands for way in (out, -out))
    return np.stack((done + left, done + right))


def _centres(held: Contacts, points: Floats) -> Floats:
    """Where the blank might turn: about each contact, and about places near, around and far away."""
    both = np.concatenate((held.at, points))
    low, high = both.min(axis=0), both.max(axis=0)
    middle, half = (low + high) / 2, float(np.max(high - low)) / 2 + 1.0
    near = np.linspace(-1.5, 1.5, CENTRES) * half
    inner = np.column_stack([axis.ravel() for axis in np.meshgrid(near, near)])
    angles = np.arange(BEARINGS) * 2 * np.pi / BEARINGS
    outer = [far * half * np.column_stack((np.cos(angles), np.sin(angles))) for far in FAR]
    on_lines = _on_stops(held.stops, held.at, half)
    return np.concatenate((held.at, middle + inner, *(middle + ring for ring in outer), *on_lines))


def _on_stops(stops: Stops, contacts: Floats, half: float) -> Iterator[Floats]:
    """Centres on the stops' lines of push, where turns begin to go into them: the work has kinks there."""
    steps = np.linspace(-1.5, 1.5, CENTRES) * half
    far = np.array([side * times * half for times in FAR for side in (-1, 1)])
    for at, normal in zip(stops.at, stops.normal, strict=True):
        feet = (contacts - at) @ normal
        yield at + np.concatenate((steps, far, feet))[:, None] * normal
    for one, other in combinations(range(len(stops)), 2):
        lines = np.column_stack((stops.normal[one], -stops.normal[other]))
        if abs(np.linalg.det(lines)) > 1e-9:
            along, _ = np.linalg.solve(lines, stops.at[other] - stops.at[one])
            yield (stops.at[one] + along * stops.normal[one])[None]


def _refined(
    held: Contacts, points: Floats, way: Floats | None, centres: Floats, least: Floats, span: float
) -> Floats:
    """The least work for each point, from its best centre on, by a search that halves its steps."""
    centre, least = centres.copy(), least.copy()
    step = np.maximum(np.hypot(*(centre - points).T), span) / CENTRES
    compass = np.arange(8) * np.pi / 4
    ways = np.column_stack((np.cos(compass), np.sin(compass)))
    for _ in range(HALVINGS):
        tried = centre[:, None, :] + step[:, None, None] * ways
        arm = points[:, None, :] - tried
        force = _force(_works(held, tried.reshape(-1, 2)).reshape(2, *arm.shape[:2]), arm, way)
        pick = force.argmin(axis=1)
        rows = np.arange(len(points))
        better = force[rows, pick] < least
        least[better] = force[rows, pick][better]
        centre[better] = tried[rows, pick][better]
        step[~better] /= 2
    return least


def slip_map(held: Contacts, size: tuple[float, float]) -> SlipMap:
    """The force that friction stands all over a blank of a size."""
    x, y = map_axes(size)
    nodes = np.column_stack([axis.ravel() for axis in np.meshgrid(x, y)])
    return SlipMap(x=x, y=y, force=slip_force(held, nodes).reshape(len(y), len(x)))


def map_axes(size: tuple[float, float]) -> tuple[Floats, Floats]:
    """Where the nodes of a map over a blank lie, along X and along Y."""
    spacing = max(SPACING, np.sqrt(size[0] * size[1] / MOST_NODES))
    x, y = (np.linspace(0.0, side, max(2, int(np.ceil(side / spacing)) + 1)) for side in size)
    return x, y


def tip_share(held: Contacts, points: Floats, size: tuple[float, float]) -> Floats:
    """How far a pull up at each point may go before the blank tips about one of its edges, (n,) N.

    About each edge the clamps' moments stand against the pull's: L d(p) <= sum N_i d(i). The blank is
    rigid, and its weight is left out.
    """
    if not len(held):
        return np.zeros(len(points))
    stands = np.full(len(points), np.inf)
    press = held.friction / held.friction.sum() * held.pressed if held.down is None else held.down
    for axis in (0, 1):
        for edge in (0.0, size[axis]):
            moment = float((press * np.abs(held.at[:, axis] - edge)).sum())
            stands = np.minimum(stands, moment / np.maximum(np.abs(points[:, axis] - edge), 1e-9))
    return stands
