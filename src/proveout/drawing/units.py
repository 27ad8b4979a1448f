"""How large a drawing is: its unit settled by a person, by one known dimension or by the file, or refused.

A drawing is never scaled in silence: each way of settling says on what it rests, and a file that says
otherwise is shown beside it.
"""

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Final, NamedTuple

import numpy as np

from proveout.drawing.wires import Act, Floats, Sheet, Wires
from proveout.finding import InputError
from proveout.quantity import INCH, Kind, QuantityError, System, parse, printable
from proveout.shelf.spelling import ShelfError
from proveout.shelf.tables import clearance_hole, clearance_holes

AGREE: Final = 0.02  # share by which two sizes may differ and still be one
SAME_CIRCLE: Final = 1e-3  # share of its diameter by which a circle may differ from another of its size
AS_WELL: Final = 0.002  # of a size: a hole that fits so much better than another is the one meant
BIGGEST: Final = 5_000.0  # mm; a drawing in inches that is larger was probably drawn in millimetres
SMALLEST: Final = 5.0  # mm; a drawing in millimetres that is smaller was probably drawn in inches
LONGEST: Final = 80  # characters of a stated dimension
MOST_SHOWN: Final = 6  # circles in a message

MM_PER_INCH: Final = float(INCH)
# The units in which drawings come, in mm. PostScript's point is 1/72 in; CSS's px is 1/96 in (CSS Values and
# Units Level 3, section 6.2); 90 px an inch was the habit of an older generation of SVG writers (common
# practice, no source).
UNITS: Final[dict[str, float]] = {
    "mm": 1.0,
    "cm": 10.0,
    "in": MM_PER_INCH,
    "pt (or px at 72 an inch)": MM_PER_INCH / 72,
    "px at 96 an inch": MM_PER_INCH / 96,
    "px at 90 an inch": MM_PER_INCH / 90,
}
ISO_AND_INCH: Final = (1.0, 10.0, MM_PER_INCH)
PERSONS: Final[dict[System, tuple[str, float]]] = {"mm": ("millimetres", 1.0), "in": ("inches", MM_PER_INCH)}

HOW: Final = (
    'State the unit, units = "mm" or units = "in"; or state one dimension that you know: known = "width = '
    '120 mm", "height = 4-3/4 in", "diameter = 30 mm" (of the outermost circle), "hole = 6.6 mm" or "hole '
    'for M6".'
)

_STATED: Final = re.compile(
    r"\s*(?:(?:outer|overall|total)\s+)?(width|height|diameter|hole)\s*[=:]\s*(.+)", re.I
)
_HOLE_FOR: Final = re.compile(r"\s*holes?\s+for\s+(?:an?\s+)?(.+)", re.I)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Settled:
    """A drawing at its true size."""

    wires: Wires  # mm
    mm_per_unit: float
    basis: str  # on what the size rests, in words
    acts: tuple[Act, ...] = field(default=())  # the reader's and what was noticed here; places in mm


class _Known(NamedTuple):
    """One dimension as a person stated it."""

    said: str
    name: str  # "width", "height", "diameter", "hole"
    sizes: tuple[float, ...]  # mm; several where a hole for a screw may be of several classes


class _Scale(NamedTuple):
    mm: float  # of one unit
    basis: str
    acts: tuple[Act, ...] = ()


def settle(sheet: Sheet, *, known: str | None = None, units: System | None = None) -> Settled:
    """The drawing in mm, and on what that rests.

    A person's unit goes first, then a dimension that the person knows, then what the file says where that is
    to be trusted.

    Args:
        known: one dimension: "width = 120 mm", "height = 4-3/4 in", "diameter = 30 mm" (of the outermost
            circle), "hole = 6.6 mm", "hole for M6" (the most frequent circle that fits)
        units: in which the person says that it is drawn
    Raises:
        InputError: without a place: nothing is drawn, nobody says how large it is, what is said is doubtful
            or contradicts itself, or the known dimension is not in the drawing
    """
    if not len(sheet.wires):
        raise InputError(
            "nothing is drawn in it: no line and no arc. Export the drawing again, with its lines."
        )
    low, high = extents(sheet.wires)
    size = (float(high[0] - low[0]), float(high[1] - low[1]))
    if not max(size) > 0 or not all(map(math.isfinite, size)):
        raise InputError("all that is drawn in it lies in one point, or has no place. Export it again.")
    stated = _known(known) if known is not None else None
    if units is not None:
        scale = _by_person(sheet, size, units, stated)
    elif stated is not None:
        scale = _by_known(sheet, size, stated)
    else:
        scale = _by_file(sheet, size)
    acts = (*(_act_scaled(one, scale.mm) for one in sheet.acts), *scale.acts)
    return Settled(wires=scaled(sheet.wires, scale.mm), mm_per_unit=scale.mm, basis=scale.basis, acts=acts)


# --- the three ways


def _by_person(sheet: Sheet, size: tuple[float, float], units: System, stated: _Known | None) -> _Scale:
    name, mm = PERSONS[units]
    basis = f"it was said to be drawn in {name}"
    if stated is not None:
        _, its = _unit_of(sheet, size, stated)
        if not _agree(its, mm):
            raise InputError(
                f'"{stated.said}" makes the drawing {_shown(size, its)}, but in {name}, as was said, it is '
                f"{_shown(size, mm)}. Leave out the one that is wrong."
            )
        basis += f', and "{stated.said}" agrees'
    return _Scale(mm, basis, _contradiction(sheet, size, mm, "the person's unit"))


def _by_known(sheet: Sheet, size: tuple[float, float], stated: _Known) -> _Scale:
    measured, exact = _unit_of(sheet, size, stated)
    claim = sheet.claim.mm
    near = [(name, mm) for name, mm in UNITS.items() if _agree(mm, exact)]
    if claim is not None and _agree(claim, exact):
        mm, basis = claim, f'"{stated.said}" agrees with the file: {sheet.claim.basis}'
    elif near:
        name, mm = min(near, key=lambda one: abs(one[1] / exact - 1))
        basis = f'by "{stated.said}" it is drawn in {name}'
    else:
        mm, basis = exact, f'scaled so that "{stated.said}"'
    acts = list(_contradiction(sheet, size, mm, f'"{stated.said}"'))
    comes = measured * mm
    wanted = measured * exact
    if abs(comes - wanted) > 1e-6 * wanted:
        acts.append(
            Act(
                kind="known dimension off",
                text=f'"{stated.said}" comes to {comes:.4g} mm in the drawing, {comes - wanted:+.3g} mm: it '
                "settles the unit and stretches nothing.",
                size=abs(comes - wanted),
            )
        )
    if mm == exact and not near and (claim is None or mm != claim):
        acts.append(
            Act(
                kind="scaled",
                text=f"One unit of the drawing was taken for {mm:.6g} mm, which is no usual unit, so that "
                f'"{stated.said}": it is {_shown(size, mm)}. Measure a second dimension before cutting.',
                size=mm,
            )
        )
    return _Scale(mm, basis, tuple(acts))


def _by_file(sheet: Sheet, size: tuple[float, float]) -> _Scale:
    claim = sheet.claim
    if claim.mm is None or not claim.sure:
        raise InputError(f"how large it is isn't certain: {claim.basis}. {_table(size)}\n{HOW}")
    largest = max(size) * claim.mm
    for doubtful, unit, other in (
        (_agree(claim.mm, MM_PER_INCH) and largest > BIGGEST, MM_PER_INCH, 1.0),
        (_agree(claim.mm, 1.0) and largest < SMALLEST, 1.0, MM_PER_INCH),
    ):
        if doubtful:
            names = {1.0: "millimetres", MM_PER_INCH: "inches"}
            raise InputError(
                f"{claim.basis}, which is doubtful: in {names[unit]} the drawing is {_shown(size, unit)}, in "
                f"{names[other]} it would be {_shown(size, other)}.\n{HOW}"
            )
    return _Scale(claim.mm, claim.basis)


def _contradiction(sheet: Sheet, size: tuple[float, float], mm: float, what: str) -> tuple[Act, ...]:
    """The file's own statement where it says otherwise."""
    claim = sheet.claim
    if claim.mm is None or _agree(claim.mm, mm):
        return ()
    text = (
        f"The file contradicts {what}: {claim.basis}, by which the drawing is {_shown(size, claim.mm)}; it "
        f"was taken to be {_shown(size, mm)}, as the person said. Check a second dimension before cutting."
    )
    return (Act(kind="unit contradicted", text=text, size=max(size) * mm),)


# --- the known dimension


def _known(text: str) -> _Known:
    """A stated dimension read.

    Raises:
        InputError: it is no such statement
    """
    said = printable(text[:LONGEST]).strip()
    try:
        if match := _HOLE_FOR.fullmatch(said):
            screw = clearance_hole(match[1].strip(), "normal").size
            sizes = tuple(one.diameter for one in clearance_holes() if one.size == screw)
            return _Known(said, "hole", sizes)
        if match := _STATED.fullmatch(said):
            length = parse(match[2].strip(), Kind.LENGTH)
            if not 0.01 <= length <= 1e6:
                raise InputError(f'the known dimension "{said}" is no size of a drawing. {HOW}')
            return _Known(said, match[1].lower(), (length,))
    except (QuantityError, ShelfError) as error:
        raise InputError(f'the known dimension "{said}" is not read: {error} {HOW}') from None
    raise InputError(f'"{said}" is no dimension that can be looked for in a drawing. {HOW}')


def _unit_of(sheet: Sheet, size: tuple[float, float], stated: _Known) -> tuple[float, float]:
    """The dimension in drawing units, and by it mm a unit."""
    match stated.name:
        case "width" | "height":
            measured = size[0 if stated.name == "width" else 1]
            if not measured > 0:
                raise InputError(
                    f'"{stated.said}" can\'t be looked for: the drawing has no {stated.name}. {HOW}'
                )
            return measured, stated.sizes[0] / measured
        case "diameter":
            found = circles(sheet.wires)
            if not found:
                raise InputError(f'"{stated.said}" can\'t be looked for: no circle is drawn. {HOW}')
            return found[-1][0], stated.sizes[0] / found[-1][0]
    return _hole(sheet, stated)


def _hole(sheet: Sheet, stated: _Known) -> tuple[float, float]:
    """The most frequent circle that is the hole in one of the usual units."""
    usual = UNITS.values() if sheet.pixels else ISO_AND_INCH
    units = dict.fromkeys([*usual, *([sheet.claim.mm] if sheet.claim.mm else [])])
    found = circles(sheet.wires)
    fits = [
        (count, -abs(diameter * mm / wanted - 1), diameter, wanted)
        for diameter, count in found
        for mm in units
        for wanted in stated.sizes
        if abs(diameter * mm / wanted - 1) <= AGREE
    ]
    if not fits:
        shown = ", ".join(f"{diameter:.4g} ({count} of them)" for diameter, count in found[:MOST_SHOWN])
        have = f"The circles' diameters in drawing units are {shown}." if found else "No circle is drawn."
        in_units = "mm, cm, in, pt or px" if sheet.pixels else "mm, cm or in"
        wanted_text = " or ".join(f"{one:.4g}" for one in stated.sizes)
        raise InputError(
            f'"{stated.said}" is not in the drawing: no circle of {wanted_text} mm in {in_units}. '
            f"{have} {HOW}"
        )
    count, fit, diameter, wanted = max(fits)
    others = [
        (other, its)
        for often, its_fit, other, its in fits
        if often == count and its_fit >= fit - AS_WELL and not _agree(its / other, wanted / diameter)
    ]
    if others:
        other, its = others[0]
        raise InputError(
            f'"{stated.said}" fits two circles, each drawn {count} times: of {diameter:.4g} units, by which '
            f"a unit is {wanted / diameter:.4g} mm, and of {other:.4g}, by which it is {its / other:.4g} mm. "
            f"{HOW}"
        )
    return diameter, wanted / diameter


def circles(wires: Wires) -> list[tuple[float, int]]:
    """Diameters of the full circles, in the wires' unit, smallest first, and how many there are of each."""
    rows = np.flatnonzero(~np.isnan(wires.centre[:, 0]))
    if not len(rows):
        return []
    centre = wires.centre[rows]
    radius = np.hypot(*(wires.start[rows] - centre).T)
    step = max(float(np.median(radius)), 1e-9) * SAME_CIRCLE
    keys = np.column_stack((np.round(centre / step), np.round(radius / step)))
    _, first, which = np.unique(keys, axis=0, return_index=True, return_inverse=True)
    turned = np.bincount(which.reshape(-1), weights=np.abs(sweeps(wires)[rows]))
    whole = np.sort(2 * radius[first[turned >= math.tau - 0.01]])
    found: list[tuple[float, int]] = []
    for diameter in whole.tolist():
        if found and diameter <= found[-1][0] * (1 + SAME_CIRCLE):
            found[-1] = (found[-1][0], found[-1][1] + 1)
        else:
            found.append((diameter, 1))
    return found


# --- the size of what is drawn


def sweeps(wires: Wires) -> Floats:
    """(n,) signed turn of each arc, radians, positive anticlockwise; 0 of a line."""
    arm, far = wires.start - wires.centre, wires.end - wires.centre
    turn = np.arctan2(far[:, 1], far[:, 0]) - np.arctan2(arm[:, 1], arm[:, 0])
    turn = np.where(wires.ccw, turn, -turn) % math.tau
    turn = np.where(turn == 0, math.tau, turn)
    return np.asarray(np.where(np.isnan(turn), 0.0, np.where(wires.ccw, turn, -turn)))


def extents(wires: Wires) -> tuple[Floats, Floats]:
    """Lowest and highest x and y of all that is drawn, arcs by their outermost points, in the wires' unit."""
    points = [wires.start, wires.end]
    arm = wires.start - wires.centre
    radius, first, turn = np.hypot(arm[:, 0], arm[:, 1]), np.arctan2(arm[:, 1], arm[:, 0]), sweeps(wires)
    for quarter in range(4):
        angle = quarter * math.pi / 2
        ahead = np.where(turn > 0, angle - first, first - angle) % math.tau
        on = ahead < np.abs(turn)  # never of a line, whose angle is no number
        out = np.array([math.cos(angle), math.sin(angle)])
        points.append(wires.centre[on] + radius[on, None] * out)
    every = np.concatenate(points)
    return every.min(axis=0), every.max(axis=0)


def scaled(wires: Wires, factor: float) -> Wires:
    """The same, every coordinate times the factor."""
    return replace(wires, start=wires.start * factor, end=wires.end * factor, centre=wires.centre * factor)


def _act_scaled(act: Act, factor: float) -> Act:
    at = (act.at[0] * factor, act.at[1] * factor) if act.at else None
    return replace(act, at=at, size=act.size * factor if act.size is not None else None)


def _agree(one: float, other: float, share: float = AGREE) -> bool:
    return abs(one / other - 1) <= share


def _shown(size: Sequence[float], mm: float) -> str:
    return f"{size[0] * mm:.4g} x {size[1] * mm:.4g} mm"


def _table(size: tuple[float, float]) -> str:
    """The drawing's size in each unit that would make sense."""
    rows = "\n".join(f"  in {name:<26}{_shown(size, mm)}" for name, mm in UNITS.items())
    return f"It is {size[0]:.4g} x {size[1]:.4g} units; its size would be\n{rows}"
