"""What makes laying out quick changes nothing: the same places, to the last bit."""

import random
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import MultiPolygon, box

from good_programs import varied
from plain.laying import block_plainly, cells_plainly, first_free_plainly, whole_tries
from proveout.draft import lay_order
from proveout.job.read import read_job
from proveout.kernels.place import block, first_free
from proveout.layout import lay as laying
from proveout.layout.lay import LayOrder, lay
from proveout.layout.masks import cells_of
from proveout.reckon import reckon

EXAMPLES = Path(__file__).parents[1] / "examples"
ON_CENTRES = st.integers(-8, 48).map(lambda half: half / 2)  # of cells 1 mm wide: edges and centres meet
ANYWHERE = st.floats(-4, 24)


@settings(max_examples=150, deadline=None)
@given(st.lists(st.tuples(ON_CENTRES | ANYWHERE, ON_CENTRES | ANYWHERE), min_size=3, max_size=9))
def test_cells_are_the_centres_that_a_general_library_finds_inside(points: list[tuple[float, float]]) -> None:
    """Holes, crossing rings, edges along a row of centres, corners on a centre: never a cell more or less."""
    ring = shapely.Polygon(points)
    hull = shapely.convex_hull(shapely.MultiPoint(points))
    for shape in (ring, hull.difference(box(4, 4, 9.5, 9.25)), hull.buffer(1.3)):
        if not shape.area:  # the hull of points in a row is a line
            continue
        assert (
            cells_of(shape, 1.0, (0.0, 0.0), 20, 18) == cells_plainly(shape, 1.0, (0.0, 0.0), 20, 18)
        ).all()


def test_cells_of_several_pieces_are_those_of_all() -> None:
    """A keep-out in pieces, one of them over the sheet's edge, one off the sheet; and none at all."""
    shape = MultiPolygon([box(-3, 2, 4.5, 7), box(10.2, 3.1, 14.9, 12.5), box(40, 40, 50, 50)])
    found = cells_of(shape, 0.7, (0.1, 0.3), 25, 19)
    assert (found == cells_plainly(shape, 0.7, (0.1, 0.3), 25, 19)).all()
    assert found.sum() > 50
    assert not cells_of(shapely.Polygon(), 0.7, (0.0, 0.0), 25, 19).any()


@pytest.mark.parametrize("seed", range(20))
def test_a_mask_is_placed_and_blocked_as_cell_by_cell(seed: int) -> None:
    """The first free place and the count of blocked cells are those of plain loops, on scattered maps."""
    chance = np.random.default_rng(seed)
    spans = np.array([(0, 1, 3), (0, 5, 6), (1, 0, 6), (2, 2, 4)], dtype=np.int32)
    kerf = np.array([(0, 0, 2)], dtype=np.int32)
    cells, metal = (chance.random((14, 30)) < share for share in (0.08, 0.1))
    counts, metals = (
        np.pad(np.cumsum(one, axis=1), ((0, 0), (1, 0))).astype(np.int32) for one in (cells, metal)
    )
    plain = counts.copy()
    at = (0, 0)
    for _ in range(4):
        asked = spans, 6, 3, metals, kerf, 2, 1, *at
        at = first_free(counts, *asked)
        assert at == first_free_plainly(plain, *asked)
        if at[0] < 0:
            break
        block(counts, spans, *at)
        block_plainly(plain, spans, *at)
        assert (counts == plain).all()


def orders() -> list[LayOrder]:
    """What there is to lay in the examples, on other sheets, in other numbers, some of which don't fit."""
    dice = random.Random(3)
    found = []
    for name in ("clamp-kit", "inch-knobs", "drawn-bracket") * 3:
        _, job = varied(read_job(EXAMPLES / name / "job.toml"), dice)
        wanted = tuple(replace(one, count=one.count + dice.randint(0, 8)) for one in job.wanted)
        size = (job.stock.size[0] * dice.uniform(0.7, 1.4), job.stock.size[1] * dice.uniform(0.8, 1.2))
        job = replace(job, wanted=wanted, stock=replace(job.stock, size=size))
        reckoned = reckon(job)
        found.append(lay_order(job, reckoned.shaped, reckoned.held))
    return found


def test_layouts_are_those_of_whole_tries_with_plain_masks(monkeypatch: pytest.MonkeyPatch) -> None:
    """Nine varied sheets, full and too full: every place, length and refusal is the same."""
    every = orders()
    quick = [lay(order) for order in every]
    monkeypatch.setattr(laying, "_lay_in", whole_tries(laying._lay_in))
    monkeypatch.setattr(laying, "block", block_plainly)
    for where in ("proveout.layout.lay.cells_of", "proveout.layout.masks.cells_of"):
        monkeypatch.setattr(where, cells_plainly)
    assert [lay(order) for order in every] == quick
    assert 1 <= sum(bool(one.findings) for one in quick) <= 6
