"""The one-line codes that move a zero, or go to a place of the machine: G10, G92 and its family, G28, G30."""

from dataclasses import replace
from typing import Final

from proveout.finding import Level
from proveout.motion import RAPID
from proveout.program.expressions import whole
from proveout.program.frames import (
    NOWHERE,
    XYZ,
    Partly,
    taken_here,
    with_placed,
    with_stated,
    zero_of,
)
from proveout.program.rules import AXES
from proveout.program.state import SYSTEM_NAMES, SYSTEMS, Act, Known, Move

GROUP: Final = "one-line codes"
NOT_TAKEN: Final[Known] = (False, False, False)
HOMES: Final = frozenset({280, 300})


def move_zero(act: Act) -> None:
    """The line's code of this kind, if it has one."""
    code = act.codes.get(GROUP)
    if code is None:
        return
    match code.tenths:
        case 100:
            _set_zero(act)
        case 920:
            _shift(act)
        case 921 | 922 | 923:
            _unshift(act)
        case 280 | 300:
            _go_home(act)
        case _:
            return
    act.state.series = None
    if code.tenths not in HOMES:
        act.state.zero_line = act.line


def _set_zero(act: Act) -> None:
    """G10 L2 (a zero at machine coordinates) and L20 (a zero measured from where the cutter stands)."""
    kind = whole(act.block.values.get("L", -1.0))
    if kind not in (2, 20):
        raise act.fault_of(GROUP, "only G10 L2 and G10 L20, which set a work zero, are read")
    system = whole(act.block.values.get("P", -1.0))
    if system is None or not (0 if kind == 20 else 1) <= system <= len(SYSTEMS):
        raise act.fault_of(GROUP, "P says which work zero: 1 for G54 to 9 for G59.3")
    if kind == 20:
        _set_zero_from_here(act, system or act.state.system)
    else:
        _set_zero_in_machine(act, system)


def _set_zero_in_machine(act: Act, system: int) -> None:
    state = act.state
    frames = with_stated(state.frames, system, _axis_values(act))
    in_force = system == state.system
    if in_force and frames.base is not None and None in zero_of(frames, system):
        raise act.fault_of(GROUP, "moves the zero in force, and how far from the last one isn't known here")
    if in_force and frames.base is None:
        act.say_once(
            Level.CAUTION,
            "zero set",
            f"G10 L2 sets the zero of {SYSTEM_NAMES[system]} in machine coordinates, not by hand.",
            "Set the zero by hand, and leave G10 out.",
        )
    state.frames = frames


def _set_zero_from_here(act: Act, system: int) -> None:
    state, values = act.state, _axis_values(act)
    act.settle_frame()
    taken = _take_unknown(act, values) if system == state.system else NOT_TAKEN
    _need_known(act, values)
    at, shift = state.position, state.frames.shift
    zero = [
        None if value is None or taken[axis] else at[axis] - shift[axis] - value
        for axis, value in enumerate(values)
    ]
    state.frames = with_placed(state.frames, system, (zero[0], zero[1], zero[2]))


def _shift(act: Act) -> None:
    """G92: the place where the cutter stands gets these coordinates."""
    state, values = act.state, _axis_values(act)
    if values == NOWHERE:
        raise act.fault_of(GROUP, "no X, Y or Z on its line")
    act.settle_frame()
    taken = _take_unknown(act, values)
    _need_known(act, values)
    zero, shift = zero_of(state.frames, state.system), list(state.frames.shift)
    for axis, value in enumerate(values):
        if value is not None and not taken[axis]:
            shift[axis] = state.position[axis] - (zero[axis] or 0.0) - value
    now = (shift[0], shift[1], shift[2])
    state.frames = replace(state.frames, shift=now, kept_shift=now)
    act.say_once(
        Level.CAUTION,
        "shift",
        "G92 shifts the zero where nobody sees it, and may outlast the program.",
        "Set the zero in a work system (G54) instead.",
    )


def _unshift(act: Act) -> None:
    """G92.1 and G92.2 take the shift away, G92.3 brings it back."""
    code, frames = act.codes[GROUP], act.state.frames
    if any(frames.taken):
        raise act.fault_of(GROUP, "undoes a G92 from the start; where the zero was before isn't known here")
    if code.tenths == 923:
        if frames.kept_shift is None:
            raise act.fault_of(GROUP, "brings back a shift that this program has not made")
        act.state.frames = replace(frames, shift=frames.kept_shift)
        return
    nothing: XYZ = (0.0, 0.0, 0.0)
    kept = nothing if code.tenths == 921 else frames.shift
    act.state.frames = replace(frames, shift=nothing, kept_shift=kept)


def _go_home(act: Act) -> None:
    """G28 and G30: by way of the place that is named, then to a place of the machine."""
    machine = act.machine
    home = machine and (machine.home if act.is_code(GROUP, 280) else machine.second_home)
    if not home:
        raise act.fault_of(
            GROUP,
            "goes to a place that is stored in the machine and isn't known here",
            "Go to a place in work coordinates instead.",
        )
    named = [letter for letter in AXES if letter in act.block.values]
    if len(named) not in (0, 3):
        raise act.fault_of(
            GROUP,
            f"with {' and '.join(named)} alone: by the standard all three axes go home, on other controllers "
            "only those",
            "Name all three axes, or none.",
        )
    act.settle_frame()
    if named:
        aim = act.aim()
        act.go(Move(RAPID, aim.to), aim.known)
    act.go(Move(RAPID, home), (True, True, True))


def _axis_values(act: Act) -> Partly:
    values = [act.value(letter) for letter in AXES]
    for letter, value in zip(AXES, values, strict=True):
        if value is not None:
            act.check_reach(letter, value)
    return values[0], values[1], values[2]


def _take_unknown(act: Act, values: Partly) -> Known:
    """Before the first move, an unknown axis that gets a value here stands at it. That makes the zero."""
    state = act.state
    taken = [value is not None and not state.known[axis] for axis, value in enumerate(values)]
    if not any(taken) or act.moves_before:
        return NOT_TAKEN
    at = [
        value if value is not None and taken[axis] else state.position[axis]
        for axis, value in enumerate(values)
    ]
    known = [was or now for was, now in zip(state.known, taken, strict=True)]
    state.position, state.known = (at[0], at[1], at[2]), (known[0], known[1], known[2])
    state.frames = taken_here(state.frames, (taken[0], taken[1], taken[2]))
    act.starts_elsewhere = True
    act.say_once(
        Level.CAUTION,
        "taken",
        f"G{act.codes[GROUP].number} measures the zero from where the cutter stands at the start: the "
        "program is right only where somebody puts it there.",
        "Set the zero in a work system (G54) instead.",
    )
    return taken[0], taken[1], taken[2]


def _need_known(act: Act, values: Partly) -> None:
    for axis, value in enumerate(values):
        if value is not None and not act.state.known[axis]:
            raise act.fault_of(
                GROUP, f"sets a zero from where {AXES[axis]} stands, which the program has not said"
            )
