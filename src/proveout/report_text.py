"""What the command line prints: a made job, a verdict, the reasons of numbers; as text and as JSON."""

import difflib
import json
import textwrap
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path

from proveout.figure import Figure, walk
from proveout.finding import Finding, InputError, Level
from proveout.pack.made import Made
from proveout.pack.result_json import finding_record, minutes_record
from proveout.proof.verdict import Minutes, Verdict
from proveout.quantity import System, show, show_time


def made_text(made: Made, folder: Path) -> str:
    """A made job in a dozen lines: verdict, minutes, findings, where the pack is."""
    lines = [f"{made.job.name}: {_verdict_words(made.ready)}. {_minutes_words(made.verdict.minutes)}"]
    lines += _finding_lines(made.findings)
    lines.append(f"pack: {folder}")
    by_file = {program.file: program.minutes for program in made.verdict.programs}
    for program in made.programs:
        minutes = by_file.get(program.file)
        lines.append(f"  {program.file}" + (f"  {show_time(minutes.total * 60)}" if minutes else ""))
    lines.append("  setup-sheet.pdf  start here")
    return "\n".join(lines)


def made_json(made: Made, folder: Path) -> str:
    """The same for another program to read; the pack's result.json holds the rest."""
    return json.dumps(
        {
            "verdict": "ready" if made.ready else "not ready",
            "minutes": minutes_record(made.verdict.minutes),
            "findings": [finding_record(finding) for finding in made.findings],
            "pack": str(folder),
            "programs": [program.file for program in made.programs],
        },
        indent=2,
    )


def verdict_text(verdict: Verdict) -> str:
    """A verdict with its findings and what the proof rests on."""
    lines = [f"{_verdict_words(verdict.ready)}. {_minutes_words(verdict.minutes)}"]
    lines += _finding_lines(verdict.findings)
    lines += [f"proof: {note}" for note in verdict.notes]
    return "\n".join(lines)


def verdict_json(verdict: Verdict) -> str:
    """The same for another program to read."""
    return json.dumps(
        {
            "verdict": "ready" if verdict.ready else "not ready",
            "minutes": minutes_record(verdict.minutes),
            "findings": [finding_record(finding) for finding in verdict.findings],
            "notes": list(verdict.notes),
        },
        indent=2,
    )


def figures_text(figures: Iterable[Figure], name: str | None, units: System) -> str:
    """Every number's name and value, or one number's reasons as a tree."""
    if name is None:
        return "\n".join(f"{figure.name}: {_value(figure, units)}" for figure in walk(figures))
    return "\n\n".join("\n".join(_tree(figure, units, 0)) for figure in _named(figures, name))


def figures_json(figures: Iterable[Figure], name: str | None) -> str:
    """The same for another program to read."""
    chosen = _named(figures, name) if name else list(figures)
    return json.dumps([_record(figure) for figure in chosen], indent=2)


def _named(figures: Iterable[Figure], name: str) -> list[Figure]:
    """The figures whose name is, or ends in, what was asked for."""
    every = list(walk(figures))
    exact = [figure for figure in every if figure.name == name]
    found = exact or [figure for figure in every if f".{figure.name}".endswith(f".{name}")]
    if not found:
        near = difflib.get_close_matches(name, [figure.name for figure in every], n=3, cutoff=0.3)
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
    low, high = (
        "?" if end is None else show(end, figure.unit, units) for end in (figure.low, figure.high)
    )
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


def _verdict_words(ready: bool) -> str:
    return "READY" if ready else "NOT READY - do not cut"


def _minutes_words(minutes: Minutes) -> str:
    return f"{show_time(minutes.total * 60)} on the machine, {show_time(minutes.cutting * 60)} of it cutting"


def _finding_lines(findings: Sequence[Finding]) -> list[str]:
    lines: list[str] = []
    for level in Level:
        for finding in findings:
            if finding.level is level:
                place = ""
                if finding.program:
                    place = f"{finding.program}:{finding.line}: " if finding.line else f"{finding.program}: "
                said = f"{level.value}: {place}{finding.text}"
                lines += textwrap.wrap(said, 100, initial_indent="  ", subsequent_indent="    ")
                if finding.remedy:
                    lines += textwrap.wrap(
                        f"do: {finding.remedy}", 100, initial_indent="    ", subsequent_indent="      "
                    )
    return lines
