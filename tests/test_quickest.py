"""Which cutter goes round the parts, and how low the cutter goes across: minutes saved at no one's risk."""

from pathlib import Path

import numpy as np
import pytest
from shapely import LineString

from proveout.draft import ASIDE, LOW
from proveout.job.read import read_job
from proveout.job.records import Job
from proveout.motion import RAPID
from proveout.motion_time import TOOL_CHANGE
from proveout.plan import plan
from proveout.proof.prove import prove

EXAMPLES = Path(__file__).parents[1] / "examples"


def clamp_kit() -> Job:
    """The example that names no cutter."""
    return read_job(EXAMPLES / "clamp-kit" / "job.toml")


def cutters_of(job: Job) -> set[int]:
    """The cutters that a planned job's programs use."""
    return {number for program in plan(job).programs[1:] for number in program.cutters}


def test_a_change_of_cutter_that_costs_more_than_it_saves_is_spared() -> None:
    """Few outlines: the 3 mm cutter goes round them too."""
    job = clamp_kit()
    assert cutters_of(job) == {1}
    (figure,) = [one for one in plan(job).figures if one.name == "outlines.time saved"]
    assert 0 < figure.value < TOOL_CHANGE


def test_a_change_of_cutter_that_pays_is_made() -> None:
    """Where a change takes no time to speak of, the larger cutter goes round the outlines."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("proveout.quickest.TOOL_CHANGE", 1.0)
        assert cutters_of(clamp_kit()) == {1, 2}


def test_a_cutter_that_the_job_names_is_kept() -> None:
    """The inch example names its cutter for everything; nothing else is tried."""
    job = read_job(EXAMPLES / "inch-knobs" / "job.toml")
    assert cutters_of(job) == {1}
    assert not [one for one in plan(job).figures if one.name == "outlines.time saved"]


def test_low_ways_across_keep_away_from_whatever_stands_higher() -> None:
    """Every rapid across below the safe height is over the sheet, at least 5 mm over its thickest place, and
    beside each clamp by what turns there and 5 mm more."""
    job = clamp_kit()
    planned = plan(job)
    verdict = prove(planned.programs, planned.setup)
    spindle, top = job.shop.machine.spindle, job.stock.thickest
    low = 0
    for program in verdict.programs[1:]:
        motion = program.motion
        across = (motion.kind == RAPID) & (np.abs(motion.end[:, :2] - motion.start[:, :2]).max(axis=1) > 0.01)
        for row in np.flatnonzero(across & (motion.end[:, 2] < top + LOW + 1)).tolist():
            cutter = next(one for one in job.shop.cutters if one.number == motion.cutter[row])
            z = float(motion.end[row, 2])
            assert z >= top + LOW - 0.01
            way = LineString([motion.start[row, :2], motion.end[row, :2]])
            low += 1
            for clamp in planned.setup.clamps:
                for solid in (clamp.bar, *clamp.bolt):
                    if solid.top > z:
                        assert solid.footprint.distance(way) >= cutter.radius + ASIDE - 0.01
                    if solid.top > z + cutter.stick_out:
                        assert solid.footprint.distance(way) >= spindle.nut_diameter / 2 + ASIDE - 0.01
    assert low > 10
