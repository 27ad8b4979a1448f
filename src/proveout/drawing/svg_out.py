"""SVG out: exact curves as paths in millimetres, and a drawing with its curves numbered."""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final
from xml.sax.saxutils import escape, quoteattr

from proveout.curve import Curve, Point, Segment

MARGIN: Final = 0.06  # of the longer side, round the drawing
LETTERS: Final = 0.022  # of the longer side, height of the numbers
HALF: Final = math.pi  # rad; an arc of more is written as the long way round


@dataclass(frozen=True, slots=True, kw_only=True)
class Marked:
    """A curve of the picture with what it is called and what it is."""

    curve: Curve
    label: str  # "2": drawn beside it
    title: str  # "hole 2: circle 6.6 mm", shown when pointed at
    group: str  # "outline", "hole", "island": how it is drawn


@dataclass(frozen=True, slots=True, kw_only=True)
class Spot:
    """A place that something is said of."""

    at: Point
    title: str


def curve_path(curve: Curve) -> str:
    """The curve as path data, Y down; arcs stay arcs, places to a millionth of a millimetre."""
    start = curve.segments[0].start
    pieces = [
        f"M{_pair(start)}",
        *(_piece(one) for segment in curve.segments for one in _halved(segment)),
        "Z",
    ]
    return " ".join(pieces)


def _halved(segment: Segment) -> tuple[Segment, ...]:
    """An arc of more than half a turn as two, since its ends alone don't say which way it goes."""
    if segment.centre is None or abs(segment.sweep) < HALF * 0.999:
        return (segment,)
    middle = segment.at(0.5)
    return (
        Segment(segment.start, middle, segment.centre, segment.ccw),
        Segment(middle, segment.end, segment.centre, segment.ccw),
    )


def _piece(segment: Segment) -> str:
    if segment.centre is None:
        return f"L{_pair(segment.end)}"
    radius = _number(segment.radius)
    return f"A{radius} {radius} 0 0 {0 if segment.ccw else 1} {_pair(segment.end)}"


def _pair(point: Point) -> str:
    return f"{_number(point[0])} {_number(-point[1])}"


def _number(value: float) -> str:
    return f"{round(value, 7) + 0.0:.7f}".rstrip("0").rstrip(".")


def part_svg(curves: Sequence[Curve]) -> str:
    """A part's curves, one path each, one user unit a millimetre."""
    box = _box(curves)
    paths = "\n".join(f'<path d="{curve_path(one)}"/>' for one in curves)
    return f'{_head(box)}\n<g fill="none" stroke="black" stroke-width="0.1">\n{paths}\n</g>\n</svg>\n'


def annotated_svg(marked: Sequence[Marked], spots: Sequence[Spot] = ()) -> str:
    """A drawing with its curves numbered, and a cross where something is said of a place."""
    box = _box([one.curve for one in marked])
    side = max(box[2] - box[0], box[3] - box[1])
    style = (
        "<style>path { fill: none; stroke: #000; vector-effect: non-scaling-stroke; stroke-width: 1.4px } "
        ".hole { stroke-dasharray: none; stroke-width: .8px } .island { stroke-dasharray: 4 3 } "
        f"text {{ font: {side * LETTERS:.3f}px sans-serif; text-anchor: middle }} "
        ".spot { stroke-width: 2.2px }</style>"
    )
    lines = [_head(box), style]
    for one in marked:
        x, y = one.curve.segments[0].start
        lines.append(
            f"<g><title>{escape(one.title)}</title><path class={quoteattr(one.group)} "
            f'd="{curve_path(one.curve)}"/><text x="{x:.3f}" y="{-y:.3f}">{escape(one.label)}</text></g>'
        )
    arm = side * LETTERS / 2
    for spot in spots:
        x, y = spot.at[0], -spot.at[1]
        lines.append(
            f'<g><title>{escape(spot.title)}</title><path class="spot" d="M{x - arm:.3f} {y - arm:.3f} '
            f'L{x + arm:.3f} {y + arm:.3f} M{x - arm:.3f} {y + arm:.3f} L{x + arm:.3f} {y - arm:.3f}"/></g>'
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
