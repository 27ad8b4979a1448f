"""How fast material is removed, and what the compiled sweep gains over numpy: `python benchmarks/removal.py`.

One table, one run, so that the ratios hold whatever else the machine is doing; nothing is asserted.
With `--sheet`, a whole 2440 x 1220 mm sheet at 0.25 mm and a kilometre of path as well (1 GB of memory).
"""

import argparse
import math
import time
from collections.abc import Callable

import numpy as np

from proveout.job.records import Cutter
from proveout.motion import Motion, MotionBuilder
from proveout.proof.removal import fresh_field, remove, sweep_pieces
from proveout.proof.separation import separate
from proveout.proof.verdict import HeightField


def a_cutter(diameter: float) -> Cutter:
    return Cutter(
        number=1,
        name=f"{diameter} mm",
        kind="flat",
        diameter=diameter,
        flutes=2,
        flute_length=12.0,
        stick_out=20.0,
        shank_diameter=diameter,
        centre_cutting=True,
        spiral="up",
        carbide=True,
    )


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


def best(work: Callable[[], object], repeats: int = 5) -> float:
    """The shortest of several runs, s."""
    times = []
    for _ in range(repeats):
        begin = time.perf_counter()
        work()
        times.append(time.perf_counter() - begin)
    return min(times)


def stamped(field: HeightField, motion: Motion, cutter: Cutter) -> np.ndarray:
    """The baseline: a disc pressed into the field every 4 cells along the way, in numpy."""
    heights, cell = field.heights.copy(), field.cell
    reach = math.ceil(cutter.radius / cell) + 1
    step = 4 * cell
    for start, end in zip(motion.start, motion.end, strict=True):
        count = max(1, math.ceil(float(np.linalg.norm(end - start)) / step))
        for share in np.arange(count + 1) / count:
            x, y, z = start + (end - start) * share
            column, row = int((x - field.origin[0]) / cell), int((y - field.origin[1]) / cell)
            rows = slice(max(0, row - reach), row + reach + 1)
            columns = slice(max(0, column - reach), column + reach + 1)
            window = heights[rows, columns]
            dy = field.origin[1] + (np.arange(rows.start, rows.start + window.shape[0]) + 0.5) * cell - y
            dx = (
                field.origin[0] + (np.arange(columns.start, columns.start + window.shape[1]) + 0.5) * cell - x
            )
            disc = dy[:, None] ** 2 + dx[None, :] ** 2 <= cutter.radius**2
            np.minimum(window, np.float32(z), out=window, where=disc)
    return heights


def windowed(field: HeightField, motion: Motion, cutter: Cutter) -> np.ndarray:
    """The exact sweep in numpy, one window for each move."""
    heights, cell = field.heights.copy(), field.cell
    for piece in sweep_pieces(motion, [cutter]):
        box = []
        for least, most, low, count in (
            (piece["front"], piece["back"], field.origin[1], heights.shape[0]),
            (piece["left"], piece["right"], field.origin[0], heights.shape[1]),
        ):
            first = max(0, math.floor((least - low) / cell - 0.5))
            box.append(slice(first, max(first, min(count, math.ceil((most - low) / cell + 1)))))
        window = heights[box[0], box[1]]
        y = (field.origin[1] + (np.arange(box[0].start, box[0].stop) + 0.5) * cell - piece["y"])[:, None]
        x = (field.origin[0] + (np.arange(box[1].start, box[1].stop) + 0.5) * cell - piece["x"])[None, :]
        along = x * piece["ux"] + y * piece["uy"]
        aside2 = (y * piece["ux"] - x * piece["uy"]) ** 2
        past = along - np.clip(along, 0, piece["run"])
        covered = past**2 + aside2 <= piece["reach"] ** 2
        half = np.sqrt(np.maximum(0, piece["reach"] ** 2 - aside2))
        ahead = np.maximum(-half, -along) if piece["rise"] >= 0 else np.minimum(half, piece["run"] - along)
        tip = np.maximum(piece["low"], piece["z"] + piece["rise"] * (along + ahead))
        np.minimum(window, tip.astype(np.float32), out=window, where=covered)
    return heights


def row(what: str, seconds: float, note: str = "") -> None:
    print(f"{what:<58} {seconds * 1000:9.1f} ms  {note}")


def blank() -> None:
    """A 203 x 102 mm blank at 0.1 mm, 12 000 moves."""
    field = fresh_field((203.0, 102.0), 6.0, cell=0.1, margin=2.0)
    motion, cutter = zigzag((203.0, 102.0), 12_000, 1.63, (4.0, 2.0, 0.0)), a_cutter(3.175)
    begin = time.perf_counter()
    cut = remove(field, motion, [cutter])
    row("first removal in this process, compiler or its cache included", time.perf_counter() - begin)
    way = float(np.linalg.norm(motion.end - motion.start, axis=1).sum()) / 1000
    machine = way * 1000 / 25.0
    one = best(lambda: remove(field, motion, [cutter], threads=1))
    two = best(lambda: remove(field, motion, [cutter], threads=2))
    print(f"{field.heights.size / 1e6:.2f} M cells, {len(motion)} moves, {way:.1f} m of path")
    row("one thread", one, f"{len(motion) / one / 1000:.0f} k moves/s")
    row("two threads", two, f"{one / two:.2f}x one; {machine / two:.0f}x as fast as cutting at 1500 mm/min")
    exact = windowed(field, motion, cutter)
    plain = best(lambda: windowed(field, motion, cutter), 1)
    row("numpy, one exact window a move", plain, f"{plain / one:.1f}x the time of one thread")
    print(f"    same heights, bit for bit: {np.array_equal(exact, cut.field.heights)}")
    begin = time.perf_counter()
    rough = stamped(field, motion, cutter)
    rough_time = time.perf_counter() - begin
    row("numpy, a disc stamped every 4 cells", rough_time, f"{rough_time / one:.1f}x the time of one thread")
    wrong = np.abs(rough - cut.field.heights)
    share, worst = 100 * float((wrong > 0).mean()), float(wrong.max())
    print(f"    {share:.1f} % of cells differ, by {worst:.2f} mm at worst")
    inside = field.heights > 0
    held = np.zeros_like(inside)
    held[:60, :60] = inside[:60, :60]
    loose = best(lambda: separate(cut.through, inside, held, cell=field.cell, origin=field.origin))
    row("pieces that part, and when", loose)


def sheet() -> None:
    """A 2440 x 1220 mm sheet at 0.25 mm, a kilometre of path."""
    size = (2440.0, 1220.0)
    motion, cutter = zigzag(size, 200_000, 5.0, (9.0, 4.0, 0.0)), a_cutter(6.35)
    field = fresh_field(size, 18.0, cell=0.25, margin=0.0)
    print(f"{field.heights.size / 1e6:.1f} M cells, {len(motion)} moves")
    one = best(lambda: remove(field, motion, [cutter], threads=1), 2)
    two = best(lambda: remove(field, motion, [cutter], threads=2), 2)
    row("whole sheet, one thread", one)
    row("whole sheet, two threads", two, f"{one / two:.2f}x one")


def main() -> None:
    parser = argparse.ArgumentParser(description="How fast material is removed.")
    parser.add_argument("--sheet", action="store_true", help="the whole sheet as well")
    wants_sheet = parser.parse_args().sheet
    blank()
    if wants_sheet:
        sheet()


if __name__ == "__main__":
    main()
