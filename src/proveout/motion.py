"""Motion: the array of moves. The one language that paths, program and proof share.

A motion says where the cutter's tip centre goes, in which frame the owner of the motion says (paths and
proof: internal; a program just read: the program's own), in mm, mm/s, turns a minute and seconds.
"""

import math
from array import array
from collections.abc import Iterable
from dataclasses import dataclass, fields, replace
from typing import Final, NamedTuple

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int32]
Bytes = npt.NDArray[np.uint8]

RAPID: Final = 0
LINE: Final = 1
ARC: Final = 2

XY: Final = 0  # arcs turn about +Z
ZX: Final = 1  # about +Y
YZ: Final = 2  # about +X

# For each plane: its first axis, its second axis, and the axis an arc turns about.
PLANE_AXES: Final = ((0, 1, 2), (2, 0, 1), (1, 2, 0))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Motion:
    """n moves, in order; every array is read-only and has n rows."""

    kind: Bytes  # (n,) RAPID, LINE or ARC
    start: Floats  # (n, 3) mm
    end: Floats  # (n, 3) mm
    centre: Floats  # (n, 3) mm, the arc's centre at the height of its start; zeros where there is none
    sweep: Floats  # (n,) rad about the plane's axis, positive anticlockwise; 0 for rapids and lines
    plane: Bytes  # (n,) XY, ZX or YZ; means something for arcs only
    feed: Floats  # (n,) mm/s along the path; 0 for rapids, whose speed is the machine's own
    speed_rpm: Floats  # (n,) of the spindle during the move; 0 where it stands still
    dwell: Floats  # (n,) s, waited before the move
    cutter: Ints  # (n,) number of the cutter in the spindle; 0 where the program named none
    line: Ints  # (n,) line of the program text, 1-based; 0 where there is no text yet

    def __post_init__(self) -> None:
        count = len(self.kind)
        for field in fields(self):
            array = getattr(self, field.name)
            if len(array) != count:
                raise ValueError(f"motion: {field.name} has {len(array)} rows, kind has {count}")
            array.setflags(write=False)

    def __len__(self) -> int:
        return len(self.kind)


class Chords(NamedTuple):
    """Straight pieces of a motion; arcs chopped, everything else as it is."""

    start: Floats  # (m, 3)
    end: Floats  # (m, 3)
    parent: Ints  # (m,) index of the move that each piece belongs to


def lengths(motion: Motion) -> Floats:
    """Length of each move along its path, (n,) mm; a helix along the helix."""
    out: Floats = np.linalg.norm(motion.end - motion.start, axis=1)
    arcs = motion.kind == ARC
    out[arcs] = np.hypot(arc_radius(motion) * motion.sweep, _rise(motion))[arcs]
    return out


def arc_radius(motion: Motion) -> Floats:
    """Radius of each arc in its plane, (n,) mm; 0 for other moves."""
    out = np.zeros(len(motion))
    for plane, (first, second, _) in enumerate(PLANE_AXES):
        rows = (motion.kind == ARC) & (motion.plane == plane)
        arm = motion.start[rows] - motion.centre[rows]
        out[rows] = np.hypot(arm[:, first], arm[:, second])
    return out


def _rise(motion: Motion) -> Floats:
    along = np.array([axes[2] for axes in PLANE_AXES])[motion.plane]
    rows = np.arange(len(motion))
    rise: Floats = motion.end[rows, along] - motion.start[rows, along]
    return rise


def chords(motion: Motion, tolerance: float) -> Chords:
    """The motion as straight pieces, none further than `tolerance` mm from the arc it stands for."""
    count = np.ones(len(motion), dtype=np.int64)
    radius = arc_radius(motion)
    is_arc = motion.kind == ARC
    if is_arc.any():
        ratio = np.clip(1 - tolerance / np.maximum(radius[is_arc], tolerance), -1, 1)
        step = np.maximum(2 * np.arccos(ratio), 1e-6)
        count[is_arc] = np.maximum(1, np.ceil(np.abs(motion.sweep[is_arc]) / step)).astype(np.int64)
    parent = np.repeat(np.arange(len(motion)), count)
    first = np.concatenate(([0], np.cumsum(count)[:-1])) if len(motion) else np.zeros(0, dtype=np.int64)
    number = np.arange(len(parent)) - first[parent]
    start = _points(motion, parent, number / count[parent])
    end = _points(motion, parent, (number + 1) / count[parent])
    start[number == 0] = motion.start
    end[number == count[parent] - 1] = motion.end
    return Chords(start, end, parent.astype(np.int32))


def _points(motion: Motion, rows: npt.NDArray[np.int64], share: Floats) -> Floats:
    """Where move `rows[i]` is after a share of its way, (m, 3)."""
    start, end = motion.start[rows], motion.end[rows]
    out: Floats = start + (end - start) * share[:, None]
    for plane, (first, second, _) in enumerate(PLANE_AXES):
        arcs = np.flatnonzero((motion.kind[rows] == ARC) & (motion.plane[rows] == plane))
        if arcs.size == 0:
            continue
        centre = motion.centre[rows[arcs]]
        arm = start[arcs] - centre
        turn = motion.sweep[rows[arcs]] * share[arcs]
        cos, sin = np.cos(turn), np.sin(turn)
        out[arcs, first] = centre[:, first] + arm[:, first] * cos - arm[:, second] * sin
        out[arcs, second] = centre[:, second] + arm[:, first] * sin + arm[:, second] * cos
    return out


def shifted(motion: Motion, offset: tuple[float, float, float]) -> Motion:
    """The same motion in a frame whose origin lies at -offset: every point moves by offset."""
    by = np.asarray(offset, dtype=np.float64)
    centre = np.where((motion.kind == ARC)[:, None], motion.centre + by, motion.centre)
    return replace(motion, start=motion.start + by, end=motion.end + by, centre=centre)


def joined(motions: Iterable[Motion]) -> Motion:
    """Motions one after the other."""
    parts = list(motions)
    if not parts:
        return MotionBuilder((0.0, 0.0, 0.0)).motion()
    return Motion(
        **{
            field.name: np.concatenate([getattr(one, field.name) for one in parts])
            for field in fields(Motion)
        }
    )


def stepped(motion: Motion, step: float) -> tuple[Motion, Ints]:
    """The motion in pieces no longer than `step` mm, arcs kept as arcs, and the move each piece is of, (m,).

    The pieces of a move end to end are that move; its dwell stays before the first of them. Rapids and
    straight ways up or down stay whole.
    """
    count = np.maximum(1, np.ceil(lengths(motion) / step - 1e-9)).astype(np.int64)
    upright = (motion.start[:, :2] == motion.end[:, :2]).all(axis=1) & (motion.kind != ARC)
    count[upright | (motion.kind == RAPID)] = 1
    parent = np.repeat(np.arange(len(motion)), count)
    first = np.cumsum(count) - count
    number = np.arange(len(parent)) - first[parent]
    start = _points(motion, parent, number / count[parent])
    end = _points(motion, parent, (number + 1) / count[parent])
    start[first] = motion.start
    end[first + count - 1] = motion.end
    arrays = {field.name: getattr(motion, field.name)[parent] for field in fields(Motion)}
    along = np.array([axes[2] for axes in PLANE_AXES])[arrays["plane"]]
    arcs = np.flatnonzero(arrays["kind"] == ARC)
    arrays["centre"][arcs, along[arcs]] = start[arcs, along[arcs]]  # at the height of each piece's start
    arrays |= {"start": start, "end": end, "sweep": arrays["sweep"] / count[parent]}
    arrays["dwell"] = np.where(number == 0, arrays["dwell"], 0.0)
    return Motion(**arrays), parent.astype(np.int32)


class Section(NamedTuple):
    """Where a named stretch of moves begins."""

    first: int  # index of its first move
    title: str  # "knob 3: head recess"


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """All moves of one cutter, from safe height to safe height, with the names of their stretches."""

    cutter: int
    motion: Motion
    sections: tuple[Section, ...]


COLUMNS: Final = 17  # of a builder's table


class MotionBuilder:
    """Collects moves one by one; `motion()` freezes what was collected.

    Set `feed`, `speed_rpm`, `cutter` and `line` as they change; each move takes the values of its moment.
    """

    def __init__(self, at: tuple[float, float, float]) -> None:
        self.at = at
        self.feed = 0.0
        self.speed_rpm = 0.0
        self.cutter = 0
        self.line = 0
        self._waiting = 0.0
        self._rows = array("d")  # COLUMNS numbers a move: a list of tuples takes twice as long

    def __len__(self) -> int:
        return len(self._rows) // COLUMNS

    def rapid(self, to: tuple[float, float, float]) -> None:
        """A rapid to a point."""
        self._add(RAPID, to, feed=0.0)

    def line_to(self, to: tuple[float, float, float]) -> None:
        """A straight cut to a point at the present feed."""
        self._add(LINE, to, feed=self.feed)

    def arc_to(
        self,
        to: tuple[float, float, float],
        centre: tuple[float, float],
        sweep: float,
        plane: int = XY,
    ) -> None:
        """An arc or helix to a point; `centre` on the plane's first and second axis, `sweep` in rad."""
        first, second, along = PLANE_AXES[plane]
        full = [0.0, 0.0, 0.0]
        full[first], full[second], full[along] = centre[0], centre[1], self.at[along]
        self._add(ARC, to, feed=self.feed, centre=(full[0], full[1], full[2]), sweep=sweep, plane=plane)

    def wait(self, seconds: float) -> None:
        """A dwell before the next move."""
        self._waiting += seconds

    def _add(
        self,
        kind: int,
        to: tuple[float, float, float],
        *,
        feed: float,
        centre: tuple[float, float, float] = (0.0, 0.0, 0.0),
        sweep: float = 0.0,
        plane: int = XY,
    ) -> None:
        state = (feed, self.speed_rpm, self._waiting, self.cutter, self.line)
        self._rows.extend((kind, *self.at, *to, *centre, sweep, plane, *state))
        self._waiting = 0.0
        self.at = to

    def motion(self) -> Motion:
        """Everything collected so far."""
        table = np.array(self._rows, dtype=np.float64).reshape(len(self), COLUMNS)
        return Motion(
            kind=table[:, 0].astype(np.uint8),
            start=table[:, 1:4].copy(),
            end=table[:, 4:7].copy(),
            centre=table[:, 7:10].copy(),
            sweep=table[:, 10].copy(),
            plane=table[:, 11].astype(np.uint8),
            feed=table[:, 12].copy(),
            speed_rpm=table[:, 13].copy(),
            dwell=table[:, 14].copy(),
            cutter=table[:, 15].astype(np.int32),
            line=table[:, 16].astype(np.int32),
        )


def turn_between(
    start: tuple[float, float], end: tuple[float, float], centre: tuple[float, float], ccw: bool
) -> float:
    """Signed sweep in radians from start to end about centre; equal points make a full turn."""
    first = math.atan2(start[1] - centre[1], start[0] - centre[0])
    last = math.atan2(end[1] - centre[1], end[0] - centre[0])
    turn = (last - first) % math.tau if ccw else -((first - last) % math.tau)
    return turn or (math.tau if ccw else -math.tau)
