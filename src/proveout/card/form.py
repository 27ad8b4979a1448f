"""The form: every field of a job and a shop file as boxes to type in, with what stands in the file now."""

import json
import re
import tomllib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any, Final

from proveout.job import fields
from proveout.job.kinds import Wrong
from proveout.job.lines import Keys, spelled
from proveout.job.table import Field, fields_of
from proveout.quantity import DECLARED, Kind, System
from proveout.shelf import tables as shelf

Values = Mapping[str, Any]

PATTERNS: Final[dict[str, type]] = {
    "lobed knob": fields.KnobFields,
    "slotted strap": fields.StrapFields,
    "stop block": fields.StopFields,
    "drawn part": fields.DrawnFields,
    "coupon": fields.CouponFields,
}
AXES: Final = "XYZ"
# Where a field's own name says too little to somebody who has not read the reference.
LABELS: Final = {
    ("StockFields", "at"): "left front corner, on the plate",
    ("JobFields", "shop"): "shop file",
    ("KnobFields", "holds"): "holds the bolt's",
    ("KnobFields", "grips"): "clamps work of",
    ("StrapFields", "grips"): "clamps work of",
    ("KnobFields", "into"): "its bolt ends in",
    ("StrapFields", "into"): "its bolt ends in",
    ("ClampAtFields", "towards"): "nose points",
    ("ClampAtFields", "hole"): "bolt in hole",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Box:
    """One box to type in."""

    keys: Keys
    value: str  # as it stands in the file; "" where nothing does
    label: str = ""  # of one of several: "X"
    unit: str = ""  # that a bare number in it means

    @property
    def field(self) -> str:
        """As errors name it: "stock.thickness[2]"."""
        return spelled(self.keys)


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """One field of a table."""

    keys: Keys
    label: str
    says: str  # what it is, and why one states it
    left_out: str  # what stands for it where it is left out
    required: bool
    kind: str
    choices: tuple[str, ...]  # that it must be one of; () where anything may be typed
    offers: tuple[str, ...]  # names that the shelf knows
    boxes: tuple[Box, ...]
    listed: bool  # its value is a list in the file
    grows: bool  # one more value may be added
    stated: bool  # it stands in the file

    @property
    def field(self) -> str:
        """As errors name it."""
        return spelled(self.keys)


@dataclass(frozen=True, slots=True, kw_only=True)
class Form:
    """One table of a file."""

    keys: Keys
    title: str
    questions: tuple[Question, ...]  # that are stated, or must be
    more: tuple[Question, ...]  # that may be stated besides
    drops: bool  # it may be taken out
    inner: tuple["Form", ...] = ()
    adds: tuple["Adds", ...] = ()  # what may be added within it

    @property
    def field(self) -> str:
        """As errors name it."""
        return spelled(self.keys)


@dataclass(frozen=True, slots=True, kw_only=True)
class Adds:
    """A table that a button adds."""

    says: str  # "a lobed knob"
    edits: tuple[dict[str, object], ...]

    @property
    def as_json(self) -> str:
        """The edits for the button."""
        return json.dumps(list(self.edits))


@cache
def words() -> dict[str, dict[str, dict[str, str]]]:
    """What the reference says of each field, by table and field."""
    text = resources.files("proveout.job").joinpath("field_words.json").read_text("utf-8")
    told: dict[str, dict[str, dict[str, str]]] = json.loads(text)
    return told


def form(
    table: type,
    keys: Keys,
    values: Values,
    units: System | None,
    *,
    title: str = "",
    only: Sequence[str] | None = None,
    drops: bool = False,
    inner: tuple[Form, ...] = (),
    adds: tuple[Adds, ...] = (),
) -> Form:
    """A table of a file as boxes.

    Args:
        table: its class of fields
        keys: the way to it
        values: what stands in it
        units: that the file declares
        only: names of the fields to show; None: all
    """
    listed = [one for one in fields_of(table) if only is None or one.name in only]
    asked = [_question(table, one, keys, values, units) for one in listed]
    return Form(
        keys=keys,
        title=title,
        questions=tuple(one for one in asked if one.stated or one.required),
        more=tuple(one for one in asked if not one.stated and not one.required),
        drops=drops,
        inner=inner,
        adds=adds,
    )


def _question(table: type, one: Field[Any], keys: Keys, values: Values, units: System | None) -> Question:
    own = (*keys, one.name)
    value = values.get(one.name)
    told = _told(table, one.name)
    listed = isinstance(value, list) or one.kind[:1].isdigit()
    grows = "list of" in one.kind
    return Question(
        keys=own,
        label=LABELS.get((table.__name__, one.name), one.name.replace("_", " ")),
        says=told["says"],
        left_out=told["left_out"],
        required=one.required,
        kind=one.kind,
        choices=_choices(one),
        offers=_offers(one),
        boxes=tuple(_boxes(one, own, value, units)),
        listed=listed or grows,
        grows=grows,
        stated=one.name in values,
    )


def _told(table: type, name: str) -> dict[str, str]:
    for each in table.__mro__:
        if name in words().get(each.__name__, {}):
            return words()[each.__name__][name]
    return {"says": "", "left_out": ""}


def _boxes(one: Field[Any], keys: Keys, value: object, units: System | None) -> Iterator[Box]:
    fixed = int(one.kind[0]) if one.kind[:1].isdigit() else 0
    items = value if isinstance(value, list) else [value] if value is not None else []
    if fixed:
        for number in range(fixed):
            item = items[number] if number < len(items) else None
            yield _box((*keys, number), item, one, units, label=AXES[number])
        return
    if "list of" in one.kind:
        for number, item in enumerate(items):
            yield _box((*keys, number), item, one, units, label=str(number + 1))
        yield _box((*keys, len(items)), None, one, units, label="one more")
        return
    yield _box(keys, value, one, units)


def _box(keys: Keys, value: object, one: Field[Any], units: System | None, label: str = "") -> Box:
    bare = isinstance(value, int | float) and not isinstance(value, bool)
    kind = next((kind for kind in Kind if kind.value in one.kind), None)
    unit = DECLARED[units][kind] if bare and kind and units else ""
    return Box(keys=keys, value=typed(value), label=label, unit=unit)


def typed(value: object) -> str:
    """A value of a file as a person would type it."""
    match value:
        case None:
            return ""
        case bool():
            return "yes" if value else "no"
        case float() if value.is_integer() and abs(value) < 1e15:
            return str(int(value))
        case _:
            return str(value)


@cache
def _choices(one: Field[Any]) -> tuple[str, ...]:
    """The words that a field takes, as its own complaint names them."""
    if one.kind == "true or false":
        return ("yes", "no")
    if one.kind not in ("word", "mm or in"):
        return ()
    try:
        one.read(None, None)
    except Wrong as wrong:
        return tuple(re.findall(r'"([^"]+)"', wrong.complaints[0][1].partition("Write ")[2]))
    return ()


def _offers(one: Field[Any]) -> tuple[str, ...]:
    """Names on the shelf that a field takes."""
    match one.name, one.kind:
        case "dowel", _:
            return tuple(dict.fromkeys(pin.size for pin in shelf.dowel_pins()))
        case _, "size":
            return tuple(dict.fromkeys(head.size for head in shelf.hex_heads()))
        case _, "thread":
            return tuple(dict.fromkeys(thread.size for thread in shelf.threads()))
        case "knob_material", _:
            return tuple(one.name for one in shelf.materials())
        case _, "material":
            return tuple(one.name for one in (*shelf.materials(), *shelf.metals()))
        case _:
            return ()


def example_of(one: Field[Any]) -> object:
    """The value that a field's example has in a file."""
    return tomllib.loads(f"value = {one.example}")["value"]


def template(table: type, **stated: object) -> dict[str, object]:
    """A new table: what is stated, and the examples of all other fields that must be there."""
    needed = {one.name: example_of(one) for one in fields_of(table) if one.required}
    return {**needed, **stated}
