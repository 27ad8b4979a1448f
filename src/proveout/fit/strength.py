"""What a wooden part around a captive hexagon stands: its floor, its flats, its rim.

Wood is not steel: every force here is an estimate with a range, and a finding speaks at the unfavourable end.
"""

import math
from typing import Final

import shapely

from proveout.curve import Curve, polygon
from proveout.figure import Figure
from proveout.finding import Finding, InputError, Level
from proveout.fit.hex_recess import HexRecess
from proveout.fit.holes import SizedHole
from proveout.fit.pressing import pressed
from proveout.fit.torque import (
    bearing_force,
    bolt_preload,
    crushing_torque,
    elastic_torque,
    hand_torque,
    plywood_embedding,
    punching_force,
    solid_wood_embedding,
)
from proveout.quantity import System, show, show_length
from proveout.shelf.cited import cited
from proveout.shelf.fit_classes import FitClass
from proveout.shelf.tables import HandTorque, Material, NutFactor
from proveout.shelf.tables import hand_torque as hand_on_shelf
from proveout.shelf.tables import nut_factor as nut_factor_on_shelf

GRIP: Final = "knob"
THREAD_CONDITION: Final = "zinc plated dry"  # what most shops' hardware is

# Wall around a driven hexagon, in its flats; common practice against splitting.
LEAST_WALL: Final = {"plywood": 0.5, "solid wood": 1.0, "fibreboard": 1.0, "plastic": 0.5}


def captive_strength(
    recess: HexRecess, wood: Material, *, knob_diameter: float, hole: float, name: str, system: System
) -> tuple[tuple[Figure, ...], tuple[Finding, ...]]:
    """Figures and findings on a hand-turned part that holds a hexagon.

    Args:
        recess: of the head or nut
        wood: what the part is made of
        knob_diameter: where the hand takes hold
        hole: diameter of the bolt's hole in the floor
        name: of the recess, for figures and messages
        system: in which lengths are shown
    """
    hand = hand_figure(hand_on_shelf(GRIP), knob_diameter, name)
    preload = preload_figure(hand, nut_factor_on_shelf(THREAD_CONDITION), recess, name)
    held, punched, dented = (
        held_torque(recess, wood, name),
        floor_strength(recess, wood, name),
        floor_bearing(recess, wood, hole, name),
    )
    return (
        (hand, preload, held, punched, dented),
        (
            *_recess_gives(recess, held, hand, name),
            *_floor_gives(recess, punched, preload, name, system),
            *_floor_dents(recess, dented, preload, name),
        ),
    )


def hand_figure(hand: HandTorque, knob_diameter: float, name: str) -> Figure:
    """Torque of a comfortable hand on the knob; high is a strong person's utmost."""
    return Figure(
        name=f"{name}.hand torque",
        value=hand_torque(knob_diameter, hand.comfortable),
        unit="N mm",
        rule=f"A hand brings about {hand.comfortable:.0f} N to a knob's rim, {hand.upper:.0f} N at most.",
        source=cited(hand),
        low=hand_torque(knob_diameter, hand.comfortable),
        high=hand_torque(knob_diameter, hand.upper),
    )


def preload_figure(hand: Figure, friction: NutFactor, recess: HexRecess, name: str) -> Figure:
    """Tension that the hand's torque leaves in the bolt; high is the utmost on a slippery thread."""
    diameter = recess.size.thread_diameter
    upper = hand.value if hand.high is None else hand.high
    return Figure(
        name=f"{name}.bolt tension",
        value=bolt_preload(hand.value, diameter, friction.usual),
        unit="N",
        rule=f"Torque / (K x diameter), K {friction.usual:g} ({friction.low:g} to {friction.high:g}), "
        f"thread {friction.condition}.",
        source=cited(friction),
        inputs=(hand,),
        low=bolt_preload(hand.value, diameter, friction.high),
        high=bolt_preload(upper, diameter, friction.low),
    )


def held_torque(recess: HexRecess, wood: Material, name: str) -> Figure:
    """Torque that the flats hold: low where they begin to be marked, high where they are crushed for good."""
    depth = recess.size.height.value if recess.size.height.low is None else recess.size.height.low
    flat = recess.flat_left
    utmost = crushing_torque(embedding(recess, wood), depth, flat)
    return Figure(
        name=f"{name}.torque held",
        value=crushing_torque(wood.crush, depth, flat),
        unit="N mm",
        rule="Each flat bears over half its length: marked at the low end, crushed evenly across the fibres "
        "at the value; the high end is a bolt's embedding pressure, which a hexagon may not reach.",
        source=f"statics; {cited(wood)}; EN 1995-1-1 for the high end (read in open programs)",
        inputs=tuple(figure for figure in recess.figures if figure.name.endswith(".flat left")),
        low=elastic_torque(wood.crush_low, depth, flat),
        high=max(utmost, crushing_torque(wood.crush, depth, flat)),
    )


def embedding(recess: HexRecess, wood: Material) -> float:
    """Pressure under which the recess walls give way for good, N/mm2: the most that can be hoped for."""
    if wood.kind == "plywood":
        return plywood_embedding(recess.flats, wood.density)
    if wood.kind == "solid wood":
        return solid_wood_embedding(recess.flats, wood.density)
    return wood.crush


def floor_strength(recess: HexRecess, wood: Material, name: str) -> Figure:
    """Force that pushes the hexagon through its floor where nothing backs the floor."""
    return Figure(
        name=f"{name}.floor strength",
        value=punching_force(wood.panel_shear, recess.size.flats.value, recess.floor_left),
        unit="N",
        rule="Shear strength x the hexagon's rim x the floor's thickness, with nothing behind the floor.",
        source=f"statics; {cited(wood)}",
        inputs=tuple(figure for figure in recess.figures if figure.name.endswith(".floor left")),
    )


def floor_bearing(recess: HexRecess, wood: Material, hole: float, name: str) -> Figure:
    """Force from which the hexagon dents the floor it lies on."""
    return Figure(
        name=f"{name}.floor bearing",
        value=bearing_force(wood.crush, recess.size.flats.value, hole),
        unit="N",
        rule="Crushing pressure x the hexagon less the bolt's hole.",
        source=f"statics; {cited(wood)}",
        low=bearing_force(wood.crush_low, recess.size.flats.value, hole),
        high=bearing_force(wood.crush, recess.size.flats.value, hole),
    )


def _recess_gives(recess: HexRecess, held: Figure, hand: Figure, name: str) -> tuple[Finding, ...]:
    low, high = _ends(held)
    if low >= hand.value:
        return ()
    side = recess.flats / math.sqrt(3)
    will = "gives" if high < hand.value else "may give"
    return (
        Finding(
            level=Level.CAUTION,
            kind="wood-gives-first",
            text=f"{name}: a comfortable hand turns {show(hand.value, 'N mm')}, and the flats hold the "
            f"{recess.size.noun} against {show(low, 'N mm')} before they are marked and at most "
            f"{show(high, 'N mm')}: the wood {will} before the bolt is tight.",
            remedy=f"Bond the {recess.size.noun} in with epoxy, or finish the recess with a slimmer cutter: "
            f"now each side keeps {recess.flat_left * 100 / side:.0f} % of its flat.",
        ),
    )


def _floor_gives(
    recess: HexRecess, strength: Figure, preload: Figure, name: str, system: System
) -> tuple[Finding, ...]:
    _, most = _ends(preload)
    if strength.value >= most:
        return ()
    needed = recess.floor_left * most / strength.value
    comfortable = strength.value >= preload.value
    return (
        Finding(
            level=Level.NOTE if comfortable else Level.CAUTION,
            kind="floor-thin",
            text=f"{name}: with nothing behind it the floor of {show_length(recess.floor_left, system)} "
            f"holds {show(strength.value, 'N')}; a comfortable hand pulls {show(preload.value, 'N')}, the "
            f"strongest on an easy thread {show(most, 'N')}.",
            remedy="Use the part only where its floor lies on something solid, such as a clamp bar or a "
            f"washer, or take stock {show_length(needed - recess.floor_left, system)} thicker.",
        ),
    )


def _floor_dents(recess: HexRecess, bearing: Figure, preload: Figure, name: str) -> tuple[Finding, ...]:
    low, _ = _ends(bearing)
    if low >= preload.value:
        return ()
    return (
        Finding(
            level=Level.NOTE,
            kind="wood-gives-first",
            text=f"{name}: the {recess.size.noun} dents its floor from about {low:.0f} N on; a comfortable "
            f"hand pulls {preload.value:.0f} N.",
            remedy=f"Expect the {recess.size.noun} to settle at first use and tighten again, or glue a steel "
            f"washer under it.",
        ),
    )


def pressed_recess(
    recess: HexRecess, wall: Figure, wood: Material, *, name: str, system: System
) -> tuple[tuple[Figure, ...], tuple[Finding, ...]]:
    """What it takes to press the hexagon into its recess; nothing where its fit isn't pressed."""
    if not recess.fit.is_press:
        return (), ()
    size = recess.size.flats.value
    area = 6 * recess.flat_left * recess.size.height.value
    return pressed(recess.fitted, wall=wall, size=size, area=area, wood=wood, name=name, system=system)


def pressed_pin(
    hole: SizedHole, wall: Figure, *, fit: FitClass, length: float, wood: Material, name: str, system: System
) -> tuple[tuple[Figure, ...], tuple[Finding, ...]]:
    """What it takes to press a pin through its hole; nothing where its fit isn't pressed."""
    if hole.fitted is None or not fit.is_press:
        return (), ()
    area = math.pi * hole.diameter * length
    return pressed(hole.fitted, wall=wall, size=hole.diameter, area=area, wood=wood, name=name, system=system)


def _ends(figure: Figure) -> tuple[float, float]:
    low = figure.value if figure.low is None else figure.low
    return low, figure.value if figure.high is None else figure.high


def rim_wall(
    outline: Curve,
    hole: Curve,
    *,
    size: float,
    fit: FitClass,
    wood: Material,
    name: str,
    system: System,
) -> tuple[tuple[Figure, ...], tuple[Finding, ...]]:
    """The thinnest wall between a fitted hole and the part's edge, and a caution where a press may split it.

    Args:
        outline: of the part
        hole: of the recess or hole
        size: flats or diameter of the hardware, to which the wall is compared
        fit: the hardware's fit class
        wood: what the part is made of
        name: of the feature
        system: in which lengths are shown
    Raises:
        InputError: the hole reaches the part's edge
    """
    part, opening = polygon([outline]), polygon([hole])
    wall = float(shapely.distance(part.exterior, opening.exterior))
    if not part.contains(opening) or wall <= 0:
        raise InputError(f"{name}: it reaches the part's edge. Make the part larger or the hardware smaller.")
    figure = Figure(
        name=f"{name}.wall",
        value=wall,
        unit="mm",
        rule="The thinnest wood between it and the part's edge.",
        source="geometry",
    )
    least = LEAST_WALL[wood.kind] * size
    if not fit.is_press or wall >= least:
        return (figure,), ()
    finding = Finding(
        level=Level.CAUTION,
        kind="wall-thin",
        text=f"{name}: {show_length(wall, system)} of wood stays to the edge; a {fit.name} may split it.",
        remedy=f"Leave {show_length(least, system)} in {wood.kind}, or choose a snug fit and glue.",
    )
    return (figure,), (finding,)
