"""Loads in words: what each is called, how its plot is read, and what limits it, as a learner reads it."""

from typing import Final

from proveout.job.records import Cutter, Job
from proveout.proof.load_checks import HOLD_WANTED, POWER_SHARE, PUSH_OFF
from proveout.proof.load_shares import Load, Peak, hardest, measured, usual_chip
from proveout.proof.verdict import Loads, Verdict
from proveout.quantity import show, show_fine

TITLES: Final = {
    "force": "Sideways force",
    "power": "Spindle power",
    "push_off": "Push-off",
    "margin": "Hold-down",
    "chip": "Chip thickness",
}


def loads_of(job: Job, verdict: Verdict) -> tuple[Load, ...]:
    """The five loads of a verdict; none where nothing is known of the material or nothing is cut."""
    loads = verdict.loads
    if loads is None:
        return ()
    every = measured(loads, job.shop.machine, job.shop.cutters, job.stock.material)
    return every if any(load.shares.any() for load in every) else ()


def why_no_loads(job: Job, verdict: Verdict) -> str:
    """Why a verdict has no loads to show, in a sentence."""
    if verdict.loads is None:
        return (
            f'How hard the cuts are was not reckoned: nothing is known of how "{job.stock.material}" cuts. '
            "Name the nearest material of the shelf, and forces, power and hold-down are told too."
        )
    return "How hard the cuts are is not shown: these programs take nothing off the stock that was reckoned."


def how_to_read(name: str, job: Job) -> str:
    """How a load's plot is read, in a sentence."""
    return {
        "force": "How hard the wood pushes a sharp cutter sideways; a dull one is pushed twice as hard.",
        "power": "How much of the power that the spindle has at its speed the cut takes: up to "
        f"{100 * POWER_SHARE:.0f} % is sound, and at 100 % it stalls.",
        "push_off": "How far cutter and gantry give way under that push; the wall is off by as much, and "
        f"more than {show_fine(PUSH_OFF, job.units)} is felt in a fit.",
        "margin": "How many times over the clamps stand the push and pull of a dull cutter: the fewer, the "
        f"higher it stands; {HOLD_WANTED:g} times is wanted, and at 1 the sheet moves.",
        "chip": "The thickest chip that a tooth takes; in the grey band it is as usual for that cutter, far "
        "above it edges break, far below it the tooth rubs and burns the wood.",
    }[name]


def amount(load: Load, value: float, limit: float, job: Job) -> str:
    """A load as it is read: "7.6 N", "9 % of the spindle", "0.085 mm", "5.3 times"."""
    match load.name:
        case "force":
            return show(value, "N")
        case "power":
            return f"{100 * POWER_SHARE * value / limit:.0f} %"
        case "margin":
            return f"{times(value)} times"
        case _:
            return show_fine(value, job.units)


def times(value: float) -> str:
    """How many times: one decimal where it matters."""
    return f"{value:.1f}" if value < 10 else f"{value:.0f}"


def limit_words(load: Load, peak: Peak, job: Job, loads: Loads) -> str:
    """What limits a load at a place, and from where on."""
    cutter = _cutter(job, int(loads.motion.cutter[peak.row]))
    match load.name:
        case "force":
            return f"{cutter.name}: {show(peak.limit, 'N')}, so that a dull one does not bend too far"
        case "power":
            return (
                f"the spindle: {POWER_SHARE * 100:.0f} % of the {show(peak.limit / POWER_SHARE, 'W')} that "
                f"it has at {show(float(loads.motion.speed_rpm[peak.row]), 'rpm')}"
            )
        case "push_off":
            return f"the fit of the part: {show_fine(peak.limit, job.units)}"
        case "margin":
            return f"the clamps: {HOLD_WANTED:g} times is wanted"
        case _:
            low, high = (show_fine(end, job.units) for end in usual_chip(cutter, job.stock.material))
            return (
                f"the teeth of {cutter.name}: {low} to {high} is usual, {show_fine(peak.limit, job.units)} "
                "is too thick"
            )


def _cutter(job: Job, number: int) -> Cutter:
    return next(cutter for cutter in job.shop.cutters if cutter.number == number)


def hardest_lines(job: Job, verdict: Verdict) -> list[str]:
    """The hardest moment of some programs in two lines; none where nothing is known or cut."""
    every, loads = loads_of(job, verdict), verdict.loads
    worst = hardest(verdict, loads, every) if loads is not None and every else None
    if loads is None or worst is None:
        return []
    force, power, push_off, margin, _ = (
        amount(load, float(load.values[worst.row]), float(load.limits[worst.row]), job) for load in every
    )
    pushed = (
        f"{force} sideways" if loads.force[worst.row] > 0 else f"{show(loads.thrust[worst.row], 'N')} down"
    )
    held = f"; the hold stands a dull cutter there {margin}" if loads.margin[worst.row] < float("inf") else ""
    line = f"line {worst.line} of {worst.file}" if worst.line else worst.file
    return [
        f"hardest cut: {line}:",
        f"  {pushed}, {power} of the spindle, {push_off} of push-off{held}",
    ]
