"""The chooser: depth, stepover, feed and speed for one cutter and one kind of cut, each with what limits it.

Every value is the least of several candidates, each the answer of one constraint; the constraint that gave
the least is the weakest link, and it is named.
"""

import math
from dataclasses import dataclass
from typing import Final, NamedTuple

from proveout.cutting.data import CutKind, CuttingData
from proveout.cutting.force import (
    CARBIDE,
    FLUTED,
    STEEL,
    bending,
    cutting_power,
    drill_thrust,
    feed_for,
    lift,
    tooth_force,
)
from proveout.cutting.force import (
    chip_load as chip_load_of,
)
from proveout.figure import Figure
from proveout.hold.friction import plate_friction
from proveout.job.records import Cutter, Machine
from proveout.shelf.cited import cited
from proveout.shelf.tables import (
    CuttingEnergy,
    Material,
    chip_load,
    cutting_energy,
    specific_force,
)

PRACTICE: Final = "common practice, no source"
DEFAULT: Final = "project default"

USUAL_RPM: Final = 18_000.0  # small cutters in wood
DRILL_RPM: Final = 8_000.0
DEPTH_SHARE: Final = 0.5  # of the diameter, a slot on a light gantry
STEP_SHARE: Final = 0.4  # of the diameter
PLUNGE_SHARE: Final = 0.2  # of the feed
RAMP_DEG: Final = 3.0
FINISH: Final = 0.2  # mm left for the finishing pass of a recess
DULL: Final = 2.0  # a dull edge doubles the force
HOLD_SAFETY: Final = 3.0  # on friction alone
WALL_ERROR: Final = {"recess": 0.10, "bore": 0.05, "slot": 0.05, "outline": 0.05, "drill": 0.05}  # mm
POWER_SHARE: Final = 0.8  # of the spindle's shaft power
THRUST_LIMIT: Final = 50.0  # N, a drill on a light gantry
RUBBING: Final = 0.02  # mm a tooth, below which an edge rubs and burns


class Candidate(NamedTuple):
    """What one constraint allows."""

    value: float
    reason: str
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Bench:
    """What the chooser must respect besides the cutter."""

    material: Material
    machine: Machine
    hold: float | None  # N, sideways force that the clamps can stand; None where nothing is stated


class _Work(NamedTuple):
    """The material as the edge meets it."""

    energy: CuttingEnergy
    load: float  # chip load
    density: float

    @property
    def specific(self) -> float:
        """Specific cutting force at this chip, N/mm2."""
        return specific_force(self.energy, self.load, self.density)


def choose(cutter: Cutter, kind: CutKind, bench: Bench) -> CuttingData:
    """Cutting values for a cutter and a kind of cut."""
    if kind == "drill":
        return _drilling(cutter, bench)
    prefix = f"cutting.cutter {cutter.number}.{kind}"
    load = _load(prefix, cutter, bench)
    work = _Work(cutting_energy(bench.material.energy_class), load.value, bench.material.density)
    speed, feed = _speed_and_feed(prefix, cutter, bench, load)
    depth = _least(f"{prefix}.depth of cut", "mm", _depths(cutter, kind, bench, work, feed.value), (load,))
    step = _least(f"{prefix}.stepover", "mm", _steps(cutter), ())
    plunge = _least(f"{prefix}.plunge feed", "mm/s", _plunges(cutter, bench.machine, feed.value), (feed,))
    force = _force(prefix, work, depth, load)
    figures = (load, speed, feed, depth, step, plunge, force)
    return CuttingData(
        cutter=cutter.number,
        depth_of_cut=depth.value,
        stepover=step.value,
        feed=feed.value,
        plunge_feed=plunge.value,
        ramp_deg=RAMP_DEG,
        speed_rpm=speed.value,
        finish_allowance=FINISH if kind == "recess" else 0.0,
        limits=tuple((figure.name.rsplit(".", 1)[-1], figure.rule) for figure in (depth, step, feed, plunge)),
        figures=figures,
    )


def peak_force(data: CuttingData, material: Material, flutes: int) -> float:
    """Greatest sideways force of a cut with a dull edge, N: what clamps and tabs must stand."""
    load = chip_load_of(data.feed, flutes, data.speed_rpm)
    work = _Work(cutting_energy(material.energy_class), load, material.density)
    return DULL * tooth_force(data.depth_of_cut, load, work.specific)


def _load(prefix: str, cutter: Cutter, bench: Bench) -> Figure:
    row = chip_load(bench.material.chip_class, cutter.diameter)
    return Figure(
        name=f"{prefix}.chip load",
        value=max(row.load.min, RUBBING),
        unit="mm",
        rule="the low end of the range for this cutter and material, since the machine is light",
        source=cited(row),
        low=row.load.min,
        high=row.load.max,
    )


def _speed_and_feed(prefix: str, cutter: Cutter, bench: Bench, load: Figure) -> tuple[Figure, Figure]:
    """Speed first, then the feed that keeps the chip; the speed gives way where the feed can't follow."""
    spindle = bench.machine.spindle
    most_feed = min(bench.machine.max_feed[:2])
    speeds = [
        Candidate(USUAL_RPM, "the usual speed of small cutters in wood", PRACTICE),
        Candidate(spindle.max_rpm, "the spindle's highest speed", "shop file"),
        Candidate(
            most_feed * 60 / (load.value * cutter.flutes),
            "the speed at which the machine's feed still keeps the chip load",
            "shop file",
        ),
    ]
    if cutter.max_rpm is not None:
        speeds.append(Candidate(cutter.max_rpm, "the speed marked on the cutter", "shop file"))
    speed = _least(f"{prefix}.speed", "rpm", speeds, (load,))
    speed = _at_least(speed, spindle.min_rpm, "the spindle's lowest speed, though less was wanted")
    feeds = [
        Candidate(
            feed_for(load.value, cutter.flutes, speed.value),
            "chip load times flutes times speed",
            "definition of the chip load",
        ),
        Candidate(most_feed, "the machine's highest feed", "shop file"),
    ]
    return speed, _rounded_down(_least(f"{prefix}.feed", "mm/s", feeds, (load, speed)), bench.machine)


def _depths(cutter: Cutter, kind: CutKind, bench: Bench, work: _Work, feed: float) -> list[Candidate]:
    """Depth of cut that each constraint allows; all forces grow in proportion to it."""
    per_mm = tooth_force(1.0, work.load, work.specific)
    slimmest = min(cutter.diameter, cutter.shank_diameter / FLUTED)  # a wide cutter bends in its shank
    give = bending(slimmest, cutter.stick_out, CARBIDE if cutter.carbide else STEEL)
    give += 1 / bench.machine.stiffness
    watts = cutting_power(cutter.diameter, 1.0, feed, work.specific)
    estimate = cited(work.energy)
    found = [
        Candidate(
            DEPTH_SHARE * cutter.diameter,
            "half the cutter's diameter, for clear chips in a slot on a light gantry",
            PRACTICE,
        ),
        Candidate(
            WALL_ERROR[kind] / (per_mm * give),
            f"cutter and gantry give way by {WALL_ERROR[kind]:g} mm under the cutting force",
            estimate,
        ),
        Candidate(
            POWER_SHARE * bench.machine.spindle.power / watts, "the spindle's power, less a fifth", estimate
        ),
        Candidate(cutter.flute_length, "the flutes' length", "shop file"),
    ]
    if bench.hold is not None and bench.hold > 0:
        mu = plate_friction(bench.material).design
        found.append(
            Candidate(
                bench.hold / (DULL * (HOLD_SAFETY * per_mm + mu * lift(per_mm, cutter.spiral))),
                "the clamps' friction, a third of it, against a dull cutter",
                estimate,
            )
        )
    return found


def _steps(cutter: Cutter) -> list[Candidate]:
    # Rings closer than r (1 + sin beta) leave nothing standing in a corner of half-angle beta; the sharpest
    # corner thinkable needs r, and four tenths of the diameter is always less than that.
    return [Candidate(STEP_SHARE * cutter.diameter, "four tenths of the cutter's diameter", PRACTICE)]


def _plunges(cutter: Cutter, machine: Machine, feed: float) -> list[Candidate]:
    share = PLUNGE_SHARE if cutter.centre_cutting else PLUNGE_SHARE / 2
    return [
        Candidate(share * feed, f"{share:g} of the feed, straight down", PRACTICE),
        Candidate(machine.max_feed[2], "the machine's highest feed in Z", "shop file"),
    ]


def _force(prefix: str, work: _Work, depth: Figure, load: Figure) -> Figure:
    sharp = tooth_force(depth.value, load.value, work.specific)
    return Figure(
        name=f"{prefix}.force",
        value=DULL * sharp,
        unit="N",
        rule="greatest force on a tooth in a full slot, doubled for a dull edge",
        source=cited(work.energy),
        inputs=(depth, load),
        low=sharp * work.energy.low,
        high=DULL * sharp * work.energy.high,
    )


def _drilling(cutter: Cutter, bench: Bench) -> CuttingData:
    prefix = f"cutting.cutter {cutter.number}.drill"
    spindle = bench.machine.spindle
    speeds = [
        Candidate(DRILL_RPM, "a drill runs slowly in wood", PRACTICE),
        Candidate(spindle.max_rpm, "the spindle's highest speed", "shop file"),
    ]
    if cutter.max_rpm is not None:
        speeds.append(Candidate(cutter.max_rpm, "the speed marked on the cutter", "shop file"))
    speed = _at_least(
        _least(f"{prefix}.speed", "rpm", speeds, ()), spindle.min_rpm, "the spindle's lowest speed"
    )
    thrust = drill_thrust(cutter.diameter, 1.0)
    feeds = [
        Candidate(THRUST_LIMIT / thrust * speed.value / 60, f"a thrust of {THRUST_LIMIT:g} N", DEFAULT),
        Candidate(bench.machine.max_feed[2], "the machine's highest feed in Z", "shop file"),
    ]
    feed = _rounded_down(_least(f"{prefix}.feed", "mm/s", feeds, (speed,)), bench.machine)
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
        limits=tuple((figure.name.rsplit(".", 1)[-1], figure.rule) for figure in (depth, feed)),
        figures=(speed, feed, depth),
    )


def _least(name: str, unit: str, candidates: list[Candidate], inputs: tuple[Figure, ...]) -> Figure:
    weakest = min(candidates, key=lambda candidate: candidate.value)
    others = tuple(
        Figure(
            name=f"{name}.if {candidate.reason}",
            value=candidate.value,
            unit=unit,
            rule=f"would be allowed by: {candidate.reason}",
            source=candidate.source,
        )
        for candidate in candidates
        if candidate is not weakest and math.isfinite(candidate.value)
    )
    return Figure(
        name=name,
        value=weakest.value,
        unit=unit,
        rule=f"limited by: {weakest.reason}",
        source=weakest.source,
        inputs=(*inputs, *others),
    )


def _at_least(figure: Figure, least: float, reason: str) -> Figure:
    if figure.value >= least:
        return figure
    return Figure(
        name=figure.name,
        value=least,
        unit=figure.unit,
        rule=f"raised to: {reason}",
        source="shop file",
        inputs=figure.inputs,
    )


def _rounded_down(figure: Figure, machine: Machine) -> Figure:
    """A feed as a person would type it: whole tens of mm/min, or whole in/min."""
    count = 10 / 60 if machine.units == "mm" else 25.4 / 60
    value = math.floor(figure.value / count + 1e-9) * count
    return Figure(
        name=figure.name,
        value=value or figure.value,
        unit=figure.unit,
        rule=figure.rule,
        source=figure.source,
        inputs=figure.inputs,
    )
