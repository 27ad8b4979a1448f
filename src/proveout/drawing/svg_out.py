"""SVG out: exact curves as paths in millimetres, and a drawing with its curves numbered."""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final
from xml.sax.saxutils import escape, quoteattr

from proveout.curve import Curve, Point, Segment

MARGIN: Final = 0.08  # of the longer side, round the drawing
LETTERS: Final = 0.035  # of the longer side, height of the numbers
LONGEST: Final = 2.0  # rad of an arc; near half a turn its centre would hang on its radius' last digit


@dataclass(frozen=True, slots=True, kw_only=True)
class Marked:
    """A curve of the picture with what it is called and what it is."""

    curve: Curve
    label: str  # "2": drawn beside it
    title: str  # "hole 2: circle 6.6 mm", shown when pointed at
    group: str  # "outline" or "hole": how it is drawn


def curve_path(curve: Curve) -> str:
    """The curve as path data, Y down; arcs stay arcs, places to a millionth of a millimetre."""
    start = curve.segments[0].start
    pieces = [
        f"M{_pair(start)}",
        *(_piece(one) for segment in curve.segments for one in _pieces(segment)),
        "Z",
    ]
    return " ".join(pieces)


def _pieces(segment: Segment) -> tuple[Segment, ...]:
    """An arc in pieces that their ends and radius, as they are rounded, still say well."""
    if segment.centre is None or abs(segment.sweep) < LONGEST:
        return (segment,)
    count = math.ceil(abs(segment.sweep) / LONGEST)
    points = [segment.start, *(segment.at(k / count) for k in range(1, count)), segment.end]
    return tuple(Segment(one, other, segment.centre, segment.ccw) for one, other in pairwise(points))


def _piece(segment: Segment) -> str:
    if segment.centre is None:
        return f"L{_pair(segment.end)}"
    radius = number(segment.radius)
    return f"A{radius} {radius} 0 0 {0 if segment.ccw else 1} {_pair(segment.end)}"


def _pair(point: Point) -> str:
    return f"{number(point[0])} {number(-point[1])}"


def number(value: float) -> str:
    """A length to a ten-millionth, without needless digits or a sign on zero."""
    return f"{round(value, 7) + 0.0:.7f}".rstrip("0").rstrip(".")


def annotated_svg(marked: Sequence[Marked]) -> str:
    """A drawing with its curves numbered: an outline outside at its lower left, a hole to its right."""
    box = _box([one.curve for one in marked])
    letters = LETTERS * max(box[2] - box[0], box[3] - box[1])
    style = (
        "<style>path { fill: none; stroke: #000; vector-effect: non-scaling-stroke; stroke-width: 1.6px } "
        ".hole { stroke-width: 1px } "
        f"text {{ font: 600 {letters:.3f}px sans-serif }}</style>"
    )
    lines = [_head(box), style]
    for one in marked:
        left, front, right, back = _box([one.curve])
        beside = (left, front - letters) if one.group == "outline" else (right, (front + back) / 2)
        x, y = beside[0] + 0.3 * letters, -beside[1] + 0.35 * letters
        lines.append(
            f"<g><title>{escape(one.title)}</title><path class={quoteattr(one.group)} "
            f'd="{curve_path(one.curve)}"/><text x="{x:.3f}" y="{y:.3f}">{escape(one.label)}</text></g>'
        )
    return "\n".join([*lines, "</svg>", ""])


def _head(box: tuple[float, float, float, float]) -> str:
    left, front, right, back = box
    edge = MARGIN * max(right - left, back - front, 1e-6)
    x, y = left - edge, -back - edge
    width, height = right - left + 2 * edge, back - front + 2 * edge
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width:.4f}mm" height="{height:.4f}mm" '
        f'viewBox="{x:.4f} {y:.4f} {width:.4f} {height:.4f}">'
    )


def _box(curves: Iterable[Curve]) -> tuple[float, float, float, float]:
    points = [point for curve in curves for one in curve.segments for point in _reach(one)]
    xs, ys = [x for x, _ in points], [y for _, y in points]
    return min(xs), min(ys), max(xs), max(ys)


def _reach(segment: Segment) -> list[Point]:
    """Places that bound a segment, an arc's a little generously."""
    if segment.centre is None:
        return [segment.start, segment.end]
    return [segment.at(step / 16) for step in range(17)]
