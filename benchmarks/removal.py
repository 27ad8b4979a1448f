"""How fast material is removed, beside plain ways to do the same: `python -m benchmarks.removal`.

One table, one run, so that the ratios hold whatever else the machine is doing; nothing is asserted. What runs
on one thread is measured in seconds of the processor, the rest by the clock on the wall.
With `--sheet`, a whole 1220 x 2440 mm sheet with a kilometre of path as well: removal and whole proof.
"""

import argparse
import json
import math
import subprocess
import sys
import time
from collections.abc import Callable
from functools import partial
from typing import Any

import numpy as np

from benchmarks.bench import a_cutter
from benchmarks.bodies import removed_by_booleans
from benchmarks.plain_numpy import stamped, windowed
from benchmarks.sheet import MOVES, SIZE, THICK, bench, program
from proveout.job.records import CutterKind
from proveout.motion import Motion, MotionBuilder, shifted
from proveout.program.read import read_program
from proveout.proof.removal import Removal, fresh_field, remove
from proveout.proof.separation import separate
from proveout.proof.verdict import HeightField

BLANK = (203.0, 102.0)
LEVELS = (4.0, 2.0, 0.0)
CELL = 0.1

Row = tuple[str, str, str]


def zigzag(size: tuple[float, float], moves: int, step: float, levels: tuple[float, ...]) -> Motion:
    """Wavy rows over a block, one level after the other, in straight moves of about the same length."""
    builder = MotionBuilder((0.0, 0.0, 20.0))
    builder.cutter, builder.feed = 1, 25.0
    for number in range(moves):
        level = levels[number * len(levels) // moves]
        row, along = divmod(number * step, size[0])
        x = along if int(row) % 2 == 0 else size[0] - along
        y = (row * 2.1 + 1.5 * math.sin(along / 7)) % size[1]
        builder.line_to((x, y, level))
    return builder.motion()


def sloping(motion: Motion, fall: float) -> Motion:
    """The same way with every other point so much lower."""
    builder = MotionBuilder((0.0, 0.0, 20.0))
    builder.cutter, builder.feed = 1, 25.0
    for number, (x, y, z) in enumerate(motion.end.tolist()):
        builder.line_to((x, y, z + fall * (number % 2)))
    return builder.motion()


def best(
    work: Callable[[], object], repeats: int = 5, clock: Callable[[], float] = time.process_time
) -> float:
    """The shortest of several runs, s."""
    times = []
    for _ in range(repeats):
        begin = clock()
        work()
        times.append(clock() - begin)
    return min(times)


def blank_rows() -> list[Row]:
    """A 203 x 102 mm blank at 0.1 mm, 12 000 moves of a 3.175 mm cutter."""
    motion = zigzag(BLANK, 12_000, 1.63, LEVELS)
    metres = float(np.linalg.norm(motion.end - motion.start, axis=1).sum()) / 1000
    field = fresh_field(BLANK, 6.0, cell=CELL, margin=2.0)
    begin = time.perf_counter()
    remove(field, motion, [a_cutter(3.175)])
    first = time.perf_counter() - begin
    what = f"{len(motion)} moves, {metres:.1f} m, {field.heights.size / 1e6:.1f} M cells"
    return [
        ("first removal in this process", f"{first:.2f} s", "compiler or its cache included"),
        *_beside_numpy(field, motion),
        *_shape_rows(field, motion),
        _pieces_row(field, motion),
        ("(the work above)", what, "one thread where not said"),
    ]


def _beside_numpy(field: HeightField, motion: Motion) -> list[Row]:
    cutter = a_cutter(3.175)
    cut = remove(field, motion, [cutter])
    one = best(lambda: remove(field, motion, [cutter], threads=1))
    wall = [
        best(partial(remove, field, motion, [cutter], threads=threads), 9, time.perf_counter)
        for threads in (1, 2)
    ]
    rows: list[Row] = [
        ("flat, level: one thread", _ms(one), f"{len(motion) / one / 1000:.0f} k moves/s"),
        ("flat, level: two threads", _ms(wall[1]), f"by the clock, where one takes {_ms(wall[0])}"),
    ]
    for cells in (1, 4):
        heights, seconds = _timed(partial(stamped, field, motion, cutter, cells * field.cell))
        rows.append(_ratio(f"numpy, a disc stamped every {cells} cells", seconds, one, field, cut, heights))
    heights, seconds = _timed(lambda: windowed(field, motion, cutter))
    rows.append(_ratio("numpy, one exact window a move", seconds, one, field, cut, heights))
    return rows


def _shape_rows(field: HeightField, motion: Motion) -> list[Row]:
    """The other shapes and sloping moves, each beside exact numpy windows of the first 1500 moves."""
    rows: list[Row] = []
    ends: tuple[tuple[CutterKind, dict[str, Any]], ...] = (
        ("flat", {}),
        ("ball", {}),
        ("vee", {"point_deg": 60.0}),
    )
    for kind, more in ends:
        cutter = a_cutter(3.175, kind, **more)
        for name, way in (("level", motion), ("sloping", sloping(motion, 0.2))):
            if (kind, name) == ("flat", "level"):
                continue
            some = _first(way, 1500)
            cut = remove(field, some, [cutter])
            mine = best(partial(remove, field, some, [cutter], threads=1))
            whole = best(partial(remove, field, way, [cutter], threads=1), 3)
            heights, seconds = _timed(partial(windowed, field, some, cutter))
            rows.append((f"{kind}, {name}: one thread", _ms(whole), "all moves"))
            rows.append(
                _ratio(f"numpy windows, {kind}, {name}, 1500 moves", seconds, mine, field, cut, heights)
            )
    return rows


def _pieces_row(field: HeightField, motion: Motion) -> Row:
    cut = remove(field, motion, [a_cutter(3.175)])
    inside = field.heights > 0
    held = np.zeros_like(inside)
    held[:60, :60] = inside[:60, :60]
    loose = best(lambda: separate(cut.through, inside, held, cell=field.cell, origin=field.origin))
    return "pieces that part, and when", _ms(loose), ""


def boolean_rows() -> list[Row]:
    """A small case beside exact booleans of meshes."""
    size = (60.0, 40.0)
    motion = _rows(zigzag(size, 401, 1.63, (4.0,)), slice(1, None))
    field = fresh_field(size, 6.0, cell=CELL, margin=0.0)
    mine = best(lambda: remove(field, motion, [a_cutter(3.175)], threads=1))
    taken = float(remove(field, motion, [a_cutter(3.175)]).removed.sum())
    try:
        theirs, seconds = _timed(lambda: removed_by_booleans(motion, 3.175 / 2, size, 6.0))
    except ImportError:
        return [("exact booleans", "left out", "install the bench extra: manifold3d")]
    said = f"{seconds / mine:.0f} times the kernel's {_ms(mine)}; volume {100 * (theirs / taken - 1):+.3f} %"
    return [(f"exact booleans of meshes, {len(motion)} moves", _ms(seconds), said)]


def sheet_rows() -> list[Row]:
    """The whole sheet: removal by threads and length of path, then whole proofs in processes of their own."""
    rows: list[Row] = []
    setup = bench(MOVES)
    read = read_program(program(MOVES).text, file="sheet.nc", cutter=1)
    motion = shifted(read.motion, setup.zero)
    field = fresh_field(SIZE, THICK, cell=0.25, margin=7.35)
    for share in (1, 2, 4):
        some = _first(motion, len(motion) * share // 4)
        metres = float(np.linalg.norm(some.end - some.start, axis=1).sum()) / 1000
        for threads in (1, 2):
            spent = best(partial(remove, field, some, setup.cutters, threads=threads), 3, time.perf_counter)
            rows.append(
                (
                    f"whole sheet, removal, {len(some)} moves, {threads} thread{'s' * (threads > 1)}",
                    f"{spent:.2f} s",
                    f"{metres:.0f} m of path, {field.heights.size / 1e6:.1f} M cells",
                )
            )
    rows.extend(_proof_row(_proof(moves)) for moves in (MOVES // 4, MOVES // 2, MOVES))
    return rows


def _proof_row(told: dict[str, Any]) -> Row:
    work = f"{told['cpu']:.1f} s of the processor, {told['mb']:.0f} MB at most"
    what = f"{told['metres']:.0f} m, cells of {told['cell']:g} mm, {len(told['findings'])} findings"
    return (
        f"whole sheet, proof of the text, {told['moves']} moves",
        f"{told['seconds']:.2f} s",
        f"{work}; {what}",
    )


def _proof(moves: int) -> dict[str, Any]:
    done = subprocess.run(
        [sys.executable, "-m", "benchmarks.sheet", str(moves)], check=True, capture_output=True, text=True
    )
    told: dict[str, Any] = json.loads(done.stdout)
    return told


def _timed(work: Callable[[], Any]) -> tuple[Any, float]:
    begin = time.process_time()
    out = work()
    return out, time.process_time() - begin


def _ratio(
    what: str, theirs: float, mine: float, field: HeightField, cut: Removal, heights: np.ndarray
) -> Row:
    """How much longer another way takes, and how far its heights are from the kernel's."""
    taken = float((field.heights.astype(float) - cut.field.heights).sum())
    other = float((field.heights.astype(float) - heights).sum())
    wrong = np.abs(heights - cut.field.heights)
    differ = "same heights" if not wrong.any() else f"cells differ by {wrong.max():.2g} mm at worst"
    volume = 100 * (other / taken - 1)
    return what, _ms(theirs), f"{theirs / mine:.1f} times the kernel; volume {volume:+.3f} %, {differ}"


def _first(motion: Motion, count: int) -> Motion:
    return _rows(motion, slice(0, count))


def _rows(motion: Motion, which: slice) -> Motion:
    return Motion(**{name: getattr(motion, name)[which] for name in Motion.__slots__})


def _ms(seconds: float) -> str:
    return f"{seconds * 1000:.1f} ms" if seconds < 10 else f"{seconds:.1f} s"


def show(rows: list[Row]) -> None:
    """Print rows as a table."""
    widths = [max(len(row[column]) for row in rows) for column in range(3)]
    for row in rows:
        print("  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip())


def main() -> None:
    parser = argparse.ArgumentParser(description="How fast material is removed.")
    parser.add_argument("--sheet", action="store_true", help="the whole sheet as well")
    wants_sheet = parser.parse_args().sheet
    show([*blank_rows(), *boolean_rows(), *(sheet_rows() if wants_sheet else [])])


if __name__ == "__main__":
    main()
