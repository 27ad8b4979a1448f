"""What holds a blank besides clamps, in words and as JSON."""

from collections.abc import Iterator
from typing import Any

from proveout.hold.form_closure import Free
from proveout.hold.others import Others
from proveout.hold.thin import Lift
from proveout.quantity import System, show, show_fine, show_length


def means_lines(others: Others, units: System) -> Iterator[str]:
    """What each of them stands, and what the stops leave free."""
    yield "besides clamps:"
    for one in others.figures:
        what = one.name.removeprefix("hold.")
        span = show(one.low or 0.0, one.unit, units)
        if one.high is not None:
            span += f" to {show(one.high, one.unit, units)}"
        yield f"  {_plainly(what)} {span}; counted: {show(one.low or 0.0, one.unit, units)}"
    for name, force in others.towards:
        yield f"  pushed straight at {name} the blank stands {force:.0f} N"
    if others.towards:
        yield f"  {free_words(others.free, units)}"


def lift_lines(lifts: Lift, units: System) -> Iterator[str]:
    """How far the hardest up-cut lifts the blank between what holds it."""
    yield (
        f"an up-cut's pull of {lifts.pull:.1f} N lifts it by {show_fine(lifts.lift, units)} at most where "
        f"nothing holds it; {show_fine(lifts.limit, units)} is what its cuts can stand"
    )


def lift_record(lifts: Lift) -> dict[str, float]:
    """The same as plain data; N and mm."""
    return {"pull": lifts.pull, "lift": lifts.lift, "limit": lifts.limit}


def _plainly(name: str) -> str:
    what, _, kind = name.rpartition(".")
    return {
        "shear": f"{what} stands sideways",
        "pull": f"{what} stands straight up",
        "force": f"{what} presses with",
        "stands": f"{what} stands",
    }[kind]


def free_words(free: Free | None, units: System) -> str:
    """What the stops alone leave the blank of motion."""
    if free is None:
        return "the stops alone close the blank in: it can neither shift nor turn"
    if free.centre is None:
        x, y = free.way
        way = {(1, 0): "to the right", (-1, 0): "to the left", (0, 1): "to the back", (0, -1): "to the front"}
        said = way.get((round(x), round(y)), "slantwise") if max(abs(x), abs(y)) > 0.99 else "slantwise"
        return f"the stops alone leave it free to shift {said}"
    at = ", ".join(show_length(one, units) for one in free.centre)
    return f"the stops alone leave it free to turn {'left' if free.turn > 0 else 'right'} about ({at})"


def means_record(others: Others) -> dict[str, Any]:
    """The same as plain data; N and mm."""
    return {
        "counted": {one.name.removeprefix("hold."): one.low for one in others.figures},
        "towards": dict(others.towards),
        "closed_in": others.free is None,
    }
