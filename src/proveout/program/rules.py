"""Which words may stand on a line together: modal groups and who uses which letter.

After RS274/NGC (NISTIR 6556, 2000), table 4 and the error list of its interpreter.
"""

from typing import Final

from proveout.program.line import Unreadable
from proveout.program.words import Block, Code

AXES: Final = "XYZ"
MOST_M_WORDS: Final = 4

STRAIGHT: Final = frozenset({0, 10})
ARCS: Final = frozenset({20, 30})
CYCLES: Final = frozenset({730, 810, 820, 830, 850, 890})
CANCEL: Final = 800
LENGTH_HERE: Final = 431  # G43.1: the line itself says the length

G_GROUPS: Final[dict[int, str]] = {
    **dict.fromkeys((0, 10, 20, 30, CANCEL, *CYCLES), "motion"),
    **dict.fromkeys((170, 180, 190), "plane"),
    **dict.fromkeys((900, 910), "distance"),
    **dict.fromkeys((901, 911), "arc distance"),
    **dict.fromkeys((930, 940), "feed mode"),
    **dict.fromkeys((200, 210), "units"),
    400: "cutter compensation",
    **dict.fromkeys((430, LENGTH_HERE, 490), "tool length"),
    **dict.fromkeys((980, 990), "return level"),
    **dict.fromkeys((540, 550, 560, 570, 580, 590, 591, 592, 593), "work zero"),
    **dict.fromkeys((610, 611, 640), "path control"),
    **dict.fromkeys((40, 100, 280, 300, 530, 920, 921, 922, 923), "one-line codes"),
}
M_GROUPS: Final[dict[int, str]] = {
    **dict.fromkeys((0, 10, 20, 300, 600), "stopping"),
    60: "tool change",
    **dict.fromkeys((30, 40, 50), "spindle"),
    **dict.fromkeys((70, 80, 90), "coolant"),
    **dict.fromkeys((480, 490), "overrides"),
}
# Codes that exist but are not read, by name.
REFUSED_G: Final[dict[int, str]] = {
    50: "spline moves",
    70: "lathe diameters",
    80: "lathe radii",
    150: "polar coordinates",
    160: "polar coordinates",
    410: "cutter radius compensation: the path would depend on a table in the controller",
    420: "cutter radius compensation: the path would depend on a table in the controller",
    411: "cutter radius compensation: the path would depend on a table in the controller",
    421: "cutter radius compensation: the path would depend on a table in the controller",
    500: "scaling",
    510: "scaling",
    520: "a local zero",
    650: "a macro",
    660: "a macro",
    680: "a turned coordinate system",
    690: "a turned coordinate system",
    **dict.fromkeys((380, 382, 383, 384, 385), "probing: where it ends, no text can say"),
    740: "left-hand tapping",
    760: "thread cutting",
    840: "tapping",
    860: "boring with a stopped spindle",
    870: "back boring",
    880: "boring with a hand-fed return",
    950: "feed per turn",
    960: "constant surface speed",
    970: "spindle speed mode",
}
REFUSED_M: Final[dict[int, str]] = {
    190: "an oriented spindle stop",
    980: "a subprogram call: the reader follows no program that branches",
    990: "a subprogram's return: the reader follows no program that branches",
}
USES_AXES: Final = frozenset({100, 280, 300, 920})  # one-line codes to which a line's axis words belong
USES_P: Final = frozenset({40, 100, 640, 820, 890})

Codes = dict[str, Code]


def codes_by_group(block: Block) -> Codes:
    """The line's codes by modal group.

    Raises:
        Unreadable: an unknown code, a refused one, two of one group, more than four M words
    """
    codes: Codes = {}
    for letter, words, groups, refused in (
        ("G", block.g, G_GROUPS, REFUSED_G),
        ("M", block.m, M_GROUPS, REFUSED_M),
    ):
        for code in words:
            word = f"{letter}{code.number}"
            group = groups.get(code.tenths)
            if group is None:
                raise Unreadable(code.column, word, _not_read(refused.get(code.tenths)))
            if group in codes:
                raise Unreadable(
                    code.column,
                    word,
                    f"a second code of the group {group} on the line, after {_said(codes[group], letter)}",
                )
            codes[group] = code
    if len(block.m) > MOST_M_WORDS:
        last = block.m[MOST_M_WORDS]
        raise Unreadable(last.column, f"M{last.number}", f"more than {MOST_M_WORDS} M words on the line")
    return codes


def _not_read(name: str | None) -> str:
    return f"{name}; not read here" if name else "not a code that is read here"


def _said(code: Code, letter: str) -> str:
    return f"{letter}{code.number}"


def motion_of(block: Block, codes: Codes, modal: int | None) -> int | None:
    """The motion code that the line carries out; None where it moves nothing.

    Raises:
        Unreadable: axis words that nothing uses, a motion code without axis words, two users of them
    """
    axes = [letter for letter in AXES if letter in block.values]
    motion, once, length = (codes.get(group) for group in ("motion", "one-line codes", "tool length"))
    if length and length.tenths == LENGTH_HERE:
        if once and once.tenths in USES_AXES:
            raise Unreadable(once.column, f"G{once.number}", "G43.1 on the same line uses the axis words too")
        once = length
    if once and once.tenths in USES_AXES | {LENGTH_HERE}:
        if motion and motion.tenths != CANCEL:
            raise Unreadable(
                motion.column, f"G{motion.number}", f"G{once.number} on the same line uses the axis words too"
            )
        return None
    if motion and motion.tenths != CANCEL:
        if not axes:
            raise Unreadable(
                motion.column, f"G{motion.number}", "a motion code with no X, Y or Z on its line"
            )
        return motion.tenths
    if not axes:
        return None
    if motion or modal is None or modal == CANCEL:
        raise block.fault(
            axes[0], "no motion code is in force that would use it", "Write G0 or G1 before it."
        )
    return modal


def check_users(block: Block, codes: Codes, motion: int | None) -> None:
    """Every letter has a code that uses it.

    Raises:
        Unreadable: the first letter that has none
    """
    at_work = {code.tenths for group, code in codes.items() if group in ("one-line codes", "path control")}
    cycle = motion in CYCLES
    used = {
        "D": False,
        "H": codes.get("tool length", Code(0, 0)).tenths == 430,
        "I": motion in ARCS,
        "J": motion in ARCS,
        "K": motion in ARCS,
        "L": cycle or 100 in at_work,
        "P": bool(at_work & USES_P) != (motion in USES_P),
        "Q": motion in (730, 830),
        "R": motion in ARCS or cycle,
    }
    for letter in block.values:
        if not used.get(letter, True):
            raise block.fault(letter, "no code on the line uses it, or two would")
