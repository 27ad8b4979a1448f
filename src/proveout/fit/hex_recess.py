"""The recess for a captive head or nut: flats, corner relief, depth and floor."""

import math
from dataclasses import dataclass
from typing import Final

from proveout.curve import Curve
from proveout.figure import Figure
from proveout.finding import Finding, InputError, Level
from proveout.fit.cutters import largest, no_cutter
from proveout.fit.hardware import HexSize, hex_size, older_series, scatter
from proveout.fit.recess_curve import recess_curve
from proveout.fit.scatter import cut_scatter, hardware_scatter, moisture_scatter
from proveout.fit.seating import across_corners, flat_left, half_angle, relief_travel
from proveout.fit.sized import SizedFit, sized_fit
from proveout.job.records import Cutter, Hardware, Job
from proveout.quantity import System, show_length
from proveout.shelf.fit_classes import FitClass, fit_class
from proveout.shelf.tables import material

# The corners shall clear their relief by this much even where the cut is a little off.
CORNER_ROOM: Final = 0.05
# A head sinks this much below the face: less where it was measured, for then there is no band to allow for.
FLUSH_FROM_TABLE: Final = 0.2
FLUSH_MEASURED: Final = 0.05
# Below this no floor is worth cutting.
LEAST_FLOOR: Final = 1.0
# Share of each side that has to stay flat for the recess to hold its hexagon.
LEAST_FLAT_SHARE: Final = 0.3


@dataclass(frozen=True, slots=True, kw_only=True)
class HexRecess:
    """A recess for a hexagon, sized for the cutter that finishes it."""

    size: HexSize
    fit: FitClass
    flats: float  # of the recess
    travel: float  # of the cutter into each corner, beyond the fillet's centre; 0 without relief
    flat_left: float  # on each side
    depth: float
    floor: float  # height above the bed
    floor_left: float  # thickness under the head at the thinnest place
    cutter: Cutter
    curve: Curve  # about the origin, a corner on +X
    fitted: SizedFit
    figures: tuple[Figure, ...]
    findings: tuple[Finding, ...]


def hex_recess(
    job: Job,
    *,
    hardware: Hardware,
    fit: str,
    name: str,
    named: int | None,
    given: tuple[Figure, Cutter] | None = None,
) -> HexRecess:
    """The recess that takes a head or nut with that fit, in the job's stock.

    Flats are sized so that fewest parts are lost, given what heads, cutter, machine and wood scatter by. The
    corners are relieved just as far as the largest sharp hexagon needs.

    Args:
        job: for its stock, zero and cutters
        hardware: a hex head or hex nut
        fit: name of a fit class
        name: of the feature, for figures and messages: "knob.head recess"
        named: number of the cutter that the person named
        given: flats that the recess shall have, whatever the fit says, and the cutter that makes it
    Raises:
        InputError: hardware or class unknown, stock thinner than the head and a floor, no cutter that will do
    """
    size = hex_size(hardware, name)
    chosen = fit_class(fit, material(job.stock.material).kind)
    depth = _depth(size, hardware.height is not None, name)
    floor_left = _floor_left(job, size, depth, name)
    if given:
        flats, cutter = given
        fitted = fit_on_flats(job, size, chosen, cutter, name, stated=flats.value)
    else:
        cutter, fitted = _chosen(job, size, chosen, depth.value, name, named)
        flats = fitted.figures[0]
    travel = _travel(size, flats, cutter, name, job.units)
    left = _flat_left(flats, travel, cutter, name)
    floor = _floor(job, depth, name)
    return HexRecess(
        size=size,
        fit=chosen,
        flats=flats.value,
        travel=travel.value,
        flat_left=left.value,
        depth=depth.value,
        floor=floor.value,
        floor_left=floor_left.value,
        cutter=cutter,
        curve=recess_curve(flats.value, cutter.radius, travel.value),
        fitted=fitted,
        figures=(flats, *fitted.figures[1:], travel, left, depth, floor_left, floor),
        findings=(
            *fitted.findings,
            *scatter(
                size.flats,
                chosen,
                what=f"the {size.noun} of {size.thread} hardware",
                where=name,
                write='across_flats = "..."',
                system=job.units,
            ),
            *older_series(size, name, job.units),
            *_proud(job, depth, name),
        ),
    )


def _chosen(
    job: Job,
    size: HexSize,
    chosen: FitClass,
    depth: float,
    name: str,
    named: int | None,
) -> tuple[Cutter, SizedFit]:
    """The cutter, and the flats that are cut with it."""
    cutter = _cutter(job, size, size.flats.value + chosen.target, depth, name, named)
    fitted = fit_on_flats(job, size, chosen, cutter, name)
    slimmer = _cutter(job, size, fitted.size, depth, name, named)
    if slimmer is not cutter:  # what is cut is narrower than what was asked about first
        cutter, fitted = slimmer, fit_on_flats(job, size, chosen, slimmer, name)
    return cutter, fitted


def fit_on_flats(
    job: Job, size: HexSize, chosen: FitClass, cutter: Cutter, name: str, *, stated: float | None = None
) -> SizedFit:
    """The flats to cut for a hexagon, and what comes of them."""
    about = size.flats.value
    return sized_fit(
        chosen,
        hardware=hardware_scatter(name, size.flats, size.readings, f"flats of the {size.noun}", job.units),
        cut=cut_scatter(job, cutter, size=about, feature="recess", name=name),
        moves=moisture_scatter(job, size=about, form="flats", name=name),
        name=name,
        what="flats",
        fixed_size=stated,
        measured=size.measured,
        system=job.units,
    )


def _depth(size: HexSize, measured: bool, name: str) -> Figure:
    flush = Figure(
        name=f"{name}.flush allowance",
        value=FLUSH_MEASURED if measured else FLUSH_FROM_TABLE,
        unit="mm",
        rule=f"How far the {size.noun} lies below the face; less where its height was measured.",
        source="common practice",
    )
    return Figure(
        name=f"{name}.depth",
        value=size.height.value + flush.value,
        unit="mm",
        rule=f"The {size.noun}'s height and the flush allowance.",
        source="common practice",
        inputs=(size.height, flush),
    )


def _floor_left(job: Job, size: HexSize, depth: Figure, name: str) -> Figure:
    thinnest = thinnest_reading(job)
    left = thinnest.value - depth.value
    if left < LEAST_FLOOR:
        raise InputError(_too_thin(job, size, depth.value, left, name))
    return Figure(
        name=f"{name}.floor left",
        value=left,
        unit="mm",
        rule=f"What stays under the {size.noun} where the stock is thinnest.",
        source="geometry",
        inputs=(thinnest, depth),
    )


def _too_thin(job: Job, size: HexSize, depth: float, left: float, name: str) -> str:
    def show(value: float) -> str:
        return show_length(value, job.units)

    leaves = f"leaves a floor of {show(left)}" if left > 0 else "leaves no floor"
    return (
        f"{name}: the stock is {show(job.stock.thinnest)} at its thinnest and the {size.thread} "
        f"{size.noun} is {show(size.height.value)} high. A recess of {show(depth)} {leaves}; at least "
        f"{show(LEAST_FLOOR)} must stay. Use stock of at least {show(depth + LEAST_FLOOR)} or a lower "
        f"{size.noun}."
    )


def thinnest_reading(job: Job) -> Figure:
    """The smallest thickness reading of the stock."""
    count = len(job.stock.readings)
    return Figure(
        name="stock.thinnest",
        value=job.stock.thinnest,
        unit="mm",
        rule="The smallest reading: where a floor must survive.",
        source=f"measured: {count} reading{'s' if count > 1 else ''}"
        if job.stock.measured
        else "nominal, not measured",
    )


def thickest_reading(job: Job) -> Figure:
    """The largest thickness reading of the stock."""
    thinnest = thinnest_reading(job)
    return Figure(
        name="stock.thickest",
        value=job.stock.thickest,
        unit="mm",
        rule="The largest reading: where a cut must go through.",
        source=thinnest.source,
    )


def _floor(job: Job, depth: Figure, name: str) -> Figure:
    """Height of the floor above the bed.

    With zero on the bed it is the same all over the sheet, so the thinnest place decides. With zero on the
    top the depth is what stays the same, and the model's top is the thickest reading.
    """
    on_bed = job.zero.level == "bed"
    reading = thinnest_reading(job) if on_bed else thickest_reading(job)
    return Figure(
        name=f"{name}.floor height",
        value=reading.value - depth.value,
        unit="mm",
        rule="The thinnest reading less the depth, since zero is on the bed."
        if on_bed
        else "The thickest reading less the depth, since zero is on the stock's top.",
        source="geometry",
        inputs=(reading, depth),
    )


def _cutter(job: Job, size: HexSize, flats: float, depth: float, name: str, named: int | None) -> Cutter:
    """The largest flat cutter that reaches the floor and leaves enough flat on every side."""
    side = across_corners(flats) / 2

    def fits(cutter: Cutter) -> bool:
        travel = _relief(size.flats.value, flats, cutter.radius)
        left = flat_left(flats, cutter.radius, travel)
        return cutter.flute_length >= depth and left >= LEAST_FLAT_SHARE * side

    def refusal(choice: tuple[Cutter, ...]) -> InputError:
        widest = _widest(size.flats.value, flats, job.units)
        needs = (
            f"It takes a flat cutter of about {widest} or less, so that the corners leave flats to hold the "
            f"{size.noun}, with flutes of at least {show_length(depth, job.units)}."
        )
        what = f"{name} of {show_length(flats, job.units)} across flats"
        return no_cutter(what, needs, choice, named, job.units)

    return largest(job.shop.cutters, named, fits=fits, refusal=refusal, through=False)


def _relief(hexagon: float, flats: float, radius: float) -> float:
    # Corners that would just touch the rounding want the room too; none is relieved by less than it.
    room = 2 * CORNER_ROOM * math.sin(half_angle())
    travel = relief_travel(flats - room, hexagon, radius)
    return max(travel, CORNER_ROOM) if travel > 0 else 0.0


def _widest(hexagon: float, flats: float, system: System) -> str:
    """The widest cutter that leaves enough flat, rounded down to a tenth of a millimetre."""
    least = LEAST_FLAT_SHARE * across_corners(flats) / 2
    tenths = int(flats * 10)
    while tenths > 1 and flat_left(flats, tenths / 20, _relief(hexagon, flats, tenths / 20)) < least:
        tenths -= 1
    return show_length(tenths / 10, system)


def _travel(size: HexSize, flats: Figure, cutter: Cutter, name: str, system: System) -> Figure:
    travel = _relief(size.flats.value, flats.value, cutter.radius)
    return Figure(
        name=f"{name}.relief travel",
        value=travel,
        unit="mm",
        rule="How far the cutter goes into each corner, beyond where it touches both walls, so that the "
        f"{size.noun}'s sharp corner seats with {show_length(CORNER_ROOM, system)} to spare."
        if travel
        else f"None: the {size.noun}'s corners clear the rounded corners of the recess.",
        source="plane geometry",
        inputs=(flats, cutter_figure(cutter, name)),
    )


def cutter_figure(cutter: Cutter, name: str) -> Figure:
    """Diameter of the cutter that finishes a feature."""
    return Figure(
        name=f"{name}.cutter diameter",
        value=cutter.diameter,
        unit="mm",
        rule=f"Cutter {cutter.number}, {cutter.name}, finishes this feature.",
        source="shop file",
    )


def _flat_left(flats: Figure, travel: Figure, cutter: Cutter, name: str) -> Figure:
    return Figure(
        name=f"{name}.flat left",
        value=flat_left(flats.value, cutter.radius, travel.value),
        unit="mm",
        rule="Flat wall on each side between the corners.",
        source="plane geometry",
        inputs=(flats, travel),
    )


def _proud(job: Job, depth: Figure, name: str) -> tuple[Finding, ...]:
    """With zero on the top, a depth that was right at the thickest place is short at the thinnest."""
    uneven = job.stock.thickest - job.stock.thinnest
    spare = next(figure.value for figure in depth.inputs if figure.name.endswith("flush allowance"))
    if job.zero.level == "bed" or uneven <= spare:
        return ()
    return (
        Finding(
            level=Level.NOTE,
            kind="stock-uneven",
            text=f"{name}: the readings differ by {show_length(uneven, job.units)}, and zero is on the "
            f"stock's top. Hardware may stand up to {show_length(uneven - spare, job.units)} proud where it "
            "is thin.",
            remedy="Set the zero on the bed, or touch off where the stock is thinnest.",
        ),
    )
