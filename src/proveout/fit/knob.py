"""A lobed knob around a captive head or nut, sized to its hardware."""

from proveout.curve import circle
from proveout.figure import Figure
from proveout.finding import InputError
from proveout.fit.hex_recess import HexRecess, hex_recess
from proveout.fit.holes import SizedHole, bolt_hole
from proveout.fit.outline import outline_cutter
from proveout.fit.shaped import CLEARED, FITTED, ShapedPart
from proveout.fit.strength import captive_strength, pressed_recess, rim_wall
from proveout.job.records import Job, KnobWanted, Wanted
from proveout.parts.knob import lobed_outline, rim_radius
from proveout.parts.part import Feature, Part
from proveout.quantity import show_length
from proveout.shelf.tables import material


def shape_knob(job: Job, wanted: Wanted, knob: KnobWanted) -> ShapedPart:
    """The knob with its recess and bolt hole.

    Raises:
        InputError: hardware that the shelf doesn't have, stock too thin, a cutter that can't make a feature
        ValueError: lobes or scallops that make no knob
    """
    noun = "nut" if knob.hardware.form == "hex nut" else "head"
    recess_name, hole_name = f"{wanted.name}.{noun} recess", f"{wanted.name}.bolt hole"
    outline = lobed_outline(knob.diameter, knob.lobes, knob.scallop_depth)
    recess = hex_recess(job, hardware=knob.hardware, fit=knob.fit, name=recess_name, named=wanted.cutter)
    hole = bolt_hole(
        job, bolt=knob.hardware.size, clearance=knob.clearance, name=hole_name, named=wanted.cutter
    )
    if hole.diameter >= recess.size.flats.value:
        raise InputError(_pulls_through(job, recess, hole, hole_name))
    wood = material(job.stock.material)
    strength, doubts = captive_strength(
        recess, wood, knob_diameter=knob.diameter, hole=hole.diameter, name=recess_name, system=job.units
    )
    wall, thin = rim_wall(
        outline,
        recess.curve,
        size=recess.size.flats.value,
        fit=recess.fit,
        wood=wood,
        name=recess_name,
        system=job.units,
    )
    pressing, splits = pressed_recess(recess, wall[0], wood, name=recess_name, system=job.units)
    part = Part(
        name=wanted.name,
        outline=outline,
        cutter=outline_cutter(job, outline, name=wanted.name, named=wanted.cutter).number,
        features=(_recess_feature(knob, recess, noun), _hole_feature(knob, hole)),
        rotations_deg=wanted.rotations_deg,
    )
    return ShapedPart(
        part=part,
        count=wanted.count,
        figures=(*recess.figures, *hole.figures, *strength, *wall, *pressing, _rim_figure(knob, wanted.name)),
        findings=(*recess.findings, *hole.findings, *doubts, *thin, *splits),
    )


def _pulls_through(job: Job, recess: HexRecess, hole: SizedHole, name: str) -> str:
    flats = show_length(recess.size.flats.value, job.units)
    return (
        f"{name}: a {recess.size.noun} of {flats} across flats would pull through a hole of "
        f"{show_length(hole.diameter, job.units)}. Check the flats that were measured."
    )


def _recess_feature(knob: KnobWanted, recess: HexRecess, noun: str) -> Feature:
    return Feature(
        name=f"{noun} recess",
        kind="recess",
        intent=f"captive {knob.hardware.size} {knob.hardware.form}, {knob.fit}",
        curves=(recess.curve,),
        floor=recess.floor,
        through=False,
        tolerance=FITTED,
        cutter=recess.cutter.number,
    )


def _hole_feature(knob: KnobWanted, hole: SizedHole) -> Feature:
    return Feature(
        name="bolt hole",
        kind="hole",
        intent=f"{knob.hardware.size} bolt, {knob.clearance} clearance",
        curves=(circle((0.0, 0.0), hole.diameter),),
        floor=0.0,
        through=True,
        tolerance=CLEARED,
        cutter=hole.cutter.number,
    )


def _rim_figure(knob: KnobWanted, name: str) -> Figure:
    return Figure(
        name=f"{name}.scallop radius",
        value=rim_radius(knob.diameter, knob.lobes, knob.scallop_depth),
        unit="mm",
        rule="Lobes and scallops are arcs of one radius; a cutter of a larger radius can't follow them.",
        source="plane geometry",
    )
