"""How many fits are right before and after readings, in simulated shops whose truth is known.

`python tests/simulated_shops.py` prints the table: a row for each fit class in each kind of material, 1,000
shops a row. Each shop has an offset, a scatter, a box of bolts and perhaps a wearing cutter of its own, which
proveout never sees, and puts its cutter in anew for every sitting; proveout sees readings with a caliper's
error. The share of right fits in the next sitting is then worked out from the truth.

The truths are drawn from much what the model believes beforehand; the last rows say what comes of shops that
it would not expect: parts that differ twice as much, offsets twice as far out, a cutter that wobbles.
"""

import argparse
import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np

from proveout.book.learn import Reading, learn
from proveout.book.offsets import CutterNow, reckoned, reckoned_error
from proveout.book.priors import CALIPER, PUSHED, UNRECKONED, offset_prior, sitting_effect
from proveout.figure import Figure
from proveout.fit.scatter import hardware_scatter
from proveout.fit.sized import best_size
from proveout.fit.spread import Spread, bell, even, mixed, total, turned
from proveout.shelf.fit_classes import FIT_NAMES, FitClass, fit_class

STAGES: Final = (0, 3, 5, 10, 20, 30)  # readings
A_SITTING: Final = 5  # readings of one coupon
KINDS: Final = ("plywood", "solid wood", "fibreboard", "plastic")
EFFECT: Final = 0.004  # mm, standard deviation of what a sitting brings besides the cutter's seat
BOX: Final = 5  # pieces that the shop measures


@dataclass(frozen=True, slots=True, kw_only=True)
class Ways:
    """How shops are, against what is expected of them."""

    rough: float = 1.0  # times as much do parts and bolts differ
    out: float = 1.0  # times as far is what nobody can reckon
    runout: float = 0.02  # mm, of every shop's cutter, which the shop knows


USUAL: Final = Ways()
UNEXPECTED: Final = {
    "parts twice as rough": Ways(rough=2.0),
    "offsets twice as far out": Ways(out=2.0),
    "a cutter that wobbles": Ways(runout=0.06),
}
SEATS: Final = 12  # of the cutter, over which a share is the mean


@dataclass(frozen=True, slots=True, kw_only=True)
class Shop:
    """A shop's truth, mm."""

    offset: float  # without what its cutter's seat brings
    runout: float
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
    known: float  # at the size that would be chosen if the truth were known


def a_shop(dice: np.random.Generator, ways: Ways = USUAL) -> Shop:
    """One shop in five has a cutter that wears."""
    return Shop(
        offset=-2 * PUSHED * dice.uniform() + ways.out * dice.normal(0, UNRECKONED),
        runout=ways.runout,
        scatter=ways.rough * 0.011 * math.exp(0.35 * dice.normal()),
        wear=-abs(dice.normal(0, 0.008)) if dice.uniform() < 0.2 else 0.0,
        box=dice.uniform(-0.2, 0.0),
        box_scatter=ways.rough * 0.008 * math.exp(0.3 * dice.normal()),
    )


def before(runout: float) -> Spread:
    """What proveout reckons where the book says nothing."""
    return total(
        [turned(runout), bell(0.0, 0.02 / math.sqrt(2)), even(-2 * PUSHED, 0.0), bell(0.0, UNRECKONED)]
    )


def rows(shops: int, seed: int) -> Iterator[Row]:
    """Every class in every kind of material."""
    for kind in KINDS:
        for name in FIT_NAMES:
            yield row(kind, fit_class(name, kind), shops, seed)


def row(kind: str, fit: FitClass, shops: int, seed: int, ways: Ways = USUAL) -> Row:
    """The mean over the shops; each shop and its readings are the same for every class."""
    right = dict.fromkeys(STAGES, 0.0)
    known = 0.0
    for number in range(shops):
        dice = np.random.default_rng((seed, number))
        shop = a_shop(dice, ways)
        hardware = _measured(shop, dice)
        readings = tuple(_readings(shop, dice, max(STAGES)))
        for stage in STAGES:
            right[stage] += (
                _right(shop, fit, _size(readings[:stage], hardware, fit, ways.runout), stage) / shops
            )
        known += _right(shop, fit, _known_size(shop, fit), 0) / shops
    return Row(kind=kind, fit=fit, right=right, known=known)


def _measured(shop: Shop, dice: np.random.Generator) -> Spread:
    """What proveout makes of five bolts of the box."""
    read = dice.normal(shop.box, math.hypot(shop.box_scatter, CALIPER), BOX)
    size = Figure(name="flats", value=float(read.max()), unit="mm", rule="as read", source="the shop")
    return hardware_scatter("box", size, tuple(map(float, read)), "flats", "mm").spread


def _readings(shop: Shop, dice: np.random.Generator, count: int) -> Iterator[Reading]:
    seat = 0.0
    for number in range(count):
        sitting, place = divmod(number, A_SITTING)
        if place == 0:
            seat = shop.runout * abs(math.cos(dice.uniform(0, 2 * math.pi))) + dice.normal(0, EFFECT)
        true = shop.offset + seat + shop.wear * sitting + dice.normal(0, shop.scatter)
        yield Reading(value=true + dice.normal(0, CALIPER), noise=CALIPER, sitting=str(sitting))


def _size(readings: tuple[Reading, ...], hardware: Spread, fit: FitClass, runout: float) -> float:
    return best_size(total([cut_by_book(readings, runout), hardware.mirrored()]), fit)


def cut_by_book(readings: tuple[Reading, ...], runout: float) -> Spread:
    """What is cut less what is asked, as the book tells it; as it is reckoned where it has nothing."""
    if not readings:
        return before(runout)
    cutter = CutterNow(label="1", diameter=3.0, runout=runout)
    error = math.hypot(UNRECKONED, reckoned_error(cutter))
    found = learn(readings, offset_prior(reckoned(cutter, "recess"), error, sitting_effect(runout)))
    laws = [bell(law.mean, law.deviation) for law in found.laws]
    return mixed([law.share for law in found.laws], laws)


def _true(shop: Shop) -> float:
    return math.sqrt(shop.scatter**2 + shop.box_scatter**2 + EFFECT**2)


def _known_size(shop: Shop, fit: FitClass) -> float:
    return best_size(total([bell(shop.offset - shop.box, _true(shop)), turned(shop.runout)]), fit)


def _right(shop: Shop, fit: FitClass, size: float, readings: int) -> float:
    """The share of parts that come out right at that size in the next sitting, over all seats."""
    offset = shop.offset + shop.wear * math.ceil(readings / A_SITTING)
    spread = _true(shop) * math.sqrt(2)
    seats = [shop.runout * math.cos((at + 0.5) / SEATS * math.pi / 2) for at in range(SEATS)]
    middles = (size + offset + seat - shop.box for seat in seats)
    shares = (math.erf((fit.high - at) / spread) - math.erf((fit.low - at) / spread) for at in middles)
    return sum(shares) / 2 / SEATS


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
    print("firm press in plywood, of shops that are not as expected:")
    for label, ways in UNEXPECTED.items():
        print(line(label, [row("plywood", fit_class("firm press", "plywood"), args.shops, args.seed, ways)]))


def line(label: str, chosen: list[Row]) -> str:
    """The mean of rows, as the table prints it."""
    count = len(chosen)
    shares = "".join(f"{100 * sum(one.right[stage] for one in chosen) / count:>10.1f}" for stage in STAGES)
    width = f"{chosen[0].fit.high - chosen[0].fit.low:.2f}" if count == 1 else ""
    return f"{label:<26}{width:>8}{shares}{100 * sum(one.known for one in chosen) / count:>14.1f}"


if __name__ == "__main__":
    main()
