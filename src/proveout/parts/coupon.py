"""The fit coupon: a strip with a row of recesses or holes of rising size, each with its number in front.

The frame's origin is the strip's middle; sizes rise along +X, numbers stand towards -Y.
"""

import math
from dataclasses import dataclass

from proveout.curve import Curve, Point
from proveout.parts.digits import Style, number_curves
from proveout.parts.stop import block_outline

CORNER = 3.0  # mm, radius of the strip's corners: sharp ones bruise the hand that presses
BESIDE = 3.0  # mm at least between a number and the next one or the strip's edge
BEFORE = 2.5  # mm at least between a recess and its number


@dataclass(frozen=True, slots=True, kw_only=True)
class Strip:
    """What the strip holds: so many openings, the widest of them of that size, with walls of wood."""

    count: int
    across: float  # mm along X, of the widest opening
    deep: float  # mm along Y, of the widest opening
    wall: float  # mm of wood at least between openings, and to the strip's edges
    digits: Style

    @property
    def pitch(self) -> float:
        """Between the middles of neighbours, in whole millimetres."""
        widest = self.digits.width(self.count)
        return float(math.ceil(max(self.across + self.wall, widest + BESIDE)))

    @property
    def length(self) -> float:
        """Along the row."""
        end = max(self.across / 2 + self.wall, self.digits.width(self.count) / 2 + BESIDE)
        return self.pitch * (self.count - 1) + 2 * end

    @property
    def width(self) -> float:
        """Across the row."""
        return self.wall + self.deep + self._front

    @property
    def _front(self) -> float:
        """Of wood before an opening, with the number in it."""
        return max(BEFORE + self.digits.height + BESIDE, self.wall)

    @property
    def outline(self) -> Curve:
        """The strip's edge, anticlockwise."""
        return block_outline(self.length, self.width, CORNER)

    @property
    def middles(self) -> tuple[Point, ...]:
        """Of the openings, from left to right."""
        first = -self.pitch * (self.count - 1) / 2
        y = self.width / 2 - self.wall - self.deep / 2
        return tuple((first + place * self.pitch, y) for place in range(self.count))

    def number(self, which: int) -> tuple[tuple[Curve, ...], ...]:
        """The digits of an opening's number, from 1: each an outer boundary and its islands."""
        x, y = self.middles[which - 1]
        below = y - self.deep / 2 - BEFORE - self.digits.height / 2
        return number_curves(which, self.digits, (x, below))


def offsets(steps: int) -> range:
    """How many steps each size lies above the middle one; an even row has one more above it than below."""
    below = (steps - 1) // 2
    return range(-below, steps - below)


def sizes(around: float, steps: int, step: float) -> tuple[float, ...]:
    """So many sizes about a middle one, mm, rising by a step."""
    return tuple(round(around + off * step, 6) for off in offsets(steps))
