"""Cutting: how thick a chip may be, and what it costs to cut it; mm and N/mm2."""

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from proveout.shelf.rows import Band, Basis, Row

REFERENCE_CHIP: Final = 0.1  # mm, the chip thickness at which the table gives its forces


@dataclass(frozen=True, slots=True, kw_only=True)
class ChipLoad:
    """Feed per tooth on a light machine."""

    chip_class: str
    diameter: float  # of the cutter
    load: Band  # mm per tooth
    source: str
    basis: Basis
    note: str


@dataclass(frozen=True, slots=True, kw_only=True)
class CuttingEnergy:
    """Specific cutting force k_c, N/mm2, which is also the energy spent per volume, J/cm3. An estimate."""

    energy_class: str
    at_tenth: float  # N/mm2 at a chip 0.1 mm thick, sharp cutter
    exponent: float  # m_c: how fast it grows as the chip thins
    low: float  # factor: the true value may be as low as this share of it,
    high: float  # and as high as this
    reference_density: float | None  # kg/m3 for which it holds and with which it scales; None: it doesn't
    source: str
    basis: Basis
    note: str


def specific_force(energy: CuttingEnergy, chip_thickness: float, density: float | None = None) -> float:
    """Specific cutting force k_c at a chip thickness in mm, N/mm2 (= J/cm3).

    k_c = k_c(0.1) (h/0.1)^(-m_c), times density/reference where the row scales and a density is given. Meant
    for h from 0.02 to 0.3 mm and sharp carbide; a dull edge doubles it. The truth lies between the row's low
    and high factors.

    Raises:
        ValueError: a chip thickness that is not positive
    Source: Kienzle's form; the constants are the row's
    """
    if chip_thickness <= 0:
        raise ValueError(f"chip thickness must be positive, not {chip_thickness}")
    thinning: float = (chip_thickness / REFERENCE_CHIP) ** -energy.exponent
    force = energy.at_tenth * thinning
    if density is not None and energy.reference_density is not None:
        force *= density / energy.reference_density
    return force


def chip_load_between(loads: Sequence[ChipLoad], diameter: float) -> ChipLoad:
    """The chip load at a diameter among one class's rows in order of diameter.

    Linear between two rows; outside them the first or last row's own range, since nothing is known there.
    """
    above = bisect_left([row.diameter for row in loads], diameter)
    if above in (0, len(loads)):
        return replace(loads[min(above, len(loads) - 1)], diameter=diameter)
    thin, thick = loads[above - 1], loads[above]
    share = (diameter - thin.diameter) / (thick.diameter - thin.diameter)
    load = Band(*(low + (high - low) * share for low, high in zip(thin.load, thick.load, strict=True)))
    return replace(thin, diameter=diameter, load=load)


def read_chip_load(row: Row) -> ChipLoad:
    """A chip load from its row."""
    return ChipLoad(
        chip_class=row.text("chip_class"),
        diameter=row.measure("diameter"),
        load=row.band("load"),
        source=row.text("source"),
        basis=row.basis(),
        note=row.note(),
    )


def read_cutting_energy(row: Row) -> CuttingEnergy:
    """A cutting energy from its row."""
    density = row.text("reference_density_kg_m3")
    return CuttingEnergy(
        energy_class=row.text("energy_class"),
        at_tenth=row.measure("at_tenth"),
        exponent=row.number("exponent"),
        low=row.number("low"),
        high=row.number("high"),
        reference_density=float(density) if density else None,
        source=row.text("source"),
        basis=row.basis(),
        note=row.note(),
    )
