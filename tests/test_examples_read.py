"""The examples and the starter as a person at the bench finds them: they read, they fit, the clamps hold."""

import re
from fractions import Fraction
from itertools import combinations
from pathlib import Path

import pytest
from shapely import Polygon, box

from proveout.curve import polygon
from proveout.finding import InputError
from proveout.job.read import read_job
from proveout.job.records import Job, KnobWanted, StopWanted
from proveout.job.starter import NAMES, starter_files, write_starter
from proveout.parts.part import PlacedPart, lies
from proveout.plan import laid_out
from proveout.reckon import Reckoned, reckon

EXAMPLES = Path(__file__).parent.parent / "examples"
INCH = Fraction(254, 10)


@pytest.fixture(scope="module", params=["clamp-kit", "inch-knobs", "starter"])
def job(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Job:
    """Each of the jobs that come with the project."""
    if request.param == "starter":
        return read_job(write_starter(tmp_path_factory.mktemp("new"))[-1])
    return read_job(EXAMPLES / request.param / "job.toml")


@pytest.fixture(scope="module")
def reckoned(job: Job) -> Reckoned:
    """The job's parts and clamps, sized."""
    return reckon(job)


@pytest.fixture(scope="module")
def placed(job: Job, reckoned: Reckoned) -> tuple[PlacedPart, ...]:
    """The job's parts on its sheet."""
    return laid_out(job, reckoned.shaped, reckoned.held)
