"""The film of a wiped finish: how thick it is, and by how much it narrows a hole."""

from typing import Final

from proveout.figure import Figure
from proveout.job.records import FinishKind, Job

# mm that one thin coat, wiped on and wiped off, leaves on a surface when it is dry. Oil stays in the wood;
# the others are far thinner than a brushed coat.
COAT: Final[dict[FinishKind, tuple[float, float]]] = {
    "oil": (0.0, 0.003),
    "wipe-on varnish": (0.005, 0.015),
    "water-based": (0.005, 0.02),
}
SOURCE: Final = (
    "common practice, no source: a brushed coat, reckoned from its coverage, is 0.02 to 0.045 mm, and three "
    "or four wiped ones make one of it"
)
RUNS: Final = 2.0  # times as thick in a corner or hole where it gathers; project default


def film(job: Job) -> tuple[float, float]:
    """The film that a job's finish leaves on a surface, at its thinnest and its thickest, mm.

    The thickest is that of a recess or hole, where a finish gathers. Nothing where no finish is stated. A
    hole or recess that is coated becomes narrower by twice that.
    """
    if job.finish is None:
        return 0.0, 0.0
    low, high = COAT[job.finish.kind]
    return low * job.finish.coats, high * job.finish.coats * RUNS


def film_figure(job: Job) -> Figure | None:
    """By how much a coated hole or recess becomes narrower; None where the parts stay bare."""
    if job.finish is None:
        return None
    low, high = (2 * end for end in film(job))
    coats = f"{job.finish.coats} thin coat{'s' if job.finish.coats > 1 else ''} of {job.finish.kind}"
    return Figure(
        name="finish.narrows",
        value=(low + high) / 2,
        unit="mm",
        rule=f"Twice the film of {coats}, up to {RUNS:g} times as thick where it gathers in a hole.",
        source=SOURCE,
        low=low,
        high=high,
    )
