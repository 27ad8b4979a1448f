"""Drawings that we write, read back by a general-purpose library."""

import io
import math
from collections.abc import Iterable

import pytest
import shapely
from ezdxf import units
from ezdxf.document import Drawing
from ezdxf.entities.arc import Arc
from ezdxf.entities.dxfgfx import DXFGraphic
from ezdxf.filemanagement import read as read_drawing
from ezdxf.math import Vec3
from hypothesis import given
from hypothesis import strategies as st

import made_example
from proveout.curve import Curve, Segment, circle, from_points, moved, polygon
from proveout.drawing.dxf import Layer, dxf

FINE = 1e-7  # mm, chord error: the comparison's own error stays far below a millionth of a millimetre squared


def read(text: str) -> Drawing:
    return read_drawing(io.StringIO(text.replace("\r\n", "\n")))


def signed_area(entities: Iterable[DXFGraphic]) -> float:
    """The area that lines, arcs and circles enclose, by Green's theorem over each entity as read.

    Arcs are always anticlockwise in the file, so rings are walked end to end first.
    """
    loose = []
    area = 0.0
    for entity in entities:
        if entity.dxftype() == "CIRCLE":
            area += math.pi * entity.dxf.radius**2
        elif entity.dxftype() == "LINE":
            loose.append(
                ((entity.dxf.start.x, entity.dxf.start.y), (entity.dxf.end.x, entity.dxf.end.y), 0.0)
            )
        else:
            assert isinstance(entity, Arc)
            sweep = math.radians((entity.dxf.end_angle - entity.dxf.start_angle) % 360)
            start, end = entity.start_point, entity.end_point
            bulge_area = entity.dxf.radius**2 / 2 * (sweep - math.sin(sweep))
            loose.append(((start.x, start.y), (end.x, end.y), bulge_area))
    return area + ring_area(loose)


def ring_area(loose: list[tuple[tuple[float, float], tuple[float, float], float]]) -> float:
    """The area of one ring given as chords, each with the area of the circular segment beyond it."""
    if not loose:
        return 0.0
    here, rest, area = loose[0][0], list(loose), 0.0
    while rest:
        chord = min(rest, key=lambda one: min(math.dist(one[0], here), math.dist(one[1], here)))
        rest.remove(chord)
        forward = math.dist(chord[0], here) <= math.dist(chord[1], here)
        start, end = chord[:2] if forward else (chord[1], chord[0])
        assert math.dist(start, here) < 1e-6, "the ring as read has a gap"
        area += (start[0] * end[1] - end[0] * start[1]) / 2 + (chord[2] if forward else -chord[2])
        here = end
    return abs(area)


@pytest.mark.parametrize(
    "curve",
    [
        circle((3.0, -4.0), 6.6),
        from_points([(0, 0), (90, 0), (90, 28), (0, 28)]),
        made_example.strap().outline,
        made_example.knob().outline,
        moved(made_example.knob().outline, x=1000.123456, y=-77.7, turn_deg=13.7),
    ],
    ids=["circle", "rectangle", "obround", "lobes", "lobes turned and shifted"],
)
def test_area_survives(curve: Curve) -> None:
    """A part opened in another program encloses the area it was drawn with, to 1e-6 of a square mm."""
    back = read(dxf([Layer(name="OUTLINE", curves=(curve,))]))
    assert signed_area(back.modelspace()) == pytest.approx(exact_area(curve), abs=2e-6)


def exact_area(curve: Curve) -> float:
    """Green's theorem on the curve itself: chords, and for every arc its circular segment."""
    total = 0.0
    for one in curve.segments:
        total += (one.start[0] * one.end[1] - one.end[0] * one.start[1]) / 2
        total += one.radius**2 / 2 * (one.sweep - math.sin(one.sweep))
    return abs(total)


def test_area_agrees_with_a_geometry_library() -> None:
    """The knob in the file and the knob cut from fine chords are the same size."""
    outline = made_example.knob().outline
    back = read(dxf([Layer(name="OUTLINE", curves=(outline,))]))
    assert signed_area(back.modelspace()) == pytest.approx(polygon((outline,), FINE).area, abs=1e-3)


def ends(entity: DXFGraphic) -> tuple[Vec3, Vec3]:
    if isinstance(entity, Arc):
        return entity.start_point, entity.end_point
    return entity.dxf.start, entity.dxf.end


def test_points_survive_to_a_millionth() -> None:
    """Every corner comes back within a millionth of a millimetre of where it was."""
    outline = moved(made_example.strap().outline, x=123.456789, y=-9.87654321, turn_deg=31.0)
    back = read(dxf([Layer(name="OUTLINE", curves=(outline,))]))
    seen = [(point.x, point.y) for entity in back.modelspace() for point in ends(entity)]
    corners = [segment.start for segment in outline.segments]
    assert max(min(math.dist(corner, point) for point in seen) for corner in corners) < 1e-6


def test_states_millimetres() -> None:
    """The file's header says millimetres, so nobody needs to guess its scale."""
    back = read(dxf([Layer(name="OUTLINE", curves=(circle((0, 0), 10),))]))
    assert back.units == units.MM


def test_needs_no_repair() -> None:
    """A strict reader finds nothing to mend: every table, handle and owner it asks for is there."""
    knob = made_example.knob()
    text = dxf(
        [
            Layer(name="OUTLINE", curves=(knob.outline,)),
            Layer(name="THROUGH", curves=knob.features[1].curves),
        ],
        ["knob, 44 mm"],
    )
    audit = read(text).audit()
    assert not audit.errors
    assert not audit.fixes


def test_handles_are_unique() -> None:
    """No two things in the file share a handle."""
    lines = dxf([Layer(name="OUTLINE", curves=(made_example.knob().outline,))]).split("\r\n")
    handles = [value for code, value in zip(lines[::2], lines[1::2], strict=False) if code in ("5", "105")]
    body = handles[1:]  # the first is the header's seed
    assert len(body) == len(set(body)) > 20


def test_layers_hold_their_own_curves() -> None:
    """What goes through, what is a recess and what is outline stand on layers of their own."""
    knob = made_example.knob()
    back = read(
        dxf(
            [
                Layer(name="OUTLINE", curves=(knob.outline,)),
                Layer(name="RECESS_4.35MM", curves=knob.features[0].curves),
                Layer(name="THROUGH", curves=knob.features[1].curves),
            ]
        )
    )
    space = back.modelspace()
    assert [one.dxftype() for one in space.query('*[layer=="THROUGH"]')] == ["CIRCLE"]
    assert [one.dxftype() for one in space.query('*[layer=="RECESS_4.35MM"]')] == ["LINE"] * 6
    assert {one.dxftype() for one in space.query('*[layer=="OUTLINE"]')} == {"ARC"}


def test_a_remark_cannot_add_a_tag() -> None:
    """A part's name with line breaks in it stays one remark."""
    text = dxf([Layer(name="OUTLINE", curves=(circle((0, 0), 10),))], ["knob\r\n0\r\nEOF\n"])
    assert len(read(text).modelspace()) == 1


def test_is_plain_ascii() -> None:
    """The oldest reader can open it: no byte above 127, whatever the part is called."""
    assert dxf([], ["Schraubknöpfe ⌀44"]).isascii()


@given(
    st.floats(-400, 400),
    st.floats(-400, 400),
    st.floats(0, 360),
    st.booleans(),
)
def test_arcs_keep_their_way_round(x: float, y: float, turn: float, ccw: bool) -> None:
    """A half round is a bulge or a bite, and stays what it was wherever the part is laid."""
    bulge = Segment((10.0, 0.0), (10.0, 8.0), (10.0, 4.0), ccw=ccw)
    side = Segment((10.0, 8.0), (0.0, 8.0)), Segment((0.0, 8.0), (0.0, 0.0)), Segment((0.0, 0.0), (10.0, 0.0))
    curve = moved(Curve((bulge, *side)), x=x, y=y, turn_deg=turn)
    half_disc = math.pi * 16 / 2
    back = read(dxf([Layer(name="OUTLINE", curves=(curve,))]))
    assert signed_area(back.modelspace()) == pytest.approx(80 + (half_disc if ccw else -half_disc), abs=2e-6)


def test_extent_covers_the_part() -> None:
    """The extent in the header is the part's own, so that a viewer opens on it."""
    strap = made_example.strap().outline
    back = read(dxf([Layer(name="OUTLINE", curves=(strap,))]))
    low, high = back.header["$EXTMIN"], back.header["$EXTMAX"]
    assert (*low[:2], *high[:2]) == pytest.approx(shapely.box(-45, -14, 45, 14).bounds, abs=2e-3)
