"""`python -m benchmarks.book`: how long a look-up takes in a shop book of 100,000 entries."""

import statistics
import tempfile
import time
from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path
from typing import Final

from proveout.book.entry import Entry, Kept
from proveout.book.store import open_book

ROWS: Final = 100_000
CUTTERS: Final = 100
MATERIALS: Final = 4
FEATURES: Final = ("recess", "hole", "slot", "outline")
DIRECTIONS: Final = ("", "x")
REPEATS: Final = 21


def main() -> None:
    """Print the table."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "shop-book.sqlite"
        begun = time.perf_counter()
        with open_book(path, create=True) as book:
            book.add(_entry(number) for number in range(ROWS))
        took = time.perf_counter() - begun
        size = path.stat().st_size / 1e6
        print(f"{ROWS:,} entries added at once in {took:.1f} s; the file has {size:.0f} MB")
        with open_book(path, create=False) as book:
            _row(
                "by cutter, material, feature, direction",
                lambda: book.standing(cutter="7: cutter", material="wood 3", feature="slot", direction="x"),
            )
            _row(
                "all of a cutter in a material and kind of feature, as a job asks",
                lambda: book.standing(cutter="7: cutter", material="wood 3", feature="slot"),
            )
            _time("means of every kind of cut, once a job", book.means)
            _time("minutes, once a job", lambda: book.standing(kind="minutes"))
        for create, what in ((False, "opened to be read"), (True, "opened to be added to, and checked")):
            times = []
            for _ in range(5):
                begun = time.perf_counter()
                with open_book(path, create=create):
                    times.append(time.perf_counter() - begun)
            print(f"{what}: {statistics.median(times) * 1000:.1f} ms")


def _entry(number: int) -> Entry:
    """Combinations in turn, so that what belongs together lies scattered over the whole file."""
    rest, cutter = divmod(number, CUTTERS)
    rest, material = divmod(rest, MATERIALS)
    rest, feature = divmod(rest, len(FEATURES))
    rest, direction = divmod(rest, len(DIRECTIONS))
    return Entry(
        kind="size",
        taken_on=date(2020, 1, 1) + timedelta(days=number // 50),
        who="learner",
        job="clamp kit",
        sitting=f"clamp kit {number // 50}",
        subject="knob 1.head recess",
        cutter=f"{cutter}: cutter",
        diameter=3.0,
        material=f"wood {material}",
        feature=FEATURES[feature],
        direction=DIRECTIONS[direction],
        asked=9.85,
        found=9.80 + number % 17 / 100,
        instrument="caliper",
        resolution=0.01,
        replaces=number if number % 50 == 49 else None,  # the one before
    )


def _row(what: str, look_up: Callable[[], tuple[Kept, ...]]) -> None:
    times = []
    for _ in range(REPEATS):
        begun = time.perf_counter()
        found = look_up()
        times.append(time.perf_counter() - begun)
    middle, slowest = statistics.median(times) * 1000, max(times) * 1000
    print(f"{what}: {len(found)} entries in {middle:.1f} ms, at most {slowest:.1f} ms (goal: at most 10 ms)")


def _time(what: str, look_up: Callable[[], object]) -> None:
    times = []
    for _ in range(5):
        begun = time.perf_counter()
        look_up()
        times.append(time.perf_counter() - begun)
    print(f"{what}: {statistics.median(times) * 1000:.1f} ms")


if __name__ == "__main__":
    main()
