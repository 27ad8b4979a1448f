"""The codes that set something and move nothing, each a function of the line that is being carried out."""

from typing import Final

from proveout.finding import Level
from proveout.motion import XY, YZ, ZX
from proveout.program.frames import zero_of
from proveout.program.rules import LENGTH_HERE
from proveout.program.state import SYSTEM_NAMES, SYSTEMS, Act

LONGEST_DWELL: Final = 60.0  # s: more than this was perhaps meant in milliseconds
MOST_CUTTERS: Final = 99_999
PLANES: Final = {170: XY, 180: ZX, 190: YZ}


def feed_mode(act: Act) -> None:
    """G93 and G94. A feed of the other kind means nothing in the new one."""
    if code := act.codes.get("feed mode"):
        inverse = code.tenths == 930
        if inverse != act.state.inverse_time:
            act.state.feed = 0.0
        act.state.inverse_time = inverse


def units_and_feed(act: Act) -> None:
    """G20, G21 and F.

    The standard carries F out before G20 and G21. A line that has both leaves the unit of F in doubt.
    """
    state, block = act.state, act.block
    before = state.units_stated
    if code := act.codes.get("units"):
        state.units = state.units_stated = "in" if code.tenths == 200 else "mm"
        state.units_settled = True
        if before not in (None, state.units) and state.feed > 0 and not state.inverse_time:
            state.feed_stale = True
    _need_units(act)
    if "F" not in block.values or state.inverse_time:
        return
    if "units" in act.codes and before != state.units:
        if before is not None:
            raise block.fault("F", "a feed on the line that changes the units: in which is it?")
        act.say_once(
            Level.CAUTION,
            "feed-units",
            f"column {block.columns['F']}: F stands on the line that states the units, and the standard "
            f"does F first. It is read as {'millimetres' if state.units == 'mm' else 'inches'} a minute.",
            "Write G20 or G21 on a line of its own above.",
        )
    state.feed, state.feed_stale = block.values["F"] * state.scale / 60, False


def _need_units(act: Act) -> None:
    state, block = act.state, act.block
    lengths = "XYZIJKRQ" if state.inverse_time else "XYZIJKRQF"
    letter = next((letter for letter in lengths if letter in block.values), None)
    if letter is None or state.units_settled:
        return
    state.units_settled = True
    act.say(
        Level.STOP,
        f'column {block.columns[letter]}, "{letter}{block.values[letter]:g}": the program has not said its '
        "units, and the controller may stand in inches or in millimetres. It is read as millimetres.",
        "Write G21 (millimetres) or G20 (inches) before the first number.",
        kind="units-unstated",
    )


def speed(act: Act) -> None:
    """S."""
    if "S" in act.block.values:
        before = act.state.speed_rpm
        act.state.revolutions = act.block.values["S"]
        _count_spin_up(act, before)


def select_cutter(act: Act) -> None:
    """T."""
    if "T" in act.block.values:
        if act.block.values["T"] > MOST_CUTTERS:
            raise act.block.fault("T", f"a cutter's number is at most {MOST_CUTTERS}")
        act.state.selected, act.state.selected_line = int(act.block.values["T"]), act.line


def change_cutter(act: Act) -> None:
    """M6: the selected cutter goes in; the spindle stands still afterwards."""
    state = act.state
    if "tool change" not in act.codes:
        return
    if state.selected is None:
        raise act.fault_of("tool change", "a cutter change, and no T before it says which cutter", letter="M")
    state.turning = 0
    if state.selected != state.cutter and (state.has_cut or state.length_of is not None):
        state.length_doubt = True
    state.cutter, state.empty = state.selected, state.selected == 0
    state.changes = (*state.changes, (act.moves_before, state.selected))


def spindle(act: Act) -> None:
    """M3, M4 and M5."""
    code, state = act.codes.get("spindle"), act.state
    if code is None:
        return
    if code.tenths == 40:
        act.say_once(
            Level.CAUTION,
            "backwards",
            f'column {code.column}, "M4": the spindle turns backwards, and an ordinary cutter does not cut '
            "that way round.",
            "Write M3, unless the cutter is made for it.",
        )
    turned_round = state.turning and code.tenths not in (50, state.turning)
    before = 0.0 if turned_round else state.speed_rpm
    state.turning = 0 if code.tenths == 50 else code.tenths
    _count_spin_up(act, before)


def _count_spin_up(act: Act, before: float) -> None:
    if before == 0 and act.state.speed_rpm > 0:
        act.state.spin_ups += 1


def dwell(act: Act) -> None:
    """G4 P, in seconds."""
    if not act.is_code("one-line codes", 40):
        return
    seconds = act.block.values.get("P")
    if seconds is None:
        raise act.fault_of("one-line codes", "a dwell needs P, in seconds")
    if seconds > LONGEST_DWELL:
        act.say_once(
            Level.CAUTION,
            "dwell",
            f'column {act.block.columns["P"]}, "P{seconds:g}": read as a dwell of {seconds:g} seconds. Some '
            "controllers take milliseconds.",
            "Look the unit of P up in the controller's manual.",
        )
    act.state.dwell += seconds
    act.note("dwell", seconds=seconds, word="G4")


def plane(act: Act) -> None:
    """G17, G18 and G19."""
    if code := act.codes.get("plane"):
        act.state.plane, act.state.plane_settled = PLANES[code.tenths], True
        act.state.series = None


def length(act: Act) -> None:
    """G43 H, G43.1 Z and G49. The length is taken to be right: then Z is the height of the cutter's tip."""
    state = act.state
    if act.is_code("tool length", 490):
        state.length_of = None
    if act.is_code("tool length", LENGTH_HERE):
        _length_here(act)
    if not act.is_code("tool length", 430):
        return
    if "H" not in act.block.values:
        raise act.fault_of("tool length", "no H says whose length is meant")
    number = int(act.block.values["H"])
    if state.cutter and number not in (0, state.cutter):
        raise act.block.fault(
            "H", f"the length of cutter {number}, with cutter {state.cutter} in the spindle"
        )
    state.length_of = number or None
    act.say_once(
        Level.NOTE,
        "length",
        f"G43 H{number}: Z is read as the height of the cutter's tip, which holds where the length in the "
        "controller's table is right.",
        "Measure every cutter into the controller's table before the run.",
    )


def _length_here(act: Act) -> None:
    """G43.1: the program states the length of the cutter in the spindle, instead of the table."""
    for letter in "XY":
        if letter in act.block.values:
            raise act.block.fault(letter, "a length along this axis; a cutter's length is along Z")
    height = act.value("Z")
    if height is None:
        raise act.fault_of("tool length", "no Z says the length")
    act.check_reach("Z", height)
    act.state.length_of = act.state.cutter
    act.say(
        Level.CAUTION,
        f"G43.1 states the cutter's length, {height:g} mm, in the program. Z is read as the height of its "
        "tip, which holds for the cutter that was measured and for no other.",
        "Measure the cutter into the controller's table, and write G43 H.",
    )


def work_zero(act: Act) -> None:
    """G54 to G59.3. After the first move the other zero must be known from this one."""
    code, state = act.codes.get("work zero"), act.state
    if code is None:
        return
    system = SYSTEMS[code.tenths]
    if state.frames.base is not None and None in zero_of(state.frames, system):
        base = SYSTEM_NAMES[state.frames.base]
        raise act.fault_of(
            "work zero",
            f"another work zero; how far it lies from that of {base}, the program doesn't say",
            f"Work from {base} alone, or set both zeros in the program with G10 L2.",
        )
    if system != state.system:
        state.series = None
    state.system, state.zero_line = system, act.line


def path_control(act: Act) -> None:
    """G61, G61.1 and G64: the path is read as written."""
    if "path control" not in act.codes or "P" not in act.block.values or act.is_code("one-line codes", 40):
        return
    if not act.is_code("path control", 640):
        return
    act.say_once(
        Level.CAUTION,
        "blend",
        f'column {act.block.columns["P"]}, "P{act.block.values["P"]:g}": G64 lets the controller leave the '
        "path by that much at corners. The path is read as written.",
    )


def distance(act: Act) -> None:
    """G90 and G91, G90.1 and G91.1, G98 and G99."""
    state = act.state
    if code := act.codes.get("distance"):
        state.absolute, state.distance_settled = code.tenths == 900, True
    if code := act.codes.get("arc distance"):
        state.arc_absolute = code.tenths == 901
    if code := act.codes.get("return level"):
        state.to_level = code.tenths == 980
