"""Which pieces come loose, when, and what touches them: against a flood fill after every move."""

import numpy as np
import numpy.typing as npt
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from plain.pieces import Parting, loose_after, partings_of_waste
from proveout.job.records import Cutter
from proveout.motion import Motion, MotionBuilder
from proveout.proof.removal import fresh_field, remove
from proveout.proof.separation import Piece, Pieces, cells_of, separate, touched_at
from proveout.proof.verdict import HeightField

MILL = Cutter(
    number=1,
    name="3 mm two-flute",
    kind="flat",
    diameter=3.0,
    flutes=2,
    flute_length=12.0,
    stick_out=20.0,
    shank_diameter=3.0,
    centre_cutting=True,
    spiral="up",
    carbide=True,
)
TOP = 6.0

Mask = npt.NDArray[np.bool_]


def a_sheet() -> HeightField:
    return fresh_field((60.0, 40.0), TOP, cell=0.25, margin=3.0)


def stock(field: HeightField) -> Mask:
    return field.heights > 0


def clamped_at_the_left(field: HeightField) -> Mask:
    held = np.zeros(field.heights.shape, dtype=bool)
    held[:, :20] = stock(field)[:, :20]
    return held


def pieces_of(motion: Motion, *, crumb: float = 1.0) -> Pieces:
    field = a_sheet()
    cut = remove(field, motion, [MILL])
    return separate(
        cut.through,
        stock(field),
        clamped_at_the_left(field),
        cell=field.cell,
        origin=field.origin,
        crumb=crumb,
    )


def touches(motion: Motion) -> list[int]:
    return [int(move) for move in touched_at(pieces_of(motion), motion, [MILL], a_sheet(), top=TOP)]


def around(builder: MotionBuilder, *, z: float, tab: float | None = None) -> None:
    """A rectangle of 16 x 12 mm about a part of 13 x 9, from its left side's middle; a tab on its right."""
    x, y = 30.0, 14.0
    builder.line_to((x, y + 6, z))
    builder.line_to((x, y, z))
    builder.line_to((x + 16, y, z))
    if tab is not None:
        for corner in ((y + 4, z), (y + 4, tab), (y + 8, tab), (y + 8, z)):
            builder.line_to((x + 16, *corner))
    for corner in ((x + 16, y + 12), (x, y + 12), (x, y + 6)):
        builder.line_to((*corner, z))


def a_program() -> MotionBuilder:
    builder = MotionBuilder((30.0, 20.0, 12.0))
    builder.cutter, builder.feed = 1, 20.0
    return builder


# --- when a piece parts -------------------------------------------------------------------------------------


def test_a_part_parts_when_its_outline_closes() -> None:
    """A rectangle cut through in one pass comes free with the last side, and is as large as it was drawn."""
    builder = a_program()
    around(builder, z=0.0)
    (piece,) = pieces_of(builder.motion()).pieces
    assert piece.freed_at == 5
    assert piece.area == pytest.approx(13 * 9, rel=0.03)
    assert 31.5 < piece.at[0] < 44.5 and 15.5 < piece.at[1] < 24.5


def test_a_skin_holds() -> None:
    """A pass that leaves 0.2 mm of skin frees nothing; the pass that cuts the skin does."""
    builder = a_program()
    around(builder, z=0.2)
    assert pieces_of(builder.motion()).pieces == ()
    around(builder, z=0.0)
    assert [piece.freed_at for piece in pieces_of(builder.motion()).pieces] == [11]


def test_a_tab_holds_until_it_is_cut() -> None:
    """A tab of 2 mm height holds the part; the move that takes it away frees the part."""
    builder = a_program()
    around(builder, z=0.0, tab=2.0)
    assert pieces_of(builder.motion()).pieces == ()
    before = len(builder)
    builder.rapid((46, 18, 12))
    builder.line_to((46, 18, 0))
    builder.line_to((46, 22, 0))
    (piece,) = pieces_of(builder.motion()).pieces
    assert piece.freed_at == before + 2


def test_a_part_under_a_clamp_is_held() -> None:
    """Whatever is cut around it, a piece that a clamp presses on is not loose; the rest of the sheet is."""
    builder = MotionBuilder((15, -2, 0))
    builder.cutter, builder.feed = 1, 20.0
    builder.line_to((15, 42, 0))
    (piece,) = pieces_of(builder.motion()).pieces
    assert piece.freed_at == 0
    assert piece.at[0] > 16.5


def test_with_no_clamp_nothing_is_ever_held() -> None:
    """A sheet without a clamp is one loose piece that never parted from anything."""
    field = a_sheet()
    uncut = np.full(field.heights.shape, -1, dtype=np.int32)
    nothing = np.zeros(field.heights.shape, dtype=bool)
    found = separate(uncut, stock(field), nothing, cell=field.cell, origin=field.origin)
    assert [(piece.freed_at, piece.area) for piece in found.pieces] == [(-1, 60 * 40)]


def test_two_cells_that_meet_at_a_corner_do_not_hold() -> None:
    """Contact at a corner is no link: wood has no strength in a point."""
    uncut = np.full((2, 2), -1, dtype=np.int32)
    inside = np.array([[True, False], [False, True]])
    held = np.array([[True, False], [False, False]])
    found = separate(uncut, inside, held, cell=1.0, origin=(0.0, 0.0))
    assert [piece.at for piece in found.pieces] == [(1.5, 1.5)]


def test_a_slug_that_is_milled_away_later_was_loose_meanwhile() -> None:
    """A through pocket begun at its rim sets its middle free; the move that mills it then is named."""
    builder = a_program()
    around(builder, z=0.0)
    for y in (16.5, 18.5, 20.5, 22.5, 24.5):
        builder.line_to((30, y, 0))
        builder.line_to((46, y, 0))
        builder.line_to((30, y, 0))
    (slug,) = pieces_of(builder.motion()).pieces
    assert (slug.label, slug.freed_at, slug.cut_at) == (0, 5, 7)
    assert slug.area == pytest.approx(13 * 9, rel=0.03)


def test_a_piece_smaller_than_a_chip_is_not_reported_when_it_is_milled_away() -> None:
    """With chips set at 200 mm2, the same slug of 117 mm2 goes unsaid."""
    builder = a_program()
    around(builder, z=0.0)
    for y in (16.5, 18.5, 20.5, 22.5, 24.5):
        builder.line_to((30, y, 0))
        builder.line_to((46, y, 0))
        builder.line_to((30, y, 0))
    assert pieces_of(builder.motion(), crumb=200.0).pieces == ()


shapes = st.tuples(st.integers(1, 9), st.integers(1, 9))
MOVES = 7


@st.composite
def cut_grids(draw: st.DrawFn) -> tuple[npt.NDArray[np.int32], Mask, Mask]:
    shape = draw(shapes)
    through = draw(arrays(np.int32, shape, elements=st.integers(-3, MOVES)))
    inside = draw(arrays(np.bool_, shape, elements=st.sampled_from([True, True, True, False])))
    held = draw(arrays(np.bool_, shape, elements=st.sampled_from([False, False, False, False, True])))
    return np.maximum(through, 0), inside, held


@settings(max_examples=200, deadline=None, derandomize=True)
@given(grid=cut_grids())
def test_partings_match_a_flood_fill_after_every_move(grid: tuple[npt.NDArray[np.int32], Mask, Mask]) -> None:
    """Piece for piece and move for move, what parts is what a fresh flood fill finds loose."""
    through, inside, held = grid
    found = separate(through, inside, held, cell=1.0, origin=(0.0, 0.0), crumb=1.0)
    loose = [loose_after(through, inside, held, move) for move in range(-1, MOVES)]
    assert np.array_equal(found.labels > 0, loose[-1])
    for piece in found.pieces:
        if piece.label:
            cells = cells_of(found, piece)
            first = next(step for step, mask in enumerate(loose) if mask[cells].all())
            assert piece.freed_at == first - 1
            assert first == 0 or not loose[first - 1][cells].any()
            assert cells[int(piece.at[1]), int(piece.at[0])]
            assert piece.area == cells.sum()
    waste = [Parting(p.freed_at, round(p.area), p.cut_at) for p in found.pieces if not p.label]
    assert sorted(waste) == sorted(partings_of_waste(through, inside, held, MOVES))


# --- what touches it afterwards -----------------------------------------------------------------------------


def test_leaving_the_cut_beside_a_loose_part_touches_it() -> None:
    """With no tabs, the cutter still stands beside the part when it comes free: lifting out touches it."""
    builder = a_program()
    around(builder, z=0.0)
    builder.rapid((30, 20, 12))
    assert touches(builder.motion()) == [6]


def test_a_part_that_is_left_alone_is_not_touched() -> None:
    """A sheet parted by its last move is touched by nothing, nor by rapids above it."""
    builder = MotionBuilder((15, 42, 0))
    builder.cutter, builder.feed = 1, 20.0
    builder.line_to((15, -4, 0))
    builder.line_to((15, -10, 0))
    builder.rapid((15, -10, 12))
    builder.rapid((50, 20, 12))
    builder.rapid((50, 20, TOP))
    assert touches(builder.motion()) == [-1]


def test_a_neighbour_cut_at_a_distance_does_not_touch() -> None:
    """Once a part is loose, a cut 2 mm off its edge does not touch it; one up to its edge does."""
    builder = MotionBuilder((15, 42, 0))
    builder.cutter, builder.feed = 1, 20.0
    builder.line_to((15, -10, 0))
    builder.line_to((11.4, -10, 0))
    builder.line_to((11.4, 30, 0))  # its wall at 12.9; the loose part begins at 16.5
    builder.line_to((14.99, 30, 0))
    motion = builder.motion()
    loose = [piece.at[0] > 16.5 for piece in pieces_of(motion).pieces].index(True)
    assert touches(motion)[loose] == 3


@pytest.mark.parametrize("aside", [0.0, 0.03, 0.06, 0.11, 0.15, 0.19, 0.23])
@pytest.mark.parametrize("lean", [0.0, 3.0])
def test_going_back_along_the_kerf_touches_wherever_it_lies_on_the_grid(aside: float, lean: float) -> None:
    """A second pass in the same kerf rubs on what the first one parted, along the cells or across them."""
    builder = MotionBuilder((15 + aside, 42, 0))
    builder.cutter, builder.feed = 1, 20.0
    builder.line_to((15 + aside + lean, -4, 0))
    builder.line_to((15 + aside, 42, 0))
    assert touches(builder.motion()) == [1]


def test_a_slanted_rapid_touches_only_where_it_is_low() -> None:
    """A rapid that climbs above the stock before it comes over the loose part does not touch it."""
    builder = MotionBuilder((15, 42, 0))
    builder.cutter, builder.feed = 1, 20.0
    builder.line_to((15, -10, 0))
    builder.line_to((5, -10, 0))
    builder.rapid((-40, -10, 0))
    builder.rapid((50, 20, 24))  # 14 mm up when it comes near the part, whose edge is at 16.5
    assert touches(builder.motion()) == [-1]
    builder.rapid((50, 30, 5))
    assert touches(builder.motion()) == [4]


def test_what_came_near_before_a_piece_parted_does_not_count() -> None:
    """Each of two parts is touched only by what comes after its own parting, not by its last cut."""
    builder = MotionBuilder((45, 42, 0))
    builder.cutter, builder.feed = 1, 20.0
    builder.line_to((45, -10, 0))
    builder.line_to((30, -10, 0))
    builder.line_to((30, 42, 0))
    builder.rapid((30, 42, 12))
    motion = builder.motion()
    found = pieces_of(motion)
    assert [(piece.freed_at, piece.at[0] > 45) for piece in found.pieces] == [(2, False), (0, True)]
    assert touches(motion) == [-1, -1]


def test_shapes_that_differ_are_refused() -> None:
    """A mask of another grid is our own mistake, and is said so at once."""
    with pytest.raises(ValueError, match="shapes differ"):
        separate(
            np.zeros((2, 2), dtype=np.int32),
            np.ones((2, 3), dtype=bool),
            np.ones((2, 2), dtype=bool),
            cell=1.0,
            origin=(0.0, 0.0),
        )


def test_the_cells_of_waste_are_none() -> None:
    """A piece that is milled away has no cells left to show."""
    gone = Piece(label=0, freed_at=1, cut_at=2, area=4.0, at=(0.0, 0.0))
    found = Pieces(pieces=(gone,), labels=np.zeros((2, 2), dtype=np.int32))
    assert not cells_of(found, gone).any()
