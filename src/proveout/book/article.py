"""What of a pack can be measured once it is cut: the numbered rows of form, prompt and result.json."""

from dataclasses import dataclass
from typing import Final, Literal

What = Literal["across flats", "diameter", "width", "length", "over the lobes", "depth", "wood left under it"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Article:
    """One size of one kind of part, with all that a reading of it must say to be learned from."""

    number: int  # counted up from 1, in one pack
    part: str  # "knob"
    of: str  # "head recess", or "" for the part's own outline
    what: What
    feature: str  # "recess" (its flats), "hole", "slot", "outline", "depth"
    direction: str  # "x" or "y" on the machine; "" where it is all round, or the copies lie differently
    cutter: str  # "1: 3 mm two-flute up-cut"
    diameter: float | None  # of the cutter, that the program was made for
    material: str
    asked: float  # what the program cuts to
    within: float  # how far off it may be, either way
    low: float | None = None  # where what is wanted isn't `asked` give or take `within`
    high: float | None = None
    reads: float | None = None  # what a caliper is expected to read, where that isn't `asked`
    takes: str = ""  # hardware that goes in: "M6 hex head bolt"
    hardware: float | None = None  # its size where the job file states one

    @property
    def expected(self) -> float:
        """What a caliper should read."""
        return self.asked if self.reads is None else self.reads

    @property
    def words(self) -> str:
        """What it is, as a form says it: "knob: head recess, across flats"."""
        return f"{self.part}: {self.of}, {self.what}" if self.of else f"{self.part}: {self.what}"

    def subject(self, piece: int) -> str:
        """What a reading of that copy of the part is of: "knob 1.head recess", "strap 1.length"."""
        return f"{self.part} {piece}.{self.of or self.what}"


FITS: Final = ("across flats", "diameter", "width")  # sizes that hardware may be tried in
