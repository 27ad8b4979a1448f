"""What a job file says once it is edited: the edits done to its values, with no thought for its text."""

import math
import re
from collections.abc import Iterable
from copy import deepcopy
from typing import Any, Final

from proveout.finding import Edit
from proveout.job.lines import Keys, spelled
from proveout.quantity import seen

_PLAIN_NUMBER: Final = re.compile(r"-?(0|[1-9]\d{0,14})(\.\d{1,15})?")


class CannotEdit(ValueError):
    """An edit that doesn't fit the file: why, and what could be done instead."""


def applied(values: dict[str, Any], edits: Iterable[Edit]) -> dict[str, Any]:
    """The values of a file after the edits; those given stay as they are.

    Raises:
        CannotEdit: a field, table or list that isn't there, or another thing than the edit takes it for
    """
    after = deepcopy(values)
    for edit in edits:
        _DO[edit.what](after, edit)
    return after


def meant(value: object, old: object) -> object:
    """What an edit's value means: text that is a plain number stays a bare number where one stood before."""
    if isinstance(value, (list, tuple)):
        olds = old if isinstance(old, list) else []
        return [
            meant(item, olds[min(place, len(olds) - 1)] if olds else None) for place, item in enumerate(value)
        ]
    if isinstance(value, dict):
        olds_by_name = old if isinstance(old, dict) else {}
        return {str(name): meant(item, olds_by_name.get(name)) for name, item in value.items()}
    bare = isinstance(old, (int, float)) and not isinstance(old, bool)
    if bare and isinstance(value, str) and (plain := _PLAIN_NUMBER.fullmatch(value.strip())):
        return float(plain[0]) if plain[2] else int(plain[0])
    return value


def same(one: object, other: object) -> bool:
    """Whether two values are the same in a file: 1, 1.0 and true are three."""
    if isinstance(one, dict) and isinstance(other, dict):
        return one.keys() == other.keys() and all(same(one[key], other[key]) for key in one)
    if isinstance(one, list) and isinstance(other, list):
        return len(one) == len(other) and all(map(same, one, other))
    if isinstance(one, float) and isinstance(other, float):
        return one == other or (math.isnan(one) and math.isnan(other))
    return type(one) is type(other) and one == other


def at(values: object, keys: Keys) -> Any:
    """What stands at the end of a way.

    Raises:
        CannotEdit: the way ends before
    """
    for step, key in enumerate(keys):
        if not has(values, key):
            raise CannotEdit(f"there is no {spelled(keys[: step + 1])}")
        values = values[key]  # type: ignore[index]
    return values


def has(values: object, key: str | int) -> bool:
    """Whether a table has a field of that name, or a list an item of that number."""
    if isinstance(key, int):
        return isinstance(values, list) and 0 <= key < len(values)
    return isinstance(values, dict) and key in values


def _set(values: dict[str, Any], edit: Edit) -> None:
    table = _made(values, edit.keys[:-1])
    last = edit.keys[-1]
    if isinstance(last, int):
        at(values, edit.keys)
    elif not isinstance(table, dict):
        raise CannotEdit(f"{spelled(edit.keys[:-1])} is {seen(table)} and has no fields")
    table[last] = meant(edit.value, table[last] if has(table, last) else None)


def _made(values: dict[str, Any], keys: Keys) -> Any:
    """The table at the end of a way, made where it is absent."""
    table: Any = values
    for step, key in enumerate(keys):
        if isinstance(key, str) and isinstance(table, dict):
            table = table.setdefault(key, {})
        else:
            table = at(values, keys[: step + 1])
    return table


def _drop(values: dict[str, Any], edit: Edit) -> None:
    dropped, holder = at(values, edit.keys), at(values, edit.keys[:-1])
    if isinstance(dropped, dict) and isinstance(holder, list) and len(holder) == 1:
        _drop(values, Edit(what="drop", keys=edit.keys[:-1]))  # no empty list of tables is left behind
    else:
        del holder[edit.keys[-1]]


def _add(values: dict[str, Any], edit: Edit) -> None:
    if not isinstance(edit.value, dict):
        raise CannotEdit(f"{seen(edit.value)} can't be added to {spelled(edit.keys)}: a table's fields can")
    holder = _made(values, edit.keys[:-1])
    if not isinstance(holder, dict) or not isinstance(edit.keys[-1], str):
        raise CannotEdit(f"{spelled(edit.keys)} is not a list of tables")
    tables = holder.setdefault(edit.keys[-1], [])
    if not isinstance(tables, list) or not all(isinstance(one, dict) for one in tables):
        raise CannotEdit(f"{spelled(edit.keys)} is {seen(tables)} and not a list of tables")
    tables.append(meant(edit.value, None))


_DO: Final = {"set": _set, "drop": _drop, "add": _add}
