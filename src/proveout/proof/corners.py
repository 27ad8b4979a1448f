"""Corners: the same programs where the sheet, the cutters and the zero are as far off as they may be.

The proof proper takes the sheet at its thickest and everything else as stated. Each corner takes one end of
every range that the setup states: the thinnest sheet, the widest and the narrowest cutters, the zero too high
and too low; and, one at a time, the zero off to each side. What is found in a corner and not in the middle is
told with the corner it needs.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import product
from typing import Final

from shapely.affinity import translate

from proveout.finding import Finding, Level, is_ready
from proveout.job.records import Cutter
from proveout.motion import shifted
from proveout.proof.trial import Trial, length
from proveout.proof.verdict import Corner
from proveout.setup import IntendedFeature, IntendedPart, Obstacle, PlacedClamp, Setup, Tab

LEAST: Final = 0.005  # mm; a smaller range changes nothing that is judged
LOWER: Final = (
    0.25  # of a bridge's height, by which it may come out lower: it stands twice its load or is told
)

Judge = Callable[[Trial], Sequence[Finding]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Off:
    """How far off everything is in one corner, mm."""

    thin: float = 0.0  # that the sheet is thinner than at its thickest
    wide: int = 0  # 1: cutters at their widest, -1: at their narrowest
    high: float = 0.0  # that the zero lies above its place
    right: float = 0.0
    back: float = 0.0


def corners_of(setup: Setup) -> list[Off]:
    """Every corner that the setup's stated ranges have; none where it states none."""
    thin = setup.stock.thickest - setup.stock.thinnest
    across, height = setup.zero_error
    thins = (0.0, thin) if thin > LEAST else (0.0,)
    wides = (1, -1) if any(one.diameter_error + one.runout > LEAST for one in setup.cutters) else (0,)
    highs = (height, -height) if height > LEAST else (0.0,)
    found = [Off(thin=one, wide=two, high=three) for one, two, three in product(thins, wides, highs)]
    if across > LEAST:
        found += [Off(right=across), Off(right=-across), Off(back=across), Off(back=-across)]
    return [off for off in found if off != Off()]


def at_corners(
    run: Trial, middle: Sequence[Finding], judge: Judge
) -> tuple[list[Finding], tuple[Corner, ...]]:
    """What is found at the corners alone, each thing once, and how each corner ends.

    Args:
        run: the programs on the setup as it is stated
        middle: what was found there
        judge: everything there is to say about a changed run
    """
    known: dict[tuple[str, str, str], int] = {}
    _learn(known, middle)
    found: list[Finding] = []
    ends = []
    for off in corners_of(run.setup):
        name = _named(run.setup, off)
        all_here = judge(moved(run, off))
        here = [finding for finding in all_here if _weight(finding) > known.get(_about(finding), -1)]
        ends.append(Corner(name=name, ready=is_ready([*middle, *all_here]), findings=len(here)))
        _learn(known, here)
        found += [replace(finding, text=f"{name}: {_lowered(finding.text)}") for finding in here]
    return found, tuple(ends)


def _learn(known: dict[tuple[str, str, str], int], findings: Sequence[Finding]) -> None:
    """Keep the gravest that is known of each thing: a caution must not hide the stop that it becomes."""
    for finding in findings:
        known[_about(finding)] = max(_weight(finding), known.get(_about(finding), -1))


def _weight(finding: Finding) -> int:
    return {Level.NOTE: 0, Level.CAUTION: 1, Level.STOP: 2}[finding.level]


def _about(finding: Finding) -> tuple[str, str, str]:
    return finding.kind, finding.program, finding.name


def _lowered(text: str) -> str:
    """A sentence that goes on after a colon; a name's own capital stays."""
    return text if text[1:2].isupper() else text[:1].lower() + text[1:]


def _named(setup: Setup, off: Off) -> str:
    """A corner in words: "With the sheet 11.71 mm thick and the widest cutters"."""
    said = []
    if off.thin:
        said.append(f"the sheet {length(setup, setup.stock.thinnest)} thick")
    if off.wide:
        said.append("the widest cutters" if off.wide > 0 else "the narrowest cutters")
    for by, way, other in (
        (off.high, "too high", "too low"),
        (off.right, "to the right", "to the left"),
        (off.back, "to the back", "to the front"),
    ):
        if by:
            said.append(f"the zero {length(setup, abs(by))} {way if by > 0 else other}")
    return "With " + (" and ".join((", ".join(said[:-1]), said[-1])) if len(said) > 1 else said[0])


def moved(run: Trial, off: Off) -> Trial:
    """The run where everything is off by so much.

    Blind floors that are measured from the sheet's top go down with it where the zero is on it. Bridges go
    up and down with the zero, down by a share of their height at most. Intended parts go aside with the zero,
    since a sheet has no other place for them.
    """
    setup = run.setup
    on_top = abs(setup.zero[2] - setup.stock.thickest) < 1e-9
    drop = -off.thin if on_top else 0.0
    by = (off.right, off.back, off.high + drop)
    return replace(run, setup=_setup(setup, off, drop), motion=shifted(run.motion, by))


def _setup(setup: Setup, off: Off, drop: float) -> Setup:
    stock, aside = setup.stock, (off.right, off.back)
    x, y, z = setup.zero
    return replace(
        setup,
        stock=replace(
            stock, thickest=stock.thickest - off.thin, mean=min(stock.mean, stock.thickest - off.thin)
        ),
        zero=(x + off.right, y + off.back, z + off.high + drop),
        cutters=tuple(_cutter(one, off.wide) for one in setup.cutters),
        clamps=tuple(_lower_clamp(one, off.thin) for one in setup.clamps),
        parts=tuple(_part(one, aside, drop) for one in setup.parts),
        tabs=tuple(_tab(one, aside, off.high + drop) for one in setup.tabs),
    )


def _cutter(cutter: Cutter, wide: int) -> Cutter:
    by = {1: cutter.diameter_error + cutter.runout, -1: -cutter.diameter_error, 0: 0.0}[wide]
    # A bull nose keeps a flat end: its corner grows and shrinks with it.
    corner = cutter.corner_radius and cutter.corner_radius * (1 + by / cutter.diameter)
    return replace(cutter, diameter=cutter.diameter + by, corner_radius=corner)


def _lower_clamp(clamp: PlacedClamp, by: float) -> PlacedClamp:
    return replace(clamp, bar=_lower(clamp.bar, by), bolt=tuple(_lower(one, by) for one in clamp.bolt))


def _lower(solid: Obstacle, by: float) -> Obstacle:
    """A solid that stands on the sheet; one that stands on the bed only gets shorter."""
    bottom = solid.bottom - by if solid.bottom > 0 else solid.bottom
    return replace(solid, bottom=bottom, top=solid.top - by)


def _part(part: IntendedPart, aside: tuple[float, float], drop: float) -> IntendedPart:
    def feature(one: IntendedFeature) -> IntendedFeature:
        floor = one.floor if one.through else one.floor + drop
        return replace(one, region=translate(one.region, *aside), floor=floor)

    return replace(
        part, outline=translate(part.outline, *aside), features=tuple(feature(one) for one in part.features)
    )


def _tab(tab: Tab, aside: tuple[float, float], up: float) -> Tab:
    height = max(tab.height + up, (1 - LOWER) * tab.height)
    return replace(tab, at=(tab.at[0] + aside[0], tab.at[1] + aside[1]), height=height)


def _ends(count: int) -> str:
    return "the other end" if count == 1 else f"{count} ends"


def corner_notes(setup: Setup, corners: Iterator[Corner] | Sequence[Corner]) -> list[str]:
    """What is to be said of the ranges that the proof covers."""
    each = list(corners)
    unsaid = []
    if not any(cutter.diameter_error or cutter.runout for cutter in setup.cutters):
        unsaid.append("errors of the cutters' diameters, runout")
    if not any(setup.zero_error):
        unsaid.append("errors of the zero")
    said = []
    if each:
        more = [_lowered(corner.name) for corner in each if corner.findings]
        ends = f"more is found {'; '.join(more)}" if more else "nothing more is found there"
        said.append(f"Proved also at {_ends(len(each))} of the ranges that are stated: {ends}.")
    if unsaid:
        said.append(f"Not stated, so taken as none: {' and '.join(unsaid)}.")
    return said
