"""The plan: what lies on the bed, seen from above, as an SVG picture that survives a grey-scale printer.

No meaning rests on colour: stock is a heavy line, clamps are hatched, recesses dotted, through cuts crossed.
The picture's own unit is the millimetre, so that it prints at full size; lettering and line widths are chosen
for the size at which the setup sheet shows it.
"""

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import shapely
from shapely import MultiPolygon, Polygon
from shapely.affinity import scale
from shapely.ops import polylabel, substring

from proveout.curve import Curve, Point, Segment, polygon
from proveout.finding import Finding, Level
from proveout.job.records import Flaw, Plate, Stock
from proveout.layout.settled import flaw_outline
from proveout.pack.made import Made
from proveout.pack.markup import escaped
from proveout.parts.part import Feature, Part, lies
from proveout.quantity import show_length
from proveout.setup import PlacedClamp, Setup, Tab, other_solids

SHOWN: Final = (184.0, 112.0)  # mm, the room that the setup sheet gives the picture
_FONT: Final = "DejaVu Sans Mono, monospace"
_LETTER: Final = 0.61  # width of a letter of that face in its own size
_ROUGH: Final = 0.02  # mm, chord error of polygons used for placing labels only
_BESIDE: Final = 8.0  # printed mm kept clear of the bed on the left, for the dimension,
_BELOW: Final = 19.5  # and in front of it, for dimension, front and scale bars
_KEY_ROW: Final = 4.4  # printed mm from one row of the key to the next
_KEY_WIDE: Final = 146.0  # printed mm of the key in one row


@dataclass(frozen=True, slots=True)
class View:
    """The part of the bed that the picture shows, and one printed millimetre in its own measure."""

    left: float
    front: float
    right: float
    back: float
    one: float
    key_rows: int = 1

    @property
    def above(self) -> float:
        """Printed mm that the key takes behind the bed."""
        return 8.5 + _KEY_ROW * (self.key_rows - 1)

    def x(self, x: float) -> str:
        """Across the page."""
        return _short(x - self.left)

    def y(self, y: float) -> str:
        """Down the page."""
        return _short(self.back - y)


def plan_svg(made: Made, room: tuple[float, float] = SHOWN) -> str:
    """The plan from above as a whole SVG file.

    Args:
        made: the job
        room: mm across and down in which it will be shown: lettering and lines are sized for that
    """
    view = _view(made.setup, room)
    plate = made.job.shop.plate
    parts = [lies(placed) for placed in made.placed]
    body = [
        *_bed(view, plate, made.job.stock),
        *_dimensions(view, made.setup),
        *_stock(view, made.setup, made.job.stock.edge_margin),
        *(line for part in parts for line in _part(view, part)),
        *(_flaw(view, flaw) for flaw in made.job.flaws),
        *(line for tab in made.setup.tabs for line in _tab(view, tab, parts)),
        *_others(view, made.setup),
        *(line for clamp in made.setup.clamps for line in _clamp(view, clamp)),
        *(line for number, clamp in balloons(made) for line in _balloon(view, number, clamp)),
        *(line for part in parts for line in _part_label(view, part, made.setup)),
        *(_flaw_label(view, flaw) for flaw in made.job.flaws),
        *_zero(view, made.setup),
        *(
            line
            for number, told in numbered(made.findings)
            for one in told.each or (told,)
            for line in _mark(view, number, one)
        ),
        *_scale_bar(view),
        *_key(view),
    ]
    width, height = _short(view.right - view.left), _short(view.back - view.front)
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}mm" height="{height}mm" '
        f'viewBox="0 0 {width} {height}" role="img" '
        f'font-family="{_FONT}" font-size="{_short(2.6 * view.one)}" fill="none" stroke="#000" '
        f'stroke-width="{_short(0.25 * view.one)}" stroke-linejoin="round">'
    )
    title = f"<title>{escaped(made.job.name)}: the bed from above</title>"
    return "\n".join((head, title, _patterns(view), *body, "</svg>")) + "\n"


def numbered(findings: Sequence[Finding]) -> list[tuple[int, Finding]]:
    """The findings as they are listed, those that matter most first, each with its number from 1."""
    listed = [one for level in Level for one in findings if one.level is level]
    return list(enumerate(listed, start=1))


def balloons(made: Made) -> list[tuple[int, PlacedClamp]]:
    """The clamps in the job's order, each with the number that it has in the picture and in the lists."""
    return list(enumerate(made.setup.clamps, start=1))


def _short(value: float) -> str:
    """A thousandth of a millimetre is enough for a picture."""
    text = f"{value:.3f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def _view(setup: Setup, room: tuple[float, float]) -> View:
    """Stock and clamps, with room for dimensions in front and on the left, and for the key behind."""
    shapes = [shapely.box(0, 0, *setup.stock.size), shapely.Point(setup.zero[:2])]
    for clamp in setup.clamps:
        shapes += [clamp.bar.footprint, *(one.footprint for one in clamp.bolt)]
    shapes += [one.footprint for one in other_solids(setup.grips, setup.stops)]
    left, front, right, back = shapely.total_bounds(shapes)
    wide, deep = right - left, back - front
    # The margins are in printed millimetres: solve for the scale at which all of it fits the room.
    key_wide = min(_KEY_WIDE, room[0])  # which it needs even over a narrow job
    rows = math.ceil(_KEY_WIDE / key_wide)
    more = _KEY_ROW * (rows - 1)
    one = max(wide / (room[0] - 20), deep / (room[1] - 40 - more), 1e-3)
    spare = max(0.0, (key_wide * one - wide - 20 * one) / 2)
    low, high = (
        (left - 14 * one - spare, front - 26 * one),
        (right + 6 * one + spare, back + (14 + more) * one),
    )
    return View(*low, *high, one, rows)


def _patterns(view: View) -> str:
    step, dot, line = _short(1.3 * view.one), _short(0.16 * view.one), _short(0.24 * view.one)
    half = _short(0.65 * view.one)
    return (
        "<defs>"
        f'<pattern id="plan-hatch" width="{step}" height="{step}" patternUnits="userSpaceOnUse" '
        f'patternTransform="rotate(45)"><path d="M0 0V{step}" stroke="#000" stroke-width="{line}"/></pattern>'
        f'<pattern id="plan-dots" width="{half}" height="{half}" patternUnits="userSpaceOnUse">'
        f'<circle cx="{dot}" cy="{dot}" r="{dot}" fill="#000" stroke="none"/></pattern>'
        f'<pattern id="plan-flaw" width="{step}" height="{step}" patternUnits="userSpaceOnUse" '
        f'patternTransform="rotate(-30)"><path d="M0 0V{step}M{half} 0V{half}" stroke="#555" '
        f'stroke-width="{line}" stroke-dasharray="{half}"/></pattern>'
        "</defs>"
    )


def _bed(view: View, plate: Plate, stock: Stock) -> Iterator[str]:
    """The plate's face with its grid of holes; names of columns in front, of rows on the left."""
    left, front = -stock.at[0], -stock.at[1]
    low = max(left, view.left + _BESIDE * view.one), max(front, view.front + _BELOW * view.one)
    high = (
        min(left + plate.size[0], view.right),
        min(front + plate.size[1], view.back - view.above * view.one),
    )
    if low[0] >= high[0] or low[1] >= high[1]:
        return
    # No tint: a printer of one black turns it into dots, which mean a recess.
    yield _rectangle(view, low, high, 'fill="#fff" stroke="#777"')
    radius = max(plate.inserts.diameter / 2, 0.4 * view.one)
    thin = f'stroke="#bbb" stroke-width="{_short(0.15 * view.one)}"'
    seen = [
        (column, row, (left + x, front + y))
        for column, x in enumerate(plate.first_hole[0] + plate.pitch * np.arange(plate.columns))
        for row, y in enumerate(plate.first_hole[1] + plate.pitch * np.arange(plate.rows))
        if low[0] < left + x - radius and left + x + radius < high[0]
        and low[1] < front + y - radius and front + y + radius < high[1]
    ]  # fmt: skip
    roomy = plate.pitch >= 7 * view.one
    first = (min(seen)[0], min(row for _, row, _ in seen)) if seen else (0, 0)
    for column, row, centre in seen:
        yield _circle(view, centre, radius, thin)
        if roomy or column == first[0] or row == first[1]:
            yield _text(view, centre, f"{column_letters(column)}{row + 1}", size=1.9)


def column_letters(column: int) -> str:
    """The letters of a column counted from 0: A to Z, then AA."""
    before, last = divmod(column, 26)
    return (column_letters(before - 1) if before else "") + chr(ord("A") + last)


def _stock(view: View, setup: Setup, margin: float) -> Iterator[str]:
    """The sheet, heavy; inside it, broken, the margin that is kept clear."""
    wide, deep = setup.stock.size
    width = _short(0.5 * view.one)
    yield _rectangle(view, (0, 0), (wide, deep), f'fill="#fff" stroke-width="{width}"')
    if margin > 0 and 2 * margin < min(wide, deep):
        dash = _short(1.2 * view.one)
        yield _rectangle(
            view,
            (margin, margin),
            (wide - margin, deep - margin),
            f'stroke="#888" stroke-width="{_short(0.15 * view.one)}" stroke-dasharray="{dash}"',
        )


def _part(view: View, part: Part) -> Iterator[str]:
    yield _path(view, (part.outline,), f'fill="#fff" stroke-width="{_short(0.4 * view.one)}"')
    for feature in sorted(part.features, key=lambda feature: -feature.floor):
        yield from _feature(view, feature)


def _flaw(view: View, flaw: Flaw) -> str:
    """A knot or split, hatched the other way than clamps, with a broken edge: parts are laid clear of it."""
    dash = f'stroke-dasharray="{_short(0.7 * view.one)}" stroke-width="{_short(0.3 * view.one)}"'
    return _rings(view, flaw_outline(flaw), f'fill="url(#plan-flaw)" stroke="#555" {dash}')


def _flaw_label(view: View, flaw: Flaw) -> str:
    """The flaw's word in its middle, or in front of one that is too small for it."""
    left, front, right, back = flaw_outline(flaw).bounds
    if back - front > 5 * view.one:
        return _text(view, ((left + right) / 2, (front + back) / 2), flaw.what, size=2.2, halo=True)
    return _text(view, ((left + right) / 2, front), flaw.what, size=2.2, halo=True, down=1.8)


def _feature(view: View, feature: Feature) -> Iterator[str]:
    """A recess dotted; a through cut white, with a cross."""
    if not feature.through:
        yield _path(view, feature.curves, 'fill="url(#plan-dots)" fill-rule="evenodd"')
        return
    yield _path(view, feature.curves, 'fill="#fff" fill-rule="evenodd"')
    region = polygon(feature.curves, _ROUGH)
    middle, (left, front, right, back) = region.representative_point(), region.bounds
    arm = min(right - left, back - front) / 2 + 0.6 * view.one
    yield _cross(view, (middle.x, middle.y), arm)


def _tab(view: View, tab: Tab, parts: Sequence[Part]) -> Iterator[str]:
    """A tab is a short black bar over the outline that it bridges."""
    for run in tab_runs(tab, parts):
        points = " ".join(f"{view.x(x)},{view.y(y)}" for x, y in run)
        yield f'<polyline points="{points}" stroke-width="{_short(1.1 * view.one)}"/>'


def tab_runs(tab: Tab, parts: Sequence[Part]) -> list[list[Point]]:
    """Where a tab lies along its part's outline, as lines of points: two where the ring starts there."""
    part = next((one for one in parts if one.name == tab.part), None)
    if part is None:
        return []
    ring = polygon((part.outline,), _ROUGH).exterior
    there = ring.project(shapely.Point(tab.at))
    half = min(tab.length / 2, ring.length / 4)
    runs = [(there - half, there + half)]
    if there < half:
        runs = [(ring.length + there - half, ring.length), (0.0, there + half)]
    elif there + half > ring.length:
        runs = [(there - half, ring.length), (0.0, there + half - ring.length)]
    return [[(x, y) for x, y in substring(ring, first, last).coords] for first, last in runs]


def _clamp(view: View, clamp: PlacedClamp) -> Iterator[str]:
    """A bar hatched, its knob and bolt as circles, the name of its hole beside them."""
    yield _rings(view, clamp.bar.footprint, 'fill="#fff"')
    yield _rings(
        view, clamp.bar.footprint, f'fill="url(#plan-hatch)" stroke-width="{_short(0.4 * view.one)}"'
    )
    if not clamp.bolt:
        return
    for solid in sorted(clamp.bolt, key=lambda solid: -solid.footprint.area):
        yield _rings(view, solid.footprint, 'fill="#fff"')
    bolt = min((solid.footprint for solid in clamp.bolt), key=lambda footprint: float(footprint.area))
    middle = bolt.centroid
    beyond = (bolt.bounds[3] - bolt.bounds[1]) / 2 / view.one
    yield _text(view, (middle.x, middle.y), clamp.hole, size=3.4, bold=True, halo=True, down=-beyond - 2.4)
    yield _text(view, (middle.x, middle.y), clamp.bolt_size, size=2.4, halo=True, down=beyond + 1.8)


def _balloon(view: View, number: int, clamp: PlacedClamp) -> Iterator[str]:
    """The clamp's number in a circle off its heel, with a leader to the bar, as on a drawing."""
    bar = clamp.bar.footprint
    nose, middle = (clamp.pressing if not clamp.pressing.is_empty else bar).centroid, bar.centroid
    along = middle.x - nose.x, middle.y - nose.y
    length = math.hypot(*along) or 1.0
    way = along[0] / length, along[1] / length
    far = max((x - middle.x) * way[0] + (y - middle.y) * way[1] for x, y in bar.exterior.coords)
    heel = middle.x + way[0] * far, middle.y + way[1] * far
    low = view.left + 2.4 * view.one, view.front + 2.4 * view.one
    high = view.right - 2.4 * view.one, view.back - (view.above + 2.4) * view.one
    beyond = 4.2 * view.one
    x = min(max(heel[0] + way[0] * beyond, low[0]), high[0])
    y = min(max(heel[1] + way[1] * beyond, low[1]), high[1])
    clear = min(4.0 * view.one, math.dist((x, y), heel) - 0.3 * view.one)
    yield _circle(view, (x, y), clear, 'fill="#fff" stroke="none"')  # nothing of the bed's letters
    yield _line(view, heel, (x, y))
    yield _circle(view, (x, y), 2.2 * view.one, f'fill="#fff" stroke-width="{_short(0.35 * view.one)}"')
    yield _text(view, (x, y), str(number), size=2.7 if number < 10 else 2.3, bold=True)


def _others(view: View, setup: Setup) -> Iterator[str]:
    """Stops and steel hatched like clamps, tape and vacuum as dashed areas under the sheet, each named."""
    dash = f'stroke-dasharray="{_short(1.2 * view.one)} {_short(0.8 * view.one)}"'
    for grip in setup.grips:
        solid = max((one.footprint for one in grip.solids), key=lambda one: float(one.area), default=None)
        yield _rings(view, solid or grip.pressing, 'fill="url(#plan-hatch)"' if solid else dash)
        left, front, right, back = grip.pressing.bounds
        behind = not solid or front < setup.stock.size[1] / 2  # of its front edge, or of all of it
        place = (left + right) / 2, back if solid and behind else front
        yield _text(view, place, grip.name, size=2.2, halo=True, down=-1.6 if behind else 3.0)
    for stop in setup.stops:
        yield _rings(view, stop.solid.footprint, 'fill="url(#plan-hatch)"')
        middle = stop.solid.footprint.centroid
        yield _text(view, (middle.x, middle.y), stop.name, size=2.2, halo=True)


def _part_label(view: View, part: Part, setup: Setup) -> Iterator[str]:
    """The part's name where its face has the most room for a line of letters."""
    face = polygon((part.outline,), _ROUGH)
    for feature in part.features:
        face = face.difference(polygon(feature.curves, _ROUGH))
    for clamp in setup.clamps:
        face = face.difference(clamp.bar.footprint)
    place, room, turned = _roomiest(face, len(part.name))
    size = min(2.8, max(1.9, 1.3 * room / view.one))
    yield _text(view, place, part.name, size=size, halo=True, turned=turned)


def _roomiest(face: Polygon | MultiPolygon, letters: int) -> tuple[Point, float, bool]:
    """Where a line of letters has the most room, half the height it can have, and whether it is turned.

    A line along X is preferred; one along Y must have half as much room again.
    """
    if face.is_empty:
        return (0.0, 0.0), 0.0, False
    pieces = list(face.geoms) if isinstance(face, MultiPolygon) else [face]
    squeeze = 1 / max(1.0, letters * _LETTER)
    spots = []
    for piece in pieces:
        for turned, (along, up) in ((False, (squeeze, 1.0)), (True, (1.0, squeeze))):
            narrow = scale(piece.simplify(0.1), xfact=along, yfact=up, origin=(0, 0))
            spot = polylabel(narrow, tolerance=0.1)
            room = min(ring.distance(spot) for ring in (narrow.exterior, *narrow.interiors))
            spots.append(((spot.x / along, spot.y / up), room, turned))
    return max(spots, key=lambda spot: spot[1] / (1.5 if spot[2] else 1.0))


def _zero(view: View, setup: Setup) -> Iterator[str]:
    """The work zero: a quartered disc, its X and Y arrows, and what it stands on in words."""
    x, y = setup.zero[:2]
    radius = 2.2 * view.one
    yield _circle(view, (x, y), radius, f'fill="#fff" stroke-width="{_short(0.4 * view.one)}"')
    for start, end in (((1, 0), (0, 1)), ((-1, 0), (0, -1))):
        yield (
            f'<path d="M{view.x(x)} {view.y(y)}'
            f"L{view.x(x + start[0] * radius)} {view.y(y + start[1] * radius)}"
            f"A{_short(radius)} {_short(radius)} 0 0 0 {view.x(x + end[0] * radius)} "
            f'{view.y(y + end[1] * radius)}Z" fill="#000" stroke="none"/>'
        )
    for axis, (along, up) in (("X", (1, 0)), ("Y", (0, 1))):
        yield from _arrow(view, (x, y), (along, up), 8 * view.one)
        tip = x + along * 10 * view.one, y + up * 10 * view.one
        yield _text(view, tip, axis, size=3.2, bold=True, halo=True)


def _arrow(view: View, start: Point, way: tuple[int, int], length: float) -> Iterator[str]:
    tip = start[0] + way[0] * length, start[1] + way[1] * length
    back, side = 2.2 * view.one, 0.8 * view.one
    base = tip[0] - way[0] * back, tip[1] - way[1] * back
    corners = (
        tip,
        (base[0] - way[1] * side, base[1] + way[0] * side),
        (base[0] + way[1] * side, base[1] - way[0] * side),
    )
    yield _line(view, start, base, f'stroke-width="{_short(0.5 * view.one)}"')
    points = " ".join(f"{view.x(px)},{view.y(py)}" for px, py in corners)
    yield f'<polygon points="{points}" fill="#000" stroke="none"/>'


def _mark(view: View, number: int, finding: Finding) -> Iterator[str]:
    """Where a finding was seen: its number in the list, in a black triangle."""
    if finding.at is None or finding.level is Level.NOTE:
        return
    x = min(max(finding.at[0], view.left + 4 * view.one), view.right - 4 * view.one)
    y = min(max(finding.at[1], view.front + 4 * view.one), view.back - 4 * view.one)
    yield from _triangle(view, (x, y), 3.0, 5.2)
    yield _text(view, (x, y + 3.3 * view.one), str(number), size=2.6, bold=True, ink="#fff")


def _triangle(view: View, tip: Point, half: float, high: float) -> Iterator[str]:
    """A black triangle that stands on its tip; sizes in printed millimetres."""
    (x, y), side, up = tip, half * view.one, high * view.one
    points = " ".join(
        f"{view.x(px)},{view.y(py)}" for px, py in ((x, y), (x - side, y + up), (x + side, y + up))
    )
    yield f'<polygon points="{points}" fill="#000" stroke="#fff"/>'


def _dimensions(view: View, setup: Setup) -> Iterator[str]:
    """The sheet's size in both systems, and which side of the bed a person stands on."""
    wide, deep = setup.stock.size
    below, beside = view.front + 16.5 * view.one, view.left + 4.5 * view.one
    end = 1.2 * view.one
    thin = f'stroke="#888" stroke-width="{_short(0.15 * view.one)}"'
    yield _line(view, (0, below), (wide, below))
    yield _line(view, (beside, 0), (beside, deep))
    for x in (0.0, wide):
        yield _line(view, (x, below - end), (x, below + end))
        yield _line(view, (x, below), (x, 0), thin)
    for y in (0.0, deep):
        yield _line(view, (beside - end, y), (beside + end, y))
        yield _line(view, (beside, y), (0, y), thin)
    yield _text(view, (wide / 2, below), _both(wide), halo=True)
    yield _text(view, (beside, deep / 2), _both(deep), halo=True, turned=True)
    foot = view.front + 12.0 * view.one
    yield _text(view, (wide / 2, foot), "FRONT: you stand here", size=2.8, bold=True)


def _both(length: float) -> str:
    return f"{show_length(length)} = {show_length(length, 'in')}"


def _scale_bar(view: View) -> Iterator[str]:
    """Two bars of round length, one in millimetres and one in inches, marked off in alternating blocks."""
    left, y = view.left + 4 * view.one, view.front + 7.4 * view.one
    half = (view.right - view.left) / 2
    room = min(70 * view.one, half - 11 * view.one)
    step = _round_step(room / 4, (1.0, 2.0, 5.0))
    yield from _bar(view, (left, y), [_short(step * number) for number in range(5)], step, "mm")
    inch = _round_step(room / 4 / 25.4, (0.25, 0.5, 1.0, 2.0, 5.0))
    names = [_short(inch * number) for number in range(5)]
    yield from _bar(view, (left + half, y), names, inch * 25.4, "in")


def _round_step(most: float, steps: Sequence[float]) -> float:
    """The largest of the steps, or a power of ten of them, that is not above `most`."""
    power = 10.0 ** math.floor(math.log10(max(most, 1e-6)))
    fitting = [step * factor for factor in (power / 10, power) for step in steps if step * factor <= most]
    return max(fitting, default=most)


def _bar(view: View, at: Point, names: Iterable[str], step: float, unit: str) -> Iterator[str]:
    left, y = at
    thick = 1.2 * view.one
    marks = list(names)
    for number, name in enumerate(marks):
        x = left + number * step
        if number < len(marks) - 1:
            fill = "#000" if number % 2 == 0 else "#fff"
            yield _rectangle(view, (x, y), (x + step, y + thick), f'fill="{fill}"')
        yield _text(view, (x, y), name, size=2.2, down=2.2)
    end = left + (len(marks) - 1) * step
    yield _text(view, (end + 3.2 * view.one, y + thick / 2), unit, size=2.4, bold=True)


def _key(view: View) -> Iterator[str]:
    """What the hatchings mean, behind the bed: in one row, or in more where the picture is narrow."""
    y, start = view.back - 4.5 * view.one, view.left + 4 * view.one
    x = start
    half, wide = 1.3 * view.one, 5 * view.one
    marks = (
        ("sheet", 'fill="#fff" stroke-width="{heavy}"', 15),
        ("clamp", 'fill="url(#plan-hatch)"', 15),
        ("recess", 'fill="url(#plan-dots)"', 16),
        ("through", 'fill="#fff"', 17),
        ("tab", 'fill="#000"', 12),
        ("work zero", "", 20),
        ("finding", "", 16),
    )
    for name, style, room in marks:
        if x + (room + 2.5) * view.one > view.right and view.key_rows > 1:
            x, y = start, y - _KEY_ROW * view.one
        middle = x + wide / 2, y
        if name == "tab":
            yield _rectangle(view, (x, y - 0.5 * view.one), (x + wide, y + 0.5 * view.one), style)
        elif name == "finding":
            yield from _triangle(view, (middle[0], y - half), 1.5, 2.6)
        elif name == "work zero":
            yield _circle(view, middle, 1.4 * view.one, 'fill="#fff"')
            yield _cross(view, middle, 1.4 * view.one)
        else:
            heavy = style.replace("{heavy}", _short(0.5 * view.one))
            yield _rectangle(view, (x, y - half), (x + wide, y + half), heavy)
        if name == "through":
            yield _cross(view, middle, half)
        yield _text(view, (x + wide + 1.2 * view.one, y), name, size=2.4, anchor="start")
        x += room * view.one + wide / 2 + 1.5 * view.one


def _cross(view: View, middle: Point, arm: float) -> str:
    (x, y), thin = middle, _short(0.2 * view.one)
    return (
        f'<path d="M{view.x(x - arm)} {view.y(y)}H{view.x(x + arm)}M{view.x(x)} {view.y(y - arm)}'
        f'V{view.y(y + arm)}" stroke-width="{thin}"/>'
    )


def _line(view: View, start: Point, end: Point, style: str = "") -> str:
    return f'<path d="M{view.x(start[0])} {view.y(start[1])}L{view.x(end[0])} {view.y(end[1])}" {style}/>'


def _circle(view: View, centre: Point, radius: float, style: str) -> str:
    return f'<circle cx="{view.x(centre[0])}" cy="{view.y(centre[1])}" r="{_short(radius)}" {style}/>'


def _rectangle(view: View, low: Point, high: Point, style: str) -> str:
    return (
        f'<rect x="{view.x(low[0])}" y="{view.y(high[1])}" width="{_short(high[0] - low[0])}" '
        f'height="{_short(high[1] - low[1])}" {style}/>'
    )


def _rings(view: View, shape: Polygon, style: str) -> str:
    rings = (shape.exterior, *shape.interiors)
    data = "".join(
        "M" + "L".join(f"{view.x(x)} {view.y(y)}" for x, y in list(ring.coords)[:-1]) + "Z" for ring in rings
    )
    return f'<path d="{data}" fill-rule="evenodd" {style}/>'


def _path(view: View, curves: Iterable[Curve], style: str) -> str:
    """Curves with their arcs kept as arcs."""
    data = "".join(
        f"M{view.x(curve.segments[0].start[0])} {view.y(curve.segments[0].start[1])}"
        + "".join(_step(view, segment) for segment in curve.segments)
        + "Z"
        for curve in curves
    )
    return f'<path d="{data}" {style}/>'


def _step(view: View, segment: Segment) -> str:
    """One segment; the page's Y runs down, so that an anticlockwise arc keeps its look with flag 0."""
    end = f"{view.x(segment.end[0])} {view.y(segment.end[1])}"
    if segment.centre is None:
        return f"L{end}"
    radius, large = _short(segment.radius), int(abs(segment.sweep) > math.pi)
    return f"A{radius} {radius} 0 {large} {int(not segment.ccw)} {end}"


def _text(
    view: View,
    at: Point,
    text: str,
    *,
    size: float = 2.6,
    bold: bool = False,
    halo: bool = False,
    turned: bool = False,
    anchor: str = "middle",
    down: float = 0.0,
    ink: str = "#000",
) -> str:
    """A line of text, its middle at a point, on a white ground where asked; size in printed millimetres."""
    x, middle = at[0] - view.left, view.back - at[1] + down * view.one
    turn = f' transform="rotate(-90 {_short(x)} {_short(middle)})"' if turned else ""
    weight = ' font-weight="bold"' if bold else ""
    letters = (
        f'<text x="{_short(x)}" y="{_short(middle + 0.35 * size * view.one)}" text-anchor="{anchor}" '
        f'font-size="{_short(size * view.one)}" fill="{ink}" stroke="none"{weight}{turn}>'
        f"{escaped(text)}</text>"
    )
    if not halo:
        return letters
    wide, high = (len(text) * _LETTER * size + 0.8) * view.one, 1.15 * size * view.one
    ground = (
        f'<rect x="{_short(x - wide / 2)}" y="{_short(middle - high / 2)}" width="{_short(wide)}" '
        f'height="{_short(high)}" fill="#fff" stroke="none"{turn}/>'
    )
    return ground + letters
