"""From the parts that a setup file states to what the prover compares with: drawings, laid on the sheet."""

import math
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Final, NamedTuple

from shapely import Polygon
from shapely.geometry import Point as Spot
from shapely.geometry.base import BaseGeometry

from proveout.curve import Curve, Point, circle, moved, polygon
from proveout.drawing.loops import Loop, Region, outermost, regions, spot
from proveout.drawing.opened import Opened, no_such_layer, opened_sheet, read_sheet
from proveout.drawing.wires import Sheet
from proveout.finding import InputError, InputErrors, Place
from proveout.job.records import IntendedStated, Job
from proveout.quantity import show_length
from proveout.setup import IntendedFeature, IntendedPart, Tab

ROUNDING: Final = 0.01  # mm by which a part may reach past the sheet's edge
OFF_OUTLINE: Final = 5.0  # mm from the outline to a tab's middle: half a kerf, with something to spare
FINE: Final = 1e-6  # mm, chord error where an outline's corner is found
CRUMB: Final = 1e-4  # mm2; less is rounding

Drawings = dict[Path, Sheet]


@dataclass(frozen=True, slots=True, kw_only=True)
class Intent:
    """What the programs shall make of the sheet."""

    parts: tuple[IntendedPart, ...]
    tabs: tuple[Tab, ...]
    notes: tuple[str, ...]  # what was settled in reading the drawings


class Cut(NamedTuple):
    """A layer and how deep it is cut."""

    field: str  # of the part, that names the layer: "floor[1].layer"
    layer: str
    floor: float | None  # above the bed; None: through
    tolerance: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Laid:
    """One part's drawing on its way to the sheet: how a curve of it comes to lie, and the part's outline."""

    job: Job
    stated: IntendedStated
    field: str  # "intended[2]"
    at: Point  # where the drawing's zero comes to lie
    drawing: Opened
    passed: tuple[str, ...]  # layers that no field names
    loop: Loop  # the outline, in the drawing
    outline: Polygon  # on the sheet

    def lies(self, curve: Curve) -> Curve:
        """A curve of the drawing as it lies on the sheet."""
        return moved(curve, x=self.at[0], y=self.at[1], turn_deg=self.stated.turn_deg)


def intent(job: Job) -> Intent:
    """What a setup file's drawings say shall come of the sheet.

    Raises:
        InputErrors: drawings that can't be read, or that don't lie on the sheet, each at its field
    """
    drawings: Drawings = {}
    faults: list[InputError] = []
    parts: list[IntendedPart] = []
    tabs: list[Tab] = []
    notes: list[str] = []
    for index, stated in enumerate(job.intended):
        try:
            sheet = _sheet(job, stated, f"intended[{index + 1}]", drawings)
            parts.append(_part(sheet))
            tabs += _tabs(sheet)
            notes += _notes(sheet)
        except InputError as error:
            faults.append(error)
    if not faults:
        faults = list(_overlaps(job, parts))
    if faults:
        raise InputErrors(faults)
    return Intent(parts=tuple(parts), tabs=tuple(tabs), notes=tuple(dict.fromkeys(notes)))


@contextmanager
def _told_at(job: Job, stated: IntendedStated, field: str) -> Iterator[None]:
    """What goes wrong with a drawing is told at the field of the setup file that brought it up."""
    try:
        yield
    except InputError as error:
        raise InputError(f"{stated.drawing}: {error.text}", Place(file=job.file, field=field)) from None


def _sheet(job: Job, stated: IntendedStated, field: str, drawings: Drawings) -> Laid:
    file = job.file.parent / stated.drawing
    with _told_at(job, stated, f"{field}.drawing"):
        read = drawings[file] = drawings.get(file) or read_sheet(file)
    named = _named(job, read, stated, field)
    with _told_at(job, stated, f"{field}.drawing"):
        found = opened_sheet(
            read, known=stated.known, units=stated.units, outline=stated.outline, layers=named
        )
    with _told_at(job, stated, f"{field}.outline" if stated.outline is not None else f"{field}.drawing"):
        loop = _outline(found, stated)
    at = _zero_at(stated, loop)
    outline = polygon((moved(loop.curve, x=at[0], y=at[1], turn_deg=stated.turn_deg),))
    used = {one.layer.lower() for one in _cuts(stated, 0.0)} | {loop.layer.lower()}
    passed = tuple(one for one in read.layers if one.lower() not in used)
    sheet = Laid(
        job=job, stated=stated, field=field, at=at, drawing=found, passed=passed, loop=loop, outline=outline
    )
    _check_on_stock(sheet)
    return sheet


def _named(job: Job, read: Sheet, stated: IntendedStated, field: str) -> tuple[str, ...] | None:
    """The layers that a part's fields name, each of which must be there; None where all of them count."""
    there = {one.lower() for one in read.layers}
    named = [(f"{field}.{cut.field}", cut.layer) for cut in _cuts(stated, 0.0)]
    if stated.outline is not None:
        named.insert(0, (f"{field}.outline", stated.outline))
    for at, layer in named:
        with _told_at(job, stated, at):
            if layer.lower() not in there:
                raise InputError(no_such_layer(read, layer))
    return None if stated.outline is None else tuple(layer for _, layer in named)


def _zero_at(stated: IntendedStated, loop: Loop) -> Point:
    """Where the drawing's zero lies on the sheet."""
    if stated.anchor == "zero":
        return stated.at
    left, front, _, _ = polygon((moved(loop.curve, turn_deg=stated.turn_deg),), FINE).bounds
    return stated.at[0] - left, stated.at[1] - front


def _check_on_stock(sheet: Laid) -> None:
    units = sheet.job.units
    left, front, right, back = sheet.outline.bounds
    width, depth = sheet.job.stock.size
    for over, side in ((-left, "left"), (-front, "front"), (right - width, "right"), (back - depth, "back")):
        if over > ROUNDING:
            raise InputError(
                f"{sheet.stated.name} reaches {show_length(over, units)} past the {side} edge of the sheet. "
                f"Its outline lies from {show_length(left, units)} to {show_length(right, units)} in X and "
                f"from {show_length(front, units)} to {show_length(back, units)} in Y: move it with at, or "
                'say anchor = "corner" where at is its left front corner.',
                Place(file=sheet.job.file, field=f"{sheet.field}.at"),
            )


def _overlaps(job: Job, parts: Sequence[IntendedPart]) -> Iterator[InputError]:
    for index, part in enumerate(parts):
        for other in parts[:index]:
            if part.outline.intersection(other.outline).area > ROUNDING * part.outline.length:
                yield InputError(
                    f"{part.name} lies over {other.name}. Move one of the two.",
                    Place(file=job.file, field=f"intended[{index + 1}].at"),
                )


# --- loops


def _outline(drawing: Opened, stated: IntendedStated) -> Loop:
    """The part's outline: the outer loop of its layer, or of the whole drawing where none is named."""
    if stated.outline is not None:
        loops, where = _loops_on(drawing, stated.outline), f"on layer {stated.outline}"
    else:
        loops, where = drawing.loops, "in the drawing"
    outer = outermost(loops)
    if len(outer) != 1:
        raise InputError(
            f"{len(outer)} loops {where} lie in no other: {', '.join(one.said for one in outer[:3])}"
            f"{' ...' if len(outer) > 3 else ''}. A part has one outline: put it on a layer of its own and "
            'name that: outline = "OUTLINE".'
        )
    named = {one.layer.lower() for one in _cuts(stated, 0.0)}
    if stated.outline is not None and len(loops) > 1 and stated.outline.lower() not in named:
        inner = next(one for one in loops if one is not outer[0])
        raise InputError(
            f"layer {stated.outline} holds {len(loops)} closed loops, {inner.said} within the outline among "
            "them. Name the layer under through too, or put them on a layer of their own."
        )
    return outer[0]


def _loops_on(drawing: Opened, layer: str) -> tuple[Loop, ...]:
    return tuple(one for one in drawing.loops if one.layer.lower() == layer.lower())


# --- parts


def _part(sheet: Laid) -> IntendedPart:
    stated = sheet.stated
    features: list[IntendedFeature] = []
    for cut in _cuts(stated, sheet.job.stock.thickest):
        with _told_at(sheet.job, stated, f"{sheet.field}.{cut.field}"):
            loops = [one for one in _loops_on(sheet.drawing, cut.layer) if one.curve != sheet.loop.curve]
            if not loops:
                raise InputError(f"there is nothing on layer {cut.layer} but the outline.")
            features += _features(sheet, cut, regions(loops))
    return IntendedPart(
        name=stated.name,
        sheet=1,
        outline=sheet.outline,
        features=tuple(features),
        tolerance=stated.tolerance,
    )


def _cuts(stated: IntendedStated, thickest: float) -> Iterator[Cut]:
    """The layers that a part names beside its outline. Depths count from the thickest reading."""
    for index, layer in enumerate(stated.through):
        field = f"through[{index + 1}]" if len(stated.through) > 1 else "through"
        yield Cut(field, layer, None, stated.tolerance)
    for index, one in enumerate(stated.floors):
        floor = one.floor if one.floor is not None else thickest - (one.depth or 0.0)
        yield Cut(f"floor[{index + 1}].layer", one.layer, floor, one.tolerance or stated.tolerance)


def _features(sheet: Laid, cut: Cut, found: Sequence[Region]) -> Iterator[IntendedFeature]:
    """A feature for each region of a layer, as far as it lies in the part."""
    units = sheet.job.units
    intent = "through" if cut.floor is None else f"floor {show_length(cut.floor, units)} above the bed"
    for number, region in enumerate(found):
        for piece in _within(sheet, region):
            yield IntendedFeature(
                name=f"{cut.layer} {number + 1}" if len(found) > 1 else cut.layer,
                intent=intent,
                region=piece,
                floor=0.0 if cut.floor is None else cut.floor,
                through=cut.floor is None,
                tolerance=cut.tolerance,
            )


def _within(sheet: Laid, region: Region) -> list[Polygon]:
    """A region on the sheet, cut off at the part's outline where it runs out over the edge."""
    whole = polygon(sheet.lies(curve) for curve in region.curves)
    if sheet.outline.covers(whole):
        return [whole]
    pieces = [one for one in _polygons(whole.intersection(sheet.outline)) if one.area > CRUMB]
    if not pieces:
        raise InputError(f"{region.loop.said} lies outside the part's outline.")
    return pieces


def _polygons(shape: BaseGeometry) -> list[Polygon]:
    return [one for one in getattr(shape, "geoms", [shape]) if isinstance(one, Polygon)]


# --- tabs and notes


def _tabs(sheet: Laid) -> Iterator[Tab]:
    """The stated bridges, each taken to the outline's nearest point."""
    ring = polygon((sheet.loop.curve,)).exterior
    for index, tab in enumerate(sheet.stated.tabs):
        there = _nearest(ring, tab.at)
        off = math.dist(there, tab.at)
        if off > OFF_OUTLINE:
            raise InputError(
                f"this tab lies {show_length(off, sheet.job.units)} from the outline of {sheet.stated.name}, "
                f"whose nearest point is {spot(there)}. Its at counts in the drawing.",
                Place(file=sheet.job.file, field=f"{sheet.field}.tabs[{index + 1}].at"),
            )
        yield Tab(
            part=sheet.stated.name,
            at=sheet.lies(circle(there, 0.0)).segments[0].start,
            length=tab.length,
            height=tab.height,
        )


def _nearest(ring: BaseGeometry, point: Point) -> Point:
    found = ring.interpolate(ring.project(Spot(point)))
    return float(found.x), float(found.y)


def _notes(sheet: Laid) -> Iterator[str]:
    drawing, stated = sheet.drawing, sheet.stated
    yield from (f"{stated.drawing}: {note}" for note in (*drawing.notes, *drawing.doubts))
    if sheet.passed:
        layers = ", ".join(sheet.passed[:10])
        yield f"{stated.drawing}: what lies on {layers} is not judged: no field names it."
