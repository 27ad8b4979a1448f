"""Tabs as a question of strength: how wide and high a bridge must be, and what a ring of them stands."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from proveout.figure import Figure
from proveout.finding import Finding, Level
from proveout.hold.slip import Contacts, slip_force
from proveout.motion import Floats
from proveout.setup import Tab
from proveout.shelf.cited import cited
from proveout.shelf.tables import Material

LEAST: Final = 3  # tabs on an outline; common practice
SPACING: Final = 100.0  # mm along an outline at most; common practice 75 to 150
WAIST: Final = (4.0, 8.0)  # mm, common practice
HEIGHT: Final = (1.5, 3.0)  # mm, common practice
WAIST_SHARE: Final = 1.25  # of the thickness
HEIGHT_SHARE: Final = 0.375  # of the thickness: 25 to 40 per cent is common in plywood
NECK: Final = 0.8  # of a tab's section, that is surely there: the proof counts it in cells; project default
SAFETY: Final = 2.0  # on the cutting force with one tab missing; project default


@dataclass(frozen=True, slots=True, kw_only=True)
class Bridges:
    """Size of a job's tabs."""

    waist: float
    height: float
    figures: tuple[Figure, ...]


def bridge_size(thickness: Figure, times: float = 1.0) -> Bridges:
    """Waist and height of tabs in a sheet, from its thickness.

    Args:
        times: as wide as usual, because a proof asked for more
    """
    waist = Figure(
        name="tabs.waist",
        value=min(max(WAIST_SHARE * thickness.value, WAIST[0]), WAIST[1]),
        unit="mm",
        rule=f"{WAIST_SHARE:g} times the thickness, between {WAIST[0]:g} and {WAIST[1]:g} mm",
        source="common practice, no source",
        inputs=(thickness,),
    )
    height = Figure(
        name="tabs.height",
        value=min(max(HEIGHT_SHARE * thickness.value, HEIGHT[0]), HEIGHT[1]),
        unit="mm",
        rule=f"three eighths of the thickness, between {HEIGHT[0]:g} and {HEIGHT[1]:g} mm",
        source="common practice, no source",
        inputs=(thickness,),
    )
    if times > 1:
        waist = Figure(
            name=waist.name,
            value=waist.value * times,
            unit="mm",
            rule=f"{times:.1f} times what was chosen first, because the proof of the whole job asked for it",
            source="this job's own proof",
            inputs=(replace(waist, name=f"{waist.name}.at first"),),
        )
    return Bridges(waist=waist.value, height=height.value, figures=(waist, height))


def bridge_strength(part: str, bridges: Bridges, count: int, wood: Material) -> Figure:
    """Side load that a part's tabs stand with one of them missing, N: tau w h / 1.5 each, by statics."""
    each = wood.planar_shear * bridges.waist * bridges.height / 1.5
    return Figure(
        name=f"{part}.tabs.strength",
        value=each * max(count - 1, 1),
        unit="N",
        rule="shear along the panel over each waist, half as much again in its middle, one tab missing",
        source=f"statics; {cited(wood)}",
        inputs=bridges.figures,
        low=each * max(count - 1, 1) * 0.5,
    )


def bridges_stand(tabs: Sequence[Tab], points: Floats, wood: Material) -> float:
    """The push that a part's tabs stand at the weakest of points (n, 2) around it, any way it goes, N.

    The part turns or shifts as a blank slips under its clamps: each tab stands tau w h / 1.5 any way.

    Source: limit analysis as in `slip`; shear along the panel, half as much again in its middle, by statics
    """
    each = [wood.planar_shear * NECK * tab.length * tab.height / 1.5 for tab in tabs]
    held = Contacts(at=np.array([tab.at for tab in tabs]), friction=np.array(each), pressed=0.0)
    return float(slip_force(held, points).min())


def bridge_findings(part: str, strength: Figure, force: float) -> tuple[Finding, ...]:
    """Whether a part's tabs stand the greatest force of a dull cutter with the safety that is wanted."""
    if strength.value >= SAFETY * force:
        return ()
    return (
        Finding(
            level=Level.STOP if strength.value < force else Level.CAUTION,
            kind="tab-weak",
            text=(
                f"{part}: its tabs stand about {strength.value:.0f} N sideways with one missing; "
                f"a dull cutter pushes with up to {force:.0f} N."
            ),
            remedy="tape the part down before its outline's last pass, or cut it with a thinner cutter",
        ),
    )
