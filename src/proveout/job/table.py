"""A table of a file on its way to a record: fields are taken, and what is wrong is noted with its place."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from difflib import get_close_matches
from typing import Any, Final, Generic, TypeVar, cast

from proveout.finding import InputError, Place
from proveout.job.kinds import Reader, Wrong
from proveout.job.lines import Keys
from proveout.job.source import Source
from proveout.quantity import LONGEST, System, seen

T = TypeVar("T")

MOST_UNKNOWN: Final = 10  # unknown fields that are named in one table


@dataclass(frozen=True, slots=True, kw_only=True)
class Field(Generic[T]):
    """A field of a table: its name, how its value is read, and what stands for it when it is left out."""

    name: str
    kind: str  # in words, for the reference: "length", "text", "whole number"
    read: Reader[T]
    example: str  # as it would stand in the file after the equals sign
    required: bool = True
    default: T | None = None


def required(name: str, kind: str, read: Reader[T], example: str) -> Field[T]:
    """A field that must be there."""
    return Field(name=name, kind=kind, read=read, example=example)


def defaulted(name: str, kind: str, read: Reader[T], example: str, default: T) -> Field[T]:
    """A field with a value that is taken where it is left out."""
    return Field(name=name, kind=kind, read=read, example=example, required=False, default=default)


def optional(name: str, kind: str, read: Reader[T], example: str) -> Field[T | None]:
    """A field whose absence means something."""
    return Field(name=name, kind=kind, read=read, example=example, required=False)


def fields_of(namespace: type) -> tuple[Field[Any], ...]:
    """The fields that a class lists, its parents' first, each in order."""
    listed = [value for each in reversed(namespace.__mro__) for value in vars(each).values()]
    return tuple(value for value in listed if isinstance(value, Field))


class Values:
    """The values of a table's fields, each with the type that its field has."""

    def __init__(self, found: dict[str, object]) -> None:
        self._found = found

    def __getitem__(self, wanted: Field[T]) -> T:
        return cast(T, self._found[wanted.name])


@dataclass(slots=True, kw_only=True)
class Faults:
    """Every fault found so far in the files of one reading."""

    found: list[InputError] = field(default_factory=list)

    def add(self, text: str, place: Place) -> None:
        """Notes one fault."""
        self.found.append(InputError(text, place))


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """One table of a file."""

    source: Source
    keys: Keys
    data: dict[str, object]
    units: System | None  # that the file declares
    faults: Faults

    def wrong(self, text: str, *keys: str | int) -> None:
        """Notes a fault at one of the table's own fields."""
        self.faults.add(text, self.source.place((*self.keys, *keys)))

    def values(self, namespace: type, tables: Iterable[str] = ()) -> Values | None:
        """The values of all fields that a class lists; None where any is wrong or missing.

        Fields that are neither listed nor among the names of inner `tables` are faults.
        """
        fields = fields_of(namespace)
        before = len(self.faults.found)
        meant = self._refuse_unknown((*(each.name for each in fields), *tables))
        found = {each.name: None if each.name in meant else self._value(each) for each in fields}
        return Values(found) if len(self.faults.found) == before else None

    def _value(self, wanted: Field[T]) -> T | None:
        if wanted.name not in self.data:
            if wanted.required:
                self.wrong(
                    f"{wanted.name} is missing. Write {wanted.name} = {_offered(wanted)}.", wanted.name
                )
            return wanted.default
        try:
            return wanted.read(self.data[wanted.name], self.units)
        except Wrong as wrong:
            for keys, text in wrong.complaints:
                self.wrong(text, wanted.name, *keys)
            return None

    def _refuse_unknown(self, known: tuple[str, ...]) -> set[str]:
        """Notes fields that are not known; returns the absent ones that they seem to stand for."""
        unknown = [name for name in self.data if name not in known]
        meant: set[str] = set()
        for name in unknown[:MOST_UNKNOWN]:
            near = get_close_matches(name[:LONGEST].lower(), known, n=1, cutoff=0.6)
            way_out = f"Did you mean {near[0]}?" if near else f"Known here: {', '.join(known)}."
            self.wrong(f"there is no field {seen(name)} here. {way_out}", name)
            meant.update(each for each in near if each not in self.data)
        if len(unknown) > MOST_UNKNOWN:
            self.wrong(
                f"and {len(unknown) - MOST_UNKNOWN} more fields here that are not known.",
                unknown[MOST_UNKNOWN],
            )
        return meant

    def table(self, name: str, *, example: str = "") -> "Table | None":
        """An inner table; None where it isn't there, which is a fault if an `example` of it is given."""
        if name not in self.data:
            if example:
                header = self.header(name)
                self.wrong(f"the table {header} is missing. Write {header} and under it {example}.", name)
            return None
        data = self.data[name]
        if isinstance(data, dict):
            return self._inner(data, name)
        self.wrong(
            f"{seen(data)} is not a table. Write {self.header(name)} on a line of its own, its fields below.",
            name,
        )
        return None

    def tables(self, name: str, *, most: int, example: str = "") -> "Iterator[Table]":
        """The tables of a list of tables, in the file's order; none given is a fault if an `example` is."""
        data = self.data.get(name, [])
        if not isinstance(data, list):
            self.wrong(
                f"[{name}] is one table, where a list of them is wanted. Write [[{name}]], in two brackets.",
                name,
            )
            return
        if not data and example:
            self.wrong(f"there are no {name}. Write [[{name}]] and under it {example}.", name)
        if len(data) > most:
            self.wrong(f"there are {len(data)} {name}; at most {most} are read.", name)
        for number, item in enumerate(data[:most]):
            if isinstance(item, dict):
                yield self._inner(item, name, number)
            else:
                self.wrong(
                    f"{seen(item)} is not a table. Write [[{name}]] and its fields below it.", name, number
                )

    def header(self, name: str) -> str:
        """The line that begins an inner table: [machine.spindle]."""
        return f"[{'.'.join([*(key for key in self.keys if isinstance(key, str)), name])}]"

    def _inner(self, data: dict[str, object], *keys: str | int) -> "Table":
        return Table(
            source=self.source,
            keys=(*self.keys, *keys),
            data=data,
            units=self.units,
            faults=self.faults,
        )


def _offered(wanted: Field[T]) -> str:
    """What may be written: the example, or all the words there are, since one alone would read as advice."""
    if wanted.kind != "word":
        return wanted.example
    try:
        wanted.read(None, None)
    except Wrong as wrong:
        return wrong.complaints[0][1].partition("Write ")[2].rstrip(".") or wanted.example
    return wanted.example
