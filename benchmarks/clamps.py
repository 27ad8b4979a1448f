"""`python -m benchmarks.clamps`: how long the choice of clamps takes, and how near it comes to the best.

On small plates every set of clamps is measured; on a plate of 600 x 400 mm with holes 25 mm apart the choice
is timed, for one clamp more and more.
"""

import itertools
import statistics
import time
from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Final

import numpy as np

from proveout.hold.choose_clamps import choose_clamps, measured
from proveout.hold.places import Place, places
from proveout.job.read import read_job
from proveout.job.records import Job
from proveout.shelf.tables import material

EXAMPLE: Final = Path(__file__).parent.parent / "examples" / "clamp-kit" / "job.toml"
WOOD: Final = material("birch plywood")
PLATES: Final = 40
MOST_PLACES: Final = 8
MOST_CLAMPS: Final = 4
REPEATS: Final = 5


def main() -> None:
    """Print the table."""
    given = bench((600.0, 400.0), 25.0, (24, 16), (400.0, 250.0))
    found = places(given.shop.plate, given.stock, given.shop.clamps)
    print(f"plate of 600 x 400 mm, holes 25 mm apart: {len(found)} places for a clamp")
    for most in (2, 4, 8):
        times = []
        for _ in range(REPEATS):
            begun = time.perf_counter()
            choose_clamps(found, WOOD, given.stock.size, 1e9, most=most)
            times.append(time.perf_counter() - begun)
        print(f"  up to {most} clamps chosen in {statistics.median(times):.2f} s")
    ratios = [ratio for size, few in small_plates() for ratio in against_all(few, size)]
    print(
        f"{PLATES} small plates, up to {MOST_PLACES} places, against every set of up to {MOST_CLAMPS} clamps:"
    )
    print(
        f"  the chosen set stands {min(ratios):.3f} of the best at worst, "
        f"{statistics.mean(ratios):.3f} on average"
    )


def bench(size: tuple[float, float], pitch: float, holes: tuple[int, int], blank: tuple[float, float]) -> Job:
    """The clamp kit's bench with another plate, and a blank in its middle."""
    given = read_job(EXAMPLE)
    plate = replace(
        given.shop.plate,
        size=size,
        pitch=pitch,
        columns=holes[0],
        rows=holes[1],
        first_hole=(pitch / 2, pitch / 2),
    )
    at = ((size[0] - blank[0]) / 2, (size[1] - blank[1]) / 2)
    return replace(
        given,
        shop=replace(given.shop, plate=plate),
        stock=replace(given.stock, size=blank, at=at),
        clamps=(),
    )


def small_plates(count: int = PLATES) -> Iterator[tuple[tuple[float, float], tuple[Place, ...]]]:
    """Blanks of all shapes on coarse plates, with a few of their places, always the same."""
    chance = np.random.default_rng(7)
    made = 0
    while made < count:
        blank = float(chance.integers(60, 220)), float(chance.integers(60, 180))
        pitch = float(chance.integers(30, 60))
        given = bench((400.0, 320.0), pitch, (int(400 // pitch), int(320 // pitch)), blank)
        every = places(given.shop.plate, given.stock, given.shop.clamps)
        if len(every) < 2:
            continue
        few = chance.choice(len(every), min(MOST_PLACES, len(every)), replace=False)
        made += 1
        yield blank, tuple(every[one] for one in sorted(few.tolist()))


def against_all(few: tuple[Place, ...], size: tuple[float, float]) -> Iterator[float]:
    """What the chosen set of so many clamps stands as a share of the best of all such sets."""
    for count in range(1, MOST_CLAMPS + 1):
        best = max((measured(one, WOOD, size).stands for one in sets_of(few, count)), default=0.0)
        chosen = choose_clamps(few, WOOD, size, 1e9, most=count)
        if best > 0 and chosen is not None:
            yield chosen.stands / best


def sets_of(few: tuple[Place, ...], count: int) -> Iterator[tuple[Place, ...]]:
    """Every set of so many clamps whose bars stand clear of each other and of which there are enough."""
    for one in itertools.combinations(few, count):
        used = Counter(place.kind.name for place in one)
        enough = all(used[place.kind.name] <= place.kind.count for place in one)
        if enough and all(a.bar.distance(b.bar) >= 1.0 for a, b in itertools.combinations(one, 2)):
            yield one


if __name__ == "__main__":
    main()
