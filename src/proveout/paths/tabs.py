"""Tabs: how many, how long, and where on a part's outline."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt
import shapely
from shapely import Polygon

from proveout.curve import Curve, Point
from proveout.finding import Finding, Level
from proveout.paths.along import direction, heading, place
from proveout.quantity import show_length
from proveout.setup import Tab

Floats = npt.NDArray[np.float64]

LEAST_WEB: Final = 2.0  # mm of waste beside the kerf that a tab needs to hold on to
# How unwelcome a tab is where the outline is so; compared only with one another.
ROUND_TIGHT: Final = 1.0  # a corner, or an arc tighter than the cutter is wide: awkward to sand
HOLLOW: Final = 2.0  # a concave stretch: out of the sanding block's reach
NOTHING_BEHIND: Final = 8.0  # the waste strip behind the kerf is thinner than LEAST_WEB
UNEVEN: Final = 1.0  # at the end of the range by which a tab may leave its even place
SLACK: Final = 0.3  # of the spacing: that range


@dataclass(frozen=True, slots=True, kw_only=True)
class TabsWanted:
    """Tabs that a part shall hang on."""

    waist: float  # what is left at the narrowest, along the outline
    height: float  # above the bed
    spacing: float  # along the outline, no more than this
    least: int = 3  # on one outline

    def __post_init__(self) -> None:
        if min(self.waist, self.height, self.spacing) <= 0 or self.least < 1:
            raise ValueError(f"tabs need a waist, a height, a spacing and a number above zero: {self}")


@dataclass(frozen=True, slots=True, kw_only=True)
class TabPlan:
    """Tabs on one outline ring."""

    middles: tuple[float, ...]  # lengths along the ring
    programmed: float  # length over which the cutter stays up
    height: float
    tabs: tuple[Tab, ...]
    findings: tuple[Finding, ...]


def programmed_length(waist: float, diameter: float) -> float:
    """Length over which the cutter's centre must stay up to leave a waist, mm: waist + D.

    The cutter cuts one radius into the tab from either end; a programmed length of a diameter or less
    leaves nothing. Derived from the swept discs.

    Raises:
        ValueError: a waist of zero or less
    """
    if waist <= 0:
        raise ValueError(f"a tab with a waist of {waist:g} mm leaves nothing to hold the part")
    return waist + diameter


def tab_count(perimeter: float, spacing: float, least: int = 1) -> int:
    """Number of tabs on an outline, evenly spread: perimeter over spacing, rounded up; common practice."""
    return max(least, math.ceil(perimeter / spacing - 1e-9))


def tab_plan(
    part: str,
    ring: Curve,
    diameter: float,
    wanted: TabsWanted,
    *,
    others: Sequence[Polygon] = (),
    sheet: tuple[float, float] | None = None,
) -> TabPlan:
    """Where a part's tabs go: as even as the outline allows, on its straight or bulging stretches.

    Args:
        part: name
        ring: the cutter's path round the part, clockwise
        diameter: of the cutter
        wanted: waist, height, spacing
        others: outlines of the other parts on the sheet
        sheet: size of the stock, where its edges matter
    """
    programmed = programmed_length(wanted.waist, diameter)
    room = int(ring.length / (programmed + diameter))
    count = min(tab_count(ring.length - math.pi * diameter, wanted.spacing, wanted.least), room)
    if count < 1:
        return TabPlan(
            middles=(),
            programmed=programmed,
            height=wanted.height,
            tabs=(),
            findings=(_no_room(part, wanted),),
        )
    samples = int(min(max(ring.length, 120), 720))
    dislike, web = _dislikes(ring, diameter, samples, others, sheet)
    width = programmed * samples / ring.length
    spans = _averaged(dislike, width)
    spans = spans + _averaged(spans, width) / 4  # draws a tab to the middle of a stretch longer than the tab
    slack = min(SLACK, max(0.0, 1 - (programmed + diameter) * count / ring.length) / 2)
    chosen = _spread(spans, count, slack)
    step = ring.length / samples
    middles = tuple(index * step for index in chosen)
    tabs = tuple(
        Tab(part=part, at=_on_outline(ring, at, diameter / 2), length=wanted.waist, height=wanted.height)
        for at in middles
    )
    thin = [float(web[index]) for index in chosen if web[index] < LEAST_WEB]
    found = [_few(part, wanted, count)] if count < min(2, wanted.least) else []
    found += [_thin_web(part, min(thin), len(thin))] if thin else []
    return TabPlan(
        middles=middles, programmed=programmed, height=wanted.height, tabs=tabs, findings=tuple(found)
    )


def _on_outline(ring: Curve, at: float, radius: float) -> Point:
    """The point of the part's outline beside a point of a clockwise ring: to its right."""
    (x, y), (ux, uy) = place(ring, at), direction(ring, at)
    return x + radius * uy, y - radius * ux


# What speaks against a place


def _dislikes(
    ring: Curve, diameter: float, samples: int, others: Sequence[Polygon], sheet: tuple[float, float] | None
) -> tuple[Floats, Floats]:
    """How unwelcome a tab is at each of evenly spaced points, and how wide the waste behind the kerf is."""
    step = ring.length / samples
    points, cost = [], np.zeros(samples)
    begins, index = [0.0], 0
    for one in ring.segments:
        begins.append(begins[-1] + one.length)
    for sample in range(samples):
        at = sample * step
        while index + 1 < len(ring.segments) and at > begins[index + 1]:
            index += 1
        piece = ring.segments[index]
        points.append(piece.at((at - begins[index]) / piece.length))
        if piece.centre is not None:
            is_tight = piece.radius - diameter / 2 < diameter
            cost[sample] = HOLLOW if piece.ccw else ROUND_TIGHT * is_tight
    for number in range(len(ring.segments)):
        if _is_inner_corner(ring, number):
            cost[round(begins[number] / step) % samples] += HOLLOW * samples / 20
    web = _web(np.array(points), diameter, others, sheet)
    return cost + NOTHING_BEHIND * (web < LEAST_WEB), web


def _is_inner_corner(ring: Curve, number: int) -> bool:
    came = heading(ring.segments[number - 1], ring.segments[number - 1].end)
    goes = heading(ring.segments[number], ring.segments[number].start)
    return abs(came[0] * goes[1] - came[1] * goes[0]) > 0.1


def _web(
    points: Floats, diameter: float, others: Sequence[Polygon], sheet: tuple[float, float] | None
) -> Floats:
    """Width of the waste between this kerf and the next, or the sheet's edge, mm."""
    web = np.full(len(points), np.inf)
    low, high = points.min(axis=0), points.max(axis=0)
    reach = 2 * diameter + LEAST_WEB
    box = shapely.box(low[0] - reach, low[1] - reach, high[0] + reach, high[1] + reach)
    near = [one for one in others if one.intersects(box)]
    if near:
        gap = shapely.distance(shapely.points(points), shapely.MultiPolygon(near))
        web = np.minimum(web, gap - 1.5 * diameter)
    if sheet:
        edge = np.minimum(points, np.array(sheet) - points).min(axis=1)
        web = np.minimum(web, edge - diameter / 2)
    return web


def _averaged(cost: Floats, width: float) -> Floats:
    """Mean over a window of so many samples about each, round the ring."""
    half = max(0, round(width / 2))
    around = np.concatenate((cost[len(cost) - half :], cost, cost[:half]))
    total = np.concatenate(([0.0], np.cumsum(around)))
    window = 2 * half + 1
    mean: Floats = (total[window:] - total[:-window]) / window
    return mean


def _spread(cost: Floats, count: int, slack: float) -> tuple[int, ...]:
    """Indices of evenly spread places, each shifted a little where that finds a better one."""
    samples = len(cost)
    spacing = samples / count
    reach = int(slack * spacing)
    shifts = np.arange(-reach, reach + 1)
    penalty = UNEVEN * (shifts / max(reach, 1)) ** 2
    phases = np.arange(math.ceil(spacing))
    even = np.floor(phases[:, None] + spacing * np.arange(count)[None, :]).astype(int)
    trial = (even[:, :, None] + shifts) % samples
    total = np.round(cost[trial] + penalty, 9)
    best = total.argmin(axis=2)
    phase = int(total.min(axis=2).sum(axis=1).round(9).argmin())
    return tuple(sorted(int(trial[phase, number, best[phase, number]]) for number in range(count)))


# What a person should hear of


def _no_room(part: str, wanted: TabsWanted) -> Finding:
    return Finding(
        level=Level.STOP,
        kind="piece-loose",
        text=f"{part}: the outline is too short for a tab with a waist of {show_length(wanted.waist)}.",
        remedy="Make the tabs shorter, use a thinner cutter, or hold the part by other means.",
    )


def _few(part: str, wanted: TabsWanted, count: int) -> Finding:
    return Finding(
        level=Level.CAUTION,
        kind="tab-weak",
        text=f"{part}: the outline has room for {count} of the {wanted.least} tabs that were wanted.",
        remedy="Make the tabs shorter or use a thinner cutter.",
    )


def _thin_web(part: str, web: float, count: int) -> Finding:
    strip = "no waste" if web <= 0 else f"a strip {show_length(web)} wide"
    tabs = "one tab holds" if count == 1 else f"{count} tabs hold"
    return Finding(
        level=Level.CAUTION,
        kind="tab-weak",
        text=f"{part}: {tabs} on to {strip} between two cuts, which may break away.",
        remedy=f"Lay the parts at least {show_length(LEAST_WEB)} further apart.",
    )
