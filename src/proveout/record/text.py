"""What `record` and `book` print."""

import json
from collections import Counter
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Final

from proveout.book.entry import Entry, Kept, Kind
from proveout.book.said import entry_words
from proveout.quantity import System
from proveout.record.bench import Recorded

SHOWN: Final = 30  # of the last entries

_NAMES: Final[dict[Kind, str]] = {
    "stock": "stock",
    "cutter": "cutters",
    "hardware": "hardware",
    "size": "sizes cut",
    "fit": "fits",
    "minutes": "minutes",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Listed:
    """All that a book has."""

    book: Path
    units: System
    begun: bool
    entries: tuple[Kept, ...] = ()
    learned: tuple[str, ...] = ()  # a line for each kind of cut


def recorded_text(recorded: Recorded, named: Path) -> str:
    """What was written, with the numbers by which it can be corrected."""
    if not recorded.ids:
        return recorded.why
    lines = [f"Written into {recorded.book}:"]
    lines += [
        f"  {number}  {entry_words(entry, recorded.units)}"
        for number, entry in zip(recorded.ids, recorded.entries, strict=True)
    ]
    lines += _hints(recorded)
    first = recorded.ids[0]
    if not recorded.entries[0].withdrawn:
        lines.append(
            f"A slip? proveout record {named} --correct {first} --found SIZE, or --withdraw {first}."
        )
    return "\n".join(lines)


# What a reading of the bench changes by itself is nothing: the files say what jobs are made for.
_HINTS: Final[dict[Kind, str]] = {
    "cutter": "Jobs take a cutter's diameter from the shop file: write it there too.",
    "hardware": "Jobs take hardware from the job file: write it there, as across_flats or dowel_diameter.",
    "stock": "Jobs take the stock's readings from the job file: write them there too, as thickness.",
}


def _hints(recorded: Recorded) -> list[str]:
    kinds = dict.fromkeys(entry.kind for entry in recorded.entries if not entry.withdrawn)
    return [_HINTS[kind] for kind in kinds if kind in _HINTS]


def recorded_json(recorded: Recorded) -> str:
    """The same for another program."""
    told = {
        "book": str(recorded.book),
        "written": [
            {"id": number, **_plain(entry)}
            for number, entry in zip(recorded.ids, recorded.entries, strict=True)
        ],
        "text": recorded.why,
    }
    return json.dumps(told, indent=2, ensure_ascii=False)


def listed_text(listed: Listed) -> str:
    """How much the book has of each kind, and its last entries with their numbers."""
    if not listed.begun:
        return (
            f"{listed.book}: nothing has been recorded yet. Cut a job, then: proveout record JOB "
            "(with --form FILE.csv it writes a form to fill in)."
        )
    by_id, standing = _standing(listed)
    counts = Counter(kept.entry.kind for kept in standing)
    of = ", ".join(f"{counts[kind]} of {name}" for kind, name in _NAMES.items() if counts[kind]) or "none"
    lines = [f"{listed.book}: {len(standing)} entries count ({of})."]
    silent = len(listed.entries) - len(standing)
    if silent:
        lines.append(f"{silent} more were corrected or withdrawn; they stay in the book and count no more.")
    if listed.learned:
        lines += ["What it has taught:", *(f"  {line}" for line in listed.learned), "What was recorded:"]
    lines += [_line(kept, by_id, listed.units) for kept in listed.entries[-SHOWN:]]
    if len(listed.entries) > SHOWN:
        lines.append(f"These are the last {SHOWN}; --csv FILE writes all {len(listed.entries)}.")
    lines.append("A slip? proveout record JOB --correct NUMBER --found SIZE, or --withdraw NUMBER.")
    return "\n".join(lines)


def listed_json(listed: Listed) -> str:
    """The same for another program, with every entry."""
    by_id, standing = _standing(listed)
    stands = {kept.id for kept in standing}
    told = {
        "book": str(listed.book),
        "begun": listed.begun,
        "learned": list(listed.learned),
        "entries": [
            {
                "id": kept.id,
                "recorded_at": kept.recorded_at.isoformat(),
                "counts": kept.id in stands,
                "replaced_by": by_id.get(kept.id),
                **_plain(kept.entry),
            }
            for kept in listed.entries
        ],
    }
    return json.dumps(told, indent=2, ensure_ascii=False)


def _standing(listed: Listed) -> tuple[dict[int, int], list[Kept]]:
    """By which entry each was replaced, and those that count."""
    by = {kept.entry.replaces: kept.id for kept in listed.entries if kept.entry.replaces is not None}
    return by, [kept for kept in listed.entries if kept.id not in by and not kept.entry.withdrawn]


def _line(kept: Kept, by_id: dict[int, int], units: System) -> str:
    entry = kept.entry
    marks = []
    if kept.id in by_id:
        marks.append(f"replaced by {by_id[kept.id]}")
    if entry.replaces is not None:
        marks.append(f"replaces {entry.replaces}")
    mark = f" [{', '.join(marks)}]" if marks else ""
    note = f' "{entry.note}"' if entry.note else ""
    return f"{kept.id:5d}  {entry.taken_on}  {entry.who}: {entry_words(entry, units)}{mark}{note}"


def _plain(entry: Entry) -> dict[str, object]:
    return asdict(entry) | {"taken_on": entry.taken_on.isoformat()}
