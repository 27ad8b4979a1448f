"""The road, end to end: a job in, a made job out. This file alone knows the order of the stages."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from shapely import box

from proveout.choosing import Chosen
from proveout.curve import polygon
from proveout.cutting.eased import AS_CHOSEN, Eased, eased_by
from proveout.cutting.limits import Allowed
from proveout.draft import LOW, Say, draft
from proveout.drawing.intend import intent
from proveout.figure import Figure
from proveout.finding import Finding, InputError, Level, Place, is_ready
from proveout.fit.shaped import CLEARED
from proveout.job.grid import holes_of
from proveout.job.records import Job
from proveout.motion_time import Minutes
from proveout.pack.made import LIKELY_MINUTES, Made
from proveout.parts.part import PlacedPart, lies
from proveout.paths.order import TraceOrder
from proveout.paths.trace import Traced, outline_check, trace
from proveout.program.alike import likest
from proveout.program.text import Program
from proveout.program.write import Heading, WriteError, write_outline_check, write_programs
from proveout.proof.grouped import flat
from proveout.proof.prove import prove
from proveout.proof.verdict import Verdict
from proveout.quantity import show_length
from proveout.reckon import Held, hold
from proveout.setup import (
    Block,
    Hole,
    IntendedFeature,
    IntendedPart,
    Reach,
    Setup,
)

CHECK_FEED: Final = 20.0  # mm/s, of the outline check: slow enough to stop in time; our own choice
ROUNDS: Final = 3  # of remedies


@dataclass(frozen=True, slots=True, kw_only=True)
class Planned:
    """A job planned as far as its programs; not proved yet."""

    setup: Setup
    placed: tuple[PlacedPart, ...]
    programs: tuple[Program, ...]
    findings: tuple[Finding, ...]
    figures: tuple[Figure, ...]
    values: Chosen


def make(job: Job, *, say: Say = lambda stage: None) -> Made:
    """The whole road: plan, write, prove; and again with the remedies that only make the cutting gentler.

    Raises:
        InputError: parts that can't be made or don't fit on the sheet
    """
    latest, eased = _made(job, AS_CHOSEN, say), AS_CHOSEN
    best, at = latest, eased
    for _ in range(ROUNDS):
        wanted = eased_by(eased, [one.change for one in flat(latest.verdict.findings) if one.change])
        if wanted == eased:
            break
        say("applying remedies")
        # A remedy may only move the trouble to another cutter, whose own remedy then ends it.
        latest, eased = _made(job, wanted, say), wanted
        if _is_better(latest, best):
            best, at = latest, eased
    return replace(best, findings=(*best.findings, *_applied(job, at)))


def _is_better(one: Made, other: Made) -> bool:
    """Whether a gentler plan is worth having: fewer stops, or no more of them and fewer cautions."""

    def weights(made: Made) -> tuple[int, int]:
        levels = [finding.level for finding in flat(made.findings)]
        return levels.count(Level.STOP), levels.count(Level.CAUTION)

    return weights(one) < weights(other)


def _applied(job: Job, eased: Eased) -> list[Finding]:
    """What was made gentler than chosen at first, said aloud."""
    names = {cutter.number: cutter.name for cutter in job.shop.cutters}
    said = [
        f"{names[number]} cuts {share:.0%} as deep at a time as was chosen first"
        for number, share in eased.depth.items()
        if share < 1
    ]
    if eased.bridges > 1:
        said.append(f"bridges are {eased.bridges:.1f} times as wide as was chosen first")
    return [
        Finding(
            level=Level.NOTE,
            kind="remedy-applied",
            text=f"{text}, because the first plan's proof asked for it; this plan was proved anew.",
        )
        for text in said
    ]


def _made(job: Job, eased: Eased, say: Say) -> Made:
    planned = plan(job, eased=eased, say=say)
    verdict = prove(planned.programs, planned.setup, progress=say)
    findings = (*verdict.findings, *planned.findings)
    return Made(
        job=job,
        setup=planned.setup,
        placed=planned.placed,
        programs=planned.programs,
        verdict=replace(verdict, ready=is_ready(findings)),
        findings=findings,
        figures=(*planned.figures, *minutes_figures(job, verdict.minutes)),
    )


def minutes_figures(job: Job, minutes: Minutes) -> tuple[Figure, ...]:
    """The minutes as the motion model has them, and as the shop book corrects them where it can."""
    modelled, learned = minutes_figure(minutes), job.learned_minutes
    if learned is None:
        return (modelled,)
    corrected = Figure(
        name=LIKELY_MINUTES,
        value=modelled.value * learned.times,
        unit="s",
        rule=f"The modelled minutes x {learned.times:.2f}, as this shop's jobs have taken; 19 of 20 jobs lie "
        "in the range.",
        source=f"shop book: {learned.jobs} job{'s' if learned.jobs > 1 else ''}",
        inputs=(modelled,),
        low=modelled.value * learned.low,
        high=modelled.value * learned.high,
    )
    return modelled, corrected


def minutes_figure(minutes: Minutes) -> Figure:
    """How long the job takes on the machine, and what of it is cutting."""
    rule = "speed planned ahead within the machine's feeds, accelerations and corner deviation, move by move"

    def part(name: str, value: float, said: str) -> Figure:
        return Figure(name=f"minutes.{name}", value=value * 60, unit="s", rule=said, source="motion model")

    return Figure(
        name="minutes",
        value=minutes.total * 60,
        unit="s",
        rule=rule,
        source="motion model; a change of cutter counts two minutes (common practice, no source)",
        inputs=(
            part("cutting", minutes.cutting, "moves that take material"),
            part("between cuts", minutes.air, "moves that take none, dwells, and the spindle's run-up"),
            part("cutter changes", minutes.tool_changes, "for each change of cutter"),
        ),
    )


def prove_texts(
    job: Job, texts: Sequence[tuple[str, str]], *, cutter: int | None = None, say: Say = lambda stage: None
) -> Verdict:
    """The verdict on programs (file name and text), whoever wrote them, against a job's setup.

    A program that says no cutter runs with the one the job's own program of that name uses, or with `cutter`.
    Where all have names of the job's own programs, those not given are run too, as planned: one program
    alone would be blamed for what the others cut.

    Raises:
        InputError: the setup has no cutter of that number
    """
    _refuse_unknown_cutter(job, cutter)
    setup, planned, notes = _bench(job, say)
    own = {program.file: program for program in planned}
    machine = job.shop.machine
    given = {
        file: Program(
            file=file,
            text=text,
            cutters=own[file].cutters if file in own else _told(cutter),
            dialect=machine.dialect,
            units=machine.units,
        )
        for file, text in texts
    }
    added = [file for file in own if file not in given] if given.keys() <= own.keys() else []
    programs = (*(given.get(file, own[file]) for file in own),) if added else tuple(given.values())
    verdict = prove(programs, setup, progress=say)
    notes += tuple(f"{file} was not given; it was run as planned." for file in added)
    renamed = {file: likest(program.text, planned) for file, program in given.items() if file not in own}
    hints = {file: _renamed_hint(file, program) for file, program in renamed.items() if program}
    return replace(
        verdict,
        findings=tuple(_hinted(finding, hints) for finding in verdict.findings),
        notes=(*notes, *hints.values(), *verdict.notes),
    )


def _refuse_unknown_cutter(job: Job, cutter: int | None) -> None:
    have = {one.number: one.name for one in job.shop.cutters}
    if cutter is not None and cutter not in have:
        known = ", ".join(f"{number} ({name})" for number, name in have.items()) or "none"
        raise InputError(f"--cutter {cutter}: the setup has no cutter of that number. It has: {known}.")


def _renamed_hint(file: str, program: Program) -> str:
    """How a program of the job's own that has another name is proved as what it is."""
    number = program.cutters[0] if program.cutters else None
    cutter = f" With its new name, add --cutter {number}." if number is not None else ""
    return (
        f"{file} reads like the job's own {program.file}. Give it under that name, and it runs among the "
        f"job's others.{cutter}"
    )


def _hinted(finding: Finding, hints: dict[str, str]) -> Finding:
    if finding.kind == "cutter-unknown" and finding.program in hints:
        return replace(finding, remedy=hints[finding.program])
    return finding


def _bench(job: Job, say: Say) -> tuple[Setup, tuple[Program, ...], tuple[str, ...]]:
    """The setup, the job's own programs where it wants parts, and what there is to say of the intent."""
    if job.wanted:
        planned = plan(job, say=say)
        return planned.setup, planned.programs, ()
    nothing = Traced(runs=(), tabs=(), findings=(), figures=())
    setup = setup_of(job, (), hold(job), nothing)
    if not job.intended:
        return setup, (), ("No parts were stated: what the programs make of the sheet is not judged.",)
    say("reading the drawings")
    wanted = intent(job)
    return replace(setup, parts=wanted.parts, tabs=wanted.tabs), (), wanted.notes


def _told(cutter: int | None) -> tuple[int, ...]:
    return () if cutter is None else (cutter,)


def plan(
    job: Job, *, eased: Eased = AS_CHOSEN, allowed: Allowed | None = None, say: Say = lambda stage: None
) -> Planned:
    """The road up to the programs.

    Args:
        eased: how much gentler than chosen at first
        allowed: how much of what cutters, gantry and clamps stand may be asked; None: the usual
    Raises:
        InputError: parts that can't be made or don't fit on the sheet
    """
    early = draft(job, eased=eased, allowed=allowed, say=say)
    say("tracing paths")
    order = replace(early.sheet.order, data=early.values.of)
    traced = trace(order, early.sheet.lying)
    say("writing programs")
    setup = setup_of(job, early.placed, early.reckoned.held, traced)
    try:
        programs = written(job, setup, order, traced)
    except WriteError as error:
        place = Place(file=job.shop.file, field="machine.line_limit")
        raise InputError(f"The programs can't be written for this controller: {error}.", place) from None
    return Planned(
        setup=setup,
        placed=early.placed,
        programs=programs,
        findings=(*early.findings, *traced.findings),
        values=early.values,
        figures=(*early.figures, *traced.figures, *early.strength.values()),
    )


def setup_of(job: Job, placed: Sequence[PlacedPart], held: Held, traced: Traced) -> Setup:
    """What the prover may know: the bench, the intent, and nothing of how the programs came to be."""
    stock, plate, machine = job.stock, job.shop.plate, job.shop.machine
    corner = tuple(-(a + b) for a, b in zip(plate.at, stock.at, strict=True))
    return Setup(
        name=job.name,
        stock=Block(
            size=stock.size,
            thinnest=stock.thinnest,
            mean=stock.mean,
            thickest=stock.thickest,
            material=stock.material,
        ),
        machine=machine,
        reach=Reach(
            low=(corner[0], corner[1], machine.tip_reach - machine.travel[2]),
            high=(corner[0] + machine.travel[0], corner[1] + machine.travel[1], machine.tip_reach),
        ),
        cutters=job.shop.cutters,
        clamps=held.clamps,
        grips=held.grips,
        stops=held.stops,
        inserts=held.inserts,
        plate=box(-stock.at[0], -stock.at[1], plate.size[0] - stock.at[0], plate.size[1] - stock.at[1]),
        bed_allowance=plate.cut_allowance,
        zero=zero_of(job),
        zero_error=(job.zero.error_across, job.zero.error_height),
        parts=tuple(intended(one) for one in placed),
        tabs=traced.tabs,
        holes=tuple(Hole(name, x - stock.at[0], y - stock.at[1]) for name, (x, y) in holes_of(plate)),
    )


def zero_of(job: Job) -> tuple[float, float, float]:
    """The program's zero in the internal frame."""
    width, depth = job.stock.size
    x, y = {
        "left front": (0.0, 0.0),
        "right front": (width, 0.0),
        "left back": (0.0, depth),
        "right back": (width, depth),
        "centre": (width / 2, depth / 2),
    }[job.zero.corner]
    return x, y, job.stock.thickest if job.zero.level == "top" else 0.0


def intended(placed: PlacedPart) -> IntendedPart:
    """A placed part as plain regions and floors."""
    part = lies(placed)
    return IntendedPart(
        name=part.name,
        sheet=placed.sheet,
        outline=polygon((part.outline,)),
        features=tuple(
            IntendedFeature(
                name=feature.name,
                intent=feature.intent,
                region=polygon(feature.curves),
                floor=feature.floor,
                through=feature.through,
                tolerance=feature.tolerance,
            )
            for feature in part.features
        ),
        tolerance=CLEARED,
    )


def written(job: Job, setup: Setup, order: TraceOrder, traced: Traced) -> tuple[Program, ...]:
    """The programs in order of running, the outline check first."""
    heading = heading_of(job, order.safe_z)
    machine = job.shop.machine
    check = outline_check(order, job.stock.size, order.safe_z, feed=min(CHECK_FEED, *machine.max_feed[:2]))
    return (
        write_outline_check(check, machine=machine, zero=setup.zero, heading=heading),
        *write_programs(
            traced.runs, machine=machine, cutters=job.shop.cutters, zero=setup.zero, heading=heading
        ),
    )


def heading_of(job: Job, safe_z: float) -> Heading:
    """What each program says of itself."""
    stock, units = job.stock, job.shop.machine.units
    corner = "middle" if job.zero.corner == "centre" else f"{job.zero.corner} corner"
    level = "on the stock's top" if job.zero.level == "top" else "on the bed"
    size = " x ".join(show_length(side, units) for side in stock.size)
    thick = f"{show_length(stock.thinnest, units)} to {show_length(stock.thickest, units)}"
    clamps = ", ".join(clamp.hole for clamp in job.clamps) or "none"
    return Heading(
        title=job.name,
        notes=(
            f"stock: {stock.material}, {size}, {thick} thick",
            f"clamps at holes: {clamps}",
            f"safe height {show_length(safe_z, units)} above the bed",
            f"between cuts away from clamps: {show_length(LOW, units)} over the stock",
            "Have a trained person check the setup before the spindle turns",
        ),
        zero_words=f"{corner} of the stock, {level}",
    )
