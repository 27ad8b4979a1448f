"""What no single field can tell: whether clamps, sheet and parts of a job go together on this bench."""

import math
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence

from proveout.job.fields import MOST_COPIES
from proveout.job.grid import hole_at, is_hole, nose_direction
from proveout.job.records import ClampAt, ClampKind, Plate, Shop, Stock, Wanted
from proveout.job.table import Table
from proveout.quantity import System, printable, seen, show_length
from proveout.shelf.tables import thread


def check_bench(
    table: Table,
    shop: Shop | None,
    stock: Stock | None,
    clamps: Sequence[ClampAt | None],
    parts: Sequence[Wanted | None],
) -> None:
    """Notes every disagreement at the field that states it."""
    _part_names(table, parts)
    _part_counts(table, parts)
    if stock is not None:
        _room_on_sheet(table, stock, table.units or "mm")
    if shop is None:
        return
    _part_cutters(table, shop, parts)
    units: System = table.units or "mm"
    if stock is not None:
        _sheet_on_plate(table, shop.plate, stock, units)
        _sheet_under_cutter(table, shop, stock, units)
    _clamp_counts(table, shop, clamps)
    kinds = {kind.name: kind for kind in shop.clamps}
    _clamps_apart(table, kinds, shop.plate, clamps, units)
    for index, at in enumerate(clamps):
        if at is None:
            continue
        if at.clamp not in kinds:
            known = ", ".join(kinds) or "none"
            table.wrong(
                f"the shop has no clamp called {seen(at.clamp)}. It has: {known}.", "clamps", index, "clamp"
            )
            continue
        _clamp_thread(table, kinds[at.clamp], shop.plate, index)
        for text in _clamp_faults(at, kinds[at.clamp], shop.plate, stock, units):
            table.wrong(text, "clamps", index, "hole")


def _part_names(table: Table, parts: Sequence[Wanted | None]) -> None:
    names: set[str] = set()
    for index, part in enumerate(parts):
        if part is not None and part.name.lower() in names:
            table.wrong(f'another part is called "{part.name}" already.', "parts", index, "name")
        if part is not None:
            names.add(part.name.lower())


def _part_counts(table: Table, parts: Sequence[Wanted | None]) -> None:
    total = sum(part.count for part in parts if part is not None)
    if total > MOST_COPIES:
        table.wrong(
            f"there are {total} parts in all; at most {MOST_COPIES} are laid out in one job.", "parts"
        )


def _room_on_sheet(table: Table, stock: Stock, units: System) -> None:
    if 2 * stock.edge_margin >= min(stock.size):
        table.wrong(
            f"{show_length(stock.edge_margin, units)} kept clear along every edge leaves nothing of a sheet "
            f"{show_length(min(stock.size), units)} wide.",
            "stock",
            "edge_margin",
        )


def _part_cutters(table: Table, shop: Shop, parts: Sequence[Wanted | None]) -> None:
    numbers = [cutter.number for cutter in shop.cutters]
    for index, part in enumerate(parts):
        if part is not None and part.cutter is not None and part.cutter not in numbers:
            known = ", ".join(map(str, numbers)) or "none"
            table.wrong(
                f"the shop has no cutter number {part.cutter}. It has: {known}.", "parts", index, "cutter"
            )


def _sheet_on_plate(table: Table, plate: Plate, stock: Stock, units: System) -> None:
    for axis, side in enumerate(("right", "back")):
        over = stock.at[axis] + stock.size[axis] - plate.size[axis]
        if over > 1e-6:
            table.wrong(
                f"the sheet hangs {show_length(over, units)} off the plate at the {side}. Move it with at, "
                "or take a smaller sheet.",
                "stock",
                "at",
            )


def _sheet_under_cutter(table: Table, shop: Shop, stock: Stock, units: System) -> None:
    over = stock.thickest - shop.machine.tip_reach
    if over >= 0:
        table.wrong(
            f"a sheet {show_length(stock.thickest, units)} thick doesn't go under the cutter, whose tip is "
            f"{show_length(shop.machine.tip_reach, units)} above the plate with Z at the top (tip_reach). "
            "Look for a slipped decimal point, or a wrong unit.",
            "stock",
            "thickness" if stock.measured else "nominal_thickness",
        )


def _clamp_counts(table: Table, shop: Shop, clamps: Sequence[ClampAt | None]) -> None:
    have = {kind.name: kind.count for kind in shop.clamps}
    used: Counter[str] = Counter()
    holes: set[str] = set()
    for index, at in enumerate(clamps):
        if at is None:
            continue
        used[at.clamp] += 1
        if at.clamp in have and used[at.clamp] == have[at.clamp] + 1:
            table.wrong(
                f'the shop has {have[at.clamp]} of "{at.clamp}", and this is one more.',
                "clamps",
                index,
                "clamp",
            )
        if at.hole in holes:
            table.wrong(f"there is a clamp in hole {at.hole} already.", "clamps", index, "hole")
        holes.add(at.hole)


def _clamps_apart(
    table: Table,
    kinds: Mapping[str, ClampKind],
    plate: Plate,
    clamps: Sequence[ClampAt | None],
    units: System,
) -> None:
    """No bar lies where another one does. Clamps in one hole are told of elsewhere."""
    bars: list[tuple[ClampAt, Bar]] = []
    for index, at in enumerate(clamps):
        if at is None or at.clamp not in kinds or not is_hole(plate, at.hole):
            continue
        mine = _bar(at, kinds[at.clamp], plate)
        for other, bar in bars:
            overlap = min(
                min(mine[axis][1], bar[axis][1]) - max(mine[axis][0], bar[axis][0]) for axis in (0, 1)
            )
            if overlap > 1e-6 and other.hole != at.hole:
                table.wrong(
                    f"the clamps at {other.hole} and {at.hole} overlap by {show_length(overlap, units)}. "
                    "Take a hole further away.",
                    "clamps",
                    index,
                    "hole",
                )
        bars.append((at, mine))


Bar = tuple[tuple[float, float], tuple[float, float]]  # from and to, along X and along Y


def _bar(at: ClampAt, kind: ClampKind, plate: Plate) -> Bar:
    """Where a clamp's bar lies, from the plate's left front corner."""
    (x, y), (way_x, way_y) = hole_at(plate, at.hole), nose_direction(at.towards)
    half = kind.width / 2
    nose, tail = kind.nose_to_bolt, kind.nose_to_bolt - kind.length

    def span(place: float, way: int) -> tuple[float, float]:
        ends = (place + way * tail, place + way * nose) if way else (place - half, place + half)
        return min(ends), max(ends)

    return span(x, way_x), span(y, way_y)


def _clamp_thread(table: Table, kind: ClampKind, plate: Plate, index: int) -> None:
    if kind.bolt != plate.inserts.thread:
        table.wrong(
            f"the bolt of the {kind.name} is {kind.bolt}, and the plate's inserts are "
            f"{plate.inserts.thread}. Take a clamp that fits them.",
            "clamps",
            index,
            "clamp",
        )


def _clamp_faults(
    at: ClampAt, kind: ClampKind, plate: Plate, stock: Stock | None, units: System
) -> Iterator[str]:
    """What is wrong with where a clamp stands, in words."""
    if not is_hole(plate, at.hole):
        last = chr(ord("A") + plate.columns - 1)
        yield f"{printable(at.hole)} is not on the plate: columns A to {last}, rows 1 to {plate.rows}."
        return
    hole = hole_at(plate, at.hole)
    way = nose_direction(at.towards)
    off = max(
        max(-low, high - size) for (low, high), size in zip(_bar(at, kind, plate), plate.size, strict=True)
    )
    if off > 1e-6:
        yield (
            f"the clamp at {at.hole} reaches {show_length(off, units)} off the plate. Take a hole further "
            "in, or a shorter clamp."
        )
    if stock is not None:
        yield from _against_stock(hole, way, at, kind, stock, units)


def _against_stock(
    hole: tuple[float, float], way: tuple[int, int], at: ClampAt, kind: ClampKind, stock: Stock, units: System
) -> Iterator[str]:
    x, y = hole[0] - stock.at[0], hole[1] - stock.at[1]
    radius = thread(kind.bolt).diameter / 2
    into = radius - _outside((x, y), stock)
    if into > 1e-6:
        yield (
            f"the bolt at {at.hole} would go {show_length(into, units)} into the sheet. Take a hole further "
            "out, or move the sheet with at."
        )
        return
    along = 0 if way[0] else 1
    across = 1 - along
    # Measured along the way the nose points, from the sheet's near edge.
    nose = (x, y)[along] * way[along] + kind.nose_to_bolt
    near = 0.0 if way[along] > 0 else -stock.size[along]
    short = near - nose
    if short > -1e-6:
        yield (
            f"the nose of the clamp at {at.hole} ends {show_length(short, units)} short of the sheet. Take "
            "a hole nearer to it, or a longer clamp."
        )
        return
    beside = max(-(x, y)[across], (x, y)[across] - stock.size[across]) - kind.width / 2
    beyond = nose - kind.nose_to_bolt - (near + stock.size[along])
    if beside > -1e-6:
        yield (
            f"the clamp at {at.hole} passes {show_length(beside, units)} beside the sheet. Take a hole "
            "along the sheet's edge."
        )
    elif beyond > 0:
        yield f"the nose of the clamp at {at.hole} points away from the sheet. Turn it with towards."


def _outside(point: tuple[float, float], stock: Stock) -> float:
    """How far a point lies outside the sheet, mm; within it, minus the way to the nearest edge."""
    gaps = [max(-place, place - size) for place, size in zip(point, stock.size, strict=True)]
    if max(gaps) <= 0:
        return max(gaps)
    return math.hypot(*(max(gap, 0.0) for gap in gaps))
