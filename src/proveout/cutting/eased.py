"""Eased: how much gentler a job is cut than was chosen at first, because its proof asked for it."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from types import MappingProxyType
from typing import Final

from proveout.cutting.data import CuttingData
from proveout.figure import Figure
from proveout.finding import Change

LEAST_DEPTH: Final = 0.3  # of the depth chosen first; what needs less is left to a person
MOST_BRIDGES: Final = 3.0  # times the width chosen first
SPARE: Final = 0.98  # of what a remedy allows, so that rounding does not bring the finding back


@dataclass(frozen=True, slots=True, kw_only=True)
class Eased:
    """Shares of what was chosen at first; nothing changed where nothing is said."""

    depth: Mapping[int, float] = field(default_factory=lambda: MappingProxyType({}))  # by cutter's number
    bridges: float = 1.0


AS_CHOSEN: Final = Eased()


def eased_by(before: Eased, changes: Iterable[Change]) -> Eased:
    """What some changes make of it, as far as they may be made without asking."""
    depth, bridges = dict(before.depth), before.bridges
    asked: dict[int, float] = {}
    for change in changes:
        if change.what == "bridges":
            bridges = max(bridges, before.bridges * change.times / SPARE)
        else:
            asked[change.cutter] = min(asked.get(change.cutter, 1.0), change.times * SPARE)
    for cutter, share in asked.items():
        depth[cutter] = max(LEAST_DEPTH, before.depth.get(cutter, 1.0) * share)
    return Eased(depth=MappingProxyType(depth), bridges=min(bridges, MOST_BRIDGES))


def gentler(data: CuttingData, share: float) -> CuttingData:
    """Cutting values with a share of their depth of cut, and the figure that says why."""
    if share >= 1:
        return data
    name = next(figure.name for figure in data.figures if figure.name.endswith(".depth of cut"))
    figures = tuple(_lowered(one, share) if one.name == name else one for one in data.figures)
    reason = ("depth of cut", "the proof of the whole job, which asked for less")
    limits = (reason, *(limit for limit in data.limits if limit[0] != "depth of cut"))
    return replace(data, depth_of_cut=data.depth_of_cut * share, figures=figures, limits=limits)


def _lowered(figure: Figure, share: float) -> Figure:
    return Figure(
        name=figure.name,
        value=figure.value * share,
        unit=figure.unit,
        rule=f"{share:.0%} of what was chosen first, because the proof of the whole job asked for less",
        source="this job's own proof",
        inputs=(replace(figure, name=f"{figure.name}.at first"),),
    )
