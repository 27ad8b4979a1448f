"""The scene: the whole proof of a made job as one binary for the page, to be cut again and looked at there.

Layout: four bytes MAGIC (its last is the version), the header's length as a little-endian 32-bit number, the
header as JSON, and then arrays. The header's `arrays` names each array's type, its offset in bytes from the
header's end, and its count. Internal frame, mm and s. Equal jobs give equal bytes.
"""

import json
import struct
from collections.abc import Sequence
from typing import Final

import numpy as np
import numpy.typing as npt
from shapely import Polygon
from shapely.geometry.polygon import orient

from proveout.card.scene_loads import loads_records
from proveout.card.scene_moves import Timeline, arrays_of, pieces_of
from proveout.finding import Finding
from proveout.job.records import Cutter, Plate, Stock
from proveout.motion import joined
from proveout.pack.made import Made
from proveout.pack.plan_picture import numbered
from proveout.proof.load_clock import moments
from proveout.setup import IntendedPart, Obstacle, Setup, obstacles

MAGIC: Final = b"PVS1"
ALIGNED: Final = 8  # bytes, of every array, so that the page reads them where they lie
SIMPLE: Final = 0.02  # mm by which a drawn ring may be off
MOST_MARKS: Final = 60  # places of one finding that are marked

Record = dict[str, object]
Array = npt.NDArray[np.generic]
Ring = list[tuple[float, float]]


class Rings:
    """Collects rings of points into one array; each is then known by its first point and its count."""

    def __init__(self) -> None:
        self.points: Ring = []

    def add(self, ring: Ring) -> list[int]:
        """Where the ring lies: first point and count."""
        first = len(self.points)
        self.points.extend(ring)
        return [first, len(ring)]

    def of(self, shape: Polygon) -> list[list[int]]:
        """The rings of a polygon: the outer one anticlockwise, then its holes."""
        turned = orient(shape.simplify(SIMPLE))
        rings = (turned.exterior, *turned.interiors)
        return [self.add([(x, y) for x, y, *_ in ring.coords[:-1]]) for ring in rings]


def scene(made: Made) -> bytes:
    """The scene of a made job."""
    motions = [program.motion for program in made.verdict.programs]
    files = tuple(program.file for program in made.verdict.programs)
    when = moments(motions, made.job.shop.machine)
    pieces = pieces_of(joined(motions), when)
    rings = Rings()
    plots, levels = loads_records(made.job, made.verdict)
    timeline = Timeline(files, tuple(motions), when)
    header: Record = {
        "name": made.job.name,
        "units": made.job.units,
        "sheet": {
            "size": _rounded(made.setup.stock.size),
            "thickness": _round(made.setup.stock.thickest),
            "allowance": _round(made.setup.bed_allowance),
        },
        "zero": _rounded(made.setup.zero),
        "total": _round(when.total),
        "tolerance": pieces.tolerance,
        "programs": [
            {"file": file, "begin": _round(begin), "end": _round(end)}
            for file, (begin, end) in zip(files, when.programs, strict=True)
        ],
        "cutters": [_cutter(cutter) for cutter in made.setup.cutters],
        "spindle": _spindle(made.setup),
        "solids": [_solid(one, rings) for one in obstacles(made.setup) if one.kind != "insert"],
        "plate": _plate(made.job.shop.plate, made.job.stock),
        "parts": [_part(part, rings) for part in made.setup.parts],
        "tabs": [
            {"at": _rounded(tab.at), "length": _round(tab.length), "height": _round(tab.height)}
            for tab in made.setup.tabs
        ],
        "findings": [_finding(number, told, timeline) for number, told in numbered(made.findings)],
        "loads": plots,
    }
    points = np.array(rings.points, dtype="<f4").reshape(-1, 2)
    return packed(header, arrays_of(motions, pieces) | levels | {"points": points})


def packed(header: Record, arrays: dict[str, Array]) -> bytes:
    """Header and arrays as one binary."""
    table, bodies, offset = {}, [], 0
    for name, array in arrays.items():
        body = np.ascontiguousarray(array).tobytes()
        table[name] = {"type": array.dtype.str[1:], "offset": offset, "count": array.size}
        body += bytes(-len(body) % ALIGNED)
        bodies.append(body)
        offset += len(body)
    text = json.dumps(header | {"arrays": table}, ensure_ascii=False, allow_nan=False).encode()
    text += b" " * (-len(text) % ALIGNED)
    return b"".join((MAGIC, struct.pack("<I", len(text)), text, *bodies))


def _cutter(cutter: Cutter) -> Record:
    return {
        "number": cutter.number,
        "name": cutter.name,
        "kind": cutter.kind,
        "diameter": cutter.diameter,
        "flute_length": cutter.flute_length,
        "stick_out": cutter.stick_out,
        "shank_diameter": cutter.shank_diameter,
        "point_deg": cutter.point_deg,
        "corner_radius": cutter.corner_radius,
    }


def _spindle(setup: Setup) -> Record:
    spindle = setup.machine.spindle
    return {
        "nut_diameter": spindle.nut_diameter,
        "nut_length": spindle.nut_length,
        "body_diameter": spindle.body_diameter,
    }


def _solid(solid: Obstacle, rings: Rings) -> Record:
    first, *_ = rings.of(solid.footprint)
    return {
        "kind": solid.kind,
        "name": solid.name,
        "bottom": _round(solid.bottom),
        "top": _round(solid.top),
        "ring": first,
    }


def _plate(plate: Plate, stock: Stock) -> Record:
    """The plate as it lies under the sheet."""
    left, front = -stock.at[0], -stock.at[1]
    return {
        "low": _rounded((left, front)),
        "high": _rounded((left + plate.size[0], front + plate.size[1])),
        "first_hole": _rounded((left + plate.first_hole[0], front + plate.first_hole[1])),
        "pitch": plate.pitch,
        "columns": plate.columns,
        "rows": plate.rows,
        "hole_diameter": plate.inserts.diameter,
    }


def _part(part: IntendedPart, rings: Rings) -> Record:
    inside = part.outline.representative_point()
    return {
        "name": part.name,
        "at": _rounded((inside.x, inside.y)),
        "outline": rings.of(part.outline),
        "features": [
            {"name": one.name, "floor": _round(one.floor), "rings": rings.of(one.region)}
            for one in part.features
        ],
    }


def _finding(number: int, told: Finding, timeline: Timeline) -> Record:
    """The moment of a finding, and all its places, each with its own moment."""
    places = [one for one in told.each or (told,) if one.at is not None]
    moment = timeline.moment(told)
    return {
        "number": number,
        "time": None if moment is None else _round(moment),
        "marks": [_mark(one, timeline) for one in places[:MOST_MARKS]],
    }


def _mark(finding: Finding, timeline: Timeline) -> Record:
    moment = timeline.moment(finding)
    return {
        "at": _rounded(finding.at or ()),
        "time": None if moment is None else _round(moment),
        "line": finding.line,
    }


def _rounded(values: Sequence[float]) -> list[float]:
    return [_round(value) for value in values]


def _round(value: float) -> float:
    """To the tenth of a micrometre; never -0.0."""
    return round(float(value), 4) + 0.0
