"""Abilities: which words a controller takes, and what to say of a word that it doesn't.

What small controllers lack is common practice, no source. Some stop in the middle of a cut at a word they
don't know, others pass over it in silence; where passing over it would change the way of the cutter, the word
is a stop.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final, NamedTuple

from proveout.finding import Level
from proveout.job.records import DialectName
from proveout.program.branches import Branch
from proveout.program.line import COMMENT
from proveout.program.rules import ARCS, CYCLES, Codes, codes_by_group, motion_of
from proveout.program.words import Block


@dataclass(frozen=True, slots=True, kw_only=True)
class Abilities:
    """What a controller can be told beyond straight moves, arcs by their centre, dwells, spindle and feed."""

    tool_change: bool = True  # T and M6
    length_table: bool = True  # G43 H
    cycles: bool = True  # G73 and G81 to G89
    radius_arcs: bool = True  # arcs by R
    other_planes: bool = True  # G18 and G19
    parameters: bool = True  # #1 = 2, X[#1 + 3]
    branches: bool = True  # O words: subprograms, loops and choices
    many_zeros: bool = True  # G59.1 to G59.3
    switched_stops: bool = True  # M1, M60 and lines that begin with a slash
    between_percents: bool = False  # the program must stand between two % lines


ABILITIES: Final[dict[DialectName, Abilities]] = {
    "plain": Abilities(
        tool_change=False,
        length_table=False,
        cycles=False,
        radius_arcs=False,
        other_planes=False,
        parameters=False,
        branches=False,
        many_zeros=False,
        switched_stops=False,
    ),
    "full": Abilities(),
    "iso": Abilities(between_percents=True),
}


class Lack(NamedTuple):
    """A word that a controller doesn't take."""

    key: str  # told once for each program
    level: Level
    column: int
    word: str
    why: str
    remedy: str

    @property
    def text(self) -> str:
        """The finding's sentence."""
        return (
            f'column {self.column}, "{self.word}": {self.why}. A controller like the one stated stops here, '
            "or passes over it."
        )


MANY_ZEROS: Final = frozenset({591, 592, 593})
SIDE_PLANES: Final = frozenset({180, 190})
SWITCHED: Final = frozenset({10, 600})
LENGTH_FROM_TABLE: Final = 430
OWN: Final = 'or state a controller that takes it (machine.dialect = "full")'


def lacks(able: Abilities, block: Block, modal: int | None, *, cutter: int) -> Iterator[Lack]:
    """What of a line a controller doesn't take. The line must be one that the reader has carried out.

    Args:
        able: what the controller takes
        block: the line's words
        modal: motion code in force before the line, in tenths
        cutter: number of the cutter in the spindle before the line
    """
    codes = codes_by_group(block)
    yield from _cutter_words(able, block, codes, cutter)
    motion = motion_of(block, codes, modal)
    if motion in CYCLES and not able.cycles:
        code = codes.get("motion")
        column, word = (code.column, f"G{code.number}") if code else _first_axis(block)
        remedy = f"Write the cycle out as G0 and G1 moves, 3 or more a hole, {OWN}."
        yield Lack("cycle", Level.STOP, column, word, "a canned cycle", remedy)
    if motion in ARCS and "R" in block.values and not able.radius_arcs:
        yield radius_arc(block.columns["R"], f"R{block.values['R']:g}")
    if not able.other_planes and (code := codes.get("plane")) and code.tenths in SIDE_PLANES:
        yield Lack(
            "plane",
            Level.CAUTION,
            code.column,
            f"G{code.number}",
            "arcs in an upright plane",
            f"Keep to G17 and write such arcs as short G1 moves of 0.5 mm, {OWN}.",
        )
    if not able.many_zeros and (code := codes.get("work zero")) and code.tenths in MANY_ZEROS:
        yield Lack(
            "zero",
            Level.STOP,
            code.column,
            f"G{code.number}",
            "a work zero beyond the 6 of G54 to G59",
            f"Use G54, {OWN}.",
        )
    yield from _switched(able, codes)


def radius_arc(column: int, word: str) -> Lack:
    """An arc by its radius."""
    remedy = f"Write the arc's centre with I and J, 2 words for 1, {OWN}."
    return Lack("radius", Level.CAUTION, column, word, "an arc given by its radius", remedy)


def parameter_use(able: Abilities, line: str) -> Lack | None:
    """A parameter or an expression in a line."""
    if able.parameters:
        return None
    bare = COMMENT.sub(lambda found: " " * len(found[0]), line)
    column = next((index for index, char in enumerate(bare, start=1) if char in "#["), 0)
    if not column:
        return None
    word = bare[column - 1 : column + 11].strip()
    remedy = f"Write each number out, 1 for each word, {OWN}."
    return Lack("parameter", Level.STOP, column, word, "a parameter or an expression", remedy)


def branch_use(able: Abilities, branch: Branch) -> Lack | None:
    """An O word that is followed."""
    if able.branches or branch.word == "number":
        return None
    remedy = f"Write the lines out as often as they run, {OWN}."
    word = f"O{branch.label} {branch.word}"
    return Lack("branch", Level.STOP, branch.column, word, "a subprogram, a loop or a choice", remedy)


def possible_lacks(able: Abilities, codes: Codes, letters: frozenset[str], text: str) -> frozenset[str]:
    """The keys of all that a line with these codes and letters may lack, whatever its numbers.

    A cycle that goes on without its code isn't among them: it was told at the line that began it.

    Args:
        text: of the line, without comments
    """
    tenths = {group: code.tenths for group, code in codes.items()}
    is_cycle = tenths.get("motion") in CYCLES
    changes = not able.tool_change
    possible = {
        "changer caution": changes and ("T" in letters or "tool change" in tenths),
        "changer stop": changes and "T" in letters,
        "G43": not able.length_table and tenths.get("tool length") == LENGTH_FROM_TABLE,
        "cycle": not able.cycles and is_cycle,
        "radius": not able.radius_arcs and "R" in letters and not is_cycle,
        "plane": not able.other_planes and tenths.get("plane") in SIDE_PLANES,
        "zero": not able.many_zeros and tenths.get("work zero") in MANY_ZEROS,
        "stop": not able.switched_stops and tenths.get("stopping") in SWITCHED,
        "parameter": not able.parameters and ("#" in text or "[" in text),
    }
    return frozenset(key for key, may_lack in possible.items() if may_lack)


def _cutter_words(able: Abilities, block: Block, codes: Codes, cutter: int) -> Iterator[Lack]:
    number = int(block.values.get("T", cutter))
    if not able.tool_change and "T" in block.values:
        level = Level.CAUTION if number == cutter else Level.STOP
        yield Lack(
            f"changer {level.value}",
            level,
            block.columns["T"],
            f"T{number}",
            "a cutter called by number, on a machine without a changer"
            + ("" if number == cutter else f"; cutter {cutter} is in the spindle"),
            f"Take T out, and write 1 program for each cutter, {OWN}.",
        )
    if not able.tool_change and "T" not in block.values and (code := codes.get("tool change")):
        remedy = f"Take M6 out, and write 1 program for each cutter, {OWN}."
        why = "a change of cutter, on a machine without a changer"
        yield Lack("changer caution", Level.CAUTION, code.column, "M6", why, remedy)
    code = codes.get("tool length")
    if not able.length_table and code and code.tenths == LENGTH_FROM_TABLE:
        remedy = f"Take G43 out, and set Z to 0 with each cutter's own tip, {OWN}."
        yield Lack("G43", Level.STOP, code.column, "G43", "a length from a table in the controller", remedy)


def _switched(able: Abilities, codes: Codes) -> Iterator[Lack]:
    code = codes.get("stopping")
    if able.switched_stops or code is None or code.tenths not in SWITCHED:
        return
    remedy = f"Write M0, {OWN}."
    yield Lack(
        "stop", Level.CAUTION, code.column, f"M{code.number}", "a stop that depends on a switch", remedy
    )


def _first_axis(block: Block) -> tuple[int, str]:
    letter = next(letter for letter in "XYZ" if letter in block.values)
    return block.columns[letter], f"{letter}{block.values[letter]:g}"
