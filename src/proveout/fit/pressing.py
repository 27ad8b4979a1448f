"""Pressing hardware into wood: how much force it takes, and when the wood around it splits.

The wood presses back in proportion to the interference until it crushes, and not harder from there on. Where
the wall to the part's edge is thin, or the wood weak across its grain, it splits before.
"""

import math
from typing import Final

from proveout.figure import Figure
from proveout.finding import Finding, Level
from proveout.fit.scatter import ENDS
from proveout.fit.sized import SizedFit
from proveout.quantity import System, show, show_length
from proveout.shelf.cited import cited
from proveout.shelf.materials import Material
from proveout.shelf.tables import friction

POISSON: Final = 0.3
# Wood is so much softer across the grain than along it. Wood Handbook, table 5-1 (from memory): a tenth
# radially, a twentieth tangentially.
ACROSS_GRAIN: Final = 0.07
# And parts across the grain at so much of its shear strength: 0.22 to 0.51 in table 5-3 (from memory).
PARTS_AT: Final = 0.3
# A panel or plastic is pulled apart in its plane at so much of its strength in bending; project default.
PULLED_AT: Final = 0.5
# Shares of a hundred from which splitting is told, and a force that a small bench vice brings with ease, N.
TOLD: Final = 0.01
VICE: Final = 3000.0  # common practice, no source


def contact_pressure(interference: float, *, size: float, modulus: float, crush: float) -> float:
    """Pressure between a stiff plug and the wood around it, N/mm2; 0 where there is no interference.

    p = E i / (d (1 + nu)), a rigid plug in a large elastic plate, and at most what crushes the wood.

    Args:
        interference: over the whole width
        size: diameter or flats of the plug
        modulus: of the wood, N/mm2
        crush: pressure that leaves a lasting dent, N/mm2
    Source: Lame's equations for thick cylinders, outer radius without end
    """
    return min(max(0.0, modulus * interference / (size * (1 + POISSON))), crush)


def press_force(pressure: float, *, area: float, friction: float) -> float:
    """Force to push a plug along walls of that area, N: friction x pressure x area."""
    return friction * pressure * area


def splitting_pressure(wall: float, *, size: float, tension: float) -> float:
    """Pressure from within at which the walls beside a plug are pulled apart, N/mm2.

    A cut through the middle: p d is held by two walls, 2 t f, as if each were pulled evenly.

    Args:
        wall: the thinnest to the part's edge
        size: diameter or flats of the plug
        tension: strength of the wall, N/mm2
    Source: statics
    """
    return 2 * wall * tension / size


def splitting_interference(wall: float, *, size: float, wood: Material) -> float:
    """The interference from which the wood may split, mm; infinite where it crushes first.

    Source: Lame's equations and statics, with the wood's unfavourable strength
    """
    pressure = splitting_pressure(wall, size=size, tension=tension_of(wood))
    if pressure >= wood.crush:
        return math.inf
    return pressure * size * (1 + POISSON) / modulus_of(wood)


def tension_of(wood: Material) -> float:
    """What the wall stands before it parts, N/mm2, at its unfavourable end; solid wood across the grain."""
    return PARTS_AT * wood.panel_shear if wood.kind == "solid wood" else PULLED_AT * wood.bending


def modulus_of(wood: Material) -> float:
    """How stiff the wood stands against a plug, N/mm2; solid wood across the grain."""
    return ACROSS_GRAIN * wood.modulus if wood.kind == "solid wood" else wood.modulus


def pressed(
    fitted: SizedFit, *, wall: Figure, size: float, area: float, wood: Material, name: str, system: System
) -> tuple[tuple[Figure, ...], tuple[Finding, ...]]:
    """What it takes to press the hardware in, and what share of the parts may split.

    Args:
        fitted: the fit, with the clearance that comes of it
        wall: the thinnest wood to the part's edge
        size: flats or diameter of the hardware
        area: of the walls that it touches
        wood: what the part is made of
        name: of the feature
        system: in which lengths are shown
    """
    limit = splitting_interference(wall.value, size=size, wood=wood)
    share = 0.0 if math.isinf(limit) else fitted.clearance.below(-limit - fitted.size)
    force = _force_figure(fitted, size=size, area=area, wood=wood, name=name)
    splits = Figure(
        name=f"{name}.share splitting",
        value=share,
        unit="",
        rule=_splits_rule(limit, system),
        source=f"statics and Lame's equations; {cited(wood)}",
        inputs=(wall,),
    )
    findings = (
        *_may_split(share, limit, wall.value, size, wood, name, system),
        *_hard_to_press(force, name, system),
    )
    return (force, splits), findings


def _splits_rule(limit: float, system: System) -> str:
    if math.isinf(limit):
        return "The walls crush before they part: it doesn't split."
    return f"The share pressed by more than {show_length(limit, system)}: there the wall may part."


def _force_figure(fitted: SizedFit, *, size: float, area: float, wood: Material, name: str) -> Figure:
    pair = friction("plastic under steel" if wood.kind == "plastic" else "wood under steel")
    stiff = modulus_of(wood)
    middle, tightest = (
        -(fitted.size + length) for length in (fitted.clearance.mean, fitted.clearance.quantile(ENDS[0]))
    )

    def force(interference: float, rubs: float) -> float:
        return press_force(
            contact_pressure(interference, size=size, modulus=stiff, crush=wood.crush),
            area=area,
            friction=rubs,
        )

    return Figure(
        name=f"{name}.press force",
        value=force(middle, pair.design),
        unit="N",
        rule="Friction x the walls' pressure x their area: the pressure grows with the interference until "
        "the wood crushes. High: the tightest of a hundred on a rough wall.",
        source=f"Lame's equations; {cited(wood)}; {cited(pair)}",
        low=0.0 if middle <= 0 else force(middle, pair.low),
        high=force(tightest, pair.high),
    )


def _may_split(
    share: float, limit: float, wall: float, size: float, wood: Material, name: str, system: System
) -> tuple[Finding, ...]:
    if share < TOLD:
        return ()
    enough = wood.crush * size / (2 * tension_of(wood))
    return (
        Finding(
            level=Level.CAUTION,
            kind="fit-splits",
            text=f"{name}: of 100 parts about {max(1, round(100 * share))} may split. With "
            f"{show_length(wall, system)} of {wood.name} to the edge, the wall may part from "
            f"{show_length(limit, system)} of interference on.",
            remedy=f"Leave {show_length(enough, system)} of wood around it, or choose a snug fit and bond it "
            "with epoxy, or use a threaded insert. Where it must be pressed, clamp the part round its rim.",
        ),
    )


def _hard_to_press(force: Figure, name: str, system: System) -> tuple[Finding, ...]:
    if force.value <= VICE:
        return ()
    return (
        Finding(
            level=Level.NOTE,
            kind="fit-splits",
            text=f"{name}: pressing it in takes about {show(force.value, 'N', system)}, more than a small "
            "vice brings with ease.",
            remedy="Step the recess: cut its upper half 0.1 mm wider, which halves the force and starts the "
            "hardware straight. Or choose the next looser fit and bond it with epoxy.",
        ),
    )
