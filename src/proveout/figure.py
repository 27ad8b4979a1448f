"""Figure: a number that a person will read, with its unit, rule, source and the figures it came from."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """A number with its reason."""

    name: str  # dotted, from the general to the particular: "knob.head recess.depth"
    value: float
    unit: str  # internal: "mm", "mm/s", "N", "N mm", "N/mm2", "rpm", "s", "W", "deg" or "" for a plain number
    rule: str  # one sentence
    source: str  # a standard and table, a handbook chapter, "common practice", "measured: 4 readings"
    inputs: tuple["Figure", ...] = ()
    low: float | None = None  # where the value is an estimate: its range, and the verdict uses the bad end
    high: float | None = None

    def __post_init__(self) -> None:
        if not (self.name and self.rule and self.source):
            raise ValueError(f"a figure needs a name, a rule and a source: {self.name!r}")


def walk(figures: Iterable[Figure]) -> Iterator[Figure]:
    """Every figure and every figure below it, each name once, in order of first meeting."""
    seen: set[str] = set()
    waiting = list(figures)[::-1]
    while waiting:
        figure = waiting.pop()
        if figure.name not in seen:
            seen.add(figure.name)
            yield figure
            waiting.extend(figure.inputs[::-1])
