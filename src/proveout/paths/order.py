"""What tracing one sheet needs to know."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from shapely.geometry.base import BaseGeometry

from proveout.cutting.data import CutKind, CuttingData
from proveout.job.records import Cutter
from proveout.parts.part import PlacedPart
from proveout.paths.features import Bench
from proveout.paths.tabs import TabsWanted
from proveout.paths.travel import Heights


@dataclass(frozen=True, slots=True, kw_only=True)
class TraceOrder:
    """Everything that tracing one sheet needs."""

    placed: tuple[PlacedPart, ...]  # of one sheet
    stock_top: float  # thickest reading
    safe_z: float  # above everything on the bed
    near_z: float  # just above the stock; down to it one may go at rapid over cleared or virgin stock
    through_z: float  # bottom of through cuts, below the bed by the allowance
    cutters: tuple[Cutter, ...]
    data: Callable[[int, CutKind], CuttingData]  # by cutter number and kind of cut
    tabs: Callable[[PlacedPart], TabsWanted | None]  # None: the part is held by other means
    sheet: tuple[float, float] | None = None  # size of the stock, for tabs that would hold on to its edge
    low_z: float | None = None  # to go across at, over the stock alone; None: always at the safe height
    in_the_way: Mapping[int, BaseGeometry] = field(
        default_factory=dict
    )  # of each cutter's axis at that height
    deepest_z: float | None = None  # lowest that a drill's point may go; None: no lower than through cuts


def bench_of(order: TraceOrder) -> Bench:
    """What every cut of the sheet shares."""
    return Bench(
        cutters={cutter.number: cutter for cutter in order.cutters},
        data=order.data,
        heights=Heights(safe=order.safe_z, near=order.near_z),
        stock_top=order.stock_top,
        through_z=order.through_z,
        deepest_z=order.through_z if order.deepest_z is None else order.deepest_z,
    )
