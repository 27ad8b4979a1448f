"""How many fits are right before and after readings, in simulated shops whose truth is known.

`python tests/simulated_shops.py` prints the table: a row for each fit class in each kind of material, 1,000
shops a row. Each shop has an offset, a scatter, a box of bolts and perhaps a wearing cutter of its own, which
proveout never sees; it sees readings with a caliper's error. The share of right fits is then worked out from
the truth, exactly.
"""

import argparse
import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np

from proveout.book.learn import Reading, learn
from proveout.book.priors import CALIPER, PUSHED, UNRECKONED, offset_prior
from proveout.fit.sized import best_size
from proveout.fit.spread import Spread, bell, even, mixed, total, turned
from proveout.shelf.fit_classes import FIT_NAMES, FitClass, fit_class

STAGES: Final = (0, 3, 5, 10, 20, 30)  # readings
A_SITTING: Final = 5  # readings of one coupon
KINDS: Final = ("plywood", "solid wood", "fibreboard", "plastic")
RUNOUT: Final = 0.02  # mm, of every shop's cutter, which the shop knows
BOX: Final = 5  # pieces that the shop measures


@dataclass(frozen=True, slots=True, kw_only=True)
class Shop:
    """A shop's truth, mm."""

    offset: float
    scatter: float  # of parts
    wear: float  # a sitting
    box: float  # mean of its bolts, about the nominal
    box_scatter: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """What came of the shops of one fit class."""

    kind: str
    fit: FitClass
    right: dict[int, float]  # mean share of right fits, by readings
    known: float  # with the truth known: what no learning can better


def a_shop(dice: np.random.Generator, rough: float = 1.0) -> Shop:
    """One shop in five has a cutter that wears; in a rough one parts and bolts differ so much more."""
    pushed = -2 * PUSHED * dice.uniform()
    runs_out = RUNOUT * abs(math.cos(dice.uniform(0, 2 * math.pi)))
    return Shop(
        offset=pushed + runs_out + dice.normal(0, UNRECKONED),
        scatter=rough * 0.011 * math.exp(0.35 * dice.normal()),
        wear=-abs(dice.normal(0, 0.008)) if dice.uniform() < 0.2 else 0.0,
        box=dice.uniform(-0.2, 0.0),
        box_scatter=rough * 0.008 * math.exp(0.3 * dice.normal()),
    )


def before() -> Spread:
    """What proveout reckons where the book says nothing."""
    return total(
        [turned(RUNOUT), bell(0.0, 0.02 / math.sqrt(2)), even(-2 * PUSHED, 0.0), bell(0.0, UNRECKONED)]
    )


def rows(shops: int, seed: int) -> Iterator[Row]:
    """Every class in every kind of material."""
    for kind in KINDS:
        for name in FIT_NAMES:
            yield row(kind, fit_class(name, kind), shops, seed)


def row(kind: str, fit: FitClass, shops: int, seed: int, rough: float = 1.0) -> Row:
    """The mean over the shops; each shop and its readings are the same for every class."""
    right = dict.fromkeys(STAGES, 0.0)
    known = 0.0
    for number in range(shops):
        dice = np.random.default_rng((seed, number))
        shop = a_shop(dice, rough)
        hardware = _measured(shop, dice)
        readings = tuple(_readings(shop, dice, max(STAGES)))
        for stage in STAGES:
            right[stage] += _right(shop, fit, _size(readings[:stage], hardware, fit), stage) / shops
        known += _right(shop, fit, _known_size(shop, fit), 0) / shops
    return Row(kind=kind, fit=fit, right=right, known=known)


def _measured(shop: Shop, dice: np.random.Generator) -> Spread:
    """What proveout makes of five bolts of the box, as `fit.scatter.hardware_scatter` does."""
    read = dice.normal(shop.box, math.hypot(shop.box_scatter, CALIPER), BOX)
    squares = float(((read - read.mean()) ** 2).sum())
    own = math.sqrt((2 * 0.01**2 + squares) / (2 + BOX - 1) * (1 + 1 / BOX))
    return bell(float(read.mean()), math.hypot(own, CALIPER))


def _readings(shop: Shop, dice: np.random.Generator, count: int) -> Iterator[Reading]:
    for number in range(count):
        sitting = number // A_SITTING
        true = shop.offset + shop.wear * sitting + dice.normal(0, shop.scatter)
        yield Reading(value=true + dice.normal(0, CALIPER), noise=CALIPER, sitting=str(sitting))


def _size(readings: tuple[Reading, ...], hardware: Spread, fit: FitClass) -> float:
    return best_size(total([cut_by_book(readings), hardware.mirrored()]), fit)


def cut_by_book(readings: tuple[Reading, ...]) -> Spread:
    """What is cut less what is asked, as the book tells it; as it is reckoned where it has nothing."""
    first = before()
    if not readings:
        return first
    reckoned = math.sqrt(first.deviation**2 - (0.02**2) / 2)
    found = learn(readings, offset_prior(first.mean, reckoned))
    laws = [bell(law.mean, law.deviation) for law in found.laws]
    return mixed([law.share for law in found.laws], laws)


def _known_size(shop: Shop, fit: FitClass) -> float:
    true = math.hypot(shop.scatter, shop.box_scatter)
    return best_size(bell(shop.offset - shop.box, true), fit)


def _right(shop: Shop, fit: FitClass, size: float, readings: int) -> float:
    """The share of parts that come out right at that size, in truth: a normal law."""
    offset = shop.offset + shop.wear * math.ceil(readings / A_SITTING)
    middle, spread = size + offset - shop.box, math.hypot(shop.scatter, shop.box_scatter) * math.sqrt(2)
    return (math.erf((fit.high - middle) / spread) - math.erf((fit.low - middle) / spread)) / 2


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=main.__doc__)
    parser.add_argument("--shops", type=int, default=1000, help="shops a row (default 1000)")
    parser.add_argument("--seed", type=int, default=1)
    args = parser.parse_args()
    head = "".join(f"{f'after {stage}' if stage else 'prior':>10}" for stage in STAGES)
    print(f"share of right fits, per cent, mean of {args.shops} shops (seed {args.seed})")
    print(f"{'fit':<26}{'wide':>8}{head}{'truth known':>14}")
    everything: list[Row] = []
    for one in rows(args.shops, args.seed):
        everything.append(one)
        print(line(f"{one.fit.name}, {one.kind}", [one]), flush=True)
    print(line("all", everything))
    rough = row("plywood", fit_class("firm press", "plywood"), args.shops, args.seed, rough=2.0)
    print(line("firm, plywood, twice rough", [rough]))


def line(label: str, chosen: list[Row]) -> str:
    """The mean of rows, as the table prints it."""
    count = len(chosen)
    shares = "".join(f"{100 * sum(one.right[stage] for one in chosen) / count:>10.1f}" for stage in STAGES)
    width = f"{chosen[0].fit.high - chosen[0].fit.low:.2f}" if count == 1 else ""
    return f"{label:<26}{width:>8}{shares}{100 * sum(one.known for one in chosen) / count:>14.1f}"


if __name__ == "__main__":
    main()
