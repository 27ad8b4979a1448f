"""The size to cut for a fit, and how many of a hundred parts will come out too loose, right, too tight."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from proveout.figure import Figure
from proveout.finding import Finding, Level
from proveout.fit.scatter import ENDS, Scatter
from proveout.fit.spread import Spread, total
from proveout.quantity import System, show_length
from proveout.shelf.fit_classes import SOURCE, FitClass

# Sizes are chosen on this grid, mm: finer than any shop can cut.
STEP: Final = 0.005
# A pressed part that is too tight splits, a loose one can be glued: it counts so many loose ones. Project
# default; in a fit that isn't pressed one is as bad as the other.
TIGHT_COUNTS: Final = 3.0
# Where much scatters, sparing the tight ones may not cost more of the right ones than a tenth: or a press
# would be no press any more. Project default.
MOST_GIVEN_UP: Final = 0.9
TO_MEASURE: Final = "What a caliper will read after the cut; in the range the fit is right in use."
TO_MEASURE_BLINDLY: Final = "What a caliper will read after the cut. What is right hangs on the hardware."
# From this share on a fit counts as sure; below the second, most shops would not start. Project
# defaults.
SURE: Final = 0.9
DOUBTFUL: Final = 0.6


@dataclass(frozen=True, slots=True, kw_only=True)
class Shares:
    """Of many parts, how many fall where; they add up to 1."""

    too_loose: float
    right: float
    too_tight: float


@dataclass(frozen=True, slots=True, kw_only=True)
class SizedFit:
    """A size to cut, with what comes of it."""

    size: float  # that the program cuts to
    shares: Shares
    clearance: Spread  # in use
    figures: tuple[Figure, ...]  # size first
    findings: tuple[Finding, ...]


def best_size(room: Spread, fit: FitClass) -> float:
    """The size at which fewest parts are lost, mm; of a pressed fit a tight one counts as three loose ones.

    Args:
        room: clearance in use of a part whose program cuts to 0: what is cut, less the hardware, and what the
            wood does
        fit: the clearance that is wanted
    """
    middle = fit.target - room.mean
    reach = max(0.3, 3 * room.deviation)
    first = round((middle - reach) / STEP)
    sizes = np.asarray((first + np.arange(round(2 * reach / STEP) + 1)) * STEP, np.float64)
    loose, tight = 1 - room.below_each(fit.high - sizes), room.below_each(fit.low - sizes)
    lost = loose + (TIGHT_COUNTS if fit.is_press else 1.0) * tight
    right = 1 - loose - tight
    lost[right < MOST_GIVEN_UP * right.max()] = np.inf
    best = sizes[lost <= lost.min() + 1e-9]
    return float(min(best, key=lambda size: (abs(size - middle), size)))


def shares_of(room: Spread, fit: FitClass, size: float) -> Shares:
    """What becomes of parts that are cut to that size."""
    tight, up_to = room.below(fit.low - size), room.below(fit.high - size)
    return Shares(too_loose=1 - up_to, right=up_to - tight, too_tight=tight)


def sized_fit(
    fit: FitClass,
    *,
    hardware: Scatter,
    cut: Scatter,
    moves: Scatter,
    name: str,
    what: str,
    measured: bool,
    system: System,
    fixed_size: float | None = None,
) -> SizedFit:
    """The size to cut, the clearance that comes of it, and the shares.

    Args:
        fit: the clearance wanted in use
        hardware, cut, moves: what it scatters with
        name: of the feature
        what: "flats" or "diameter wanted": the size's name
        measured: whether the hardware was
        system: in which lengths are shown
        fixed_size: where it can't be chosen, as with a drill, or was stated
    """
    room = total((cut.spread, moves.spread, hardware.spread.mirrored()))
    size = best_size(room, fit) if fixed_size is None else fixed_size
    shares = shares_of(room, fit, size)
    low, high = (size + room.quantile(share) for share in ENDS)
    clearance = Figure(
        name=f"{name}.clearance",
        value=size + room.mean,
        unit="mm",
        rule=f'In use; the "{fit.name}" class wants {show_length(fit.low, system)} to '
        f"{show_length(fit.high, system)}, less than 0 is pressed. 95 of 100 parts lie in the range.",
        source=f"classes: {SOURCE}; scatter by exact convolution",
        inputs=(hardware.figure, cut.figure, moves.figure),
        low=low,
        high=high,
    )
    sized = Figure(
        name=f"{name}.{what}",
        value=size,
        unit="mm",
        rule=_size_rule(fit) if fixed_size is None else "The size that is cut.",
        source=SOURCE,
        inputs=(clearance,),
    )
    wanted = Figure(
        name=f"{name}.to measure",
        value=size + cut.spread.mean,
        unit="mm",
        rule=TO_MEASURE if measured else TO_MEASURE_BLINDLY,
        source="geometry",
        inputs=(hardware.figure, cut.figure, moves.figure),
        low=hardware.spread.mean + fit.low - moves.spread.mean if measured else None,
        high=hardware.spread.mean + fit.high - moves.spread.mean if measured else None,
    )
    return SizedFit(
        size=size,
        shares=shares,
        clearance=room,
        figures=(sized, wanted, *_share_figures(shares, name, clearance)),
        findings=_doubts(shares, fit, hardware, cut, moves, name=name, measured=measured, system=system),
    )


def _size_rule(fit: FitClass) -> str:
    counted = f", one too tight counted as {TIGHT_COUNTS:g} too loose" if fit.is_press else ""
    return f"The size that the program cuts to: at it fewest parts are lost{counted}."


def _share_figures(shares: Shares, name: str, clearance: Figure) -> tuple[Figure, ...]:
    return tuple(
        Figure(
            name=f"{name}.share {what}",
            value=share,
            unit="",
            rule=f"Of many parts, the share that comes out {what}.",
            source="exact convolution of the scatters, no random numbers",
            inputs=(clearance,),
        )
        for what, share in (
            ("right", shares.right),
            ("too loose", shares.too_loose),
            ("too tight", shares.too_tight),
        )
    )


def _doubts(
    shares: Shares,
    fit: FitClass,
    hardware: Scatter,
    cut: Scatter,
    moves: Scatter,
    *,
    name: str,
    measured: bool,
    system: System,
) -> tuple[Finding, ...]:
    """Where many parts will miss their fit: what scatters most, and how to better it."""
    drying = _drying(fit, moves, name=name, system=system)
    if shares.right >= SURE:
        return drying
    each = {"hardware": hardware, "cut": cut, "wood's moisture": moves}
    worst = max(each, key=lambda one: each[one].spread.deviation)
    deviation = show_length(each[worst].spread.deviation, system)
    return (
        *drying,
        Finding(
            level=Level.NOTE if shares.right >= DOUBTFUL or not measured else Level.CAUTION,
            kind="fit-doubtful",
            text=f"{name}: {in_hundred(shares)}. The {worst} scatters most, by {deviation} (one standard "
            f'deviation); "{fit.name}" is {show_length(fit.high - fit.low, system)} wide.',
            remedy=_better(worst, measured=measured, learned="shop book" in cut.figure.source),
        ),
    )


def _drying(fit: FitClass, moves: Scatter, *, name: str, system: System) -> tuple[Finding, ...]:
    """What is sized for wood that will dry is loose on the day that it is cut."""
    closes = -moves.spread.mean
    if closes <= (fit.high - fit.low) / 2:
        return ()
    return (
        Finding(
            level=Level.NOTE,
            kind="fit-doubtful",
            text=f"{name}: the wood will dry and close it by about {show_length(closes, system)} until it is "
            "used, and it is cut so much wider: on the day of the cut the hardware goes in loosely.",
            remedy="Let the part lie for some weeks in the air that it is used in, and press the hardware in "
            "then. Where it can't wait, bond it with epoxy.",
        ),
    )


def _better(worst: str, *, measured: bool, learned: bool) -> str:
    if worst == "hardware":
        if measured:
            return "Sort the hardware by caliper, or take a wider fit class."
        return "Measure five pieces of your box with calipers and write what they read in the job file."
    if worst == "cut":
        if learned:
            return "Look for play in collet, cutter and gantry, or take a wider fit class."
        return "Cut a coupon (proveout coupon) and record what it measures: the shop book learns from it."
    return (
        "State in [air] how damp it is where the part is cut and used, if it differs less. Else use plywood, "
        "a snug fit with epoxy, or a threaded insert."
    )


def in_hundred(shares: Shares) -> str:
    """The shares as a shop says them; they add up to a hundred."""
    loose, right, tight = hundred((shares.too_loose, shares.right, shares.too_tight))
    return f"of 100 parts about {loose} will be too loose, {right} right and {tight} too tight"


def hundred(shares: Sequence[float]) -> list[int]:
    """Shares as whole parts of a hundred that add up to it: the largest remainders are rounded up."""
    whole = sum(shares) or 1.0
    exact = [100 * share / whole for share in shares]
    counts = [int(one) for one in exact]
    by_rest = sorted(range(len(exact)), key=lambda at: (counts[at] - exact[at], at))
    for at in by_rest[: 100 - sum(counts)]:
        counts[at] += 1
    return counts
