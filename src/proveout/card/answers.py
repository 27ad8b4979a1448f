"""What the card answers in JSON: errors, refusals and edits in plain data."""

from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Final

from proveout.finding import Edit, Finding, InputError
from proveout.job.rewrite import edit_from

MOST_EDITS: Final = 500
DEEPEST: Final = 6
MOST_TEXT: Final = 10_000  # characters
MOST_ITEMS: Final = 1000
MOST_FIELDS: Final = 100


def error_record(error: InputError, job: Path | None = None, shop: Path | None = None) -> dict[str, object]:
    """An error with the file and field at which the page shows it; no file where it is of none of these."""
    place = error.place
    which = ""
    if place is not None:
        which = "job" if place.file == job else "shop" if place.file == shop else ""
    return {
        "file": which,
        "field": place.field if place else "",
        "line": place.line if place else None,
        "text": error.text,
    }


def error_records(errors: Iterable[InputError], job: Path, shop: Path | None) -> list[dict[str, object]]:
    """Several of them."""
    return [error_record(one, job, shop) for one in errors]


def finding_record(number: int, one: Finding) -> dict[str, object]:
    """A finding as the view of the proof shows it, under its number."""
    return {
        "number": number,
        "level": one.level.value,
        "text": one.text,
        "remedy": one.remedy,
        "program": one.program,
        "line": one.line,
        "at": one.at,
    }


def edits_of(given: object) -> list[Edit]:
    """Edits as a page has sent them.

    Raises:
        InputError: they are none, or beyond what a page asks for
    """
    if (
        isinstance(given, list)
        and 0 < len(given) <= MOST_EDITS
        and all(_is_plain(one, DEEPEST) for one in given)
    ):
        edits = [edit_from(one) for one in given]
        if all(len(edit.keys) <= DEEPEST for edit in edits):
            return edits
    raise InputError("The page asked for a change that the card does not understand. Load it anew.")


def _is_plain(value: object, deep: int) -> bool:
    """Whether it is what a TOML file can hold, and not too much of it."""
    match value:
        case None | bool():
            return True
        case int() | float():
            return abs(value) < 1e15
        case str():
            return len(value) <= MOST_TEXT and all(one.isprintable() or one in "\n\t" for one in value)
        case list():
            return deep > 0 and len(value) <= MOST_ITEMS and all(_is_plain(one, deep - 1) for one in value)
        case Mapping():
            return (
                deep > 0
                and len(value) <= MOST_FIELDS
                and all(_is_name(key) and _is_plain(one, deep - 1) for key, one in value.items())
            )
        case _:
            return False


def _is_name(key: object) -> bool:
    return isinstance(key, str) and 0 < len(key) <= 100 and key.isprintable()
