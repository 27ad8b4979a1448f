"""Few clamps that hold a blank everywhere, chosen among all places so that its weakest point stands most.

The measure is the least force, over points all over the blank, that friction under the clamps stands
whichever way it pushes (`slip`), as a grid of centres of turning sees it: an upper bound that is near for
choosing, so that the chosen set is measured again without it. One clamp after another is added where that
helps most; then each is tried in every other place, until no exchange helps.
"""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import shapely

from proveout.hold.friction import plate_friction
from proveout.hold.places import Place
from proveout.hold.slip import Contacts, slip_force
from proveout.motion import Floats
from proveout.shelf.materials import Material

POINTS: Final = 7  # along each side of the blank, at which it is pushed
CENTRES: Final = 15  # of turning along each side of the blank and half as far again
FAR: Final = (3.0, 10.0, 100.0)  # times half the blank, of centres further out
BEARINGS: Final = 16
APART: Final = 1.0  # mm between two bars
BETTER: Final = 1.005  # times; what helps less is no help
MOST_CLAMPS: Final = 8
MOST_ROUNDS: Final = 6  # of exchanges
STARTS: Final = 3  # first clamps that are followed up


@dataclass(frozen=True, slots=True, kw_only=True)
class Held:
    """Clamps in their places, and what the blank stands with them at its weakest point."""

    places: tuple[Place, ...]
    stands: float  # N, any direction in the plane
    weakest: tuple[float, float]  # mm on the blank
    enough: bool  # whether that is what was wanted


def choose_clamps(
    found: Sequence[Place],
    stock: Material,
    size: tuple[float, float],
    wanted: float,
    *,
    most: int = MOST_CLAMPS,
) -> Held | None:
    """The fewest clamps with which every point of the blank stands a force, or the best there are.

    Args:
        found: the places where clamps could stand
        stock: what lies on the plate
        size: of the blank, mm
        wanted: N, sideways, its safety included
        most: clamps at all
    Returns:
        None where no clamp reaches the blank
    """
    if not found:
        return None
    table = _table(found, stock, size)
    best: tuple[int, ...] = ()
    for count in range(1, most + 1):
        chosen = _best_of(table, count, best)
        if len(chosen) < count:
            break
        best = chosen if _worth(table, chosen) > _worth(table, best) else best
        if len(best) == count and measured(tuple(found[one] for one in best), stock, size).stands >= wanted:
            break
    held = measured(tuple(found[one] for one in best), stock, size)
    return Held(places=held.places, stands=held.stands, weakest=held.weakest, enough=held.stands >= wanted)


def measured(
    chosen: tuple[Place, ...], stock: Material, size: tuple[float, float], held: Contacts | None = None
) -> Held:
    """What a blank stands with these clamps, by the whole search over centres of turning.

    Args:
        held: by all that holds it, where that is more than the clamps
    """
    held = held or contacts_of(chosen, stock)
    points = _points(size)
    stands = slip_force(held, points)
    least = int(stands.argmin())
    x, y = points[least].tolist()
    return Held(places=chosen, stands=float(stands[least]), weakest=(x, y), enough=False)


def contacts_of(chosen: Sequence[Place], stock: Material) -> Contacts:
    """Where they press: each patch as four points half way to its corners."""
    mu = plate_friction(stock).design
    if not chosen:
        return Contacts(at=np.zeros((0, 2)), friction=np.zeros(0), pressed=0.0)
    force = np.array([one.force for one in chosen])
    return Contacts(
        at=np.concatenate([_quarters(one) for one in chosen]),
        friction=np.repeat(mu * force / 4, 4),
        pressed=float(force.sum()),
    )


def _quarters(place: Place) -> Floats:
    left, front, right, back = place.patch.bounds
    middle = np.array([(left + right) / 2, (front + back) / 2])
    corners = np.array([[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]])
    return np.asarray(middle + corners * ((right - left) / 4, (back - front) / 4))


def _points(size: tuple[float, float]) -> Floats:
    """Points all over the blank, its corners among them."""
    x, y = (np.linspace(0.0, side, POINTS) for side in size)
    return np.column_stack([axis.ravel() for axis in np.meshgrid(x, y)])


@dataclass(frozen=True, slots=True, eq=False)
class _Table:
    """What is reckoned once: each place's work about each centre, and how far points are from centres."""

    work: Floats  # (places, centres) N mm for a turn of 1 rad
    near: Floats  # (points, centres) 1/mm
    shift: Floats  # (places,) N
    clash: np.ndarray  # (places, places) bool: bars that overlap
    kind: tuple[str, ...]
    stock_of: dict[str, int]  # how many there are of each kind


def _table(found: Sequence[Place], stock: Material, size: tuple[float, float]) -> _Table:
    points = _points(size)
    middle, half = np.array(size) / 2, max(size) / 2
    steps = np.linspace(-1.5, 1.5, CENTRES) * half
    inner = middle + np.column_stack([axis.ravel() for axis in np.meshgrid(steps, steps)])
    angles = np.arange(BEARINGS) * 2 * np.pi / BEARINGS
    rings = [middle + far * half * np.column_stack((np.cos(angles), np.sin(angles))) for far in FAR]
    patches = np.array([one.patch.centroid.coords[0] for one in found])
    centres = np.concatenate((patches, inner, *rings))
    mu = plate_friction(stock).design
    work = np.array(
        [
            mu
            * one.force
            / 4
            * np.hypot(*(_quarters(one)[:, None, :] - centres).transpose(2, 0, 1)).sum(axis=0)
            for one in found
        ]
    )
    away = np.hypot(*(points[:, None, :] - centres).transpose(2, 0, 1))
    bars = np.array([one.bar.buffer(APART / 2, join_style="mitre") for one in found])
    tree = shapely.STRtree(bars)
    clash = np.zeros((len(found), len(found)), dtype=bool)
    one, other = tree.query(bars, predicate="intersects")
    clash[one, other] = True
    return _Table(
        work=work,
        near=1 / np.maximum(away, 1e-6),
        shift=np.array([mu * each.force for each in found]),
        clash=clash,
        kind=tuple(each.kind.name for each in found),
        stock_of={each.kind.name: each.kind.count for each in found},
    )


def _stands(table: _Table, work: Floats, shift: Floats) -> Floats:
    """The weakest point's force for each row of work about the centres, (n,) N."""
    least = shift.copy()
    for point in table.near:
        np.minimum(least, (work * point).min(axis=1), out=least)
    return least


def _worth(table: _Table, chosen: tuple[int, ...]) -> float:
    if not chosen:
        return 0.0
    rows = list(chosen)
    return float(_stands(table, table.work[rows].sum(axis=0)[None], table.shift[rows].sum(keepdims=True))[0])


def _free(table: _Table, chosen: Sequence[int]) -> np.ndarray:
    """Places that stand clear of the chosen ones, of kinds of which one is left."""
    used = Counter(table.kind[one] for one in chosen)
    left = np.array([used[kind] < table.stock_of[kind] for kind in table.kind])
    return np.flatnonzero(left & ~table.clash[list(chosen)].any(axis=0)) if chosen else np.flatnonzero(left)


def _with(table: _Table, chosen: Sequence[int]) -> tuple[np.ndarray, Floats]:
    """Places that can be added, and what the weakest point would stand with each."""
    free = _free(table, chosen)
    rows = list(chosen)
    work = table.work[free] + table.work[rows].sum(axis=0)
    return free, _stands(table, work, table.shift[free] + table.shift[rows].sum())


def _best_of(table: _Table, count: int, before: tuple[int, ...]) -> tuple[int, ...]:
    """So many clamps, from several beginnings, each mended by exchanges."""
    beginnings: list[tuple[int, ...]] = []
    if len(before) == count - 1 and before:
        beginnings.append(before)
    free, worth = _with(table, ())
    for first in free[np.argsort(-worth, kind="stable")[:STARTS]].tolist():
        beginnings.append((first,))
    done = [_exchanged(table, _grown(table, begin, count)) for begin in dict.fromkeys(beginnings)]
    return max(done, key=lambda one: (len(one), _worth(table, one)), default=())


def _grown(table: _Table, chosen: tuple[int, ...], count: int) -> tuple[int, ...]:
    while len(chosen) < count:
        free, worth = _with(table, chosen)
        if not free.size:
            return chosen
        chosen = (*chosen, int(free[worth.argmax()]))
    return chosen


def _exchanged(table: _Table, chosen: tuple[int, ...]) -> tuple[int, ...]:
    """Each clamp in turn put where it helps most, the others standing, until none is moved."""
    worth = _worth(table, chosen)
    for _ in range(MOST_ROUNDS):
        moved = False
        for number in range(len(chosen)):
            rest = (*chosen[:number], *chosen[number + 1 :])
            free, stands = _with(table, rest)
            if free.size and stands.max() > worth * BETTER:
                chosen, worth = (*rest, int(free[stands.argmax()])), float(stands.max())
                moved = True
        if not moved:
            break
    return chosen
