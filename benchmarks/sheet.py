"""A whole sheet, 1220 x 2440 mm: 128 lobed parts with recesses and bridges, a kilometre in 200 000 moves.

`python -m benchmarks.sheet 200000` proves it in this process and prints one line of JSON.
"""

import json
import math
import resource
import sys
import time

import numpy as np
import numpy.typing as npt
from shapely import Polygon, box

from benchmarks.bench import a_cutter
from proveout.job.records import Machine, Spindle
from proveout.program.text import Program
from proveout.proof.prove import prove
from proveout.setup import Block, IntendedFeature, IntendedPart, Obstacle, PlacedClamp, Reach, Setup, Tab

SIZE = (2440.0, 1220.0)
THICK = 18.0
DIAMETER = 6.35
MOVES = 200_000

STEP = 5.12  # mm a move
PITCH = 150.0  # mm from part to part
ACROSS, DEEP = 16, 8
RECESS = 40.0  # mm, radius
RECESS_FLOOR = 10.0
SAFE = 45.0
BRIDGES = (1.2, 3.3, 5.4)  # rad round the part

Points = npt.NDArray[np.float64]


def lobed(turn: Points, away: float = 0.0) -> Points:
    """Points of a part's outline, or of the curve that lies `away` outside of it, about its middle."""
    radius, slope = 55 + 2 * np.cos(8 * turn), -16 * np.sin(8 * turn)
    out = np.column_stack((np.cos(turn), np.sin(turn)))
    aside = np.column_stack((-out[:, 1], out[:, 0]))
    normal = out * radius[:, None] - aside * slope[:, None]
    normal /= np.hypot(normal[:, 0], normal[:, 1])[:, None]
    curve: Points = out * radius[:, None] + away * normal
    return curve


def middles(moves: int) -> list[tuple[float, float]]:
    """Where the parts lie, as many of them as so many moves are for."""
    every = [(95 + PITCH * column, 85 + PITCH * row) for row in range(DEEP) for column in range(ACROSS)]
    return every[: math.ceil(len(every) * moves / MOVES)]


def program(moves: int) -> Program:
    """The text of a program of about so many moves, the zero on the stock's top at its left front corner."""
    lines = ["G21 G90 G17 G94", "T1 M6", "M3 S18000", "G4 P2", f"G0 Z{SAFE - THICK:g}"]
    rings, outline = _recess(), _outline()
    for x, y in middles(moves):
        for path in (rings, outline):
            lines.extend(_written(path + np.array([x, y, -THICK])))
    return Program(
        file="sheet.nc",
        text="\n".join([*lines, "M5", "M2", ""]),
        cutters=(1,),
        dialect="plain",
        units="mm",
    )


def _written(path: Points) -> list[str]:
    points = [f"X{x:.3f} Y{y:.3f} Z{z:.3f}" for x, y, z in path]
    x, y, _ = path[0]
    down = [f"G0 X{x:.3f} Y{y:.3f}", "G0 Z0.5", f"G1 {points[0]} F600", f"{points[1]} F1500"]
    return [*down, *points[2:], f"G0 Z{SAFE - THICK:g}"]


def _recess() -> Points:
    """Rings from the middle outwards, level by level, each level begun by a ramp, about (0, 0, bed)."""
    reach = RECESS - DIAMETER / 2
    radii = np.linspace(0, reach, math.ceil(reach / 3.4) + 1)[1:]
    path: list[Points] = []
    for level in np.linspace(THICK, RECESS_FLOOR, 5)[1:]:
        path.append(np.array([[0.0, 0.0, level + 2.0]]))
        for radius in radii:
            turn = np.linspace(0, math.tau, math.ceil(math.tau * radius / STEP) + 1)
            height = np.full(len(turn), level)
            if radius == radii[0]:
                height = np.linspace(level + 2.0, level, len(turn))
                path.append(np.column_stack((radius * np.cos(turn), radius * np.sin(turn), height)))
                height = np.full(len(turn), level)
            path.append(np.column_stack((radius * np.cos(turn), radius * np.sin(turn), height)))
    return np.concatenate(path)


def _outline() -> Points:
    """Round the part in four passes, each begun by a ramp; the last leaves three bridges."""
    path = []
    begin, before = 0.0, THICK
    for level in (13.5, 9.0, 4.5, -0.2):
        turn = np.linspace(begin, begin + 1.0 + math.tau, math.ceil((1 + math.tau) * 62 / STEP) + 1)
        if level < 0:
            turn = _with_bridges(turn)
        height = before + (level - before) * np.minimum(1.0, turn - begin)
        if level < 0:
            for bridge in BRIDGES:
                away = (turn - bridge + math.pi) % math.tau - math.pi
                height = np.where(np.abs(away) < 0.25, np.maximum(height, 4.0), height)
        path.append(np.column_stack((lobed(turn, DIAMETER / 2), height)))
        begin, before = turn[-1], level
    return np.concatenate(path)


def _with_bridges(turn: Points) -> Points:
    """The same way with points where the cutter rises over each bridge and comes down again."""
    edges = [
        bridge + side * half + lap * math.tau
        for bridge in BRIDGES
        for lap in range(6)
        for side in (-1, 1)
        for half in (0.24, 0.26)
    ]
    inside = [edge for edge in edges if turn[0] < edge < turn[-1]]
    return np.unique(np.concatenate((turn, inside)))


def bench(moves: int) -> Setup:
    """The sheet in four clamps on a plate, with what its parts shall become."""
    places = middles(moves)
    outline = lobed(np.linspace(0, math.tau, 361)[:-1])
    ring = np.linspace(0, math.tau, 181)[:-1]
    circle = RECESS * np.column_stack((np.cos(ring), np.sin(ring)))
    parts = []
    tabs = []
    for number, at in enumerate(places):
        recess = IntendedFeature(
            name="recess",
            intent="",
            region=Polygon(circle + at),
            floor=RECESS_FLOOR,
            through=False,
            tolerance=0.5,
        )
        name = f"part {number + 1}"
        parts.append(
            IntendedPart(name=name, sheet=1, outline=Polygon(outline + at), features=(recess,), tolerance=0.5)
        )
        for turn in lobed(np.array(BRIDGES)) + at:
            tabs.append(Tab(part=name, at=(float(turn[0]), float(turn[1])), length=20.0, height=4.0))
    return Setup(
        name="sheet",
        stock=Block(size=SIZE, thinnest=THICK, mean=THICK, thickest=THICK, material="birch plywood"),
        machine=_machine(),
        reach=Reach(low=(-50.0, -50.0, -5.0), high=(SIZE[0] + 50, SIZE[1] + 50, 90.0)),
        cutters=(a_cutter(DIAMETER, flute_length=22.0, stick_out=35.0),),
        clamps=tuple(
            _clamp(name, x, y)
            for name, x, y in (("A1", 0, 0), ("B1", SIZE[0], 0), ("A2", 0, SIZE[1]), ("B2", SIZE[0], SIZE[1]))
        ),
        inserts=(),
        plate=box(-50, -50, SIZE[0] + 50, SIZE[1] + 50),
        bed_allowance=0.5,
        zero=(0.0, 0.0, THICK),
        parts=tuple(parts),
        tabs=tuple(tabs),
    )


def _machine() -> Machine:
    return Machine(
        name="sheet router",
        travel=(2600.0, 1400.0, 120.0),
        tip_reach=100.0,
        max_feed=(150.0, 150.0, 50.0),
        acceleration=(400.0, 400.0, 400.0),
        corner_deviation=0.02,
        stiffness=250.0,
        dialect="plain",
        units="mm",
        line_limit=80,
        spindle=Spindle(
            min_rpm=8000.0,
            max_rpm=24000.0,
            power=1500.0,
            nut_diameter=28.0,
            nut_length=16.0,
            body_diameter=80.0,
            spin_up=2.0,
        ),
    )


def _clamp(hole: str, x: float, y: float) -> PlacedClamp:
    name = f"clamp at {hole}"
    bar = box(x - 20, y - 20, x + 20, y + 20)
    return PlacedClamp(
        name=name,
        hole=hole,
        bar=Obstacle(kind="clamp", name=name, footprint=bar, bottom=THICK, top=THICK + 15),
        bolt=(),
        pressing=bar,
        force=400.0,
        bolt_size="M6",
    )


def main() -> None:
    moves = int(sys.argv[1])
    text, setup = program(moves), bench(moves)
    said: list[tuple[str, float]] = []
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    begun, spent = time.perf_counter(), time.process_time()
    verdict = prove([text], setup, progress=lambda what: said.append((what, time.perf_counter() - begun)))
    seconds = time.perf_counter() - begun
    spent = time.process_time() - spent
    motion = verdict.programs[0].motion
    print(
        json.dumps(
            {
                "moves": len(motion),
                "metres": float(np.linalg.norm(motion.end - motion.start, axis=1).sum()) / 1000,
                "cell": verdict.result.cell,
                "cells": verdict.result.heights.size,
                "seconds": seconds,
                "cpu": spent,
                "stages": said,
                "mb": resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024,
                "mb_before": before,
                "minutes": verdict.minutes.total,
                "ready": verdict.ready,
                "findings": [finding.text for finding in verdict.findings[:6]],
            }
        )
    )


if __name__ == "__main__":
    main()
