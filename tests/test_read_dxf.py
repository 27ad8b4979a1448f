"""Drawings read in: entities as exact lines and arcs, closed to loops, nested; what is doubtful refused."""

import math
import random
from collections.abc import Callable
from itertools import pairwise
from pathlib import Path
from typing import Any

import ezdxf.document
import pytest
from ezdxf.filemanagement import new
from ezdxf.math import OCS, bulge_center, bulge_radius
from hypothesis import given
from hypothesis import strategies as st
from shapely import Point

from proveout.curve import FLATTEN, Curve, Segment, polygon
from proveout.drawing.loops import JOIN, Loop, closed_loops, outermost, regions
from proveout.drawing.piece import Drawing, Piece
from proveout.drawing.read_dxf import bulged, read_dxf
from proveout.finding import InputError

Draw = Callable[[Any], object]


def document(draw: Draw, unit: int = 4) -> ezdxf.document.Drawing:
    """A drawing in millimetres, made by the library."""
    made = new("R2000")
    made.header["$INSUNITS"] = unit
    draw(made.modelspace())
    return made


def read(folder: Path, draw: Draw, unit: int = 4) -> Drawing:
    """The same, saved and read back by our reader."""
    document(draw, unit).saveas(folder / "drawing.dxf")
    return read_dxf(folder / "drawing.dxf")


def loops(drawing: Drawing) -> tuple[Loop, ...]:
    """All loops of a drawing of one layer."""
    return closed_loops(drawing.pieces)


def area(curve: Curve) -> float:
    """The area in an exact curve by Green's theorem: its chords' polygon and each arc's circular segment."""
    total = 0.0
    for one in curve.segments:
        total += (one.start[0] * one.end[1] - one.end[0] * one.start[1]) / 2
        total += one.radius**2 / 2 * (one.sweep - math.sin(one.sweep))
    return abs(total)


# --- entities


@given(
    st.tuples(st.floats(-500, 500), st.floats(-500, 500)),
    st.tuples(st.floats(-500, 500), st.floats(-500, 500)),
    st.floats(-5, 5).filter(lambda bulge: abs(bulge) > 0.01),
)
def test_a_bulge_s_centre_is_the_library_s(
    start: tuple[float, float], end: tuple[float, float], bulge: float
) -> None:
    """Centre, radius and turn agree with ezdxf's own; the turn is four times the bulge's arc tangent."""
    if math.dist(start, end) < 0.1:
        return
    arc = bulged(start, end, bulge)
    theirs = bulge_center(start, end, bulge)
    assert arc.centre is not None
    size = 1 + abs(bulge_radius(start, end, bulge))
    assert math.dist(arc.centre, (theirs.x, theirs.y)) < 1e-9 * size
    assert arc.radius == pytest.approx(abs(bulge_radius(start, end, bulge)), rel=1e-9)
    assert arc.sweep == pytest.approx(4 * math.atan(bulge), rel=1e-6)


def test_a_circle_is_exactly_its_own(tmp_path: Path) -> None:
    """Centre and radius come from the entity, to the last digit that the file holds."""
    (loop,) = loops(read(tmp_path, lambda space: space.add_circle((12.3456789, -7.5), 50.0)))
    for one in loop.curve.segments:
        assert one.centre == (12.3456789, -7.5)
        assert one.radius == pytest.approx(50.0, abs=1e-12)
    assert area(loop.curve) == pytest.approx(math.pi * 2500, rel=1e-12)


def test_polygons_stay_within_a_micrometre_of_the_true_arcs(tmp_path: Path) -> None:
    """Every chord's middle lies inside the circle by at most 0.001 mm, and its ends on it."""
    (loop,) = loops(read(tmp_path, lambda space: space.add_circle((0, 0), 50.0)))
    ring = list(loop.region.exterior.coords)
    for (x, y), (next_x, next_y) in pairwise(ring):
        assert math.hypot(x, y) == pytest.approx(50.0, abs=1e-9)
        assert 0 <= 50.0 - math.hypot((x + next_x) / 2, (y + next_y) / 2) <= FLATTEN + 1e-9


@pytest.mark.parametrize("make", ["lightweight", "heavy"])
def test_polylines_with_bulges_enclose_what_they_should(tmp_path: Path, make: str) -> None:
    """A slot of two lines and two half circles: length times width and a circle (closed form)."""
    points = [(0, 0, 0), (40, 0, 1), (40, 10, 0), (0, 10, 1)]

    def draw(space: Any) -> None:
        if make == "lightweight":
            space.add_lwpolyline(points, format="xyb", close=True)
        else:
            space.add_polyline2d(points, format="xyb", close=True)

    (loop,) = loops(read(tmp_path, draw))
    assert area(loop.curve) == pytest.approx(400 + math.pi * 25, rel=1e-12)
    assert loop.curve.segments[1].centre == pytest.approx((40, 5))


def rounded(space: Any, order: list[int], turned: list[bool]) -> None:
    """A rectangle 60 by 40 with corners of radius 5, its eight entities in any order and lines either way."""
    lines = [((5, 0), (55, 0)), ((60, 5), (60, 35)), ((55, 40), (5, 40)), ((0, 35), (0, 5))]
    arcs = [((55, 5), 270, 360), ((55, 35), 0, 90), ((5, 35), 90, 180), ((5, 5), 180, 270)]
    for index in order:
        if index < 4:
            one, other = lines[index][:: -1 if turned[index] else 1]
            space.add_line(one, other)
        else:
            centre, first, last = arcs[index - 4]
            space.add_arc(centre, 5, first, last)


@pytest.mark.parametrize("seed", range(20))
def test_pieces_close_in_whatever_order_they_are_drawn(tmp_path: Path, seed: int) -> None:
    """Shuffled and turned, the same eight entities make one loop of the same exact area (closed form)."""
    chance = random.Random(seed)
    order = chance.sample(range(8), 8)
    turned = [chance.random() < 0.5 for _ in range(4)]
    (loop,) = loops(read(tmp_path, lambda space: rounded(space, order, turned)))
    assert area(loop.curve) == pytest.approx(60 * 40 - (4 - math.pi) * 25, rel=1e-12)
    assert sorted(one.centre for one in loop.curve.segments if one.centre) == [
        (5, 5),
        (5, 35),
        (55, 5),
        (55, 35),
    ]


def test_what_is_drawn_from_below_is_mirrored_as_the_library_mirrors_it(tmp_path: Path) -> None:
    """An arc whose plane faces down: its ends lie where ezdxf's frame puts them (published OCS rule)."""
    down = (0.0, 0.0, -1.0)
    drawing = read(tmp_path, lambda space: space.add_arc((10, 3), 4, 20, 110, dxfattribs={"extrusion": down}))
    (segment,) = drawing.pieces[0].segments
    for angle, point in ((20, segment.start), (110, segment.end)):
        turn = math.radians(angle)
        there = OCS(down).to_wcs((10 + 4 * math.cos(turn), 3 + 4 * math.sin(turn), 0))
        assert point == pytest.approx((there.x, there.y))
    assert segment.sweep == pytest.approx(-math.pi / 2)


# --- units


@pytest.mark.parametrize(("code", "mm"), [(1, 25.4), (2, 304.8), (4, 1), (5, 10), (6, 1000), (9, 0.0254)])
def test_the_header_s_unit_scales_the_drawing(tmp_path: Path, code: int, mm: float) -> None:
    """$INSUNITS 1 inch, 2 feet, 4 mm, 5 cm, 6 m, 9 mil (published DXF reference, header variables)."""
    drawing = read(tmp_path, lambda space: space.add_line((0, 0), (2, 0)), code)
    assert drawing.pieces[0].segments[0].length == pytest.approx(2 * mm, rel=1e-14)


def test_what_the_person_says_of_the_unit_counts_and_is_told(tmp_path: Path) -> None:
    """A header that says inches, stated to be mm: read as mm, with a note."""
    document(lambda space: space.add_line((0, 0), (2, 0)), 1).saveas(tmp_path / "a.dxf")
    drawing = read_dxf(tmp_path / "a.dxf", "mm")
    assert drawing.pieces[0].segments[0].length == 2
    assert "inches" in drawing.notes[0]


BARE = "0\nSECTION\n2\nENTITIES\n0\nLINE\n8\n0\n10\n0\n20\n0\n11\n10\n21\n0\n0\nENDSEC\n0\nEOF\n"


def test_no_unit_is_a_refusal_and_never_a_guess(tmp_path: Path) -> None:
    """Neither a header of unit 0 nor no header at all is read, until the person states the unit."""
    with pytest.raises(InputError, match="states no unit"):
        read(tmp_path, lambda space: space.add_line((0, 0), (2, 0)), 0)
    (tmp_path / "bare.dxf").write_text(BARE)
    with pytest.raises(InputError, match="states no unit"):
        read_dxf(tmp_path / "bare.dxf")
    assert read_dxf(tmp_path / "bare.dxf", "in").pieces[0].segments[0].length == 254


# --- refusals


@pytest.mark.parametrize(
    ("draw", "said"),
    [
        (lambda space: space.add_spline([(0, 0), (5, 5), (9, 0)]), "SPLINE"),
        (lambda space: space.add_ellipse((0, 0), (5, 0), 0.5), "ELLIPSE"),
        (lambda space: space.add_text("cut here"), "TEXT"),
        (lambda space: space.add_line((0, 0, 0), (5, 0, 5)), "differ in height"),
        (lambda space: space.add_circle((0, 0), 5, dxfattribs={"extrusion": (1, 0, 0)}), "lie flat"),
        (lambda space: space.add_lwpolyline([(0, 0, 1, 1), (9, 0, 1, 1)], format="xyse"), "width"),
        (lambda space: space.add_polyline3d([(0, 0, 0), (5, 5, 5), (9, 0, 0)]), "in space"),
        (lambda space: space.add_line((0, 0), (1e9, 0)), "further than"),
    ],
)
def test_whatever_is_no_flat_line_or_arc_is_kept_as_a_stray(tmp_path: Path, draw: Draw, said: str) -> None:
    """Its type and handle are kept for the one who uses its layer, and nothing is drawn of it."""
    drawing = read(tmp_path, draw)
    assert drawing.pieces == ()
    (stray,) = drawing.strays
    assert said in f"{stray.entity} {stray.why}"
    assert stray.entity.split()[1]


@pytest.mark.parametrize("share", [0.05, 0.3, 0.6, 0.95])
def test_a_drawing_cut_short_is_refused_whole(tmp_path: Path, share: float) -> None:
    """No half of a file is taken for a drawing."""
    document(lambda space: space.add_circle((0, 0), 5)).saveas(tmp_path / "a.dxf")
    text = (tmp_path / "a.dxf").read_text()
    (tmp_path / "a.dxf").write_text(text[: int(len(text) * share)])
    with pytest.raises(InputError, match="DXF"):
        read_dxf(tmp_path / "a.dxf", "mm")


def square(space: Any, gap: float = 0.0) -> None:
    """Three sides and a fourth that ends short of the first by a gap."""
    for one, other in (
        ((0, 0), (10, 0)),
        ((10, 0), (10, 10)),
        ((10, 10), (0, 10)),
        ((0, 10), (0, gap)),
    ):
        space.add_line(one, other)


def test_a_hair_s_gap_is_closed_and_a_wider_one_refused_with_both_ends(tmp_path: Path) -> None:
    """0.009 mm is joined; 0.02 mm is open, from which entity to which and where."""
    (loop,) = loops(read(tmp_path, lambda space: square(space, 0.009)))
    assert loop.region.area == pytest.approx(100, abs=0.1)
    with pytest.raises(InputError) as error:
        loops(read(tmp_path, lambda space: square(space, 0.02)))
    assert "(0, 0) mm and (0, 0.02) mm, 0.02 mm apart" in error.value.text
    assert error.value.text.count("LINE") == 2


@given(st.floats(-JOIN, JOIN), st.floats(-JOIN, JOIN), st.booleans())
def test_closing_a_gap_leaves_arcs_on_their_circles(x: float, y: float, second_arc: bool) -> None:
    """Two half rings a hair apart, or a half ring and a line: each arc keeps its centre and radius."""
    if math.hypot(x, y) > 0.99 * JOIN:
        return
    half = Segment((5.0, 0.0), (-5.0, 0.0), (0.0, 0.0))
    if second_arc:
        other = Segment((-5.0 + x, y), (5.0 + x, y), (x, y))
    else:
        other = Segment((-5.0 + x, y), (5.0 + x, y))
    pieces = [Piece(layer="A", entity="ARC 1", segments=(one,), closed=False) for one in (half, other)]
    (loop,) = closed_loops(pieces)
    arcs = [one for one in loop.curve.segments if one.centre]
    assert len(arcs) == 1 + second_arc
    for arc, centre in zip(arcs, ((0.0, 0.0), (x, y)), strict=False):
        assert arc.centre == centre
        assert arc.radius == pytest.approx(5.0, abs=1e-9)
        assert math.dist(arc.end, centre) == pytest.approx(5.0, abs=1e-9)


@pytest.mark.parametrize(
    ("points", "said"),
    [
        ([(0, 0), (10, 10), (10, 0), (0, 10)], "crosses itself"),
        ([(0, 0), (10, 0), (5, 0)], "no area"),
    ],
)
def test_a_ring_that_is_no_ring_is_refused(
    tmp_path: Path, points: list[tuple[float, float]], said: str
) -> None:
    """A bow tie and a flat ring, each told with its place."""
    with pytest.raises(InputError, match=said) as error:
        loops(read(tmp_path, lambda space: space.add_lwpolyline(points, close=True)))
    assert " mm" in error.value.text


def test_a_branch_is_refused_with_its_place(tmp_path: Path) -> None:
    """Where three lines meet, nobody says which way the loop goes."""

    def draw(space: Any) -> None:
        square(space)
        space.add_line((10, 10), (20, 20))

    with pytest.raises(InputError, match=r"3 ends meet at \(10, 10\) mm"):
        loops(read(tmp_path, draw))


def test_a_curve_drawn_twice_and_one_that_crosses_another_are_refused(tmp_path: Path) -> None:
    """Two loops on each other would cancel out as region and island; two that cross mean neither."""
    twice = loops(read(tmp_path, lambda space: [space.add_circle((0, 0), 5) for _ in range(2)]))
    with pytest.raises(InputError, match="drawn twice"):
        regions(twice)
    crossed = loops(read(tmp_path, lambda space: [space.add_circle((x, 0), 5) for x in (0, 6)]))
    with pytest.raises(InputError, match="crosses"):
        regions(crossed)


# --- nesting


def test_what_lies_in_what(tmp_path: Path) -> None:
    """Four rings in one another beside a lone one: regions with their islands, areas in closed form."""

    def draw(space: Any) -> None:
        for radius in (10, 40, 20, 30):
            space.add_circle((0, 0), radius)
        space.add_circle((100, 0), 5)

    found = loops(read(tmp_path, draw))
    assert [one.curve.segments[0].radius for one in outermost(found)] == pytest.approx([40, 5])
    areas = sorted(polygon(one.curves).area for one in regions(found))
    # chords 0.001 mm off at most lose up to two thirds of that along the rim: 4/3 of it over r, as a share
    share = 4 / 3 * FLATTEN / 5
    assert areas == pytest.approx([math.pi * r for r in (25, 400 - 100, 1600 - 900)], rel=share)
    ring = next(one for one in regions(found) if one.islands and one.loop.curve.segments[0].radius > 30)
    assert not polygon(ring.curves).contains(Point(25, 0))
