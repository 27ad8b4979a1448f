"""Judge: every check there is, each a small function, and the order in which their findings are told."""

from collections.abc import Callable, Iterable
from typing import Final

from proveout.finding import Finding, Level
from proveout.proof.bridges import bridges_too_weak
from proveout.proof.chips import chips_too_thick, chips_too_thin, plunges_too_fast
from proveout.proof.clearance import rapids_close_to_clamps, rapids_low_over_stock
from proveout.proof.ending import ends_badly
from proveout.proof.in_parts import screws_in_parts
from proveout.proof.limits import (
    bed_cut,
    beyond_travel,
    cuts_outside,
    cutters_unknown,
    feeds_too_fast,
    speeds_out_of_range,
)
from proveout.proof.load_checks import (
    blank_slips,
    cutters_overloaded,
    spindle_overloaded,
    walls_pushed_off,
)
from proveout.proof.loose import blank_not_held, loose_pieces
from proveout.proof.material import (
    cuts_too_deep,
    drills_sideways,
    material_left,
    rapids_in_material,
    spindle_off,
    steep_plunges,
)
from proveout.proof.removal import Removal
from proveout.proof.shank import beyond_flutes, shank_rubs
from proveout.proof.start import cuts_before_speed
from proveout.proof.still import stands_in_wood
from proveout.proof.struck import strike_findings
from proveout.proof.trial import Trial
from proveout.proof.verdict import Loads
from proveout.proof.walls import wall_findings
from proveout.proof.waste import frame_parted, stray_cuts
from proveout.proof.whole_job import check_with_spindle, cutter_unexpected, never_moves
from proveout.proof.zeros import zeros_differ

MotionCheck = Callable[[Trial], Iterable[Finding]]
MaterialCheck = Callable[[Trial, Removal], Iterable[Finding]]
LoadCheck = Callable[[Trial, Loads], Iterable[Finding]]

# Checks of the moves alone.
MOTION_CHECKS: Final[tuple[MotionCheck, ...]] = (
    cutters_unknown,
    beyond_travel,
    speeds_out_of_range,
    feeds_too_fast,
    bed_cut,
    cuts_outside,
    strike_findings,
    wall_findings,
    blank_not_held,
    screws_in_parts,
    zeros_differ,
    never_moves,
    check_with_spindle,
    ends_badly,
    rapids_close_to_clamps,
)

# Checks of what the moves did to the material.
MATERIAL_CHECKS: Final[tuple[MaterialCheck, ...]] = (
    spindle_off,
    cuts_before_speed,
    rapids_in_material,
    beyond_flutes,
    steep_plunges,
    drills_sideways,
    cuts_too_deep,
    material_left,
    loose_pieces,
    shank_rubs,
    chips_too_thick,
    chips_too_thin,
    plunges_too_fast,
    cutter_unexpected,
    stands_in_wood,
    rapids_low_over_stock,
    stray_cuts,
    frame_parted,
)


# Checks of what the moves ask of cutter, spindle, gantry and clamps.
LOAD_CHECKS: Final[tuple[LoadCheck, ...]] = (
    spindle_overloaded,
    cutters_overloaded,
    walls_pushed_off,
    blank_slips,
    bridges_too_weak,
)


def judge(run: Trial, removal: Removal, loads: Loads | None) -> list[Finding]:
    """Everything the checks have to say about some programs, unsorted.

    Args:
        loads: None where nothing is known of the stock's material
    """
    found = [finding for check in MOTION_CHECKS for finding in check(run)]
    found += [finding for material_check in MATERIAL_CHECKS for finding in material_check(run, removal)]
    if loads is not None:
        found += [finding for load_check in LOAD_CHECKS for finding in load_check(run, loads)]
    return found


def in_order(findings: Iterable[Finding], files: tuple[str, ...]) -> tuple[Finding, ...]:
    """By program in order of running, then line; what belongs to no program comes last."""
    number = {file: index for index, file in enumerate(files)}
    weight = {Level.STOP: 0, Level.CAUTION: 1, Level.NOTE: 2}

    def key(finding: Finding) -> tuple[int, int, int, str, str]:
        return (
            number.get(finding.program, len(files)),
            finding.line or 0,
            weight[finding.level],
            finding.kind,
            finding.text,
        )

    return tuple(sorted(findings, key=key))
