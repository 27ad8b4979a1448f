"""A job file edited as a careful person would: what an edit doesn't touch stays byte for byte as it was.

Comments, order, blank lines, line ends and a byte order mark all stay. Whatever is written is read again and
compared with what the edits make of the values; a text that says anything else is never handed out.
"""

from collections.abc import Iterable
from pathlib import Path
from typing import Any, Final

from proveout.finding import Edit, InputError, Place
from proveout.job.edited import CannotEdit, applied, same
from proveout.job.lines import nearest_spot, spelled
from proveout.job.source import Source, parse_source
from proveout.job.splice import Page

JOB_FILE: Final = Path("job file")
MARK: Final = "\ufeff"


def rewritten(text: str, edits: Iterable[Edit], *, file: Path = JOB_FILE) -> str:
    """The text of a TOML file with the edits done, one after another.

    Args:
        text: as it was read, line ends of either kind
        file: named in errors
    Raises:
        InputError: a text that isn't TOML; an edit that doesn't fit it, or can't be done to its text alone
    """
    mark, body = (MARK, text[1:]) if text.startswith(MARK) else ("", text)
    for edit in edits:
        body = _with(body, edit, file)
    return mark + body


def _with(text: str, edit: Edit, file: Path) -> str:
    before = parse_source(text, file)
    if not edit.keys:
        raise InputError("an edit says no field.", Place(file=file))
    try:
        wanted = applied(before.values, [edit])
        after = Page(text, before.values).edited(edit, wanted)
    except (CannotEdit, ValueError) as error:
        raise _refused(
            before, edit, f"{error}. Look at the file as it is now, and change it there."
        ) from None
    if not same(_read_again(after, before, edit), wanted):
        raise _refused(before, edit, _BY_HAND)
    return after


_BY_HAND: Final = (
    "this can't be changed without changing what else the file says, as it is written there. "
    "Open the file and change it by hand."
)


def _read_again(text: str, before: Source, edit: Edit) -> object:
    try:
        return parse_source(text, before.file).values
    except InputError:
        raise _refused(before, edit, _BY_HAND) from None


def _refused(before: Source, edit: Edit, text: str) -> InputError:
    spot = nearest_spot(before.spots, edit.keys)
    return InputError(
        text, Place(file=before.file, line=spot.line, column=spot.column, field=spelled(edit.keys))
    )


def edit_from(data: object) -> Edit:
    """An edit from its JSON form: {"what": "set", "keys": ["stock", "size", 0], "value": "340 mm"}.

    Raises:
        InputError: something else
    """
    match data:
        case {"what": "set" | "drop" | "add" as what, "keys": [_, *_] as keys, **more} if _are_keys(keys):
            if set(more) <= {"value"} and (what == "drop" or more.get("value") is not None):
                return Edit(what=what, keys=tuple(keys), value=more.get("value"))
    raise InputError(
        'an edit reads {"what": "set", "keys": ["stock", "material"], "value": "mdf"}; '
        "what is set, drop or add."
    )


def edit_data(edit: Edit) -> dict[str, Any]:
    """An edit's JSON form."""
    data = {"what": edit.what, "keys": list(edit.keys)}
    return data if edit.what == "drop" else {**data, "value": edit.value}


def _are_keys(keys: list[object]) -> bool:
    return all(isinstance(key, str) or (type(key) is int and key >= 0) for key in keys)
