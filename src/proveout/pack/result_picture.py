"""The simulated result: the height field after the last program, lit from the back left, as a PNG picture.

The same bytes on every machine: only additions, multiplications, divisions and square roots are used (these
are exactly rounded everywhere; a library's sine or exponential is not), sums are taken in a stated order, and
the packing of the file is ours, because compressors differ from one build to the next.
"""

import struct
import zlib
from typing import Final

import numpy as np
import numpy.typing as npt

from proveout.proof.verdict import HeightField

MOST: Final = 1600  # cells along the longer side of the picture
LEAST: Final = 700  # below this, each cell becomes a block of several
_TONES: Final = 16  # of height
_SHADES: Final = 16  # of light

# From the bed up to the sheet's face: charred brown, walnut, oak, birch. Red, green, blue.
_WOOD: Final = ((52, 42, 36), (122, 88, 60), (188, 150, 104), (238, 218, 178))

Floats = npt.NDArray[np.float32]
Bytes = npt.NDArray[np.uint8]


def result_png(field: HeightField) -> bytes:
    """The picture of what is left, as a PNG file of at most 1600 cells a side; the back is at the top."""
    heights, cell = _fitted(field)
    tones = _tone(heights)
    tones *= _SHADES
    tones += _shade(heights, cell)
    return png(_grown(tones[::-1]), _palette())


def _fitted(field: HeightField) -> tuple[Floats, float]:
    """The field with as many cells averaged into one as bring it to the picture's size."""
    rows, columns = field.heights.shape
    step = max(1, -(-max(rows, columns) // MOST))
    rows, columns = max(1, rows // step), max(1, columns // step)
    whole = field.heights[: rows * step, : columns * step]
    # A field narrower than one step is widened by its last cells.
    short = [(0, size * step - had) for size, had in zip((rows, columns), whole.shape, strict=True)]
    whole = np.pad(whole, short, mode="edge") if any(more for _, more in short) else whole
    total = np.zeros((rows, columns), dtype=np.float32)
    for down in range(step):
        for across in range(step):
            total += whole[down::step, across::step]
    total /= np.float32(step * step)
    return total, field.cell * step


def _tone(heights: Floats) -> Bytes:
    """0 on the bed and below, the last tone at the highest place."""
    top = max(float(heights.max()), 1e-6)
    share = np.clip(heights / np.float32(top), 0, 1)
    tones: Bytes = np.rint(share * np.float32(_TONES - 1)).astype(np.uint8)
    return tones


def _shade(heights: Floats, cell: float) -> Bytes:
    """How much light each cell gets, from the back left, 35 degrees above the bed for a lively relief.

    The cosine between the light and the surface's normal (-dz/dx, -dz/dy, 1).
    """
    light = np.float32(-0.5), np.float32(0.65), np.float32(0.574)  # of length 1
    across = np.zeros_like(heights)
    away = np.zeros_like(heights)
    across[:, 1:-1] = (heights[:, 2:] - heights[:, :-2]) / np.float32(2 * cell)
    away[1:-1, :] = (heights[2:, :] - heights[:-2, :]) / np.float32(2 * cell)
    long = np.sqrt(across * across + away * away + np.float32(1))
    shine = (light[2] - across * light[0] - away * light[1]) / long
    return np.rint(np.clip(shine * np.float32(0.9) + np.float32(0.1), 0, 1) * (_SHADES - 1)).astype(np.uint8)


def _grown(picture: Bytes) -> Bytes:
    """Each cell repeated until a small field makes a picture that can be seen."""
    times = max(1, LEAST // max(picture.shape))
    return np.repeat(np.repeat(picture, times, axis=0), times, axis=1)


def _palette() -> Bytes:
    """(256, 3): for every tone of wood, every shade from dim to bright."""
    rows = []
    level = 0.1 + 0.9 * 0.574  # what a flat face gets
    for tone in range(_TONES):
        share = tone / (_TONES - 1) * (len(_WOOD) - 1)
        below = min(int(share), len(_WOOD) - 2)
        mixed = [a + (b - a) * (share - below) for a, b in zip(_WOOD[below], _WOOD[below + 1], strict=True)]
        for shade in range(_SHADES):
            light = shade / (_SHADES - 1) / level
            rows.append([min(255, round(value * (0.25 + 0.75 * light))) for value in mixed])
    return np.array(rows, dtype=np.uint8)


def png(picture: Bytes, palette: Bytes) -> bytes:
    """A picture of palette entries (rows, columns) as a PNG file; palette (256, 3) red, green, blue.

    Source: the PNG specification (W3C, second edition), sections 5 and 9; filter 2 ("up") on every row, so
    that what doesn't change down the picture becomes runs of zero.
    """
    rows, columns = picture.shape
    lines = np.full((rows, columns + 1), 2, dtype=np.uint8)
    lines[0, 1:] = picture[0]
    lines[1:, 1:] = picture[1:] - picture[:-1]  # modulo 256, as the filter wants it
    header = struct.pack(">IIBBBBB", columns, rows, 8, 3, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + b"".join(
        _chunk(name, body)
        for name, body in (
            (b"IHDR", header),
            (b"PLTE", palette.tobytes()),
            (b"IDAT", packed(lines.ravel())),
            (b"IEND", b""),
        )
    )


def _chunk(name: bytes, body: bytes) -> bytes:
    return struct.pack(">I", len(body)) + name + body + struct.pack(">I", zlib.crc32(name + body))


def packed(data: Bytes) -> bytes:
    """The bytes as a zlib stream: runs of equal bytes shortened, everything else as it is.

    One block with the fixed codes of RFC 1951 section 3.2.6. A run is written as its first byte and copies
    of it from one byte back, up to 258 at a time. Within a few percent of a general compressor on pictures
    of flat faces, and the same on every machine.
    """
    values, copies = _runs(data)
    codes, widths = _symbols(values, copies)
    bits = _bits(codes, widths)
    head = np.array([1, 1, 0], dtype=np.uint8)  # the last block; fixed codes
    end = np.zeros(7, dtype=np.uint8)  # the code of 256, end of block
    body = np.packbits(np.concatenate((head, bits, end)), bitorder="little").tobytes()
    return b"\x78\x01" + body + struct.pack(">I", zlib.adler32(data.tobytes()))


def _runs(data: Bytes) -> tuple[npt.NDArray[np.int64], npt.NDArray[np.int64]]:
    """The data as steps: a literal byte (copies 0), or so many copies (3 to 258) of the byte before."""
    starts = np.flatnonzero(np.concatenate(([True], data[1:] != data[:-1])))
    lengths = np.diff(np.append(starts, len(data))) - 1  # beyond the first byte of each run
    whole, rest = np.divmod(lengths, 258)
    # Each run: one literal, `whole` full copies, then the rest as one copy (3 or more) or as literals.
    singles = np.where(rest < 3, rest, 0)
    last = np.where(rest >= 3, rest, 0)
    steps = 1 + whole + (last > 0) + singles
    run = np.repeat(np.arange(len(starts)), steps)
    place = np.arange(len(run)) - np.repeat(np.cumsum(steps) - steps, steps)
    copies = np.where((place >= 1) & (place <= whole[run]), 258, 0)
    copies = np.where((place == whole[run] + 1) & (last[run] > 0), last[run], copies)
    return data[starts][run].astype(np.int64), copies


def _symbols(
    values: npt.NDArray[np.int64], copies: npt.NDArray[np.int64]
) -> tuple[npt.NDArray[np.int64], npt.NDArray[np.int64]]:
    """Each step's bits, first bit lowest, and how many there are."""
    literal_codes, literal_widths = _literal_table()
    copy_codes, copy_widths = _copy_table()
    is_copy = copies > 0
    return (
        np.where(is_copy, copy_codes[copies], literal_codes[values]),
        np.where(is_copy, copy_widths[copies], literal_widths[values]),
    )


def _literal_table() -> tuple[npt.NDArray[np.int64], npt.NDArray[np.int64]]:
    rows = [
        _mirrored(0x30 + value, 8) if value < 144 else _mirrored(0x190 + value - 144, 9)
        for value in range(256)
    ]
    return np.array(rows), np.array([8 if value < 144 else 9 for value in range(256)])


def _copy_table() -> tuple[npt.NDArray[np.int64], npt.NDArray[np.int64]]:
    """For 0 to 258 copies: length code, its extra bits, and the distance code of one byte back (zeros)."""
    codes, widths = [0] * 259, [0] * 259
    for copies in range(3, 259):
        symbol, extra, extra_width = _length_symbol(copies)
        code, width = (
            (_mirrored(symbol - 256, 7), 7) if symbol < 280 else (_mirrored(0xC0 + symbol - 280, 8), 8)
        )
        codes[copies] = code | extra << width
        widths[copies] = width + extra_width + 5
    return np.array(codes), np.array(widths)


def _length_symbol(copies: int) -> tuple[int, int, int]:
    """Symbol, extra value and width of the extra value, by the table of RFC 1951 section 3.2.5."""
    if copies == 258:
        return 285, 0, 0
    if copies < 11:
        return 254 + copies, 0, 0
    extra_width = (copies - 3).bit_length() - 3
    over = copies - 3 - (4 << extra_width)
    return 261 + 4 * extra_width + (over >> extra_width), over & ((1 << extra_width) - 1), extra_width


def _mirrored(code: int, width: int) -> int:
    """The code with its first bit lowest, as the stream wants Huffman codes."""
    return int(f"{code:0{width}b}"[::-1], 2)


def _bits(codes: npt.NDArray[np.int64], widths: npt.NDArray[np.int64]) -> Bytes:
    owner = np.repeat(np.arange(len(codes), dtype=np.int32), widths)
    ends = np.cumsum(widths)
    place = np.arange(len(owner)) - np.repeat(ends - widths, widths)
    return ((codes[owner] >> place) & 1).astype(np.uint8)
