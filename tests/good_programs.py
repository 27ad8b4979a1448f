"""Good programs by the hundred: jobs planned on many benches, and what the prover has against any of them.

`python tests/good_programs.py --jobs 200` varies the examples - the sheet's thickness and evenness, where the
zero is, the controller, units, cutters, clamps' room, counts of parts, ranges that are stated - makes each,
and prints every stop or caution that the prover has. There should be none: what was planned with room
everywhere must not be blamed.
"""

import argparse
import random
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path

from proveout.finding import Finding, InputError, Level
from proveout.job.read import read_job
from proveout.job.records import Job, Stock
from proveout.plan import make
from proveout.proof.grouped import flat

EXAMPLES = Path(__file__).parent.parent / "examples"


@dataclass(frozen=True)
class Tried:
    """One varied job and what its proof has against it; None where it could not be planned."""

    what: str
    against: tuple[Finding, ...] | None


def varied(job: Job, dice: random.Random) -> tuple[str, Job]:
    """The job on another bench that should do as well, and what was changed."""
    said: list[str] = []
    stock, machine = job.stock, job.shop.machine
    if dice.random() < 0.5:
        stock = _another_sheet(stock, dice)
        said.append(f"{min(stock.readings):.2f} to {max(stock.readings):.2f} mm thick")
    zero = job.zero
    if dice.random() < 0.6:
        zero = replace(
            zero,
            level=dice.choice(("top", "bed")),
            corner=dice.choice(("left front", "right front", "left back", "right back", "centre")),
        )
        said.append(f"zero {zero.corner}, {zero.level}")
    if dice.random() < 0.3:
        zero = replace(zero, error_across=dice.uniform(0.05, 0.3), error_height=dice.uniform(0.01, 0.04))
        said.append("zero not exact")
    machine = replace(
        machine,
        dialect=dice.choice(("plain", "full", "iso")),
        units=dice.choice(("mm", "in")),
        stiffness=machine.stiffness * dice.uniform(0.7, 2.0),
    )
    said.append(f"{machine.dialect} {machine.units}")
    cutters = tuple(
        replace(one, diameter=one.diameter + dice.uniform(-0.05, 0.05)) if dice.random() < 0.5 else one
        for one in job.shop.cutters
    )
    if dice.random() < 0.3:
        cutters = tuple(replace(one, diameter_error=0.01, runout=0.01) for one in cutters)
        said.append("cutters not exact")
    wanted = tuple(replace(one, count=dice.randint(1, one.count)) for one in job.wanted)
    shop = replace(job.shop, machine=machine, cutters=cutters)
    above = dice.uniform(2.5, 15.0)
    return ", ".join(said), replace(job, stock=stock, zero=zero, shop=shop, wanted=wanted, safe_above=above)


def _another_sheet(stock: Stock, dice: random.Random) -> Stock:
    by = dice.uniform(-0.02, 0.05) * stock.mean
    return replace(
        stock, readings=tuple(one + by + dice.uniform(-0.04, 0.04) for one in stock.readings), measured=True
    )


def tried(jobs: int, seed: int) -> Iterator[Tried]:
    """So many varied jobs, each made."""
    dice = random.Random(seed)
    examples = [read_job(EXAMPLES / name / "job.toml") for name in ("clamp-kit", "inch-knobs")]
    for number in range(jobs):
        what, job = varied(examples[number % len(examples)], dice)
        try:
            made = make(job)
        except InputError as error:
            yield Tried(f"{what}: {error}", None)
            continue
        against = tuple(one for one in flat(made.verdict.findings) if one.level is not Level.NOTE)
        yield Tried(f"{job.name}, {what}", against)


def main() -> None:
    """Print what the prover has against good programs."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("--jobs", type=int, default=200)
    parser.add_argument("--seed", type=int, default=1)
    chosen = parser.parse_args()
    planned = stops = cautions = 0
    for one in tried(chosen.jobs, chosen.seed):
        if one.against is None:
            print(f"not planned: {one.what}")
            continue
        planned += 1
        stops += any(finding.level is Level.STOP for finding in one.against)
        cautions += bool(one.against)
        for finding in one.against:
            print(f"{finding.level.value} {finding.kind} on {one.what}: {finding.text}")
    print(f"{planned} jobs planned and proved: {stops} with a stop, {cautions} with a stop or caution")


if __name__ == "__main__":
    main()
