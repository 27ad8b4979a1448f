"""Digits that a flat cutter engraves: strokes on a grid of two squares, one above the other.

A digit is a graph of straight strokes. Its edge is found by walking round the graph at half a stroke's width:
ends and outside corners come out round, so that a cutter of that width or less comes everywhere.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from proveout.curve import Curve, Point, Segment, moved

TALL: Final = 2  # squares, of every digit

_Walk = tuple[tuple[int, int], ...]
_LOOP: Final[_Walk] = ((0, 0), (0, 1), (1, 1), (1, 0))
_UPPER: Final[_Walk] = tuple((x, y + 1) for x, y in _LOOP)

# For each digit the walk round its strokes, anticlockwise, then those round the islands in it, clockwise.
_WALKS: Final[dict[str, tuple[_Walk, ...]]] = {
    "0": (((0, 0), (1, 0), (1, 2), (0, 2)), ((0, 0), (0, 2), (1, 2), (1, 0))),
    "1": (((0, 0), (0, 2)),),
    "2": (((0, 0), (1, 0), (0, 0), (0, 1), (1, 1), (1, 2), (0, 2), (1, 2), (1, 1), (0, 1)),),
    "3": (((0, 0), (1, 0), (1, 2), (0, 2), (1, 2), (1, 1), (0, 1), (1, 1), (1, 0)),),
    "4": (((1, 0), (1, 2), (1, 1), (0, 1), (0, 2), (0, 1), (1, 1)),),
    "5": (((0, 0), (1, 0), (1, 1), (0, 1), (0, 2), (1, 2), (0, 2), (0, 1), (1, 1), (1, 0)),),
    "6": (((0, 0), (1, 0), (1, 1), (0, 1), (0, 2), (1, 2), (0, 2)), _LOOP),
    "7": (((1, 0), (1, 2), (0, 2), (1, 2)),),
    "8": (((0, 0), (1, 0), (1, 2), (0, 2)), _LOOP, _UPPER),
    "9": (((1, 2), (0, 2), (0, 1), (1, 1), (1, 0), (0, 0), (1, 0)), _UPPER),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Style:
    """How large digits are, mm."""

    stroke: float  # its width
    pitch: float  # between the middles of strokes side by side: a square of the grid
    apart: float  # between two digits of a number

    @property
    def height(self) -> float:
        """Of every digit, over all."""
        return TALL * self.pitch + self.stroke

    def width(self, number: int) -> float:
        """Of a number, over all."""
        digits = str(number)
        return sum(self.digit_width(one) for one in digits) + self.apart * (len(digits) - 1)

    def digit_width(self, digit: str) -> float:
        """Of one digit, over all: the 1 is a single stroke."""
        return _columns(digit) * self.pitch + self.stroke


def number_curves(number: int, style: Style, middle: Point) -> tuple[tuple[Curve, ...], ...]:
    """The digits of a number about a point, from left to right: each an outer boundary and its islands.

    Raises:
        ValueError: a negative number
    """
    if number < 0:
        raise ValueError(f"a number has no sign here: {number}")
    x, y = middle[0] - style.width(number) / 2, middle[1] - style.height / 2
    digits: list[tuple[Curve, ...]] = []
    for digit in str(number):
        curves = digit_curves(digit, style)
        digits.append(tuple(moved(one, x=x + style.stroke / 2, y=y + style.stroke / 2) for one in curves))
        x += style.digit_width(digit) + style.apart
    return tuple(digits)


def digit_curves(digit: str, style: Style) -> tuple[Curve, ...]:
    """A digit whose lower left stroke ends at the origin: its outer boundary, then its islands."""
    return tuple(
        walked([(x * style.pitch, y * style.pitch) for x, y in walk], style.stroke / 2)
        for walk in _WALKS[digit]
    )


def _columns(digit: str) -> int:
    return max(x for x, _ in _WALKS[digit][0])


def walked(walk: Sequence[Point], away: float) -> Curve:
    """The closed curve at a distance to the right of a closed walk along straight strokes.

    Left turns and turnings back are rounded about their corner; right turns stay sharp.
    """
    corners = [
        _corner(before, here, after, away)
        for before, here, after in zip((*walk[-1:], *walk[:-1]), walk, (*walk[1:], *walk[:1]), strict=True)
    ]
    segments: list[Segment] = []
    for corner, following in zip(corners, corners[1:] + corners[:1], strict=True):
        segments += corner
        end = corner[-1].end
        if math.dist(end, following[0].start) > 1e-9:
            segments.append(Segment(end, following[0].start))
    return Curve(tuple(one for one in segments if one.length > 1e-9))


def _corner(before: Point, here: Point, after: Point, away: float) -> list[Segment]:
    """What the curve does at one corner of the walk; without length where it goes on or is sharp."""
    first, second = _right(before, here), _right(here, after)
    turn = first[0] * second[1] - first[1] * second[0]
    along = first[0] * second[0] + first[1] * second[1]
    start = here[0] + away * first[0], here[1] + away * first[1]
    end = here[0] + away * second[0], here[1] + away * second[1]
    if turn > 1e-9 or along < -1 + 1e-9:
        return [Segment(start, end, here)]
    share = away / (1 + along)
    sharp = here[0] + share * (first[0] + second[0]), here[1] + share * (first[1] + second[1])
    return [Segment(sharp, sharp)]


def _right(start: Point, end: Point) -> Point:
    """The direction to the right of a stroke, of length 1."""
    far = math.dist(start, end)
    return (end[1] - start[1]) / far, (start[0] - end[0]) / far
