"""Drawn holes that are meant for hardware: where they are drawn, as large as what goes in needs them."""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from proveout.curve import Curve, circle, moved
from proveout.drawing.loops import Loop, spot
from proveout.drawing.shapes import Shape, shape_of
from proveout.drawing.understand import ON_AXIS
from proveout.figure import Figure
from proveout.finding import Finding, InputError, Level
from proveout.fit.drawn_cuts import DrawnCuts, DrawnFit
from proveout.fit.hex_recess import HexRecess, hex_recess
from proveout.fit.holes import SizedHole, bolt_hole, bolt_slot, clearance_figure, dowel_hole
from proveout.fit.shaped import CLEARED, FITTED
from proveout.fit.strength import floor_strength, held_torque, pressed_pin, pressed_recess, rim_wall
from proveout.job.records import Hardware, Job, Takes, Wanted
from proveout.parts.obround import obround
from proveout.parts.part import Feature
from proveout.quantity import show_length
from proveout.shelf.fit_classes import fit_class
from proveout.shelf.tables import material

# A drawn hole that differs from what goes in by more than this was drawn for something else.
FAR_SHARE: Final = 0.25
TOLD: Final = 0.005  # mm of a change of size that is worth telling


@dataclass(frozen=True, slots=True, kw_only=True)
class Fitted:
    """What a rule's curves become, in the drawing's own coordinates."""

    features: tuple[Feature, ...]
    figures: tuple[Figure, ...]
    findings: tuple[Finding, ...]


def fitted(job: Job, wanted: Wanted, cuts: DrawnCuts, one: DrawnFit) -> Fitted:
    """The recesses or holes that a rule's hardware needs, in the places of its curves.

    Raises:
        InputError: a curve of another shape or size than the hardware, hardware that the shelf doesn't have,
            stock too thin, no cutter that will do
    """
    hardware = one.takes.hardware
    if hardware is None:
        return _bolt_holes(job, wanted, cuts, one)
    if hardware.form == "dowel":
        return _dowel_holes(job, wanted, cuts, one, hardware)
    return _captive(job, wanted, cuts, one, hardware)


def _size(name: str) -> str:
    """A size that may begin a feature's name: "1/4" is the shelf's spelling of a quarter inch."""
    return f"{name} mm" if name.isdigit() else f"{name} in" if "/" in name else name


# --- a head or nut that is held


def _captive(job: Job, wanted: Wanted, cuts: DrawnCuts, one: DrawnFit, hardware: Hardware) -> Fitted:
    noun = "nut" if hardware.form == "hex nut" else "head"
    what = f"{_size(hardware.size)} {noun} recess"
    name = f"{wanted.name}.{what}"
    recess = hex_recess(job, hardware=hardware, fit=one.takes.fit, name=name, named=wanted.cutter)
    wood = material(job.stock.material)
    features: list[Feature] = []
    figures = [*recess.figures, held_torque(recess, wood, name), floor_strength(recess, wood, name)]
    findings = list(recess.findings)
    walls: list[tuple[float, Figure, tuple[Finding, ...]]] = []
    for number, loop in enumerate(one.loops, 1):
        shape = _as("hexagon", loop, f"a captive {hardware.size} {noun}")
        _near(job, loop, shape.length, recess.size.flats.value, f"an {hardware.size} {noun}")
        curve = moved(recess.curve, x=shape.centre[0], y=shape.centre[1], turn_deg=shape.turn_deg)
        features.append(_recess(recess, one.takes, hardware, f"{what} {number}", curve))
        (wall,), thin = rim_wall(
            cuts.outline.curve, curve, size=recess.size.flats.value, fit=recess.fit, wood=wood, name=name,
            system=job.units,
        )  # fmt: skip
        walls.append((wall.value, wall, thin))
        findings += _resized(
            job, wanted, loop, f"{what} {number}", shape.length, recess.flats, "across flats"
        )
    _, wall, thin = min(walls, key=lambda each: each[0])
    pressing, splits = pressed_recess(recess, wall, wood, name=name, system=job.units)
    shanks = _shanks(job, wanted, cuts, one, recess)
    return Fitted(
        features=(*features, *shanks.features),
        figures=(*figures, wall, *pressing, *shanks.figures),
        findings=(*findings, *thin, *splits, *shanks.findings),
    )


def _recess(recess: HexRecess, takes: Takes, hardware: Hardware, name: str, curve: Curve) -> Feature:
    return Feature(
        name=name,
        kind="recess",
        intent=f"captive {hardware.size} {hardware.form}, {takes.fit}",
        curves=(curve,),
        floor=recess.floor,
        through=False,
        tolerance=FITTED,
        cutter=recess.cutter.number,
        takes=f"{_size(hardware.size)} {'hex head bolt' if hardware.form == 'hex head' else hardware.form}",
    )


def _shanks(job: Job, wanted: Wanted, cuts: DrawnCuts, one: DrawnFit, recess: HexRecess) -> Fitted:
    """The bolt's hole in each hexagon, its clearance hole unless a rule of its own says otherwise."""
    bolt = one.takes.bolt or ""
    name = f"{wanted.name}.{_size(bolt)} hole"
    ruled = [_ruled_within(cuts, loop) for loop in one.loops]
    least = clearance_figure(bolt, "close", f"{name}.least").value
    findings = [said for loop in ruled if loop for said in _too_narrow(job, wanted, bolt, loop, least)]
    if all(ruled):
        return Fitted(features=(), figures=(), findings=tuple(findings))
    hole = bolt_hole(job, bolt=bolt, clearance=one.takes.clearance, name=name, named=wanted.cutter)
    if hole.diameter >= recess.size.flats.value:
        raise InputError(
            f"{name}: the {recess.size.noun} would pull through a hole of "
            f"{show_length(hole.diameter, job.units)}. Check the flats that were measured."
        )
    features: list[Feature] = []
    for number, (loop, shank, other) in enumerate(zip(one.loops, one.shanks, ruled, strict=True), 1):
        if other is None:
            label = f"{_size(bolt)} hole {number}"
            findings += _shank_said(job, wanted, loop, shank, hole, bolt, label)
            centre = shape_of((shank or loop).curve).centre
            features.append(_hole(hole, label, bolt, one.takes, circle(centre, hole.diameter)))
    return Fitted(features=tuple(features), figures=hole.figures, findings=(*hole.findings, *findings))


def _shank_said(
    job: Job, wanted: Wanted, loop: Loop, shank: Loop | None, hole: SizedHole, bolt: str, label: str
) -> Iterator[Finding]:
    if shank is not None:
        drawn = shape_of(shank.curve).length
        _near(job, shank, drawn, hole.diameter, f"an {bolt} bolt")
        yield from _resized(job, wanted, shank, label, drawn, hole.diameter, "across")
        return
    yield Finding(
        level=Level.NOTE,
        kind="as-drawn",
        text=f"{wanted.name}: no hole is drawn in {loop.said}: one of "
        f"{show_length(hole.diameter, job.units)} is cut for its {bolt} bolt.",
    )


def _ruled_within(cuts: DrawnCuts, hexagon: Loop) -> Loop | None:
    """The circle about the middle of a hexagon that a rule of its own cuts."""
    centre = shape_of(hexagon.curve).centre
    drawn = [cut.loop for cut in cuts.literal] + [loop for fit in cuts.fitted for loop in fit.loops]
    for loop in drawn:
        shape = shape_of(loop.curve)
        if shape.kind == "circle" and math.dist(shape.centre, centre) <= ON_AXIS:
            return loop
    return None


def _too_narrow(job: Job, wanted: Wanted, bolt: str, loop: Loop, least: float) -> Iterator[Finding]:
    """A drawn hole through which its bolt doesn't go."""
    across = shape_of(loop.curve).length
    if across < least - TOLD:
        yield Finding(
            level=Level.CAUTION,
            kind="as-drawn",
            text=f"{wanted.name}: the hole at {spot(shape_of(loop.curve).centre)} is drawn "
            f"{show_length(across, job.units)} across; an {bolt} bolt wants at least "
            f"{show_length(least, job.units)}.",
            remedy=f'Give it a rule with bolt = "{bolt}", and it is cut as the bolt needs it.',
        )


# --- holes for bolts and dowels


def _bolt_holes(job: Job, wanted: Wanted, cuts: DrawnCuts, one: DrawnFit) -> Fitted:
    bolt = one.takes.bolt or ""
    name = f"{wanted.name}.{_size(bolt)} hole"
    shapes = [_round_or_slot(loop, bolt) for loop in one.loops]
    make = bolt_slot if all(shape.kind == "obround" for shape in shapes) else bolt_hole
    hole = make(job, bolt=bolt, clearance=one.takes.clearance, name=name, named=wanted.cutter)
    slot = hole
    if any(shape.kind == "obround" for shape in shapes) and make is bolt_hole:
        slot = bolt_slot(
            job, bolt=bolt, clearance=one.takes.clearance, name=f"{wanted.name}.{_size(bolt)} slot",
            named=wanted.cutter,
        )  # fmt: skip
    features: list[Feature] = []
    findings: list[Finding] = []
    for number, (loop, shape) in enumerate(zip(one.loops, shapes, strict=True), 1):
        across = shape.length if shape.kind == "circle" else shape.width
        made = hole if shape.kind == "circle" else slot
        _near(job, loop, across, made.diameter, f"an {bolt} bolt")
        label = f"{_size(bolt)} {'hole' if shape.kind == 'circle' else 'slot'} {number}"
        features.append(_hole(made, label, bolt, one.takes, _resized_curve(shape, made.diameter)))
        findings += _resized(job, wanted, loop, label, across, made.diameter, "across")
    figures = (*hole.figures, *(slot.figures if slot is not hole else ()))
    return Fitted(features=tuple(features), figures=figures, findings=(*hole.findings, *findings))


def _round_or_slot(loop: Loop, bolt: str) -> Shape:
    shape = shape_of(loop.curve)
    return shape if shape.kind == "obround" else _as("circle", loop, f"an {bolt} bolt's hole")


def _resized_curve(shape: Shape, width: float) -> Curve:
    """The hole or slot as it is drawn, of another width: a slot keeps the middles of its two ends."""
    if shape.kind == "circle":
        return circle(shape.centre, width)
    slot = obround(shape.length - shape.width + width, width)
    return moved(slot, x=shape.centre[0], y=shape.centre[1], turn_deg=shape.turn_deg)


def _hole(hole: SizedHole, name: str, bolt: str, takes: Takes, curve: Curve) -> Feature:
    return Feature(
        name=name,
        kind="hole" if len(curve.segments) == 2 else "slot",
        intent=f"{bolt} bolt, {takes.clearance} clearance",
        curves=(curve,),
        floor=0.0,
        through=True,
        tolerance=CLEARED,
        cutter=hole.cutter.number,
        takes="" if takes.hardware else f"{_size(bolt)} bolt",
    )


def _dowel_holes(job: Job, wanted: Wanted, cuts: DrawnCuts, one: DrawnFit, hardware: Hardware) -> Fitted:
    what = f"{_size(hardware.size)} dowel hole"
    name = f"{wanted.name}.{what}"
    hole = dowel_hole(job, hardware=hardware, fit=one.takes.fit, name=name, named=wanted.cutter)
    wood = material(job.stock.material)
    chosen = fit_class(one.takes.fit, wood.kind, "round")
    features: list[Feature] = []
    findings = list(hole.findings)
    walls: list[tuple[float, Figure, tuple[Finding, ...]]] = []
    for number, loop in enumerate(one.loops, 1):
        shape = _as("circle", loop, f"a {_size(hardware.size)} dowel")
        _near(job, loop, shape.length, hole.diameter, f"a {_size(hardware.size)} dowel")
        curve = circle(shape.centre, hole.diameter)
        features.append(
            Feature(
                name=f"{what} {number}",
                kind="hole",
                intent=f"{hardware.size} dowel, {one.takes.fit}",
                curves=(curve,),
                floor=0.0,
                through=True,
                tolerance=FITTED,
                cutter=hole.cutter.number,
                takes=f"{_size(hardware.size)} dowel",
            )
        )
        (wall,), thin = rim_wall(
            cuts.outline.curve, curve, size=hole.diameter, fit=chosen, wood=wood, name=name, system=job.units
        )
        walls.append((wall.value, wall, thin))
        findings += _resized(job, wanted, loop, f"{what} {number}", shape.length, hole.diameter, "across")
    _, wall, thin = min(walls, key=lambda each: each[0])
    pressing, splits = pressed_pin(
        hole, wall, fit=chosen, length=job.stock.thickest, wood=wood, name=name, system=job.units
    )
    return Fitted(
        features=tuple(features),
        figures=(*hole.figures, wall, *pressing),
        findings=(*findings, *thin, *splits),
    )


# --- what was drawn, against what is needed


def _as(kind: str, loop: Loop, what: str) -> Shape:
    shape = shape_of(loop.curve)
    if shape.kind != kind:
        raise InputError(
            f"{loop.said} is a {shape.said}, and {what} takes a {kind}. Name other curves in its rule, by "
            "layer, size or number."
        )
    return shape


def _near(job: Job, loop: Loop, drawn: float, needed: float, what: str) -> None:
    """Hardware of another size than the drawing's is a slip of the size, or of the drawing's unit."""
    if abs(drawn - needed) > FAR_SHARE * needed:
        raise InputError(
            f"{loop.said} is drawn {show_length(drawn, job.units)} across and {what} needs "
            f"{show_length(needed, job.units)}: it was drawn for something else. Check the size in its rule, "
            "and the drawing's unit."
        )


def _resized(
    job: Job, wanted: Wanted, loop: Loop, name: str, drawn: float, cut: float, across: str
) -> Iterator[Finding]:
    if abs(drawn - cut) >= TOLD:
        yield Finding(
            level=Level.NOTE,
            kind="as-drawn",
            text=f"{wanted.name}: {name} is drawn {show_length(drawn, job.units)} {across} at "
            f"{spot(shape_of(loop.curve).centre)} and cut {show_length(cut, job.units)}, as its rule says.",
        )
