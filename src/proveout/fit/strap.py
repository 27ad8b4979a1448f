"""A slotted strap clamp, its slot sized to its bolt."""

from proveout.figure import Figure
from proveout.finding import Finding, InputError, Level
from proveout.fit.holes import bolt_slot
from proveout.fit.outline import outline_cutter
from proveout.fit.shaped import CLEARED, ShapedPart
from proveout.job.records import Job, StrapWanted, Wanted
from proveout.parts.part import Feature, Part
from proveout.parts.strap import strap_outline, strap_slot
from proveout.quantity import System, show_length

LEAST_WEB = 3.0  # wood beside a slot; common practice


def shape_strap(job: Job, wanted: Wanted, strap: StrapWanted) -> ShapedPart:
    """The bar with its bolt slot.

    Raises:
        InputError: an unknown bolt, a slot that leaves the bar, a cutter that can't make a feature
        ValueError: a bar or slot that is wider than long
    """
    name = f"{wanted.name}.bolt slot"
    slot = bolt_slot(job, bolt=strap.bolt, clearance=strap.clearance, name=name, named=wanted.cutter)
    webs, thin = _webs(strap, slot.diameter, name, job.units)
    outline = strap_outline(strap.length, strap.width)
    feature = Feature(
        name="bolt slot",
        kind="slot",
        intent=f"{strap.bolt} bolt, {strap.clearance} clearance",
        curves=(
            strap_slot(
                strap.length,
                slot_length=strap.slot_length,
                slot_width=slot.diameter,
                from_nose=strap.slot_from_nose,
            ),
        ),
        floor=0.0,
        through=True,
        tolerance=CLEARED,
        cutter=slot.cutter.number,
    )
    part = Part(
        name=wanted.name,
        outline=outline,
        cutter=outline_cutter(job, outline, name=wanted.name, named=wanted.cutter).number,
        features=(feature,),
        rotations_deg=wanted.rotations_deg,
    )
    return ShapedPart(
        part=part, count=wanted.count, figures=(*slot.figures, webs), findings=(*slot.findings, *thin)
    )


def _webs(
    strap: StrapWanted, slot_width: float, name: str, system: System
) -> tuple[Figure, tuple[Finding, ...]]:
    """The thinnest wood about the slot, and a caution where it is little.

    Slot and bar have round ends about the same axis, so the thinnest place is beside the slot or at one end.
    """

    def show(value: float) -> str:
        return show_length(value, system)

    beside = (strap.width - slot_width) / 2
    behind = strap.length - strap.slot_from_nose - strap.slot_length
    web = min(beside, behind, strap.slot_from_nose)
    if web <= 0:
        raise InputError(
            f"{name}: a slot of {show(strap.slot_length)} x {show(slot_width)}, {show(strap.slot_from_nose)} "
            f"from the nose, leaves a bar of {show(strap.length)} x {show(strap.width)}. Make the slot "
            "shorter or the bar larger."
        )
    figure = Figure(
        name=f"{name}.wall", value=web, unit="mm", rule="The thinnest wood about the slot.", source="geometry"
    )
    if web >= LEAST_WEB:
        return figure, ()
    finding = Finding(
        level=Level.CAUTION,
        kind="wall-thin",
        text=f"{name}: only {show(web)} of wood stays beside it.",
        remedy=f"Leave at least {show(LEAST_WEB)}.",
    )
    return figure, (finding,)
