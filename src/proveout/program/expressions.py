"""Values: numbers, parameters, expressions in brackets and functions (RS274/NGC, NISTIR 6556, 3.3.2)."""

import math
import re
from collections.abc import Callable, Mapping
from typing import Final

from proveout.program.line import Cursor

NUMBER: Final = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)", re.ASCII)
INTEGER_SLACK: Final = 0.0001  # where a whole number is needed, a value this near to one is taken
DEEPEST: Final = 30  # brackets within brackets; the standard names no limit, controllers have one

FIRST_MACHINE_PARAMETER: Final = 5061  # probe results, homes, offsets: the controller's own
LAST_PARAMETER: Final = 5399

Parameters = Mapping[int, float]


class _Refused(ValueError):
    """An operation that has no result; the message says why."""


def real_value(cursor: Cursor, parameters: Parameters) -> float:
    """The value at the cursor, which moves past it.

    Raises:
        Unreadable: no value there, an operation without a result, a parameter that was never set
    """
    match cursor.peek():
        case "[":
            return _nested(cursor, parameters, _expression)
        case "#":
            return _nested(cursor, parameters, _parameter)
        case char if char.isalpha():
            return _function(cursor, parameters)
        case _:
            return _number(cursor)


def whole(value: float) -> int | None:
    """The whole number that a value stands for; None where it is too far from one."""
    nearest = round(value)
    return nearest if abs(value - nearest) <= INTEGER_SLACK else None


def parameter_index(cursor: Cursor, parameters: Parameters) -> int:
    """The number after a parameter sign at the cursor, which moves past both."""
    start = cursor.at
    cursor.at += 1
    if cursor.peek() == "<":
        raise cursor.fault(start, "a parameter with a name; only numbered ones, #1 to #5399, are read")
    index = whole(real_value(cursor, parameters))
    if index is None or not 1 <= index <= LAST_PARAMETER:
        raise cursor.fault(start, f"a parameter's number is whole, from 1 to {LAST_PARAMETER}")
    if index >= FIRST_MACHINE_PARAMETER:
        raise cursor.fault(
            start, f"parameter {index} belongs to the controller, and its value isn't known here"
        )
    return index


def _nested(cursor: Cursor, parameters: Parameters, read: Callable[[Cursor, Parameters], float]) -> float:
    cursor.depth += 1
    if cursor.depth > DEEPEST:
        raise cursor.fault(cursor.at, f"brackets or parameter signs more than {DEEPEST} deep")
    value = read(cursor, parameters)
    cursor.depth -= 1
    return value


def _number(cursor: Cursor) -> float:
    found = NUMBER.match(cursor.text, cursor.at)
    if found is None:
        if cursor.peek() in ("+", "-"):
            raise cursor.fault(cursor.at, "a sign that no number follows", "Write [0 - ...] instead.")
        raise cursor.fault(max(cursor.at - 1, 0), "a value is missing, or is not a number")
    cursor.at = found.end()
    return float(found[0])


def _parameter(cursor: Cursor, parameters: Parameters) -> float:
    start = cursor.at
    index = parameter_index(cursor, parameters)
    if index not in parameters:
        raise cursor.fault(
            start,
            f"parameter {index} was not set by this program: its value is whatever the controller kept",
            f"Set it at the top of the program: #{index}=...",
        )
    return parameters[index]


def _expression(cursor: Cursor, parameters: Parameters) -> float:
    """A bracketed expression: powers bind first, then * / MOD, then the rest, each from left to right."""
    start = cursor.at
    cursor.at += 1
    value = _chain(cursor, parameters, 0)
    if cursor.peek() != "]":
        raise cursor.fault(start, "an expression whose bracket isn't closed, or with a sign that isn't known")
    cursor.at += 1
    return value


def _chain(cursor: Cursor, parameters: Parameters, level: int) -> float:
    """Operands of one binding level (0 loosest) and what joins them."""
    if level == len(_LEVELS):
        return real_value(cursor, parameters)
    value = _chain(cursor, parameters, level + 1)
    pattern = _LEVELS[level]
    while found := pattern.match(cursor.text, cursor.at):
        start, cursor.at = cursor.at, found.end()
        right = _chain(cursor, parameters, level + 1)
        value = _calculated(cursor, start, lambda: _JOIN[found[0]](value, right))  # noqa: B023 - called at once
    return value


def _function(cursor: Cursor, parameters: Parameters) -> float:
    start = cursor.at
    found = _FUNCTION_NAME.match(cursor.text, start)
    if found is None:
        raise cursor.fault(max(start - 1, 0), "a value is missing, or its function is not known")
    cursor.at = found.end()
    argument = _bracketed(cursor, parameters, start)
    if found[0] != "ATAN":
        return _calculated(cursor, start, lambda: _FUNCTIONS[found[0]](argument))
    if cursor.peek() != "/":
        raise cursor.fault(start, "ATAN takes two values: ATAN[y]/[x]")
    cursor.at += 1
    other = _bracketed(cursor, parameters, start)
    return math.degrees(math.atan2(argument, other))


def _bracketed(cursor: Cursor, parameters: Parameters, start: int) -> float:
    if cursor.peek() != "[":
        raise cursor.fault(start, "a function takes its value in square brackets")
    return _nested(cursor, parameters, _expression)


def _calculated(cursor: Cursor, start: int, work: Callable[[], float]) -> float:
    try:
        value = work()
    except _Refused as refusal:
        raise cursor.fault(start, str(refusal)) from None
    except (OverflowError, ZeroDivisionError):
        raise cursor.fault(start, "a result too large for a number") from None
    if not math.isfinite(value):
        raise cursor.fault(start, "a result too large for a number")
    return value


def _divided(left: float, right: float) -> float:
    if right == 0:
        raise _Refused("a division by zero")
    return left / right


def _modulo(left: float, right: float) -> float:
    if right == 0:
        raise _Refused("a division by zero")
    return math.fmod(left, right) + (abs(right) if math.fmod(left, right) < 0 else 0.0)


def _power(left: float, right: float) -> float:
    if left < 0 and right != round(right):
        raise _Refused("a broken power of a negative number")
    if left == 0 and right < 0:
        raise _Refused("a division by zero")
    return float(left**right)


def _within_one(function: Callable[[float], float], name: str) -> Callable[[float], float]:
    def checked(value: float) -> float:
        if not -1 <= value <= 1:
            raise _Refused(f"{name} of a value outside -1 to 1")
        return math.degrees(function(value))

    return checked


def _root(value: float) -> float:
    if value < 0:
        raise _Refused("the root of a negative number")
    return math.sqrt(value)


def _natural_log(value: float) -> float:
    if value <= 0:
        raise _Refused("the logarithm of a value that is not positive")
    return math.log(value)


def _half_away(value: float) -> float:
    return math.copysign(math.floor(abs(value) + 0.5), value)


_LEVELS: Final = (
    re.compile(r"[+-]|AND|OR|XOR"),
    re.compile(r"\*(?!\*)|/|MOD"),
    re.compile(r"\*\*"),
)
_JOIN: Final[dict[str, Callable[[float, float], float]]] = {
    "+": lambda left, right: left + right,
    "-": lambda left, right: left - right,
    "*": lambda left, right: left * right,
    "/": _divided,
    "MOD": _modulo,
    "**": _power,
    "AND": lambda left, right: float(left != 0 and right != 0),
    "OR": lambda left, right: float(left != 0 or right != 0),
    "XOR": lambda left, right: float((left != 0) != (right != 0)),
}
_FUNCTIONS: Final[dict[str, Callable[[float], float]]] = {
    "ABS": abs,
    "ACOS": _within_one(math.acos, "ACOS"),
    "ASIN": _within_one(math.asin, "ASIN"),
    "COS": lambda value: math.cos(math.radians(value)),
    "EXP": math.exp,
    "FIX": lambda value: float(math.floor(value)),
    "FUP": lambda value: float(math.ceil(value)),
    "LN": _natural_log,
    "ROUND": _half_away,
    "SIN": lambda value: math.sin(math.radians(value)),
    "SQRT": _root,
    "TAN": lambda value: math.tan(math.radians(value)),
}
_FUNCTION_NAME: Final = re.compile("|".join(("ATAN", *_FUNCTIONS)))
