"""Grouped: findings that have one cause, told as one with their count, so that a wrong number is read once.

One wrong depth is found at every part. What is of one kind, in one program, and asks for the same to be done
by nearly the same amount, is one finding: where it is first, by how much at its worst, and how often.
"""

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from typing import Final

from proveout.finding import Finding, Level
from proveout.quantity import System, show_length

ALIKE: Final = 1.1  # times the least amount, and SLACK more: still the same amount
SLACK: Final = 0.05  # mm
MOST: Final = 3  # groups of one kind, program and remedy; beyond that the amounts say nothing, and all is one
NAMED: Final = 3  # of the places of a group that are named in its text

_NUMBER = re.compile(r"(?<!\w)-?\d[\d./]*(?:-\d+/\d+)?(?!\w)")  # not the 2 of "hole B2"
_QUOTED = re.compile(r'"[^"]*"')
_WEIGHT: Final = {Level.STOP: 0, Level.CAUTION: 1, Level.NOTE: 2}


def grouped(findings: Sequence[Finding], units: System) -> tuple[Finding, ...]:
    """Findings in order, those of one cause told as one in the place of the first of them.

    A group has its first finding's program, line and text, the place and the remedy of its worst, the highest
    of its levels, and all its findings in `each`.
    """
    alike: dict[tuple[str, ...], list[int]] = {}
    for index, finding in enumerate(findings):
        alike.setdefault(_asked(finding), []).append(index)
    told = {}
    for rows in alike.values():
        for group in _by_amount(rows, findings):
            told[group[0]] = as_one([findings[row] for row in group], units)
    return tuple(told[index] for index in sorted(told))


def as_one(each: Sequence[Finding], units: System) -> Finding:
    """Several findings as one; a single one is left as it is."""
    if len(each) == 1:
        return each[0]
    each = tuple(flat(each))
    first, worst = each[0], max(each, key=lambda one: one.amount or 0.0)
    return replace(
        first,
        level=min((one.level for one in each), key=lambda level: _WEIGHT[level]),
        text=f"{first.text} {_more(each, worst, units)}",
        remedy=worst.remedy,
        at=worst.at or first.at,
        amount=worst.amount,
        each=each,
    )


def flat(findings: Iterable[Finding]) -> Iterator[Finding]:
    """Every finding by itself."""
    for finding in findings:
        yield from finding.each or (finding,)


def _asked(finding: Finding) -> tuple[str, ...]:
    """What findings of one cause have in common: kind, program, and what is to be done, numbers left out."""
    said = finding.remedy or _QUOTED.sub("", finding.text)
    if finding.amount is not None or not finding.remedy:
        said = _NUMBER.sub("#", said)
    return finding.level.value, finding.kind, finding.program, said


def _by_amount(rows: Sequence[int], findings: Sequence[Finding]) -> list[list[int]]:
    """Rows of findings parted where their amounts differ, each part in order."""
    parts: list[list[int]] = []
    limit = -1.0
    for row in sorted(rows, key=lambda row: findings[row].amount or 0.0):
        amount = findings[row].amount or 0.0
        if parts and amount <= limit:
            parts[-1].append(row)
        else:
            parts.append([row])
            limit = amount * ALIKE + SLACK
    return [sorted(part) for part in parts] if len(parts) <= MOST else [sorted(rows)]


def _more(each: Sequence[Finding], worst: Finding, units: System) -> str:
    """ "Also in 7 more places: ...; the worst is ..." """
    more = len(each) - 1
    names = list(dict.fromkeys(one.name for one in each[1:] if one.name and one.name != each[0].name))
    if not names:
        names = list(dict.fromkeys(f"line {one.line}" for one in each[1:] if one.line))
    said = f"Also in {more} more places" if more > 1 else "Also in one more place"
    if names:
        said += f": {_listed(names)}"
    if (worst.amount or 0.0) > (each[0].amount or 0.0) * ALIKE + SLACK and worst.amount is not None:
        where = " in ".join(word for word in (worst.name, f"line {worst.line}" if worst.line else "") if word)
        said += f"; the worst, {show_length(worst.amount, units)}, is {where}" if where else ""
    return f"{said}."


def _listed(names: Sequence[str]) -> str:
    shown, rest = list(names[:NAMED]), len(names) - NAMED
    if rest > 0:
        return f"{', '.join(shown)} and {rest} more"
    return " and ".join([", ".join(shown[:-1]), shown[-1]]) if len(shown) > 1 else shown[0]
