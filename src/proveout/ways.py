"""Ways out of findings: edits of the job file that are clearly right, each tried on the file beforehand.

After the fact, so that the prover need not know that there is a job file: what it says of a clamp is matched
with the clamps of the job.
"""

from collections.abc import Iterable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Final

from proveout.finding import Edit, Finding, InputError, Way
from proveout.holding_parts import for_parts
from proveout.job.read import read_job_text
from proveout.job.records import Job
from proveout.job.rewrite import rewritten
from proveout.layout.move_clamp import clamp_way
from proveout.pack.made import Made
from proveout.parts.part import PlacedPart

STRUCK: Final = ("clamp-struck", "bolt-struck")


def ways_out(made: Made, text: str) -> tuple[Finding, ...]:
    """The findings of a made job, those that have one with their ways out.

    Args:
        made: findings of the plan bring ways of their own
        text: of the job file that it was made from; a way that it doesn't take is left out
    """
    return with_ways(made.findings, made.job, made.placed, text)


def with_ways(
    findings: Sequence[Finding], job: Job, placed: Sequence[PlacedPart], text: str
) -> tuple[Finding, ...]:
    """The same for findings of a job that is not proved yet.

    Args:
        placed: its parts where they lie
        text: of its file
    """
    offered = [replace(one, ways=(*one.ways, *_ways(job, placed, one))) for one in findings]
    taken = _taken((way for one in offered for way in one.ways), text, job.file)
    return tuple(replace(one, ways=tuple(way for way in one.ways if way.edits in taken)) for one in offered)


def _ways(job: Job, placed: Sequence[PlacedPart], finding: Finding) -> tuple[Way, ...]:
    if finding.kind in STRUCK:
        return _move_struck(job, placed, finding)
    if finding.kind == "blank-not-held" and not job.clamps:
        return _clamped(job)
    return ()


def _move_struck(job: Job, placed: Sequence[PlacedPart], finding: Finding) -> tuple[Way, ...]:
    """The clamp that is struck to the nearest hole that is in no part's way."""
    name = finding.name
    number = next((k for k, one in enumerate(job.clamps) if name.endswith(f"clamp at {one.hole}")), None)
    return () if number is None else clamp_way(job, number, placed)


def _clamped(job: Job) -> tuple[Way, ...]:
    """The clamps that would hold, on a bed that has none."""
    found = for_parts(job).held
    if found is None or not found.enough:
        return ()
    edits = tuple(
        Edit(
            what="add",
            keys=("clamps",),
            value={"clamp": one.at.clamp, "hole": one.at.hole, "towards": one.at.towards},
        )
        for one in found.places
    )
    holes = ", ".join(one.at.hole for one in found.places)
    return (Way(says=f"Put clamps at {holes}", edits=edits),)


def _taken(ways: Iterable[Way], text: str, file: Path) -> list[Sequence[Edit]]:
    """The edits after which the file still reads without a fault."""
    tried: list[Sequence[Edit]] = []
    taken: list[Sequence[Edit]] = []
    for way in ways:
        if way.edits not in tried:
            tried.append(way.edits)
            if _reads(way, text, file):
                taken.append(way.edits)
    return taken


def _reads(way: Way, text: str, file: Path) -> bool:
    try:
        read_job_text(rewritten(text, way.edits, file=file), file)
    except InputError:
        return False
    return True
