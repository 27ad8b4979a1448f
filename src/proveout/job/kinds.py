"""What a field's value may be: readers that take a value as the file has it, to internal units."""

import math
import re
from collections.abc import Callable, Mapping
from typing import Final, TypeVar

from proveout.job.lines import Keys
from proveout.quantity import Kind, QuantityError, System, parse, seen, show

T = TypeVar("T")

# Takes the value and the units that the file declares.
Reader = Callable[[object, System | None], T]

MOST_TEXT: Final = 100  # characters of a name
MOST_PATH: Final = 1000
MOST_READINGS: Final = 1000
MOST_NUMBER: Final = 1_000_000

INTERNAL: Final = {
    Kind.LENGTH: "mm",
    Kind.SPEED: "mm/s",
    Kind.TURNING: "rpm",
    Kind.ANGLE: "deg",
    Kind.POWER: "W",
    Kind.FORCE: "N",
    Kind.TORQUE: "N mm",
    Kind.TIME: "s",
    Kind.ACCELERATION: "mm/s2",
    Kind.STIFFNESS: "N/mm",
    Kind.PRESSURE: "N/mm2",
}

# Beyond these a value is a slip of the decimal point or of the unit, on any machine that stands on a bench.
MOST: Final = {
    Kind.LENGTH: 10_000.0,
    Kind.SPEED: 2_000.0,
    Kind.TURNING: 200_000.0,
    Kind.ANGLE: 360.0,
    Kind.POWER: 50_000.0,
    Kind.FORCE: 1e6,
    Kind.TORQUE: 1e6,
    Kind.TIME: 600.0,
    Kind.ACCELERATION: 100_000.0,
    Kind.STIFFNESS: 1e6,
    Kind.PRESSURE: 0.11,  # no vacuum is more than the air's own pressure
}


class Wrong(Exception):
    """What is wrong with a value, each complaint with the keys that lead to it from the field."""

    def __init__(self, text: str, keys: Keys = ()) -> None:
        super().__init__(text)
        self.complaints: tuple[tuple[Keys, str], ...] = ((keys, text),)

    @classmethod
    def together(cls, wrongs: Mapping[int, "Wrong"]) -> "Wrong":
        """The complaints about several items of a list."""
        whole = cls("")
        whole.complaints = tuple(
            ((number, *keys), text) for number, wrong in wrongs.items() for keys, text in wrong.complaints
        )
        return whole


def positive(kind: Kind) -> Reader[float]:
    """A quantity above zero."""

    def read(value: object, units: System | None) -> float:
        found = _quantity(value, kind, units)
        if found <= 0:
            raise Wrong(f"{seen(value)} must be more than zero.")
        return found

    return read


def from_zero(kind: Kind) -> Reader[float]:
    """A quantity of zero or more."""

    def read(value: object, units: System | None) -> float:
        found = _quantity(value, kind, units)
        if found < 0:
            raise Wrong(f"{seen(value)} must not be less than zero.")
        return found

    return read


def signed(kind: Kind) -> Reader[float]:
    """A quantity that may lie on either side of zero."""
    return lambda value, units: _quantity(value, kind, units)


def _quantity(value: object, kind: Kind, units: System | None) -> float:
    try:
        found = parse(value, kind, units)
    except QuantityError as error:
        raise Wrong(str(error)) from None
    if abs(found) > MOST[kind]:
        most = show(MOST[kind], INTERNAL[kind], units or "mm")
        raise Wrong(f"{seen(value)} is more than {most}, the most that is taken for a {kind.value}.")
    return found


def percent(low: float, high: float) -> Reader[float]:
    """A share in hundredths, "45 %" or 45."""

    def read(value: object, units: System | None) -> float:
        found = _number_before(value, ("%",))
        if found is None:
            raise Wrong(f'{seen(value)} is not a percentage. Write a number and its sign, such as "45 %".')
        if not low <= found <= high:
            raise Wrong(f"{seen(value)} is not between {low:g} % and {high:g} %.")
        return found

    return read


COLDEST, HOTTEST = -30.0, 60.0  # deg C, of air that wood is kept in


def temperature(value: object, units: System | None) -> float:
    """Of the air, deg C: "20 C", "20 °C", "68 F"; a bare number is read where the file declares its units."""
    celsius = _number_before(value, ("°C", "C"))
    fahrenheit = _number_before(value, ("°F", "F"))
    if isinstance(value, int | float) and not isinstance(value, bool) and units is not None:
        celsius, fahrenheit = (float(value), None) if units == "mm" else (None, float(value))
    elif isinstance(value, int | float):
        celsius = fahrenheit = None
    if celsius is None and fahrenheit is not None:
        celsius = (fahrenheit - 32) / 1.8
    if celsius is None:
        raise Wrong(f'{seen(value)} is not a temperature. Write a number and its unit: "20 C" or "68 F".')
    if not COLDEST <= celsius <= HOTTEST:
        raise Wrong(f"{seen(value)} is not between {COLDEST:g} C and {HOTTEST:g} C.")
    return celsius


def _number_before(value: object, marks: tuple[str, ...]) -> float | None:
    if isinstance(value, bool):
        return None
    if isinstance(value, int | float):
        return float(value) if math.isfinite(value) else None
    if not isinstance(value, str):
        return None
    mark = next((one for one in marks if value.strip().endswith(one)), None)
    number = _NUMBER.fullmatch(value.strip().removesuffix(mark).strip()) if mark else None
    return float(number[0]) if number else None


_NUMBER: Final = re.compile(r"[+-]?\d{1,6}(\.\d{1,6})?")


def text(value: object, units: System | None) -> str:
    """A name: one line of text that can be shown."""
    if not isinstance(value, str):
        raise Wrong(f"{seen(value)} is not text. Write it in quotes.")
    if not value.strip():
        raise Wrong("the text is empty. Write a word or two in the quotes.")
    if len(value) > MOST_TEXT:
        raise Wrong(f"the text has {len(value)} characters; at most {MOST_TEXT} are read.")
    if not value.isprintable():
        raise Wrong(f"{seen(value)} holds characters that can't be shown. Write plain text on one line.")
    return value.strip()


def path(value: object, units: System | None) -> str:
    """Where another file lies."""
    if not isinstance(value, str) or not value.strip() or not value.isprintable():
        raise Wrong(
            f"{seen(value)} is not the path of a file. Write it in quotes, counted from this file's folder."
        )
    if len(value) > MOST_PATH:
        raise Wrong(f"the path has {len(value)} characters; at most {MOST_PATH} are read.")
    return value.strip()


# In a part's name, which becomes a file's name and a program's comment.
_UNSAFE: Final = '/\\:*?"<>|()%;'


def part_name(value: object, units: System | None) -> str:
    """A name that may also name a file and stand in a program's comment."""
    name = text(value, units)
    for character in _UNSAFE:
        if character in name:
            raise Wrong(
                f"{seen(name)} holds {character}, which can't stand in a file's name or a program's comment. "
                "Use letters, digits, spaces and dashes."
            )
    if name[0] in ".-" or name[-1] == ".":
        raise Wrong(f"{seen(name)} begins or ends with a dot or dash. Begin with a letter or digit.")
    return name


def whole(least: int, most: int) -> Reader[int]:
    """A whole number within bounds."""

    def read(value: object, units: System | None) -> int:
        number = int(value) if isinstance(value, str) and _is_digits(value) else value
        if isinstance(number, bool) or not isinstance(number, int):
            raise Wrong(f"{seen(value)} is not a whole number. Write a number from {least} to {most}.")
        if not least <= number <= most:
            raise Wrong(f"{seen(value)} is out of range. Write a number from {least} to {most}.")
        return number

    return read


def number_or_name(value: object, units: System | None) -> str:
    """A whole number, or a text, as text."""
    return str(value) if type(value) is int and 0 < value <= MOST_NUMBER else text(value, units)


def _is_digits(value: str) -> bool:
    return value.isascii() and value.isdigit() and len(value) < 10


def yes_no(value: object, units: System | None) -> bool:
    """true or false."""
    if not isinstance(value, bool):
        raise Wrong(f"{seen(value)} is neither true nor false. Write true or false, without quotes.")
    return value


def one_of(words: Mapping[str, T]) -> Reader[T]:
    """One of a few words, and what it stands for."""

    def read(value: object, units: System | None) -> T:
        if not isinstance(value, str) or value.strip().lower() not in words:
            raise Wrong(f"{seen(value)} is not one of the words taken here. Write {either(tuple(words))}.")
        return words[value.strip().lower()]

    return read


def either(words: tuple[str, ...]) -> str:
    """Words as a choice: "mm" or "in"; "up", "down" or "straight"."""
    *some, last = (f'"{word}"' for word in words)
    return f"{', '.join(some)} or {last}" if some else last


def from_shelf(look_up: Callable[[str], T]) -> Reader[T]:
    """A thing that the shelf knows by this name."""

    def read(value: object, units: System | None) -> T:
        name = text(value, units)
        try:
            return look_up(name)
        except LookupError as error:
            raise Wrong(str(error)) from None

    return read


def list_of(read_item: Reader[T], *, most: int) -> Reader[tuple[T, ...]]:
    """One value or a list of some, each read alike."""

    def read(value: object, units: System | None) -> tuple[T, ...]:
        items = value if isinstance(value, list) else [value]
        if not items:
            raise Wrong("the list is empty. Write at least one value.")
        if len(items) > most:
            raise Wrong(f"the list has {len(items)} values; at most {most} are read.")
        if not isinstance(value, list):
            return (read_item(value, units),)
        return _each(items, read_item, units)

    return read


def several(read_item: Reader[T], axes: str) -> Reader[tuple[T, ...]]:
    """As many values as there are axes: "XY" or "XYZ"."""

    def read(value: object, units: System | None) -> tuple[T, ...]:
        if not isinstance(value, list):
            raise Wrong(f"{seen(value)} is not a list. Write {len(axes)} values in brackets, {_named(axes)}.")
        if len(value) != len(axes):
            raise Wrong(f"the list has {_values(len(value))}. Write {len(axes)}, {_named(axes)}.")
        return _each(value, read_item, units)

    return read


def _values(count: int) -> str:
    return "1 value" if count == 1 else f"{count} values"


def _named(axes: str) -> str:
    return f"for {', '.join(axes[:-1])} and {axes[-1]}"


def _each(items: list[object], read_item: Reader[T], units: System | None) -> tuple[T, ...]:
    found: list[T] = []
    wrongs: dict[int, Wrong] = {}
    for number, item in enumerate(items):
        try:
            found.append(read_item(item, units))
        except Wrong as wrong:
            wrongs[number] = wrong
    if wrongs:
        raise Wrong.together(wrongs)
    return tuple(found)
