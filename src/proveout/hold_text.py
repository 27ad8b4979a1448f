"""How a blank is held, in words and as JSON."""

import json
from collections.abc import Iterator
from typing import Any

from proveout.finding import Level
from proveout.hold.choose_clamps import Held
from proveout.hold.stack import Choice, Stack, held_range
from proveout.hold.tension import tension
from proveout.holding import Holding, place_text
from proveout.job.records import ClampKind
from proveout.means_text import lift_lines, lift_record, means_lines, means_record
from proveout.quantity import System, show_length
from proveout.shelf.tables import thread


def hold_text(found: Holding) -> str:
    """What a person reads, with clamps to copy into a job file."""
    return "\n".join(_lines(found))


def _lines(found: Holding) -> Iterator[str]:
    job, units = found.job, found.job.units
    size = " x ".join(show_length(side, units) for side in job.stock.size)
    thin, thick = (show_length(one, units) for one in (job.stock.thinnest, job.stock.thickest))
    yield f"{job.name}: {job.stock.material}, {size}, {thin} to {thick} thick"
    if found.push:
        yield (
            f"hardest push of the cutters on hand: {found.push.force:.0f} N, by {found.push.cutter.name} at "
            "its usual values, dull"
        )
    if found.stated:
        yield from _held(f"the job's own {'hold' if found.others else 'clamps'}", found.stated, units)
    if found.others:
        yield from means_lines(found.others, units)
    if found.lifts:
        yield from lift_lines(found.lifts, units)
    if found.chosen:
        yield from _held("chosen for the blank alone", found.chosen, units)
    for (kind, choice), stack in zip(found.bolts, found.stacks, strict=True):
        yield from _bolts(kind, choice, stack, units)
    for finding in sorted(found.findings, key=lambda one: one.level is not Level.STOP):
        yield f"  {finding.level.value}: {finding.text}"
        if finding.remedy:
            yield f"    do: {finding.remedy}"
    if found.chosen and not (found.stated and found.stated.enough):
        yield "for the job file:"
        for place in found.chosen.places:
            yield f"\n[[clamps]]\n{place_text(place)}"
    yield "\nEstimates of friction, hands and wood count at their unfavourable end. Tug at the blank before"
    yield "cutting. The maker's manual, local rules and a trained supervisor come first."


def _bolts(kind: ClampKind, choice: Choice, stack: Stack, units: System) -> Iterator[str]:
    """What a hand does to a clamp's bolt, which bolts reach, and what work those on hand hold."""
    pulled, size = tension(kind), thread(kind.bolt).size
    yield (
        f"{kind.name}: a hand turns its knob with {pulled.torque[0] / 1000:.1f} to "
        f"{pulled.torque[1] / 1000:.1f} N m, which pulls the bolt with {pulled.pull[0]:.0f} to "
        f"{pulled.pull[1]:.0f} N; the softest {size} bolts stand {pulled.proof:.0f} N"
    )
    for one in choice.on_hand:
        yield (
            f"  {size} x {show_length(one.length, units)} reaches: {show_length(one.least, units)} to "
            f"{show_length(one.most, units)} of it in the thread"
        )
    for length in sorted(set(kind.bolt_lengths)):
        held = held_range(stack, length)
        said = f"holds work of {show_length(held[0], units)} to {show_length(held[1], units)}" if held else ""
        yield f"  {size} x {show_length(length, units)} {said or 'holds no work in this stack'}"


def _held(what: str, held: Held, units: System) -> Iterator[str]:
    count = len(held.places)
    x, y = (show_length(one, units) for one in held.weakest)
    enough = "enough" if held.enough else "NOT enough"
    clamps = {0: "no clamps", 1: "1 clamp"}.get(count, f"{count} clamps")
    yield (f"{what}: {clamps}, {held.stands:.0f} N sideways at the weakest point ({x}, {y}): {enough}")
    for one in held.places:
        yield (
            f"  {one.at.clamp} at {one.at.hole}, nose to the {one.at.towards}, "
            f"{show_length(one.bite, units)} over the blank, {one.force:.0f} N at least"
        )


def hold_json(found: Holding) -> str:
    """The same for another program to read; mm and N."""
    return json.dumps(
        {
            "name": found.job.name,
            "push": found.push.force if found.push else None,
            "stated": _record(found.stated),
            "lifts": lift_record(found.lifts) if found.lifts else None,
            "others": means_record(found.others) if found.others else None,
            "chosen": _record(found.chosen),
            "bolts": [
                {
                    "clamp": kind.name,
                    "size": kind.bolt,
                    "lengths": [one.length for one in choice.on_hand],
                    "buy": choice.buy.length if choice.buy else None,
                }
                for kind, choice in found.bolts
            ],
            "findings": [
                {"level": one.level.value, "kind": one.kind, "text": one.text, "remedy": one.remedy}
                for one in found.findings
            ],
        },
        indent=2,
    )


def _record(held: Held | None) -> dict[str, Any] | None:
    if held is None:
        return None
    return {
        "stands": held.stands,
        "weakest": list(held.weakest),
        "enough": held.enough,
        "clamps": [
            {
                "clamp": one.at.clamp,
                "hole": one.at.hole,
                "towards": one.at.towards,
                "bite": one.bite,
                "force": one.force,
            }
            for one in held.places
        ],
    }
