"""The lowest height that a cut may reach, cell by cell."""

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon, box

from proof_bench import disc, hole, part, recess, setup
from proveout.proof.allowed import allowed_heights, covered, lower_walls, shrunk, spans, window
from proveout.proof.intent import GONE
from proveout.proof.removal import fresh_field
from proveout.proof.verdict import HeightField
from proveout.setup import Tab

FIELD = fresh_field((60.0, 40.0), 12.0, cell=0.1, margin=3.0)


def at(heights: object, x: float, y: float, field: HeightField = FIELD) -> float:
    """The value of the cell over which a point lies."""
    column, row = (
        math.floor((value - origin) / field.cell) for value, origin in zip((x, y), field.origin, strict=True)
    )
    return float(heights[row, column])  # type: ignore[index]  # an array


corners = st.lists(
    st.tuples(*[st.integers(-60, 700).map(lambda tenth: tenth / 10)] * 2), min_size=3, max_size=8
)


@settings(max_examples=60, deadline=None)
@given(corners, st.floats(1, 8))
def test_cells_of_a_region_are_those_whose_centres_shapely_finds_in_it(
    points: list[tuple[float, float]], radius: float
) -> None:
    """Which cells a region covers is what a general library says of their centres, holes included."""
    region = shapely.convex_hull(shapely.MultiPoint(points)).difference(disc(30, 20, radius))
    if not isinstance(region, Polygon) or region.is_empty:
        return
    field = fresh_field((60.0, 40.0), 12.0, cell=0.5, margin=3.0)
    block = window(field, region, cells=1)
    mine = np.zeros(field.heights.shape, dtype=bool)
    mine[block] = covered(field, region, block)
    rows, columns = np.indices(field.heights.shape)
    x = field.origin[0] + (columns + 0.5) * field.cell
    y = field.origin[1] + (rows + 0.5) * field.cell
    theirs = shapely.contains_xy(region, x, y)
    doubtful = shapely.distance(shapely.points(x, y), region.boundary) < 1e-9
    assert (mine == theirs)[~doubtful].all()
    assert sum((spans(field, region).end - spans(field, region).first).tolist()) == mine.sum()


def test_parts_stand_features_end_at_their_floors_and_waste_is_free() -> None:
    """A part may not be cut, a recess down to its floor less its tolerance, a hole and the waste anywhere."""
    knob = part(disc(30, 20, 15), recess(disc(30, 20, 8), 6.0), hole(disc(30, 20, 3)))
    allowed = allowed_heights(setup(parts=[knob]), FIELD)
    assert allowed.dtype == np.float32
    assert at(allowed, 20, 20) == 12.0
    assert at(allowed, 25, 20) == pytest.approx(5.99)
    assert at(allowed, 30, 20) == at(allowed, 5, 5) == at(allowed, -2, -2) == np.float32(GONE)


def test_cells_under_a_wall_take_the_lower_side() -> None:
    """A cell whose centre lies within half its diagonal of a wall isn't judged by its floor."""
    bar = part(box(10.04, 10, 50, 30))
    allowed = allowed_heights(setup(parts=[bar]), FIELD)
    assert at(allowed, 10.09, 20) == np.float32(GONE)  # centre at 10.05, 0.01 mm inside the wall
    assert at(allowed, 10.25, 20) == 12.0


def test_a_bridge_stands_over_the_kerf_beside_its_part() -> None:
    """Beside the part a bridge may not be cut below its height; inside the part nothing changes."""
    bar = part(box(10, 10, 50, 30))
    bridge = Tab(part="knob", at=(30, 10), length=6.0, height=3.0)
    allowed = allowed_heights(setup(parts=[bar], tabs=[bridge]), FIELD)
    assert at(allowed, 30, 8.5) == pytest.approx(2.9)
    assert at(allowed, 30, 6.5) == at(allowed, 34, 8.5) == np.float32(GONE)
    assert at(allowed, 30, 11) == 12.0


def test_lowering_and_shrinking_match_the_filters_of_a_general_library() -> None:
    """Taking the lowest neighbour, and keeping what is wholly surrounded, are the usual minimum filters."""
    ndimage = pytest.importorskip("scipy.ndimage")
    draw = np.random.default_rng(7)
    heights = draw.integers(0, 9, (23, 31)).astype(np.float32)
    mask = draw.random((23, 31)) < 0.9
    expected = ndimage.minimum_filter(heights, size=3, mode="nearest")
    lower_walls(
        heights, window(FIELD, box(-2.9, -2.9, -0.05, -0.8))._replace(rows=slice(0, 23), columns=slice(0, 31))
    )
    assert (heights == expected).all()
    assert (shrunk(mask) == ndimage.binary_erosion(mask, np.ones((3, 3)))).all()
