"""The order in which RS274/NGC carries out what stands on a line (NISTIR 6556, table 8)."""

from collections.abc import Callable
from typing import Final, NamedTuple

from proveout.program import settings
from proveout.program.rules import ARCS, STRAIGHT, Codes
from proveout.program.state import SYSTEMS, Act
from proveout.program.travel import travel
from proveout.program.zeros import move_zero

LENGTHS: Final = "XYZIJKRQ"


def _stop(act: Act) -> None:
    if code := act.codes.get("stopping"):
        word = f"M{code.number}"
        if code.tenths in (20, 300):
            act.state.ended = True
            act.note("end", word=word)
        else:
            act.state.stops += 1
            act.note("pause", word=word)


class Step(NamedTuple):
    """What carries out some groups of codes and some letters; a line without them has nothing for it."""

    carry_out: Callable[[Act], None]
    groups: tuple[str, ...] = ()
    letters: str = ""


# Coolant, overrides and pallets move nothing and are left out. F is carried out with the units, so that a
# line with both can be judged.
ORDER: Final[tuple[Step, ...]] = (
    Step(settings.feed_mode, ("feed mode",)),
    Step(settings.units_and_feed, ("units",), LENGTHS + "F"),
    Step(settings.speed, (), "S"),
    Step(settings.select_cutter, (), "T"),
    Step(settings.change_cutter, ("tool change",)),
    Step(settings.spindle, ("spindle",)),
    Step(settings.dwell, ("one-line codes",)),
    Step(settings.plane, ("plane",)),
    Step(settings.length, ("tool length",)),
    Step(settings.work_zero, ("work zero",)),
    Step(settings.path_control, ("path control",)),
    Step(settings.distance, ("distance", "arc distance", "return level")),
    Step(move_zero, ("one-line codes",)),
    Step(travel, ("motion", "one-line codes"), "XYZ"),
    Step(_stop, ("stopping",)),
)

# Steps that neither refuse anything nor say anything: the state in force can be changed at once.
UNFAILING: Final = frozenset(
    {settings.feed_mode, settings.speed, settings.spindle, settings.plane, settings.distance}
)
TURNING: Final = frozenset({settings.speed, settings.spindle})  # those that only the spindle heeds
TURNS_BACKWARDS: Final = 40  # M4 is asked about

# What must already hold for a code to change nothing, by code in tenths: attributes of the state.
_HOLDS_G: Final[dict[int, dict[str, object]]] = {
    170: {"plane": settings.PLANES[170], "plane_settled": True, "series": None},
    180: {"plane": settings.PLANES[180], "plane_settled": True, "series": None},
    190: {"plane": settings.PLANES[190], "plane_settled": True, "series": None},
    200: {"units_stated": "in", "units_settled": True},
    210: {"units_stated": "mm", "units_settled": True},
    400: {},
    490: {"length_of": None},
    610: {},
    611: {},
    640: {},
    800: {"motion": 800, "series": None},
    900: {"absolute": True, "distance_settled": True},
    910: {"absolute": False, "distance_settled": True},
    901: {"arc_absolute": True},
    911: {"arc_absolute": False},
    930: {"inverse_time": True},
    940: {"inverse_time": False},
    980: {"to_level": True},
    990: {"to_level": False},
    **{code: {"system": number} for code, number in SYSTEMS.items()},
}
_HOLDS_M: Final[dict[int, dict[str, object]]] = {
    30: {"turning": 30},
    50: {"turning": 0},
    **{code: {} for code in (70, 80, 90, 480, 490)},
}
_M_GROUPS: Final = ("stopping", "tool change", "spindle", "coolant", "overrides")

Steps = tuple[Callable[[Act], None], ...]
Holds = tuple[tuple[str, object], ...]


def steps_of(codes: Codes, letters: frozenset[str]) -> Steps:
    """What has something to do on a line with these codes and letters, in order."""
    return tuple(
        step.carry_out
        for step in ORDER
        if any(group in codes for group in step.groups) or not letters.isdisjoint(step.letters)
    )


def is_unfailing(codes: Codes, letters: frozenset[str]) -> bool:
    """Whether a line with these codes and letters is always carried out, and without a word."""
    backwards = "spindle" in codes and codes["spindle"].tenths == TURNS_BACKWARDS
    return letters <= {"S"} and not backwards and UNFAILING.issuperset(steps_of(codes, letters))


def holds_of(codes: Codes) -> Holds | None:
    """What the state must be for these codes to change nothing; None where one always does something.

    The code of a plain move isn't looked at: it moves.
    """
    holds: dict[str, object] = {}
    for group, code in codes.items():
        if group == "motion" and code.tenths in STRAIGHT | ARCS:
            continue
        table = _HOLDS_M if group in _M_GROUPS else _HOLDS_G
        if code.tenths not in table:
            return None
        holds.update(table[code.tenths])
    return tuple(holds.items())
