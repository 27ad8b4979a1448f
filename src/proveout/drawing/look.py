"""Look: what a drawing holds - its size, its curves, the hardware they may be for - before any planning."""

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from proveout.drawing.loops import Loop
from proveout.drawing.opened import opened
from proveout.drawing.shapes import Shape
from proveout.drawing.svg_out import Marked, annotated_svg
from proveout.drawing.uncollected import uncollected
from proveout.drawing.understand import DrawnPart, reaches, understand
from proveout.job.records import Cutter
from proveout.quantity import System, show_length


@dataclass(frozen=True, slots=True, kw_only=True)
class Seen:
    """One closed curve of a drawing, and what it is."""

    number: int
    part: str  # "part 1"
    kind: str  # "outline" or "hole"
    shape: Shape
    may_be: tuple[str, ...]  # the hardware that it suits, best first, in words
    intents: tuple[str, ...]  # the same as a job would intend it
    accept: tuple[str, ...]  # fields of a job's rule by which it is sized to the first that a rule can take
    loop: Loop
    stepped: bool = False  # a bolt's hole in the middle of a hexagon

    @property
    def tightest(self) -> float | None:
        """Radius of the tightest inside corner on the cutter's side, mm: 0 for a sharp one, None for none."""
        return self.shape.inside_radius(hole=self.kind == "hole")


@dataclass(frozen=True, slots=True, kw_only=True)
class Look:
    """What a drawing holds."""

    file: Path
    size: tuple[float, float]  # mm
    notes: tuple[str, ...]
    drawn: tuple[DrawnPart, ...]
    seen: tuple[Seen, ...]  # each part's outline first, then its holes


def look(
    file: Path,
    *,
    known: str | None = None,
    units: System | None = None,
    layers: Collection[str] | None = None,
) -> Look:
    """A drawing read, its unit settled, and every closed curve named.

    Args:
        known, units, layers: as of `opened`

    Raises:
        InputError: a drawing that can't be read, whose unit nothing says, or whose curves are open or cross
    """
    found = opened(file, known=known, units=units, layers=layers)
    boxes = [one.region.bounds for one in found.loops]
    size = (
        max(box[2] for box in boxes) - min(box[0] for box in boxes),
        max(box[3] for box in boxes) - min(box[1] for box in boxes),
    )
    with uncollected():
        parts = understand(found.loops)
    return Look(
        file=file, size=size, notes=(*found.notes, *found.doubts), drawn=parts, seen=tuple(_seen(parts))
    )


def _seen(parts: tuple[DrawnPart, ...]) -> Iterator[Seen]:
    number = 0
    for part in parts:
        number += 1
        yield Seen(
            number=number,
            part=part.name,
            kind="outline",
            shape=part.shape,
            may_be=(),
            intents=(),
            accept=(),
            loop=part.loop,
        )
        for hole in part.holes:
            number += 1
            yield Seen(
                number=number,
                part=part.name,
                kind="hole",
                shape=hole.shape,
                may_be=tuple(one.text for one in hole.matches),
                intents=tuple(one.intent for one in hole.matches),
                accept=next((one.accept for one in hole.matches if one.accept), ()),
                loop=hole.loop,
                stepped=hole.stepped,
            )


# --- faces


def look_text(found: Look, units: System = "mm", cutters: Sequence[Cutter] = ()) -> str:
    """What a person reads.

    Args:
        cutters: on hand, to say which of them can cut what; none: nothing is said of it
    """
    width, height = (show_length(one, units) for one in found.size)
    count = len(found.drawn)
    parts = "1 part" if count == 1 else f"{count} parts"
    lines = [f"{found.file.name}: {width} x {height}, {parts}, {len(found.seen)} closed curves"]
    lines += [f"  {note}" for note in found.notes]
    for one in found.seen:
        lines += _lines(one, units)
    if cutters:
        lines += [f"  {act.text}" for part in found.drawn for act in reaches(part, cutters)]
    return "\n".join(lines)


def _lines(one: Seen, units: System) -> Iterator[str]:
    x, y = (show_length(value, units) for value in one.shape.centre)
    what = f"{one.part}, {one.kind} on layer {one.loop.layer}"
    yield f"  {one.number}. {what}: {one.shape.said}, its middle at {x}, {y}"
    if one.may_be:
        yield f"       may be: {one.may_be[0].partition(': ')[2]}"
    if one.accept:
        yield f"       to size it to that, in a rule of the job: {', '.join(one.accept)}"
    if one.tightest is not None and one.shape.kind != "circle":
        radius = show_length(one.tightest, units)
        yield f"       {'sharp inside corners' if one.tightest == 0 else f'tightest inside radius {radius}'}"


def look_picture(found: Look) -> str:
    """The drawing with every curve numbered as in the text."""
    return annotated_svg(
        [
            Marked(
                curve=one.loop.curve,
                label=str(one.number),
                title=f"{one.part}, {one.kind} {one.number}: {one.shape.said}, layer {one.loop.layer}",
                group=one.kind,
            )
            for one in found.seen
        ]
    )


def look_record(found: Look) -> dict[str, object]:
    """The same for another program to read; lengths in mm."""
    return {
        "file": str(found.file),
        "size": list(found.size),
        "notes": list(found.notes),
        "parts": len(found.drawn),
        "curves": [_record(one) for one in found.seen],
    }


def _record(one: Seen) -> dict[str, object]:
    return {
        "number": one.number,
        "part": one.part,
        "layer": one.loop.layer,
        "kind": one.kind,
        "shape": one.shape.said,
        "may_be": list(one.may_be),
        "intents": list(one.intents),
        "accept": list(one.accept),
        "at": list(one.shape.centre),
        "area": float(one.loop.region.area),
        "tightest_inside_radius": one.tightest,
    }
