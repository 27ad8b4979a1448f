"""How a blank is held, in words and as JSON."""

import json
from collections.abc import Iterator
from typing import Any, Final

from proveout.finding import Level
from proveout.hold.chain import Link
from proveout.hold.choose_clamps import Held
from proveout.hold.gives import Reach, Strain, first_of, range_text
from proveout.hold.stack import Choice, Stack, held_range, held_together
from proveout.hold.tension import tension
from proveout.holding import ForParts, Holding, place_text
from proveout.job.records import ClampKind
from proveout.means_text import lift_lines, lift_record, means_lines, means_record
from proveout.quantity import System, show_length
from proveout.shelf.tables import thread

WHO: Final[dict[Reach, str]] = {
    "any hand": "any hand may reach that",
    "a hand at ease": "a hand at ease may, on a slippery thread",
    "a strong hand": "only a strong hand may, on a slippery thread",
    "no hand": "no hand pulls so hard",
}


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
    if found.for_parts:
        yield from _for_parts(found.for_parts, units)
    elif found.chosen:
        yield from _held("chosen for the blank alone", found.chosen, units)
    for (kind, choice), stack, strain in zip(found.bolts, found.stacks, found.strains, strict=True):
        yield from _bolts(kind, choice, stack, units)
        yield from _gives(strain)
    for finding in sorted(found.findings, key=lambda one: one.level is not Level.STOP):
        yield f"  {finding.level.value}: {finding.text}"
        if finding.remedy:
            yield f"    do: {finding.remedy}"
    yield from _to_copy(found)
    yield "\nEstimates of friction, hands and wood count at their unfavourable end. Tug at the blank before"
    yield "cutting. The maker's manual, local rules and a trained supervisor come first."


def _for_parts(parts: ForParts, units: System) -> Iterator[str]:
    """Clamps for the parts, and how hard these are cut."""
    if parts.push:
        yield (
            f"hardest push of the parts' cuts: {parts.push.force:.0f} N, by {parts.push.cutter.name}, dull; "
            "the blank is pushed where the cutters go"
        )
    if parts.held:
        yield from _held("chosen for the parts", parts.held, units)
        yield f"  {parts.how}"


def _to_copy(found: Holding) -> Iterator[str]:
    """Clamps for the job file, where there are none that hold."""
    proposed = found.for_parts.held if found.for_parts else found.chosen
    if proposed is None or (found.stated and found.stated.enough):
        return
    if found.for_parts and not proposed.enough:
        return
    then = "; proveout make then lays the parts out and proves it" if found.for_parts else ""
    yield f"for the job file{then}:"
    for place in proposed.places:
        yield f"\n[[clamps]]\n{place_text(place)}"


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

    yield from _together(kind, stack, units)


def _together(kind: ClampKind, stack: Stack, units: System) -> Iterator[str]:
    """What all the lengths on hand hold between them, where there are several."""
    lengths = set(kind.bolt_lengths)
    ranges = held_together(stack, tuple(lengths))
    if len(lengths) > 1 and ranges:
        said = " and ".join(
            f"{show_length(low, units)} to {show_length(high, units)}" for low, high in ranges
        )
        yield f"  these {len(lengths)} lengths between them hold work of {said}"


def _gives(strain: Strain) -> Iterator[str]:
    """What of the clamp gives first, and what it then presses with."""
    link, reach = first_of(strain)
    counted = f", counted as {link.assumed}," if link.assumed else ""
    yield f"  gives first: {link.what}{counted} from {range_text(link)} N of the bolt's pull on: {WHO[reach]}"
    low, high = strain.force
    if_it_holds = ", if that holds," if link.assumed else ""
    yield (
        f"  presses on the work with {low:.0f} N at least{if_it_holds} and with {high:.0f} N at most"
        + (", by a strong hand on a slippery thread" if high > low else ": then that gives")
    )


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
            "for_parts": _record(found.for_parts.held) if found.for_parts else None,
            "bolts": [
                {
                    "clamp": kind.name,
                    "size": kind.bolt,
                    "lengths": [one.length for one in choice.on_hand],
                    "buy": choice.buy.length if choice.buy else None,
                    "holds": [list(one) for one in held_together(stack, kind.bolt_lengths)],
                    "force": list(strain.force),
                    "gives_first": first_of(strain)[0].name,
                    "gives_to": first_of(strain)[1],
                    "chain": [_link(one) for one in strain.links],
                }
                for (kind, choice), stack, strain in zip(
                    found.bolts, found.stacks, found.strains, strict=True
                )
            ],
            "findings": [
                {"level": one.level.value, "kind": one.kind, "text": one.text, "remedy": one.remedy}
                for one in found.findings
            ],
        },
        indent=2,
    )


def _link(link: Link) -> dict[str, Any]:
    figure = link.gives
    return {
        "link": link.name,
        "low": figure.low,
        "high": figure.high,
        "breaks": link.breaks,
        "assumed": link.assumed or None,
        "rule": figure.rule,
        "source": figure.source,
    }


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
