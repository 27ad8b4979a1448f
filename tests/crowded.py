"""The example made by hand, crowded: more clamps, cutters, findings and longer names than a page holds."""

import math
from dataclasses import replace

from shapely.affinity import translate

import made_example
from proveout.finding import Finding, Level, is_ready
from proveout.job.records import ClampAt
from proveout.motion_time import Minutes
from proveout.pack.made import Made
from proveout.proof.verdict import ProvedProgram
from proveout.quantity import System
from proveout.setup import Obstacle, PlacedClamp

LONG = "two-flute up-cut, uncoated, resharpened by the grinder in the next street"
UNBROKEN = "Donaudampfschifffahrtsgesellschaftskapitaenskajuetentuerklinkenverschraubung"


def crowded(*, units: System = "mm", stopped: bool = False, clamps: int = 12, cutters: int = 6) -> Made:
    """So many clamps round the sheet, so many cutters with a program each, thirty findings."""
    made = made_example.made(units=units)
    findings = _findings(stopped)
    made = _with_cutters(_with_clamps(made, clamps), cutters)
    verdict = replace(made.verdict, findings=findings, ready=is_ready(findings))
    return replace(made, findings=findings, verdict=verdict, job=replace(made.job, name=f"{UNBROKEN} {LONG}"))


def _with_clamps(made: Made, count: int) -> Made:
    """On the left and on the right in turn, of two kinds."""
    (kind,) = made.job.shop.clamps
    other = replace(kind, name=f"high strap {UNBROKEN}", bolt_lengths=(40.0, 45.0, 50.0, 60.0))
    holes = [f"{chr(65 + place)}{10 + place % 3}" for place in range(count)]
    at = tuple(
        ClampAt(clamp=(kind, other)[place % 2].name, hole=hole, towards=("right", "left")[place % 2])
        for place, hole in enumerate(holes)
    )
    placed = tuple(
        _moved(made.setup.clamps[place % 2], hole, 24.0 * (place // 2) - 50)
        for place, hole in enumerate(holes)
    )
    shop = replace(made.job.shop, clamps=(kind, other))
    return replace(
        made, job=replace(made.job, clamps=at, shop=shop), setup=replace(made.setup, clamps=placed)
    )


def _moved(clamp: PlacedClamp, hole: str, along_y: float) -> PlacedClamp:
    def moved(solid: Obstacle) -> Obstacle:
        return replace(solid, footprint=translate(solid.footprint, 0.0, along_y))

    return replace(
        clamp,
        hole=hole,
        name=f"clamp at {hole}",
        bar=moved(clamp.bar),
        bolt=tuple(map(moved, clamp.bolt)),
        pressing=translate(clamp.pressing, 0.0, along_y),
    )


def _with_cutters(made: Made, count: int) -> Made:
    first = made.setup.cutters[0]
    cutters = tuple(replace(first, number=one, name=f"{one} mm {LONG}") for one in range(1, count + 1))
    check, program, *_ = made.programs
    programs = (
        check,
        *(replace(program, file=f"{one}-{one}-mm-two-flute-up-cut-{'x' * 30}.nc", cutters=(one,))
          for one in range(1, count + 1)),
    )  # fmt: skip
    motion = made.verdict.programs[0].motion
    minutes = Minutes(total=math.tau, cutting=5.0, air=1.0, tool_changes=0.0)
    proved = tuple(ProvedProgram(file=one.file, motion=motion, minutes=minutes) for one in programs)
    return replace(
        made,
        programs=programs,
        setup=replace(made.setup, cutters=cutters),
        job=replace(made.job, shop=replace(made.job.shop, cutters=cutters)),
        verdict=replace(made.verdict, programs=proved),
    )


def _findings(stopped: bool) -> tuple[Finding, ...]:
    levels = ([Level.STOP] * 10 if stopped else []) + [Level.CAUTION] * 10
    levels += [Level.NOTE] * (30 - len(levels))
    return tuple(
        Finding(
            level=level,
            kind="estimate",
            text=f"Finding of {level.value} {place}: {UNBROKEN} lies where the {LONG} passes.",
            remedy=f"Move {UNBROKEN} by {place} mm, or take another cutter.",
            program="1-1-mm-two-flute-up-cut.nc",
            line=place + 1,
            at=(10.0 + 7 * place, 20.0, 5.0),
        )
        for place, level in enumerate(levels)
    )
