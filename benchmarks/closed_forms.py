"""Removed volumes and wall places at 0.1 mm against closed forms."""

import math

from benchmarks.bench import a_cutter
from proveout.motion import Motion, MotionBuilder
from proveout.proof.removal import fresh_field, remove

SIZE = (60.0, 40.0)
TOP = 12.0
CELL = 0.1
RADIUS = 3.0


def rows() -> list[tuple[str, str, str]]:
    """A row for each closed form: the relative error of the removed volume."""
    return [_row(*case) for case in (_slot(), _ramp(), _helix(), _pocket())]


def _row(what: str, motion: Motion, expected: float) -> tuple[str, str, str]:
    field = fresh_field(SIZE, TOP, cell=CELL, margin=0.0)
    removed = float(remove(field, motion, [a_cutter(2 * RADIUS)]).removed.sum())
    return f"removed volume: {what}", f"{100 * (removed / expected - 1):+.3f} %", "within 0.5 %"


def _builder(x: float, y: float, z: float) -> MotionBuilder:
    moves = MotionBuilder((x, y, z))
    moves.cutter, moves.feed, moves.speed_rpm = 1, 20.0, 18_000.0
    return moves


def _slot() -> tuple[str, Motion, float]:
    length, depth = 30.0, 3.0
    moves = _builder(15.03, 20.07, TOP - depth)
    moves.line_to((15.03 + length, 20.07, TOP - depth))
    return "slot", moves.motion(), depth * (2 * RADIUS * length + math.pi * RADIUS**2)


def _ramp() -> tuple[str, Motion, float]:
    length, depth = 30.0, 3.0
    moves = _builder(15.03, 20.07, TOP)
    moves.line_to((15.03 + length, 20.07, TOP - depth))
    return "ramp", moves.motion(), depth * (RADIUS * length + math.pi * RADIUS**2)


def _helix() -> tuple[str, Motion, float]:
    path, depth = 2.5, 7.5
    moves = _builder(30.0 + path, 20.0, TOP)
    moves.arc_to((30.0 + path, 20.0, TOP - depth), (30.0, 20.0), 5 * math.tau)
    moves.arc_to((30.0 + path, 20.0, TOP - depth), (30.0, 20.0), math.tau)
    return "helix and a flat turn", moves.motion(), math.pi * (path + RADIUS) ** 2 * depth


def _pocket() -> tuple[str, Motion, float]:
    """A pocket of 26 x 16 mm with corners as round as the cutter, cleared in rows."""
    width, depth, floor = 20.0, 10.0, 4.0
    left, front = 20.0, 15.0
    moves = _builder(left, front, TOP - floor)
    for y in (0.0, 2.5, 5.0, 7.5, 10.0):
        moves.line_to((left, front + y, TOP - floor))
        moves.line_to((left + width, front + y, TOP - floor))
    for x, y in ((width, depth), (0.0, depth), (0.0, 0.0), (width, 0.0), (width, depth)):
        moves.line_to((left + x, front + y, TOP - floor))
    area = width * depth + 2 * (width + depth) * RADIUS + math.pi * RADIUS**2
    return "pocket", moves.motion(), area * floor
