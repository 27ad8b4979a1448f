"""The finish in words: before or after the hardware, what its film does to a fit, and its cautions.

The rules are common practice, no source.
"""

from collections.abc import Iterator
from typing import Final

from proveout.fit.film import film_figure
from proveout.job.records import Finish, StrapWanted
from proveout.pack.fitted import fitted
from proveout.pack.made import Made
from proveout.pack.sizes import listed, some
from proveout.quantity import show_fine

# Rags with these in them heat up by themselves while they dry.
DRYING_OILS: Final = ("oil", "wipe-on varnish")


def finish_steps(made: Made) -> Iterator[str]:
    """What to do about a finish, in order; one line where the parts stay bare."""
    finish = made.job.finish
    if finish is None:
        yield 'The job states no finish: leave the parts bare, or write finish = "oil" in it for more here.'
        return
    yield _when(made, finish)
    if finish.kind == "water-based":
        yield "Water raises the grain: wipe with a damp cloth, let dry, sand with 240 grit, then finish."
    yield (
        f"{some(finish.coats, 'thin coat')} of {called(finish)}: wipe on, wipe off, let each dry. Time, air "
        "and gloves as the tin says."
    )
    yield _off(made)
    if finish.kind in DRYING_OILS:
        yield (
            "Fire: oily rags heat up by themselves and can burst into flame. Spread them flat outdoors until "
            "they are stiff, or drown them in a closed metal can; never a heap, never the bin."
        )


def called(finish: Finish) -> str:
    """A finish as one asks for it."""
    return "water-based finish" if finish.kind == "water-based" else finish.kind


def _when(made: Made, finish: Finish) -> str:
    """Hardware before the finish, since the film would take its room; loose fits after it."""
    film = film_figure(made.job)
    low, high = (film.low or 0.0, film.high or 0.0) if film else (0.0, 0.0)
    ends = [show_fine(end, made.job.units) for end in (low, high)]
    narrows = f"a coated hole or recess becomes {ends[0]} to {ends[1]} narrower"
    if not fitted(made):
        return f"Keep it out of holes and slots, or sand them after: {narrows}."
    return (
        f"After the hardware is in: {narrows}, and glue holds on bare wood only. What is to slide goes in "
        "when all is dry; plug its hole until then."
    )


def _off(made: Made) -> str:
    straps = [one.name for one in made.job.wanted if isinstance(one.pattern, StrapWanted)]
    noses = f"the underside of {listed(straps)}, " if straps else ""
    return f"None of it on faces that must grip or stick: {noses}faces for tape, faces to be glued."
