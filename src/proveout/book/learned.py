"""What the shop book has taught: offsets of cutters, and minutes, with the words in which they are told."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Law:
    """One of the normal laws that together foretell the next part."""

    share: float
    mean: float
    deviation: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Learned:
    """How one cutter's sizes come out in one material and one kind of feature, mm."""

    cutter: str  # "1: 3 mm two-flute up-cut"
    material: str
    feature: str  # "recess", "hole", "slot", "outline"
    laws: tuple[Law, ...]  # of what is cut, less what the program asks for
    words: str  # "offset -0.07 +/- 0.02 mm ..."
    source: str  # "shop book: 6 coupons, offset -0.07 +/- 0.02 mm"
    drift: str = ""  # what is to be told of a cutter whose sizes drift


@dataclass(frozen=True, slots=True, kw_only=True)
class LearnedMinutes:
    """What jobs take, times what was predicted; low and high hold 19 jobs in 20."""

    times: float
    low: float
    high: float
    jobs: int
