"""`python tests/practice.py`: the examples beside the same jobs cut with the constants of common practice.

Both are laid out alike, cut with the same cutters, timed by the same motion model and proved. The constants
are common practice for a two-flute 1/8 in cutter in quarter-inch plywood, no source: 0.050 to 0.065 in deep,
55 in/min, plunging at 10 in/min, 18,000 rpm, tabs of 0.30 x 0.09 in, and half an inch over all clamps between
cuts.
"""

from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

from proveout.choosing import Sheet, chosen
from proveout.cutting.data import CutKind, CuttingData
from proveout.cutting.eased import AS_CHOSEN
from proveout.cutting.limits import FINISH_PUSH_OFF, PUSH_OFF, Allowed
from proveout.draft import laid_out, trace_order
from proveout.finding import Level
from proveout.job.read import read_job
from proveout.job.records import Cutter, Job
from proveout.paths.lying import lying_outlines
from proveout.paths.tabs import TabsWanted
from proveout.paths.trace import trace
from proveout.plan import plan, setup_of, written
from proveout.program.text import Program
from proveout.proof.grouped import flat
from proveout.proof.load_checks import PUSH_OFF as LET
from proveout.proof.load_shares import hardest, measured
from proveout.proof.prove import prove
from proveout.proof.verdict import Verdict
from proveout.reckon import reckon
from proveout.setup import Setup

EXAMPLES: Final = Path(__file__).parents[1] / "examples"
INCH: Final = 25.4
MIDDLE: Final = 0.0575 * INCH  # of the depths that are usual
DEEP: Final = 0.065 * INCH  # their deep end


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """How a job comes out."""

    minutes: float
    hardest: float  # share of what cutter, spindle, gantry or clamps stand, wherever it is most
    stops: int
    cautions: int


def by_practice(job: Job, depth: float) -> Outcome:
    """A job cut with the usual constants at a depth of cut."""
    reckoned = reckon(job)
    held, bridges = reckoned.held, reckoned.bridges
    placed = laid_out(job, reckoned.shaped, held)
    cutters = {cutter.number: cutter for cutter in job.shop.cutters}
    tabs = TabsWanted(waist=0.30 * INCH, height=0.09 * INCH, spacing=100.0, least=3)
    order = replace(trace_order(job, placed, held, bridges), low_z=None, tabs=lambda part: tabs)
    lying = lying_outlines(order)
    drills = chosen(job, Sheet(order=order, lying=lying, held=held, bridges=bridges), AS_CHOSEN)

    def data(number: int, kind: CutKind) -> CuttingData:
        return drills.of(number, kind) if kind == "drill" else usual(cutters[number], kind, depth)

    order = replace(order, data=data)
    traced = trace(order, lying)
    setup = setup_of(job, placed, held, traced)
    return _proved(job, written(job, setup, order, traced), setup)


def usual(cutter: Cutter, kind: CutKind, depth: float) -> CuttingData:
    """The constants that are common practice, whatever the cutter."""
    feed = 55 * INCH / 60
    return CuttingData(
        cutter=cutter.number,
        depth_of_cut=depth,
        stepover=0.4 * cutter.diameter,
        feed=feed,
        plunge_feed=10 * INCH / 60,
        ramp_deg=3.0,
        speed_rpm=18_000.0,
        finish_allowance=0.2 if kind == "recess" else 0.0,
        finish_feed=feed,
        finish_depth=cutter.flute_length,
        limits=(),
        figures=(),
    )


def by_choice(job: Job, at_most: float = 1.0) -> Outcome:
    """A job cut as proveout chooses.

    Args:
        job: to be cut
        at_most: share of what the prover lets anything be asked; a tenth of a millimetre, of a wall
    """
    off = min(PUSH_OFF, at_most * LET)
    allowed = Allowed(push_off=off, finish_push_off=min(FINISH_PUSH_OFF, off), share=at_most)
    planned = plan(job, allowed=allowed)
    return _proved(job, planned.programs, planned.setup)


def _proved(job: Job, programs: tuple[Program, ...], setup: Setup) -> Outcome:
    verdict = prove(programs, setup)
    levels = [finding.level for finding in flat(verdict.findings)]
    return Outcome(
        minutes=verdict.minutes.total,
        hardest=_hardest(job, verdict),
        stops=levels.count(Level.STOP),
        cautions=levels.count(Level.CAUTION),
    )


def _hardest(job: Job, verdict: Verdict) -> float:
    assert verdict.loads is not None
    every = measured(verdict.loads, job.shop.machine, job.shop.cutters, job.stock.material)
    peak = hardest(verdict, verdict.loads, every)
    return peak.share if peak else 0.0


def main() -> None:
    """Print the table."""
    for name in ("clamp-kit", "inch-knobs", "drawn-bracket"):
        job = read_job(EXAMPLES / name / "job.toml")
        ours = by_choice(job)
        print(f"{name}: chosen {_said(ours)}")
        for what, depth in (("middle", MIDDLE), ("deep end", DEEP)):
            theirs = by_practice(job, depth)
            saved = 1 - ours.minutes / theirs.minutes
            print(f"  practice, {what}: {_said(theirs)}; chosen saves {saved:.0%}")
        if ours.hardest > theirs.hardest:
            gentle = by_choice(job, theirs.hardest)
            saved = 1 - gentle.minutes / theirs.minutes
            print(f"  chosen to ask no more than that: {_said(gentle)}; saves {saved:.0%}")


def _said(one: Outcome) -> str:
    return (
        f"{one.minutes:.2f} min, hardest load {one.hardest:.0%} of its limit, {one.stops} stops, "
        f"{one.cautions} cautions"
    )


if __name__ == "__main__":
    main()
