"""A stop block with dowel holes, sized to its dowels."""

from proveout.curve import circle
from proveout.figure import Figure
from proveout.finding import Finding, InputError
from proveout.fit.holes import SizedHole, dowel_hole
from proveout.fit.outline import outline_cutter
from proveout.fit.shaped import FITTED, ShapedPart
from proveout.fit.strength import pressed_pin, rim_wall
from proveout.job.records import Job, StopWanted, Wanted
from proveout.parts.part import Feature, Part
from proveout.parts.stop import block_outline, hole_places
from proveout.quantity import show_length
from proveout.shelf.fit_classes import fit_class
from proveout.shelf.tables import material


def shape_stop(job: Job, wanted: Wanted, stop: StopWanted) -> ShapedPart:
    """The block with its row of dowel holes.

    Raises:
        InputError: an unknown dowel, holes that run into each other or off the block, no cutter for a feature
        ValueError: a block with corners rounder than itself
    """
    name = f"{wanted.name}.dowel hole"
    hole = dowel_hole(job, hardware=stop.hardware, fit=stop.fit, name=name, named=wanted.cutter)
    outline = block_outline(stop.length, stop.width, stop.corner_radius)
    wall, thin = _walls(job, stop, hole, name)
    part = Part(
        name=wanted.name,
        outline=outline,
        cutter=outline_cutter(job, outline, name=wanted.name, named=wanted.cutter).number,
        features=_features(stop, hole),
        rotations_deg=wanted.rotations_deg,
    )
    return ShapedPart(
        part=part, count=wanted.count, figures=(*hole.figures, *wall), findings=(*hole.findings, *thin)
    )


def _features(stop: StopWanted, hole: SizedHole) -> tuple[Feature, ...]:
    return tuple(
        Feature(
            name=f"dowel hole {number}",
            kind="hole",
            intent=f"{stop.hardware.size} dowel, {stop.fit}",
            curves=(circle(place, hole.diameter),),
            floor=0.0,
            through=True,
            tolerance=FITTED,
            cutter=hole.cutter.number,
        )
        for number, place in enumerate(hole_places(stop.holes, stop.spacing), start=1)
    )


def _walls(
    job: Job, stop: StopWanted, hole: SizedHole, name: str
) -> tuple[tuple[Figure, ...], tuple[Finding, ...]]:
    """Wood between the outermost hole and the edge; the holes must not meet each other."""
    if stop.holes > 1 and stop.spacing <= hole.diameter:
        raise InputError(
            f"{name}: holes of {show_length(hole.diameter, job.units)} at a spacing of "
            f"{show_length(stop.spacing, job.units)} run into each other. Space them wider."
        )
    wood = material(job.stock.material)
    fit = fit_class(stop.fit, wood.kind, "round")
    wall, thin = rim_wall(
        block_outline(stop.length, stop.width, stop.corner_radius),
        circle(hole_places(stop.holes, stop.spacing)[-1], hole.diameter),
        size=hole.diameter,
        fit=fit,
        wood=wood,
        name=name,
        system=job.units,
    )
    pressing, splits = pressed_pin(
        hole, wall[0], fit=fit, length=job.stock.thickest, wood=wood, name=name, system=job.units
    )
    return (*wall, *pressing), (*thin, *splits)
