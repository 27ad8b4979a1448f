"""Choosing with nothing spared: every node of the map, every cut traced at its own feeds, no edge kept."""

import math
from collections.abc import Callable, Iterable, Iterator
from typing import Any

import numpy as np
import numpy.typing as npt

from proveout.cutting import force
from proveout.cutting.data import CuttingData
from proveout.cutting.limits import THINNEST, Asked, Way
from proveout.hold.slip import Contacts, slip_map
from proveout.job.records import Cutter, Machine
from proveout.motion_time import move_seconds
from proveout.paths.travel import Cut
from proveout.shelf.tables import Material, cutting_energy, specific_force

Floats = npt.NDArray[np.float64]


def weakest_plainly(
    held: Contacts, size: tuple[float, float], coarse: object, places: Floats
) -> tuple[int, float]:
    """The weakest place by a whole map."""
    stands = slip_map(held, size).at(places)
    return int(stands.argmin()), float(stands.min())


def timer_plainly(
    cuts: Callable[[CuttingData], Iterable[tuple[Cut, ...]]], machine: Machine
) -> Callable[[CuttingData], Iterator[float]]:
    """Every cut traced again each time."""

    def times(data: CuttingData) -> Iterator[float]:
        for some in cuts(data):
            yield math.fsum(math.fsum(move_seconds(cut.motion, machine)) for cut in some)

    return times


def asker_plainly(cutter: Cutter, material: Material, machine: Machine) -> Callable[[Way], Asked]:
    """Everything reckoned again for each way."""

    def asks(way: Way) -> Asked:
        energy = cutting_energy(material.energy_class)
        per_tooth = force.chip_load(way.feed, cutter.flutes, way.speed_rpm)
        angle = force.engaged_angle(way.width, cutter.radius)
        chip, mean = force.thickest_chip(per_tooth, angle), force.mean_chip(per_tooth, angle)
        pushed = force.tooth_force(
            way.depth, chip, specific_force(energy, max(chip, THINNEST), material.density)
        )
        specific = specific_force(energy, max(mean, THINNEST), material.density)
        return Asked(
            per_tooth=per_tooth,
            force=pushed,
            lift=force.lift(pushed, cutter.spiral),
            power=force.cutting_power(way.width, way.depth, way.feed, specific),
            push_off=pushed * force.give(cutter, machine),
        )

    return asks


def reach_plainly(squared: Any, gain: Any) -> None:
    """Braking backwards, picking up speed forwards, node by node."""
    speeds, gains = squared.tolist(), gain.tolist()
    for node in reversed(range(len(gains))):
        speeds[node] = min(speeds[node], speeds[node + 1] + gains[node])
    for node in range(len(gains)):
        speeds[node + 1] = min(speeds[node + 1], speeds[node] + gains[node])
    squared[:] = speeds
