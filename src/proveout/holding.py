"""Hold: a blank, a plate, and the clamps and bolts on hand - which clamps, where, with which bolts.

No parts are asked for: the blank is pushed at every point and from every side as hard as the cutters on hand
push at their usual values with a dull edge, and three times that is wanted of friction.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from proveout.cutting.choose import HOLD_SAFETY, Bench, choose, peak_force
from proveout.cutting.force import lift
from proveout.finding import Finding, Level
from proveout.hold.choose_clamps import Held, choose_clamps, measured
from proveout.hold.grips import placed_grips
from proveout.hold.means_findings import means_findings
from proveout.hold.others import Others, all_contacts, others_of
from proveout.hold.places import Place, places, stated_places
from proveout.hold.stack import Choice, Stack, choose_bolt, stack_of
from proveout.hold.tension import tension
from proveout.hold.thin import Lift, lift_findings, lift_of
from proveout.job.records import ClampKind, Cutter, Job
from proveout.quantity import show_length
from proveout.shelf.materials import Material
from proveout.shelf.tables import material, thread


@dataclass(frozen=True, slots=True, kw_only=True)
class Push:
    """The hardest that the cutters on hand push."""

    cutter: Cutter
    force: float  # N, dull


@dataclass(frozen=True, slots=True, kw_only=True)
class Holding:
    """How a blank is held, and how it could be."""

    job: Job
    push: Push | None  # None: no flat cutter on hand
    stated: Held | None  # the job's own clamps and whatever else it states; None where it has none
    lifts: Lift | None  # how far the hardest up-cut lifts it; None where none pulls, or it states no hold
    others: Others | None  # what that is; None where only clamps hold
    chosen: Held | None  # None: no clamp on hand reaches the blank
    bolts: tuple[tuple[ClampKind, Choice], ...]  # for the kinds that either uses
    stacks: tuple[Stack, ...]  # of the same kinds
    findings: tuple[Finding, ...]


def holding(job: Job) -> Holding:
    """The answer for a job's blank, parts or not."""
    wood = material(job.stock.material)
    pushes = _pushes(job, wood)
    push = max(
        (Push(cutter=one, force=force) for one, force in pushes), key=lambda one: one.force, default=None
    )
    wanted = HOLD_SAFETY * push.force if push else 0.0
    pull = max((lift(force, one.spiral) for one, force in pushes), default=0.0)
    shop, stock = job.shop, job.stock
    stated = None
    others = others_of(job)
    if job.clamps or others:
        clamped = stated_places(shop.plate, stock, shop.clamps, job.clamps)
        held = measured(clamped, wood, stock.size, all_contacts(job) if others else None)
        stated = Held(
            places=held.places, stands=held.stands, weakest=held.weakest, enough=held.stands >= wanted
        )
    chosen = choose_clamps(places(shop.plate, stock, shop.clamps), wood, stock.size, wanted)
    used = [*(stated.places if stated else ()), *(chosen.places if chosen else ())]
    kinds = tuple(dict.fromkeys(one.kind for one in used))
    stacks = tuple(_stack(job, kind) for kind in kinds)
    work = (stock.thinnest, stock.thickest)
    bolts = tuple(
        (kind, choose_bolt(stack, work, kind.bolt_lengths)) for kind, stack in zip(kinds, stacks, strict=True)
    )
    best = stated or chosen
    return Holding(
        job=job,
        push=push,
        stated=stated,
        others=others,
        lifts=lift_of(job, pull),
        chosen=chosen,
        bolts=bolts,
        stacks=stacks,
        findings=(*_findings(job, wood, push, best, bolts), *means_findings(job), *lift_findings(job, pull)),
    )


def _pushes(job: Job, wood: Material) -> list[tuple[Cutter, float]]:
    """The flat cutters on hand, each with its hardest cut at the values that it gets with a firm hold, N."""
    bench = Bench(material=wood, machine=job.shop.machine, hold=None)
    return [
        (one, peak_force(choose(one, "outline", bench), wood, one.flutes))
        for one in job.shop.cutters
        if one.kind == "flat"
    ]


def _stack(job: Job, kind: ClampKind) -> Stack:
    inserts = job.shop.plate.inserts
    return stack_of(
        kind.bolt,
        bar=kind.thickness,
        below_face=inserts.depth_below_face,
        floor=kind.knob_floor,
        thread_length=inserts.length,
    )


def _findings(
    job: Job,
    wood: Material,
    push: Push | None,
    held: Held | None,
    bolts: Sequence[tuple[ClampKind, Choice]],
) -> Iterator[Finding]:
    if held is None:
        yield Finding(
            level=Level.STOP,
            kind="blank-not-held",
            text="No clamp on hand reaches the blank from a free hole of the plate.",
            remedy="Move the blank with at, or make longer clamps.",
        )
        return
    if not held.places and not any(grip.holds_down for grip in placed_grips(job)):
        yield Finding(
            level=Level.STOP,
            kind="blank-not-held",
            text="Stops and dowels keep the blank from sliding, and nothing keeps it down.",
            remedy="Add clamps, tape or screws.",
        )
    if push is not None and not held.enough:
        yield _too_weak(push, held)
    yield from (
        finding for one in dict.fromkeys(p.kind for p in held.places) for finding in _dents(wood, held, one)
    )
    for kind, choice in bolts:
        if not choice.on_hand:
            yield _no_bolt(job, kind, choice)
        yield from _overdrawn(kind)
    if job.shop.plate.inserts.length is None:
        yield Finding(
            level=Level.CAUTION,
            kind="estimate",
            text="How long the inserts' thread is was not stated: the shelf's placeholder counts.",
            remedy="Measure one, and write length under plate.inserts in the shop file.",
        )


def _too_weak(push: Push, held: Held) -> Finding:
    allowed = held.stands / HOLD_SAFETY
    return Finding(
        level=Level.STOP,
        kind="hold-margin",
        text=f"At its weakest point the blank stands {held.stands:.0f} N sideways; {push.cutter.name} may "
        f"push {push.force:.0f} N, and {HOLD_SAFETY:.0f} times that is wanted.",
        remedy=f"Cut with at most {allowed:.0f} N (shallower, slower), add clamps, or put screws through "
        "the waste.",
    )


def _dents(wood: Material, held: Held, kind: ClampKind) -> Iterator[Finding]:
    """Whether a strong hand presses a nose into the work."""
    place = max(
        (one for one in held.places if one.kind == kind), key=lambda one: one.highest / one.patch.area
    )
    pressure = place.highest / place.patch.area
    if pressure > wood.crush_low:
        yield Finding(
            level=Level.CAUTION,
            kind="work-dents",
            text=f"A strong hand on the {kind.name} presses its nose into the {wood.name} with "
            f"{pressure:.1f} N/mm2; from {wood.crush_low:.1f} N/mm2 on a dent may stay.",
            remedy="Put a scrap of the same sheet between, or let the nose reach further over.",
        )


def _overdrawn(kind: ClampKind) -> Iterator[Finding]:
    """Whether a strong hand may stretch the softest bolt that is sold."""
    pulled = tension(kind)
    if pulled.share > 1:
        yield Finding(
            level=Level.CAUTION,
            kind="bolt-overdrawn",
            text=f"A strong hand on a slippery thread pulls the {kind.name}'s bolt with "
            f"{pulled.pull[1]:.0f} N; the softest {kind.bolt} bolts stand {pulled.proof:.0f} N.",
            remedy="Use bolts of class 8.8, or a smaller knob.",
        )


def _no_bolt(job: Job, kind: ClampKind, choice: Choice) -> Finding:
    size = thread(kind.bolt).size
    why = "; ".join(f"{show_length(one.length, job.units)}: {one.why}" for one in choice.refused)
    if not choice.refused:
        said = f"The shop file names no bolts for the {kind.name}."
    else:
        said = f"No bolt on hand for the {kind.name} reaches its insert as it should: {why}."
    buy = (
        f"Use {size} x {show_length(choice.buy.length, job.units)}, from under the head."
        if choice.buy
        else "No standard length does: change the bar, the washers or the inserts."
    )
    return Finding(
        level=Level.CAUTION,
        kind="bolt-length",
        text=said,
        remedy=buy,
    )


def place_text(place: Place) -> str:
    """Where a clamp stands, as a job file says it."""
    return f'clamp = "{place.at.clamp}"\nhole = "{place.at.hole}"\ntowards = "{place.at.towards}"'
