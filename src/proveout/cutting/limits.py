"""Limits: all that stands a cut, and what share of it a cut at given values asks.

Each limit is one constraint with a name, the words that a person reads, and the share that a way of cutting
asks of it: 1 is all that may be asked. Every share grows, or stays, with the depth, the width and the feed.
"""

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from typing import Final, Literal, NamedTuple

from proveout.book.priors import PUSHED
from proveout.cutting.force import chip_load as chip_load_of
from proveout.cutting.force import (
    cutting_power,
    engaged_angle,
    give,
    lift,
    mean_chip,
    power_at,
    stress,
    thickest_chip,
    tooth_force,
)
from proveout.hold.stands import Stands
from proveout.job.records import Cutter, Machine
from proveout.shelf.cited import cited
from proveout.shelf.tables import ChipLoad, Material, chip_load, cutting_energy, specific_force

PRACTICE: Final = "common practice, no source"
DEFAULT: Final = "project default"

DULL: Final = 2.0  # a dull edge doubles the force; common practice, no source
HOLD_SAFETY: Final = 3.0  # on friction alone
TAB_SAFETY: Final = 2.0  # on what the tabs stand
PUSH_OFF: Final = 0.05  # mm by which a wall may be off; a dull edge doubles it; project default
FINISH_PUSH_OFF: Final = PUSHED  # mm, of the last pass along the walls of a fit: fits are sized for it
POWER_SHARE: Final = 0.8  # of the spindle's power at a speed; common practice, no source
CARBIDE_BENDS: Final = 600.0  # N/mm2 to stay below; project default
STEEL_BENDS: Final = 300.0  # N/mm2, high-speed steel; project default
DEEPEST: Final = 1.0  # diameters: chip loads are charted for cuts as deep as the cutter is wide
RUBBING: Final = 0.02  # mm a tooth, below which an edge rubs and burns
THINNEST: Final = 0.001  # mm; the estimate of the specific force is not asked for thinner chips

LimitName = Literal[
    "chip", "flutes", "diameter", "wall", "bending", "power", "sliding", "tipping", "tabs", "feed"
]


@dataclass(frozen=True, slots=True, kw_only=True)
class Allowed:
    """How much of what there is may be asked."""

    push_off: float = PUSH_OFF  # mm
    finish_push_off: float = FINISH_PUSH_OFF  # mm
    share: float = 1.0  # of every limit but the walls', which these say


@dataclass(frozen=True, slots=True, kw_only=True)
class Bench:
    """What the chooser must respect besides the cutter."""

    material: Material
    machine: Machine
    hold: Stands | None = None  # None: nothing is stated
    tabs: float | None = None  # N any way that the tabs of the weakest part stand
    allowed: Allowed = field(default_factory=Allowed)


class Way(NamedTuple):
    """How a cutter goes through the material."""

    depth: float  # mm
    width: float  # mm, radial: the cutter's diameter in a full slot
    feed: float  # mm/s
    speed_rpm: float


class Asked(NamedTuple):
    """What a way of cutting asks for; sharp edges, the estimate's middle value."""

    per_tooth: float  # mm
    force: float  # N sideways
    lift: float  # N up
    power: float  # W
    push_off: float  # mm


Asks = Callable[[Way], Asked]


@dataclass(frozen=True, slots=True, kw_only=True)
class Limit:
    """One constraint."""

    name: LimitName
    reason: str  # what a person reads after "limited by"
    source: str
    share: Callable[[Way], float]


def chip_window(material: Material, cutter: Cutter) -> ChipLoad:
    """The range of feed a tooth that suits a cutter and a material on a light machine."""
    return chip_load(material.chip_class, cutter.diameter)


def asked(cutter: Cutter, material: Material, machine: Machine, way: Way) -> Asked:
    """What a way of cutting asks of cutter, spindle and gantry."""
    return asker(cutter, material, machine)(way)


def asker(cutter: Cutter, material: Material, machine: Machine) -> Asks:
    """What any way of cutting asks; what hangs on no depth is reckoned once, since many depths are tried."""
    edges: dict[tuple[float, float, float], _Edge] = {}
    gives = give(cutter, machine)

    def asks(way: Way) -> Asked:
        key = way.width, way.feed, way.speed_rpm
        if key not in edges:
            edges[key] = _edge(cutter, material, way)
        edge = edges[key]
        force = tooth_force(way.depth, edge.chip, edge.at_thickest)
        return Asked(
            per_tooth=edge.per_tooth,
            force=force,
            lift=lift(force, cutter.spiral),
            power=cutting_power(way.width, way.depth, way.feed, edge.at_mean),
            push_off=force * gives,
        )

    return asks


class _Edge(NamedTuple):
    """What an edge meets at any depth."""

    per_tooth: float  # mm
    chip: float  # mm, the thickest
    at_thickest: float  # N/mm2, specific force at that chip
    at_mean: float  # and at the mean one


def _edge(cutter: Cutter, material: Material, way: Way) -> _Edge:
    energy = cutting_energy(material.energy_class)
    per_tooth = chip_load_of(way.feed, cutter.flutes, way.speed_rpm)
    angle = engaged_angle(way.width, cutter.radius)
    chip, mean = thickest_chip(per_tooth, angle), mean_chip(per_tooth, angle)
    return _Edge(
        per_tooth=per_tooth,
        chip=chip,
        at_thickest=specific_force(energy, max(chip, THINNEST), material.density),
        at_mean=specific_force(energy, max(mean, THINNEST), material.density),
    )


def limits_of(cutter: Cutter, bench: Bench, *, finishing: bool = False, tabs: bool = False) -> list[Limit]:
    """All that limits a cutter on a bench.

    Args:
        finishing: the last pass along the walls of a fit, where less push-off is allowed
        tabs: whether tabs alone will hold what is cut at
    """
    asks = asker(cutter, bench.material, bench.machine)
    whole = [*_of_cutter(cutter, bench), *_of_machine(cutter, bench, asks, finishing), *_of_hold(bench, asks)]
    if tabs and bench.tabs is not None:
        whole.append(_of_tabs(bench, asks, bench.tabs))
    return [_scaled(limit, bench.allowed.share) for limit in whole]


def _scaled(limit: Limit, share: float) -> Limit:
    """A limit of which only a share may be asked; walls have their own, bounds of geometry stay."""
    if share == 1 or limit.name in ("chip", "flutes", "diameter", "wall"):
        return limit
    return Limit(
        name=limit.name,
        reason=limit.reason,
        source=limit.source,
        share=lambda way: limit.share(way) / share,
    )


def _of_cutter(cutter: Cutter, bench: Bench) -> Iterator[Limit]:
    window = chip_window(bench.material, cutter)

    def chip(way: Way) -> float:
        return chip_load_of(way.feed, cutter.flutes, way.speed_rpm) / max(window.load.max, RUBBING)

    yield Limit(
        name="chip",
        reason="the thickest chip that suits this cutter and material on a light machine",
        source=cited(window),
        share=chip,
    )
    yield Limit(
        name="flutes",
        reason="the flutes' length",
        source="shop file",
        share=lambda way: way.depth / cutter.flute_length,
    )
    yield Limit(
        name="diameter",
        reason="the cutter's diameter: chip loads are charted for cuts no deeper than that",
        source=PRACTICE,
        share=lambda way: way.depth / (DEEPEST * cutter.diameter),
    )


def _of_machine(cutter: Cutter, bench: Bench, asks: Asks, finishing: bool) -> Iterator[Limit]:
    spindle, estimate = bench.machine.spindle, cited(cutting_energy(bench.material.energy_class))
    allowed = bench.allowed
    off = allowed.finish_push_off if finishing else allowed.push_off
    bends, bent = CARBIDE_BENDS if cutter.carbide else STEEL_BENDS, stress(cutter)
    what = "the finished wall" if finishing else "the wall"
    yield Limit(
        name="wall",
        reason=f"cutter and gantry give way: {what} may be off by {off:g} mm",
        source=estimate,
        share=lambda way: asks(way).push_off / off,
    )
    yield Limit(
        name="bending",
        reason="the cutter bends as far as is sound when it is dull",
        source=estimate,
        share=lambda way: DULL * asks(way).force * bent / bends,
    )
    yield Limit(
        name="power",
        reason="the spindle's power at this speed, less a fifth",
        source=estimate,
        share=lambda way: asks(way).power / (POWER_SHARE * power_at(spindle, way.speed_rpm)),
    )


def _of_hold(bench: Bench, asks: Asks) -> Iterator[Limit]:
    held = bench.hold
    if held is None:
        return
    estimate = cited(cutting_energy(bench.material.energy_class))

    def slides(way: Way) -> float:
        force, up = _dull(asks(way))
        stands = held.slides - held.lost * up
        return HOLD_SAFETY * force / stands if stands > 0 else math.inf

    def tips(way: Way) -> float:
        _, up = _dull(asks(way))
        return HOLD_SAFETY * up / max(held.tips, 1e-9)

    x, y = held.at
    where = f"at its weakest place ({x:.0f}, {y:.0f})"
    yield Limit(
        name="sliding",
        reason=f"the clamps' friction {where}, a third of it, against a dull cutter",
        source=estimate,
        share=slides,
    )
    yield Limit(
        name="tipping",
        reason="the clamps' hold against a dull up-cut spiral's pull, a third of it",
        source=estimate,
        share=tips,
    )


def _dull(ask: Asked) -> tuple[float, float]:
    return DULL * ask.force, DULL * ask.lift


def _of_tabs(bench: Bench, asks: Asks, stand: float) -> Limit:
    def share(way: Way) -> float:
        return TAB_SAFETY * math.hypot(*_dull(asks(way))) / max(stand, 1e-9)

    return Limit(
        name="tabs",
        reason="the tabs of the weakest part, half of what they stand, against a dull cutter",
        source=cited(bench.material),
        share=share,
    )
