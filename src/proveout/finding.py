"""What goes wrong, in two shapes: a Finding about the work, and an InputError about a file."""

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from enum import Enum
from pathlib import Path
from typing import Final, Literal


class Level(Enum):
    """How much a finding matters."""

    STOP = "stop"  # do not cut
    CAUTION = "caution"  # cut only if you accept it
    NOTE = "note"


# Every kind of finding, and what it means; the docs are checked against this table.
KINDS: Final[dict[str, str]] = {
    "one-cause": "one wrong number that many of the other findings come from",
    # the program itself
    "program-word": "a word or line of the program that can't be read with certainty",
    "program-end": "a program without an end",
    "units-unstated": "a program that moves before it states its units",
    "cutter-unknown": "a program that calls for a cutter that the setup doesn't have",
    "spindle-off": "a cutting move while the spindle stands still",
    "spindle-not-up": "a cut that begins before the spindle can have reached its speed",
    "height-unsaid": "a way across before the program has said how high the cutter is",
    "speed-out-of-range": "a spindle speed that the spindle or the cutter can't run at",
    "feed-too-fast": "a feed above what the machine can do",
    "beyond-travel": "a move that leaves the machine's travel",
    "controller-lacks": "a word or a length of line that the stated machine's controller doesn't take",
    "zeros-differ": "programs of one job that work from different zeros, or move the zero",
    "never-moves": "a program without a single move",
    "check-with-spindle": "a check of the outline with the spindle turning",
    "cutter-unexpected": "a cut with another cutter than the job has for the program",
    "ends-low": "a program that ends with the cutter below the stock's top",
    "ends-turning": "a program that ends with the spindle turning",
    # the cutter and the material
    "rapid-hits-material": "a rapid move through standing material",
    "rapid-close": "a rapid that passes close over the stock, or close to a clamp",
    "spindle-switched-in-cut": "the spindle is switched while the cutter stands in the wood",
    "rests-in-cut": "a turning cutter waits in the wood, which burns",
    "waste-cut": "a cut in waste that serves no part",
    "cut-too-deep": "a cut below an intended floor or into a part",
    "wall-overcut": "a wall cut past its intended place",
    "wall-undercut": "a wall that stands proud of its intended place",
    "material-left": "material left standing where it should be gone",
    "beyond-flutes": "a cut deeper than the flutes are long",
    "shank-rubs": "the shank or the collet nut touches standing material",
    "plunge-not-centre-cutting": "a steep plunge with a cutter that doesn't cut at its centre",
    "chip-too-thick": "a feed that gives each tooth far more than is usual for the cutter and the material",
    "chip-too-thin": "a feed so slow that the edges rub and burn",
    "drill-sideways": "a drill goes aside through material",
    "plunge-too-fast": "a steep way down into material, faster than cutters are usually plunged",
    "spindle-overloaded": "a cut that asks more power than the spindle has at its speed",
    "cutter-overloaded": "a cut that bends the cutter so far that it may snap",
    "wall-push-off": "a cut under which cutter and gantry give way, so that its wall is off",
    "cut-outside-stock": "a cut outside the stock, where the cutter meets nothing or the plate",
    # what is around the work
    "clamp-struck": "a clamp is struck",
    "bolt-struck": "a clamp's bolt or knob is struck",
    "insert-struck": "a metal insert in the plate is struck",
    "stop-struck": "a stop, a dowel or a screw is struck",
    "bed-cut": "the bed is cut deeper than is allowed",
    # pieces
    "piece-touched": "a piece that has come loose is touched afterwards",
    "piece-loose": "a piece comes loose with nothing to hold it",
    "frame-parted": "the frame of waste is parted into pieces that are held apart",
    "blank-not-held": "nothing holds the blank",
    # the plan
    "as-drawn": "what was settled or rounded when a drawing became a part",
    "does-not-fit": "parts that can't be laid on the sheet",
    "part-under-clamp": "a part put where its cut would meet a clamp, a bolt, a stop or a screw",
    "part-off-sheet": "a part put where it leaves the sheet, or comes near the sheet's edge",
    "parts-too-close": "parts put so near each other that their cuts meet, or leave little wood between",
    "part-over-insert": "a part put where a cut right through would meet the metal of the plate's inserts",
    "part-on-flaw": "a part put over a flaw of the sheet",
    "no-cutter": "a feature that no cutter on hand can make",
    "head-does-not-seat": "a head or nut that can't seat in its recess",
    "wood-gives-first": "the wood gives before the bolt is tight",
    "floor-thin": "a floor that is too thin for its load",
    "fit-doubtful": "a fit that many of the parts may miss, too loose or too tight",
    "cutter-wears": "a cutter whose sizes drift from one sitting to the next, as the shop book has it",
    "fit-splits": "a pressed fit that may split the wood around it",
    "wall-thin": "a wall that is thin for a driven fit",
    "hold-margin": "the hold-down has less margin than is wanted",
    "stock-lifts": "thin stock that lifts or sags between its clamps by more than the cut can stand",
    "means-doubt": "something that stops, tape, screws or a vacuum can't be relied on for",
    "bolt-length": "no bolt on hand reaches its insert without bottoming in it",
    "bolt-overdrawn": "a strong hand may stretch a clamp's bolt",
    "clamp-gives": "a part of a clamp, or its insert, that a hand may break, strip, turn, dent or pull out",
    "work-dents": "a clamp's nose may dent the work",
    "tab-weak": "a tab that the cutting force could break",
    "stock-nominal": "a thickness that was stated, not measured",
    "tear-out": "edges of a face that a cutter's spiral may splinter",
    "stock-uneven": "thickness readings that differ more than the job can stand",
    "remedy-applied": "a remedy that the plan took over by itself, since it only makes the cutting gentler",
    "estimate": "a value that rests on an estimate",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """A remedy that a planner may apply by itself, since it only makes the cutting gentler."""

    what: Literal["depth of cut", "bridges"]
    times: float  # the depth of cut, or the bridges' width, by this much
    cutter: int = 0  # whose depth of cut


@dataclass(frozen=True, slots=True, kw_only=True)
class Edit:
    """One change of a job file: a field is set, a field or a table dropped, or a table added to a list.

    set: `keys` lead to a field, which may be absent; `value` is text, a number, a truth, a list or a dict
    drop: a field, a table, or an item of a list: ("clamps", 2), counted from 0
    add: `keys` name a list of tables, ("clamps",) or ("parts", 0, "rules"); `value` has the new one's fields
    """

    what: Literal["set", "drop", "add"]
    keys: tuple[str | int, ...]
    value: object = field(default=None, hash=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class Way:
    """A way out of a finding that needs no thought: what a button would say, and what it would change."""

    says: str  # "Let it be laid out again"
    edits: tuple[Edit, ...]  # of the job file


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """Something seen in the plan or the proof, with its place and what to do about it."""

    level: Level
    kind: str
    text: str  # one or two sentences in the shop's words, with numbers
    remedy: str = ""  # what to do, with a number
    program: str = ""  # file name
    line: int | None = None  # 1-based line of that file
    at: tuple[float, float, float] | None = None  # internal frame, mm
    name: str = ""  # what it happened to: "knob 3's head recess"
    amount: float | None = None  # mm by which; of findings with one cause, the largest is the worst
    change: Change | None = None  # the remedy, where a planner may apply it
    ways: tuple[Way, ...] = ()  # out of it, each by itself; for whoever has the job file at hand
    each: tuple["Finding", ...] = ()  # all of them in order, where several of one cause are told as one

    def __post_init__(self) -> None:
        if self.kind not in KINDS:
            raise ValueError(f"unknown kind of finding: {self.kind}")


def is_ready(findings: Iterable[Finding]) -> bool:
    """Whether nothing among the findings forbids cutting."""
    return not any(finding.level is Level.STOP for finding in findings)


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """Where in a file something stands."""

    file: Path
    line: int | None = None  # 1-based
    column: int | None = None  # 1-based
    field: str = ""  # dotted: "stock.thickness[2]"

    def __str__(self) -> str:
        spot = [str(self.file)]
        if self.line is not None:
            spot.append(str(self.line))
            if self.column is not None:
                spot.append(str(self.column))
        return ":".join(spot) + (f": {self.field}" if self.field else "")


class InputError(Exception):
    """Input that can't be used: where, what was read, what would be accepted."""

    def __init__(self, text: str, place: Place | None = None) -> None:
        super().__init__(text)
        self.text = text
        self.place = place

    def __str__(self) -> str:
        return f"{self.place}: {self.text}" if self.place else self.text

    def at(self, place: Place) -> "InputError":
        """The same error with its place filled in."""
        if self.place is None:
            return InputError(self.text, place)
        return InputError(self.text, replace(self.place, file=self.place.file or place.file))


class InputErrors(InputError):
    """Several input errors found in one reading, reported together."""

    def __init__(self, errors: Iterable[InputError]) -> None:
        self.errors = tuple(errors)
        super().__init__("\n".join(str(error) for error in self.errors))
