"""The reader of what holds a blank besides clamps: stops, dowels, tape, screws, a vacuum."""

from collections.abc import Iterable
from typing import Final, TypeVar

from proveout.job.fields import (
    MOST_MEANS,
    DowelAtFields,
    ScrewFields,
    StopAtFields,
    TapeFields,
    VacuumFields,
)
from proveout.job.records import DowelAt, OtherMeans, ScrewAt, Stock, StopAt, TapeAt, VacuumAt
from proveout.job.table import Table
from proveout.quantity import show_length

MEANS: Final = ("stops", "dowels", "tape", "screws", "vacuum")

ON_EDGE: Final = 0.5  # mm by which a stop's place may miss the edge that it is said to stand at
PAN_HEAD: Final = (2.0, 0.7)  # of the shank's diameter: across, and high; project default, a pan head

Point = tuple[float, float]
T = TypeVar("T")


def read_means(table: Table, stock: Stock | None) -> OtherMeans:
    """What a job or setup file says of them; faults are noted at their fields."""
    vacuum = table.table("vacuum")
    return OtherMeans(
        stops=_all(_stop(one, stock) for one in table.tables("stops", most=MOST_MEANS)),
        dowels=_all(_dowel(one, stock) for one in table.tables("dowels", most=MOST_MEANS)),
        tape=_all(_tape(one, stock) for one in table.tables("tape", most=MOST_MEANS)),
        screws=_all(_screw(one, stock) for one in table.tables("screws", most=MOST_MEANS)),
        vacuum=_vacuum(vacuum, stock) if vacuum else None,
    )


def _all(found: Iterable[T | None]) -> tuple[T, ...]:
    return tuple(one for one in found if one is not None)


def _stop(table: Table, stock: Stock | None) -> StopAt | None:
    found = table.values(StopAtFields)
    if found is None:
        return None
    fields = StopAtFields
    stop = StopAt(
        at=_two(found[fields.at]),
        side=found[fields.side],
        width=found[fields.width],
        depth=found[fields.depth],
        height=found[fields.height],
        stands=found[fields.stands],
    )
    return stop if stock is None or _stands_at_edge(table, stop, stock) else None


def _stands_at_edge(table: Table, stop: StopAt, stock: Stock) -> bool:
    """Whether its place lies on the edge that it is said to stand at."""
    axis = 0 if stop.side in ("left", "right") else 1
    edge = 0.0 if stop.side in ("left", "front") else stock.size[axis]
    off, along = abs(stop.at[axis] - edge), stop.at[1 - axis]
    units = table.units or "mm"
    if off > ON_EDGE:
        table.wrong(
            f"this is {show_length(off, units)} from the sheet's {stop.side} edge, where a stop must touch "
            f"it. Write {show_length(edge, units)} for {'XY'[axis]}.",
            "at",
            axis,
        )
    elif along > stock.size[1 - axis]:
        table.wrong(
            f"the stop would stand beyond the end of the {stop.side} edge, which is "
            f"{show_length(stock.size[1 - axis], units)} long.",
            "at",
            1 - axis,
        )
    return off <= ON_EDGE and along <= stock.size[1 - axis]


def _dowel(table: Table, stock: Stock | None) -> DowelAt | None:
    found = table.values(DowelAtFields)
    if found is None:
        return None
    fields = DowelAtFields
    at, radius = _two(found[fields.at]), found[fields.diameter] / 2
    if not _on_sheet(table, at, at, radius, stock):
        return None
    return DowelAt(at=at, diameter=found[fields.diameter], height=found[fields.height])


def _tape(table: Table, stock: Stock | None) -> TapeAt | None:
    found = table.values(TapeFields)
    if found is None:
        return None
    at, size = _two(found[TapeFields.at]), _two(found[TapeFields.size])
    far = at[0] + size[0], at[1] + size[1]
    return TapeAt(at=at, size=size) if _on_sheet(table, at, far, 0.0, stock) else None


def _screw(table: Table, stock: Stock | None) -> ScrewAt | None:
    found = table.values(ScrewFields)
    if found is None:
        return None
    fields = ScrewFields
    at, diameter, high = _two(found[fields.at]), found[fields.diameter], found[fields.head_height]
    wide = found[fields.head_diameter] or PAN_HEAD[0] * diameter
    units = table.units or "mm"
    if wide < diameter:
        table.wrong(
            f"a head of {show_length(wide, units)} is narrower than its screw, "
            f"{show_length(diameter, units)}. Measure across the head.",
            "head_diameter",
        )
        return None
    if stock is not None and found[fields.length] <= stock.thickest:
        table.wrong(
            f"a screw of {show_length(found[fields.length], units)} doesn't reach through a sheet of "
            f"{show_length(stock.thickest, units)} into the plate. Take a longer one.",
            "length",
        )
        return None
    if not _on_sheet(table, at, at, wide / 2, stock):
        return None
    return ScrewAt(
        at=at,
        diameter=diameter,
        length=found[fields.length],
        head_diameter=wide,
        head_height=PAN_HEAD[1] * diameter if high is None else high,
    )


def _vacuum(table: Table, stock: Stock | None) -> VacuumAt | None:
    found = table.values(VacuumFields)
    if found is None:
        return None
    at, size = _two(found[VacuumFields.at]), _two(found[VacuumFields.size])
    far = at[0] + size[0], at[1] + size[1]
    if not _on_sheet(table, at, far, 0.0, stock):
        return None
    return VacuumAt(at=at, size=size, pressure=found[VacuumFields.pressure])


def _on_sheet(table: Table, near: Point, far: Point, round_it: float, stock: Stock | None) -> bool:
    """Whether a thing of some extent lies under or in the sheet, and not beyond its edges."""
    if stock is None:
        return True
    over = max(
        max(round_it - low, high + round_it - size)
        for low, high, size in zip(near, far, stock.size, strict=True)
    )
    if over > 1e-6:
        table.wrong(
            f"this reaches {show_length(over, table.units or 'mm')} beyond the sheet's edge. Places are "
            "counted from the sheet's left front corner.",
            "at",
        )
    return over <= 1e-6


def _two(values: tuple[float, ...]) -> Point:
    x, y = values
    return x, y
