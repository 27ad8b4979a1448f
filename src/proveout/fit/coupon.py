"""A fit coupon: the recesses or holes of rising size about the one that would be cut, and their numbers."""

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Final

from proveout.curve import circle, moved, polygon
from proveout.figure import Figure
from proveout.finding import Finding, InputError, Level
from proveout.fit.cutters import flat_cutters
from proveout.fit.hardware import pin_size
from proveout.fit.hex_recess import HexRecess, hex_recess, thickest_reading, thinnest_reading
from proveout.fit.holes import SizedHole, bolt_hole, bored_hole, dowel_hole
from proveout.fit.outline import outline_cutter
from proveout.fit.shaped import CLEARED, FITTED, ShapedPart
from proveout.fit.strength import LEAST_WALL, rim_wall
from proveout.job.records import CouponWanted, Cutter, Job, Wanted
from proveout.parts.coupon import Strip, offsets, sizes
from proveout.parts.digits import Style
from proveout.parts.part import Feature, Part
from proveout.quantity import show_fine, show_length
from proveout.shelf.fit_classes import fit_class
from proveout.shelf.tables import material

ROOM: Final = 0.1  # mm by which a stroke is wider than the cutter that engraves it
LAND: Final = 2.0  # mm of wood at least between strokes: less of it chips away
ENGRAVED: Final = 0.7  # mm deep: seen well, and no notch from which a strip splits
ENGRAVED_SHARE: Final = 0.12  # and at most so much of the stock's thickness


@dataclass(frozen=True, slots=True, kw_only=True)
class _Row:
    """What is tried: openings about the origin, one for each size, with all that is said of them."""

    noun: str  # "recess" or "hole"
    openings: tuple[tuple[Feature, ...], ...]  # the opening, and the hole behind it
    figures: tuple[Figure, ...]
    findings: tuple[Finding, ...]
    size: float  # of the hardware


def shape_coupon(job: Job, wanted: Wanted, coupon: CouponWanted) -> ShapedPart:
    """The strip with its openings and their numbers.

    Raises:
        InputError: hardware that the shelf doesn't have, stock too thin, no cutter for a feature
    """
    row = _holes(job, wanted, coupon) if coupon.hardware.form == "dowel" else _recesses(job, wanted, coupon)
    style, engraver = _style(job, wanted)
    strip = _strip(job, row, style)
    features = (*_openings(row, strip), *_numbers(job, strip, engraver))
    wall, thin = _wall(job, wanted, coupon, row, strip)
    part = Part(
        name=wanted.name,
        outline=strip.outline,
        cutter=outline_cutter(job, strip.outline, name=wanted.name, named=wanted.cutter).number,
        features=features,
        rotations_deg=wanted.rotations_deg,
    )
    return ShapedPart(
        part=part,
        count=wanted.count,
        figures=(*row.figures, *wall, _number_depth(job, wanted.name)),
        findings=(*row.findings, *thin),
    )


# --- what is tried


def _recesses(job: Job, wanted: Wanted, coupon: CouponWanted) -> _Row:
    """Recesses for a head or nut, each with a hole behind it by which the hexagon is pushed out again."""
    noun = "nut" if coupon.hardware.form == "hex nut" else "head"
    name, hole_name = f"{wanted.name}.recess", f"{wanted.name}.knock-out hole"
    usual = hex_recess(job, hardware=coupon.hardware, fit=coupon.fit, name=name, named=wanted.cutter)
    hole = bolt_hole(
        job, bolt=coupon.hardware.size, clearance=coupon.clearance, name=hole_name, named=wanted.cutter
    )
    if hole.diameter >= usual.size.flats.value:
        raise InputError(
            f"{hole_name}: a {noun} of {show_length(usual.size.flats.value, job.units)} across flats would "
            f"pull through a hole of {show_length(hole.diameter, job.units)}. Check the flats that were "
            "measured."
        )
    middle = next(one for one in usual.figures if one.name == f"{name}.flats")
    # All are cut by the cutter that the part itself would be cut with: another leaves other corners.
    made = tuple(
        hex_recess(
            job, hardware=coupon.hardware, fit=coupon.fit, name=f"{name} {number}",
            named=None, given=(figure, usual.cutter),
        )
        for number, figure in enumerate(_given(job, coupon, middle, name, "flats"), 1)
    )  # fmt: skip
    shared = [one for one in usual.figures if not one.name.endswith((".relief travel", ".flat left"))]
    return _Row(
        noun="recess",
        openings=tuple(_recess(job, coupon, noun, number, one, hole) for number, one in enumerate(made, 1)),
        figures=(*shared, *(figure for one in made for figure in _own(one)), *hole.figures),
        findings=(*_still_doubtful(usual.findings), *hole.findings),
        size=usual.size.flats.value,
    )


def _still_doubtful(findings: tuple[Finding, ...]) -> tuple[Finding, ...]:
    """Without the doubt about the fit that a coupon is cut to settle."""
    return tuple(one for one in findings if one.kind != "fit-doubtful")


def _own(recess: HexRecess) -> Iterator[Figure]:
    """The figures in which the recesses of a row differ."""
    return (one for one in recess.figures if one.name.endswith((".flats", ".relief travel", ".flat left")))


def _recess(
    job: Job, coupon: CouponWanted, noun: str, number: int, recess: HexRecess, hole: SizedHole
) -> tuple[Feature, ...]:
    size, flats = coupon.hardware.size, show_fine(recess.flats, job.units)
    return (
        Feature(
            name=f"recess {number}",
            kind="recess",
            intent=f"captive {size} {coupon.hardware.form}, {flats} across flats",
            curves=(recess.curve,),
            floor=recess.floor,
            through=False,
            tolerance=FITTED,
            cutter=recess.cutter.number,
        ),
        Feature(
            name=f"knock-out hole {number}",
            kind="hole",
            intent=f"to push the {size} {noun} out again",
            curves=(circle((0.0, 0.0), hole.diameter),),
            floor=0.0,
            through=True,
            tolerance=CLEARED,
            cutter=hole.cutter.number,
        ),
    )


def _holes(job: Job, wanted: Wanted, coupon: CouponWanted) -> _Row:
    """Holes for a dowel, right through."""
    name = f"{wanted.name}.hole"
    usual = dowel_hole(job, hardware=coupon.hardware, fit=coupon.fit, name=name, named=wanted.cutter)
    middle = usual.figures[0]
    named = wanted.cutter if usual.drilled else usual.cutter.number
    holes = tuple(
        bored_hole(job, figure, name=f"{name} {number}", named=named)
        for number, figure in enumerate(_given(job, coupon, middle, name, "diameter"), 1)
    )
    return _Row(
        noun="hole",
        openings=tuple((_hole(job, coupon, number, one),) for number, one in enumerate(holes, 1)),
        figures=(middle, *(figure for one in holes for figure in one.figures)),
        findings=(*_still_doubtful(usual.findings), *_drilled(job, coupon, usual, name)),
        size=pin_size(coupon.hardware, name).value,
    )


def _hole(job: Job, coupon: CouponWanted, number: int, hole: SizedHole) -> Feature:
    return Feature(
        name=f"hole {number}",
        kind="hole",
        intent=f"{coupon.hardware.size} dowel, {show_fine(hole.diameter, job.units)} across",
        curves=(circle((0.0, 0.0), hole.diameter),),
        floor=0.0,
        through=True,
        tolerance=FITTED,
        cutter=hole.cutter.number,
    )


def _drilled(job: Job, coupon: CouponWanted, usual: SizedHole, name: str) -> tuple[Finding, ...]:
    """A drill makes one size alone, so the coupon's holes are bored where the part's are drilled."""
    if not usual.drilled:
        return ()
    return (
        Finding(
            level=Level.NOTE,
            kind="estimate",
            text=f"{name}: a part's own holes for this dowel are drilled by cutter {usual.cutter.number}, "
            f"which leaves {show_length(usual.diameter, job.units)} or a little more; those here are bored.",
            remedy="To use what the coupon says, name a flat cutter for the part: then its holes are bored.",
        ),
    )


def _given(job: Job, coupon: CouponWanted, middle: Figure, name: str, what: str) -> Iterator[Figure]:
    """The size of each opening, with its reason."""
    if coupon.around is not None:
        middle = Figure(
            name=f"{name}.around",
            value=coupon.around,
            unit="mm",
            rule="The size about which the others lie, as stated.",
            source="job file",
        )
    step = Figure(
        name=f"{name}.step",
        value=coupon.step,
        unit="mm",
        rule="From each size to the next.",
        source="job file",
    )
    for number, (size, off) in enumerate(
        zip(sizes(middle.value, coupon.steps, coupon.step), offsets(coupon.steps), strict=True), 1
    ):
        yield Figure(
            name=f"{name} {number}.{what}",
            value=size,
            unit="mm",
            rule=_off(job, coupon, off),
            source="the coupon's steps",
            inputs=(middle, step),
        )


def _off(job: Job, coupon: CouponWanted, off: int) -> str:
    middle = "the size that would be cut" if coupon.around is None else "the size that was asked for"
    if off == 0:
        return f"{middle[0].upper()}{middle[1:]}."
    steps = "1 step" if abs(off) == 1 else f"{abs(off)} steps"
    side = "above" if off > 0 else "below"
    return f"{steps} of {show_fine(coupon.step, job.units)} {side} {middle}."


# --- where it lies on the strip


def _style(job: Job, wanted: Wanted) -> tuple[Style, Cutter]:
    """Digits as large as the smallest flat cutter needs them.

    Raises:
        InputError: no flat cutter, or none with that number
    """
    depth = number_depth(job)
    choice = [one for one in flat_cutters(job.shop.cutters, wanted.cutter) if one.flute_length >= depth]
    if not choice:
        raise InputError(
            f"{wanted.name}: its numbers are engraved by a flat cutter, and there is none to choose. Put one "
            "in the shop file, or name a flat one for the coupon."
        )
    cutter = min(choice, key=lambda one: (round(one.diameter, 1), choice.index(one)))
    stroke = cutter.diameter + ROOM
    land = max(LAND, stroke / 2)
    return Style(stroke=stroke, pitch=stroke + land, apart=land), cutter


def _strip(job: Job, row: _Row, style: Style) -> Strip:
    left, front, right, back = polygon(row.openings[-1][0].curves).bounds
    least = LEAST_WALL[material(job.stock.material).kind] * row.size
    wall = math.floor(10 * least + 1) / 10  # the next tenth above, so that rounding takes none of it
    return Strip(count=len(row.openings), across=right - left, deep=back - front, wall=wall, digits=style)


def _openings(row: _Row, strip: Strip) -> Iterator[Feature]:
    for features, (x, y) in zip(row.openings, strip.middles, strict=True):
        for one in features:
            yield replace(one, curves=tuple(moved(curve, x=x, y=y) for curve in one.curves))


def _wall(
    job: Job, wanted: Wanted, coupon: CouponWanted, row: _Row, strip: Strip
) -> tuple[tuple[Figure, ...], tuple[Finding, ...]]:
    wood = material(job.stock.material)
    widest, (x, y) = row.openings[-1][0], strip.middles[-1]
    return rim_wall(
        strip.outline,
        moved(widest.curves[0], x=x, y=y),
        size=row.size,
        fit=fit_class(coupon.fit, wood.kind, "round" if row.noun == "hole" else "flats"),
        wood=wood,
        name=f"{wanted.name}.{row.noun}",
        system=job.units,
    )


# --- its numbers


def number_depth(job: Job) -> float:
    """How deep numbers are engraved, mm."""
    return min(ENGRAVED, ENGRAVED_SHARE * job.stock.thinnest)


def _number_depth(job: Job, name: str) -> Figure:
    return Figure(
        name=f"{name}.number.depth",
        value=number_depth(job),
        unit="mm",
        rule=f"{show_length(ENGRAVED, job.units)}, or {ENGRAVED_SHARE:.0%} of the thinnest reading if less.",
        source="project default",
        inputs=(thinnest_reading(job),),
    )


def _numbers(job: Job, strip: Strip, cutter: Cutter) -> Iterator[Feature]:
    on_bed = job.zero.level == "bed"
    top = (thinnest_reading(job) if on_bed else thickest_reading(job)).value
    for number in range(1, strip.count + 1):
        digits = strip.number(number)
        for place, curves in enumerate(digits, 1):
            yield Feature(
                name=f"number {number}" if len(digits) == 1 else f"digit {place} of number {number}",
                kind="recess",
                intent=f"engraved {str(number)[place - 1]}",
                curves=curves,
                floor=top - number_depth(job),
                through=False,
                tolerance=CLEARED,
                cutter=cutter.number,
            )
