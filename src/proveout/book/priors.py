"""What is believed of a cutter's offset, of parts' scatter and of a job's minutes before anything was read.

The project's own choice, said in numbers, so that three readings help and thirty rule.
"""

import math
from typing import Final

from proveout.book.learn import Prior

# The last pass along a fitted wall may be pushed aside by up to this, mm a wall: the planner keeps to it. A
# sharp cutter in easy wood gives next to nothing. Project default.
PUSHED: Final = 0.03
# What is left when all that can be reckoned has been: belts and screws that stretch, cutters ground under
# size, wood that springs. Standard deviation of an offset about what was reckoned, mm.
UNRECKONED: Final = 0.03
# How that is shared by what two offsets have in common: the cutter, the material, the kind of feature, and
# what is theirs alone, mm.
BY_CUTTER: Final = 0.024
BY_MATERIAL: Final = 0.012
BY_FEATURE: Final = 0.010
ALONE: Final = 0.009
# By how much a caliper in a shop's hand is off, standard deviation, mm. Makers state 0.02 to 0.03 at most.
CALIPER: Final = 0.01

# And for one shop in fourteen it is three times or ten times that: a slip that nobody has found yet.
FARTHER: Final = (1.0, 3.0, 10.0)
FARTHER_SHARES: Final = (0.93, 0.05, 0.02)

# Parts of one sitting differ by about 0.012 mm, by a factor of 1.8 either way; a few shops in a hundred have
# far looser machines.
SCATTER: Final = 0.012
_FACTORS: Final = (0.35, 0.5, 0.7, 0.85, 1.0, 1.2, 1.45, 1.8, 2.4, 3.5, 5.0, 8.0, 14.0, 25.0)
_WIDTH: Final = math.log(1.8)
_LOOSER: Final = 0.002
# What a sitting brings besides the cutter's seat, mm: glue on the collet, the room's warmth.
SITTING: Final = 0.004
# One cutter in five drifts enough to matter, by steps of a few thousandths to a few hundredths a sitting.
DRIFTS: Final = (0.0, 0.004, 0.008, 0.016, 0.03)
DRIFT_SHARES: Final = (0.8, 0.05, 0.05, 0.05, 0.05)

# Minutes taken over minutes predicted, as a logarithm: a shop is out by a quarter, jobs by half that.
MINUTES_OUT: Final = 0.25
MINUTES_SCATTER: Final = 0.12


def offset_prior(mean: float, deviation: float, sitting: float = SITTING) -> Prior:
    """Of the offset of one cutter, material and kind of feature, mm.

    Args:
        mean: what was reckoned, or what like features of the book say
        deviation: of the offset about it
        sitting: standard deviation of what a sitting brings; `sitting_effect` reckons it
    """
    return _prior(mean, deviation, scatter=SCATTER, drifts=DRIFTS, shares=DRIFT_SHARES, sitting=sitting)


def minutes_prior() -> Prior:
    """Of the logarithm of minutes taken over minutes predicted; it doesn't drift."""
    return _prior(0.0, MINUTES_OUT, scatter=MINUTES_SCATTER, drifts=(0.0,), shares=(1.0,), sitting=0.0)


def sitting_effect(runout: float) -> float:
    """Standard deviation of what a sitting brings, mm: the edges stand anew to the spindle's axis.

    Runout widens the cut by its reading times |cos a|, whose variance is 1/2 - 4/pi^2.
    """
    return math.hypot(SITTING, runout * math.sqrt(0.5 - 4 / math.pi**2))


def _prior(
    mean: float,
    deviation: float,
    *,
    scatter: float,
    drifts: tuple[float, ...],
    shares: tuple[float, ...],
    sitting: float,
) -> Prior:
    weights = [math.exp(-((math.log(one) / _WIDTH) ** 2) / 2) + _LOOSER for one in _FACTORS]
    return Prior(
        mean=mean,
        deviations=tuple(deviation * one for one in FARTHER),
        deviation_shares=FARTHER_SHARES,
        scatters=tuple(scatter * one for one in _FACTORS),
        scatter_shares=tuple(one / sum(weights) for one in weights),
        drifts=drifts,
        drift_shares=shares,
        sitting=sitting,
    )
