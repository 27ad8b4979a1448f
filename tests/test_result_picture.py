"""The picture of the simulated result, read by the plain rules of its format and the system's unpacker."""

import struct
import zlib
from collections.abc import Iterator
from itertools import pairwise

import numpy as np
import numpy.typing as npt
import pytest
from hypothesis import given
from hypothesis import strategies as st

import made_example
from proveout.pack.result_picture import packed, result_png
from proveout.proof.verdict import HeightField

Picture = npt.NDArray[np.int64]  # (rows, columns, 3) red, green, blue; row 0 at the top


def field(heights: npt.NDArray[np.float32], cell: float = 0.5) -> HeightField:
    return HeightField(heights=heights, cell=cell, origin=(0.0, 0.0))


def chunks(file: bytes) -> Iterator[tuple[bytes, bytes]]:
    """Name and body of each chunk; the checksum is held against the system's (PNG specification, 5.3)."""
    assert file[:8] == b"\x89PNG\r\n\x1a\n"
    at = 8
    while at < len(file):
        (size,) = struct.unpack(">I", file[at : at + 4])
        name, body = file[at + 4 : at + 8], file[at + 8 : at + 8 + size]
        assert struct.unpack(">I", file[at + 8 + size : at + 12 + size])[0] == zlib.crc32(name + body)
        yield name, body
        at += 12 + size


def read(file: bytes) -> Picture:
    """The picture in colour, by the plain rules of the PNG specification (sections 9.2 and 11.2.3)."""
    found = dict(chunks(file))
    columns, rows, depth, kind, *rest = struct.unpack(">IIBBBBB", found[b"IHDR"])
    assert (depth, kind, rest) == (8, 3, [0, 0, 0]), "a palette of 8 bits, not interlaced"
    palette = np.frombuffer(found[b"PLTE"], dtype=np.uint8).reshape(-1, 3)
    raw = zlib.decompress(found[b"IDAT"])
    above, lines = bytes(columns), []
    for row in range(rows):
        line = raw[row * (columns + 1) : (row + 1) * (columns + 1)]
        assert line[0] == 2, "every row is filtered by the one above"
        above = bytes((a + b) % 256 for a, b in zip(line[1:], above, strict=True))
        lines.append(list(above))
    picture: Picture = palette[np.array(lines)].astype(np.int64)
    return picture


@given(st.binary(min_size=1, max_size=4000) | st.integers(1, 5000).map(lambda size: b"\x07" * size))
def test_any_bytes_come_back_through_the_system_s_unpacker(data: bytes) -> None:
    """Our packing is a zlib stream that any program can open (RFC 1950, RFC 1951)."""
    assert zlib.decompress(packed(np.frombuffer(data, dtype=np.uint8))) == data


@pytest.mark.parametrize("copies", [*range(1, 40), *range(254, 264), 515, 516, 517, 518, 519, 520])
def test_runs_of_every_length_come_back(copies: int) -> None:
    """No length of a run falls between two codes of the table (RFC 1951, section 3.2.5)."""
    data = b"a" * copies + b"\xffb" + b"\x00" * copies
    assert zlib.decompress(packed(np.frombuffer(data, dtype=np.uint8))) == data


def test_the_file_is_far_smaller_than_its_picture() -> None:
    """A picture of flat faces packs to less than a tenth, so that the report can carry it."""
    made = made_example.made()
    file = result_png(made.verdict.result)
    rows, columns, _ = read(file).shape
    assert len(file) < rows * columns / 10


def test_deeper_is_darker() -> None:
    """Face, recess, tab and bed stand apart in grey too: each lower floor is clearly darker."""
    steps = np.repeat(np.array([11.85, 7.37, 2.4, -0.3], dtype=np.float32), 40)
    picture = read(result_png(field(np.tile(steps, (60, 1)))))
    middles = [picture.shape[1] * (2 * step + 1) // 8 for step in range(4)]
    greys = [picture[picture.shape[0] // 2, column] @ np.array([299, 587, 114]) / 1000 for column in middles]
    assert all(one > following + 15 for one, following in pairwise(greys)), greys


def test_the_back_of_the_sheet_is_at_the_top_and_its_left_at_the_left() -> None:
    """The picture lies as the sheet does to a person who stands in front of the machine."""
    heights = np.full((40, 60), 12.0, dtype=np.float32)
    heights[30:, :10] = 0.0  # a corner cut away at the left back
    picture = read(result_png(field(heights))).sum(axis=2)
    rows, columns = picture.shape
    assert picture[rows // 8, columns // 12] < picture[rows // 8, -columns // 12] / 2
    assert picture[-rows // 8, columns // 12] == picture[-rows // 8, -columns // 12]


def test_an_edge_towards_the_light_is_brighter_than_one_away_from_it() -> None:
    """Light from the back left: of a raised block, the left flank is bright and the right one dark."""
    heights = np.full((60, 60), 6.0, dtype=np.float32)
    heights[:, 20:40] = 6.4
    row = read(result_png(field(heights))).sum(axis=2)[300]
    step = len(row) / 60
    assert row[int(19.5 * step)] > row[int(5 * step)] > row[int(40.5 * step)]


@pytest.mark.parametrize("shape", [(1, 1), (3, 5000), (4001, 3300), (1600, 1600), (1601, 2)])
def test_a_picture_is_at_most_1600_cells_a_side(shape: tuple[int, int]) -> None:
    """However fine the proof's cells, the picture stays one that a page can show."""
    file = result_png(field(np.full(shape, 5.0, dtype=np.float32), cell=0.1))
    columns, rows = struct.unpack(">II", dict(chunks(file))[b"IHDR"][:8])
    assert 1 <= rows <= 1600
    assert 1 <= columns <= 1600


def test_averaging_keeps_the_share_of_what_is_cut_away() -> None:
    """Of a field of 3200 cells a side, half cut away, half of the picture's cells are dark."""
    heights = np.full((8, 3200), 10.0, dtype=np.float32)
    heights[:, 1600:] = 0.0
    picture = read(result_png(field(heights, cell=0.1))).sum(axis=2)
    assert picture.shape[1] == 1600
    bright = picture[0] > picture[0].max() / 2
    assert bright.sum() == pytest.approx(800, abs=2)


def test_a_sheet_that_is_cut_away_whole_still_makes_a_picture() -> None:
    """Nothing standing, or a cut below the bed: a dark picture, no division by zero."""
    for height in (0.0, -0.5):
        picture = read(result_png(field(np.full((10, 10), height, dtype=np.float32))))
        assert picture.max() < 100
