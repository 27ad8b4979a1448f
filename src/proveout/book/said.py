"""An entry in words, as prompt and listing show it."""

from typing import Final

from proveout.book.entry import Entry
from proveout.quantity import System, show_length, show_time

# A digital caliper's smallest step, in a job's units; common practice, no source.
FINEST: Final[dict[System, str]] = {"mm": "0.01 mm", "in": "0.0005 in"}


def entry_words(entry: Entry, units: System) -> str:
    """What was read of what: "knob 1.head recess (recess): 9.87 mm, asked 9.73 mm"."""
    subject = entry.subject or entry.cutter or entry.material or entry.kind
    named = f"{subject} ({_of(entry)})" if _of(entry) else subject
    said = [*_read(entry, units)]
    if entry.fitted:
        with_what = f" with hardware of {show_length(entry.hardware, units)}" if entry.hardware else ""
        said.append(f"fitted {entry.fitted}{with_what}")
    return f"{named}: {', '.join(said)}" if said else f"{named}: withdrawn"


def _of(entry: Entry) -> str:
    along = f"along {entry.direction.upper()}" if entry.direction else ""
    return ", ".join(word for word in (entry.feature, along) if word)


def _read(entry: Entry, units: System) -> list[str]:
    if entry.found is None:
        return []
    if entry.kind == "minutes":
        reckoned = f", reckoned {show_time(entry.asked)}" if entry.asked else ""
        return [f"{show_time(entry.found)}{reckoned}"]
    asked = f", asked {caliper(entry.asked, units)}" if entry.asked is not None else ""
    return [f"{_as_read(entry.found, units)}{asked}"]


def _as_read(value: float, units: System) -> str:
    """The same, with the half thousandth that many inch calipers show."""
    if units == "mm":
        return caliper(value, units)
    return f"{value / 25.4:.4f}".removesuffix("0") + " in"


def caliper(value: float, units: System) -> str:
    """A length as a caliper shows it: hundredths of a millimetre, thousandths of an inch."""
    return f"{value / 25.4:.3f} in" if units == "in" else f"{value:.2f} mm"
