"""What can be reckoned before anything is laid out: sizes, hold-down, tabs."""

from collections.abc import Sequence
from dataclasses import dataclass

from proveout.cutting.eased import AS_CHOSEN, Eased
from proveout.figure import Figure
from proveout.fit.film import film_figure
from proveout.fit.shape import shape
from proveout.fit.shaped import Shaped
from proveout.hold.bridges import Bridges, bridge_size
from proveout.hold.clamps import clamp_forces, placed_clamps, placed_inserts
from proveout.hold.friction import holding_force
from proveout.hold.grips import grip_figures, placed_grips
from proveout.hold.stops import placed_stops, stop_figures
from proveout.hold.use_bolts import use_bolts
from proveout.job.records import Job
from proveout.quantity import show_length
from proveout.setup import Grip, Obstacle, PlacedClamp, PlacedStop, other_solids
from proveout.shelf.tables import material


@dataclass(frozen=True, slots=True, kw_only=True)
class Held:
    """What hangs on the bench alone: clamps, what they stand, the safe height."""

    clamps: tuple[PlacedClamp, ...]
    grips: tuple[Grip, ...]
    stops: tuple[PlacedStop, ...]
    inserts: tuple[Obstacle, ...]
    capacity: Figure
    stops_stand: tuple[Figure, ...]  # not part of it: a stop stands what goes into it alone
    safe_z: Figure


@dataclass(frozen=True, slots=True, kw_only=True)
class Reckoned:
    """A job reckoned as far as it goes without a layout."""

    shaped: Shaped
    held: Held
    bridges: Bridges
    in_use: tuple[Figure, ...]  # of the finished parts: their bolts' lengths, the film of their finish

    @property
    def figures(self) -> tuple[Figure, ...]:
        """Every number so far."""
        return (
            *self.shaped.figures,
            self.held.safe_z,
            self.held.capacity,
            *self.held.stops_stand,
            *self.bridges.figures,
            *self.in_use,
        )


def reckon(job: Job, eased: Eased = AS_CHOSEN) -> Reckoned:
    """Sizes, clamps and tabs of a job.

    Args:
        eased: how much gentler than chosen at first
    Raises:
        InputErrors: parts that can't be made
    """
    shaped = shape(job)
    held = hold(job)
    thinnest = next(figure for figure in shaped.figures if figure.name == "stock.thinnest")
    return Reckoned(
        shaped=shaped,
        held=held,
        bridges=bridge_size(thinnest, eased.bridges),
        in_use=_in_use(job, shaped.figures),
    )


def _in_use(job: Job, figures: Sequence[Figure]) -> tuple[Figure, ...]:
    film = film_figure(job)
    bolts = (figure for one in use_bolts(job, figures) for figure in one.figures)
    return (*bolts, *((film,) if film else ()))


def hold(job: Job) -> Held:
    """Clamps and other means in their places, what they stand, and the safe height."""
    clamps, grips, stops = placed_clamps(job), placed_grips(job), placed_stops(job)
    forces = (*clamp_forces(job), *grip_figures(job))
    return Held(
        clamps=clamps,
        grips=grips,
        stops=stops,
        inserts=placed_inserts(job.shop.plate, job.stock),
        capacity=holding_force(clamps, material(job.stock.material), forces, grips),
        stops_stand=stop_figures(job),
        safe_z=_safe_height(job, clamps, other_solids(grips, stops)),
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
