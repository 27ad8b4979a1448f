"""SVG out: a part at its true size, a group for each kind of cut, exact to a ten-millionth of a mm."""

from collections.abc import Iterable, Iterator, Sequence
from typing import Final
from xml.sax.saxutils import escape, quoteattr

from proveout.curve import Curve, flatten, is_circle
from proveout.drawing.dxf import Layer
from proveout.drawing.svg_out import curve_path, number

MARGIN: Final = 2.0  # mm round the part


def layered_svg(layers: Sequence[Layer], remarks: Iterable[str] = ()) -> str:
    """The text of a drawing whose page is in mm and whose unit is 1 mm; arcs and circles stay what they are.

    Args:
        layers: as of a DXF drawing; each becomes a group of that name
        remarks: what a person who opens it should know
    """
    left, front, right, back = _box([one for layer in layers for one in layer.curves])
    x, y = number(left - MARGIN), number(-back - MARGIN)
    width, height = number(right - left + 2 * MARGIN), number(back - front + 2 * MARGIN)
    page = f'width="{width}mm" height="{height}mm" viewBox="{x} {y} {width} {height}"'
    lines = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        f'<svg xmlns="http://www.w3.org/2000/svg" version="1.1" {page}>',
        f"<desc>{escape('; '.join(remarks))}</desc>",
        *(line for layer in layers for line in _group(layer)),
        "</svg>",
    ]
    return "\n".join(lines) + "\n"


def _group(layer: Layer) -> Iterator[str]:
    yield f'<g id={quoteattr(layer.name)} fill="none" stroke="#000" stroke-width="0.2">'
    yield from (_shape(curve) for curve in layer.curves)
    yield "</g>"


def _shape(curve: Curve) -> str:
    found = is_circle(curve)
    if found is None:
        return f'<path d="{curve_path(curve)}"/>'
    (x, y), diameter = found
    return f'<circle cx="{number(x)}" cy="{number(-y)}" r="{number(diameter / 2)}"/>'


def _box(curves: Sequence[Curve]) -> tuple[float, float, float, float]:
    points = [flatten(curve) for curve in curves]
    lows, highs = [run.min(axis=0) for run in points], [run.max(axis=0) for run in points]
    return (
        float(min(low[0] for low in lows)),
        float(min(low[1] for low in lows)),
        float(max(high[0] for high in highs)),
        float(max(high[1] for high in highs)),
    )
