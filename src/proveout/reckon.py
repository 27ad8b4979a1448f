"""What can be reckoned before anything is laid out: sizes, hold-down, cutting data."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Final

from proveout.curve import is_circle
from proveout.cutting.choose import Bench, choose
from proveout.cutting.data import CutKind, CuttingData
from proveout.cutting.eased import AS_CHOSEN, Eased, gentler
from proveout.figure import Figure
from proveout.fit.shape import shape
from proveout.fit.shaped import Shaped
from proveout.hold.bridges import Bridges, bridge_size
from proveout.hold.clamps import clamp_forces, placed_clamps, placed_inserts
from proveout.hold.friction import holding_force
from proveout.hold.grips import grip_figures, placed_grips
from proveout.hold.stops import placed_stops, stop_figures
from proveout.job.records import Job
from proveout.parts.part import Feature
from proveout.quantity import show_length
from proveout.setup import Grip, Obstacle, PlacedClamp, PlacedStop, other_solids
from proveout.shelf.tables import material

KINDS: Final[dict[str, CutKind]] = {"hole": "bore", "recess": "recess", "slot": "slot"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Held:
    """What hangs on the bench alone: clamps, what they stand, and the cutting data they allow."""

    clamps: tuple[PlacedClamp, ...]
    grips: tuple[Grip, ...]
    stops: tuple[PlacedStop, ...]
    inserts: tuple[Obstacle, ...]
    capacity: Figure
    stops_stand: tuple[Figure, ...]  # not part of it: a stop stands what goes into it alone
    safe_z: Figure
    data: Callable[[int, CutKind], CuttingData]


@dataclass(frozen=True, slots=True, kw_only=True)
class Reckoned:
    """A job reckoned as far as it goes without a layout."""

    shaped: Shaped
    held: Held
    bridges: Bridges
    used: tuple[CuttingData, ...]  # one for each cutter and kind of cut that the parts call for

    @property
    def figures(self) -> tuple[Figure, ...]:
        """Every number so far."""
        return (
            *self.shaped.figures,
            self.held.safe_z,
            self.held.capacity,
            *self.held.stops_stand,
            *self.bridges.figures,
            *(figure for one in self.used for figure in one.figures),
        )


def reckon(job: Job, eased: Eased = AS_CHOSEN) -> Reckoned:
    """Sizes, clamps, tabs and cutting data of a job.

    Args:
        eased: how much gentler than chosen at first
    Raises:
        InputErrors: parts that can't be made
    """
    shaped = shape(job)
    held = hold(job, eased)
    thinnest = next(figure for figure in shaped.figures if figure.name == "stock.thinnest")
    return Reckoned(
        shaped=shaped,
        held=held,
        bridges=bridge_size(thinnest, eased.bridges),
        used=used_data(job, shaped, held),
    )


def hold(job: Job, eased: Eased = AS_CHOSEN) -> Held:
    """Clamps in their places, what they stand, the safe height, and cutting data on demand."""
    clamps, grips, stops = placed_clamps(job), placed_grips(job), placed_stops(job)
    wood = material(job.stock.material)
    forces = (*clamp_forces(job), *grip_figures(job))
    capacity = holding_force(clamps, wood, forces, grips)
    bench = Bench(
        material=wood,
        machine=job.shop.machine,
        hold=capacity.value if clamps or grips else None,
    )
    cutters = {cutter.number: cutter for cutter in job.shop.cutters}

    @cache
    def data(number: int, kind: CutKind) -> CuttingData:
        return gentler(choose(cutters[number], kind, bench), eased.depth.get(number, 1.0))

    return Held(
        clamps=clamps,
        grips=grips,
        stops=stops,
        inserts=placed_inserts(job.shop.plate, job.stock),
        capacity=capacity,
        stops_stand=stop_figures(job),
        safe_z=_safe_height(job, clamps, other_solids(grips, stops)),
        data=data,
    )


def _safe_height(job: Job, clamps: Sequence[PlacedClamp], others: Sequence[Obstacle]) -> Figure:
    solids = [clamp.bar for clamp in clamps] + [one for clamp in clamps for one in clamp.bolt]
    solids += [one for one in others if one.top > job.stock.thickest]
    highest = max((solid.top for solid in solids), default=job.stock.thickest)
    what = "the highest clamp or knob" if solids else "the stock's thickest reading"
    top = Figure(
        name="clamps.top" if solids else "stock.top",
        value=max(highest, job.stock.thickest),
        unit="mm",
        rule=f"{what}, above the bed",
        source="shop file and job file",
    )
    return Figure(
        name="safe height",
        value=top.value + job.safe_above,
        unit="mm",
        rule=f"{show_length(job.safe_above, job.units)} above the highest thing on the bed, from the bed",
        source="common practice, no source: half an inch over low clamps",
        inputs=(top,),
    )


def used_data(job: Job, shaped: Shaped, held: Held) -> tuple[CuttingData, ...]:
    """Cutting data of the kinds of cut that the parts call for, by cutter."""
    diameters = {cutter.number: cutter.diameter for cutter in job.shop.cutters}
    pairs: set[tuple[int, CutKind]] = {(part.cutter, "outline") for part, _ in shaped.parts}
    for part, _ in shaped.parts:
        pairs |= {(one.cutter, _kind(one, diameters[one.cutter])) for one in part.features}
    return tuple(held.data(number, kind) for number, kind in sorted(pairs))


def _kind(feature: Feature, diameter: float) -> CutKind:
    round_hole = is_circle(feature.curves[0])
    drilled = round_hole is not None and abs(round_hole[1] - diameter) < 0.02
    return "drill" if drilled else KINDS[feature.kind]
