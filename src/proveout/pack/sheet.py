"""The setup sheet: the words and numbers of sheet.typ, and the PDF that comes of them."""

import json
import re
from collections.abc import Iterator, Sequence
from importlib import resources
from typing import Final, Literal

import typst

from proveout import __version__
from proveout.book.article import Article
from proveout.figure import Figure
from proveout.finding import Finding, Level
from proveout.job.records import Towards
from proveout.pack.after import after_blocks
from proveout.pack.articles import articles
from proveout.pack.cautions import CAUTIONS, FIRST
from proveout.pack.made import Made
from proveout.pack.markup import plain
from proveout.pack.on_the_bed import clamps_alike, cutters_in_order, hardware_rows, otherwise_held
from proveout.pack.operations import operation_rows
from proveout.pack.plan_picture import numbered
from proveout.pack.shopping import cutting_rows, shopping_rows
from proveout.pack.sizes import caliper, caliper_span
from proveout.quantity import System, show, show_length, show_time

Paper = Literal["a4", "letter"]

PAPERS: Final[dict[Paper, str]] = {"a4": "a4", "letter": "us-letter"}
ROOM: Final = (130.0, 108.0)  # mm across and down that page 1 gives the picture of the bed
UNBROKEN: Final = re.compile(r"[^\s/-]{17,}")  # a word that a narrow column could not hold
SHORT: Final = 48  # characters of the job's name at the foot of each page
NOSE: Final[dict[Towards, str]] = {
    "left": "left",
    "right": "right",
    "front": "to the front",
    "back": "to the back",
}

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


def setup_sheet(made: Made, plan_svg: bytes, paper: Paper = "a4") -> bytes:
    """The setup sheet as PDF; equal jobs give equal bytes.

    Args:
        made: the job
        plan_svg: the picture of the layout, drawn for ROOM
        paper: A4 (ISO 216), or US Letter (8-1/2 by 11 in)
    """
    pdf = typst.compile(_template(), sys_inputs=_inputs(made, plan_svg, paper), ignore_system_fonts=True)
    assert isinstance(pdf, bytes)
    return pdf


def sheet_pictures(made: Made, plan_svg: bytes, paper: Paper = "a4", *, per_inch: float) -> tuple[bytes, ...]:
    """The sheet's pages as PNG pictures, so many dots to the inch."""
    pages = typst.compile(
        _template(),
        sys_inputs=_inputs(made, plan_svg, paper),
        ignore_system_fonts=True,
        format="png",
        ppi=per_inch,
    )
    return tuple(pages) if isinstance(pages, list) else (pages,)


def _template() -> bytes:
    return resources.files("proveout.pack").joinpath("sheet.typ").read_bytes()


def _inputs(made: Made, plan_svg: bytes, paper: Paper) -> dict[str, str]:
    data = json.dumps(_printable(sheet_data(made)))
    return {"data": data, "plan": plan_svg.decode(), "paper": PAPERS[paper]}


def _printable(value: object) -> object:
    """The same words without characters that no page may hold, and with places to break the longest."""
    match value:
        case str():
            return UNBROKEN.sub(_breakable, plain(value))
        case dict():
            return {key: _printable(one) for key, one in value.items()}
        case list() | tuple():
            return [_printable(one) for one in value]
        case _:
            return value


def _breakable(found: re.Match[str]) -> str:
    """A long word that may be broken anywhere: a zero-width space after every few letters."""
    word = found[0]
    return "\u200b".join(word[start : start + 4] for start in range(0, len(word), 4))


def sheet_data(made: Made) -> dict[str, object]:
    """Everything that the template sets, in words."""
    job, units = made.job, made.job.units
    findings = [_finding(number, one) for number, one in numbered(made.findings)]
    return {
        "title": job.name,
        "short-title": job.name if len(job.name) <= SHORT else f"{job.name[: SHORT - 3]}...",
        "shop": f"{job.shop.name}, {job.shop.machine.name}",
        "made-by": f"proveout {__version__}",
        "verdict": made.verdict_words,
        "minutes": show_time(made.verdict.minutes.total * 60),
        "likely": made.likely_words,
        "stops": [one for one in findings if one["level"] == Level.STOP.value],
        "ready": made.ready,
        "stock": _stock(made),
        "clamps": list(_clamps(made)),
        "cutters": list(_cutters(made)),
        "held": list(otherwise_held(job.means, units)),
        "operations": operation_rows(made),
        "fetch": list(hardware_rows(made)),
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


# What lies on the bed


def _clamps(made: Made) -> Iterator[dict[str, object]]:
    for alike in clamps_alike(made):
        yield {
            "what": f"{len(alike.places)} x {alike.kind}",
            "bolt": alike.bolt,
            "places": [
                {"number": str(number), "hole": at.hole, "towards": f"nose {NOSE[at.towards]}"}
                for number, at in alike.places
            ],
        }


def _cutters(made: Made) -> Iterator[Row]:
    units = made.job.units
    for cutter in cutters_in_order(made):
        yield {
            "number": str(cutter.number),
            "name": cutter.name,
            "across": show_length(cutter.diameter, units),
            "flutes": show_length(cutter.flute_length, units),
            "out": show_length(cutter.stick_out, units),
        }


def _stock(made: Made) -> str:
    job, units = made.job, made.job.units
    size = " x ".join(show_length(side, units) for side in job.stock.size)
    thick = caliper_span(job.stock.thinnest, job.stock.thickest, units)
    return f"{job.stock.material}, {size}, {thick} thick"


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
        yield str(row.number), row.words, caliper(row.expected, units), _within(row, units)


def _within(row: Article, units: System) -> str:
    """How far off it may be; of a fit the readings between which it is right."""
    if row.low is not None and row.high is not None:
        low, high = (one if units == "mm" else one / 25.4 for one in (row.low, row.high))
        return f"{low:.2f} to {high:.2f} mm" if units == "mm" else f"{low:.3f} to {high:.3f} in"
    return f"± {row.within:.2f} mm" if units == "mm" else f"± {row.within / 25.4:.3f} in"
