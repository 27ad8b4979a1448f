"""The stage: from what is wanted, the hardware and the stock to parts with exact curves."""

from proveout.book.entry import cutter_words
from proveout.figure import Figure
from proveout.finding import Finding, InputError, InputErrors, Level, Place
from proveout.fit.coupon import shape_coupon
from proveout.fit.hex_recess import thickest_reading, thinnest_reading
from proveout.fit.knob import shape_knob
from proveout.fit.shaped import Shaped, ShapedPart
from proveout.fit.stop import shape_stop
from proveout.fit.strap import shape_strap
from proveout.job.records import CouponWanted, DrawnWanted, Job, KnobWanted, StopWanted, StrapWanted, Wanted
from proveout.quantity import show_length
from proveout.shelf.tables import ShelfError, material


def shape(job: Job) -> Shaped:
    """Every wanted part, sized to its hardware, the stock and the cutters, with reasons and doubts.

    Raises:
        InputErrors: parts that can't be made as stated; each error names its part's place in the job file
    """
    try:
        material(job.stock.material)
    except ShelfError as error:
        raise InputErrors([InputError(str(error), Place(file=job.file, field="stock.material"))]) from None
    done: list[ShapedPart] = []
    errors: list[InputError] = []
    for index, wanted in enumerate(job.wanted):
        try:
            done.append(shape_part(job, wanted))
        except InputError as error:
            errors.append(error.at(Place(file=job.file, field=f"parts[{index + 1}]")))
    if errors:
        raise InputErrors(errors)
    return Shaped(
        parts=tuple((one.part, one.count) for one in done),
        figures=(
            thinnest_reading(job),
            thickest_reading(job),
            through_figure(job),
            *(figure for one in done for figure in one.figures),
        ),
        findings=(
            *_nominal(job),
            *(finding for one in done for finding in one.findings),
            *_wearing(job, done),
        ),
    )


def _wearing(job: Job, done: list[ShapedPart]) -> tuple[Finding, ...]:
    """Cutters of these parts whose sizes drift, as the shop book has it; each is told once."""
    used = {feature.cutter for one in done for feature in one.part.features}
    labels = {cutter_words(one.number, one.name) for one in job.shop.cutters if one.number in used}
    told = {one.cutter: one.drift for one in job.learned if one.drift and one.cutter in labels}
    return tuple(
        Finding(
            level=Level.NOTE,
            kind="cutter-wears",
            text=f"Cutter {cutter} drifts. {drift}",
            remedy="The sizes follow the drift, but put in a fresh cutter before it leaves a torn wall, and "
            "give it a name of its own in the shop file.",
        )
        for cutter, drift in told.items()
    )


def shape_part(job: Job, wanted: Wanted) -> ShapedPart:
    """One wanted part, sized.

    Raises:
        InputError: it can't be made as stated
    """
    try:
        match wanted.pattern:
            case KnobWanted() as knob:
                return shape_knob(job, wanted, knob)
            case StrapWanted() as strap:
                return shape_strap(job, wanted, strap)
            case StopWanted() as stop:
                return shape_stop(job, wanted, stop)
            case CouponWanted() as coupon:
                return shape_coupon(job, wanted, coupon)
            case DrawnWanted() as drawn:
                # Reading drawings costs 40 ms of imports; jobs without one don't pay.
                from proveout.fit.drawn import shape_drawn

                return shape_drawn(job, wanted, drawn)
    except ValueError as error:
        raise InputError(f"{wanted.name}: {error}") from error


def through_figure(job: Job) -> Figure:
    """How deep through cuts go, below the thickest place."""
    allowance = Figure(
        name="stock.through allowance",
        value=job.through_allowance,
        unit="mm",
        rule="How far through cuts go below the stock, into the plate's face.",
        source="job file",
    )
    thickest = thickest_reading(job)
    return Figure(
        name="stock.through depth",
        value=thickest.value + allowance.value,
        unit="mm",
        rule="The thickest reading and the allowance: the flutes must be at least this long.",
        source="geometry",
        inputs=(thickest, allowance),
    )


def _nominal(job: Job) -> tuple[Finding, ...]:
    if job.stock.measured:
        return ()
    return (
        Finding(
            level=Level.CAUTION,
            kind="stock-nominal",
            text=f"The thickness of {show_length(job.stock.thickest, job.units)} was stated, not measured; "
            "sheets often differ from it by half a millimetre.",
            remedy="Measure the sheet with calipers in four places and write the readings in the job file.",
        ),
    )
