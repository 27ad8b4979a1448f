"""From placed parts and cutting data to moves: the stage itself.

Each cutter's cuts are made once in the part's own frame and then laid where its copies lie; outlines are
cut where they lie, since their tabs look at the neighbours.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

import shapely

from proveout.curve import polygon
from proveout.figure import Figure
from proveout.finding import Finding
from proveout.motion import RAPID, Motion, MotionBuilder, Run, Section, joined
from proveout.parts.part import Part, PlacedPart
from proveout.paths.features import Bench, FeatureCut, feature_cuts
from proveout.paths.lying import LyingOutline, lying_outlines, there
from proveout.paths.order import TraceOrder, bench_of
from proveout.paths.sequence import Turn, Visit, turns, visiting_order
from proveout.paths.travel import SAME, Cut, laid, levels
from proveout.quantity import show_length
from proveout.setup import Tab


@dataclass(frozen=True, slots=True, kw_only=True)
class Traced:
    """The moves of one sheet."""

    runs: tuple[Run, ...]  # in order of running; each starts at the safe height over the stock's corner
    tabs: tuple[Tab, ...]
    findings: tuple[Finding, ...]
    figures: tuple[Figure, ...]


def trace(order: TraceOrder, lying: Sequence[LyingOutline] | None = None) -> Traced:
    """The moves that cut all parts of one sheet, a run for each turn of a cutter.

    Args:
        order: what there is to cut
        lying: the outlines with their tabs, where they have been looked for before
    """
    bench = bench_of(order)
    kinds = tuple(dict.fromkeys(placed.part for placed in order.placed))
    sequence = turns(kinds)
    features = {part: tuple(feature_cuts(bench, part, sequence)) for part in kinds}
    found_lying = lying_outlines(order) if lying is None else lying
    outlines = tuple(_outline_cut(order, bench, one) for one in found_lying)
    runs = [_run(order, turn, features, outlines) for turn in sequence]
    found = [finding for part in kinds for cut in features[part] for finding in cut.findings]
    found += [finding for cut in outlines for finding in cut.findings]
    return Traced(
        runs=tuple(run for run in runs if run is not None),
        tabs=tuple(tab for cut in outlines for tab in cut.tabs),
        findings=tuple(dict.fromkeys(found)),
        figures=tuple(_figures(order, outlines)),
    )


# Outlines


@dataclass(frozen=True, slots=True, kw_only=True)
class _OutlineCut:
    """One part's outline where it lies."""

    placed: PlacedPart
    cuts: tuple[Cut, ...]  # in order
    programmed: float = 0.0  # length of a tab as the cutter goes over it
    tabs: tuple[Tab, ...] = ()
    findings: tuple[Finding, ...] = ()


def _outline_cut(order: TraceOrder, bench: Bench, lying: LyingOutline) -> _OutlineCut:
    cutter = lying.cutter
    if cutter is None:
        return _OutlineCut(placed=lying.placed, cuts=(), findings=lying.findings)
    known = [plan for plan in lying.plans if plan]
    return _OutlineCut(
        placed=lying.placed,
        cuts=lying.cuts(order, bench, order.data(cutter.number, "outline")),
        programmed=known[0].programmed if known else 0.0,
        tabs=tuple(tab for plan in known for tab in plan.tabs),
        findings=(*lying.findings, *(finding for plan in known for finding in plan.findings)),
    )


# Runs


class _Piece(NamedTuple):
    """A cut where it lies, with its title."""

    title: str
    cut: Cut
    after: int | None  # index of the piece that must come first


def _run(
    order: TraceOrder,
    turn: Turn,
    features: dict[Part, tuple[FeatureCut, ...]],
    outlines: Sequence[_OutlineCut],
) -> Run | None:
    at = (0.0, 0.0)
    ordered: list[_Piece] = []
    for wave in (
        _feature_pieces(order, turn.cutter, features) if turn.features else [],
        _outline_pieces(turn.cutter, outlines) if turn.outlines else [],
    ):
        visits = [_visit(piece) for piece in wave]
        ordered += [wave[index] for index in visiting_order(visits, at)]
        at = _visit(ordered[-1]).end if ordered else at
    return _joined(turn.cutter, ordered, order) if ordered else None


def _feature_pieces(
    order: TraceOrder, cutter: int, features: dict[Part, tuple[FeatureCut, ...]]
) -> list[_Piece]:
    pieces: list[_Piece] = []
    for placed in order.placed:
        at: dict[int, int] = {}
        mine = [(n, one) for n, one in enumerate(features[placed.part]) if one.cutter == cutter and one.cut]
        for offset, (number, _) in enumerate(mine):
            at[number] = len(pieces) + offset
        for _, one in mine:
            if one.cut:
                after = at.get(one.after) if one.after is not None else None
                pieces.append(_Piece(f"{placed.name}: {one.name}", laid(one.cut, placed), after))
    return pieces


def _outline_pieces(cutter: int, outlines: Sequence[_OutlineCut]) -> list[_Piece]:
    pieces: list[_Piece] = []
    for one in outlines:
        if one.placed.part.cutter == cutter:
            for number, cut in enumerate(one.cuts):
                after = len(pieces) - 1 if number else None
                pieces.append(_Piece(f"{one.placed.name}: outline", cut, after))
    return pieces


def _visit(piece: _Piece) -> Visit:
    motion = piece.cut.motion
    (x, y, _), (u, v, _) = motion.start[0].tolist(), motion.end[-1].tolist()
    return Visit((x, y), (u, v), float(motion.speed_rpm[0]), piece.after)


def _joined(cutter: int, pieces: Sequence[_Piece], order: TraceOrder) -> Run:
    """The pieces one after the other, from over the stock's corner; linked low where the way is free."""
    cuts = _linked_low([piece.cut.motion for piece in pieces], order, cutter)
    at = (0.0, 0.0, order.safe_z)
    motions: list[Motion] = []
    sections: list[Section] = []
    count = 0
    for piece, motion in zip(pieces, cuts, strict=True):
        link = _link(at, motion)
        named = [
            (first, f"{piece.title}, {title}" if title else piece.title)
            for first, title in piece.cut.sections
        ]
        sections += [Section(count + (first + len(link) if first else 0), title) for first, title in named]
        motions += [link, motion]
        count += len(link) + len(motion)
        x, y, z = motion.end[-1].tolist()
        at = (x, y, z)
    return Run(cutter=cutter, motion=joined(motions), sections=tuple(sections))


def _linked_low(motions: Sequence[Motion], order: TraceOrder, cutter: int) -> list[Motion]:
    """The cuts, lifted to and begun from the low height where the way between them is over free stock."""
    linked = list(motions)
    low, away = order.low_z, order.in_the_way.get(cutter)
    if low is None or away is None:
        return linked
    sheet = shapely.box(0.0, 0.0, *order.sheet) if order.sheet else None
    for number in range(len(linked) - 1):
        before, after = linked[number], linked[number + 1]
        way = shapely.LineString([before.end[-1, :2], after.start[0, :2]])
        free = (sheet is None or sheet.covers(way)) and not away.intersects(way)
        if free and _is_upright(before, -1) and _is_upright(after, 0):
            linked[number] = _ending_at(before, low)
            linked[number + 1] = _beginning_at(after, low)
    return linked


def _is_upright(motion: Motion, number: int) -> bool:
    """Whether a move is a rapid straight up or down."""
    same = bool((motion.start[number, :2] == motion.end[number, :2]).all())
    return same and bool(motion.kind[number] == RAPID)


def _ending_at(motion: Motion, z: float) -> Motion:
    """A cut whose last move, straight up, ends at a height."""
    end = motion.end.copy()
    end[-1, 2] = z
    return replace(motion, end=end)


def _beginning_at(motion: Motion, z: float) -> Motion:
    """A cut whose first move, straight down, begins at a height."""
    start = motion.start.copy()
    start[0, 2] = z
    return replace(motion, start=start)


def _link(at: tuple[float, float, float], motion: Motion) -> Motion:
    moves = MotionBuilder(at)
    moves.cutter, moves.speed_rpm = int(motion.cutter[0]), float(motion.speed_rpm[0])
    x, y, z = motion.start[0].tolist()
    if math.dist(at, (x, y, z)) > SAME:
        moves.rapid((x, y, z))
    return moves.motion()


def outline_check(order: TraceOrder, size: tuple[float, float], at_z: float, feed: float = 20.0) -> Run:
    """The edge of the sheet, then the box of all cutting, traced with the spindle off.

    A person watches it to see that the work lies where the program thinks and that the clamps are cleared.

    Args:
        order: what will be cut
        size: of the sheet
        at_z: height of the tip, above all clamps
        feed: mm/s, slow enough to stop in time; 20 mm/s is our own choice
    """
    moves = MotionBuilder((0.0, 0.0, at_z))
    moves.feed = feed
    sections = [Section(0, "edge of the sheet")]
    moves.rapid((0.0, 0.0, at_z))  # a program says where it stands before it moves at a feed
    _round_box(moves, (0.0, 0.0, *size), at_z)
    radius = max((cutter.radius for cutter in order.cutters if cutter.kind == "flat"), default=0.0)
    lying = [polygon((there(one, one.part.outline),), 0.1).bounds for one in order.placed]
    if lying:
        low_x, low_y = (min(box[axis] for box in lying) - 2 * radius for axis in (0, 1))
        high_x, high_y = (max(box[axis] for box in lying) + 2 * radius for axis in (2, 3))
        sections.append(Section(len(moves), "box of all cutting"))
        moves.rapid((low_x, low_y, at_z))
        _round_box(moves, (low_x, low_y, high_x, high_y), at_z)
    return Run(cutter=0, motion=moves.motion(), sections=tuple(sections))


def _round_box(moves: MotionBuilder, box: tuple[float, float, float, float], z: float) -> None:
    left, front, right, back = box
    for x, y in ((right, front), (right, back), (left, back), (left, front)):
        moves.line_to((x, y, z))


# The numbers to show


def _figures(order: TraceOrder, outlines: Sequence[_OutlineCut]) -> Iterator[Figure]:
    """What the outlines of each kind of part take: passes, tabs."""
    for one in {cut.placed.part: cut for cut in reversed(outlines)}.values():
        part = one.placed.part
        if not one.cuts:
            continue
        depth = order.data(part.cutter, "outline").depth_of_cut
        count = len(levels(order.stock_top, order.through_z, depth))
        yield Figure(
            name=f"{part.name}.outline.passes",
            value=count,
            unit="",
            rule=f"The cut of {show_length(order.stock_top - order.through_z)}, from the thickest reading to "
            f"below the board, in equal passes no deeper than {show_length(depth)}.",
            source="derived",
        )
        if one.tabs:
            yield from _tab_figures(part.name, one)


def _tab_figures(part: str, one: _OutlineCut) -> Iterator[Figure]:
    waist = Figure(
        name=f"{part}.tabs.waist",
        value=one.tabs[0].length,
        unit="mm",
        rule="What is left of a tab at its narrowest, in the middle of the cut.",
        source="the tab plan",
    )
    yield Figure(
        name=f"{part}.tabs.programmed length",
        value=one.programmed,
        unit="mm",
        rule="The cutter stays up over the waist and one diameter, since it cuts a radius into either end.",
        source="derived from the swept discs",
        inputs=(waist,),
    )
    yield Figure(
        name=f"{part}.tabs.count",
        value=len(one.tabs),
        unit="",
        rule="The outline's length over the wanted spacing, rounded up, and no fewer than asked for.",
        source="common practice",
    )
