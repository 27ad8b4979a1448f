"""Outlines where they lie: the cutter's rings round each part, and where its tabs go."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import partial

from shapely import Polygon

from proveout.curve import Curve, moved, polygon
from proveout.cutting.data import CuttingData
from proveout.finding import Finding
from proveout.job.records import Cutter
from proveout.parts.part import Part, PlacedPart
from proveout.paths.doubts import hollows, no_such_cutter, no_tabs, tabs_too_high, wrong_cutter
from proveout.paths.features import Bench
from proveout.paths.order import TraceOrder
from proveout.paths.outline import cut_round, outline_rings
from proveout.paths.tabs import TabPlan, tab_plan
from proveout.paths.travel import Cut, Descent


@dataclass(frozen=True, slots=True, kw_only=True)
class LyingOutline:
    """One part's outline on the sheet, ready to be cut at any cutting values."""

    placed: PlacedPart
    cutter: Cutter | None  # None: the one on hand can't cut it; a finding says so
    rings: tuple[Curve, ...] = ()  # the outermost first
    plans: tuple[TabPlan | None, ...] = ()  # tabs of each ring
    findings: tuple[Finding, ...] = ()

    def cuts(self, order: TraceOrder, bench: Bench, data: CuttingData) -> tuple[Cut, ...]:
        """The moves round it: hollows first, then round the outside."""
        if self.cutter is None:
            return ()
        down = Descent(
            top=order.stock_top,
            floor=order.through_z,
            cutter=self.cutter,
            data=data,
            heights=bench.heights,
        )
        rings = zip(self.rings, self.plans, strict=True)
        return tuple(cut_round(ring, tabs, down) for ring, tabs in rings)[::-1]


def lying_outlines(order: TraceOrder) -> tuple[LyingOutline, ...]:
    """Every part's outline, its tabs looking at the neighbours."""
    return tuple(_outlines(order))


def _outlines(order: TraceOrder) -> Iterator[LyingOutline]:
    around: dict[Part, tuple[tuple[Curve, ...], tuple[Finding, ...]]] = {}
    lying = [polygon((there(one, one.part.outline),), 0.1) for one in order.placed]
    cutters = {cutter.number: cutter for cutter in order.cutters}
    for number, one in enumerate(order.placed):
        part, where = one.part, f"{one.part.name}: outline"
        cutter = cutters.get(part.cutter)
        if cutter is None or cutter.kind != "flat":
            fault = wrong_cutter(where, cutter) if cutter else no_such_cutter(where, part.cutter)
            yield LyingOutline(placed=one, cutter=None, findings=(fault,))
            continue
        if part not in around:
            around[part] = outline_rings(part.outline, cutter.radius), tuple(hollows(part, cutter))
        rings, findings = around[part]
        rings = tuple(there(one, ring) for ring in rings)
        others = (*lying[:number], *lying[number + 1 :])
        plans, found = _tab_plans(order, cutter, one, rings, others)
        yield LyingOutline(placed=one, cutter=cutter, rings=rings, plans=plans, findings=(*findings, *found))


def lying_again(
    before: TraceOrder, lying: tuple[LyingOutline, ...], order: TraceOrder
) -> tuple[LyingOutline, ...] | None:
    """The outlines of an order as those of an earlier one lay; None where they might lie otherwise."""
    if _looked_at(before) != _looked_at(order):
        return None
    return tuple(replace(one, placed=placed) for one, placed in zip(lying, order.placed, strict=True))


def _looked_at(order: TraceOrder) -> tuple[object, ...]:
    """All that outlines and their tabs hang on."""
    placed = [
        (one.name, one.x, one.y, one.turn_deg, one.part.name, one.part.outline, one.part.cutter)
        for one in order.placed
    ]
    return placed, [order.tabs(one) for one in order.placed], order.cutters, order.sheet, order.stock_top


def there(placed: PlacedPart, curve: Curve) -> Curve:
    """A curve of a part where the part lies."""
    return moved(curve, x=placed.x, y=placed.y, turn_deg=placed.turn_deg)


def _tab_plans(
    order: TraceOrder,
    cutter: Cutter,
    placed: PlacedPart,
    rings: tuple[Curve, ...],
    others: tuple[Polygon, ...],
) -> tuple[tuple[TabPlan | None, ...], tuple[Finding, ...]]:
    name = placed.part.name
    wanted = order.tabs(placed)
    if wanted is None:
        return tuple(None for _ in rings), (no_tabs(name),)
    plan = partial(tab_plan, placed.name, others=others, sheet=order.sheet)
    plans = tuple(
        plan(ring, cutter.diameter, wanted if number == 0 else replace(wanted, least=1))
        for number, ring in enumerate(rings)
    )
    return plans, (tabs_too_high(name, wanted.height),) if wanted.height >= order.stock_top else ()
