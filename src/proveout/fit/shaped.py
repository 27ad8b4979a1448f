"""What shaping comes to: parts with their counts, and why they are as they are."""

from dataclasses import dataclass
from typing import Final

from proveout.figure import Figure
from proveout.finding import Finding
from proveout.parts.part import Part

FITTED: Final = 0.05  # tolerance of walls that hardware must fit
CLEARED: Final = 0.1  # tolerance of walls that only let something through


@dataclass(frozen=True, slots=True, kw_only=True)
class ShapedPart:
    """One wanted part, sized."""

    part: Part
    count: int
    figures: tuple[Figure, ...]
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Shaped:
    """All wanted parts, sized."""

    parts: tuple[tuple[Part, int], ...]  # each with how many are wanted
    figures: tuple[Figure, ...]
    findings: tuple[Finding, ...]
