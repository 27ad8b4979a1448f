"""A proved job as the page needs it: all that is shown, in data that go from one process to another."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from proveout.figure import Figure
from proveout.finding import Finding
from proveout.quantity import System

if TYPE_CHECKING:
    from proveout.pack.made import Made


@dataclass(frozen=True, slots=True, kw_only=True)
class ProgramShown:
    """One program."""

    file: str
    text: str
    cutter: str  # "1: 3 mm two-flute"; "" with the spindle off
    seconds: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Proved:
    """What a proof has said of the texts of one moment."""

    ready: bool
    verdict: str  # "READY, 2 cautions"
    seconds: float
    likely: str  # what the shop book makes of the minutes; "" where it has none
    units: System  # in which its sentences are written
    findings: tuple[tuple[int, Finding], ...]  # numbered as on the picture
    figures: tuple[Figure, ...]
    programs: tuple[ProgramShown, ...]
    notes: tuple[str, ...]
    watch: tuple[tuple[str, str], ...]  # at the machine: what to do, what to watch for
    plan: Mapping[str, object]  # the picture's data
    scene: bytes
    pack: Mapping[str, bytes]


def proved_of(made: "Made", text: str) -> Proved:
    """Everything that the page shows of a made job, its pack included.

    Args:
        text: of the job file that it was made from
    """
    from proveout.card.plan_data import plan_data
    from proveout.card.scene import scene
    from proveout.pack.operations import operations
    from proveout.pack.pack import pack_files
    from proveout.pack.plan_picture import numbered
    from proveout.reckon import hold
    from proveout.ways import ways_out

    took = {one.file: one.minutes.total * 60 for one in made.verdict.programs}
    names = {cutter.number: cutter.name for cutter in made.setup.cutters}
    return Proved(
        ready=made.ready,
        verdict=made.verdict_words,
        seconds=made.verdict.minutes.total * 60,
        likely=made.likely_words,
        units=made.job.units,
        findings=tuple(numbered(ways_out(made, text))),
        figures=made.figures,
        programs=tuple(
            ProgramShown(
                file=one.file,
                text=one.text,
                cutter=", ".join(f"{number}: {names[number]}" for number in one.cutters),
                seconds=took.get(one.file, 0.0),
            )
            for one in made.programs
        ),
        notes=made.verdict.notes,
        watch=tuple((step.do, step.watch) for step in operations(made)),
        plan=plan_data(made.job, made.placed, hold(made.job), tabs=made.setup.tabs, findings=made.findings),
        scene=scene(made),
        pack=pack_files(made),
    )
