"""Loose pieces of whole programs, against the stock filled anew after every single move.

The prover cuts all moves at once, keeps the first move that goes through each cell, and joins cells backward
in time. Here every move is cut by itself, what stands is read from the heights, and scipy's flood fill tells
what hangs on a clamp: nothing of the prover's account of time is used.
"""

import math
from dataclasses import fields

import numpy as np
import numpy.typing as npt
from hypothesis import event, given, settings
from hypothesis import strategies as st
from scipy import ndimage

from plain.pieces import Parting, partings_of_waste
from proveout.job.records import Cutter
from proveout.motion import Motion, MotionBuilder
from proveout.proof.removal import fresh_field, remove
from proveout.proof.separation import Pieces, cells_of, separate
from proveout.proof.verdict import HeightField

Mask = npt.NDArray[np.bool_]

WIDTH, DEPTH, TOP, CELL = 30.0, 20.0, 6.0, 0.5
MILL = Cutter(
    number=1,
    name="2 mm two-flute",
    kind="flat",
    diameter=2.0,
    flutes=2,
    flute_length=12.0,
    stick_out=20.0,
    shank_diameter=2.0,
    centre_cutting=True,
    spiral="up",
    carbide=True,
)
SAFE = TOP + 4

x_places, y_places = st.integers(-2, 32), st.integers(-2, 22)
depths = st.sampled_from([0.0, 0.0, 0.0, 2.0])


@st.composite
def across(draw: st.DrawFn, builder: MotionBuilder) -> None:
    """A cut right across the sheet, or as far as its middle."""
    z = draw(depths)
    if draw(st.booleans()):
        ways = [(draw(x_places), -2), (draw(x_places), draw(st.sampled_from([22, 22, 10])))]
    else:
        ways = [(-2, draw(y_places)), (draw(st.sampled_from([32, 32, 15])), draw(y_places))]
    builder.rapid((*ways[0], SAFE))
    builder.line_to((*ways[0], z))
    builder.line_to((*ways[1], z))
    builder.rapid((*ways[1], SAFE))


@st.composite
def ring(draw: st.DrawFn, builder: MotionBuilder) -> None:
    """A circle, whole or nearly so, in one to three arcs; it may go down as it goes round."""
    x, y, radius = draw(st.integers(6, 24)), draw(st.integers(6, 14)), draw(st.sampled_from([1.5, 3, 4, 6]))
    sweep = draw(st.sampled_from([math.tau, math.tau, 5.0, 3.5])) * draw(st.sampled_from([1, -1]))
    count, z, high = draw(st.integers(1, 3)), draw(depths), draw(st.sampled_from([0.0, 0.0, 3.0]))
    builder.rapid((x + radius, y, SAFE))
    builder.line_to((x + radius, y, z + high))
    for number in range(1, count + 1):
        angle = sweep * number / count
        to = (x + radius * math.cos(angle), y + radius * math.sin(angle), z + high * (1 - number / count))
        builder.arc_to(to, (x, y), sweep / count)
    builder.rapid((builder.at[0], builder.at[1], SAFE))


@st.composite
def slug(draw: st.DrawFn, builder: MotionBuilder) -> None:
    """A disc cut free, then milled away row by row, all of it or but for a bit that stays."""
    x, y, rows = draw(st.integers(6, 24)), draw(st.integers(6, 14)), draw(st.sampled_from([3, 6, 6]))
    builder.rapid((x + 4, y, SAFE))
    builder.line_to((x + 4, y, 0.0))
    builder.arc_to((x + 4, y, 0.0), (x, y), math.tau)
    for row in range(rows):
        side = 4 if row % 2 == 0 else -4
        builder.line_to((x + side, y - 4 + 1.6 * row, 0.0))
        builder.line_to((x - side, y - 4 + 1.6 * row, 0.0))
    builder.rapid((builder.at[0], builder.at[1], SAFE))


@st.composite
def programs(draw: st.DrawFn) -> Motion:
    builder = MotionBuilder((0.0, 0.0, SAFE))
    builder.cutter, builder.feed = 1, 20.0
    for stretch in draw(st.lists(st.sampled_from([across, ring, ring, slug]), min_size=2, max_size=6)):
        draw(stretch(builder))
    return builder.motion()


@st.composite
def clamps(draw: st.DrawFn) -> Mask:
    """Where one to three clamps press, each a small rectangle anywhere on the sheet."""
    field = a_sheet()
    held = np.zeros(field.heights.shape, dtype=np.bool_)
    for _ in range(draw(st.integers(1, 3))):
        row, column = draw(st.integers(0, 34)), draw(st.integers(0, 54))
        held[row + 4 : row + 10, column + 4 : column + 10] = True
    return held & (field.heights > 0)


def a_sheet() -> HeightField:
    return fresh_field((WIDTH, DEPTH), TOP, cell=CELL, margin=2.0)


def one_move(motion: Motion, move: int) -> Motion:
    return Motion(**{one.name: getattr(motion, one.name)[move : move + 1].copy() for one in fields(Motion)})


def standing_after_each(motion: Motion) -> list[Mask]:
    """Where stock stands before the first move and after each, every move cut by itself."""
    field = a_sheet()
    out: list[Mask] = [field.heights > 0]
    for move in range(len(motion)):
        field = remove(field, one_move(motion, move), [MILL]).field
        out.append(out[0] & (field.heights > 0))
    return out


def loose_among(standing: Mask, held: Mask) -> Mask:
    bodies, _ = ndimage.label(standing)
    return standing & ~np.isin(bodies, np.unique(bodies[held & standing]))


def found_in(motion: Motion, held: Mask) -> Pieces:
    field = a_sheet()
    cut = remove(field, motion, [MILL])
    return separate(cut.through, field.heights > 0, held, cell=CELL, origin=field.origin, crumb=CELL**2)


@settings(max_examples=150, deadline=None, derandomize=True)
@given(motion=programs(), held=clamps())
def test_pieces_of_whole_programs_match_a_flood_fill_after_every_move(motion: Motion, held: Mask) -> None:
    """Lines, arcs and helices, up to three clamps, slugs milled away later: same moves, same areas."""
    standing = standing_after_each(motion)
    loose = [loose_among(one, held) for one in standing]
    found = found_in(motion, held)
    assert np.array_equal(found.labels > 0, loose[-1])
    bodies, count = ndimage.label(loose[-1])
    staying = [piece for piece in found.pieces if piece.label]
    assert len(staying) == count
    for piece in staying:
        cells = cells_of(found, piece)
        assert len(np.unique(bodies[cells])) == 1
        assert piece.area == np.count_nonzero(cells) * CELL**2
        since = next(step for step, one in enumerate(loose) if one[cells].all())
        assert piece.freed_at == since - 1
        assert not since or not loose[since - 1][cells].any()
        assert piece.cut_at == first_cut_of_what_parted(cells, since, loose, standing)
    gone = [Parting(p.freed_at, round(p.area / CELL**2), p.cut_at) for p in found.pieces if not p.label]
    assert sorted(gone) == sorted(waste_of(standing, held))
    event(f"{min(len(staying), 3)} stay, {min(len(gone), 3)} are cut away")


def first_cut_of_what_parted(cells: Mask, since: int, loose: list[Mask], standing: list[Mask]) -> int:
    """The first move after a piece parted that cuts through some of the body that it then was part of."""
    if since == 0:
        return -1
    bodies, _ = ndimage.label(loose[since])
    body = bodies == bodies[cells][0]
    return next((step - 1 for step in range(since + 1, len(standing)) if (body & ~standing[step]).any()), -1)


def waste_of(standing: list[Mask], held: Mask) -> list[Parting]:
    """Pieces that part and are wholly milled away, told from the heights after every move."""
    through = np.zeros(held.shape, dtype=np.int32)
    for step in range(len(standing) - 1, 0, -1):
        through[standing[step - 1] & ~standing[step]] = step
    return partings_of_waste(through, standing[0], held, len(standing) - 1)
