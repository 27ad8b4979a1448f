"""The numbers of a job as the page shows them: by section, each one a way to its reason."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from proveout.figure import Figure, walk
from proveout.quantity import System, show

CUTTING: Final = "cutting."
COLUMNS: Final = ("speed", "feed", "plunge feed", "depth of cut")


@dataclass(frozen=True, slots=True, kw_only=True)
class Number:
    """A number as it is read."""

    name: str  # by which its reason is asked for
    label: str
    value: str
    between: str  # "0.2 mm to 0.4 mm", where it is an estimate
    rule: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Numbers:
    """Numbers that belong together."""

    title: str
    rows: tuple[Number, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class CutRow:
    """How one cutter makes one kind of cut."""

    cutter: str
    cut: str
    cells: tuple[Number | None, ...]  # as COLUMNS
    limits: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Reason:
    """A number with what it comes from."""

    number: Number
    source: str
    below: tuple["Reason", ...]


def number(figure: Figure, units: System, label: str = "") -> Number:
    """A figure as it is read."""
    between = ""
    if figure.low is not None and figure.high is not None:
        between = " to ".join(show(end, figure.unit, units) for end in (figure.low, figure.high))
    return Number(
        name=figure.name,
        label=label or figure.name.replace(".", ", "),
        value=show(figure.value, figure.unit, units),
        between=between,
        rule=figure.rule[:1].upper() + figure.rule[1:].rstrip(".") + ".",
    )


def reason(figure: Figure, units: System) -> Reason:
    """A figure and all below it."""
    return Reason(
        number=number(figure, units),
        source=figure.source,
        below=tuple(reason(one, units) for one in figure.inputs),
    )


def found(figures: Iterable[Figure], name: str) -> Figure | None:
    """The figure of a name, wherever it stands in the trees."""
    return next((one for one in walk(figures) if one.name == name), None)


def by_section(
    figures: Sequence[Figure], parts: Sequence[str], units: System
) -> dict[str, tuple[Numbers, ...]]:
    """Numbers of the sections before the proof, each figure in one of them.

    Args:
        parts: names of the job's kinds of parts
    """
    fit: dict[str, list[Number]] = {}
    stock: list[Number] = []
    hold: list[Number] = []
    for figure in {one.name: one for one in figures}.values():
        part = next((name for name in parts if figure.name.startswith(f"{name}.")), None)
        if figure.name.startswith((CUTTING, "minutes")):
            continue
        if figure.name.startswith("stock."):
            stock.append(number(figure, units, figure.name.removeprefix("stock.")))
        elif part is not None:
            label = figure.name.removeprefix(f"{part}.").replace(".", ", ")
            fit.setdefault(part, []).append(number(figure, units, label))
        else:
            hold.append(number(figure, units))
    return {
        "stock": (Numbers(title="What follows from the sheet", rows=tuple(stock)),) if stock else (),
        "fit": tuple(Numbers(title=name, rows=tuple(rows)) for name, rows in fit.items()),
        "hold": (Numbers(title="What holds, and how high to travel", rows=tuple(hold)),) if hold else (),
    }


def cut_rows(figures: Iterable[Figure], units: System) -> tuple[CutRow, ...]:
    """Speed, feeds and depth of cut by cutter and kind of cut."""
    kinds: dict[str, dict[str, Figure]] = {}
    for figure in figures:
        if figure.name.startswith(CUTTING):
            kind, value = figure.name.removeprefix(CUTTING).rsplit(".", 1)
            kinds.setdefault(kind, {})[value] = figure
    return tuple(_cut_row(kind, values, units) for kind, values in kinds.items())


def _cut_row(kind: str, values: dict[str, Figure], units: System) -> CutRow:
    cutter, cut = kind.rsplit(".", 1)
    cells = tuple(number(values[name], units, name) if name in values else None for name in COLUMNS)
    return CutRow(cutter=cutter, cut=cut, cells=cells, limits=" ".join(_limits(values)))


def _limits(values: dict[str, Figure]) -> Iterator[str]:
    for name, said in (("feed", "Feed"), ("depth of cut", "Depth")):
        if name in values:
            yield f"{said}: {values[name].rule.removeprefix('limited by: ').rstrip('.')}."
