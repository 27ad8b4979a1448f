"""Which cutter cuts a part's outline."""

import math
from typing import Final

from proveout.curve import Curve
from proveout.drawing.corners import goes_round, least_inside_radius
from proveout.finding import InputError
from proveout.fit.cutters import largest, no_cutter
from proveout.fit.holes import through_depth
from proveout.job.records import Cutter, Job
from proveout.quantity import show_length

TIGHT: Final = 1e-6  # mm of radius by which an arc may be drawn too tight


def outline_cutter(job: Job, outline: Curve, *, name: str, named: int | None) -> Cutter:
    """The largest flat cutter that follows the outline and reaches through, or the one that was named.

    Raises:
        InputError: no cutter does both; the message says what would
    """
    concave, depth = least_inside_radius(outline, hole=False), through_depth(job)

    def refusal(choice: tuple[Cutter, ...]) -> InputError:
        wide = "" if math.isinf(concave) else f" of at most {show_length(2 * concave, job.units)}"
        needs = f"It takes a flat cutter{wide} with flutes of at least {show_length(depth, job.units)}."
        return no_cutter(f"the outline of {name}", needs, choice, named, job.units)

    return largest(
        job.shop.cutters,
        named,
        fits=lambda cutter: (
            cutter.radius <= concave + TIGHT
            and cutter.flute_length >= depth
            and goes_round(outline, cutter.radius, hole=False)
        ),
        refusal=refusal,
    )
