"""In which order things are cut: cutters, and the cuts of one cutter."""

import math
from collections.abc import Callable, Sequence
from typing import NamedTuple

from proveout.curve import Point
from proveout.parts.part import Part


class Turn(NamedTuple):
    """One time that a cutter is in the spindle."""

    cutter: int
    features: bool  # whether it cuts the features that are its
    outlines: bool  # whether it then cuts the outlines that are its


def turns(parts: Sequence[Part]) -> tuple[Turn, ...]:
    """Cutters in order of use: every feature of a part is cut before the part's outline.

    A cutter comes once where that can be; where two wait for one another, outlines make a second round.
    """
    inside = {feature.cutter for part in parts for feature in part.features}
    outside = {part.cutter for part in parts}
    once = _once(parts, inside | outside)
    if once is not None:
        return tuple(Turn(number, number in inside, number in outside) for number in once)
    first = sorted(inside, key=lambda number: (number in outside, number))
    second = sorted(outside, key=lambda number: (number != first[-1], number))
    found = [Turn(number, True, False) for number in first] + [Turn(number, False, True) for number in second]
    if first[-1] == second[0]:
        found[len(first) - 1 : len(first) + 1] = [Turn(first[-1], True, True)]
    return tuple(found)


def _once(parts: Sequence[Part], cutters: set[int]) -> list[int] | None:
    before: dict[int, set[int]] = {number: set() for number in cutters}
    for part in parts:
        before[part.cutter] |= {feature.cutter for feature in part.features} - {part.cutter}
    order: list[int] = []
    while len(order) < len(cutters):
        ready = [number for number in cutters if number not in order and before[number] <= set(order)]
        if not ready:
            return None
        order.append(min(ready, key=lambda number: (any(part.cutter == number for part in parts), number)))
    return order


class Visit(NamedTuple):
    """A cut to be reached: where it begins and ends, and what must be cut before it."""

    start: Point
    end: Point
    speed_rpm: float
    after: int | None  # index of the visit that must come first


def visiting_order(visits: Sequence[Visit], begin: Point) -> tuple[int, ...]:
    """Indices of visits, each the nearest of those that may come next; one spindle speed after another."""
    order: list[int] = []
    waiting = list(range(len(visits)))
    here, speed = begin, None
    while waiting:
        ready = [index for index in waiting if visits[index].after not in waiting]
        chosen = min(ready, key=_price(visits, here, speed))
        order.append(chosen)
        waiting.remove(chosen)
        here, speed = visits[chosen].end, visits[chosen].speed_rpm
    return tuple(order)


def _price(
    visits: Sequence[Visit], here: Point, speed: float | None
) -> Callable[[int], tuple[bool, float, int]]:
    def price(index: int) -> tuple[bool, float, int]:
        visit = visits[index]
        changes = speed is not None and visit.speed_rpm != speed
        return changes, round(math.dist(here, visit.start), 6), index

    return price
