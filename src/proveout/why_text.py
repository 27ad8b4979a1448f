"""The reasons of numbers, as text and as JSON."""

import difflib
import json
from collections.abc import Iterable, Iterator

from proveout.figure import Figure, walk
from proveout.finding import InputError
from proveout.quantity import System, show


def figures_text(figures: Iterable[Figure], name: str | None, units: System) -> str:
    """Every number's name and value, or one number's reasons as a tree."""
    if name is None:
        return "\n".join(f"{figure.name}: {_value(figure, units)}" for figure in walk(figures))
    return "\n\n".join("\n".join(_tree(figure, units, 0)) for figure in _chosen(figures, name))


def figures_json(figures: Iterable[Figure], name: str | None) -> str:
    """The same for another program to read."""
    chosen = _chosen(figures, name) if name else list(figures)
    return json.dumps([_record(figure) for figure in chosen], indent=2)


def named(figures: Iterable[Figure], name: str) -> list[Figure]:
    """The figures whose name is what was asked for, or ends in it, or else begins with it."""
    every = list(walk(figures))
    exact = [figure for figure in every if figure.name == name]
    ends = [figure for figure in every if figure.name.endswith(f".{name}")]
    return exact or ends or [figure for figure in every if figure.name.startswith(f"{name}.")]


def _chosen(figures: Iterable[Figure], name: str) -> list[Figure]:
    every = list(figures)
    found = named(every, name)
    if not found:
        names = [figure.name for figure in walk(every)]
        near = difflib.get_close_matches(name, names, n=3, cutoff=0.3)
        hint = f" Near to it: {', '.join(near)}." if near else ""
        raise InputError(f'No number is called "{name}".{hint} Without a name, all are listed.')
    return found


def _tree(figure: Figure, units: System, depth: int) -> Iterator[str]:
    pad = "  " * depth
    yield f"{pad}{figure.name}: {_value(figure, units)}"
    yield f"{pad}  {figure.rule} [{figure.source}]"
    for below in figure.inputs:
        yield from _tree(below, units, depth + 1)


def _value(figure: Figure, units: System) -> str:
    text = show(figure.value, figure.unit, units)
    if figure.low is None and figure.high is None:
        return text
    low, high = ("?" if end is None else show(end, figure.unit, units) for end in (figure.low, figure.high))
    return f"{text} ({low} to {high})"


def _record(figure: Figure) -> dict[str, object]:
    return {
        "name": figure.name,
        "value": figure.value,
        "unit": figure.unit,
        "low": figure.low,
        "high": figure.high,
        "rule": figure.rule,
        "source": figure.source,
        "inputs": [_record(below) for below in figure.inputs],
    }
