"""result.json: the whole result for other programs, as result.schema.json (version 1) describes it."""

import json
from collections.abc import Iterable, Sequence
from dataclasses import asdict
from typing import Final

from shapely import Polygon
from shapely.geometry.polygon import orient

from proveout import __version__
from proveout.book.article import Article
from proveout.figure import Figure
from proveout.finding import Finding
from proveout.job.records import Cutter, Job
from proveout.motion_time import Minutes
from proveout.pack.articles import articles
from proveout.pack.load_words import loads_of
from proveout.pack.made import Made
from proveout.pack.shopping import shopping_record
from proveout.program.text import Program
from proveout.proof.load_shares import Peak, peaks_of_programs
from proveout.proof.verdict import Verdict
from proveout.setup import Grip, IntendedFeature, IntendedPart, PlacedClamp, PlacedStop, Tab

SCHEMA: Final = 1
PLACES: Final = 6  # decimals of millimetres: far below what anything here means

Record = dict[str, object]


def result_json(made: Made) -> bytes:
    """The result as JSON text; equal results give equal bytes."""
    text = json.dumps(result_record(made), indent=1, ensure_ascii=False, allow_nan=False)
    return f"{text}\n".encode()


def result_record(made: Made) -> Record:
    """The result as plain data. Lengths in mm, internal frame; polygons as rings of [x, y]."""
    stock, setup = made.job.stock, made.setup
    minutes = {one.file: one.minutes for one in made.verdict.programs}
    return {
        "schema": SCHEMA,
        "proveout": __version__,
        "job": made.job.name,
        "units": made.job.units,
        "verdict": "ready" if made.ready else "not ready",
        "findings": [finding_record(finding) for finding in made.findings],
        "minutes": minutes_record(made.verdict.minutes),
        "stock": {
            "size": _rounded(stock.size),
            "thickness": {
                "min": _round(stock.thinnest),
                "mean": _round(stock.mean),
                "max": _round(stock.thickest),
            },
            "measured": stock.measured,
            "material": stock.material,
        },
        "zero": dict(zip("xyz", _rounded(setup.zero), strict=True)),
        "programs": [_program(one, minutes.get(one.file), setup.cutters) for one in made.programs],
        "parts": [_part(part) for part in setup.parts],
        "clamps": [_clamp(clamp) for clamp in setup.clamps],
        "means": [*(_grip(one) for one in setup.grips), *(_stop(one) for one in setup.stops)],
        "tabs": [_tab(tab) for tab in setup.tabs],
        "loads": loads_record(made.job, made.verdict),
        "articles": [_article(one) for one in articles(made)],
        "figures": [_figure(figure) for figure in made.figures],
        "proof": list(made.verdict.notes),
        "shopping": shopping_record(made),
    }


def finding_record(finding: Finding) -> Record:
    """One finding as plain data."""
    return {
        "level": finding.level.value,
        "kind": finding.kind,
        "program": finding.program,
        "line": finding.line,
        "at": None if finding.at is None else _rounded(finding.at),
        "text": finding.text,
        "remedy": finding.remedy,
        "each": [_place(one) for one in finding.each],
    }


def _place(finding: Finding) -> Record:
    """One of several findings that are told as one."""
    return {
        "program": finding.program,
        "line": finding.line,
        "at": None if finding.at is None else _rounded(finding.at),
        "text": finding.text,
    }


def minutes_record(minutes: Minutes) -> Record:
    """Minutes as plain data, to the hundredth."""
    return {
        "total": round(minutes.total, 2),
        "cutting": round(minutes.cutting, 2),
        "air": round(minutes.air, 2),
        "tool_changes": round(minutes.tool_changes, 2),
    }


def loads_record(job: Job, verdict: Verdict) -> Record | None:
    """For each program where each load comes closest to its limit; None where no loads are known."""
    every, loads = loads_of(job, verdict), verdict.loads
    if loads is None or not every:
        return None
    return {
        "programs": [
            {"file": file, **{name: _peak(worst) for name, worst in worst_of.items()}}
            for file, worst_of in peaks_of_programs(verdict, loads, every)
        ]
    }


def _peak(worst: Peak | None) -> Record | None:
    """Four figures are more than an estimate has, and alike on every machine."""
    if worst is None:
        return None
    return {
        "value": float(f"{worst.value:.4g}"),
        "limit": float(f"{worst.limit:.4g}"),
        "line": worst.line,
        "at": _rounded(worst.at),
    }


def _program(program: Program, minutes: Minutes | None, cutters: Sequence[Cutter]) -> Record:
    by_number = {cutter.number: cutter for cutter in cutters}
    used = [_cutter(by_number[number]) for number in program.cutters]
    return {
        "file": program.file,
        "dialect": program.dialect,
        "units": program.units,
        "cutter": used[0] if used else None,
        "cutters": used,
        "minutes": minutes_record(minutes) if minutes else None,
    }


def _cutter(cutter: Cutter) -> Record:
    return {
        "number": cutter.number,
        "name": cutter.name,
        "kind": cutter.kind,
        "diameter": _round(cutter.diameter),
        "flutes": cutter.flutes,
        "flute_length": _round(cutter.flute_length),
        "stick_out": _round(cutter.stick_out),
        "shank_diameter": _round(cutter.shank_diameter),
    }


def _part(part: IntendedPart) -> Record:
    return {
        "name": part.name,
        "sheet": part.sheet,
        "outline": _rings(part.outline),
        "tolerance": _round(part.tolerance),
        "features": [_feature(feature) for feature in part.features],
    }


def _feature(feature: IntendedFeature) -> Record:
    return {
        "name": feature.name,
        "intent": feature.intent,
        "region": _rings(feature.region),
        "floor": _round(feature.floor),
        "through": feature.through,
        "tolerance": _round(feature.tolerance),
    }


def _clamp(clamp: PlacedClamp) -> Record:
    bolt, *_ = clamp.bolt
    centre = bolt.footprint.centroid
    return {
        "name": clamp.name,
        "hole": clamp.hole,
        "footprint": _rings(clamp.bar.footprint),
        "bottom": _round(clamp.bar.bottom),
        "top": _round(max(one.top for one in (clamp.bar, *clamp.bolt))),
        "bolt": {"size": clamp.bolt_size, "at": _rounded((centre.x, centre.y))},
        "force": round(clamp.force, 1),
    }


def _grip(grip: Grip) -> Record:
    return {
        "name": grip.name,
        "kind": grip.kind,
        "footprint": _rings(grip.pressing),
        "top": _round(max(one.top for one in grip.solids)) if grip.solids else None,
        "presses": round(grip.force, 1),
        "sideways": round(grip.shear, 1),
        "up": round(grip.down, 1),
    }


def _stop(stop: PlacedStop) -> Record:
    return {
        "name": stop.name,
        "kind": "stop",
        "footprint": _rings(stop.solid.footprint),
        "top": _round(stop.solid.top),
        "presses": 0.0,
        "sideways": round(stop.stands, 1),
        "up": 0.0,
    }


def _tab(tab: Tab) -> Record:
    return {
        "part": tab.part,
        "at": _rounded(tab.at),
        "length": _round(tab.length),
        "height": _round(tab.height),
    }


def _article(article: Article) -> Record:
    """One thing to measure; null is what nobody stated."""
    return {
        name: _round(value) if isinstance(value, float) else value for name, value in asdict(article).items()
    }


def _figure(figure: Figure) -> Record:
    return {
        "name": figure.name,
        "value": _round(figure.value),
        "unit": figure.unit,
        "low": None if figure.low is None else _round(figure.low),
        "high": None if figure.high is None else _round(figure.high),
        "rule": figure.rule,
        "source": figure.source,
        "inputs": [_figure(below) for below in figure.inputs],
    }


def _rings(shape: Polygon) -> list[list[list[float]]]:
    """The outer ring, anticlockwise, then the holes; the first point is not repeated."""
    turned = orient(shape)
    return [[_rounded(point) for point in ring.coords[:-1]] for ring in (turned.exterior, *turned.interiors)]


def _rounded(values: Iterable[float]) -> list[float]:
    return [_round(value) for value in values]


def _round(value: float) -> float:
    return round(float(value), PLACES) + 0.0  # never -0.0
