"""The parts in use, in words: which bolts they take for what they clamp."""

from collections.abc import Iterator

from proveout.hold.use_bolts import UseBolt, UseBolts, use_bolts
from proveout.job.records import Job, KnobWanted, StrapWanted
from proveout.pack.made import Made
from proveout.pack.sizes import sized, sold_length, span
from proveout.quantity import show_length


def use_steps(made: Made) -> Iterator[str]:
    """The bolts of each knob and strap, and how one sees that they are right."""
    stated = {one.part: one for one in use_bolts(made.job, made.figures)}
    for wanted in made.job.wanted:
        if wanted.name in stated:
            yield from _stated(made.job, stated[wanted.name])
        elif isinstance(wanted.pattern, KnobWanted | StrapWanted):
            yield (
                f"{wanted.name}: its bolt's length depends on what it clamps. Write grips = "
                f"{_example(made.job)} in the job, thinnest and thickest, and it is said here."
            )
    if any(isinstance(wanted.pattern, StrapWanted) for wanted in made.job.wanted):
        yield "See that the bolt slides along the whole slot."
    if any(one.use.into == "insert" for one in stated.values()):
        yield (
            "Count the turns into the insert by hand: it must go in by its diameter, and must not bottom. A "
            "bolt that bottoms feels tight and clamps nothing."
        )


def _example(job: Job) -> str:
    return '["6 mm", "25 mm"]' if job.units == "mm" else '["1/4 in", "1 in"]'


def _stated(job: Job, found: UseBolts) -> Iterator[str]:
    if not found.bolts:
        clamped = span(found.use.least, found.use.greatest, job.units)
        yield (
            f"{found.part}: no {sized(found.bolt)} bolts of standard lengths span {clamped}. State a smaller "
            "range, or cut threaded rod."
        )
        return
    for bolt in found.bolts:
        yield f"{found.part}: {_bolt(job, found, bolt)}"
    if len(found.bolts) > 1:
        yield f"{found.part}: no single length spans it all: choose for each by the work."


def _bolt(job: Job, found: UseBolts, bolt: UseBolt) -> str:
    length = sold_length(found.bolt, bolt.length)
    clamped = span(bolt.least, bolt.greatest, job.units)
    end = "in the plate's insert" if found.use.into == "insert" else "with a nut"
    along = ", threaded all along," if bolt.all_thread else ""
    said = f"{sized(found.bolt)} x {length}{along} and a washer for {clamped} of work, {end}."
    if bolt.two_washers_below is not None:
        said += f" Below {show_length(bolt.two_washers_below, job.units)} add a second washer, or it bottoms."
    if bolt.stands_out > 0:
        said += f" It stands out up to {show_length(bolt.stands_out, job.units)} beyond the nut."
    return said
