"""The operations at the machine, in the order of the work, each with what to write in and a box to sign.

Numbered in tens, as route cards are, so that a shop can write its own between them. Common
practice, no source.
"""

from collections.abc import Iterable, Iterator
from dataclasses import asdict, dataclass, replace
from typing import Final

from proveout.finding import Finding, Level
from proveout.job.records import Cutter, OtherMeans
from proveout.pack.made import Made
from proveout.pack.on_the_bed import cutters_in_order
from proveout.pack.plan_picture import numbered
from proveout.pack.sizes import caliper, caliper_span, listed
from proveout.program.text import Program
from proveout.quantity import System, show_length, show_time

STEP: Final = 10  # from one operation's number to the next
CORNERS: Final = ("left front", "right front", "right back", "left back")


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """A box to write a reading in, or to tick where nothing is read."""

    label: str
    asked: str = ""  # what it should read
    tick: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Operation:
    """One operation."""

    number: int = 0
    do: str
    watch: str = ""
    time: str = ""
    write: tuple[Entry, ...] = ()


def operations(made: Made) -> tuple[Operation, ...]:
    """What to do at the machine; nothing where the job isn't ready."""
    if not made.ready:
        return ()
    every = (*_accept(made.findings), *_set_up(made), *_programs(made))
    return tuple(replace(one, number=STEP * place) for place, one in enumerate(every, start=1))


def operation_rows(made: Made) -> list[dict[str, object]]:
    """The same as plain data."""
    return [asdict(one) for one in operations(made)]


def _accept(findings: Iterable[Finding]) -> Iterator[Operation]:
    """A caution is accepted by a person before anything else is done."""
    told = [str(number) for number, one in numbered(tuple(findings)) if one.level is Level.CAUTION]
    if not told:
        return
    which = f"caution No. {told[0]}" if len(told) == 1 else f"cautions No. {told[0]} to {told[-1]}"
    yield Operation(
        do=f"Read {which} under 'What the planner and the proof have to say'.",
        watch="Go on only if you accept what it says. Sign for it.",
    )


# The sheet, its hold, the first cutter, the zero


def _set_up(made: Made) -> Iterator[Operation]:
    yield _measure(made)
    yield _lay(made)
    if made.job.flaws:
        yield _flaws(made)
    if made.job.clamps:
        yield _clamp(made)
    yield from _hold_otherwise(made.job.means, made.job.units)
    first = next(iter(cutters_in_order(made)), None)
    if first is not None:
        yield Operation(
            do=f"Machine isolated: cutter {first.number} in the collet, nut tight.",
            write=_of_cutter(first, made.job.units),
        )
    yield _zero(made)
    yield Operation(do=f"Raise the cutter above everything on the bed{_travel(made)}.")


def _measure(made: Made) -> Operation:
    stock, units = made.job.stock, made.job.units
    band = caliper_span(stock.thinnest, stock.thickest, units)
    say = f"Calipers near each corner. This job holds for readings of {band}."
    if not stock.measured:
        say = (
            f"Nothing was measured: {caliper(stock.thickest, units)} was stated. "
            "Calipers near each corner, before anything else."
        )
    return Operation(
        do="Measure the sheet and fill in its thickness.",
        watch=f"{say} Any reading outside: stop, write all readings in the job file and make the job again.",
        write=tuple(Entry(label=corner) for corner in CORNERS),
    )


def _lay(made: Made) -> Operation:
    job, units = made.job, made.job.units
    right, back = (show_length(one, units) for one in job.stock.at)
    return Operation(
        do=f"Brush plate and sheet clean. Lay the sheet with its left edge {right} from the plate's left "
        f"edge and its front edge {back} from the plate's front edge.",
        watch="Set it by rule or square: clamps and inserts were proved for this place. Through cuts go "
        f"{show_length(job.through_allowance, units)} into the plate.",
        write=(Entry(label="from the left", asked=right), Entry(label="from the front", asked=back)),
    )


def _flaws(made: Made) -> Operation:
    units = made.job.units

    def spot(at: tuple[float, float]) -> str:
        return f"({show_length(at[0], units)}, {show_length(at[1], units)})"

    spots = ", ".join(f"{one.what} at {spot(one.at)}" for one in made.job.flaws)
    return Operation(
        do=f"See that the sheet lies the way round that its flaws were marked: {spots}.",
        watch="Counted from its left front corner; the plan shows them, and parts keep off them there alone.",
    )


def _clamp(made: Made) -> Operation:
    holes = [at.hole for at in made.job.clamps]
    which = "Clamp 1" if len(holes) == 1 else f"Clamps 1 to {len(holes)}"
    return Operation(
        do=f"{which} at {', '.join(holes)}: bolts as listed, noses over the sheet as drawn, heels level or "
        "a little higher, hand-tight.",
        watch="Pull at the sheet: it must not move.",
    )


def _of_cutter(cutter: Cutter, units: System) -> tuple[Entry, ...]:
    return (
        Entry(label="across", asked=show_length(cutter.diameter, units)),
        Entry(label="stick-out", asked=show_length(cutter.stick_out, units)),
    )


def _zero(made: Made) -> Operation:
    zero = made.job.zero
    corner = "the middle" if zero.corner == "centre" else f"the {zero.corner} corner"
    level = "the sheet's top" if zero.level == "top" else "the bed, beside the sheet"
    return Operation(
        do=f"Work zero: X and Y at {corner} of the sheet, Z on {level}.",
        watch="A cutter changed later needs its height set again.",
        write=tuple(Entry(label=f"{axis} set", tick=True) for axis in "XYZ"),
    )


def _travel(made: Made) -> str:
    """How high the programs travel, near clamps and away from them."""
    heights = {figure.name: show_length(figure.value, made.job.units) for figure in made.figures}
    safe, low = heights.get("safe height"), heights.get("height away from clamps")
    if safe is None:
        return ""
    lower = f", and {low} between cuts away from clamps: lay nothing on the sheet" if low else ""
    return f": the programs travel {safe} above the bed{lower}"


def _hold_otherwise(means: OtherMeans, units: System) -> Iterator[Operation]:
    """What holds the sheet besides clamps, in the order of the work; places from the sheet's corner."""

    def places(points: Iterable[tuple[float, float]]) -> str:
        return ", ".join(f"({', '.join(show_length(one, units) for one in point)})" for point in points)

    if means.tape:
        yield Operation(
            do=f"Tape under the sheet, its left front corners at {places(one.at for one in means.tape)}.",
            watch="Places count from the sheet's left front corner. Both faces brushed and wiped; press the "
            "sheet down all over, then pull at it.",
        )
    if means.stops or means.dowels:
        at = places([*(one.at for one in means.stops), *(one.at for one in means.dowels)])
        yield Operation(
            do=f"Stops and dowels at {at}, the sheet against every stop.", watch="No gap at any stop."
        )
    if means.screws:
        yield Operation(
            do=f"Screws at {places(one.at for one in means.screws)}, drilled for, in waste only.",
            watch="Within 1 mm of these places: a cutter that meets a screw breaks.",
        )
    if means.vacuum:
        yield Operation(
            do="Vacuum on: read the gauge.",
            watch="Stop if it falls. Stop the spindle before the pump.",
            write=(Entry(label="gauge reads"),),
        )


# The programs


def _programs(made: Made) -> Iterator[Operation]:
    kinds = {one.number: one for one in made.setup.cutters}
    fitted = next((program.cutters[0] for program in made.programs if program.cutters), None)
    for program in made.programs:
        if not program.cutters:
            yield _outline_check(made, program)
            continue
        number = program.cutters[0]
        if number != fitted and number in kinds:
            yield Operation(
                do=f"Machine isolated: change to cutter {number}, nut tight. Set it to the same height.",
                write=(*_of_cutter(kinds[number], made.job.units), Entry(label="Z set", tick=True)),
            )
        fitted = program.cutters[-1]
        yield _run(made, program)


def _outline_check(made: Made, program: Program) -> Operation:
    gap = show_length(made.job.safe_above, made.job.units)
    return Operation(
        do=f"Run {program.file}, spindle off, a hand at the emergency stop.",
        watch=f"It goes round the sheet, then round all cutting, {gap} above the highest clamp: see that "
        "the gap is there, and that no part will be cut under a clamp.",
        time=_time(made, program),
        write=(Entry(label="gap seen", asked=gap), Entry(label="clear all round", tick=True)),
    )


def _run(made: Made, program: Program) -> Operation:
    calls = ""
    if len(program.cutters) > 1:
        calls = f" It calls for cutters {listed(map(str, program.cutters))} in this order."
    return Operation(
        do=f"Extraction on, eyes and ears protected. Run {program.file}.{calls}",
        watch="Listen for chatter, look for smoke; stop if sheet or clamp moves.",
        time=_time(made, program),
    )


def _time(made: Made, program: Program) -> str:
    return next(
        (show_time(one.minutes.total * 60) for one in made.verdict.programs if one.file == program.file), ""
    )
