"""The size of a head, a nut or a pin: what the calipers said, or else the standard's band."""

from dataclasses import dataclass
from fractions import Fraction

from proveout.figure import Figure
from proveout.finding import Finding, InputError, Level
from proveout.job.records import Hardware
from proveout.quantity import INCH, System, show_length
from proveout.shelf.cited import cited
from proveout.shelf.fit_classes import FitClass
from proveout.shelf.iso_limits import iso_limits
from proveout.shelf.tables import ShelfError, dowel_pin, hex_head, hex_nut

MEASURED = "measured with calipers, as the job file says"

# Bolts and nuts of the older national series are still sold; their flats are wider than ISO's.
OLDER_FLATS = {"M10": 17.0, "M12": 19.0}


@dataclass(frozen=True, slots=True, kw_only=True)
class HexSize:
    """A hexagon as it must be reckoned with."""

    thread: str  # "M6"
    noun: str  # "head" or "nut"
    thread_diameter: float
    flats: Figure  # the largest there can be; low and high where it was not measured
    height: Figure  # the largest there can be
    readings: tuple[float, ...]  # of the flats; empty: not measured

    @property
    def measured(self) -> bool:
        """Whether the flats were."""
        return bool(self.readings)


def hex_size(hardware: Hardware, name: str) -> HexSize:
    """Flats and height of a bolt head or nut; figures are named `name`.flats and so on.

    Raises:
        InputError: a size that the shelf doesn't have, or hardware that is not a hexagon
    """
    if hardware.form == "dowel":
        raise InputError("A captive hexagon needs a hex head or a hex nut, not a dowel.")
    noun = "head" if hardware.form == "hex head" else "nut"
    try:
        row = hex_head(hardware.size) if noun == "head" else hex_nut(hardware.size)
    except ShelfError as error:
        raise InputError(str(error)) from None
    source = cited(row)
    flats = _sized(f"{name}.{noun} flats", hardware.across_flats, row.across_flats, source, f"{noun} flats")
    height = _sized(f"{name}.{noun} height", hardware.height, row.height, source, f"{noun} height")
    return HexSize(
        thread=row.size,
        noun=noun,
        thread_diameter=row.diameter,
        flats=flats,
        height=height,
        readings=readings_of(hardware, hardware.across_flats),
    )


def readings_of(hardware: Hardware, largest: float | None) -> tuple[float, ...]:
    """Every caliper reading of the size that counts; none where it was not measured."""
    return () if largest is None else (largest, *hardware.others)


def pin_size(hardware: Hardware, name: str) -> Figure:
    """Diameter of a dowel: measured, or the largest of the standard's band with low and high.

    Raises:
        InputError: a size that the shelf doesn't have, or hardware that is not a dowel
    """
    if hardware.form != "dowel":
        raise InputError(f"A stop block's holes take dowels, not a {hardware.form}.")
    try:
        row = dowel_pin(hardware.size)
    except ShelfError as error:
        raise InputError(str(error)) from None
    band: tuple[float, float] = row.diameter
    source = cited(row)
    if hardware.limits is not None:
        band, source = _by_zone(hardware, row.diameter), f"ISO 286, {hardware.limits} (from memory)"
    return _sized(f"{name}.dowel", hardware.diameter, band, source, "dowel diameter")


def _by_zone(hardware: Hardware, band: tuple[float, float]) -> tuple[float, float]:
    """The band of an ISO 286 zone about the nominal size, which the size's name is or the band lies about."""
    said = hardware.size
    nominal = (
        float(Fraction(said) * INCH) if "/" in said else float(said) if said.isdigit() else sum(band) / 2
    )
    try:
        return iso_limits(nominal, hardware.limits or "")
    except ShelfError as error:
        raise InputError(str(error)) from None


def _sized(name: str, measured: float | None, band: tuple[float, float], source: str, what: str) -> Figure:
    if measured is not None:
        return Figure(name=name, value=measured, unit="mm", rule=f"The {what}, as measured.", source=MEASURED)
    return Figure(
        name=name,
        value=band[1],
        unit="mm",
        rule=f"The largest {what} that the standard allows, since it was not measured.",
        source=source,
        low=band[0],
        high=band[1],
    )


def scatter(
    size: Figure, fit: FitClass, *, what: str, where: str, write: str, system: System
) -> tuple[Finding, ...]:
    """A caution where hardware that was not measured may differ by more than its fit class is wide."""
    if size.low is None or size.high is None or size.high - size.low <= fit.high - fit.low + 1e-9:
        return ()
    return (
        Finding(
            level=Level.CAUTION,
            kind="estimate",
            text=f"{where}: {what} may measure {show_length(size.low, system)} to "
            f"{show_length(size.high, system)} by the standard, a wider range than a {fit.name} fit allows: "
            f"some will be loose and some tight, by up to {show_length(size.high - size.low, system)} from "
            "one to the next.",
            remedy=f"Measure yours with calipers and write {write} in the job file.",
        ),
    )


def older_series(size: HexSize, where: str, system: System) -> tuple[Finding, ...]:
    """A caution for sizes that are also sold with the wider flats of the older series."""
    older = OLDER_FLATS.get(size.thread)
    if size.measured or older is None:
        return ()
    return (
        Finding(
            level=Level.CAUTION,
            kind="head-does-not-seat",
            text=f"{where}: {size.thread} hexagons of the older series are {show_length(older, system)} "
            f"across flats and won't seat: the recess is for {show_length(size.flats.value, system)}.",
            remedy=f"Measure the {size.noun} and state its flats in the job file.",
        ),
    )
