"""The drawings of parts that a pack holds, read back by our readers and by others'."""

import io
from functools import cache
from pathlib import Path

import pytest
import shapely
import svgelements
from ezdxf.filemanagement import read as read_drawing
from ezdxf.path import make_path
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from proveout.curve import Curve, Segment, circle, moved, polygon
from proveout.drawing.dxf import Layer, dxf
from proveout.drawing.layered_svg import layered_svg
from proveout.drawing.loops import Loop
from proveout.drawing.opened import opened
from proveout.job.read import read_job
from proveout.pack.drawings import counted_from, part_layers
from proveout.pack.pack import pack_files
from proveout.parts.knob import deepest_scallop, lobed_outline
from proveout.parts.obround import obround
from proveout.plan import make

EXAMPLES = Path(__file__).parents[1] / "examples"
SAME = 1e-6  # mm
FINE = 1e-4  # mm, chord error of comparisons by area


@cache
def packed(example: str) -> tuple[dict[str, bytes], dict[str, list[Layer]]]:
    """The files of an example's pack, and the layers of its parts by their names."""
    made = make(read_job(EXAMPLES / example / "job.toml"))
    parts = {placed.part.name: placed.part for placed in made.placed}
    return pack_files(made), {name: part_layers(part, counted_from(made.job)) for name, part in parts.items()}


def stem(name: str) -> str:
    """As the pack spells a part's file."""
    return f"parts/{name.replace(' ', '-')}"


def agree(found: tuple[Loop, ...], layers: list[Layer]) -> None:
    """Each curve of each layer has its like among the loops: same layer, every corner and arc in place."""
    wanted = [(layer.name, curve) for layer in layers for curve in layer.curves]
    assert len(found) == len(wanted)
    left = list(found)
    for name, curve in wanted:
        alike = min(
            (one for one in left if one.layer == name),
            key=lambda one: shapely.hausdorff_distance(one.region.exterior, polygon((curve,)).exterior),
        )
        left.remove(alike)
        assert farthest(curve, alike.curve) < SAME
        assert farthest(alike.curve, curve) < SAME


def farthest(one: Curve, other: Curve) -> float:
    """How far corners and middles of one curve lie off the other, exactly."""
    points = [segment.at(share) for segment in one.segments for share in (0.0, 0.31, 0.5)]
    return max(min(_off(point, segment) for segment in other.segments) for point in points)


def _off(point: tuple[float, float], segment: Segment) -> float:
    spot = shapely.Point(point)
    if segment.centre is None:
        return float(shapely.LineString([segment.start, segment.end]).distance(spot))
    off = abs(spot.distance(shapely.Point(segment.centre)) - segment.radius)
    sweep = [segment.at(k / 64) for k in range(65)]
    near = shapely.LineString(sweep).distance(spot) < 0.01 + segment.radius * 0.01
    return float(off) if near else float("inf")


@pytest.mark.parametrize("example", ["clamp-kit", "drawn-bracket", "inch-knobs"])
@pytest.mark.parametrize("kind", ["dxf", "svg"])
def test_our_reader_gets_back_what_was_written(tmp_path: Path, example: str, kind: str) -> None:
    """Every curve of every part on its layer; the unit needs nobody to state it."""
    files, parts = packed(example)
    for name, layers in parts.items():
        file = tmp_path / f"part.{kind}"
        file.write_bytes(files[f"{stem(name)}.{kind}"])
        found = opened(file)
        assert not found.doubts
        agree(found.loops, layers)


@pytest.mark.parametrize("example", ["clamp-kit", "drawn-bracket", "inch-knobs"])
def test_other_libraries_see_the_same_areas(example: str) -> None:
    """ezdxf's and svgelements' own curves, cut fine, enclose what ours do; extents to a micrometre."""
    files, parts = packed(example)
    for name, layers in parts.items():
        ours = shapely.union_all([polygon((one,), FINE) for layer in layers for one in layer.curves])
        text = files[f"{stem(name)}.dxf"].decode().replace("\r\n", "\n")
        entities = read_drawing(io.StringIO(text)).modelspace()
        lines = [
            shapely.LineString([(p.x, p.y) for p in make_path(one).flattening(FINE)]) for one in entities
        ]
        theirs = shapely.union_all(list(shapely.polygonize(lines_snapped(lines)).geoms))
        assert theirs.symmetric_difference(ours).area < 1e-4 * ours.area
        picture = svgelements.SVG.parse(io.BytesIO(files[f"{stem(name)}.svg"]), ppi=25.4, reify=True)
        boxes = [one.bbox() for one in picture.elements() if isinstance(one, svgelements.Shape)]
        width = max(box[2] for box in boxes) - min(box[0] for box in boxes)
        height = max(box[3] for box in boxes) - min(box[1] for box in boxes)
        left, front, right, back = ours.bounds
        assert (width, height) == pytest.approx((right - left, back - front), abs=1e-3)


def lines_snapped(lines: list[shapely.LineString]) -> list[shapely.LineString]:
    """Ends that differ by rounding made one, so that rings close."""
    return [shapely.set_precision(one, 1e-5) for one in lines]


@settings(max_examples=25, suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(st.floats(20, 90), st.integers(3, 12), st.floats(0.05, 0.9), st.floats(-500, 500), st.floats(0, 360))
def test_any_knob_goes_out_and_comes_back(
    tmp_path: Path, size: float, lobes: int, depth: float, shift: float, turn: float
) -> None:
    """Lobes, a hole and a slot, anywhere and turned anyhow, through both kinds of file."""

    rim = lobed_outline(size, lobes, depth * deepest_scallop(size, lobes))
    inside = [circle((size / 10, 0.0), size / 12), obround(size / 5, size / 16, (-size / 6, 0.0))]
    layers = [
        Layer(name=name, curves=tuple(moved(one, x=shift, y=-shift / 3, turn_deg=turn) for one in curves))
        for name, curves in (("OUTLINE", [rim]), ("THROUGH", inside))
    ]
    for kind, text in (("dxf", dxf(layers)), ("svg", layered_svg(layers))):
        file = tmp_path / f"part.{kind}"
        file.write_text(text, newline="")
        agree(opened(file).loops, layers)
