"""The cuts of a part's features, in the part's own frame: drilled, bored or cleared."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

from proveout.curve import Point, is_circle, polygon
from proveout.cutting.data import CutKind, CuttingData
from proveout.finding import Finding
from proveout.job.records import Cutter
from proveout.parts.part import Feature, Part
from proveout.paths.bore import bored, drilled, fills, is_bored, is_the_hole, point_length
from proveout.paths.clear import cleared, clearing
from proveout.paths.doubts import (
    cone_left,
    no_cutting_centre,
    no_such_cutter,
    out_of_reach,
    point_too_long,
    wrong_cutter,
)
from proveout.paths.sequence import Turn
from proveout.paths.travel import Cut, Descent, Heights


@dataclass(frozen=True, slots=True, kw_only=True)
class Bench:
    """What every cut on a sheet shares."""

    cutters: dict[int, Cutter]
    data: Callable[[int, CutKind], CuttingData]
    heights: Heights
    stock_top: float
    through_z: float
    deepest_z: float


@dataclass(frozen=True, slots=True, kw_only=True)
class FeatureCut:
    """One feature's cut in the part's own frame; no cut where the cutter on hand can't make it."""

    name: str
    cutter: int
    cut: Cut | None
    after: int | None  # index of the feature, of the same part and turn, that opens the way
    findings: tuple[Finding, ...] = ()


def feature_cuts(bench: Bench, part: Part, sequence: Sequence[Turn]) -> Iterator[FeatureCut]:
    """The cuts of a part's features, in the order in which the part has them."""
    for feature, opener, top in opened(bench, part, sequence):
        same_turn = opener is not None and part.features[opener].cutter == feature.cutter
        cut, findings = feature_cut(bench, part, feature, top)
        yield FeatureCut(
            name=feature.name,
            cutter=feature.cutter,
            cut=cut,
            after=opener if same_turn else None,
            findings=findings,
        )


def kind_of(feature: Feature, cutter: Cutter) -> CutKind:
    """What kind of cut makes a feature with a cutter."""
    whole = is_circle(feature.curves[0]) if len(feature.curves) == 1 else None
    if whole and is_the_hole(cutter, whole[1]):
        return "drill"
    return "bore" if feature.kind == "hole" else feature.kind


def opened(bench: Bench, part: Part, sequence: Sequence[Turn]) -> Iterator[tuple[Feature, int | None, float]]:
    """Each feature, the one that opens the way to it, and the height it is cut from: its floor, or
    the stock's top."""
    when = {turn.cutter: number for number, turn in enumerate(sequence) if turn.features}
    for feature in part.features:
        opener = _opener(part, feature, when)
        yield feature, opener, bench.stock_top if opener is None else part.features[opener].floor


def _opener(part: Part, feature: Feature, when: dict[int, int]) -> int | None:
    """The deepest wider feature that has been cut before and whose floor this one starts from."""
    region = polygon(feature.curves, 0.01)
    found: list[tuple[float, int]] = []
    for number, other in enumerate(part.features):
        if other is feature or other.through or other.floor <= _floor(feature) + 1e-9:
            continue
        if when[other.cutter] <= when[feature.cutter] and polygon(other.curves, 0.01).covers(region):
            found.append((other.floor, number))
    return min(found)[1] if found else None


def _floor(feature: Feature) -> float:
    return 0.0 if feature.through else feature.floor


def feature_cut(
    bench: Bench, part: Part, feature: Feature, top: float
) -> tuple[Cut | None, tuple[Finding, ...]]:
    """One feature's cut from a height down, in the part's own frame, and what is doubtful about it."""
    where = f"{part.name}: {feature.name}"
    cutter = bench.cutters.get(feature.cutter)
    if cutter is None:
        return None, (no_such_cutter(where, feature.cutter),)
    whole = is_circle(feature.curves[0]) if len(feature.curves) == 1 else None
    if whole and is_the_hole(cutter, whole[1]):
        return _drilled(
            where, feature.through, whole[0], _descent(bench, feature, top, "drill"), bench.deepest_z
        )
    if whole and fills(cutter, whole[1]) and cutter.kind == "flat":
        return None, (no_cutting_centre(where, cutter),)
    if cutter.kind != "flat":
        return None, (wrong_cutter(where, cutter),)
    down = _descent(bench, feature, top, kind_of(feature, cutter))
    if whole and is_bored(cutter, whole[1]):
        return bored(*whole, down), ()
    plan = clearing(feature.curves, cutter, down.data)
    findings = tuple(out_of_reach(where, plan, cutter, feature.tolerance))
    return cleared(plan, down) if plan.nodes else None, findings


def _descent(bench: Bench, feature: Feature, top: float, kind: CutKind) -> Descent:
    return Descent(
        top=top,
        floor=bench.through_z if feature.through else feature.floor,
        cutter=bench.cutters[feature.cutter],
        data=bench.data(feature.cutter, kind),
        heights=bench.heights,
    )


def _drilled(
    where: str, through: bool, centre: Point, down: Descent, deepest: float
) -> tuple[Cut, tuple[Finding, ...]]:
    """The drilled hole; a pointed drill goes deeper for its point where it may."""
    point = point_length(down.cutter)
    if not point:
        return drilled(centre, down), ()
    if not through:
        return drilled(centre, down), (cone_left(where, point),)
    floor = max(down.floor - point, deepest)
    found = (point_too_long(where, point, deepest),) if floor > -point + 1e-9 else ()
    return drilled(centre, replace(down, floor=floor)), found
