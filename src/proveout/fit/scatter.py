"""What a fit scatters with: the hardware, the cut, the wood's moisture. Each is a spread and a figure."""

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Final

from proveout.book.entry import cutter_words
from proveout.book.learned import Learned
from proveout.book.priors import CALIPER, PUSHED, UNRECKONED
from proveout.figure import Figure
from proveout.fit.moisture import equilibrium_moisture, movement_of
from proveout.fit.spread import Spread, bell, even, fixed, mixed, total, turned
from proveout.job.records import Air, Cutter, Job, Machine
from proveout.quantity import System, show_fine
from proveout.shelf.cited import cited
from proveout.shelf.fit_classes import FitForm
from proveout.shelf.movements import Movement, movement
from proveout.shelf.tables import material

# Pieces of one box come from one die: standard deviation among them, mm, and how many readings that guess
# is worth. Project default.
BOX: Final = 0.01
LEAST_BOX: Final = 0.004  # mm: no box is alike to less; project default
BOX_WEIGHT: Final = 2.0
METER: Final = 1.0  # per cent by which a moisture meter may be off, either way; common practice, no source
SQUARE_OVER: Final = 300.0  # mm, that out_of_square is said of
STARTS: Final = 5  # moistures between the least and the most that a meter may have meant
# How much of a movement across the grain reaches the tightest pair of walls: shrinking and growing. About a
# pin the tightest diameter; about a hexagon by how it lies, sin^2 of the nearest and the farthest normal.
ALIKE: Final = (1.0, 1.0)
PIN: Final = (1.0, 0.0)
HEXAGON: Final = tuple(
    (math.cos(math.radians(turn)) ** 2, math.sin(math.radians(30 - turn)) ** 2)
    for turn in (0, 7.5, 15, 22.5, 30)
)
ENDS: Final = (0.025, 0.975)  # shares below the ends that a figure's range states: 95 in 100 lie between


@dataclass(frozen=True, slots=True, kw_only=True)
class Scatter:
    """One thing that a fit scatters with."""

    spread: Spread
    figure: Figure


def hardware_scatter(
    name: str, size: Figure, readings: tuple[float, ...], what: str, system: System
) -> Scatter:
    """What the pieces that come from the box measure.

    Measured: normal about the mean of the readings; the deviation is that of the readings, which a guess for
    one box steadies while they are few, with the caliper's own. Not measured: anywhere in the standard's
    band with equal right.

    Args:
        name: of the feature
        size: the hardware's figure; with low and high where it was not measured
        readings: by caliper; empty where there are none
        what: "flats of the head"
    """
    if not readings:
        low = size.value if size.low is None else size.low
        high = size.value if size.high is None else size.high
        law = even(low, high)
        return _scatter(
            law, f"{name}.hardware", f"The {what}: anywhere in the standard's band.", (size,), size.source
        )
    count = len(readings)
    mean = sum(readings) / count
    squares = sum((one - mean) ** 2 for one in readings)
    # Of pieces and caliper together, as the readings show them; a piece alone differs by less.
    both = (BOX_WEIGHT * (BOX**2 + CALIPER**2) + squares) / (BOX_WEIGHT + count - 1)
    piece = max(both - CALIPER**2, LEAST_BOX**2)
    law = bell(mean, math.sqrt(piece + both / count))
    rule = (
        f"The {what}, {count} reading{'s' if count > 1 else ''}: pieces of a box differ by "
        f"{show_fine(math.sqrt(piece), system)} (one standard deviation), and their mean is known to "
        f"{show_fine(math.sqrt(both / count), system)}."
    )
    return _scatter(law, f"{name}.hardware", rule, (size,), f"measured: {count}; scatter: project default")


def cut_scatter(
    job: Job, cutter: Cutter, *, size: float, feature: str, name: str, drilled: bool = False
) -> Scatter:
    """By how much the size that is cut differs from the one that the program asks for, mm.

    The shop book's word for this cutter, material and kind of feature comes first; else it is reckoned from
    what the cutter, the machine and the wood may do.

    Args:
        size: about which it is asked
        feature: "recess" or "hole"
        name: of the feature, for the figures
        drilled: in one plunge: no wall is followed, and none gives way
    """
    learned = learned_of(job, cutter, feature)
    if learned is not None:
        return _from_book(learned, name)
    routed = () if drilled else _routed(job.shop.machine, size, name)
    parts = (*_turning(cutter, name), *routed, _not_reckoned(name))
    return _scatter(
        total([one.spread for one in parts]),
        f"{name}.cutting scatter",
        "What comes out, less what the program cuts to: the sum of what follows, by exact convolution.",
        (one.figure for one in parts),
        "geometry",
    )


def _turning(cutter: Cutter, name: str) -> tuple[Scatter, ...]:
    """What the cutter itself brings."""
    return (
        _part(
            even(-cutter.diameter_error, cutter.diameter_error),
            f"{name}.cutter error",
            "The cutter's diameter, as far as it was measured.",
            "shop file",
        ),
        _part(
            turned(cutter.runout),
            f"{name}.runout",
            "Runout widens what is cut: the edge that reaches further out cuts the wall.",
            "shop file; plane geometry",
        ),
    )


def _routed(machine: Machine, size: float, name: str) -> tuple[Scatter, ...]:
    """What following a wall brings."""
    sheared = _sheared(machine, size)
    return (
        _part(
            bell(0.0, machine.repeatability / math.sqrt(2)),
            f"{name}.repeatability",
            "Two walls, each where the machine comes back to; its stated error counts as two deviations.",
            "shop file",
        ),
        _part(
            even(-sheared, sheared),
            f"{name}.out of square",
            "A gantry that is not square shears what it cuts; the most across a pair of walls.",
            "shop file; plane geometry",
        ),
        _part(
            even(-2 * PUSHED, 0.0),
            f"{name}.pushed off",
            "Cutter and gantry give way to the wood, so both walls stand a little proud: the last pass is "
            "chosen so that neither does by more than half of this.",
            "project default",
        ),
    )


def _not_reckoned(name: str) -> Scatter:
    return _part(
        bell(0.0, UNRECKONED),
        f"{name}.not reckoned",
        "Belts and screws that stretch, cutters ground under size, wood that springs: what is left when all "
        "that can be reckoned has been. A coupon in the shop book takes its place.",
        "project default",
    )


def learned_of(job: Job, cutter: Cutter, feature: str) -> Learned | None:
    """What the shop book knows of this cutter, the job's material and this kind of feature."""
    label, wood = cutter_words(cutter.number, cutter.name), material(job.stock.material).name
    for one in job.learned:
        if (one.cutter, one.material, one.feature) == (label, wood, feature):
            return one
    return None


def _from_book(learned: Learned, name: str) -> Scatter:
    """The book's laws, mixed."""
    laws = [bell(one.mean, one.deviation) for one in learned.laws]
    spread = mixed([one.share for one in learned.laws], laws)
    return _scatter(spread, f"{name}.cutting scatter", learned.words, (), learned.source)


def _sheared(machine: Machine, size: float) -> float:
    """A shear by a small angle changes a width by at most half that angle times the width."""
    return size * machine.out_of_square / SQUARE_OVER / 2


def moisture_scatter(job: Job, *, size: float, form: FitForm, name: str) -> Scatter:
    """By how much the tightest pair of walls closes between the cut and its use, mm; less than 0: it closes.

    Solid wood moves across the grain only, so walls move by sin^2 of the angle between their normal and the
    grain. Growing loosens no pin, for along the grain it is held as before. Of a hexagon's three pairs the
    one that grows least may grow by up to a quarter, and the one that shrinks most shrinks by three quarters
    at least, as the hexagon lies. A panel moves alike both ways.
    """
    wood, moves = material(job.stock.material), movement(job.stock.material)
    if moves is None:
        return _scatter(
            fixed(0.0), f"{name}.moves", f"{wood.name} hardly moves with moisture.", (), "practice"
        )
    before, after = moisture_cut(job.air), moisture_used(job.air)
    solid = wood.kind == "solid wood"
    ways = (ALIKE,) if not solid else HEXAGON if form == "flats" else (PIN,)
    laws = [
        law
        for each in _coefficients(job.air, moves)
        for low, high in _between(size, each, before, after)
        for shrinks, grows in ways
        for law in (_tightest(low, high, shrinks=shrinks, grows=grows),)
    ]
    spread = mixed([1 / len(laws)] * len(laws), laws)
    rule = _moisture_rule(job.air, before, after, job.air.sawn, solid)
    return _scatter(spread, f"{name}.moves", rule, (), cited(moves))


def _tightest(low: float, high: float, *, shrinks: float, grows: float) -> Spread:
    """Evenly between two movements across the grain, of which shares reach the tightest pair of walls."""
    if high <= 0 or low >= 0:
        share = shrinks if high <= 0 else grows
        return even(low * share, high * share)
    shrinking = -low / (high - low)
    return mixed([shrinking, 1 - shrinking], [even(low * shrinks, 0.0), even(0.0, high * grows)])


def moisture_cut(air: Air) -> tuple[float, float]:
    """Moisture of the stock when it is cut, least and most, per cent."""
    if air.moisture is not None:
        return air.moisture - METER, air.moisture + METER
    stands = equilibrium_moisture(air.cut_humidity / 100, air.cut_temperature)
    return stands, stands


def moisture_used(air: Air) -> tuple[float, float]:
    """Moisture of the part in use, driest and dampest, per cent."""
    dry, damp = (equilibrium_moisture(one / 100, air.use_temperature) for one in air.use_humidity)
    return dry, damp


def _coefficients(air: Air, moves: Movement) -> tuple[tuple[float, float | None], ...]:
    """Share of a size for each per cent, with the shrinkage that goes with it; several where unknown."""
    ends = (
        (moves.radial, moves.radial_shrinkage),
        (moves.tangential, moves.tangential_shrinkage),
    )
    if air.sawn is not None and moves.radial_shrinkage is not None:
        return (ends[air.sawn == "flat-sawn"],)
    (low, low_shrinks), (high, high_shrinks) = ends
    steps = [index / 4 for index in range(5)]
    shrinks = [
        None
        if low_shrinks is None or high_shrinks is None
        else low_shrinks + (high_shrinks - low_shrinks) * t
        for t in steps
    ]
    return tuple((low + (high - low) * t, shrink) for t, shrink in zip(steps, shrinks, strict=True))


def _between(
    size: float,
    coefficient: tuple[float, float | None],
    before: tuple[float, float],
    after: tuple[float, float],
) -> Iterator[tuple[float, float]]:
    """Driest and dampest movement, from each of what the stock may have been cut at."""
    share, shrinkage = coefficient
    steps = (before[0] + (before[1] - before[0]) * index / (STARTS - 1) for index in range(STARTS))
    for start in dict.fromkeys(steps):
        low, high = (
            movement_of(size, coefficient=share, shrinkage=shrinkage, before=start, after=end)
            for end in after
        )
        yield low, high


def _moisture_rule(
    air: Air, before: tuple[float, float], after: tuple[float, float], sawn: str | None, solid: bool
) -> str:
    measured = air.moisture is not None
    cut = f"{air.moisture:g} % by a meter" if measured else f"{before[0]:.1f} %"
    said = "" if air.stated else " (usual air, for nothing was said of it)"
    way = f", {sawn}" if sawn and solid else ", however it was sawn" if solid else ""
    return (
        f"Moisture {cut} when cut, {after[0]:.1f} to {after[1]:.1f} % in use{said}{way}. "
        + (
            "Shrinking across the grain tightens; growing loosens little, for along it nothing grows."
            if solid
            else ""
        )
    ).strip()


def _part(spread: Spread, name: str, rule: str, source: str) -> Scatter:
    return _scatter(spread, name, rule, (), source)


def _scatter(spread: Spread, name: str, rule: str, inputs: Iterable[Figure], source: str) -> Scatter:
    low, high = (spread.quantile(share) for share in ENDS)
    figure = Figure(
        name=name,
        value=spread.mean,
        unit="mm",
        rule=rule,
        source=source,
        inputs=tuple(inputs),
        low=low,
        high=high,
    )
    return Scatter(spread=spread, figure=figure)
