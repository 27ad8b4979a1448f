"""Clamps for parts that are laid out: put into the job file they hold, and nothing runs into them."""

import json
import shutil
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest

from proveout.cli import main
from proveout.hold.places import Place, places
from proveout.job.read import read_job
from proveout.job.records import Job
from proveout.layout.clear_places import clear_places
from proveout.parts.part import PlacedPart
from proveout.plan import laid_out
from proveout.reckon import hold, reckon
from proveout.shelf.tables import material

EXAMPLES = Path(__file__).parents[1] / "examples"
WITH_PARTS = ("clamp-kit", "inch-knobs", "drawn-bracket")
WOOD = material("birch plywood")


def bare(name: str = "clamp-kit") -> Job:
    """An example without its clamps."""
    return replace(read_job(EXAMPLES / name / "job.toml"), clamps=())


@cache
def laid(name: str) -> tuple[PlacedPart, ...]:
    job = bare(name)
    return laid_out(job, reckon(job).shaped, hold(job))


def clear(job: Job, placed: tuple[PlacedPart, ...]) -> tuple[Place, ...]:
    return clear_places(
        places(job.shop.plate, job.stock, job.shop.clamps),
        placed,
        job.shop.cutters,
        job.shop.machine.spindle,
        thickest=job.stock.thickest,
        lowest_tip=-job.through_allowance,
    )


def stop_block(length: float, width: float, blank: tuple[float, float]) -> Job:
    """One large block out of a blank on the clamp kit's bench."""
    text = (EXAMPLES / "clamp-kit" / "job.toml").read_text()
    assert "length = 60\nwidth = 32" in text
    given = bare()
    block = next(one for one in given.parts if one.name == "stop block")
    sized = replace(block, pattern=replace(block.pattern, length=length, width=width), count=1)
    return replace(given, parts=(sized,), stock=replace(given.stock, size=blank))


@pytest.mark.parametrize("name", WITH_PARTS)
def test_the_proposal_put_into_the_job_file_makes_the_job_ready(
    name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The whole way as a person goes it: no clamps, hold, copy, make: READY, and no end left to swing."""
    shutil.copytree(EXAMPLES / name, tmp_path / name)
    shutil.copytree(EXAMPLES / "clamp-kit", tmp_path / "clamp-kit", dirs_exist_ok=True)
    file = tmp_path / name / "job.toml"
    paragraphs = file.read_text().split("\n\n")
    text = "\n\n".join(one for one in paragraphs if "[[clamps]]" not in one)
    file.write_text(text)
    assert main(["make", str(file)]) == 1  # nothing holds the blank
    capsys.readouterr()
    assert main(["hold", str(file)]) == 0
    out = capsys.readouterr().out
    file.write_text(f"{text}\n{out[out.index('[[clamps]]') : out.index('Estimates')]}")
    assert main(["make", str(file), "--out", str(tmp_path / "pack"), "--json"]) == 0
    told = json.loads((tmp_path / "pack" / "result.json").read_text())
    assert told["verdict"] == "ready"
    assert not [one for one in told["findings"] if one["kind"] in ("hold-margin", "clamp-struck")]
