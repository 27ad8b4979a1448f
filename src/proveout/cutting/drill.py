"""Drilling: speed, feed and pecks of a cutter that goes straight down."""

from dataclasses import replace
from typing import Final

from proveout.cutting.data import CuttingData
from proveout.cutting.force import drill_thrust
from proveout.cutting.limits import DEFAULT, PRACTICE, Bench
from proveout.cutting.reasons import Candidate, at_least, least, typed
from proveout.figure import Figure
from proveout.job.records import Cutter

DRILL_RPM: Final = 8_000.0
THRUST_LIMIT: Final = 50.0  # N, a drill on a light gantry


def drilling(cutter: Cutter, bench: Bench) -> CuttingData:
    """Values for going straight down with a drill, or a cutter that is the hole."""
    prefix = f"cutting.cutter {cutter.number}.drill"
    spindle = bench.machine.spindle
    speeds = [
        Candidate(DRILL_RPM, "a drill runs slowly in wood", PRACTICE),
        Candidate(spindle.max_rpm, "the spindle's highest speed", "shop file"),
    ]
    if cutter.max_rpm is not None:
        speeds.append(Candidate(cutter.max_rpm, "the speed marked on the cutter", "shop file"))
    speed = at_least(
        least(f"{prefix}.speed", "rpm", speeds, ()), spindle.min_rpm, "the spindle's lowest speed"
    )
    thrust = drill_thrust(cutter.diameter, 1.0)
    feeds = [
        Candidate(THRUST_LIMIT / thrust * speed.value / 60, f"a thrust of {THRUST_LIMIT:g} N", DEFAULT),
        Candidate(bench.machine.max_feed[2], "the machine's highest feed in Z", "shop file"),
    ]
    feed = least(f"{prefix}.feed", "mm/s", feeds, (speed,))
    feed = replace(feed, value=typed(feed.value, bench.machine))
    depth = Figure(
        name=f"{prefix}.depth of cut",
        value=3 * cutter.diameter,
        unit="mm",
        rule="three diameters at a time, then the drill is drawn to clear its chips",
        source=PRACTICE,
    )
    return CuttingData(
        cutter=cutter.number,
        depth_of_cut=depth.value,
        stepover=cutter.diameter,
        feed=feed.value,
        plunge_feed=feed.value,
        ramp_deg=90.0,
        speed_rpm=speed.value,
        finish_allowance=0.0,
        finish_feed=feed.value,
        finish_depth=depth.value,
        limits=tuple((figure.name.rsplit(".", 1)[-1], figure.rule) for figure in (depth, feed)),
        figures=(speed, feed, depth),
    )
