"""The writer: runs of motion in, program text out, in the words that a dialect allows."""

import math
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from proveout.job.records import Cutter, Machine, Spindle
from proveout.motion import ARC, PLANE_AXES, RAPID, XY, Motion, Run
from proveout.program.dialect import DIALECTS, Dialect
from proveout.program.text import Program
from proveout.quantity import System, show_length

XYZ = tuple[float, float, float]

# One count is far below any router's repeatability, and keeps the two radii of a rounded arc within
# 0.0003 mm of each other: RS274/NGC allows 0.002 mm.
PLACES: Final[dict[System, int]] = {"mm": 4, "in": 5}
FEED_PLACES: Final[dict[System, int]] = {"mm": 0, "in": 1}
LONGEST_SWEEP: Final = math.pi  # controllers differ on full circles, none on halves
FLAT_ARC: Final = 0.0005  # mm: an arc whose sagitta is less is written as a line


class WriteError(ValueError):
    """Motion that the dialect has no words for."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Heading:
    """What a program says of itself before the first move."""

    title: str
    notes: tuple[str, ...]  # stock, clamps, checks: a comment each
    zero_words: str  # "left front corner of the stock, on the bed"


def write_programs(
    runs: Sequence[Run], *, machine: Machine, cutters: Sequence[Cutter], zero: XYZ, heading: Heading
) -> tuple[Program, ...]:
    """Programs for all runs, in order: one for each run, or one in all where the controller changes tools.

    Raises:
        WriteError: an arc outside the XY plane
    """
    dialect = DIALECTS[machine.dialect]
    by_number = {cutter.number: cutter for cutter in cutters}
    groups = [tuple(runs)] if dialect.tool_change and runs else [(run,) for run in runs]
    programs = []
    for number, group in enumerate(groups, start=1):
        used = tuple(by_number[run.cutter] for run in group)
        title = heading.title if len(groups) == 1 else f"{heading.title}, program {number} of {len(groups)}"
        text = _Text(dialect, machine, zero)
        text.opening(title, heading, used, group[0].motion)
        for run, cutter in zip(group, used, strict=True):
            text.start_cutter(cutter, run.motion)
            text.moves(run)
        text.closing(spindle=True)
        name = _file_stem(used[0].name) if len(used) == 1 else "all-cutters"
        programs.append(
            Program(
                file=f"{number}-{name}.nc",
                text=text.done(),
                cutters=tuple(cutter.number for cutter in used),
                dialect=dialect.name,
                units=machine.units,
            )
        )
    return tuple(programs)


def write_outline_check(run: Run, *, machine: Machine, zero: XYZ, heading: Heading) -> Program:
    """The program that traces the work's outline above the clamps with the spindle off."""
    dialect = DIALECTS[machine.dialect]
    text = _Text(dialect, machine, zero)
    text.opening(f"{heading.title}, outline check, spindle off", heading, (), run.motion)
    text.moves(run)
    text.closing(spindle=False)
    return Program(
        file="0-outline-check.nc", text=text.done(), cutters=(), dialect=dialect.name, units=machine.units
    )


def _file_stem(name: str) -> str:
    return re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-") or "cutter"


class _Text:
    """Lines of one program, and the state that the controller is in after them."""

    def __init__(self, dialect: Dialect, machine: Machine, zero: XYZ) -> None:
        self.dialect = dialect
        self.units: System = machine.units
        self.limit = machine.line_limit
        self.spindle: Spindle = machine.spindle
        self.zero = zero
        self.lines: list[str] = []
        self.at: list[int | None] = [None, None, None]  # in counts of the last decimal
        self.feed = ""
        self.speed = 0

    def done(self) -> str:
        return "\n".join(self.lines) + "\n"

    def say(self, comment: str) -> None:
        for part in _wrapped(comment, self.limit - 2):
            self.lines.append(f"({part})")

    def block(self, words: str) -> None:
        number = f"N{10 * (len(self.lines) + 1) % 100000} " if self.dialect.line_numbers else ""
        line = number + words
        if len(line) > self.limit:
            raise WriteError(f"a block of {len(line)} characters, the controller takes {self.limit}: {line}")
        self.lines.append(line)

    def opening(self, title: str, heading: Heading, cutters: Sequence[Cutter], motion: Motion) -> None:
        if self.dialect.percent:
            self.lines.append("%")
        self.say(title)
        self.say(f"units: {'millimetres' if self.units == 'mm' else 'inches'}, dwells in seconds")
        self.say(f"work zero: {heading.zero_words}")
        for note in heading.notes:
            self.say(note)
        for cutter in cutters:
            self.say(_cutter_words(cutter, self.units))
        self.block("G21" if self.units == "mm" else "G20")
        for words in self.dialect.modal_reset:
            self.block(words)
        if not self.dialect.tool_change or not cutters:
            self._rise(float(motion.start[0, 2]))

    def _rise(self, height: float) -> None:
        count = self._count(height, 2)
        self.block(f"G0 Z{self._show(count)}")
        self.at[2] = count

    def start_cutter(self, cutter: Cutter, motion: Motion) -> None:
        if self.dialect.tool_change:
            self.block("M5")
            self.block(f"T{cutter.number} M6")
            self.block(f"G43 H{cutter.number}")
            self.at = [None, None, None]
            self.feed = ""
            self._rise(float(motion.start[0, 2]))
        self.speed = 0
        self._turn_at(float(motion.speed_rpm[0]))

    def _turn_at(self, speed_rpm: float) -> None:
        """The spindle at a speed, and time to reach it; the planner changes speed at the safe height only."""
        speed = round(speed_rpm)
        if speed == self.speed:
            return
        self.block(f"S{speed} M3" if speed else "M5")
        if speed:
            self.block(f"G4 P{self.spindle.spin_up:.1f}")
        self.speed = speed

    def closing(self, *, spindle: bool) -> None:
        if spindle:
            self.block("M5")
        self.block("M30")
        if self.dialect.percent:
            self.lines.append("%")

    def moves(self, run: Run) -> None:
        motion = run.motion
        titles: dict[int, list[str]] = {}
        for section in run.sections:
            titles.setdefault(section.first, []).append(section.title)
        for i in range(len(motion)):
            for title in titles.get(i, ()):
                self.say(title)
            self._turn_at(float(motion.speed_rpm[i]))
            if motion.dwell[i] > 0:
                self.block(f"G4 P{motion.dwell[i]:.1f}")
            if motion.kind[i] == ARC:
                self._arc(motion, i)
            else:
                self._straight(motion, i)

    def _straight(self, motion: Motion, i: int) -> None:
        self._go("G0" if motion.kind[i] == RAPID else "G1", _xyz(motion.end[i]), float(motion.feed[i]))

    def _arc(self, motion: Motion, i: int) -> None:
        if motion.plane[i] != XY:
            raise WriteError("an arc outside the XY plane")
        for end, sweep in _pieces(motion, i):
            self._arc_piece(_xyz(motion.centre[i]), end, sweep, float(motion.feed[i]))

    def _arc_piece(self, centre: XYZ, end: XYZ, sweep: float, feed: float) -> None:
        start = tuple(self._place(axis) for axis in (0, 1))
        radius = math.dist(start, centre[:2])
        if radius * (1 - math.cos(min(abs(sweep), math.pi) / 2)) < FLAT_ARC:
            self._go("G1", end, feed)
            return
        i, j = (self._show(round((centre[axis] - start[axis]) / self._unit)) for axis in (0, 1))
        self._go("G3" if sweep > 0 else "G2", end, feed, tail=f" I{i} J{j}", keep_xy=True)

    def _go(self, code: str, end: XYZ, feed: float, *, tail: str = "", keep_xy: bool = False) -> None:
        words = [code]
        for axis, letter in enumerate("XYZ"):
            count = self._count(end[axis], axis)
            if count != self.at[axis] or (keep_xy and axis < 2):
                words.append(f"{letter}{self._show(count)}")
                self.at[axis] = count
        if len(words) == 1:
            return
        if code != "G0":
            tail += self._feed_word(feed)
        self.block(" ".join(words) + tail)

    def _feed_word(self, feed: float) -> str:
        per_minute = feed * 60 / (1 if self.units == "mm" else 25.4)
        shown = f"{per_minute:.{FEED_PLACES[self.units]}f}"
        if shown == self.feed:
            return ""
        self.feed = shown
        return f" F{shown}"

    @property
    def _unit(self) -> float:
        """Millimetres in one count of the last decimal."""
        one = 1.0 if self.units == "mm" else 25.4
        return one / float(10 ** PLACES[self.units])

    def _count(self, value: float, axis: int) -> int:
        return round((value - self.zero[axis]) / self._unit)

    def _place(self, axis: int) -> float:
        """Where the controller stands on an axis, in the internal frame."""
        count = self.at[axis]
        if count is None:
            raise WriteError("an arc before the first position")
        return count * self._unit + self.zero[axis]

    def _show(self, count: int) -> str:
        text = f"{count / 10 ** PLACES[self.units]:.{PLACES[self.units]}f}".rstrip("0")
        text = text + "0" if text.endswith(".") else text
        return text.removesuffix(".0") if text != "-0.0" else "0"


def _pieces(motion: Motion, i: int) -> Iterator[tuple[XYZ, float]]:
    """An arc as pieces of at most half a turn: their ends and sweeps."""
    sweep = float(motion.sweep[i])
    count = max(1, math.ceil(abs(sweep) / LONGEST_SWEEP - 1e-9))
    start, end, centre = motion.start[i], motion.end[i], motion.centre[i]
    first, second, along = PLANE_AXES[XY]
    for piece in range(1, count + 1):
        if piece == count:
            yield _xyz(end), sweep / count
            return
        turn = sweep * piece / count
        arm = start - centre
        yield (
            (
                float(centre[first] + arm[first] * math.cos(turn) - arm[second] * math.sin(turn)),
                float(centre[second] + arm[first] * math.sin(turn) + arm[second] * math.cos(turn)),
                float(start[along] + (end[along] - start[along]) * piece / count),
            ),
            sweep / count,
        )


def _xyz(row: Sequence[float]) -> XYZ:
    return float(row[0]), float(row[1]), float(row[2])


def _cutter_words(cutter: Cutter, units: System) -> str:
    return (
        f"cutter {cutter.number}: {cutter.name}, {show_length(cutter.diameter, units)}, "
        f"stick-out {show_length(cutter.stick_out, units)}"
    )


def _wrapped(comment: str, limit: int) -> Iterator[str]:
    """The comment in capitals, without the characters that end one, in pieces that fit a line."""
    plain = re.sub(r"[()%;]", " ", comment.upper().replace('"', " in"))
    words = re.sub(r"\s+", " ", plain.encode("ascii", "replace").decode()).strip().split(" ")
    line = ""
    for word in words:
        word = word[:limit]
        if line and len(line) + 1 + len(word) > limit:
            yield line
            line = word
        else:
            line = f"{line} {word}" if line else word
    yield line
