"""What an edit brings with it: a part that gets another name or count takes its places along."""

import re
import tomllib
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from proveout.finding import Edit
from proveout.job.rewrite import rewritten


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
        if count == 1:
            found.append(name)
        elif isinstance(count, int) and 1 < count <= 2000:
            found += [f"{name} {number}" for number in range(1, count + 1)]
    return found


def _parts(values: Mapping[str, Any]) -> list[dict[str, Any]]:
    parts = values.get("parts")
    return [one for one in parts if isinstance(one, dict)] if isinstance(parts, list) else []
