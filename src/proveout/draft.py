"""Draft: a job as far as it goes before the paths: sizes, places, hold, cutting values, first findings.

It is the stretch of the road that is quick enough to be gone again while a person types. What can't have
changed since an earlier draft is taken over from that; the result is the same either way.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

from shapely.geometry.base import BaseGeometry

from proveout.choosing import Chosen, Sheet
from proveout.cutting.choose import peak_force
from proveout.cutting.data import CutKind, CuttingData
from proveout.cutting.eased import AS_CHOSEN, Eased
from proveout.cutting.force import lift
from proveout.cutting.limits import Allowed
from proveout.figure import Figure
from proveout.finding import Finding, InputError, Level, Place
from proveout.fit.fewer_sizes import fewer_sizes
from proveout.fit.shaped import Shaped
from proveout.fit.spirals import torn_edges
from proveout.hold.bridges import LEAST, SPACING, Bridges, bridge_findings, bridge_strength
from proveout.hold.friction import margin_findings, spread_findings
from proveout.hold.means_findings import means_findings
from proveout.hold.thin import lift_findings
from proveout.holding import clamps_give
from proveout.job.records import Job
from proveout.layout.again import laid_again
from proveout.layout.keepouts import keep_out
from proveout.layout.lay import LayOrder, lay
from proveout.layout.place_findings import place_findings
from proveout.layout.settled import flaw_outline, settled_parts
from proveout.parts.part import PlacedPart
from proveout.paths.lying import LyingOutline
from proveout.paths.order import TraceOrder
from proveout.paths.tabs import TabsWanted
from proveout.quantity import show_length
from proveout.quickest import Quickest, outlines, quickest
from proveout.reckon import Held, Reckoned, reckon
from proveout.setup import Obstacle, PlacedClamp, Tab, other_solids
from proveout.shelf.tables import material

Say = Callable[[str], None]

NEAR: Final = 1.0  # mm over the stock, down to which one goes at rapid
LOW: Final = 5.0  # mm over the stock, to go across at where no clamp is near; project default
ASIDE: Final = 5.0  # mm more than what turns, beside anything that stands higher; project default


@dataclass(frozen=True, slots=True, kw_only=True)
class Draft:
    """A job before its paths: everything but the moves, the programs and their proof."""

    reckoned: Reckoned
    laid: LayOrder  # what there was to lay, and on what
    choice: Quickest  # values, and the cutters they are for
    strength: dict[tuple[str, int], Figure]  # of tabs, by part and cutter
    low: Figure  # the height at which one goes across where no clamp is near
    findings: tuple[Finding, ...]  # known so far

    @property
    def sheet(self) -> Sheet:
        """The parts where they lie, with the outlines and tabs that they get."""
        return self.choice.sheet

    @property
    def placed(self) -> tuple[PlacedPart, ...]:
        """Where each part lies."""
        return self.sheet.order.placed

    @property
    def values(self) -> Chosen:
        """Cutting values by cutter and kind of cut."""
        return self.choice.values

    @property
    def tabs(self) -> tuple[Tab, ...]:
        """The bridges that keep the parts in the sheet."""
        return tabs_of(self.sheet.lying)

    @property
    def figures(self) -> tuple[Figure, ...]:
        """Every number so far but the tabs' strength."""
        return (*self.reckoned.figures, self.low, *self.values.figures)

    @property
    def seconds(self) -> float:
        """Roughly how long the cutting takes, ways between cuts left out."""
        return sum(self.values.seconds.values())


def draft(
    job: Job,
    *,
    eased: Eased = AS_CHOSEN,
    allowed: Allowed | None = None,
    before: Draft | None = None,
    say: Say = lambda stage: None,
) -> Draft:
    """A job as far as it goes before the paths.

    Args:
        eased: how much gentler than chosen at first
        allowed: how much of what cutters, gantry and clamps stand may be asked; None: the usual
        before: a draft of a job much like it
    Raises:
        InputError: parts that can't be made or don't fit on the sheet
    """
    say("sizing the parts")
    reckoned = reckon(job, eased)
    shaped, held, bridges = reckoned.shaped, reckoned.held, reckoned.bridges
    say("laying out the sheet")
    placed = laid_out(job, shaped, held, before)
    say("choosing how to cut")
    order = trace_order(job, placed, held, bridges)
    lying = outlines(order, before.choice.tried if before else ())
    sheet = Sheet(order=order, lying=lying, held=held, bridges=bridges)
    choice = quickest(job, sheet, eased, allowed, before.choice if before else None)
    strength = strengths(job, choice.sheet, bridges)
    return Draft(
        reckoned=reckoned,
        laid=lay_order(job, shaped, held),
        choice=choice,
        strength=strength,
        low=low_height(job, held),
        findings=(
            *shaped.findings,
            *place_findings(job, choice.sheet.order.placed, held),
            *hold_findings(job, reckoned, choice.values, strength),
        ),
    )


def laid_out(job: Job, shaped: Shaped, held: Held, before: Draft | None = None) -> tuple[PlacedPart, ...]:
    """Where each part lies.

    Args:
        before: an earlier draft, whose layout is taken over where it would come out again
    Raises:
        InputError: the parts don't fit
    """
    order = lay_order(job, shaped, held)
    again = laid_again(before.laid, before.choice.tried[0].order.placed, order) if before else None
    if again is not None:
        return again
    laid = lay(order)
    for finding in laid.findings:
        way_out = finding.remedy[:1].upper() + finding.remedy[1:]
        fewer = fewer_sizes(job, lambda one: not lay(lay_order(job, one, held)).findings)
        raise InputError(f"{finding.text} {way_out}.{fewer}", Place(file=job.file, field="parts"))
    return laid.placed


def lay_order(job: Job, shaped: Shaped, held: Held) -> LayOrder:
    """What there is to lay, and on what."""
    return LayOrder(
        parts=shaped.parts,
        size=job.stock.size,
        edge_margin=job.stock.edge_margin,
        cutters=job.shop.cutters,
        spindle=job.shop.machine.spindle,
        obstacles=(*_solids(held.clamps), *other_solids(held.grips, held.stops)),
        inserts=held.inserts,
        through_z=-job.through_allowance,
        units=job.units,
        settled=settled_parts(job.places, shaped.parts),
        flaws=tuple(flaw_outline(flaw) for flaw in job.flaws),
    )


def _solids(clamps: Sequence[PlacedClamp]) -> tuple[Obstacle, ...]:
    return tuple(solid for clamp in clamps for solid in (clamp.bar, *clamp.bolt))


def trace_order(job: Job, placed: tuple[PlacedPart, ...], held: Held, bridges: Bridges) -> TraceOrder:
    """What tracing needs to know of the job."""
    wanted = TabsWanted(waist=bridges.waist, height=bridges.height, spacing=SPACING, least=LEAST)
    return TraceOrder(
        placed=placed,
        stock_top=job.stock.thickest,
        safe_z=held.safe_z.value,
        near_z=job.stock.thickest + NEAR,
        low_z=low_height(job, held).value,
        in_the_way=_in_the_way(job, held),
        through_z=-job.through_allowance,
        cutters=job.shop.cutters,
        data=_unchosen,
        tabs=lambda part: wanted,
        sheet=job.stock.size,
    )


def low_height(job: Job, held: Held) -> Figure:
    """The height at which one goes across where no clamp is near."""
    return Figure(
        name="height away from clamps",
        value=min(job.stock.thickest + LOW, held.safe_z.value),
        unit="mm",
        rule=f"{show_length(LOW, job.units)} over the thickest reading, between cuts away from clamps",
        source="project default",
    )


def _in_the_way(job: Job, held: Held) -> dict[int, BaseGeometry]:
    """Where each cutter's axis may not come while its tip is LOW over the stock."""
    return {
        cutter.number: keep_out(
            (*_solids(held.clamps), *other_solids(held.grips, held.stops)),
            (cutter,),
            job.shop.machine.spindle,
            lowest_tip=low_height(job, held).value,
            clearance=ASIDE,
        )
        for cutter in job.shop.cutters
    }


def _unchosen(cutter: int, kind: CutKind) -> CuttingData:
    raise LookupError(f"cutting values of cutter {cutter}, {kind}, are not chosen yet")


def strengths(job: Job, sheet: Sheet, bridges: Bridges) -> dict[tuple[str, int], Figure]:
    """What the tabs of each kind of part stand, by the part's name and its outline's cutter."""
    wood = material(job.stock.material)
    tabs = tabs_of(sheet.lying)
    counts = {
        (one.part.name, one.part.cutter): sum(tab.part == one.name for tab in tabs)
        for one in reversed(sheet.order.placed)
    }
    return {key: bridge_strength(key[0], bridges, count, wood) for key, count in counts.items() if count}


def hold_findings(
    job: Job, reckoned: Reckoned, values: Chosen, strength: dict[tuple[str, int], Figure]
) -> tuple[Finding, ...]:
    """Whether clamps and tabs stand the cutting, and how sure the force is."""
    wood = material(job.stock.material)
    cutters = {cutter.number: cutter for cutter in job.shop.cutters}
    held, machine = reckoned.held, job.shop.machine

    def push(data: CuttingData) -> float:
        return peak_force(data, wood, cutters[data.cutter], machine)

    # A drill pushes down, not sideways.
    sideways = [one for one in values.data.values() if one.ramp_deg < 90]
    forces = [(push(one), cutters[one.cutter].spiral) for one in sideways]
    most = max((force for force, _ in forces), default=0.0)
    through = {number for number, kind in values.data if kind in ("outline", "slot", "bore")}
    lifting = max((lift(force, spiral) for force, spiral in forces), default=0.0)
    found = margin_findings(held.capacity, most, (*held.clamps, *held.grips), wood, lifting)
    found += () if held.grips else spread_findings(held.clamps, job.stock.size)
    found += (*means_findings(job), *lift_findings(job, lifting))
    for (part, cutter), figure in strength.items():
        found.extend(bridge_findings(part, figure, push(values.of(cutter, "outline"))))
    found.extend(clamps_give(job))
    found.extend(torn_edges((cutters[number] for number in sorted(through)), wood.kind))
    found.append(
        Finding(
            level=Level.NOTE,
            kind="estimate",
            text=(
                "Cutting forces in wood are estimates, half as much again either way; the clamps' forces "
                "count at their low end."
            ),
            remedy="Stop at the first sign of movement, and set the hold-down again before going on.",
        )
    )
    return tuple(found)


def tabs_of(lying: Sequence[LyingOutline]) -> tuple[Tab, ...]:
    """The tabs of all outlines."""
    plans = (plan for one in lying for plan in one.plans if plan)
    return tuple(tab for plan in plans for tab in plan.tabs)
