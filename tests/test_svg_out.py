"""Curves written as SVG read back as they were, by an independent reader (svgelements)."""

import math
from xml.etree import ElementTree

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from proveout.curve import Curve, Segment, circle, from_points, moved
from proveout.drawing.svg_out import Marked, annotated_svg, curve_path

svgelements = pytest.importorskip("svgelements")

KEYHOLE = Curve(
    (
        Segment((10.0, 0.0), (10.0, 20.0)),
        Segment((10.0, 20.0), (0.0, 20.0), (5.0, 20.0 + 5 / math.tan(math.radians(40))), True),
        Segment((0.0, 20.0), (0.0, 0.0)),
        Segment((0.0, 0.0), (10.0, 0.0), (5.0, 0.0), True),
    )
)


def back(path: str) -> list[tuple[float, float]]:
    """Points along a path as the other reader sees it, Y up again."""
    read = svgelements.Path(path)
    return [(float(point.x), -float(point.y)) for point in (read.point(step / 40) for step in range(41))]


def off(curve: Curve, point: tuple[float, float]) -> float:
    """How far a point lies from a curve's lines and circles."""
    best = math.inf
    for one in curve.segments:
        if one.centre is None:
            (ax, ay), (bx, by) = one.start, one.end
            share = ((point[0] - ax) * (bx - ax) + (point[1] - ay) * (by - ay)) / math.dist(
                one.start, one.end
            ) ** 2
            share = min(max(share, 0.0), 1.0)
            best = min(best, math.dist(point, (ax + (bx - ax) * share, ay + (by - ay) * share)))
        else:
            best = min(best, abs(math.dist(point, one.centre) - one.radius))
    return best


@settings(max_examples=40, deadline=None)
@given(st.floats(-500, 500), st.floats(-500, 500), st.floats(0, 360), st.booleans())
def test_a_curve_comes_back_within_a_millionth(x: float, y: float, turn: float, backwards: bool) -> None:
    """Lines, short and long arcs, either way round, anywhere."""
    for curve in (KEYHOLE, circle((3.0, 4.0), 6.6), from_points([(0, 0), (30, 0), (30, 20)])):
        there = moved(curve.reversed() if backwards else curve, x=x, y=y, turn_deg=turn)
        assert max(off(there, point) for point in back(curve_path(there))) < 1e-6
        length = float(svgelements.Path(curve_path(there)).length(error=1e-9))
        assert length == pytest.approx(there.length, abs=1e-5)


def test_a_picture_says_its_size_in_millimetres() -> None:
    """Width and viewBox agree, so that nobody has to guess the unit."""
    one = Marked(curve=circle((0, 0), 50.0), label="1", title="", group="outline")
    root = ElementTree.fromstring(annotated_svg([one]))
    _, _, width, height = (float(side) for side in root.attrib["viewBox"].split())
    assert root.attrib["width"] == f"{width:.4f}mm" and root.attrib["height"] == f"{height:.4f}mm"
    assert width == pytest.approx(50 * 1.16)


def test_a_numbered_picture_has_every_curve_and_its_number_beside_it() -> None:
    """A hole's number stands to its right, within the picture; names can't break out of the text."""
    marked = [Marked(curve=KEYHOLE, label="1", title="<b> & hole", group="hole")]
    root = ElementTree.fromstring(annotated_svg(marked))
    space = "{http://www.w3.org/2000/svg}"
    assert [one.text for one in root.iter(f"{space}title")] == ["<b> & hole"]
    (number,) = root.iter(f"{space}text")
    assert float(number.attrib["x"]) > 10.0
