"""What a job's parts take that is sized to hold: heads, nuts and dowels, a row for each kind of feature."""

from collections.abc import Iterator
from dataclasses import dataclass

from proveout.figure import Figure
from proveout.job.records import DrawnWanted, Hardware, KnobWanted, StopWanted, Wanted
from proveout.pack.made import Made
from proveout.pack.sizes import sized


@dataclass(frozen=True, slots=True, kw_only=True)
class Fitted:
    """A kind of feature that holds hardware."""

    part: str
    parts: int  # how many of them
    feature: str  # "head recess", as its figures are named
    each: int  # in one part
    hardware: Hardware
    fit: str

    @property
    def name(self) -> str:
        """What its figures' names begin with."""
        return f"{self.part}.{self.feature}"

    @property
    def what(self) -> str:
        """What goes in, as one would ask for it: "M6 hex head bolt"."""
        form = {"hex head": "hex head bolt", "hex nut": "hex nut", "dowel": "dowel"}[self.hardware.form]
        return f"{sized(self.hardware.size)} {form}"

    @property
    def count(self) -> int:
        """Pieces of hardware in all."""
        return self.parts * self.each


def fitted(made: Made) -> tuple[Fitted, ...]:
    """Every kind of feature that holds hardware, in the job's order."""
    return tuple(one for wanted in made.job.wanted for one in _of_part(made, wanted))


def _of_part(made: Made, wanted: Wanted) -> Iterator[Fitted]:
    match wanted.pattern:
        case KnobWanted() as knob:
            noun = "nut" if knob.hardware.form == "hex nut" else "head"
            yield _fitted(wanted, f"{noun} recess", 1, knob.hardware, knob.fit)
        case StopWanted() as stop:
            yield _fitted(wanted, "dowel hole", stop.holes, stop.hardware, stop.fit)
        case DrawnWanted() as drawn:
            yield from _of_drawn(made, wanted, drawn)
        case _:
            return


def _fitted(wanted: Wanted, feature: str, each: int, hardware: Hardware, fit: str) -> Fitted:
    return Fitted(
        part=wanted.name, parts=wanted.count, feature=feature, each=each, hardware=hardware, fit=fit
    )


def _of_drawn(made: Made, wanted: Wanted, drawn: DrawnWanted) -> Iterator[Fitted]:
    """A drawn part's rules with hardware; curves are counted by what their features say they are for."""
    part = next((one.part for one in made.placed if one.part.name == wanted.name), None)
    intents = [feature.intent for feature in part.features] if part else []
    seen: set[str] = set()
    for takes in (rule.takes for rule in drawn.rules):
        if takes is None or takes.hardware is None:
            continue
        hardware = takes.hardware
        held = "" if hardware.form == "dowel" else "captive "
        intent = f"{held}{hardware.size} {hardware.form}, {takes.fit}"
        if intent in intents and intent not in seen:
            seen.add(intent)
            noun = {"hex head": "head recess", "hex nut": "nut recess", "dowel": "dowel hole"}[hardware.form]
            feature = f"{sized(hardware.size)} {noun}"
            yield _fitted(wanted, feature, intents.count(intent), hardware, takes.fit)


def figure_of(made: Made, one: Fitted, last: str) -> Figure | None:
    """A figure of such a feature: "floor left", "press force" ...; None where there is none."""
    return next((figure for figure in made.figures if figure.name == f"{one.name}.{last}"), None)
