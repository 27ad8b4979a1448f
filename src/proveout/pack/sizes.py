"""Sizes of hardware and parts in words, as the sheet's blocks share them."""

from collections.abc import Iterable

from proveout.curve import polygon
from proveout.parts.part import Part
from proveout.quantity import System, show_length


def sized(name: str) -> str:
    """A size of hardware with its unit where its name doesn't say it: M6, 6 mm, 1/4 in."""
    if name.isdigit():
        return f"{name} mm"
    return f"{name} in" if "/" in name else name


def sold_length(bolt: str, length: float) -> str:
    """A bolt's length as it is sold: metric ones in mm, others in inches, whatever the job is read in."""
    return show_length(length, "mm" if bolt.upper().startswith("M") else "in")


def extent(part: Part) -> tuple[float, float]:
    """The longer and the shorter side of the box about a part, mm."""
    left, front, right, back = polygon((part.outline,)).bounds
    return max(right - left, back - front), min(right - left, back - front)


def span(low: float, high: float, units: System) -> str:
    """A range of lengths: 12 to 30 mm, or one length where its ends read alike."""
    ends = [show_length(one, units) for one in (low, high)]
    if ends[0] == ends[1]:
        return ends[0]
    return f"{ends[0].rpartition(' ')[0]} to {ends[1]}"


def listed(names: Iterable[str]) -> str:
    """Names in a sentence: a, b and c."""
    *some, last = names
    return f"{', '.join(some)} and {last}" if some else last


def some(count: int, what: str) -> str:
    """A count with its noun: 1 tab, 3 tabs."""
    return f"{count} {what}" if count == 1 else f"{count} {what}s"


def caliper(value: float, units: System) -> str:
    """A length as calipers show it: hundredths of a millimetre, or thousandths of an inch and both."""
    if units == "mm":
        return f"{value:.2f} mm"
    return f"{value / 25.4:.3f} in ({value:.2f} mm)"


def caliper_span(low: float, high: float, units: System) -> str:
    """A range of such lengths, or one where there is only one."""
    if low == high:
        return caliper(low, units)
    return f"{caliper(low, units)} to {caliper(high, units)}"
