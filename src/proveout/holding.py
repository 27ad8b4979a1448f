"""Hold: a blank, a plate, and the clamps and bolts on hand - which clamps, where, with which bolts.

No parts are asked for: the blank is pushed at every point and from every side as hard as the cutters on hand
push at their usual values with a dull edge, and three times that is wanted of friction. Where parts are known
too, `holding_parts` adds what is chosen for them.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from shapely import Polygon

from proveout.cutting.choose import choose, peak_force, straight_cut
from proveout.cutting.force import lift
from proveout.cutting.limits import HOLD_SAFETY, Bench
from proveout.finding import Finding, Level
from proveout.hold.chain import Load, chain, stood
from proveout.hold.choose_clamps import Held, measured, spread_clamps
from proveout.hold.friction import plate_friction
from proveout.hold.gives import Strain, chain_findings
from proveout.hold.grips import placed_grips
from proveout.hold.means_findings import means_findings
from proveout.hold.others import Others, all_contacts, others_of
from proveout.hold.places import Place, places, stated_places
from proveout.hold.preload import clamp_force, hand_pulls
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

    @property
    def pull(self) -> float:
        """Away from the plate at the same time, N."""
        return lift(self.force, self.cutter.spiral)

    def wanted(self, wood: Material) -> float:
        """What friction must stand, N: the push with its safety, and what the pull takes off friction."""
        return HOLD_SAFETY * self.force + plate_friction(wood).design * self.pull


@dataclass(frozen=True, slots=True, kw_only=True)
class ForParts:
    """Clamps for parts that are laid out, where the job states none."""

    push: Push | None  # the hardest of the parts' cuts; None: they are only drilled
    outlines: tuple[Polygon, ...]  # as they will lie
    held: Held | None  # None: no arrangement is clear of the cutters
    how: str  # in a sentence, how parts and clamps were fitted to each other
    findings: tuple[Finding, ...]  # why nothing holds, and what would


@dataclass(frozen=True, slots=True, kw_only=True)
class Holding:
    """How a blank is held, and how it could be."""

    job: Job
    push: Push | None  # None: no flat cutter on hand
    stated: Held | None  # the job's own clamps and whatever else it states; None where it has none
    lifts: Lift | None  # how far the hardest up-cut lifts it; None where none pulls, or it states no hold
    others: Others | None  # what that is; None where only clamps hold
    chosen: Held | None  # None: no clamp on hand reaches the blank
    for_parts: ForParts | None  # None: no parts, or the job states its clamps
    bolts: tuple[tuple[ClampKind, Choice], ...]  # for the kinds that either uses
    stacks: tuple[Stack, ...]  # of the same kinds
    strains: tuple[Strain, ...]  # of the same kinds, each at the place that loads its bar the most
    findings: tuple[Finding, ...]

    @property
    def best(self) -> Held | None:
        """The clamps that are to be used: the job's own, those for its parts, or those for the blank."""
        return self.stated or (self.for_parts.held if self.for_parts else self.chosen)


def holding(job: Job, for_parts: ForParts | None = None) -> Holding:
    """The answer for a job's blank, and for its parts where they are laid out."""
    wood = material(job.stock.material)
    pushes = pushes_of(job, wood, job.shop.cutters)
    push = max(pushes, key=lambda one: one.force, default=None)
    wanted, pull = (push.wanted(wood), HOLD_SAFETY * push.pull) if push else (0.0, 0.0)
    lifting = max((one.pull for one in pushes), default=0.0)
    shop, stock = job.shop, job.stock
    stated = None
    others = others_of(job)
    if job.clamps or others:
        own = stated_places(shop.plate, stock, shop.clamps, job.clamps)
        by_all = all_contacts(job) if others else None
        stated = measured(own, wood, stock.size, wanted, pull=pull, held=by_all)
    chosen = spread_clamps(places(shop.plate, stock, shop.clamps), wood, stock.size, wanted, pull=pull)
    laid = for_parts.held if for_parts else None
    used = [one for held in (stated, chosen, laid) if held for one in held.places]
    kinds = tuple(dict.fromkeys(one.kind for one in used))
    stacks = tuple(_stack(job, kind) for kind in kinds)
    work = (stock.thinnest, stock.thickest)
    bolts = tuple(
        (kind, choose_bolt(stack, work, kind.bolt_lengths)) for kind, stack in zip(kinds, stacks, strict=True)
    )
    strains = tuple(
        _strain(job, wood, [one for one in used if one.kind == kind], choice) for kind, choice in bolts
    )
    best, hardest = (laid, None) if for_parts else (stated or chosen, push)
    said = for_parts.findings if for_parts else ()
    if best is not None or not for_parts:
        said = (*said, *_findings(job, wood, hardest, best, bolts))
    meant = {one.kind for one in best.places} if best else set()
    said = (*said, *(found for one in strains if one.kind in meant for found in chain_findings(one)))
    return Holding(
        job=job,
        push=push,
        stated=stated,
        others=others,
        lifts=lift_of(job, lifting),
        chosen=chosen,
        bolts=bolts,
        stacks=stacks,
        strains=strains,
        for_parts=for_parts,
        findings=(*said, *means_findings(job), *lift_findings(job, lifting)),
    )


def pushes_of(job: Job, wood: Material, cutters: Iterable[Cutter]) -> list[Push]:
    """The flat ones of some cutters, each with its hardest cut at its usual values under a firm hold."""
    bench = Bench(material=wood, machine=job.shop.machine)
    return [Push(cutter=one, force=_push_of(job, one, bench)) for one in cutters if one.kind == "flat"]


def _push_of(job: Job, cutter: Cutter, bench: Bench) -> float:
    """How hard a cutter pushes when it cuts right through the blank along a straight line, N, dull."""
    task = straight_cut(cutter, "outline", job.stock.thickest + job.through_allowance, bench.machine)
    return peak_force(choose(task, bench), bench.material, cutter, bench.machine)


def _stack(job: Job, kind: ClampKind) -> Stack:
    inserts = job.shop.plate.inserts
    return stack_of(
        kind.bolt,
        bar=kind.thickness,
        below_face=inserts.depth_below_face,
        floor=kind.knob_floor,
        thread_length=inserts.length,
    )


def _strain(job: Job, wood: Material, held: Sequence[Place], choice: Choice) -> Strain:
    """A kind's links where its nose reaches least far over the work, which bends the bar the most."""
    place = min(held, key=lambda one: one.bite)
    kind, bite = place.kind, place.bite
    reached = choice.on_hand[0] if choice.on_hand else choice.buy
    links = chain(
        Load(
            kind=kind,
            plate=job.shop.plate,
            bite=bite,
            engaged=reached.least if reached else None,
            work=wood,
        )
    )
    force = clamp_force(kind, bite=bite, stands=stood(links))
    return Strain(
        kind=kind, links=links, hand=hand_pulls(kind), force=(force.low or 0.0, force.high or force.value)
    )


def clamps_give(job: Job) -> tuple[Finding, ...]:
    """Where a hand brings a part of the job's own clamps to its end; what is only good to know left out."""
    shop, stock = job.shop, job.stock
    own = stated_places(shop.plate, stock, shop.clamps, job.clamps)
    work = (stock.thinnest, stock.thickest)
    found: list[Finding] = []
    for kind in dict.fromkeys(one.kind for one in own):
        choice = choose_bolt(_stack(job, kind), work, kind.bolt_lengths)
        mine = [one for one in own if one.kind == kind]
        found.extend(chain_findings(_strain(job, material(stock.material), mine, choice)))
    return tuple(one for one in found if one.level is not Level.NOTE)


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
        yield too_weak(push, held, wood)
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


def too_weak(push: Push, held: Held, wood: Material) -> Finding:
    """Clamps that stand less than is wanted at their weakest point."""
    allowed = held.stands / push.wanted(wood) * push.force
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
