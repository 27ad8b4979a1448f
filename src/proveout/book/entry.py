"""One entry of the shop book: what was read, on what, by whom. mm, and s where it is a time."""

import math
from dataclasses import dataclass
from datetime import date, datetime
from typing import Final, Literal, get_args

Kind = Literal["stock", "cutter", "hardware", "size", "fit", "minutes"]
KINDS: Final[tuple[str, ...]] = get_args(Kind)

# How hardware went in, from the widest hole to the tightest; the fit classes among them keep their names.
FITTED: Final = ("too loose", "slides", "snug", "light press", "firm press", "too tight", "split")


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """A reading, or the correction of one."""

    kind: Kind
    taken_on: date
    who: str
    job: str = ""  # the job's name
    sitting: str = ""  # what was cut in one go: its readings share how the cutter sits
    subject: str = (
        ""  # "knob 1.head recess", "strap 1.length"; the name of a stock lot, a cutter or a kind of hardware
    )
    cutter: str = ""  # "1: 3 mm two-flute up-cut"
    diameter: float | None = None  # of the cutter, that the program was made for
    material: str = ""  # a name on the shelf
    feature: str = ""  # "recess" (its flats), "hole", "slot", "outline", "depth", or ""
    direction: str = ""  # "x", "y", or "": all round, or not said
    asked: float | None = None  # that the program was to cut to; minutes: s predicted
    found: float | None = None  # that was read; minutes: s taken; None with `replaces`: withdrawn
    hardware: float | None = None  # size of the hardware that was tried
    fitted: str = ""  # one of FITTED
    instrument: str = ""  # "caliper"
    resolution: float | None = None  # its smallest step
    note: str = ""
    replaces: int | None = None  # id of the entry that this one corrects

    def __post_init__(self) -> None:
        if self.kind not in KINDS:
            raise ValueError(f"unknown kind of entry: {self.kind}")
        if self.fitted and self.fitted not in FITTED:
            raise ValueError(f"unknown word for how it fitted: {self.fitted}")
        for number in (self.diameter, self.asked, self.found, self.hardware, self.resolution):
            if number is not None and not math.isfinite(number):
                raise ValueError("an entry's numbers must be finite")
        if self.found is None and not self.fitted and self.replaces is None:
            raise ValueError("an entry needs a reading, or a word on how something fitted")

    @property
    def withdrawn(self) -> bool:
        """Whether it only takes back the entry that it replaces."""
        return self.replaces is not None and self.found is None and not self.fitted


@dataclass(frozen=True, slots=True, kw_only=True)
class Kept:
    """An entry as it stands in the book."""

    id: int  # counted up from 1
    recorded_at: datetime  # UTC, to the second
    entry: Entry


@dataclass(frozen=True, slots=True, kw_only=True)
class Mean:
    """The sizes of one kind of cut together: what came out, less what was asked, mm."""

    cutter: str
    material: str
    feature: str
    diameter: float | None  # that their programs were made for
    count: int
    mean: float
    resolution: float  # of the instruments, their root mean square


def cutter_words(number: int, name: str) -> str:
    """A cutter as entries name it: its number in the shop file and its name."""
    return f"{number}: {name}"
