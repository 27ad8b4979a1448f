"""Few clamps that hold a blank everywhere, chosen among all places so that its weakest point stands most.

The measure is the least force, over points all over the blank or where it is cut, that friction under the
clamps stands whichever way it pushes (`slip`), as a grid of centres of turning sees it: an upper bound that
is near for choosing, so that the chosen set is measured again without it. Where there are few sets, all are
tried. Or else one clamp after another is added where that helps most; then each is tried in every other
place, until no exchange helps.
"""

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Final

import numpy as np
import shapely

from proveout.hold.friction import SPREAD, is_spread, plate_friction
from proveout.hold.places import Place
from proveout.hold.slip import Contacts, slip_force, tip_share
from proveout.motion import Floats
from proveout.shelf.materials import Material

CENTRES: Final = 15  # of turning along each side of the blank and half as far again
FAR: Final = (3.0, 10.0, 100.0)  # times half the blank, of centres further out
BEARINGS: Final = 16
APART: Final = 1.0  # mm between two bars
BETTER: Final = 1.005  # times; what helps less is no help
MOST_CLAMPS: Final = 8
MOST_ROUNDS: Final = 6  # of exchanges
MOST_SETS: Final = 20_000  # of clamps, up to which all are tried
STARTS: Final = 3  # first clamps that are followed up


@dataclass(frozen=True, slots=True, kw_only=True)
class Held:
    """Clamps in their places, and what the blank stands with them at its weakest point."""

    places: tuple[Place, ...]
    stands: float  # N, any direction in the plane
    weakest: tuple[float, float]  # mm on the blank
    enough: bool  # whether that is what was wanted


def spread_clamps(
    found: Sequence[Place],
    stock: Material,
    size: tuple[float, float],
    wanted: float,
    *,
    pull: float = 0.0,
    points: Floats | None = None,
) -> Held | None:
    """As `choose_clamps`, but with clamps near both ends of the blank where there are such that hold.

    Fewest clamps may all stand near the blank's middle: by friction alone they hold, and yet a long end can
    swing and lift. Places in the outer quarters of the longer side are then tried alone.
    """
    axis = 0 if size[0] >= size[1] else 1
    held = choose_clamps(found, stock, size, wanted, pull=pull, points=points)
    if held is None or is_spread([one.patch for one in held.places], size):
        return held
    outer = [one for one in found if abs(one.patch.centroid.coords[0][axis] / size[axis] - 0.5) >= SPREAD / 2]
    other = choose_clamps(outer, stock, size, wanted, pull=pull, points=points)
    apart = other is not None and other.enough and is_spread([one.patch for one in other.places], size)
    return other if apart else held


def choose_clamps(
    found: Sequence[Place],
    stock: Material,
    size: tuple[float, float],
    wanted: float,
    *,
    pull: float = 0.0,
    points: Floats | None = None,
    most: int = MOST_CLAMPS,
) -> Held | None:
    """The fewest clamps with which every point of the blank stands a force, or the best there are.

    Args:
        found: the places where clamps could stand
        stock: what lies on the plate
        size: of the blank, mm
        wanted: N, sideways, its safety included
        pull: N, away from the plate, that must not tip the blank, its safety included
        points: (n, 2) mm, where the blank is pushed; all over it where nothing is said
        most: clamps at all
    Returns:
        None where no clamp reaches the blank
    """
    if not found:
        return None
    where = _corners(size) if points is None else points
    table = _table(found, stock, size, where)
    best: tuple[int, ...] = ()
    for count in range(1, most + 1):
        chosen = _best_of(table, count, best)
        if len(chosen) < count:
            break
        best = chosen if _worth(table, chosen) > _worth(table, best) else best
        places = tuple(found[one] for one in best)
        if len(best) == count and measured(places, stock, size, wanted, pull=pull, points=where).enough:
            break
    return measured(tuple(found[one] for one in best), stock, size, wanted, pull=pull, points=where)


def measured(
    chosen: tuple[Place, ...],
    stock: Material,
    size: tuple[float, float],
    wanted: float = np.inf,
    *,
    pull: float = 0.0,
    points: Floats | None = None,
    held: Contacts | None = None,
) -> Held:
    """What a blank stands with these clamps, by the whole search over centres of turning.

    Args:
        wanted: N, sideways
        pull: N, away from the plate, that must not tip the blank
        points: (n, 2) mm, where the blank is pushed; all over it where nothing is said
        held: by all that holds it, where that is more than the clamps
    """
    held = held or contacts_of(chosen, stock)
    points = _corners(size) if points is None else points
    stands = slip_force(held, points)
    least = int(stands.argmin())
    x, y = points[least].tolist()
    lies_flat = bool((tip_share(held, points, size) >= pull).all())
    enough = bool(stands[least] >= wanted) and lies_flat
    return Held(places=chosen, stands=float(stands[least]), weakest=(x, y), enough=enough)


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


def _corners(size: tuple[float, float]) -> Floats:
    """The blank's corners: friction's give is convex, no place between them is weaker than all four."""
    return np.array([(0.0, 0.0), (size[0], 0.0), size, (0.0, size[1])])


@dataclass(frozen=True, slots=True, eq=False)
class _Table:
    """What is reckoned once: each place's work about each centre, and how far points are from centres."""

    work: Floats  # (places, centres) N mm for a turn of 1 rad
    near: Floats  # (points, centres) 1/mm
    shift: Floats  # (places,) N
    clash: np.ndarray  # (places, places) bool: bars that overlap
    kind: tuple[str, ...]
    stock_of: dict[str, int]  # how many there are of each kind


def _table(found: Sequence[Place], stock: Material, size: tuple[float, float], points: Floats) -> _Table:
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
    """So many clamps: the best of all sets where these are few, or from several beginnings, each mended."""
    if math.comb(len(table.kind), count) <= MOST_SETS:
        return _best_of_all(table, count)
    beginnings: list[tuple[int, ...]] = []
    if len(before) == count - 1 and before:
        beginnings.append(before)
    free, worth = _with(table, ())
    for first in free[np.argsort(-worth, kind="stable")[:STARTS]].tolist():
        beginnings.append((first,))
    done = [_exchanged(table, _grown(table, begin, count)) for begin in dict.fromkeys(beginnings)]
    return max(done, key=lambda one: (len(one), _worth(table, one)), default=())


def _best_of_all(table: _Table, count: int) -> tuple[int, ...]:
    """The best of all sets of so many clamps; empty where no such set stands clear of itself."""
    sets = np.array(list(combinations(range(len(table.kind)), count)), dtype=np.int64).reshape(-1, count)
    for one, other in combinations(range(count), 2):
        sets = sets[~table.clash[sets[:, one], sets[:, other]]]
    for kind, stock in table.stock_of.items():
        sets = sets[np.array([name == kind for name in table.kind])[sets].sum(axis=1) <= stock]
    if not len(sets):
        return ()
    work = np.zeros((len(sets), table.work.shape[1]))
    for column in sets.T:
        work += table.work[column]
    best = _stands(table, work, table.shift[sets].sum(axis=1)).argmax()
    return tuple(sets[best].tolist())


def _grown(table: _Table, chosen: tuple[int, ...], count: int) -> tuple[int, ...]:
    """One clamp after another where it helps most, of those that leave room for the rest."""
    while len(chosen) < count:
        free, worth = _with(table, chosen)
        if not free.size:
            return chosen
        order = free[np.argsort(-worth, kind="stable")].tolist()
        after = count - len(chosen) - 1
        roomy = (one for one in order if not after or len(_free(table, (*chosen, one))) >= after)
        chosen = (*chosen, next(roomy, order[0]))
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
