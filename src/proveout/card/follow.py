"""What an edit brings with it: a part's places when it gets another name, its fields when another pattern."""

import re
import tomllib
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from proveout.card.form import PATTERNS, template
from proveout.finding import Edit
from proveout.job.fields import MOST_COPIES, DrawnFields
from proveout.job.read_places import placed_name
from proveout.job.rewrite import rewritten
from proveout.job.table import fields_of


def widened(text: str, edits: Sequence[Edit]) -> list[Edit]:
    """Edits with what belongs to them: another pattern has other fields.

    A part that becomes another pattern keeps the fields that both have; those that the new one lacks are
    taken out, those that it must have get their examples, to be written over.
    """
    try:
        parts = _parts(tomllib.loads(text))
    except tomllib.TOMLDecodeError:
        return list(edits)
    return [one for edit in edits for one in _widened(parts, edit)]


def _widened(parts: Sequence[Mapping[str, Any]], edit: Edit) -> Iterator[Edit]:
    yield edit
    match edit:
        case Edit(what="set", keys=("parts", int(number), "pattern"), value=str(pattern)):
            if pattern not in PATTERNS or number >= len(parts):
                return
            part, table = parts[number], PATTERNS[pattern]
            known = {one.name for one in fields_of(table)} | ({"rules"} if table is DrawnFields else set())
            for name in part.keys() - known:
                yield Edit(what="drop", keys=("parts", number, name))
            for name, value in template(table).items():
                if name not in part:
                    yield Edit(what="set", keys=("parts", number, name), value=value)


def followed(before: str, after: str, edits: Sequence[Edit]) -> str:
    """The text after some edits, with the places of parts whose names they change renamed too.

    Places of copies that are no more are taken out: a person who wants four knobs instead of eight should
    not be refused for a place of the seventh.
    """
    if not any(edit.keys[:1] == ("parts",) for edit in edits):
        return after
    try:
        old, new = tomllib.loads(before), tomllib.loads(after)
    except tomllib.TOMLDecodeError:
        return after
    more = list(_moved(old, new))
    return rewritten(after, more) if more else after


def _moved(old: Mapping[str, Any], new: Mapping[str, Any]) -> Iterator[Edit]:
    places = new.get("places")
    if not isinstance(places, list):
        return
    names = _names(old, new)
    known = set(_copies(new))
    for number, place in reversed(list(enumerate(places))):
        part = place.get("part") if isinstance(place, dict) else None
        if not isinstance(part, str) or part in known:
            continue
        if names.get(part) in known:
            yield Edit(what="set", keys=("places", number, "part"), value=names[part])
        elif part in _copies(old):
            yield Edit(what="drop", keys=("places", number))


def _names(old: Mapping[str, Any], new: Mapping[str, Any]) -> dict[str, str]:
    """Old names of copies to new ones, where as many parts are wanted as before."""
    before, after = _parts(old), _parts(new)
    if len(before) != len(after):
        return {}
    found: dict[str, str] = {}
    for one, other in zip(before, after, strict=True):
        for name in _copies({"parts": [one]}):
            tail = re.search(r" \d+$", name[len(str(one.get("name"))) :])
            count = other.get("count")
            plain = str(other.get("name"))
            found[name] = plain if count == 1 else f"{plain}{tail[0] if tail else ' 1'}"
    return found


def _copies(values: Mapping[str, Any]) -> list[str]:
    found: list[str] = []
    for part in _parts(values):
        name, count = str(part.get("name")), part.get("count")
        if isinstance(count, int) and 0 < count <= MOST_COPIES:
            found += [placed_name(name, number, count) for number in range(1, count + 1)]
    return found


def _parts(values: Mapping[str, Any]) -> list[dict[str, Any]]:
    parts = values.get("parts")
    return [one for one in parts if isinstance(one, dict)] if isinstance(parts, list) else []
