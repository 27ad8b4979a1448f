"""The setup sheet: the words and numbers of sheet.typ, and the PDF that comes of them."""

import json
from collections.abc import Iterator
from importlib import resources
from typing import Final

import typst

from proveout import __version__
from proveout.figure import Figure
from proveout.finding import Finding, Level
from proveout.job.records import KnobWanted, StopWanted, StrapWanted, Wanted
from proveout.pack.cautions import CAUTIONS, FIRST
from proveout.pack.made import Made
from proveout.quantity import System, show, show_length, show_time
from proveout.setup import IntendedFeature

Row = dict[str, str]

# The last words of the names of figures that a person at the machine wants; the report has them all.
SHOWN: Final = (
    "safe height",
    "depth",
    "flats",
    "floor left",
    "diameter",
    "width",
    "depth of cut",
    "feed",
    "plunge feed",
    "speed",
    "waist",
    "height",
    "friction",
)


def setup_sheet(made: Made, plan: bytes) -> bytes:
    """The setup sheet as PDF, A4; equal jobs give equal bytes.

    Args:
        made: the job
        plan: SVG of the layout
    """
    template = resources.files("proveout.pack").joinpath("sheet.typ").read_bytes()
    pdf = typst.compile(
        template,
        sys_inputs={"data": json.dumps(sheet_data(made)), "plan": plan.decode()},
        ignore_system_fonts=True,
    )
    assert isinstance(pdf, bytes)
    return pdf


def sheet_data(made: Made) -> dict[str, object]:
    """Everything that the template sets, in words."""
    job, units = made.job, made.job.units
    return {
        "title": job.name,
        "shop": f"{job.shop.name}, {job.shop.machine.name}",
        "made-by": f"proveout {__version__}",
        "verdict": "READY" if made.ready else "NOT READY: do not cut",
        "minutes": show_time(made.verdict.minutes.total * 60),
        "fetch": [list(row) for row in _fetch(made)],
        "measure": _measure(made),
        "steps": list(_steps(made)),
        "first-caution": FIRST,
        "findings": [_finding(one) for level in Level for one in made.findings if one.level is level],
        "figures": list(_figures(made.figures, units)),
        "after": list(_after(made)),
        "article": [list(row) for row in _article(made)],
        "cautions": list(CAUTIONS),
        "proof": list(made.verdict.notes),
    }


# What to fetch


def _fetch(made: Made) -> Iterator[tuple[str, str]]:
    job, units = made.job, made.job.units
    size = " x ".join(show_length(side, units) for side in job.stock.size)
    yield "sheet", f"{job.stock.material}, {size}"
    used = {number for program in made.programs for number in program.cutters}
    for cutter in job.shop.cutters:
        if cutter.number in used:
            across, flutes, out = (
                show_length(size, units) for size in (cutter.diameter, cutter.flute_length, cutter.stick_out)
            )
            said = f"{cutter.name}: {across} across, flutes {flutes}, stick-out {out}"
            yield f"cutter {cutter.number}", said
    for name in dict.fromkeys(at.clamp for at in job.clamps):
        holes = [at.hole for at in job.clamps if at.clamp == name]
        bolt = next(kind.bolt for kind in job.shop.clamps if kind.name == name)
        yield f"{len(holes)} clamps", f"{name}, {bolt} bolts, for holes {', '.join(holes)}"
    for wanted in job.wanted:
        if hardware := _hardware(wanted):
            yield "hardware", hardware


def _hardware(wanted: Wanted) -> str:
    """What the finished parts take, counted."""
    match wanted.pattern:
        case KnobWanted() as knob:
            kind = "hex head bolts" if knob.hardware.form == "hex head" else "hex nuts"
            return f"{wanted.count} {knob.hardware.size} {kind}, for the {wanted.name}s"
        case StopWanted() as stop:
            return f"{wanted.count * stop.holes} dowels of size {stop.hardware.size}, for the {wanted.name}s"
        case StrapWanted() as strap:
            return f"{wanted.count} {strap.bolt} bolts, for the {wanted.name}s"


def _measure(made: Made) -> Row:
    stock, units = made.job.stock, made.job.units
    low, high = (show_length(end, units) for end in (stock.thinnest, stock.thickest))
    say = f"Calipers near each corner. This job holds from {low} to {high}."
    if not stock.measured:
        say = f"Nothing was measured: {high} was stated. Calipers near each corner, before anything else."
    return {
        "say": say,
        "otherwise": "Any reading outside: write all readings in the job file and make the job again.",
    }


# Steps at the machine


def _steps(made: Made) -> Iterator[Row]:
    job, units = made.job, made.job.units
    yield _step("Brush plate and sheet clean. Lay the sheet as drawn; its front edge towards you.")
    holes = ", ".join(at.hole for at in job.clamps)
    if holes:
        yield _step(
            f"Clamps at {holes}: noses over the sheet as drawn, heels level or a little higher, hand-tight."
        )
    first = next((program for program in made.programs if program.cutters), None)
    if first:
        yield _step(f"Cutter {first.cutters[0]} in the collet, with the stick-out above. Nut tight.")
    yield _step(_zero_words(made), "A cutter changed later needs its height set again.")
    safe = next((figure for figure in made.figures if figure.name == "safe height"), None)
    travel = f": the programs travel {show_length(safe.value, units)} above the bed" if safe else ""
    yield _step(f"Raise the cutter above everything on the bed{travel}.")
    minutes = {one.file: one.minutes.total for one in made.verdict.programs}
    changing = made.job.shop.machine.dialect == "plain"
    number = first.cutters[0] if first else 0
    for program in made.programs:
        time = show_time(minutes[program.file] * 60) if program.file in minutes else ""
        if not program.cutters:
            watch = "Watch: it goes round the sheet, then round all cutting, over every clamp."
            yield _step(f"Run {program.file}, spindle off.", watch, time)
            continue
        if changing and program.cutters[0] != number:
            number = program.cutters[0]
            yield _step(
                f"Spindle off and isolated. Change to cutter {number}; set its height to the same zero."
            )
        watch = "Listen for chatter, look for smoke; stop if sheet or clamp moves."
        yield _step(f"Guards, extraction, eyes and ears. Run {program.file}.", watch, time)


def _step(do: str, watch: str = "", time: str = "") -> Row:
    return {"do": do, "watch": watch, "time": time}


def _zero_words(made: Made) -> str:
    zero = made.job.zero
    corner = "the middle" if zero.corner == "centre" else f"the {zero.corner} corner"
    level = "the sheet's top" if zero.level == "top" else "the bed, beside the sheet"
    return f"Work zero: X and Y at {corner} of the sheet, Z on {level}."


# Reasons and findings


def _finding(finding: Finding) -> Row:
    where = f"{finding.program}, line {finding.line}: " if finding.program and finding.line else ""
    return {"level": finding.level.value, "where": where, "text": finding.text, "remedy": finding.remedy}


def _figures(figures: tuple[Figure, ...], units: System) -> Iterator[Row]:
    for figure in figures:
        if figure.name.rsplit(".", 1)[-1] in SHOWN:
            yield {
                "name": figure.name.replace(".", ", "),
                "value": show(figure.value, figure.unit, units),
                "rule": figure.rule,
                "source": figure.source,
            }


# After the cut


def _after(made: Made) -> Iterator[str]:
    yield "Spindle off and isolated; wait until it stands. Vacuum chips while the sheet is still clamped."
    if made.setup.tabs:
        height = show_length(made.setup.tabs[0].height, made.job.units)
        yield f"Unclamp. Saw or chisel the tabs ({height} high), then sand them flush. Ease all edges."
    for wanted in made.job.wanted:
        match wanted.pattern:
            case KnobWanted() as knob:
                yield (
                    f"{wanted.name}: start the {knob.hardware.size} hexagon square to the recess, support "
                    "the part all round underneath, press with a vice until it lies on the floor. "
                    "Don't hammer near the rim. Tighten and feel: if it turns in the wood, glue it in."
                )
            case StrapWanted() as strap:
                yield f"{wanted.name}: see that a {strap.bolt} bolt slides the whole slot; sand the nose."
            case StopWanted() as stop:
                yield f"{wanted.name}: try one {stop.hardware.size} dowel by hand before pressing the others."
    yield "Keep the offcut with its thickness written on it."


def _article(made: Made) -> Iterator[tuple[str, str, str]]:
    """One of each kind of part: its extent, and its features."""
    units = made.job.units
    shown: set[str] = set()
    for placed in made.placed:
        if placed.part.name in shown:
            continue
        shown.add(placed.part.name)
        part = next(one for one in made.setup.parts if one.name == placed.name)
        left, front, right, back = part.outline.bounds
        within = f"+/-{show_length(part.tolerance, units)}"
        width, height = sorted((right - left, back - front), reverse=True)
        size = f"{show_length(width, units)} x {show_length(height, units)}"
        yield f"{placed.part.name}: outside", size, within
        for feature in {one.name.rstrip(" 0123456789"): one for one in reversed(part.features)}.values():
            yield _feature_row(placed.part.name, feature, made)


def _feature_row(part: str, feature: IntendedFeature, made: Made) -> tuple[str, str, str]:
    units, within = made.job.units, f"+/-{show_length(feature.tolerance, made.job.units)}"
    left, front, right, back = feature.region.bounds
    if feature.through:
        narrow = show_length(min(right - left, back - front), units)
        return f"{part}: {feature.name}, width", narrow, within
    depth = made.job.stock.thickest - feature.floor
    return f"{part}: {feature.name}, depth at the thickest place", show_length(depth, units), within
