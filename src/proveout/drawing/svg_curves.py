"""What SVG shapes draw, gathered as rows of numbers and turned to wires all at once.

A row is one line, arc or cubic in the coordinates of its own shape. Arcs that are circular where they come to
lie stay exact arcs; other arcs and cubics become chords, none further off the curve than a tolerance.

Source: W3C Scalable Vector Graphics 1.1, F.6.5 and F.6.6 (arcs from end points to centres); the count of
chords of a cubic from the bound of its second derivative (Wang's formula)
"""

from array import array
from dataclasses import dataclass, field
from typing import Final

import numpy as np
import numpy.typing as npt

from proveout.drawing.svg_units import Matrix
from proveout.drawing.wires import Flags, Floats, Ints, Wires

MOST_SEGMENTS: Final = 500_000
FURTHEST: Final = 1e6  # user units from the drawing's zero
SMALLEST: Final = 1e-9  # user units; a segment no longer than this is no segment
HALF_TURN: Final = 1e-12  # of a half chord's square on the unit circle short of 1: rounding of a half turn
_WILDEST: Final = 1e12  # of any number before its transform, so that products stay numbers

_LINE, _ARC, _CUBIC, _ROUND = 0.0, 1.0, 2.0, 3.0
_WIDTH: Final = 9  # kind, start, end, four more

Rows = npt.NDArray[np.float64]


class TooMuch(ValueError):
    """More lines and arcs than are read."""


class Unusable(ValueError):
    """A shape that isn't of numbers, or reaches too far: its entity and why."""

    def __init__(self, entity: int, why: str) -> None:
        super().__init__(why)
        self.entity = entity


@dataclass(slots=True)
class Ink:
    """Gathers rows; the caller says whose they are before it draws."""

    matrix: int = 0
    layer: int = 0
    entity: int = 0
    rows: "array[float]" = field(default_factory=lambda: array("d"))
    runs: "array[int]" = field(default_factory=lambda: array("q"))  # rows, matrix, layer, entity, ring or -1
    _drawn: int = 0
    _rings: int = 0

    def line(self, x: float, y: float, to_x: float, to_y: float) -> None:
        """A straight line."""
        self.rows.extend((_LINE, x, y, to_x, to_y, 0.0, 0.0, 0.0, 0.0))

    def cubic(
        self, x: float, y: float, ax: float, ay: float, bx: float, by: float, to_x: float, to_y: float
    ) -> None:
        """A cubic with its two inner control points."""
        self.rows.extend((_CUBIC, x, y, to_x, to_y, ax, ay, bx, by))

    def arc(
        self, x: float, y: float, to_x: float, to_y: float, rx: float, ry: float, turn_deg: float,
        *, large: bool, sweep: bool,
    ) -> None:  # fmt: skip
        """An arc as path data state it: none between equal points, a line where a radius is zero (F.6.2)."""
        if abs(to_x - x) <= SMALLEST and abs(to_y - y) <= SMALLEST:
            return
        if rx == 0 or ry == 0:
            self.line(x, y, to_x, to_y)
        else:
            flags = 2.0 * large + sweep
            self.rows.extend((_ARC, x, y, to_x, to_y, abs(rx), abs(ry), turn_deg, flags))

    def round(
        self, x: float, y: float, to_x: float, to_y: float, cx: float, cy: float, rx: float, ry: float
    ) -> None:
        """A part of an upright ellipse about a centre, of no more than half a turn from x to y."""
        self.rows.extend((_ROUND, x, y, to_x, to_y, cx, cy, rx, ry))

    def end(self, *, closed: bool) -> None:
        """What was drawn since the last end is one run.

        Raises:
            TooMuch: the rows are more than are read
        """
        drawn = len(self.rows) // _WIDTH
        if drawn > MOST_SEGMENTS:
            raise TooMuch
        if drawn > self._drawn:
            ring = self._rings if closed else -1
            self.runs.extend((drawn - self._drawn, self.matrix, self.layer, self.entity, ring))
            self._rings += closed
            self._drawn = drawn


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Inked:
    """Wires whose layers and entities are still numbers of the ink, and how many curves became chords."""

    wires: Wires
    flattened: int


@dataclass(frozen=True, slots=True, eq=False)
class _Placed:
    """All rows where they come to lie."""

    start: Floats  # (n, 2)
    end: Floats
    first: Floats  # (n, 2) a cubic's control points
    second: Floats
    centre: Floats  # of arcs
    axes: Floats  # (n, 2, 2) of arcs: columns that the cosine and the sine of the angle multiply
    angle: Floats  # (n,) of an arc's start
    turn: Floats  # (n,) signed
    straight: Flags
    curved: Flags  # cubics
    circular: Flags  # arcs that are circular here


def wires_of(ink: Ink, matrices: list[Matrix], tolerance: float) -> Inked:
    """The wires that the ink draws.

    Args:
        matrices: those that the ink's runs number, from a shape's coordinates to the sheet's
        tolerance: the furthest that a chord lies off its curve, in the sheet's units

    Raises:
        Unusable: a shape's numbers are none, or too large
        TooMuch: more chords than are read
    """
    rows = np.frombuffer(ink.rows, dtype=np.float64).reshape(-1, _WIDTH)
    runs = np.frombuffer(ink.runs, dtype=np.int64).reshape(-1, 5)
    whose = np.repeat(runs[:, 1:], runs[:, 0], axis=0)
    frames = np.array(matrices, dtype=np.float64).reshape(-1, 6)
    _refuse(_wild(rows), whose, "has a number that is too large, or none")
    _refuse(_wild(frames)[whose[:, 0]], whose, "is moved or scaled by a transform too large to be meant")
    with np.errstate(all="ignore"):  # what overflows is refused in the next line
        placed = _placed(rows, frames[whose[:, 0]], tolerance)
    _refuse(~_near(placed), whose, f"reaches further than {FURTHEST:.0f} units from the drawing's zero")
    counts = _counts(placed, tolerance)
    if counts.sum() > MOST_SEGMENTS:
        raise TooMuch
    wires = _cut(placed, counts, whose)
    return Inked(wires=wires, flattened=int((~placed.straight & ~placed.circular).sum()))


def _wild(rows: Rows) -> Flags:
    wild: Flags = ~np.all(np.abs(rows) <= _WILDEST, axis=1)
    return wild  # which NaN is


def _refuse(bad: Flags, whose: npt.NDArray[np.int64], why: str) -> None:
    if bad.any():
        raise Unusable(int(whose[int(bad.argmax()), 2]), why)


def _near(placed: _Placed) -> Flags:
    reach = np.abs(np.hstack((placed.start, placed.end))).max(axis=1, initial=0.0)
    controls = np.abs(np.hstack((placed.first, placed.second))).max(axis=1, initial=0.0)
    round_ = np.abs(placed.centre).max(axis=1, initial=0.0) + np.abs(placed.axes).sum(axis=(1, 2))
    arcs = ~placed.straight & ~placed.curved
    near: Flags = (
        (reach <= FURTHEST) & (~placed.curved | (controls <= FURTHEST)) & (~arcs | (round_ <= 100 * FURTHEST))
    )
    return near  # which no NaN is


def _placed(rows: Rows, frames: Rows, tolerance: float) -> _Placed:
    kind = rows[:, 0]
    linear = frames[:, :4].reshape(-1, 2, 2).transpose(0, 2, 1)  # [[a, c], [b, d]]
    shift = frames[:, 4:]

    def place(points: Rows) -> Rows:
        lain: Rows = np.einsum("nij,nj->ni", linear, points) + shift
        return lain

    centre, radii, tilt, angle, turn = _centred(rows)
    spin = np.stack((np.cos(tilt), -np.sin(tilt), np.sin(tilt), np.cos(tilt)), axis=1).reshape(-1, 2, 2)
    axes = linear @ (spin * radii[:, None, :])
    start, end = place(rows[:, 1:3]), place(rows[:, 3:5])
    arcs = (kind == _ARC) | (kind == _ROUND)
    narrow, wide = _half_axes(axes)
    circular = arcs & (wide - narrow <= np.minimum(tolerance / 2, 1e-3 * wide))
    circular &= np.hypot(*(end - start).T) > SMALLEST
    middle = place(centre)
    middle = np.where(circular[:, None], _even(start, end, middle), middle)
    return _Placed(
        start, end, place(rows[:, 5:7]), place(rows[:, 7:9]), middle, axes, angle, turn,
        straight=kind == _LINE, curved=kind == _CUBIC, circular=circular,
    )  # fmt: skip


def _centred(rows: Rows) -> tuple[Rows, Rows, Rows, Rows, Rows]:
    """Centre, radii, tilt, first angle and signed turn of every arc, in its shape's coordinates."""
    count = len(rows)
    centre, radii, tilt = np.zeros((count, 2)), np.ones((count, 2)), np.zeros(count)
    angle, turn = np.zeros(count), np.zeros(count)
    stated, upright = np.flatnonzero(rows[:, 0] == _ARC), np.flatnonzero(rows[:, 0] == _ROUND)
    centre[upright], radii[upright] = rows[upright, 5:7], rows[upright, 7:9]
    tilt[stated] = np.radians(np.fmod(rows[stated, 7], 360.0))
    centre[stated], radii[stated] = _from_ends(rows[stated], tilt[stated])
    for which in (stated, upright):
        sweep = np.ones(len(which), dtype=bool) if which is upright else rows[which, 8] % 2 == 1
        first, last = (
            _angle(rows[which, at : at + 2], centre[which], radii[which], tilt[which]) for at in (1, 3)
        )
        ahead = np.mod(last - first, 2 * np.pi)
        angle[which] = first
        turn[which] = np.where(sweep, ahead, ahead - 2 * np.pi)
    return centre, radii, tilt, angle, turn


def _turned(vectors: Rows, tilt: Rows) -> Rows:
    """Vectors seen from axes that are tilted."""
    cos, sin = np.cos(tilt), np.sin(tilt)
    return np.column_stack(
        (cos * vectors[:, 0] + sin * vectors[:, 1], cos * vectors[:, 1] - sin * vectors[:, 0])
    )


def _angle(points: Rows, centre: Rows, radii: Rows, tilt: Rows) -> Rows:
    unit = _turned(points - centre, tilt) / radii
    angles: Rows = np.arctan2(unit[:, 1], unit[:, 0])
    return angles


def _from_ends(rows: Rows, tilt: Rows) -> tuple[Rows, Rows]:
    """Centres and radii of arcs stated by their ends; radii too small to reach are scaled up (F.6.6).

    On the unit circle of the arc the half chord has the square q: the centre lies sqrt(1/q - 1) half chords
    off the middle, at right angles.
    """
    start, end, radii = rows[:, 1:3], rows[:, 3:5], rows[:, 5:7]
    half = _turned((start - end) / 2, tilt)
    share = half / radii
    square = (share * share).sum(axis=1)
    radii = radii * np.sqrt(np.maximum(square, 1.0))[:, None]
    safe = np.where(square > 0, square, 1.0)
    off = np.where(square > 1 - HALF_TURN, 0.0, np.sqrt(np.maximum(1 / safe - 1, 0.0)))
    large, sweep = rows[:, 8] >= 2, rows[:, 8] % 2 == 1
    off = np.where(large == sweep, -off, off)
    aside = np.column_stack((off * share[:, 1] * radii[:, 0], -off * share[:, 0] * radii[:, 1]))
    return (start + end) / 2 + _turned(aside, -tilt), radii


def _half_axes(axes: Floats) -> tuple[Floats, Floats]:
    """The shorter and the longer half axis of an ellipse: the singular values, without cancellation."""
    a, c, b, d = axes[:, 0, 0], axes[:, 0, 1], axes[:, 1, 0], axes[:, 1, 1]
    even, odd = np.hypot(a + d, b - c), np.hypot(a - d, b + c)
    return np.abs(even - odd) / 2, (even + odd) / 2


def _even(start: Floats, end: Floats, centre: Floats) -> Floats:
    """The centre moved along the chord until both ends are equally far from it."""
    chord = end - start
    along = (chord * chord).sum(axis=1)
    off = ((centre - (start + end) / 2) * chord).sum(axis=1)
    moved: Floats = centre - chord * (off / np.where(along > 0, along, 1.0))[:, None]
    return moved


def _counts(placed: _Placed, tolerance: float) -> npt.NDArray[np.int64]:
    """How many chords each row needs: 1 for a line and for a circular arc."""
    counts = np.ones(len(placed.start))
    bends = [
        placed.start - 2 * placed.first + placed.second,
        placed.first - 2 * placed.second + placed.end,
    ]
    bend = np.maximum(*(np.hypot(*one.T) for one in bends))
    cubic = placed.curved
    counts[cubic] = np.ceil(np.sqrt(0.75 * bend[cubic] / tolerance))
    flat = ~placed.straight & ~cubic & ~placed.circular
    _, wide = _half_axes(placed.axes[flat])
    step = 2 * np.arccos(np.clip(1 - tolerance / np.maximum(wide, tolerance), 0.0, 1.0))
    counts[flat] = np.ceil(np.abs(placed.turn[flat]) / np.minimum(step, np.pi / 4))
    return np.clip(counts, 1, 10 * MOST_SEGMENTS).astype(np.int64)


def _cut(placed: _Placed, counts: npt.NDArray[np.int64], whose: npt.NDArray[np.int64]) -> Wires:
    row = np.repeat(np.arange(len(counts)), counts)
    part = np.arange(len(row)) - np.repeat(np.cumsum(counts) - counts, counts)
    start, end = _points(placed, row, part, counts), _points(placed, row, part + 1, counts)
    circular = placed.circular[row]
    centre = np.where(circular[:, None], placed.centre[row], np.nan)
    upright = np.linalg.det(placed.axes) > 0
    ccw = circular & (upright == (placed.turn > 0))[row]
    keep = np.hypot(*(end - start).T) > SMALLEST
    told = whose[row][keep]
    return Wires(
        start=start[keep], end=end[keep], centre=centre[keep], ccw=ccw[keep],
        layer=told[:, 1].astype(np.int32), entity=told[:, 2].astype(np.int32), ring=_from_zero(told[:, 3]),
    )  # fmt: skip


def _points(
    placed: _Placed, row: npt.NDArray[np.int64], part: npt.NDArray[np.int64], counts: npt.NDArray[np.int64]
) -> Floats:
    """The point after so many of a row's chords; its stated ends exactly."""
    points = np.where((part == 0)[:, None], placed.start[row], placed.end[row])
    inner = (part > 0) & (part < counts[row])
    cubic, arc = inner & placed.curved[row], inner & ~placed.curved[row]
    at = row[cubic]
    t = (part[cubic] / counts[at])[:, None]
    s = 1 - t
    points[cubic] = (
        s**3 * placed.start[at] + 3 * s * s * t * placed.first[at] + 3 * s * t * t * placed.second[at]
        + t**3 * placed.end[at]
    )  # fmt: skip
    at = row[arc]
    angle = placed.angle[at] + placed.turn[at] * part[arc] / counts[at]
    unit = np.column_stack((np.cos(angle), np.sin(angle)))
    points[arc] = placed.centre[at] + np.einsum("nij,nj->ni", placed.axes[at], unit)
    return points


def _from_zero(rings: npt.NDArray[np.int64]) -> Ints:
    """Ring numbers without gaps, where shapes without any length have gone."""
    made = np.full(len(rings), -1, dtype=np.int32)
    closed = rings >= 0
    made[closed] = np.unique(rings[closed], return_inverse=True)[1]
    return made
