"""What a person should hear of when a cut can't be made as it was asked for."""

from collections.abc import Iterator

from proveout.finding import Finding, Level
from proveout.job.records import Cutter
from proveout.parts.part import Part
from proveout.paths.clear import Clearing
from proveout.paths.outline import outline_unreached
from proveout.quantity import show_length


def no_such_cutter(where: str, number: int) -> Finding:
    """A cutter that the shop does not have."""
    return Finding(
        level=Level.STOP,
        kind="no-cutter",
        text=f"{where}: there is no cutter number {number}.",
        remedy=f"Add cutter {number} to the shop, or name another for this part.",
    )


def wrong_cutter(where: str, cutter: Cutter) -> Finding:
    """A cutter whose shape makes no upright walls."""
    return Finding(
        level=Level.STOP,
        kind="no-cutter",
        text=f"{where}: cutter {cutter.number} ({cutter.name}) can't cut it: only a flat cutter makes "
        "upright walls.",
        remedy="Name a flat cutter, or a drill of the hole's own diameter.",
    )


def no_cutting_centre(where: str, cutter: Cutter) -> Finding:
    """A hole as wide as a cutter that can't go straight down."""
    return Finding(
        level=Level.STOP,
        kind="no-cutter",
        text=f"{where}: cutter {cutter.number} ({cutter.name}) is as wide as the hole, but does not cut at "
        "its centre: it can't go straight down.",
        remedy="Name a drill, a centre-cutting cutter or a thinner one for the hole.",
    )


def out_of_reach(where: str, plan: Clearing, cutter: Cutter, tolerance: float) -> Iterator[Finding]:
    """What of a region the cutter does not come to."""
    if not plan.nodes:
        yield Finding(
            level=Level.STOP,
            kind="no-cutter",
            text=f"{where}: cutter {cutter.number} ({show_length(cutter.diameter)}) does not fit in.",
            remedy="Name a thinner cutter, or make the feature wider.",
        )
    elif plan.unreached:
        spots = len(plan.unreached)
        area = sum(area for _, area in plan.unreached)
        yield Finding(
            level=Level.STOP,
            kind="material-left",
            text=f"{where}: cutter {cutter.number} ({show_length(cutter.diameter)}) can't reach {spots} "
            f"{'place' if spots == 1 else 'places'}, {area:.2f} mm2 in all, within {show_length(tolerance)}.",
            remedy="Name a thinner cutter, or round the corners to its radius.",
        )


def point_too_long(where: str, point: float, deepest: float) -> Finding:
    """A through hole that a pointed drill can't open."""
    return Finding(
        level=Level.STOP,
        kind="material-left",
        text=f"{where}: the drill's point is {show_length(point)} long, but may go only "
        f"{show_length(-deepest)} below the board: the hole would not open to its full width.",
        remedy=f"Lay a waste board of at least {show_length(point)} under the work and allow it to be cut, "
        "or name a flat cutter for the hole.",
    )


def cone_left(where: str, point: float) -> Finding:
    """A blind hole with a pointed bottom."""
    return Finding(
        level=Level.CAUTION,
        kind="material-left",
        text=f"{where}: the drill's point leaves a cone {show_length(point)} high at the bottom of the hole.",
        remedy="Make sure that the pin is shorter, or name a flat cutter for the hole.",
    )


def hollows(part: Part, cutter: Cutter) -> Iterator[Finding]:
    """Hollows of an outline that are tighter than the cutter."""
    spots = outline_unreached(part.outline, cutter.radius)
    if spots:
        yield Finding(
            level=Level.STOP,
            kind="material-left",
            text=f"{part.name}: outline: cutter {cutter.number} ({show_length(cutter.diameter)}) can't get "
            f"into {len(spots)} {'hollow' if len(spots) == 1 else 'hollows'} of the outline.",
            remedy="Name a thinner cutter for the outline, or make its hollows rounder.",
        )


def no_tabs(part: str) -> Finding:
    """A part that nothing holds once it is cut."""
    return Finding(
        level=Level.CAUTION,
        kind="piece-loose",
        text=f"{part}: the outline is cut without tabs.",
        remedy="Hold the part by other means before the last pass, or ask for tabs.",
    )


def tabs_too_high(part: str, height: float) -> Finding:
    """Tabs that are not tabs."""
    return Finding(
        level=Level.CAUTION,
        kind="piece-loose",
        text=f"{part}: tabs {show_length(height)} high are as thick as the board: nothing is cut there.",
        remedy="Make the tabs lower.",
    )
