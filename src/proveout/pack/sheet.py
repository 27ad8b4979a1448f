"""The setup sheet: the words and numbers of sheet.typ, and the PDF that comes of them."""

import json
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from importlib import resources
from typing import Final

import typst

from proveout import __version__
from proveout.book.article import Article
from proveout.figure import Figure
from proveout.finding import Finding, Level
from proveout.job.records import (
    CouponWanted,
    DrawnWanted,
    KnobWanted,
    OtherMeans,
    StopWanted,
    StrapWanted,
    Wanted,
)
from proveout.pack.after import after_blocks
from proveout.pack.articles import articles
from proveout.pack.cautions import CAUTIONS, FIRST
from proveout.pack.coupon_words import coupon_hardware
from proveout.pack.made import Made
from proveout.pack.markup import plain
from proveout.pack.plan_picture import numbered
from proveout.pack.shopping import cutting_rows, shopping_rows
from proveout.pack.sizes import sized
from proveout.program.text import Program
from proveout.quantity import System, show, show_length, show_time

Row = dict[str, str]

# The last words of the names of figures that a person at the machine wants; the report has them all.
SHOWN: Final = (
    "safe height",
    "depth",
    "flats",
    "floor left",
    "diameter",
    "width",
    "waist",
    "height",
    "friction",
    "force",
    "speed",
    "feed",
)
CUTTING: Final = "cutting."  # figures of cutting data are named cutting.<cutter>.<kind of cut>.<value>


def setup_sheet(made: Made, plan_svg: bytes) -> bytes:
    """The setup sheet as PDF, A4; equal jobs give equal bytes.

    Args:
        made: the job
        plan_svg: the picture of the layout
    """
    template = resources.files("proveout.pack").joinpath("sheet.typ").read_bytes()
    pdf = typst.compile(
        template,
        sys_inputs={"data": json.dumps(_printable(sheet_data(made))), "plan": plan_svg.decode()},
        ignore_system_fonts=True,
    )
    assert isinstance(pdf, bytes)
    return pdf


def _printable(value: object) -> object:
    """The same words without characters that no page may hold."""
    match value:
        case str():
            return plain(value)
        case dict():
            return {key: _printable(one) for key, one in value.items()}
        case list() | tuple():
            return [_printable(one) for one in value]
        case _:
            return value


def sheet_data(made: Made) -> dict[str, object]:
    """Everything that the template sets, in words."""
    job, units = made.job, made.job.units
    findings = [_finding(number, one) for number, one in numbered(made.findings)]
    return {
        "title": job.name,
        "shop": f"{job.shop.name}, {job.shop.machine.name}",
        "made-by": f"proveout {__version__}",
        "verdict": made.verdict_words,
        "minutes": show_time(made.verdict.minutes.total * 60),
        "likely": made.likely_words,
        "stops": [one for one in findings if one["level"] == Level.STOP.value],
        "fetch": list(_fetch(made)),
        "measure": _measure(made),
        "steps": list(_steps(made)) if made.ready else [],
        "first-caution": FIRST,
        "findings": findings,
        "cutting": _cutting(made.figures, units),
        "figures": list(_figures(made.figures, units)),
        "after": after_blocks(made),
        "buy": shopping_rows(made),
        "cut": cutting_rows(made),
        "article": list(_article(made)),
        "cautions": CAUTIONS,
        "proof": made.verdict.notes,
    }


# What to fetch


def _fetch(made: Made) -> Iterator[tuple[str, str]]:
    job, units = made.job, made.job.units
    size = " x ".join(show_length(side, units) for side in job.stock.size)
    thick = _range(job.stock.thinnest, job.stock.thickest, units)
    yield "sheet", f"{job.stock.material}, {size}, {thick} thick"
    used = {number for program in made.programs for number in program.cutters}
    for cutter in job.shop.cutters:
        if cutter.number in used:
            across, flutes, out = (
                show_length(size, units) for size in (cutter.diameter, cutter.flute_length, cutter.stick_out)
            )
            said = f"{cutter.name}: {across} across, flutes {flutes} long, stick-out {out} from the nut"
            yield f"cutter {cutter.number}", said
    for name in dict.fromkeys(at.clamp for at in job.clamps):
        holes = [at.hole for at in job.clamps if at.clamp == name]
        bolt = next(kind.bolt for kind in job.shop.clamps if kind.name == name)
        yield "clamps", f"{len(holes)} x {name} with {sized(bolt)} bolt, for holes {', '.join(holes)}"
    yield from _fetch_means(job.means, units)
    for wanted in job.wanted:
        for hardware in _hardware(made, wanted):
            yield "hardware", f"{hardware}, for {wanted.name}"


def _fetch_means(means: OtherMeans, units: System) -> Iterator[tuple[str, str]]:
    """What else holds the blank, counted."""
    if means.stops:
        yield "stops", f"{len(means.stops)}, to be fixed to the plate against the sheet's edges"
    for dowel, count in Counter(one.diameter for one in means.dowels).items():
        yield "dowels", f"{count} x {show_length(dowel, units)}"
    for tape in means.tape:
        yield "tape", f"double-sided, {' x '.join(show_length(one, units) for one in tape.size)}"
    for (wide, long), count in Counter((one.diameter, one.length) for one in means.screws).items():
        yield "screws", f"{count} x {show_length(wide, units)}, {show_length(long, units)} long"


def _hardware(made: Made, wanted: Wanted) -> Iterator[str]:
    """What the finished parts take, counted."""
    match wanted.pattern:
        case KnobWanted() as knob:
            form = "hex head bolt" if knob.hardware.form == "hex head" else "hex nut"
            yield f"{wanted.count} x {sized(knob.hardware.size)} {form}"
        case StopWanted() as stop:
            yield f"{wanted.count * stop.holes} x {sized(stop.hardware.size)} dowel"
        case StrapWanted() as strap:
            yield f"{wanted.count} x {sized(strap.bolt)} bolt"
        case CouponWanted() as coupon:
            yield coupon_hardware(wanted, coupon)
        case DrawnWanted():
            part = next((one.part for one in made.placed if one.part.name == wanted.name), None)
            taken = Counter(one.takes for one in part.features if one.takes) if part else Counter()
            yield from (f"{wanted.count * count} x {what}" for what, count in taken.items())


def _measure(made: Made) -> Row:
    stock = made.job.stock
    band = _range(stock.thinnest, stock.thickest, made.job.units)
    say = f"Calipers near each corner. This job holds for readings of {band}."
    if not stock.measured:
        say = (
            f"Nothing was measured: {_caliper(stock.thickest, made.job.units)} was stated. "
            "Calipers near each corner, before anything else."
        )
    return {
        "say": say,
        "otherwise": "Any reading outside: stop, write all readings in the job file and make the job again.",
    }


def _range(low: float, high: float, units: System) -> str:
    if low == high:
        return _caliper(low, units)
    return f"{_caliper(low, units)} to {_caliper(high, units)}"


def _caliper(value: float, units: System) -> str:
    """A length as calipers show it: hundredths of a millimetre, or thousandths of an inch and both."""
    if units == "mm":
        return f"{value:.2f} mm"
    return f"{value / 25.4:.3f} in ({value:.2f} mm)"


# Steps at the machine


def _steps(made: Made) -> Iterator[Row]:
    """In the order of the work; each with what to watch and the time that it takes, where it has one."""
    yield from _set_up(made)
    stick_outs = {cutter.number: cutter.stick_out for cutter in made.job.shop.cutters}
    fitted = _first_cutter(made)
    gap = show_length(made.job.safe_above, made.job.units)
    for program in made.programs:
        if not program.cutters:
            yield _step(
                f"Run {program.file}, spindle off, a hand at the emergency stop.",
                f"It goes round the sheet, then round all cutting, {gap} above the highest clamp: see that "
                "the gap is there, and that no part will be cut under a clamp.",
                _time(made, program),
            )
            continue
        number = program.cutters[0]
        if number != fitted:
            out = show_length(stick_outs[number], made.job.units)
            yield _step(
                f"Machine isolated: change to cutter {number}, stick-out {out}. "
                "Set its height to the same zero."
            )
        fitted = program.cutters[-1]
        yield _run(made, program)


def _set_up(made: Made) -> Iterator[Row]:
    job, units = made.job, made.job.units
    yield _step("Measure the sheet and fill in the four boxes above.")
    right, back = (show_length(one, units) for one in job.stock.at)
    yield _step(
        f"Brush plate and sheet clean. Lay the sheet with its left edge {right} from the plate's left "
        f"edge and its front edge {back} from the plate's front edge.",
        "Set it by rule or square: clamps and inserts were proved for this place. Through cuts go "
        f"{show_length(job.through_allowance, units)} into the plate.",
    )
    if job.flaws:
        spots = ", ".join(f"{one.what} at {_spot(one.at, units)}" for one in job.flaws)
        yield _step(
            f"See that the sheet lies the way round that its flaws were marked: {spots}.",
            "Counted from its left front corner; the plan shows them, and parts keep off them there alone.",
        )
    holes = ", ".join(at.hole for at in job.clamps)
    if holes:
        yield _step(
            f"Clamps at {holes}: noses over the sheet as drawn, heels level or a little higher, hand-tight.",
            "Pull at the sheet: it must not move.",
        )
    yield from _hold_otherwise(job.means, units)
    first = _first_cutter(made)
    if first is not None:
        stick_out = next(one.stick_out for one in job.shop.cutters if one.number == first)
        out = show_length(stick_out, units)
        yield _step(f"Machine isolated: cutter {first} in the collet, stick-out {out}, nut tight.")
    yield _step(_zero_words(made), "A cutter changed later needs its height set again.")
    yield _step(f"Raise the cutter above everything on the bed{_travel(made, units)}.")


def _spot(at: tuple[float, float], units: System) -> str:
    return f"({show_length(at[0], units)}, {show_length(at[1], units)})"


def _travel(made: Made, units: System) -> str:
    """How high the programs travel, near clamps and away from them."""
    heights = {figure.name: show_length(figure.value, units) for figure in made.figures}
    safe, low = heights.get("safe height"), heights.get("height away from clamps")
    if safe is None:
        return ""
    lower = f", and {low} between cuts away from clamps: lay nothing on the sheet" if low else ""
    return f": the programs travel {safe} above the bed{lower}"


def _hold_otherwise(means: OtherMeans, units: System) -> Iterator[Row]:
    """What holds the blank besides clamps, in the order of the work; places from the sheet's corner."""

    def places(points: Iterable[tuple[float, float]]) -> str:
        return ", ".join(f"({', '.join(show_length(one, units) for one in point)})" for point in points)

    if means.tape:
        yield _step(
            f"Tape under the sheet, its left front corners at {places(one.at for one in means.tape)}.",
            "Places count from the sheet's left front corner. Both faces brushed and wiped; press the sheet "
            "down all over, then pull at it.",
        )
    if means.stops or means.dowels:
        at = places([*(one.at for one in means.stops), *(one.at for one in means.dowels)])
        yield _step(f"Stops and dowels at {at}, the sheet against every stop.", "No gap at any stop.")
    if means.screws:
        yield _step(
            f"Screws at {places(one.at for one in means.screws)}, drilled for, in waste only.",
            "Within 1 mm of these places: a cutter that meets a screw breaks.",
        )
    if means.vacuum:
        yield _step("Vacuum on: read the gauge.", "Stop if it falls. Stop the spindle before the pump.")


def _run(made: Made, program: Program) -> Row:
    calls = ""
    if len(program.cutters) > 1:
        calls = f" It calls for cutters {', '.join(map(str, program.cutters))} in this order."
    return _step(
        f"Extraction on, eyes and ears protected. Run {program.file}.{calls}",
        "Listen for chatter, look for smoke; stop if sheet or clamp moves.",
        _time(made, program),
    )


def _first_cutter(made: Made) -> int | None:
    return next((program.cutters[0] for program in made.programs if program.cutters), None)


def _time(made: Made, program: Program) -> str:
    return next(
        (show_time(one.minutes.total * 60) for one in made.verdict.programs if one.file == program.file), ""
    )


def _step(do: str, watch: str = "", time: str = "") -> Row:
    return {"do": do, "watch": watch, "time": time}


def _zero_words(made: Made) -> str:
    zero = made.job.zero
    corner = "the middle" if zero.corner == "centre" else f"the {zero.corner} corner"
    level = "the sheet's top" if zero.level == "top" else "the bed, beside the sheet"
    return f"Work zero: X and Y at {corner} of the sheet, Z on {level}."


# Reasons and findings


def _finding(number: int, finding: Finding) -> Row:
    where = f"{finding.program}, line {finding.line}: " if finding.program and finding.line else ""
    return {
        "number": str(number),
        "level": finding.level.value,
        "where": where,
        "text": finding.text,
        "remedy": finding.remedy,
    }


def _cutting(figures: Sequence[Figure], units: System) -> list[list[str]]:
    """Speed, feeds and depth of cut by cutter, kinds of cut with the same values in one row."""
    kinds: dict[str, dict[str, Figure]] = {}
    for figure in figures:
        if figure.name.startswith(CUTTING):
            kind, value = figure.name.removeprefix(CUTTING).rsplit(".", 1)
            kinds.setdefault(kind, {})[value] = figure
    rows: dict[tuple[str, ...], list[str]] = {}
    for kind, values in kinds.items():
        cutter, cut = kind.rsplit(".", 1)
        cells = (_value(values.get(name), units) for name in ("speed", "feed", "plunge feed", "depth of cut"))
        limits = (_limit(values.get(name)) for name in ("feed", "depth of cut"))
        rows.setdefault((cutter, *cells, *limits), []).append(cut)
    return [
        [f"{cutter}: {', '.join(cuts)}", *cells, f"Feed: {feed}. Depth: {depth}."]
        for (cutter, *cells, feed, depth), cuts in rows.items()
    ]


def _value(figure: Figure | None, units: System) -> str:
    return show(figure.value, figure.unit, units) if figure else ""


def _limit(figure: Figure | None) -> str:
    return figure.rule.removeprefix("limited by: ").rstrip(".") if figure else "not used"


def _figures(figures: Sequence[Figure], units: System) -> Iterator[Row]:
    for figure in figures:
        if figure.name.rsplit(".", 1)[-1] in SHOWN and not figure.name.startswith(CUTTING):
            yield {
                "name": figure.name.replace(".", ", "),
                "value": show(figure.value, figure.unit, units),
                "range": _estimate(figure, units),
                "rule": figure.rule[:1].upper() + figure.rule[1:].rstrip(".") + ".",
                "source": figure.source,
            }


def _estimate(figure: Figure, units: System) -> str:
    if figure.low is None or figure.high is None:
        return ""
    return f"Between {show(figure.low, figure.unit, units)} and {show(figure.high, figure.unit, units)}."


# The first article


def _article(made: Made) -> Iterator[tuple[str, str, str, str]]:
    """One of each kind of part: what to measure, what it should read, and how far off it may be."""
    units = made.job.units
    for row in articles(made):
        yield str(row.number), row.words, _caliper(row.expected, units), _within(row, units)


def _within(row: Article, units: System) -> str:
    """How far off it may be; of a fit the readings between which it is right."""
    if row.low is not None and row.high is not None:
        low, high = (one if units == "mm" else one / 25.4 for one in (row.low, row.high))
        return f"{low:.2f} to {high:.2f} mm" if units == "mm" else f"{low:.3f} to {high:.3f} in"
    return f"± {row.within:.2f} mm" if units == "mm" else f"± {row.within / 25.4:.3f} in"
