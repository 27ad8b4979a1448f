"""DXF drawings read in: entities as exact lines and arcs, blocks laid out, doubts told or refused."""

import io
import math
import random
from collections.abc import Callable
from itertools import pairwise
from pathlib import Path
from typing import Any

import ezdxf.document
import numpy as np
import pytest
import shapely
from ezdxf.filemanagement import new, readfile
from ezdxf.math import OCS, bulge_center, bulge_radius
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from scipy.interpolate import BSpline
from scipy.special import ellipe
from shapely import LineString, Point
from shapely.affinity import rotate, scale, translate

from proveout.curve import FLATTEN, Curve, polygon
from proveout.drawing.dxf_file import UNITS
from proveout.drawing.dxf_sheet import TOLERANCE, read_dxf_sheet
from proveout.drawing.loops import Loop, outermost, regions
from proveout.drawing.opened import opened
from proveout.drawing.wires import Sheet
from proveout.finding import InputError

Draw = Callable[[Any], object]


def document(draw: Draw, unit: int = 4, version: str = "R2010") -> ezdxf.document.Drawing:
    """A drawing in millimetres, made by the library."""
    made = new(version)
    made.header["$INSUNITS"] = unit
    draw(made.modelspace())
    return made


def sheet(folder: Path, draw: Draw, unit: int = 4) -> Sheet:
    """The same, saved and read back by our reader."""
    document(draw, unit).saveas(folder / "drawing.dxf")
    return read_dxf_sheet(folder / "drawing.dxf")


def loops(folder: Path, draw: Draw) -> tuple[Loop, ...]:
    """Its closed curves, healed."""
    document(draw).saveas(folder / "drawing.dxf")
    return opened(folder / "drawing.dxf").loops


def area(curve: Curve) -> float:
    """The area in an exact curve by Green's theorem: its chords' polygon and each arc's circular segment."""
    total = 0.0
    for one in curve.segments:
        total += (one.start[0] * one.end[1] - one.end[0] * one.start[1]) / 2
        total += one.radius**2 / 2 * (one.sweep - math.sin(one.sweep))
    return abs(total)


def said(found: Sheet, kind: str) -> str:
    """All acts of a kind."""
    return "\n".join(act.text for act in found.acts if act.kind == kind)


# --- entities


def test_a_circle_is_exactly_its_own(tmp_path: Path) -> None:
    """Centre and radius come from the entity, to the last digits that the file holds."""
    (loop,) = loops(tmp_path, lambda space: space.add_circle((12.3456789, -7.5), 50.0))
    for one in loop.curve.segments:
        assert one.centre == pytest.approx((12.3456789, -7.5), abs=1e-12)
        assert one.radius == pytest.approx(50.0, abs=1e-12)
    assert area(loop.curve) == pytest.approx(math.pi * 2500, rel=1e-12)


@given(
    st.tuples(st.floats(-500, 500), st.floats(-500, 500)),
    st.tuples(st.floats(-500, 500), st.floats(-500, 500)),
    st.floats(-5, 5).filter(lambda bulge: abs(bulge) > 0.01),
)
@settings(max_examples=40, suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
def test_a_bulge_s_centre_is_the_library_s(
    tmp_path: Path, start: tuple[float, float], end: tuple[float, float], bulge: float
) -> None:
    """Centre, radius and turn agree with ezdxf's own; the turn is four times the bulge's arc tangent."""
    if math.dist(start, end) < 0.1:
        return
    found = sheet(tmp_path, lambda space: space.add_lwpolyline([(*start, bulge), (*end, 0)], format="xyb"))
    (arc,) = (found.wires.segment(row) for row in range(len(found.wires)))
    theirs = bulge_center(start, end, bulge)
    assert arc.centre is not None
    size = 1 + abs(bulge_radius(start, end, bulge))
    assert math.dist(arc.centre, (theirs.x, theirs.y)) < 1e-7 * size
    assert arc.sweep == pytest.approx(4 * math.atan(bulge), rel=1e-6)


@pytest.mark.parametrize("make", ["lightweight", "heavy"])
def test_polylines_with_bulges_enclose_what_they_should(tmp_path: Path, make: str) -> None:
    """A slot of two lines and two half circles: length times width and a circle (closed form)."""
    points = [(0, 0, 0), (40, 0, 1), (40, 10, 0), (0, 10, 1)]

    def draw(space: Any) -> None:
        if make == "lightweight":
            space.add_lwpolyline(points, format="xyb", close=True)
        else:
            space.add_polyline2d(points, format="xyb", close=True)

    (loop,) = loops(tmp_path, draw)
    assert area(loop.curve) == pytest.approx(400 + math.pi * 25, rel=1e-9)


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
    (loop,) = loops(tmp_path, lambda space: rounded(space, order, turned))
    assert area(loop.curve) == pytest.approx(60 * 40 - (4 - math.pi) * 25, rel=1e-9)
    centres = sorted(one.centre for one in loop.curve.segments if one.centre)
    np.testing.assert_allclose(centres, [(5, 5), (5, 35), (55, 5), (55, 35)], atol=1e-9)


@pytest.mark.parametrize("down", [(0.0, 0.0, -1.0), (2.7e-24, 1.7e-20, -1.0)])
def test_what_is_drawn_from_below_is_mirrored(tmp_path: Path, down: tuple[float, float, float]) -> None:
    """An arc whose plane faces down: its ends lie where ezdxf's frame puts them (published OCS rule)."""
    found = sheet(tmp_path, lambda space: space.add_arc((10, 3), 4, 20, 110, dxfattribs={"extrusion": down}))
    segment = found.wires.segment(0)
    for angle, point in ((20, segment.start), (110, segment.end)):
        turn = math.radians(angle)
        there = OCS((0, 0, -1)).to_wcs((10 + 4 * math.cos(turn), 3 + 4 * math.sin(turn), 0))
        assert point == pytest.approx((there.x, there.y))
    assert segment.sweep == pytest.approx(-math.pi / 2)


# --- ellipses and splines


@pytest.mark.parametrize("ratio", [1.0, 0.5, 0.1])
def test_an_ellipse_has_its_area_and_its_length(tmp_path: Path, ratio: float) -> None:
    """pi a b; and 4 a E(1 - (b/a)^2), the complete elliptic integral (scipy), less what chords cut off."""
    major = (30 * math.cos(0.7), 30 * math.sin(0.7))
    (loop,) = loops(tmp_path, lambda space: space.add_ellipse((5, 6), major, ratio))
    length = sum(one.length for one in loop.curve.segments)
    assert area(loop.curve) == pytest.approx(math.pi * 900 * ratio, rel=1e-3)
    assert length == pytest.approx(120 * ellipe(1 - ratio**2), rel=2e-4)


@settings(max_examples=30, suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(st.floats(0, 6), st.floats(0.2, 6), st.floats(0.05, 1.0), st.booleans(), st.floats(0, 6))
def test_part_of_an_ellipse_ends_where_its_parameters_say(
    tmp_path: Path, first: float, sweep: float, ratio: float, below: bool, turn: float
) -> None:
    """c + cos(t) major + sin(t) minor, minor = extrusion x major x ratio (DXF reference, ELLIPSE)."""
    major = np.array([20 * math.cos(turn), 20 * math.sin(turn)])
    up = -1 if below else 1
    minor = up * ratio * np.array([-major[1], major[0]])

    def draw(space: Any) -> None:
        space.add_ellipse(
            (3, 4), tuple(major), ratio, first, first + sweep, dxfattribs={"extrusion": (0, 0, up)}
        )

    found = sheet(tmp_path, draw).wires
    for t, point in ((first, found.start[0]), (first + sweep, found.end[-1])):
        assert point == pytest.approx((3, 4) + math.cos(t) * major + math.sin(t) * minor, abs=1e-9)
    for row in range(len(found)):
        offset = (found.start[row] + found.end[row]) / 2 - (3, 4)
        u, v = offset @ major / 400, offset @ minor / (400 * ratio**2)
        reach = math.hypot(u, v)
        assert reach <= 1 + 1e-9
        if math.isnan(found.centre[row, 0]):
            assert (1 - reach) * 20 < 40 * TOLERANCE  # a chord near the tip of a slim ellipse


@settings(max_examples=20, suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(st.integers(1, 7), st.integers(0, 6), st.integers(0, 2**32 - 1), st.booleans())
def test_a_spline_lies_on_scipys(tmp_path: Path, degree: int, more: int, seed: int, weighted: bool) -> None:
    """Ends of chords lie on the spline that scipy makes of the same numbers, and none is far off it."""
    chance = np.random.default_rng(seed)
    count = degree + 1 + more
    points = chance.uniform(-50, 50, (count, 2))
    inner = np.sort(chance.uniform(0, 1, more))
    knots = np.concatenate((np.zeros(degree + 1), inner, np.ones(degree + 1)))
    weights = chance.uniform(0.3, 3, count) if weighted else np.ones(count)

    def draw(space: Any) -> None:
        spline = space.add_spline(degree=degree)
        spline.control_points = [(x, y, 0) for x, y in points]
        spline.knots = knots
        if weighted:
            spline.weights = weights

    found = sheet(tmp_path, draw).wires
    homogeneous = BSpline(knots, np.column_stack((points * weights[:, None], weights)), degree)
    ends = [0, *inner, 1]
    values = homogeneous(np.concatenate([np.linspace(*two, 1_500) for two in pairwise(ends)]))
    theirs = LineString(values[:, :2] / values[:, 2:])
    ours = LineString([*found.start, found.end[-1]])
    assert shapely.hausdorff_distance(ours, theirs) < TOLERANCE + 0.003
    assert max(theirs.distance(Point(one)) for one in found.start) < 2e-3
    assert found.start[0] == pytest.approx(points[0], abs=1e-9)
    assert found.end[-1] == pytest.approx(points[-1], abs=1e-9)


def test_a_rational_spline_is_the_circle_that_it_states(tmp_path: Path) -> None:
    """A circle of nine points with weights 1 and 1/sqrt(2) (Piegl and Tiller, The NURBS Book)."""
    ring = [(1, 0), (1, 1), (0, 1), (-1, 1), (-1, 0), (-1, -1), (0, -1), (1, -1), (1, 0)]

    def draw(space: Any) -> None:
        spline = space.add_spline(degree=2)
        spline.control_points = [(20 * x, 20 * y, 0) for x, y in ring]
        spline.knots = [0, 0, 0, 1, 1, 2, 2, 3, 3, 4, 4, 4]
        spline.weights = [1, math.sqrt(0.5)] * 4 + [1]

    (loop,) = loops(tmp_path, draw)
    assert area(loop.curve) == pytest.approx(math.pi * 400, rel=1e-4)


def test_a_periodic_spline_and_one_of_fit_points_are_read(tmp_path: Path) -> None:
    """Unclamped knots: the curve runs from knot p to knot n alone (scipy); fit points lie on theirs."""
    count = 10
    points = np.array([(20 * math.cos(a), 20 * math.sin(a)) for a in np.arange(count + 3) * math.tau / count])
    knots = np.arange(count + 3 + 4, dtype=float)

    def draw(space: Any) -> None:
        spline = space.add_spline(degree=3)
        spline.control_points = [(x, y, 0) for x, y in points]
        spline.knots = knots

    (loop,) = loops(tmp_path, draw)
    theirs = BSpline(knots, points, 3)(np.linspace(3, count + 3, 4000))
    assert loop.region.area == pytest.approx(shapely.Polygon(theirs).area, rel=1e-3)
    fit = [(0, 0), (10, 5), (20, -5), (30, 0)]
    found = sheet(tmp_path, lambda space: space.add_spline(fit)).wires
    line = LineString([*found.start, found.end[-1]])
    assert max(line.distance(Point(one)) for one in fit) < 0.01


# --- blocks


@settings(max_examples=30, suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(
    st.floats(-180, 180), st.sampled_from([(1, 1), (2, 2), (-1, 1), (1.5, -1.5), (2, 0.5)]), st.booleans(),
    st.floats(-20, 20),
)  # fmt: skip
def test_a_block_in_a_block_lies_where_shapely_puts_it(
    tmp_path: Path, turn: float, by: tuple[float, float], below: bool, shift: float
) -> None:
    """Scaled, turned, moved, mirrored by its plane, with base points: as affine transforms of shapely."""

    def draw(space: Any) -> None:
        blocks = space.doc.blocks
        inner = blocks.new("INNER", base_point=(1, 2))
        inner.add_lwpolyline(
            [
                (0, 0),
                (
                    8,
                    0,
                ),
                (8, 3),
                (0, 3),
            ],
            close=True,
        )
        inner.add_circle((2, 1.5), 1)
        outer = blocks.new("OUTER")
        outer.add_blockref("INNER", (5, 5), dxfattribs={"rotation": 30, "xscale": 2, "yscale": 2})
        place = {"rotation": turn, "xscale": by[0], "yscale": by[1], "extrusion": (0, 0, -1 if below else 1)}
        space.add_blockref("OUTER", (shift, 7), dxfattribs=place)

    found = loops(tmp_path, draw)
    plate = shapely.box(0, 0, 8, 3)
    for shape, circle in ((plate, False), (Point(2, 1.5).buffer(1, 256), True)):
        there = rotate(scale(translate(shape, -1, -2), 2, 2, origin=(0, 0)), 30, origin=(0, 0))
        there = scale(translate(there, 5, 5), *by, origin=(0, 0))
        there = translate(rotate(there, turn, origin=(0, 0)), shift, 7)
        if below:
            there = scale(there, -1, 1, origin=(0, 0))
        ours = (
            min(found, key=lambda one: one.region.area)
            if circle
            else max(found, key=lambda one: one.region.area)
        )
        assert ours.region.symmetric_difference(there).area < 0.01 * there.area


def test_content_on_layer_0_takes_the_layer_of_its_insert(tmp_path: Path) -> None:
    """And other content keeps its own (published DXF reference, INSERT); rows and columns are laid out."""

    def draw(space: Any) -> None:
        block = space.doc.blocks.new("HOLES")
        block.add_circle((0, 0), 2)
        block.add_circle((10, 0), 2, dxfattribs={"layer": "OWN"})
        grid = {"layer": "DRILL", "column_count": 3, "row_count": 2, "column_spacing": 20, "row_spacing": 9}
        space.add_blockref("HOLES", (0, 0), dxfattribs=grid)

    found = loops(tmp_path, draw)
    assert sorted(one.layer for one in found) == ["DRILL"] * 6 + ["OWN"] * 6
    assert {(round(x), round(y)) for x, y in (one.region.centroid.coords[0] for one in found)} == {
        (x, y) for x in (0, 10, 20, 30, 40, 50) for y in (0, 9)
    }


def test_a_block_in_itself_is_refused(tmp_path: Path) -> None:
    """Two blocks that hold each other: told by name, at once."""

    def draw(space: Any) -> None:
        one, other = space.doc.blocks.new("ONE"), space.doc.blocks.new("OTHER")
        one.add_blockref("OTHER", (0, 0))
        other.add_blockref("ONE", (1, 0))
        space.add_blockref("ONE", (0, 0))

    with pytest.raises(InputError, match='block "ONE" contains itself'):
        sheet(tmp_path, draw)


def test_blocks_that_multiply_are_refused_in_time(tmp_path: Path) -> None:
    """Ten levels of ten copies each would be ten thousand million circles."""

    def draw(space: Any) -> None:
        blocks = space.doc.blocks
        blocks.new("B0").add_circle((0, 0), 1)
        for level in range(1, 11):
            block = blocks.new(f"B{level}")
            for copy in range(10):
                block.add_blockref(f"B{level - 1}", (copy * 3.0**level, 0))
        space.add_blockref("B10", (0, 0))

    with pytest.raises(InputError, match="holds more than"):
        sheet(tmp_path, draw)


# --- hatches, layers, words


def test_a_hatchs_boundary_is_drawn_and_a_copy_of_it_is_one(tmp_path: Path) -> None:
    """Lines and arcs of its edges; where the same outline is drawn too, healing drops one of the two."""

    def draw(space: Any) -> None:
        hatch = space.add_hatch()
        edges = hatch.paths.add_edge_path()
        edges.add_line((0, 0), (30, 0))
        edges.add_arc((30, 10), 10, 270, 90)
        edges.add_line((30, 20), (0, 20))
        edges.add_line((0, 20), (0, 0))
        hatch.paths.add_polyline_path([(5, 5), (9, 5), (9, 9)], is_closed=True)

    found = loops(tmp_path, draw)
    assert sorted(area(one.curve) for one in found) == pytest.approx([8, 600 + math.pi * 50], rel=1e-9)

    def twice(space: Any) -> None:
        draw(space)
        space.add_lwpolyline([(5, 5), (9, 5), (9, 9)], close=True)

    assert len(loops(tmp_path, twice)) == 2


def test_layers_that_are_off_frozen_or_to_draw_by_are_left_out_and_said(tmp_path: Path) -> None:
    """Each with its count; what is on them is no part."""

    def draw(space: Any) -> None:
        layers = space.doc.layers
        layers.add("ICE").freeze()
        layers.add("DARK").off()
        layers.add("PALE").dxf.plot = 0
        space.add_circle((0, 0), 5)
        for layer in ("ICE", "ICE", "DARK", "PALE", "Defpoints", "Construction"):
            space.add_circle((0, 0), 9, dxfattribs={"layer": layer})
        space.add_circle((0, 0), 9, dxfattribs={"invisible": 1})

    found = sheet(tmp_path, draw)
    assert len(found.wires) == 2
    told = said(found, "layer left out")
    for words in (
        "2 entities on layer ICE",
        "DARK were left out: the layer is off",
        "PALE",
        "Defpoints",
        "invisible",
    ):
        assert words in told


def test_words_and_dimensions_are_counted_and_never_cut(tmp_path: Path) -> None:
    """Text, points, a dimension: no geometry."""

    def draw(space: Any) -> None:
        space.add_circle((0, 0), 5)
        space.add_text("cut here")
        space.add_mtext("or here")
        space.add_point((1, 1))
        space.add_linear_dim(base=(0, 9), p1=(-5, 0), p2=(5, 0)).render()

    found = sheet(tmp_path, draw)
    assert len(found.wires) == 2
    assert "1 DIMENSION, 1 MTEXT, 1 POINT, 1 TEXT" in said(found, "left out")


def test_nothings_are_left_out_by_name(tmp_path: Path) -> None:
    """Circles of no radius, of which real drawings hold some."""
    found = sheet(tmp_path, lambda space: [space.add_circle((0, 0), radius) for radius in (5, 0, 0)])
    assert len(found.wires) == 2
    assert said(found, "nothing drawn").count("CIRCLE") == 2


def test_a_polyline_with_a_width_is_doubted(tmp_path: Path) -> None:
    """Its middle is taken, and a person is told."""
    ring = [(0, 0), (9, 0), (9, 9)]
    document(lambda space: space.add_lwpolyline(ring, close=True, dxfattribs={"const_width": 1.5})).saveas(
        tmp_path / "a.dxf"
    )
    assert "a width of 1.5 units" in " ".join(opened(tmp_path / "a.dxf").doubts)


# --- units


# Source: the published DXF reference, $INSUNITS in the header section
@pytest.mark.parametrize(
    ("code", "mm"),
    [(1, 25.4), (2, 304.8), (4, 1), (5, 10), (6, 1000), (8, 2.54e-5), (9, 0.0254), (10, 914.4), (13, 0.001),
     (14, 100)],
)  # fmt: skip
def test_the_header_s_unit_is_claimed(tmp_path: Path, code: int, mm: float) -> None:
    """By its code; the shelf of units holds no others."""
    claim = sheet(tmp_path, lambda space: space.add_line((0, 0), (2, 0)), code).claim
    assert claim.mm == pytest.approx(mm)
    assert claim.sure
    assert set(UNITS) == {1, 2, 4, 5, 6, 8, 9, 10, 13, 14}


def test_a_missing_header_claims_nothing(tmp_path: Path) -> None:
    """Code 0, a unit for no part (3 is miles), or no header at all."""
    for code in (0, 3):
        assert sheet(tmp_path, lambda space: space.add_line((0, 0), (2, 0)), code).claim.mm is None
    bare = "0\nSECTION\n2\nENTITIES\n0\nLINE\n8\n0\n10\n0\n20\n0\n11\n10\n21\n0\n0\nENDSEC\n0\nEOF\n"
    (tmp_path / "bare.dxf").write_text(bare)
    assert read_dxf_sheet(tmp_path / "bare.dxf").claim.mm is None


# --- files


@pytest.mark.parametrize("version", ["R12", "R2000", "R2004", "R2007", "R2010", "R2013", "R2018"])
def test_text_and_binary_of_every_version_say_the_same(tmp_path: Path, version: str) -> None:
    """Written by the library in both forms; the same curves and the same unit."""

    def draw(space: Any) -> None:
        space.add_circle((1, 2), 3)
        space.add_polyline2d([(0, 0, 0.5), (9, 0, 0), (9, 9, 0)], format="xyb", close=True)
        space.add_arc((4, 4), 2, 10, 100)

    made = document(draw, 5, version)
    made.saveas(tmp_path / "text.dxf")
    stream = io.BytesIO()
    made.write(stream, fmt="bin")
    (tmp_path / "binary.dxf").write_bytes(stream.getvalue())
    text, binary = (read_dxf_sheet(tmp_path / f"{name}.dxf") for name in ("text", "binary"))
    for name in ("start", "end", "centre"):
        np.testing.assert_allclose(getattr(text.wires, name), getattr(binary.wires, name), atol=1e-9)
    assert (text.claim.mm, binary.claim.mm) == ((10, 10) if version != "R12" else (text.claim.mm,) * 2)


def test_line_ends_of_any_kind_are_read(tmp_path: Path) -> None:
    """LF, CR LF, and CR alone as old machines wrote."""
    document(lambda space: space.add_circle((0, 0), 5)).saveas(tmp_path / "a.dxf")
    content = (tmp_path / "a.dxf").read_bytes().replace(b"\r\n", b"\n")
    for end in (b"\n", b"\r\n", b"\r"):
        (tmp_path / "b.dxf").write_bytes(content.replace(b"\n", end))
        assert len(read_dxf_sheet(tmp_path / "b.dxf").wires) == 2


@pytest.mark.parametrize("share", [0.0, 0.05, 0.3, 0.6, 0.95])
@pytest.mark.parametrize("binary", [False, True])
def test_a_drawing_cut_short_is_refused_whole(tmp_path: Path, share: float, binary: bool) -> None:
    """No half of a file is taken for a drawing."""
    stream: Any = io.BytesIO() if binary else io.StringIO()
    document(lambda space: space.add_circle((0, 0), 5)).write(stream, fmt="bin" if binary else "asc")
    whole = stream.getvalue() if binary else stream.getvalue().encode()
    (tmp_path / "a.dxf").write_bytes(whole[: int(len(whole) * share)])
    with pytest.raises(InputError, match="DXF"):
        read_dxf_sheet(tmp_path / "a.dxf")


def test_a_damaged_drawing_is_saved_and_doubted(tmp_path: Path) -> None:
    """A section's end is missing: the entities are read, and a person is told to check them."""
    document(lambda space: space.add_circle((0, 0), 5)).saveas(tmp_path / "a.dxf")
    text = (tmp_path / "a.dxf").read_text()
    assert "ENDSEC\n  0\nSECTION\n  2\nENTITIES" in text
    text = text.replace("  0\nENDSEC\n  0\nSECTION\n  2\nENTITIES", "  0\nSECTION\n  2\nENTITIES")
    (tmp_path / "a.dxf").write_text(text)
    found = opened(tmp_path / "a.dxf")
    assert len(found.loops) == 1
    assert "damaged" in " ".join(found.doubts)


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "no DXF text"),
        (b"\x89PNG\r\n\x1a\n" + bytes(100), "a picture"),
        (b"\x00\x01\x02" * 500, "no DXF text"),
        (b"AutoCAD Binary DXF\r\n\x1a\x00" + bytes(range(256)) * 8, "cut short"),
        (b"AutoCAD Binary DXF\r\n\x1a\x00" + bytes(range(256)) * 8 + b"EOF\x00", "broken"),
        (b"0\nSECTION\n2\nENTITIES\n0\nLINE\n10\nx\n0\nENDSEC\n0\nEOF\n", "."),
        (b"0\nSECTION\n2\nENTITIES\n0\nENDSEC\n0\nEOF\n", "nothing is drawn"),
    ],
)
def test_junk_is_refused_in_words(tmp_path: Path, content: bytes, words: str) -> None:
    """Whatever bears the name of a drawing."""
    (tmp_path / "a.dxf").write_bytes(content)
    with pytest.raises(InputError, match=words):
        opened(tmp_path / "a.dxf", units="mm")


@pytest.mark.parametrize(
    ("draw", "words"),
    [
        (lambda space: space.add_line((0, 0, 0), (5, 0, 5)), "differ in height"),
        (lambda space: space.add_circle((0, 0), 5, dxfattribs={"extrusion": (1, 0, 0)}), "lie flat"),
        (lambda space: space.add_polyline3d([(0, 0, 0), (5, 5, 5), (9, 0, 0)]), "in space"),
        (lambda space: space.add_3dface([(0, 0), (1, 0), (1, 1)]), "is not read"),
        (lambda space: space.add_line((0, 0), (1e12, 0)), "reaches further"),
        (lambda space: space.add_blockref("NOWHERE", (0, 0)), "which is not there"),
    ],
)
def test_what_cannot_be_taken_for_flat_curves_is_refused_by_name(
    tmp_path: Path, draw: Draw, words: str
) -> None:
    """With its type, handle and layer."""

    def both(space: Any) -> None:
        space.add_circle((0, 0), 5)
        draw(space)

    document(both).saveas(tmp_path / "a.dxf")
    with pytest.raises(InputError, match=words) as refused:
        opened(tmp_path / "a.dxf")
    assert "on layer 0" in refused.value.text


@pytest.mark.parametrize("value", ["nan", "inf", "1e12", "-1e300"])
def test_numbers_that_are_none_are_refused(tmp_path: Path, value: str) -> None:
    """In a circle, a line, a bulge."""
    for entity in ("CIRCLE\n8\n0\n10\n{}\n20\n0\n40\n5", "LINE\n8\n0\n10\n0\n20\n{}\n11\n9\n21\n9"):
        text = f"0\nSECTION\n2\nENTITIES\n0\n{entity.format(value)}\n0\nENDSEC\n0\nEOF\n"
        (tmp_path / "a.dxf").write_text(text)
        with pytest.raises(InputError):
            opened(tmp_path / "a.dxf", units="mm")


# --- loops and nesting


def square(space: Any, gap: float = 0.0) -> None:
    """Three sides and a fourth that ends short of the first by a gap."""
    for one, other in (((0, 0), (10, 0)), ((10, 0), (10, 10)), ((10, 10), (0, 10)), ((0, 10), (0, gap))):
        space.add_line(one, other)


def test_a_curve_that_crosses_another_is_refused(tmp_path: Path) -> None:
    """Two that cross mean neither."""
    crossed = loops(tmp_path, lambda space: [space.add_circle((x, 0), 5) for x in (0, 6)])
    with pytest.raises(InputError, match="crosses"):
        regions(crossed)


def test_a_layer_that_counts_leaves_the_others_out(tmp_path: Path) -> None:
    """An open line on another layer is passed over; a layer that isn't there is refused by name."""

    def draw(space: Any) -> None:
        space.add_circle((0, 0), 5, dxfattribs={"layer": "CUT"})
        space.add_line((0, 0), (50, 0), dxfattribs={"layer": "ETCH"})

    document(draw).saveas(tmp_path / "a.dxf")
    with pytest.raises(InputError, match=r'open: .* layers = \["CUT"\]'):
        opened(tmp_path / "a.dxf")
    assert len(opened(tmp_path / "a.dxf", layers=["cut"]).loops) == 1
    with pytest.raises(InputError, match=r'no layer "CUTS"\. It has: CUT, ETCH'):
        opened(tmp_path / "a.dxf", layers=["CUTS"])


def test_what_lies_in_what(tmp_path: Path) -> None:
    """Four rings in one another beside a lone one: regions with their islands, areas in closed form."""

    def draw(space: Any) -> None:
        for radius in (10, 40, 20, 30):
            space.add_circle((0, 0), radius)
        space.add_circle((100, 0), 5)

    found = loops(tmp_path, draw)
    assert [one.curve.segments[0].radius for one in outermost(found)] == pytest.approx([40, 5])
    areas = sorted(polygon(one.curves).area for one in regions(found))
    # chords 0.001 mm off at most lose up to two thirds of that along the rim: 4/3 of it over r, as a share
    share = 4 / 3 * FLATTEN / 5
    assert areas == pytest.approx([math.pi * r for r in (25, 400 - 100, 1600 - 900)], rel=share)
    ring = next(one for one in regions(found) if one.islands and one.loop.curve.segments[0].radius > 30)
    assert not polygon(ring.curves).contains(Point(25, 0))


def test_the_library_reads_what_it_wrote(tmp_path: Path) -> None:
    """The check of the checks: the drawings that these tests make are drawings to their own library."""
    document(lambda space: square(space)).saveas(tmp_path / "a.dxf")
    assert len(readfile(tmp_path / "a.dxf").modelspace()) == 4
