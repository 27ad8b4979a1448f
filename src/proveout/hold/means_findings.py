"""What stops, dowels, tape, screws and a vacuum can't be relied on for, said in time."""

from collections.abc import Iterator
from typing import Final

from proveout.finding import Finding, Level
from proveout.hold.grips import SCREW_DEEP, screw_depth
from proveout.job.records import Job
from proveout.quantity import show_length
from proveout.shelf.materials import Material
from proveout.shelf.tables import material

LEAKS: Final = ("mdf", "softwood plywood")  # faces through which air is drawn; common practice, no source
SMALL: Final = 50_000.0  # mm2; a smaller sealed area holds little; common practice, no source


def means_findings(job: Job) -> tuple[Finding, ...]:
    """The cautions and notes of everything that holds a job's blank besides clamps."""
    wood = material(job.stock.material)
    return (*_of_stops(job), *_of_dowels(job), *_of_tape(job, wood), *_of_screws(job), *_of_vacuum(job, wood))


def _of_stops(job: Job) -> Iterator[Finding]:
    unsaid = [f"stop {number}" for number, one in enumerate(job.means.stops, 1) if one.stands is None]
    if unsaid:
        yield _finding(
            Level.CAUTION,
            f"How firmly {_listed(unsaid)} {'is' if len(unsaid) == 1 else 'are'} fixed was not stated: only "
            "what dents the blank's edge was counted.",
            "Push each with a spring scale as hard as the cutter may, and write stands under [[stops]]. Fix "
            "it with two screws or dowels.",
        )
    if job.means.stops:
        yield _finding(
            Level.NOTE,
            "A stop stands a push towards it and nothing else: a cutter pushes all ways in turn, and away "
            "from a stop only friction, tape, screws or dowels hold.",
            "Let the blank touch every stop before anything is tightened.",
        )


def _of_dowels(job: Job) -> Iterator[Finding]:
    if job.means.dowels:
        yield _finding(
            Level.NOTE,
            "A dowel that is loose in its hole lets the blank move by as much as it is loose, and it keeps "
            "nothing down.",
            "Take pins that must be pushed in by hand, and mind steel ones in the cutter's way.",
        )


def _of_tape(job: Job, wood: Material) -> Iterator[Finding]:
    if not job.means.tape:
        return
    yield _finding(
        Level.NOTE,
        "What tape holds is a wide estimate, counted at its low end. Dust, oil, rough or open grain and a "
        "cold shop take most of it away.",
        "Brush and wipe both faces, press the blank down all over, and pull at it before cutting.",
    )
    if wood.kind == "plastic":
        yield _finding(
            Level.CAUTION,
            f"Tape holds little on {wood.name}: few glues stick to it.",
            "Try the tape on a scrap first, or hold the blank another way.",
        )


def _of_screws(job: Job) -> Iterator[Finding]:
    least, full = SCREW_DEEP
    for number, screw in enumerate(job.means.screws, 1):
        depth = screw_depth(screw, job.stock)
        if depth < full * screw.diameter:
            counts = "not at all" if depth < least * screw.diameter else "in part"
            deep, wanted = (show_length(one, job.units) for one in (depth, full * screw.diameter))
            yield _finding(
                Level.CAUTION,
                f"Screw {number} goes {deep} into the plate; sideways it counts {counts} under {wanted}.",
                "Take a longer screw, if the plate is thick enough for it.",
            )
    if job.means.screws:
        yield _finding(
            Level.CAUTION,
            "Screws are steel in the sheet: a cutter that meets one breaks. The programs were kept clear of "
            "where they are stated to be.",
            "Drill for them where they are stated, within 1 mm, in waste only, and never where a plate's "
            "insert is.",
        )


def _of_vacuum(job: Job, wood: Material) -> Iterator[Finding]:
    vacuum = job.means.vacuum
    if vacuum is None:
        return
    if vacuum.pressure is None:
        yield _finding(
            Level.CAUTION,
            "How deep the vacuum is was not stated: 0.2 bar was counted, the least that is usual.",
            "Read the gauge with the blank lying on it, and write pressure under [vacuum].",
        )
    if wood.name in LEAKS:
        yield _finding(
            Level.CAUTION,
            f"Air is drawn through {wood.name}: the vacuum may be much less than the gauge shows.",
            "Seal its faces and edges, or count on half; pull at the blank before cutting.",
        )
    if vacuum.size[0] * vacuum.size[1] < SMALL:
        yield _finding(
            Level.CAUTION,
            "The sealed area is small: what a vacuum holds grows with its area.",
            "Add clamps, tape or screws.",
        )
    yield _finding(
        Level.NOTE,
        "A cut through the sheet over the vacuum lets air in: it counts under waste only, never under a part "
        "that is cut free. It is gone when the pump stops.",
        "Leave bridges at every part, and stop the spindle before the pump.",
    )


def _listed(names: list[str]) -> str:
    *some, last = names
    return f"{', '.join(some)} and {last}" if some else last


def _finding(level: Level, text: str, remedy: str) -> Finding:
    return Finding(level=level, kind="means-doubt", text=text, remedy=remedy)
