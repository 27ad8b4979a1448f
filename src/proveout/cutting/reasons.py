"""Reasons: the least of several candidates, each what one constraint allows, as a figure that names it."""

import math
from dataclasses import replace
from typing import NamedTuple

from proveout.figure import Figure
from proveout.job.records import Machine


class Candidate(NamedTuple):
    """What one constraint allows."""

    value: float
    reason: str
    source: str


def least(name: str, unit: str, candidates: list[Candidate], inputs: tuple[Figure, ...]) -> Figure:
    """The least candidate, limited by its constraint; the others are told among its inputs."""
    weakest = min(candidates, key=lambda candidate: candidate.value)
    others = tuple(
        Figure(
            name=f"{name}.if {candidate.reason}",
            value=candidate.value,
            unit=unit,
            rule=f"would be allowed by: {candidate.reason}",
            source=candidate.source,
        )
        for candidate in candidates
        if candidate is not weakest and math.isfinite(candidate.value)
    )
    return Figure(
        name=name,
        value=weakest.value,
        unit=unit,
        rule=f"limited by: {weakest.reason}",
        source=weakest.source,
        inputs=(*inputs, *others),
    )


def at_least(figure: Figure, value: float, reason: str) -> Figure:
    """The figure, raised where it would be less than a value."""
    if figure.value >= value:
        return figure
    return replace(figure, value=value, rule=f"raised to: {reason}", source="shop file")


def typed(feed: float, machine: Machine) -> float:
    """A feed as a person would type it: whole tens of mm/min, or whole in/min, rounded down."""
    count = 10 / 60 if machine.units == "mm" else 25.4 / 60
    return math.floor(feed / count + 1e-9) * count or feed
