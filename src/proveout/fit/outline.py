"""Which cutter cuts a part's outline."""

import math

from proveout.curve import Curve
from proveout.finding import InputError
from proveout.fit.cutters import largest, no_cutter
from proveout.fit.holes import through_depth
from proveout.job.records import Cutter, Job
from proveout.quantity import show_length


def least_concave_radius(outline: Curve) -> float:
    """Smallest radius by which an anticlockwise outline curves inwards; infinite where it never does.

    Corners between segments are not looked at: the patterns have none that point inwards.
    """
    inwards = (one.radius for one in outline.segments if one.centre is not None and not one.ccw)
    return min(inwards, default=math.inf)


def outline_cutter(job: Job, outline: Curve, *, name: str, named: int | None) -> Cutter:
    """The largest flat cutter that follows the outline and reaches through, or the one that was named.

    Raises:
        InputError: no cutter does both; the message says what would
    """
    concave, depth = least_concave_radius(outline), through_depth(job)

    def refusal(choice: tuple[Cutter, ...]) -> InputError:
        wide = "" if math.isinf(concave) else f" of at most {show_length(2 * concave, job.units)}"
        needs = f"It takes a flat cutter{wide} with flutes of at least {show_length(depth, job.units)}."
        return no_cutter(f"the outline of {name}", needs, choice, named, job.units)

    return largest(
        job.shop.cutters,
        named,
        fits=lambda cutter: cutter.radius <= concave and cutter.flute_length >= depth,
        refusal=refusal,
    )
