"""The cutter's travel over one cut: down to the work, along segments, up again.

What is never done here: a rapid into or through material. Rapids go straight up, across at the safe
height, and down to the plane just above the stock; all the rest is fed.
"""

import math
from array import array
from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
import shapely

from proveout.curve import Curve, Point, Segment, from_points, moved
from proveout.cutting.data import CuttingData
from proveout.job.records import Cutter
from proveout.motion import ARC, Motion, MotionBuilder, Section
from proveout.parts.part import PlacedPart
from proveout.paths.offset import region_of
from proveout.paths.paces import ALONG, FINISHING, PLUNGING, RAPID, Paces, paces_of, sloped

SAME: Final = 1e-7  # mm, points nearer than this are one
FLAT_ARC: Final = 1e-5  # mm, an arc that rises less than this over its chord is written as a line
TOUCH: Final = 0.2  # mm above the expected surface where the feed begins, for a board that isn't quite flat


@dataclass(frozen=True, slots=True, kw_only=True)
class Heights:
    """Levels that every cut on a sheet shares, above the bed."""

    safe: float
    near: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Descent:
    """From which height to which a cut goes, and with what."""

    top: float  # of the material
    floor: float
    cutter: Cutter
    data: CuttingData
    heights: Heights


@dataclass(frozen=True, slots=True, kw_only=True)
class Cut:
    """The moves of one cut, from the safe height over its start to the safe height over its end."""

    motion: Motion
    sections: tuple[Section, ...]  # titles within the cut; "" for the cut itself
    paces: Paces  # by what each move gets its feed


class Room:
    """Where the cutter's centre may go in a straight line without touching a wall."""

    def __init__(self, rings: Iterable[Curve]) -> None:
        self.shape = region_of(tuple(rings), 0.002).buffer(0.003)  # more than the chords are off
        shapely.prepare(self.shape)
        self._known: dict[tuple[Point, Point], bool] = {}  # the same ways are asked for level by level

    def is_open(self, start: Point, end: Point) -> bool:
        """Whether the straight way between two points stays inside."""
        way = start, end
        if way not in self._known:
            self._known[way] = bool(self.shape.covers(shapely.LineString(way)))
        return self._known[way]


class Travel:
    """Collects the moves of one cut."""

    def __init__(self, heights: Heights, data: CuttingData) -> None:
        self.heights = heights
        self.data = data
        self.pace = ALONG  # a finishing pass has its own
        self._moves: MotionBuilder | None = None
        self._paces = array("d")  # by what, way, drop of each move
        self._sections: list[Section] = []
        self._title = ""

    @property
    def here(self) -> Point:
        """Where the cutter's centre is, from above."""
        return self._builder.at[0], self._builder.at[1]

    @property
    def z(self) -> float:
        """Height of the cutter's tip."""
        return self._builder.at[2]

    @property
    def has_begun(self) -> bool:
        """Whether the cutter has been brought to the work."""
        return self._moves is not None

    @property
    def _builder(self) -> MotionBuilder:
        if self._moves is None:
            raise ValueError("the cutter has not been brought to the work yet")
        return self._moves

    def title(self, text: str) -> None:
        """Names what follows."""
        self._title = text
        if self._moves is not None:
            self._sections.append(Section(len(self._moves), text))

    def begin(self, point: Point) -> None:
        """Puts the cutter over a point at the safe height; the first thing that a cut does."""
        self._moves = MotionBuilder((*point, self.heights.safe))
        self._moves.speed_rpm = self.data.speed_rpm
        self._moves.cutter = self.data.cutter
        self._sections = [Section(0, self._title)]

    def reach(self, point: Point, z: float, room: Room | None = None) -> None:
        """Brings the tip to a point: straight through open room where there is some, else over the top."""
        if self._moves is None:
            self.begin(point)
            self._descend(z)
        elif room and self.z < self.heights.safe and room.is_open(self.here, point):
            if self.z < z:
                self.straight_to(z)
            self.line(point)
            self.straight_to(z)
        else:
            self.lift()
            self.over(point)
            self._descend(z)

    def lift(self) -> None:
        """Straight up to the safe height."""
        if self.z < self.heights.safe - SAME:
            self._rapid((*self.here, self.heights.safe))

    def over(self, point: Point) -> None:
        """Across at the safe height."""
        if math.dist(point, self.here) > SAME:
            self._rapid((*point, self.heights.safe))

    def _descend(self, z: float) -> None:
        self.down_to_near()
        self.straight_to(z)

    def down_to_near(self) -> None:
        """A rapid down to the plane just above the stock."""
        if self.heights.near < self.z - SAME:
            self._rapid((*self.here, self.heights.near))

    def up_to_near(self) -> None:
        """A rapid straight up, out of a drilled hole."""
        if self.heights.near > self.z + SAME:
            self._rapid((*self.here, self.heights.near))

    def straight_to(self, z: float) -> None:
        """Straight down at the plunge feed, or up out of the cut at a rapid."""
        if z > self.z + SAME:
            self._rapid((*self.here, z))
        elif z < self.z - SAME:
            self._builder.feed = self.data.plunge_feed
            self._builder.line_to((*self.here, z))
            self._paces.extend((PLUNGING, 0.0, 0.0))

    def _rapid(self, to: tuple[float, float, float]) -> None:
        self._builder.rapid(to)
        self._paces.extend((RAPID, 0.0, 0.0))

    def line(self, point: Point, z: float | None = None) -> None:
        """A straight cut, level unless a height is given."""
        self.follow((Segment(self.here, point),), z)

    def follow(self, segments: Iterable[Segment], z: float | None = None) -> None:
        """Along segments, descending or rising evenly to a height."""
        pieces = [(one, size) for one in segments if (size := one.length) > SAME]
        whole = sum(size for _, size in pieces)
        if not pieces:
            return
        end = self.z if z is None else z
        begin, done = self.z, 0.0
        drop = abs(begin - end)
        pace = (self.pace, 0.0, 0.0) if drop < SAME else (self.pace, math.hypot(whole, begin - end), drop)
        feed = self.data.finish_feed if self.pace == FINISHING else self.data.feed
        self._builder.feed = sloped(feed, self.data.plunge_feed, *pace[1:])
        for one, size in pieces:
            done += size
            self._add(one, size, begin + (end - begin) * (done / whole))
            self._paces.extend(pace)

    def _add(self, piece: Segment, size: float, z: float) -> None:
        moves = self._builder
        if piece.centre is None or size**2 / (8 * piece.radius) < FLAT_ARC:
            moves.line_to((*piece.end, z))
        else:
            moves.arc_to((*piece.end, z), piece.centre, piece.sweep)

    def done(self) -> Cut:
        """The finished cut, lifted to the safe height."""
        self.lift()
        motion = self._builder.motion()
        return Cut(motion=motion, sections=tuple(self._sections), paces=paces_of(self._paces))


def helix(travel: Travel, centre: Point, drop_to: float, pitch: float) -> None:
    """Anticlockwise turns down to a height and one level turn there; starts where the cutter is."""
    turns = max(1, math.ceil((travel.z - drop_to) / pitch - 1e-9))
    begin = travel.z
    for turn in range(1, turns + 1):
        level = begin + (drop_to - begin) * turn / turns
        travel.follow(full_turn(centre, travel.here), level if turn < turns else drop_to)
    travel.follow(full_turn(centre, travel.here))


def full_turn(centre: Point, start: Point) -> tuple[Segment, Segment]:
    """One anticlockwise turn about a centre, as two halves."""
    across = 2 * centre[0] - start[0], 2 * centre[1] - start[1]
    return Segment(start, across, centre), Segment(across, start, centre)


def helix_pitch(radius: float, data: CuttingData) -> float:
    """Descent in one turn, mm: the ramp's angle on the centre's path, no more than the depth of cut."""
    return min(math.tau * radius * math.tan(math.radians(data.ramp_deg)), data.depth_of_cut)


def levels(top: float, floor: float, most: float) -> tuple[float, ...]:
    """Heights of equal passes from a surface down to a floor, none deeper than `most`."""
    count = max(1, math.ceil((top - floor) / most - 1e-9))
    return *(top + (floor - top) * number / count for number in range(1, count)), floor


def laid(cut: Cut, placed: PlacedPart) -> Cut:
    """A cut in a part's own frame, moved to where the part lies."""
    corners = moved(from_points(((0.0, 0.0), (1.0, 0.0), (0.0, 1.0))), turn_deg=placed.turn_deg)
    _, along, across = (one.start for one in corners.segments)
    turn = np.array([[*along, 0.0], [*across, 0.0], [0.0, 0.0, 1.0]])
    shift = np.array([placed.x, placed.y, 0.0])
    motion = cut.motion
    centre = np.where((motion.kind == ARC)[:, None], motion.centre @ turn + shift, motion.centre)
    there = replace(motion, start=motion.start @ turn + shift, end=motion.end @ turn + shift, centre=centre)
    return replace(cut, motion=there)
