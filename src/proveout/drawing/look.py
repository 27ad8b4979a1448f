"""Look: what a drawing holds - its size, its curves, the hardware they may be for - before any planning."""

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from proveout.curve import is_circle
from proveout.drawing.corners import least_inside_radius, sharp_corners
from proveout.drawing.loops import Loop, regions
from proveout.drawing.opened import Opened, opened
from proveout.drawing.svg_out import Marked, annotated_svg
from proveout.quantity import System, show_length
from proveout.shelf.tables import clearance_holes, dowel_pins

WITHIN: Final = 0.06  # mm by which a drawn hole may differ from the size that it is taken for


@dataclass(frozen=True, slots=True, kw_only=True)
class Seen:
    """One closed curve of a drawing, and what it is."""

    number: int
    layer: str
    kind: str  # "outline", "hole", "island"
    shape: str  # "circle 6.6 mm"
    may_be: tuple[str, ...]  # the hardware that it suits
    at: tuple[float, float]  # its middle, mm, in the drawing
    area: float  # mm2
    sharp: int  # sharp corners on the side where a cutter works
    tightest: float  # mm, radius of the tightest arc there; infinite for none
    loop: Loop


@dataclass(frozen=True, slots=True, kw_only=True)
class Look:
    """What a drawing holds."""

    file: Path
    size: tuple[float, float]  # mm
    notes: tuple[str, ...]
    seen: tuple[Seen, ...]  # outlines first, each with what lies in it


def look(file: Path, *, known: str | None = None, units: System | None = None) -> Look:
    """A drawing read, its unit settled, and every closed curve named.

    Raises:
        InputError: a drawing that can't be read, whose unit nothing says, or whose curves are open or cross
    """
    found = opened(file, known=known, units=units)
    boxes = [one.region.bounds for one in found.loops]
    size = (
        max(box[2] for box in boxes) - min(box[0] for box in boxes),
        max(box[3] for box in boxes) - min(box[1] for box in boxes),
    )
    return Look(file=file, size=size, notes=found.notes, seen=tuple(_seen(found)))


def _seen(found: Opened) -> Iterator[Seen]:
    """The loop of a region is an outline where it lies in nothing, else an island; holes lie in it."""
    depth = {
        id(one): sum(
            other is not one and other.region.area > one.region.area and other.region.covers(one.region)
            for other in found.loops
        )
        for one in found.loops
    }
    number = 0
    for region in sorted(regions(found.loops), key=lambda one: -one.loop.region.area):
        kind = "outline" if depth[id(region.loop)] == 0 else "island"
        for loop, what in ((region.loop, kind), *((one, "hole") for one in region.islands)):
            number += 1
            yield _named(number, loop, what)


def _named(number: int, loop: Loop, kind: str) -> Seen:
    middle = loop.region.centroid
    circle = is_circle(loop.curve, 1e-3)
    shape = _shape(loop)
    return Seen(
        number=number,
        layer=loop.layer,
        kind=kind,
        shape=shape,
        may_be=tuple(_hardware(circle[1])) if circle and kind == "hole" else (),
        at=(float(middle.x), float(middle.y)),
        area=float(loop.region.area),
        sharp=len(sharp_corners(loop.curve, hole=kind == "hole")),
        tightest=least_inside_radius(loop.curve, hole=kind == "hole"),
        loop=loop,
    )


def _shape(loop: Loop) -> str:
    circle = is_circle(loop.curve, 1e-3)
    if circle:
        return f"circle {show_length(circle[1])}"
    left, front, right, back = loop.region.bounds
    return f"{show_length(right - left)} x {show_length(back - front)}"


def _hardware(diameter: float) -> Iterator[str]:
    """What a round hole of a diameter may be for, the nearest first."""
    holes = [
        (abs(row.diameter - diameter), f"{row.size} clearance hole, {row.fit}") for row in clearance_holes()
    ]
    pins = [
        (max(row.diameter.min - diameter, diameter - row.diameter.max, 0.0), f"{row.size} dowel, {row.kind}")
        for row in dowel_pins()
    ]
    for off, words in sorted((*holes, *pins)):
        if off <= WITHIN:
            yield words


# --- faces


def look_text(found: Look, units: System = "mm") -> str:
    """What a person reads."""
    width, height = (show_length(one, units) for one in found.size)
    outlines = sum(one.kind == "outline" for one in found.seen)
    parts = "1 part" if outlines == 1 else f"{outlines} parts"
    lines = [f"{found.file.name}: {width} x {height}, {parts}, {len(found.seen)} closed curves"]
    lines += [f"  {note}" for note in found.notes]
    lines += [_line(one, units) for one in found.seen]
    return "\n".join(lines)


def _line(one: Seen, units: System) -> str:
    x, y = (show_length(value, units) for value in one.at)
    said = f"  {one.number}. {one.kind} on layer {one.layer}: {one.shape}, its middle at {x}, {y}"
    if one.may_be:
        said += f"; may be for: {', '.join(one.may_be[:3])}"
    if one.sharp:
        said += f"; {one.sharp} sharp inside corner{'' if one.sharp == 1 else 's'}"
    if one.tightest < 1e6 and not one.shape.startswith("circle"):
        said += f"; tightest inside radius {show_length(one.tightest, units)}"
    return said


def look_picture(found: Look) -> str:
    """The drawing with every curve numbered as in the text."""
    return annotated_svg(
        [
            Marked(
                curve=one.loop.curve,
                label=str(one.number),
                title=f"{one.kind} {one.number}: {one.shape}, layer {one.layer}",
                group=one.kind,
            )
            for one in found.seen
        ]
    )


def look_record(found: Look) -> dict[str, object]:
    """The same for another program to read; lengths in mm."""
    return {
        "file": str(found.file),
        "size": list(found.size),
        "notes": list(found.notes),
        "curves": [_record(one) for one in found.seen],
    }


def _record(one: Seen) -> dict[str, object]:
    return {
        "number": one.number,
        "layer": one.layer,
        "kind": one.kind,
        "shape": one.shape,
        "may_be": list(one.may_be),
        "at": list(one.at),
        "area": one.area,
        "sharp_inside_corners": one.sharp,
        "tightest_inside_radius": one.tightest if one.tightest < 1e6 else None,
    }
