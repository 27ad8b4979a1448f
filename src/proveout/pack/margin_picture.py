"""The margin map: the blank from above, with bands of how many times the hardest push is stood where.

A learner must see at once where cutting hard is dangerous: the less is stood, the darker, and what stands
less than is wanted is hatched. No meaning rests on colour: every line between bands carries its number,
lightness falls in steps, hatchings differ, and the legend says in words what each band is for. Without a
known push the bands are newtons.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Final

import numpy as np
import shapely
from shapely import LineString, MultiLineString, Polygon

from proveout.hold.clamps import placed_clamps
from proveout.hold.friction import WANTED
from proveout.hold.grips import placed_grips
from proveout.hold.margins import Push, margin_map, region_of
from proveout.hold.slip import SlipMap, contacts
from proveout.hold.stops import placed_stops
from proveout.holding import Holding
from proveout.job.records import Job
from proveout.pack.made import Made
from proveout.pack.markup import escaped
from proveout.proof.loads import DULL
from proveout.quantity import System, show_length
from proveout.setup import PlacedClamp
from proveout.shelf.tables import ShelfError, material

WIDE: Final = 460.0  # of the picture, in its own unit, which is about a pixel of a small screen
HIGH: Final = 330.0  # most of the blank with its clamps
EDGE: Final = 12.0  # around everything
TOP: Final = 40.0  # of the blank with its clamps
ROW: Final = 18.0  # of the legend
SWATCH: Final = (34.0, 13.0)
ROUGH: Final = 0.25  # of the unit, by which a line may be off
TIMES: Final = (1.0, WANTED, 6.0, 12.0, 24.0, 48.0)
MOST_LEVELS: Final = 5  # of newtons
# From the band that stands least: lightness rises in steps, with a wide one where enough begins.
TONES: Final = ("#555555", "#999999", "#d2d2d2", "#dfdfdf", "#eaeaea", "#f5f5f5", "#ffffff")
LETTERS: Final = (24.0, 8.0)  # half the room of a number, from its middle
MARK: Final = 'class="proveout-margins"'  # what makes a picture one of ours
STYLE: Final = """
.proveout-margins{font:11px Helvetica,Arial,sans-serif;stroke-linejoin:round}
.proveout-margins text{fill:#000}
.proveout-margins .head{font-weight:700;font-size:13px}
.proveout-margins .bold{font-weight:700}
.proveout-margins .halo{fill:#fff;stroke:#fff;stroke-width:4.5px}
.proveout-margins .level{fill:none;stroke:#000;stroke-width:1px}
.proveout-margins .wanted{fill:none;stroke:#000;stroke-width:2.2px}
.proveout-margins .blank{fill:none;stroke:#000;stroke-width:2px}
.proveout-margins .part{fill:none;stroke:#000;stroke-width:.7px;stroke-dasharray:3 2}
.proveout-margins .bar{fill:#fff;stroke:#000;stroke-width:1.4px}
.proveout-margins .nose{fill:#000;stroke:#fff;stroke-width:.8px}
.proveout-margins .knob{fill:none;stroke:#000;stroke-width:.8px}
.proveout-margins .mark{fill:#000;stroke:#fff;stroke-width:1.2px}
""".strip()
ON_LINE: Final = ((0, 0), (26, 0), (-26, 0), (0, 12), (0, -12), (40, 0), (-40, 0), (0, 30), (0, -30))
NEAR_WEAKEST: Final = ((36, 8), (-36, 8), (36, -8), (-36, -8), (0, 26), (0, -26), (0, 60), (0, -60))
HATCHES: Final = (
    '<defs><pattern id="margin-cross" width="7" height="7" patternUnits="userSpaceOnUse">'
    '<path d="M0 0L7 7M0 7L7 0" stroke="#000" stroke-width="1.5"/></pattern>'
    '<pattern id="margin-lines" width="7" height="7" patternUnits="userSpaceOnUse">'
    '<path d="M-1 1L1 -1M0 7L7 0M6 8L8 6" stroke="#000" stroke-width="1.1"/></pattern></defs>'
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Band:
    """Places that stand at least so much, and less than the next band."""

    least: float  # times, or N
    region: Polygon  # that stands at least this; the next band's lies in it
    tone: str
    hatch: str  # a pattern's name, or none
    words: str


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Page:
    """All that is drawn, and where the blank's left back corner lies on the page."""

    job: Job
    over: SlipMap  # times, or N where no push is known
    push: Push | None
    pusher: str  # who pushes so hard
    clamps: tuple[PlacedClamp, ...]
    parts: tuple[Polygon, ...]
    left: float
    back: float
    scale: float

    def x(self, x: float) -> float:
        """Across the page."""
        return self.left + x * self.scale

    def y(self, y: float) -> float:
        """Down the page."""
        return self.back - y * self.scale


def held_picture(found: Holding) -> str | None:
    """The margin map of a blank without programs, as a whole SVG file; None where nothing holds it.

    The push is the hardest of the cutters on hand, or of the parts' cuts where the clamps are for these.
    """
    held = found.best
    if held is None or not held.places:
        return None
    job, parts = found.job, found.for_parts
    hardest = parts.push if parts else found.push
    push = Push(force=hardest.force, pull=hardest.pull) if hardest else None
    clamps = placed_clamps(replace(job, clamps=tuple(one.at for one in held.places)))
    pusher = f"{hardest.cutter.name}, dull" if hardest else ""
    return _picture(job, clamps, push, pusher, parts.outlines if parts else ())


def made_picture(made: Made) -> str | None:
    """The margin map of a made job: the hardest push of its programs, its parts' outlines drawn in.

    None where no clamp presses on the blank, or nothing is known of its material.
    """
    loads, push = made.verdict.loads, None
    if loads is not None and len(loads) and loads.force.max() > 0:
        push = Push(force=DULL * float(loads.force.max()), pull=DULL * float(loads.lift.max()))
    parts = tuple(part.outline for part in made.setup.parts)
    return _picture(made.job, made.setup.clamps, push, "the hardest cut of the programs, dull", parts)


def _picture(
    job: Job, clamps: tuple[PlacedClamp, ...], push: Push | None, pusher: str, parts: tuple[Polygon, ...]
) -> str | None:
    try:
        held = contacts(clamps, material(job.stock.material), placed_grips(job), placed_stops(job))
    except ShelfError:  # nothing is known of how this stock slides
        return None
    if not len(held):
        return None
    solids = [clamp.bar.footprint for clamp in clamps] + [one.footprint for c in clamps for one in c.bolt]
    left, front, right, back = shapely.total_bounds([shapely.box(0, 0, *job.stock.size), *solids])
    scale = min((WIDE - 2 * EDGE) / (right - left), HIGH / (back - front))
    page = Page(
        job=job,
        over=margin_map(held, job.stock.size, push),
        push=push,
        pusher=pusher,
        clamps=clamps,
        parts=parts,
        left=(WIDE - (right - left) * scale) / 2 - left * scale,
        back=TOP + back * scale,
        scale=scale,
    )
    return "\n".join(_lines(page, TOP + (back - front) * scale)) + "\n"


def _lines(page: Page, foot: float) -> Iterator[str]:
    bands = _bands(page)
    legend = list(_legend(page, bands, foot + 22))
    high = foot + 22 + ROW * (len(bands) + 3) + EDGE - 6
    name = escaped(page.job.name)
    yield (
        f'<svg xmlns="http://www.w3.org/2000/svg" {MARK} width="{WIDE * 5 / 3:.0f}" '
        f'height="{high * 5 / 3:.0f}" viewBox="0 0 {WIDE:.0f} {_short(high)}" role="img">'
    )
    yield f"<title>{name}: how hard the blank may be pushed, and where</title>"
    yield f"<desc>{escaped(' '.join((*_heads(page), _weakest_words(page))))}</desc>"
    yield f"<style>{STYLE}</style>"
    yield HATCHES
    yield f'<rect width="{WIDE:.0f}" height="{_short(high)}" fill="#fff"/>'
    first, second = _heads(page)
    yield _text(EDGE, 18, first, style="head")
    yield _text(EDGE, 33, second)
    for band in bands:
        yield _filled(page, band)
    for part in page.parts:
        yield f'<path class="part" d="{_ring(page, part.simplify(ROUGH / page.scale))}"/>'
    yield from _levels(page, bands)
    yield f'<path class="blank" d="{_ring(page, shapely.box(0, 0, *page.job.stock.size))}"/>'
    for clamp in page.clamps:
        yield from _clamp(page, clamp)
    yield from _weakest(page)
    yield from legend
    yield "</svg>"


def _heads(page: Page) -> tuple[str, str]:
    if page.push is None:
        return "How hard the blank may be pushed before it slips", "in newtons, whichever way the push goes"
    return (
        "How many times over the clamps stand the hardest push",
        f"a push of {page.push.force:.0f} N, whichever way: {page.pusher}; {WANTED:g} times is wanted",
    )


def _bands(page: Page) -> tuple[Band, ...]:
    """The bands that there are, the one that stands least first."""
    low, high = float(page.over.force.min()), float(page.over.force.max())
    levels = TIMES if page.push else _round_levels(low, high)
    tones = range(len(TONES)) if page.push else _spread(len(levels) + 1)
    steps = (0.0, *levels)
    found: list[Band] = []
    for number, (least, tone) in enumerate(zip(steps, tones, strict=True)):
        above = steps[number + 1] if number + 1 < len(steps) else math.inf
        if above <= low or least > high:
            continue
        region = region_of(page.over, least) if least > low else shapely.box(0, 0, *page.job.stock.size)
        if region.is_empty:
            continue
        hatch = ("margin-cross", "margin-lines")[number] if page.push and least < WANTED else ""
        words = _times_words(least, above) if page.push else _newton_words(least, above)
        found.append(Band(least=least, region=region, tone=TONES[tone], hatch=hatch, words=words))
    return tuple(found)


def _spread(count: int) -> list[int]:
    """Tones for so many bands, as far apart as can be, none of them so dark that it looks forbidden."""
    return [round(2 + number * (len(TONES) - 3) / max(1, count - 1)) for number in range(count)]


def _round_levels(low: float, high: float) -> tuple[float, ...]:
    """Round forces between the least and the most, at most a handful, even steps."""
    room = max(high - low, 1e-6)
    power = 10.0 ** math.floor(math.log10(room / MOST_LEVELS))
    step = next(
        power * factor for factor in (1, 2, 5, 10) if room / (power * factor) <= MOST_LEVELS - 1 + 1e-9
    )
    first = math.floor(low / step) + 1
    return tuple(step * number for number in range(first, math.ceil(high / step)))


def _times_words(least: float, above: float) -> str:
    """What a band is for."""
    if least <= 0:
        return "less than once: the blank moves. Do not cut here"
    if above <= WANTED:
        return f"{least:g} to {above:g} times: too little. Do not cut hard here"
    upper = f"{least:g} to {above:g} times" if above < math.inf else f"{least:g} times and more"
    return f"{upper}: enough" if least <= WANTED else upper


def _newton_words(least: float, above: float) -> str:
    if least <= 0:
        return f"less than {above:g} N"
    return f"{least:g} to {above:g} N" if above < math.inf else f"{least:g} N and more"


def _filled(page: Page, band: Band) -> str:
    """A band and all that lie in it; the next is drawn over it. White first: hatching ends at a line."""
    ring = _ring(page, _smooth(page, band.region))
    hatched = f'<path d="{ring}" fill="url(#{band.hatch})"/>' if band.hatch else ""
    return f'<path d="{ring}" fill="{band.tone}"/>{hatched}'


def _smooth(page: Page, region: Polygon) -> Polygon:
    """With fewer corners; the hull's corners are kept or dropped, so that it never grows."""
    thin = region.simplify(ROUGH / page.scale)
    return thin if isinstance(thin, Polygon) and not thin.is_empty else region


def _levels(page: Page, bands: Sequence[Band]) -> Iterator[str]:
    """Lines between bands, each with its number in places that lie apart."""
    taken: list[tuple[float, float]] = []
    for _, band in pairwise(bands):
        inner = _inside(page, band.region)
        style = "wanted" if page.push and band.least == WANTED else "level"
        for line in inner:
            yield f'<path class="{style}" d="{_way(page, line.simplify(ROUGH / page.scale))}"/>'
        words = _level_words(page, band.least)
        place = _label_place(page, inner, taken)
        if place is not None:
            taken.append(place)
            yield _beside(page, place, ON_LINE, words)


def _level_words(page: Page, level: float) -> str:
    if page.push is None:
        return f"{level:g} N"
    return "once" if level == 1 else f"{level:g} times"


def _beside(page: Page, at: tuple[float, float], shifts: Sequence[tuple[int, int]], words: str) -> str:
    """A number near a place, by the first shift that keeps it off the clamps."""
    bars = shapely.union_all([_on_page(page, clamp.bar.footprint) for clamp in page.clamps])
    places = [_in_blank(page, (at[0] + across, at[1] + down)) for across, down in shifts]
    x, y = next((place for place in places if not _room(place).intersects(bars)), places[0])
    return _haloed(x, y + 4, words, style="bold")


def _room(place: tuple[float, float]) -> Polygon:
    (x, y), (half, high) = place, LETTERS
    return shapely.box(x - half, y - high, x + half, y + high)


def _in_blank(page: Page, place: tuple[float, float]) -> tuple[float, float]:
    """The nearest place at which a number lies in the blank."""
    (wide, deep), (half, high) = page.job.stock.size, LETTERS
    x = min(max(place[0], page.x(0) + half), max(page.x(wide) - half, page.x(wide / 2)))
    y = min(max(place[1], page.y(deep) + high), max(page.y(0) - high, page.y(deep / 2)))
    return x, y


def _inside(page: Page, region: Polygon) -> tuple[LineString, ...]:
    """A region's edge as far as it lies in the blank and not on the blank's own edge."""
    sheet = shapely.box(0, 0, *page.job.stock.size)
    left = region.exterior.difference(sheet.exterior.buffer(0.5 / page.scale))
    if isinstance(left, MultiLineString):
        left = shapely.line_merge(left)
    lines = list(left.geoms) if isinstance(left, MultiLineString) else [left]
    return tuple(line for line in lines if isinstance(line, LineString) and line.length * page.scale > 6)


def _label_place(
    page: Page, lines: Sequence[LineString], taken: Sequence[tuple[float, float]]
) -> tuple[float, float] | None:
    """A place on a line, on the page, far from clamps, corners, edges and other numbers."""
    worst = page.x(_worst(page)[0]), page.y(_worst(page)[1])
    found: list[tuple[float, tuple[float, float]]] = []
    sheet = shapely.box(0, 0, *page.job.stock.size)
    for line in lines:
        for share in np.linspace(0.04, 0.96, 47).tolist():
            point = line.interpolate(share, normalized=True)
            place = page.x(point.x), page.y(point.y)
            away = [math.hypot(place[0] - x, (place[1] - y) * 2) for x, y in (*taken, worst)]
            away += [2 * page.scale * float(clamp.bar.footprint.distance(point)) for clamp in page.clamps]
            away.append(2.5 * page.scale * float(sheet.exterior.distance(point)))
            found.append((round(min(away), 3), place))
    return max(found)[1] if found else None


def _clamp(page: Page, clamp: PlacedClamp) -> Iterator[str]:
    """The bar, black where it presses, its knob, its bolt, and the name of its hole."""
    yield f'<path class="bar" d="{_ring(page, clamp.bar.footprint)}"/>'
    if not clamp.pressing.is_empty:
        yield f'<path class="nose" d="{_ring(page, clamp.pressing)}"/>'
    round_ones = sorted((one.footprint for one in clamp.bolt), key=lambda one: -float(one.area))
    for solid in round_ones:
        left, front, right, back = solid.bounds
        x, y, radius = page.x((left + right) / 2), page.y((front + back) / 2), (right - left) / 2 * page.scale
        yield f'<circle class="knob" cx="{_short(x)}" cy="{_short(y)}" r="{_short(radius)}"/>'
    if round_ones:
        middle = round_ones[0].centroid
        yield _haloed(page.x(middle.x), page.y(middle.y) + 4, clamp.hole, style="bold")


def _worst(page: Page) -> tuple[float, float, float]:
    """The weakest place of the blank and what it stands."""
    row, column = divmod(int(page.over.force.argmin()), len(page.over.x))
    return float(page.over.x[column]), float(page.over.y[row]), float(page.over.force[row, column])


def _weakest_words(page: Page) -> str:
    x, y, stands = _worst(page)
    units: System = page.job.units
    where = f"{show_length(x, units)} from the left, {show_length(y, units)} from the front"
    return f"weakest place, {where}: {_amount(page, stands)}"


def _amount(page: Page, value: float) -> str:
    """A value, rounded down: the picture promises no more than there is."""
    if page.push is None:
        return f"{math.floor(value)} N"
    return f"{math.floor(value * 10) / 10:.1f} times" if value < 10 else f"{math.floor(value)} times"


def _weakest(page: Page) -> Iterator[str]:
    """A black triangle with its tip at the weakest place, and its number where no clamp lies."""
    x, y, stands = _worst(page)
    yield _beside(page, (page.x(x), page.y(y)), NEAR_WEAKEST, _amount(page, stands))
    yield _triangle(page.x(x), page.y(y), flat=y > page.job.stock.size[1] / 2)


def _on_page(page: Page, shape: Polygon) -> Polygon:
    return Polygon([(page.x(x), page.y(y)) for x, y in shape.exterior.coords])


def _triangle(x: float, y: float, *, flat: bool) -> str:
    """With its tip at a place; flat: hanging below it, so that it lies in the blank."""
    up = 13 if flat else -13
    return f'<path class="mark" d="M{_short(x)} {_short(y)}l-7 {up}h14Z"/>'


def _legend(page: Page, bands: Sequence[Band], top: float) -> Iterator[str]:
    """What each band means in words, the one that stands least first, and the other signs."""
    wide, high = SWATCH
    y = top
    for band in bands:
        box = f'x="{_short(EDGE)}" y="{_short(y - 10)}" width="{wide:g}" height="{high:g}"'
        yield f'<rect {box} fill="{band.tone}" stroke="#000"/>'
        if band.hatch:
            yield f'<rect {box} fill="url(#{band.hatch})"/>'
        bold = "bold" if band.hatch else ""
        yield _text(EDGE + wide + 8, y, band.words, style=bold)
        y += ROW
    yield _triangle(EDGE + wide / 2, y + 2, flat=False)
    yield _text(EDGE + wide + 8, y, _weakest_words(page))
    y += ROW
    yield f'<rect class="bar" x="{_short(EDGE)}" y="{_short(y - 10)}" width="{wide:g}" height="{high:g}"/>'
    nose = f'x="{_short(EDGE + wide - 11)}" y="{_short(y - 10)}" width="11" height="{high:g}"'
    yield f'<rect class="nose" {nose}/>'
    parts = "; broken lines: the parts" if page.parts else ""
    yield _text(EDGE + wide + 8, y, f"clamp, black where it presses, with its bolt's hole{parts}")
    y += ROW
    yield _text(EDGE, y, "Friction and hands count at their weak end. Tug at the blank before cutting.")


def _haloed(x: float, y: float, text: str, *, style: str = "", anchor: str = "middle") -> str:
    """Letters on a white ground of their own shape."""
    at = f'x="{_short(x)}" y="{_short(y)}" text-anchor="{anchor}"'
    weight = ' font-weight="700"' if style else ""
    letters = escaped(text)
    return f'<text class="halo" {at}{weight}>{letters}</text><text {at}{weight}>{letters}</text>'


def _text(x: float, y: float, text: str, *, style: str = "") -> str:
    kind = f' class="{style}"' if style else ""
    return f'<text{kind} x="{_short(x)}" y="{_short(y)}">{escaped(text)}</text>'


def _ring(page: Page, shape: Polygon) -> str:
    return _way(page, LineString(list(shape.exterior.coords)[:-1])) + "Z"


def _way(page: Page, line: LineString) -> str:
    return "M" + "L".join(f"{_short(page.x(x))} {_short(page.y(y))}" for x, y in line.coords)


def _short(value: float) -> str:
    """A hundredth of the unit is enough for a picture."""
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text
