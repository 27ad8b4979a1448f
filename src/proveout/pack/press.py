"""How each kind of hardware goes into its part: by what, on what support, with how much force, when to stop.

The rules are common practice, no source; forces and shares are shown where figures of them exist.
"""

from collections.abc import Iterator
from typing import Final

from proveout.fit.sized import hundred
from proveout.pack.fitted import Fitted, figure_of, fitted
from proveout.pack.made import Made
from proveout.quantity import show, show_length
from proveout.shelf.tables import thread

PRESSED: Final = ("light press", "firm press")
# A floor thinner than this share of the bolt's diameter gives way under a press that isn't backed right
# under it. Common practice, no source.
THIN_FLOOR: Final = 1.0


def press_rows(made: Made) -> list[dict[str, str]]:
    """A row for each kind of fitted feature, in the order of pressing: what can be taken out again first."""
    order = {"slides": 0, "snug": 1, "light press": 2, "firm press": 3}
    return [_row(made, one) for one in sorted(fitted(made), key=lambda one: order.get(one.fit, 3))]


def _row(made: Made, one: Fitted) -> dict[str, str]:
    return {
        "what": f"{one.part}: {one.count} x {one.what}",
        "fit": one.fit,
        "how": _how(one),
        "support": _support(made, one),
        "expect": _expect(made, one),
    }


def _how(one: Fitted) -> str:
    if one.hardware.form == "dowel":
        return _DOWEL[one.fit]
    if one.fit not in PRESSED:
        return _BY_HAND[one.fit]
    draw = (
        "put a large washer and a nut on the bolt behind the part and tighten"
        if one.hardware.form == "hex head"
        else "put a bolt with a large washer through from behind and tighten"
    )
    return f"Vice and a flat block over the whole of it, slowly. Or draw it in: {draw}."


_BY_HAND: Final = {
    "slides": "By finger. It drops out again: nothing but glue or the bolt holds it.",
    "snug": "By thumb, or with a flat block under the hand.",
}
_DOWEL: Final = {
    "slides": "By finger, in and out.",
    "snug": "By hand, with a twist.",
    "light press": "Break its edge. Vice and a flat block, a little at a time: the air must get out.",
    "firm press": "Break its edge. Vice and a flat block, a little at a time: the air must get out.",
}


def _support(made: Made, one: Fitted) -> str:
    if one.hardware.form == "dowel":
        return "Flat and solid, with a hole under each dowel: the air and its end go there."
    left = figure_of(made, one, "floor left")
    if left is None:
        return "Flat and solid all round its hole."
    wood = show_length(left.value, made.job.units)
    if left.value < THIN_FLOOR * thread(one.hardware.size).diameter:
        return f"Flat and hard right under the floor, only {wood} of wood; a hole for the bolt alone."
    return f"Flat and solid all round its hole; {wood} of wood lie under it."


def _expect(made: Made, one: Fitted) -> str:
    """Force and shares, where they were reckoned."""
    return " ".join((*_force(made, one), *_shares(made, one)))


def _force(made: Made, one: Fitted) -> Iterator[str]:
    force = figure_of(made, one, "press force")
    if force is None:
        return
    range_ = ""
    if force.low is not None and force.high is not None:
        low, high = (show(end, force.unit, made.job.units) for end in (force.low, force.high))
        range_ = f" ({low.rpartition(' ')[0]} to {high})"
    yield f"About {show(force.value, force.unit, made.job.units)}{range_}."
    floor = figure_of(made, one, "floor strength")
    if floor and (force.high or force.value) > floor.value:
        yield f"The floor alone stands {show(floor.value, floor.unit, made.job.units)}: back it well."


def _shares(made: Made, one: Fitted) -> Iterator[str]:
    names = ("too loose", "right", "too tight")
    shares = [figure_of(made, one, f"share {name}") for name in names]
    known = [share.value for share in shares if share is not None]
    if len(known) == len(names):
        counts = zip(hundred(known), names, strict=True)
        yield f"Of 100 parts {', '.join(f'{count} {name}' for count, name in counts)}."


def press_steps(made: Made) -> Iterator[str]:
    """What holds for all of them; nothing where nothing is fitted."""
    rows = fitted(made)
    if not rows:
        return
    several = " The easier fits come first." if len({one.fit for one in rows}) > 1 else ""
    yield f"Eyes protected. One of each first: if it fits, the rest.{several}"
    hexed = [one for one in rows if one.hardware.form != "dowel"]
    if any(one.hardware.form == "hex head" and one.fit in PRESSED for one in rows):
        yield "Bolts of the length that the last stage says: what is pressed in stays in."
    if any(one.fit in PRESSED for one in rows):
        corners = ", the hexagon's corners to the recess's" if hexed else ""
        yield (
            f"Start square{corners}. Press straight, never with a hammer near a rim: wood splits there. "
            "Stop when it tilts, or when the wood lifts or cracks: push it out from behind, look for a chip."
        )
    if hexed:
        yield (
            "It must lie on the floor. Tighten by hand and feel: if it turns in the wood, take it out, clean "
            "steel and wood, and glue it in with epoxy."
        )
    if any(one.hardware.form == "dowel" for one in rows):
        yield "A dowel that is loose or splits the wood: stop, measure the dowels, make the job again."
