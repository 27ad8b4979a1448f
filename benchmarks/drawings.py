"""`python -m benchmarks.drawings`: reading drawings, beside the DXF library's own parse in the same run.

Each drawing is made here and read in a process of its own, so that memory is its own too.
"""

import io
import math
import multiprocessing
import resource
import tempfile
import time
from collections.abc import Callable
from itertools import pairwise
from pathlib import Path
from typing import Any

from ezdxf.filemanagement import new, readfile

from proveout.drawing.dxf_sheet import read_dxf_sheet
from proveout.drawing.look import look

Draw = Callable[[Any], object]


def plates(space: Any) -> None:
    """50,000 entities: plates of four lines, four arcs and twelve holes each, and a spline now and then."""
    for number in range(2_500):
        x, y = 70.0 * (number % 50), 50.0 * (number // 50)
        ends = [((5, 0), (55, 0)), ((60, 5), (60, 35)), ((55, 40), (5, 40)), ((0, 35), (0, 5))]
        for (ax, ay), (bx, by) in ends:
            space.add_line((x + ax, y + ay), (x + bx, y + by))
        for (cx, cy), first in (((55, 5), 270), ((55, 35), 0), ((5, 35), 90), ((5, 5), 180)):
            space.add_arc((x + cx, y + cy), 5, first, first + 90)
        for hole in range(12):
            space.add_circle((x + 8 + 4 * hole, y + 20), 1.6)


def tiny(space: Any) -> None:
    """200,000 segments: circles drawn as 400 short lines each, loose and in order."""
    for number in range(500):
        x, y = 50.0 * (number % 25), 50.0 * (number // 25)
        ring = [
            (x + 20 * math.cos(math.tau * k / 400), y + 20 * math.sin(math.tau * k / 400)) for k in range(401)
        ]
        for one, other in pairwise(ring):
            space.add_line(one, other)


def splines(space: Any) -> None:
    """Round holes as four splines each, as some programs write them."""
    k = 4 / 3 * (math.sqrt(2) - 1)
    for number in range(2_000):
        x, y = 12.0 * (number % 50), 12.0 * (number // 50)
        for turn in range(4):
            c, s = math.cos(turn * math.pi / 2), math.sin(turn * math.pi / 2)
            points = [(5.0, 0.0), (5.0, 5 * k), (5 * k, 5.0), (0.0, 5.0)]
            spline = space.add_spline(degree=3)
            spline.control_points = [(x + c * a - s * b, y + s * a + c * b, 0) for a, b in points]
            spline.knots = [0, 0, 0, 0, 1, 1, 1, 1]


def measured(draw: Draw, folder: Path) -> tuple[float, ...]:
    """MB of the file, seconds of the library, of our reading, of all up to parts; MB of memory; loops."""
    file = folder / "drawing.dxf"
    document = new("R2010")
    document.header["$INSUNITS"] = 4
    draw(document.modelspace())
    text = io.StringIO()
    document.write(text)
    file.write_text(text.getvalue())
    with multiprocessing.get_context("spawn").Pool(1, maxtasksperchild=1) as pool:
        return pool.apply(_times, (file,))


def _times(file: Path) -> tuple[float, ...]:
    readfile(file)  # the library's own first time: imports and caches
    marks = [time.perf_counter()]
    readfile(file)
    marks.append(time.perf_counter())
    read_dxf_sheet(file)
    marks.append(time.perf_counter())
    found = look(file)
    marks.append(time.perf_counter())
    library, reading, whole = (after - before for before, after in pairwise(marks))
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    return file.stat().st_size / 1e6, library, reading, whole, memory, len(found.seen), len(found.drawn)


def main() -> None:
    """Print a row for each drawing."""
    print("drawing                MB  library s  reading / library  to parts s  MB taken   loops  parts")
    with tempfile.TemporaryDirectory() as scratch:
        for name, draw in (
            ("50,000 entities", plates),
            ("200,000 tiny lines", tiny),
            ("8,000 splines", splines),
        ):
            size, library, reading, whole, memory, loops, parts = measured(draw, Path(scratch))
            print(
                f"{name:20} {size:4.1f}  {library:9.2f}  {reading / library:17.2f}  {whole:10.2f}"
                f"  {memory:8.0f}  {loops:6.0f}  {parts:5.0f}"
            )


if __name__ == "__main__":
    main()
