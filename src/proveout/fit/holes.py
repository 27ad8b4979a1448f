"""Round through holes and slots: their size by class, and the cutter that makes them."""

from dataclasses import dataclass

from proveout.figure import Figure
from proveout.finding import Finding, InputError, Level
from proveout.fit.cutters import DRILL_MATCH, LARGEST_BORE_RADIUS, allowed, drills_hole, largest, no_cutter
from proveout.fit.hardware import pin_size, readings_of
from proveout.fit.scatter import cut_scatter, hardware_scatter, moisture_scatter
from proveout.fit.sized import SizedFit, sized_fit
from proveout.job.records import Cutter, Hardware, Job
from proveout.quantity import System, show_length
from proveout.shelf.cited import cited
from proveout.shelf.fit_classes import fit_class
from proveout.shelf.tables import ShelfError, clearance_hole, material


@dataclass(frozen=True, slots=True, kw_only=True)
class SizedHole:
    """A through hole or slot, sized: how wide, and what cuts it."""

    diameter: float  # that its cutter leaves; a slot's width
    cutter: Cutter
    drilled: bool  # in one plunge, instead of bored on a helix
    figures: tuple[Figure, ...]
    findings: tuple[Finding, ...]
    fitted: SizedFit | None = None  # None: it only lets something through


def through_depth(job: Job) -> float:
    """How deep a through cut goes from the highest place of the stock: thickest reading and allowance."""
    return job.stock.thickest + job.through_allowance


def bolt_hole(job: Job, *, bolt: str, clearance: str, name: str, named: int | None) -> SizedHole:
    """The through hole that clears a bolt, by class.

    Args:
        job: for its cutters and stock
        bolt: size of the thread
        clearance: "close", "normal" or "loose"
        name: of the feature, for figures and messages: "knob.bolt hole"
        named: number of the cutter that the person named
    Raises:
        InputError: a bolt or class that the shelf doesn't have, or no cutter that makes the hole
    """
    wanted = clearance_figure(bolt, clearance, f"{name}.diameter wanted")
    return _made_hole(job, wanted, match=DRILL_MATCH, name=name, named=named)


def bolt_slot(job: Job, *, bolt: str, clearance: str, name: str, named: int | None) -> SizedHole:
    """The through slot in which a bolt slides: as wide as its clearance hole; never drilled.

    Raises:
        InputError: as `bolt_hole`
    """
    wanted = clearance_figure(bolt, clearance, f"{name}.width")
    cutter = _borer(job, wanted.value, name, named)
    return SizedHole(diameter=wanted.value, cutter=cutter, drilled=False, figures=(wanted,), findings=())


def dowel_hole(
    job: Job,
    *,
    hardware: Hardware,
    fit: str,
    name: str,
    named: int | None,
) -> SizedHole:
    """The through hole for a dowel, so wide that fewest parts miss the fit class.

    Raises:
        InputError: hardware that is no dowel, an unknown size or class, or no cutter that makes the hole
    """
    pin = pin_size(hardware, name)
    wood = material(job.stock.material)
    chosen = fit_class(fit, wood.kind, "round")
    # A drill leaves its own size: it must come near the middle of the class, or more parts are lost.
    match = min((chosen.high - chosen.low) / 4, DRILL_MATCH)
    about = pin.value + chosen.target
    cutter, drilled = hole_cutter(job, about, match=match, name=name, named=named)
    readings = readings_of(hardware, hardware.diameter)
    fitted = sized_fit(
        chosen,
        hardware=hardware_scatter(name, pin, readings, "dowel", job.units),
        cut=cut_scatter(job, cutter, size=about, feature="hole", name=name, drilled=drilled),
        moves=moisture_scatter(job, size=about, form="round", name=name),
        name=name,
        what="diameter",
        measured=bool(readings),
        system=job.units,
        fixed_size=cutter.diameter if drilled else None,
    )
    return SizedHole(
        diameter=fitted.size,
        cutter=cutter,
        drilled=drilled,
        figures=fitted.figures,
        findings=(*_unmeasured_dowel(hardware, pin, name, job.units), *fitted.findings),
        fitted=fitted,
    )


def bored_hole(job: Job, wanted: Figure, *, name: str, named: int | None) -> SizedHole:
    """The through hole of a given diameter, bored to size whatever drills there are.

    Raises:
        InputError: no cutter that makes the hole
    """
    cutter = _borer(job, wanted.value, name, named)
    return SizedHole(diameter=wanted.value, cutter=cutter, drilled=False, figures=(wanted,), findings=())


def _unmeasured_dowel(hardware: Hardware, pin: Figure, name: str, system: System) -> tuple[Finding, ...]:
    """A steel pin keeps its size; a wooden one of the same name does not."""
    if hardware.diameter is not None:
        return ()
    return (
        Finding(
            level=Level.NOTE,
            kind="estimate",
            text=f"{name}: the dowel was not measured and counts as a steel pin of "
            f"{show_length(pin.value, system)}. Wooden dowels differ by up to {show_length(0.2, system)}.",
            remedy="Measure wooden dowels with calipers and state their diameter in the job file.",
        ),
    )


def _made_hole(job: Job, wanted: Figure, *, match: float, name: str, named: int | None) -> SizedHole:
    """The hole as its cutter leaves it: bored to size, or as wide as the drill that comes nearest."""
    cutter, drilled = hole_cutter(job, wanted.value, match=match, name=name, named=named)
    made = Figure(
        name=f"{name}.diameter",
        value=cutter.diameter if drilled else wanted.value,
        unit="mm",
        rule=f"As cutter {cutter.number} leaves it in one plunge."
        if drilled
        else f"Bored to size by cutter {cutter.number} on a helix.",
        source="geometry",
        inputs=(wanted,),
    )
    return SizedHole(diameter=made.value, cutter=cutter, drilled=drilled, figures=(made,), findings=())


def clearance_figure(bolt: str, clearance: str, name: str) -> Figure:
    """Least diameter of the hole that clears a bolt.

    Raises:
        InputError: a bolt or class that the shelf doesn't have
    """
    try:
        row = clearance_hole(bolt, clearance)
    except ShelfError as error:
        raise InputError(str(error)) from None
    return Figure(
        name=name,
        value=row.diameter,
        unit="mm",
        rule=f"The {clearance} clearance hole for {bolt} bolts.",
        source=cited(row),
    )


def hole_cutter(
    job: Job, diameter: float, *, match: float, name: str, named: int | None
) -> tuple[Cutter, bool]:
    """The cutter that makes a round through hole, and whether it does so in one plunge.

    A drill or a centre-cutting cutter of the hole's own size is taken first, the nearest in diameter; else
    the largest flat cutter that still has room for its helix and reaches through.

    Raises:
        InputError: no such cutter; the message says what would do
    """
    depth, past = through_depth(job), job.through_allowance
    drills = [
        cutter
        for cutter in allowed(job.shop.cutters, named)
        if drills_hole(cutter, diameter, depth=depth, past=past, match=match)
    ]
    if drills:
        return min(drills, key=lambda cutter: (abs(cutter.diameter - diameter), cutter.number)), True
    return _borer(job, diameter, name, named), False


def _borer(job: Job, diameter: float, name: str, named: int | None) -> Cutter:
    depth = through_depth(job)
    widest = 2 * LARGEST_BORE_RADIUS * diameter

    def refusal(choice: tuple[Cutter, ...]) -> InputError:
        needs = (
            f"It takes a flat cutter of at most {show_length(widest, job.units)} with flutes of at least "
            f"{show_length(depth, job.units)}."
        )
        return no_cutter(f"{name} of {show_length(diameter, job.units)}", needs, choice, named, job.units)

    return largest(
        job.shop.cutters,
        named,
        fits=lambda cutter: cutter.diameter <= widest and cutter.flute_length >= depth,
        refusal=refusal,
    )
