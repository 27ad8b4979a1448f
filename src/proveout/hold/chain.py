"""What gives first when a hand tightens a strap clamp: every link from the knob to the plate and the work.

Each link says at which pull of the bolt it gives, as a range; its low end is the one to count on. Some break
and some only settle or dent, after which the clamp still holds. A link whose material the shop file doesn't
state is reckoned with the weakest panel and marked so: it is told, and doesn't lessen the force that counts.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

from proveout.figure import Figure
from proveout.fit.seating import corner_gap, flat_left
from proveout.fit.torque import (
    bearing_force,
    bolt_preload,
    crushing_torque,
    plywood_embedding,
    solid_wood_embedding,
)
from proveout.hold.bar import bending_pull, shear_pull, washer_on_slot
from proveout.hold.preload import Pulls, levers, strap_share
from proveout.hold.pullout import insert_pullout, stripping
from proveout.hold.stack import ENGAGED
from proveout.hold.tension import SOFTEST
from proveout.job.records import ClampKind, Plate
from proveout.shelf.cited import cited
from proveout.shelf.materials import BENDING_VARIATION, FIVE_IN_A_HUNDRED, Material
from proveout.shelf.tables import (
    ShelfError,
    bench_material,
    clearance_hole,
    hex_head,
    insert,
    nut_factor,
    thread,
    washer,
)

USUAL_PANELS: Final = ("birch plywood", "softwood plywood", "mdf")  # of plates and bars; common practice
RECESS_RADIUS: Final = 1.5875  # of a 1/8 in cutter, the slimmest in most shops: project default
# Of a bolt's embedding pressure, that at which a pressed hexagon turns in plywood: project default. Half the
# plies stand on end against it; of 56 N/mm2 along and 7 across (yellow birch, Wood Handbook) the mean is 0.46
# of the 67 N/mm2 under M6 flats.
PLIES_ON_END: Final = 0.4


@dataclass(frozen=True, slots=True, kw_only=True)
class Link:
    """One thing in a clamp that the bolt's pull loads."""

    name: str  # "bolt", "insert", "thread", "bar", "layers", "head", "washer", "floor", "work"
    what: str  # as a sentence says it: "the insert in the plate"
    gives: Figure  # N of the bolt's pull; the low end counts
    breaks: bool  # False: it settles or dents and holds on
    turns: Figure | None = None  # N mm, where it is a torque that it gives to
    assumed: str = ""  # the material that was counted since none is stated
    tires: bool = False  # whether, loaded again and again, it stands about half


@dataclass(frozen=True, slots=True, kw_only=True)
class Load:
    """What a link is asked about: where a clamp's bolt and nose stand."""

    kind: ClampKind
    plate: Plate
    bite: float  # of the nose over the work
    engaged: float | None = None  # thread in thread; None: the least that a stack wants
    work: Material | None = None  # under the nose; None: it isn't asked about


def chain(load: Load) -> tuple[Link, ...]:
    """All links, from the plate upwards, then the work under the nose."""
    every = (
        _insert(load),
        _thread(load),
        _bolt(load),
        _bar(load),
        _layers(load),
        _washer(load),
        _head(load),
        _floor(load),
        _work(load),
    )
    return tuple(link for link in every if link is not None)


def first_to_give(links: Sequence[Link]) -> Link:
    """The breaking link whose low end is the lowest."""
    return min((link for link in links if link.breaks), key=lambda link: low_of(link.gives))


def stood(links: Sequence[Link]) -> Pulls:
    """What the breaking links of stated material stand: each end of their ranges at its least."""
    known = [link.gives for link in links if link.breaks and not link.assumed]
    return Pulls(
        low=min(map(low_of, known)), usual=min(one.value for one in known), high=min(map(high_of, known))
    )


@lru_cache(maxsize=1024)
def stood_by(kind: ClampKind, plate: Plate, bite: float) -> Pulls:
    """What a clamp's breaking links of stated material stand; kept, since a plate has many places alike."""
    return stood(chain(Load(kind=kind, plate=plate, bite=bite)))


def low_of(figure: Figure) -> float:
    """The unfavourable end of what something stands."""
    return figure.value if figure.low is None else figure.low


def high_of(figure: Figure) -> float:
    """The most that something may stand."""
    return figure.value if figure.high is None else figure.high


def _insert(load: Load) -> Link | None:
    """The insert pulled out of the plate's face; nothing to say where no length is stated or on the shelf."""
    inserts = load.plate.inserts
    length = inserts.length
    if length is None:
        try:
            length = insert(inserts.thread).length
        except ShelfError:
            return None
    stuff, assumed = _stated(
        load.plate.material, lambda one: insert_pullout(one, inserts.diameter, length)[0]
    )
    low, usual, high = insert_pullout(stuff, inserts.diameter, length)
    return Link(
        name="insert",
        what="the insert in the plate",
        gives=_figure(
            load,
            "insert",
            (low, usual, high),
            f"The wood about the insert's thread shears, or it draws out as a screw would: {stuff.name}, "
            "well away from edges.",
            f"statics; Wood Handbook, chapter 8 (from memory); {cited(stuff)}",
        ),
        breaks=True,
        assumed=assumed,
    )


def _thread(load: Load) -> Link:
    row = thread(load.kind.bolt)
    engaged = ENGAGED * row.diameter if load.engaged is None else max(load.engaged, 0.0)
    low, high = stripping(row.diameter, row.pitch, engaged)
    return Link(
        name="thread",
        what="the thread in the insert",
        gives=_figure(
            load,
            "thread",
            (low, low, high),
            f"Shear strength of brass or zinc, or of the bolt, x the thread's area over {engaged:.1f} mm.",
            "ASME B1.1, shear areas (read in public tables); strengths read in makers' tables or from memory",
        ),
        breaks=True,
    )


def _bolt(load: Load) -> Link:
    row = thread(load.kind.bolt)
    proof = row.stress_area * row.proof_stress
    low = min(proof, proof * SOFTEST)
    return Link(
        name="bolt",
        what="the bolt",
        gives=_figure(
            load,
            "bolt",
            (low, low, proof),
            "Proof load: stress area x proof stress, of class 4.6 at the low end, of class 8.8 or grade 5 at "
            "the high end.",
            cited(row),
        ),
        breaks=True,
    )


def _bar(load: Load) -> Link:
    def breaks_at(stuff: Material) -> float:
        kind, (heel, nose) = load.kind, levers(load.kind, load.bite)
        return bending_pull(
            stuff.bending, width=kind.width, slot=_slot(kind), thickness=kind.thickness, heel=heel, nose=nose
        )

    stuff, assumed = _stated(load.kind.material, breaks_at)
    low = breaks_at(stuff)
    # 5 in 100 pieces of wood don't reach the shelf's bending strength; the mean is higher by this.
    mean = (
        1.0 if stuff.kind in ("metal", "plastic") else 1 / (1 - FIVE_IN_A_HUNDRED * BENDING_VARIATION)
    ) * low
    return Link(
        name="bar",
        what="the bar in bending",
        gives=_figure(
            load,
            "bar",
            (low, low, mean),
            f"Bending strength of {stuff.name} x the section beside the slot / the arms' moment, M = F a b / "
            "(a + b). Loaded again and again, wood stands about half.",
            f"statics; {cited(stuff)}",
        ),
        breaks=True,
        assumed=assumed,
        tires=stuff.kind != "metal",
    )


def _layers(load: Load) -> Link | None:
    """The bar's layers, or its fibres, sliding over each other beside the slot."""

    def slides_at(stuff: Material) -> float:
        kind, arms, rim = load.kind, levers(load.kind, load.bite), washer(load.kind.bolt).outside.min / 2
        return shear_pull(
            stuff.panel_shear if stuff.kind == "solid wood" else stuff.planar_shear,
            width=kind.width,
            slot=_slot(kind),
            thickness=kind.thickness,
            arms=arms,
            clear=(arms[0] - rim, kind.nose_to_bolt - load.bite - rim),
        )

    stuff, assumed = _stated(load.kind.material, slides_at)
    low = slides_at(stuff)
    if math.isinf(low):
        return None
    return Link(
        name="layers",
        what="the bar in shear along its layers",
        gives=_figure(
            load,
            "layers",
            (low, low, low),
            f"Shear strength of {stuff.name}, solid wood with its grain along the bar, x the section beside "
            "the slot / 1.5 times the larger arm's force.",
            f"statics; {cited(stuff)}; EN 1995-1-1 (from memory)",
        ),
        breaks=True,
        assumed=assumed,
        tires=stuff.kind != "metal",
    )


def _washer(load: Load) -> Link:
    stuff, assumed = _stated(load.kind.material, lambda one: one.crush_low)
    area = washer_on_slot(washer(load.kind.bolt).outside.min, _slot(load.kind))
    return Link(
        name="washer",
        what="the bar under the washer",
        gives=_figure(
            load,
            "washer",
            (area * stuff.crush_low, area * stuff.crush, area * stuff.crush),
            f"Crushing pressure of {stuff.name} x the washer beside the slot: from there on it sinks in.",
            f"statics; {cited(stuff)}",
        ),
        breaks=False,
        assumed=assumed,
    )


def _head(load: Load) -> Link | None:
    """The hexagon turning in a wooden knob: a torque, turned into pull by the same K as the hand's."""
    kind = load.kind
    if kind.knob_material is None:
        return None
    stuff, head = bench_material(kind.knob_material), hex_head(kind.bolt)
    torque = _turning(stuff, head.across_flats.min, head.height.min, load)
    factor, diameter = nut_factor("zinc plated dry"), head.diameter
    return Link(
        name="head",
        what="the head's recess in the knob",
        gives=_figure(
            load,
            "head",
            (
                bolt_preload(low_of(torque), diameter, factor.high),
                bolt_preload(torque.value, diameter, factor.usual),
                bolt_preload(high_of(torque), diameter, factor.low),
            ),
            "The torque at which the head turns in the wood, T = K D F.",
            f"{cited(factor)}; {torque.source}",
            (torque,),
        ),
        breaks=True,
        turns=torque,
    )


def _turning(stuff: Material, flats: float, height: float, load: Load) -> Figure:
    embeds = {
        "plywood": plywood_embedding(flats, stuff.density),
        "solid wood": solid_wood_embedding(flats, stuff.density),
    }.get(stuff.kind, stuff.crush)
    low = PLIES_ON_END * embeds if stuff.kind == "plywood" else min(stuff.crush_low, embeds)
    usual = max(low, stuff.crush)
    side = flats / math.sqrt(3)
    left = max(flat_left(flats, RECESS_RADIUS, corner_gap(RECESS_RADIUS)), 0.0)
    unrelieved = max(flat_left(flats, RECESS_RADIUS, 0.0), 0.0)
    return Figure(
        name=f"hold.{load.kind.name}.head turns",
        value=crushing_torque(usual, height, unrelieved),
        unit="N mm",
        rule=f"Each flat crushes {stuff.name} over half its length: corners relieved with a 1/8 in cutter at "
        "the low end; whole flats and a bolt's embedding pressure at the high end.",
        source=f"statics; {cited(stuff)}; EN 1995-1-1 (read in open programs)",
        low=crushing_torque(low, height, left),
        high=crushing_torque(max(usual, embeds), height, side),
    )


def _floor(load: Load) -> Link | None:
    """A wooden knob's floor under the bolt's head."""
    kind = load.kind
    if kind.knob_material is None or not kind.knob_floor:
        return None
    stuff, flats = bench_material(kind.knob_material), hex_head(kind.bolt).across_flats.min
    low, high = (
        max(bearing_force(pressure, flats, _slot(kind)), 0.0) for pressure in (stuff.crush_low, stuff.crush)
    )
    return Link(
        name="floor",
        what="the knob's floor under the head",
        gives=_figure(
            load,
            "floor",
            (low, high, high),
            f"Crushing pressure of {stuff.name} x the hexagon less the bolt's hole.",
            f"statics; {cited(stuff)}",
        ),
        breaks=False,
    )


def _work(load: Load) -> Link | None:
    if load.work is None or load.bite <= 0:
        return None
    share = strap_share(*levers(load.kind, load.bite))
    low, high = (
        pressure * load.bite * load.kind.width / share for pressure in (load.work.crush_low, load.work.crush)
    )
    return Link(
        name="work",
        what="the work under the nose",
        gives=_figure(
            load,
            "work",
            (low, high, high),
            f"Crushing pressure of {load.work.name} x the nose's patch / the strap's share: it dents.",
            f"statics; {cited(load.work)}",
        ),
        breaks=False,
    )


def _stated(name: str | None, stands: Callable[[Material], float]) -> tuple[Material, str]:
    """The stated material; else the usual panel that stands least, and its name as what was assumed."""
    if name is not None:
        return bench_material(name), ""
    weakest = min(map(bench_material, USUAL_PANELS), key=stands)
    return weakest, weakest.name


def _slot(kind: ClampKind) -> float:
    """A bar's slot is taken to be as wide as the ordinary hole for its bolt."""
    return clearance_hole(kind.bolt, "normal").diameter


def _figure(
    load: Load,
    name: str,
    pulls: tuple[float, float, float],
    rule: str,
    source: str,
    inputs: tuple[Figure, ...] = (),
) -> Figure:
    low, value, high = pulls
    return Figure(
        name=f"hold.{load.kind.name}.{name} gives",
        value=value,
        unit="N",
        rule=rule,
        source=source,
        inputs=inputs,
        low=low,
        high=high,
    )
