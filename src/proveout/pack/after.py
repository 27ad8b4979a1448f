"""After the cut: everything until the parts are in use, in order, in the words of the sheet's last page.

The rules of the trade here are common practice, no source.
"""

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass

from proveout.job.records import (
    CouponWanted,
    DrawnWanted,
    KnobWanted,
    OtherMeans,
    StopWanted,
    StrapWanted,
    Wanted,
)
from proveout.pack.coupon_words import coupon_steps
from proveout.pack.finishing import finish_steps
from proveout.pack.fitted import fitted
from proveout.pack.in_use import use_steps
from proveout.pack.made import Made
from proveout.pack.press import press_rows, press_steps
from proveout.pack.sizes import listed, some
from proveout.quantity import show_length


@dataclass(frozen=True, slots=True, kw_only=True)
class Stage:
    """A part of the work with its steps; the pressing has a table besides."""

    head: str
    steps: tuple[str, ...]


def after_blocks(made: Made) -> dict[str, object]:
    """What the sheet sets of it: stages before the pressing table, the table, and stages after it."""
    before = (
        _stage("Clean up while it is still held", _clean(made)),
        _stage("Free the parts", _free(made)),
        _stage("Measure the first article, then ease the edges", _ease(made)),
        _stage("Try the fits", coupon_steps(made)),
        _stage("Press in the hardware", press_steps(made)),
    )
    after = (
        _stage("Finish", () if _only_coupons(made) else finish_steps(made)),
        _stage("Put them to use", (*use_steps(made), *_keep())),
    )
    numbered = [one for one in (*before, *after) if one.steps]
    stages = [
        {"head": f"{number}. {one.head}", "steps": list(one.steps)} for number, one in enumerate(numbered, 1)
    ]
    split = sum(1 for one in before if one.steps)
    return {"before": stages[:split], "press": press_rows(made), "after": stages[split:]}


def _only_coupons(made: Made) -> bool:
    return all(isinstance(wanted.pattern, CouponWanted) for wanted in made.job.wanted)


def _stage(head: str, steps: Iterator[str] | tuple[str, ...]) -> Stage:
    return Stage(head=head, steps=tuple(steps))


def _keep() -> tuple[str, ...]:
    return ("Keep the offcut with its thickness written on it.",)


# Clean up


def _clean(made: Made) -> Iterator[str]:
    yield "Spindle off, machine isolated; wait until it stands."
    recesses = " Every recess too: a chip under a head makes it stand proud." if _captive(made) else ""
    yield f"Vacuum, don't blow: blown dust goes into eyes and lungs.{recesses}"
    yield "Mark every part with its name, and which face was up."


def _captive(made: Made) -> bool:
    """Whether a recess holds a head or a nut."""
    return any(one.hardware.form != "dowel" for one in fitted(made))


# Free the parts


def _free(made: Made) -> Iterator[str]:
    yield from _take_off(made)
    if not made.setup.tabs:
        yield "The parts are free: lift them out one by one, and don't let any drop."
        return
    yield _tabs(made)
    yield (
        "Clamp the sheet to the bench. Saw or chisel each tab through a hair outside the part, with the "
        "grain, so that a split runs into the waste; both hands behind the edge."
    )
    yield "Hold a part when its last tab goes. Sand the stubs flush on a flat board, no further."


def _take_off(made: Made) -> Iterator[str]:
    """What held the sheet, taken off in an order in which nothing drops or flies."""
    means = made.job.means
    if means.vacuum:
        yield "Vacuum pump off only now, with the spindle at rest. Loose parts move as the air comes in."
    if means.screws:
        yield f"Take out {_all(len(means.screws), 'screw')} and count: a saw or chisel must not meet one."
    if made.job.clamps:
        yield f"Undo {_all(len(made.job.clamps), 'clamp')}{_lift(means)}."
    if means.tape:
        yield (
            "Tape: slide a thin wooden or plastic wedge under an edge and lift slowly. Warmth loosens it; "
            "rub the rest off with the tape maker's solvent, away from sparks."
        )


def _all(count: int, what: str) -> str:
    """The one clamp; both clamps; all 4 clamps."""
    return f"the one {what}" if count == 1 else f"{'both' if count == 2 else f'all {count}'} {what}s"


def _lift(means: OtherMeans) -> str:
    if means.dowels:
        return "; lift the sheet straight up off its dowels"
    return "" if means.tape else "; lift the sheet onto a bench"


def _tabs(made: Made) -> str:
    """How many tabs stand where, and how large they are."""
    kinds = {one.name: one.part.name for one in made.placed}
    of_part = Counter(tab.part for tab in made.setup.tabs)
    counts: dict[str, set[int]] = {}
    for part, count in of_part.items():
        counts.setdefault(kinds.get(part, part), set()).add(count)
    said = listed(f"{' or '.join(map(str, sorted(each)))} on each {name}" for name, each in counts.items())
    wide, high = (
        show_length(max(sizes), made.job.units)
        for sizes in zip(*((tab.length, tab.height) for tab in made.setup.tabs), strict=True)
    )
    total = some(len(made.setup.tabs), "tab")
    return f"{total}, black in the picture: {said}; {wide} wide, {high} high, at the bottom of the cut."


# Ease the edges


def _ease(made: Made) -> Iterator[str]:
    yield (
        "Measure one of each on the form below before any easing, sanding or finish: its sizes are those of "
        "the cut."
    )
    units = made.job.units
    for wanted in made.job.wanted:
        yield f"{wanted.name}: {_edges(wanted, *(show_length(one, units) for one in _radii(units)))}"
    if _captive(made):
        start = show_length(0.25 if units == "mm" else 0.254, units)
        yield (
            "Leave a recess's edge sharp: easing it shortens the flats that hold. Break it by "
            f"{start} at most, to start the hardware."
        )


def _radii(units: str) -> tuple[float, float]:
    """What a hand likes, and what only takes a sharp edge away."""
    return (2.0, 0.5) if units == "mm" else (25.4 / 16, 25.4 / 64)


def _edges(wanted: Wanted, hand: str, sharp: str) -> str:
    match wanted.pattern:
        case KnobWanted():
            return (
                f"round the lobes' edges to about {hand}, a hand turns them; the face that bears stays flat."
            )
        case StrapWanted():
            return f"round the nose's and the upper edges to about {hand}; the underside stays flat and bare."
        case StopWanted():
            return f"break the edges to {sharp}; the face that the work meets stays flat and bare."
        case CouponWanted():
            return "leave the edges of its recesses or holes as they are cut: easing changes the trial."
        case DrawnWanted():
            return (
                f"round to about {hand} what a hand touches, break the rest to {sharp}; not what must mate."
            )
