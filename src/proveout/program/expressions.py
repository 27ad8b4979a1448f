"""Values: numbers, parameters, expressions in brackets and functions (RS274/NGC, NISTIR 6556, 3.3.2).

A value is read once into a function, and worked out as often as its line is carried out. The text may be a
line as it was written, or the shape of many lines, in which each plain number is a `SLOT`.
"""

import math
import operator
import re
from collections.abc import Callable, Mapping, Sequence
from typing import Final

from proveout.program.line import Cursor, Unreadable

NUMBER: Final = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)", re.ASCII)
VALUE: Final = "Write a number after the letter, as in X10; G0 is written with a zero, not with the letter O."
SLOT: Final = "\x1a"  # stands in a line's shape for a number without its sign
INTEGER_SLACK: Final = 0.0001  # where a whole number is needed, a value this near to one is taken
ROUNDING: Final = 1e-6  # numbers nearer than this are told apart by rounding alone
DEEPEST: Final = 30  # brackets within brackets; the standard names no limit, controllers have one
HUGEST: Final = 1.7e308  # just below the largest number that a double holds

FIRST_MACHINE_PARAMETER: Final = 5061  # probe results, homes, offsets: the controller's own
LAST_PARAMETER: Final = 5399

Numbers = Sequence[float]  # that stand in the slots of the line's shape; none for a line as written
Parameters = Mapping[int, float]
Value = Callable[[Numbers, Parameters], float]  # raises Unreadable where it has no result
Index = Callable[[Numbers, Parameters], int]


class _Refused(ValueError):
    """An operation that has no result; the message says why."""


def read_value(cursor: Cursor) -> Value:
    """The value at the cursor, which moves past it.

    Raises:
        Unreadable: no value there. Working it out raises it for an operation without a result, and for a
            parameter that was never set
    """
    match cursor.peek():
        case "[":
            return _nested(cursor, _expression)
        case "#":
            return _nested(cursor, _parameter)
        case char if char.isalpha():
            return _function(cursor)
        case _:
            return _number(cursor)


def whole(value: float) -> int | None:
    """The whole number that a value stands for; None where it is too far from one."""
    nearest = round(value)
    return nearest if abs(value - nearest) <= INTEGER_SLACK else None


def read_index(cursor: Cursor) -> Index:
    """The number after a parameter sign at the cursor, which moves past both.

    Raises:
        Unreadable: no value there. Working it out raises it for a number that is no parameter's
    """
    start = cursor.at
    cursor.at += 1
    if cursor.peek() == "<":
        raise cursor.fault(start, "a parameter with a name; only numbered ones, #1 to #5399, are read")
    value = read_value(cursor)

    def index(numbers: Numbers, parameters: Parameters) -> int:
        named = value(numbers, parameters)
        number = whole(named)
        if number is None or not 1 <= number <= LAST_PARAMETER:
            raise cursor.fault(start, f"a parameter's number is whole, from 1 to {LAST_PARAMETER}")
        if number >= FIRST_MACHINE_PARAMETER:
            raise cursor.fault(
                start, f"parameter {number} belongs to the controller, and its value isn't known here"
            )
        return number

    return index


def _nested(cursor: Cursor, read: Callable[[Cursor], Value]) -> Value:
    cursor.depth += 1
    if cursor.depth > DEEPEST:
        raise cursor.fault(cursor.at, f"brackets or parameter signs more than {DEEPEST} deep")
    value = read(cursor)
    cursor.depth -= 1
    return value


def _number(cursor: Cursor) -> Value:
    if cursor.slots is not None and (sign := _slot_sign(cursor)) is not None:
        number = cursor.slots
        cursor.slots += 1
        if sign < 0:
            return lambda numbers, parameters: -numbers[number]
        return lambda numbers, parameters: numbers[number]
    found = NUMBER.match(cursor.text, cursor.at)
    if found is None:
        if cursor.peek() in ("+", "-"):
            raise cursor.fault(cursor.at, "a sign that no number follows", "Write [0 - ...] instead.")
        raise cursor.fault(max(cursor.at - 1, 0), "a value is missing, or is not a number", VALUE)
    cursor.at = found.end()
    constant = float(found[0])
    return lambda numbers, parameters: constant


def _slot_sign(cursor: Cursor) -> int | None:
    """Pass a slot with or without a sign before it; None where none is here."""
    for written, sign in (SLOT, 1), ("-" + SLOT, -1), ("+" + SLOT, 1):
        if cursor.text.startswith(written, cursor.at):
            cursor.at += len(written)
            return sign
    return None


def _parameter(cursor: Cursor) -> Value:
    start = cursor.at
    index = read_index(cursor)

    def kept(numbers: Numbers, parameters: Parameters) -> float:
        number = index(numbers, parameters)
        value = parameters.get(number)
        if value is None:
            raise cursor.fault(
                start,
                f"parameter {number} was not set by this program: its value is whatever the controller kept",
                f"Set it at the top of the program: #{number}=...",
            )
        return value

    return kept


def _expression(cursor: Cursor) -> Value:
    """A bracketed expression: powers bind first, then * / MOD, then the rest, each from left to right."""
    start = cursor.at
    cursor.at += 1
    value = _chain(cursor, 0)
    if cursor.peek() != "]":
        raise cursor.fault(start, "an expression whose bracket isn't closed, or with a sign that isn't known")
    cursor.at += 1
    return value


def _chain(cursor: Cursor, level: int) -> Value:
    """Operands of one binding level (0 loosest) and what joins them."""
    levels = _LEVELS_OF_BRANCHES if cursor.compares else _LEVELS
    if level == len(levels):
        return read_value(cursor)
    value = _chain(cursor, level + 1)
    while found := levels[level].match(cursor.text, cursor.at):
        start, cursor.at = cursor.at, found.end()
        right = _chain(cursor, level + 1)
        value = _joined(cursor, start, _JOIN[found[0]], value, right)
    return value


def _joined(
    cursor: Cursor, start: int, join: Callable[[float, float], float], left: Value, right: Value
) -> Value:
    def joined(numbers: Numbers, parameters: Parameters) -> float:
        try:
            result = join(left(numbers, parameters), right(numbers, parameters))
        except (_Refused, ArithmeticError) as fault:
            raise _no_result(cursor, start, fault) from None
        if -HUGEST <= result <= HUGEST:
            return result
        raise _no_result(cursor, start, None)

    return joined


def _function(cursor: Cursor) -> Value:
    start = cursor.at
    found = _FUNCTION_NAME.match(cursor.text, start)
    if found is None:
        raise cursor.fault(max(start - 1, 0), "a value is missing, or its function is not known", VALUE)
    cursor.at = found.end()
    argument = _bracketed(cursor, start)
    if found[0] == "ATAN":
        if cursor.peek() != "/":
            raise cursor.fault(start, "ATAN takes two values: ATAN[y]/[x]")
        cursor.at += 1
        return _joined(cursor, start, _arc_tangent, argument, _bracketed(cursor, start))
    return _applied(cursor, start, _FUNCTIONS[found[0]], argument)


def _applied(cursor: Cursor, start: int, function: Callable[[float], float], argument: Value) -> Value:
    def applied(numbers: Numbers, parameters: Parameters) -> float:
        try:
            result = function(argument(numbers, parameters))
        except (_Refused, ArithmeticError) as fault:
            raise _no_result(cursor, start, fault) from None
        if -HUGEST <= result <= HUGEST:
            return result
        raise _no_result(cursor, start, None)

    return applied


def _bracketed(cursor: Cursor, start: int) -> Value:
    if cursor.peek() != "[":
        raise cursor.fault(start, "a function takes its value in square brackets")
    return _nested(cursor, _expression)


def _no_result(cursor: Cursor, start: int, fault: Exception | None) -> Unreadable:
    rule = str(fault) if isinstance(fault, _Refused) else "a result too large for a number"
    return cursor.fault(start, rule)


def _arc_tangent(left: float, right: float) -> float:
    return math.degrees(math.atan2(left, right))


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
    result: float = left**right
    return result


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


def _apart(left: float, right: float, doubtful: float) -> float:
    """By how much left is larger; so little that controllers may disagree is refused.

    Some take numbers 0.0001 apart for equal, and some reckon with seven digits, so that a sum of ten tenths
    may lie on either side of 1.
    """
    apart = left - right
    if 0 < abs(apart) < doubtful:
        raise _Refused(f"compares numbers that are only {abs(apart):.1g} apart: controllers may disagree")
    return apart


def _half_away(value: float) -> float:
    return math.copysign(math.floor(abs(value) + 0.5), value)


_LEVELS: Final = (
    re.compile(r"[+-]|AND|OR|XOR"),
    re.compile(r"\*(?!\*)|/|MOD"),
    re.compile(r"\*\*"),
)
# The standard has no comparisons; O words need them, and only there are they read. There logic binds loosest,
# so that [#1 GT 1 AND #2 LT 3] means what it seems to; the standard has it beside + and -.
_LEVELS_OF_BRANCHES: Final = (
    re.compile(r"AND|OR|XOR"),
    re.compile(r"EQ|NE|GT|GE|LT|LE"),
    re.compile(r"[+-]"),
    *_LEVELS[1:],
)
_JOIN: Final[dict[str, Callable[[float, float], float]]] = {
    "+": operator.add,
    "-": operator.sub,
    "*": operator.mul,
    "/": _divided,
    "MOD": _modulo,
    "**": _power,
    "AND": lambda left, right: float(left != 0 and right != 0),
    "OR": lambda left, right: float(left != 0 or right != 0),
    "XOR": lambda left, right: float((left != 0) != (right != 0)),
    "EQ": lambda left, right: float(_apart(left, right, INTEGER_SLACK) == 0),
    "NE": lambda left, right: float(_apart(left, right, INTEGER_SLACK) != 0),
    "GT": lambda left, right: float(_apart(left, right, ROUNDING) > 0),
    "GE": lambda left, right: float(_apart(left, right, ROUNDING) >= 0),
    "LT": lambda left, right: float(_apart(left, right, ROUNDING) < 0),
    "LE": lambda left, right: float(_apart(left, right, ROUNDING) <= 0),
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
