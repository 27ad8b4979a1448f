"""A job file around a drawing: its parts, what could be sized to hardware, and a sheet to begin with."""

import json
import math
import os
import re
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Final

from proveout.drawing.look import Look, Seen
from proveout.drawing.understand import ON_AXIS, DrawnPart
from proveout.job.records import Shop
from proveout.quantity import System, printable

MARGIN: Final = 10.0  # mm kept clear along the sheet's edge
CLAMP_ROOM: Final = 30.0  # mm more at its two ends, for clamps
APART: Final = 6.0  # mm between two parts, beyond the cutter
SHEET: Final = "birch plywood"
THICK: Final = 12.0  # mm
_ZERO: Final = ("", "[zero]", 'corner = "left front"', 'level = "bed"')
LONGEST: Final = 60  # characters of a job's name
LEAST: Final = 60.0  # mm; a smaller sheet is hard to hold
ALIKE: Final = 0.02  # mm; offers whose sizes differ by less are one


def job_around(
    found: Look,
    shop: Shop,
    *,
    job: Path,
    known: str | None = None,
    units: System | None = None,
    layers: Sequence[str] | None = None,
) -> str:
    """The text of a job file that cuts every part of a drawing, as it is drawn.

    What might be meant for hardware is offered in rules that are commented out: a person takes the comment
    signs away. The sheet's size is reckoned from the parts, its material and thickness are put in to be
    written over.

    Args:
        found: the drawing, looked at
        shop: whose plate the sheet shall lie on
        job: where the file will lie, from which its paths count
        known, units, layers: as they were given to `look`
    """
    lines = [*_head(found, shop, job), *_stock(found, shop), *_ZERO, *_clamps(shop)]
    drawing = list(_drawing(found, job, known, units, layers))
    for number, part in enumerate(found.drawn, 1):
        lines += _part(found, part, number, drawing)
    return "\n".join(line.rstrip() for line in lines) + "\n"


def _head(found: Look, shop: Shop, job: Path) -> Iterator[str]:
    drawing = printable(found.file.name)
    yield f"# Written around {drawing}: each of its parts is cut as it is drawn, until a rule says"
    yield "# otherwise. Write your own sheet and caliper readings below, and put clamps to it."
    yield f"# Look again: proveout look {drawing}      Make it: proveout make {printable(job.name)}"
    yield ""
    yield 'units = "mm"'
    yield f"name = {_text(_name(found.file.stem))}"
    yield f"shop = {_text(_path(shop.file, job))}"


def _name(stem: str) -> str:
    """A file's name as one that a job may have."""
    plain = re.sub(r"[^\w -]+", " ", stem)[:LONGEST]
    return " ".join(plain.split()).strip("-_ ") or "drawing"


def _stock(found: Look, shop: Shop) -> Iterator[str]:
    size = _sheet(found.drawn, shop)
    plate = shop.plate.size
    at = [max(0.0, round((whole - side) / 2)) for whole, side in zip(plate, size, strict=True)]
    yield ""
    yield "[stock]"
    yield _said(f'material = "{SHEET}"', "yours: cutting data and strengths follow from it")
    yield _said(f"size = [{size[0]:g}, {size[1]:g}]", "X and Y; on so large a sheet the parts find room")
    yield _said(
        f"nominal_thickness = {THICK:g}", "better: thickness = [...], caliper readings near the corners"
    )
    yield _said(f"at = [{at[0]:g}, {at[1]:g}]", "its left front corner, from the plate's")
    yield f"edge_margin = {MARGIN:g}"


def _clamps(shop: Shop) -> Iterator[str]:
    yield ""
    yield _said("# [[clamps]]", "one for each clamp: beside the sheet, its nose over it")
    yield f'# clamp = "{shop.clamps[0].name if shop.clamps else "low strap"}"'
    yield '# hole = "B4"'
    yield '# towards = "right"'


def _said(field: str, remark: str) -> str:
    return f"{field:<38} # {remark}"


def _drawing(
    found: Look, job: Path, known: str | None, units: System | None, layers: Sequence[str] | None
) -> Iterator[str]:
    """The fields that every part of the drawing has."""
    yield f"drawing = {_text(_path(found.file, job))}"
    if known is not None:
        yield f"known = {_text(known)}"
    if units is not None:
        yield f'units = "{units}"'
    if layers:
        yield f"layers = [{', '.join(map(_text, layers))}]"


def _part(found: Look, part: DrawnPart, number: int, drawing: Sequence[str]) -> Iterator[str]:
    yield ""
    yield "[[parts]]"
    yield _said(f"name = {_text(part.name)}", part.shape.said)
    yield "count = 1"
    yield 'pattern = "drawn part"'
    yield from drawing
    if len(found.drawn) > 1:
        yield f"part = {number}"
    offers: dict[tuple[str, int], list[Seen]] = {}
    for one in found.seen:
        if one.part == part.name and one.accept and not one.stepped:
            offers.setdefault((one.shape.kind, round(one.shape.length / ALIKE)), []).append(one)
    stepped = [one for one in found.seen if one.part == part.name and one.stepped]
    for alike in offers.values():
        yield from _offer(alike, stepped)


def _offer(alike: Sequence[Seen], stepped: Sequence[Seen]) -> Iterator[str]:
    """A rule for curves of one size; not in force but for a hexagon that has a bolt's hole in it.

    Such a hexagon can't be cut right through, for then the hole would be cut in nothing.
    """
    first = alike[0]
    numbers = ", ".join(str(one.number) for one in alike)
    sure = any(
        math.dist(one.shape.centre, other.shape.centre) <= ON_AXIS for one in alike for other in stepped
    )
    kind = "Curve" if len(alike) == 1 else "Curves"
    yield ""
    yield f"# {kind} {numbers}: {first.shape.said}. Perhaps meant for this:"
    yield f"# {first.may_be[0].partition(': ')[2]}."
    if not sure:
        yield "# Take the signs away from the next lines to size it to that."
    for line in ("[[parts.rules]]", f'size = "{first.shape.length:.3f} mm"', *first.accept):
        yield line if sure else f"# {line}"


def _sheet(parts: Sequence[DrawnPart], shop: Shop) -> tuple[float, float]:
    """A sheet on which the parts find room beside each other, in rows, within the plate."""
    gap = APART + 2 * max((one.diameter for one in shop.cutters if one.kind == "flat"), default=6.0)
    boxes = sorted((_box(one) for one in parts if not one.inside), key=lambda box: (-box[1], -box[0]))
    widest = max((width for width, _ in boxes), default=0.0)
    limit = max(widest, min(shop.plate.size[0], shop.machine.travel[0]) - 2 * (MARGIN + CLAMP_ROOM))
    area = sum((width + gap) * (height + gap) for width, height in boxes)
    row = min(limit, max(widest, 1.3 * math.sqrt(area)))
    across, up, used, reached = 0.0, 0.0, 0.0, 0.0
    for width, height in boxes:
        if across and across + width > row:
            up, across, used = up + used + gap, 0.0, 0.0
        across, used = across + width + gap, max(used, height)
        reached = max(reached, across - gap)
    return _round(reached + 2 * (MARGIN + CLAMP_ROOM) + gap), _round(up + used + 2 * MARGIN + 2 * gap)


def _box(part: DrawnPart) -> tuple[float, float]:
    left, front, right, back = part.region.bounds
    return right - left, back - front


def _round(side: float) -> float:
    return max(LEAST, math.ceil(side / 10) * 10)


def _path(file: Path, job: Path) -> str:
    """A path from the job's folder, with slashes."""
    try:
        return Path(os.path.relpath(file, job.parent)).as_posix()
    except ValueError:  # another drive
        return file.absolute().as_posix()


def _text(value: str) -> str:
    """A TOML string; JSON's escapes are TOML's too."""
    return json.dumps(value, ensure_ascii=False)
