"""What no single field can tell: whether clamps, sheet and parts of a job go together on this bench."""

from collections import Counter
from collections.abc import Iterator, Sequence

from proveout.job.grid import hole_at, nose_direction
from proveout.job.records import ClampAt, ClampKind, Plate, Shop, Stock, Wanted
from proveout.job.table import Table
from proveout.quantity import System, show_length


def check_bench(
    table: Table,
    shop: Shop | None,
    stock: Stock | None,
    clamps: Sequence[ClampAt | None],
    parts: Sequence[Wanted | None],
) -> None:
    """Notes every disagreement at the field that states it."""
    _part_names(table, parts)
    if shop is None:
        return
    _part_cutters(table, shop, parts)
    units: System = table.units or "mm"
    if stock is not None:
        _sheet_on_plate(table, shop.plate, stock, units)
    _clamp_counts(table, shop, clamps)
    kinds = {kind.name: kind for kind in shop.clamps}
    for index, at in enumerate(clamps):
        if at is None:
            continue
        if at.clamp not in kinds:
            known = ", ".join(kinds) or "none"
            table.wrong(
                f'the shop has no clamp called "{at.clamp}". It has: {known}.', "clamps", index, "clamp"
            )
            continue
        for text in _clamp_faults(at, kinds[at.clamp], shop.plate, stock, units):
            table.wrong(text, "clamps", index, "hole")


def _part_names(table: Table, parts: Sequence[Wanted | None]) -> None:
    seen: set[str] = set()
    for index, part in enumerate(parts):
        if part is not None and part.name.lower() in seen:
            table.wrong(f'another part is called "{part.name}" already.', "parts", index, "name")
        if part is not None:
            seen.add(part.name.lower())


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


def _clamp_faults(
    at: ClampAt, kind: ClampKind, plate: Plate, stock: Stock | None, units: System
) -> Iterator[str]:
    """What is wrong with where a clamp stands, in words."""
    try:
        hole = hole_at(plate, at.hole)
    except ValueError:
        last = chr(ord("A") + plate.columns - 1)
        yield f"{at.hole} is not on the plate: columns A to {last}, rows 1 to {plate.rows}."
        return
    way = nose_direction(at.towards)
    off = _off_plate(hole, way, kind, plate)
    if off > 1e-6:
        yield (
            f"the clamp at {at.hole} reaches {show_length(off, units)} off the plate. Take a hole further "
            "in, or a shorter clamp."
        )
    if stock is not None:
        yield from _against_stock(hole, way, at, kind, stock, units)


def _off_plate(hole: tuple[float, float], way: tuple[int, int], kind: ClampKind, plate: Plate) -> float:
    """How far the bar reaches beyond the plate's edge, mm."""
    ends = (kind.nose_to_bolt, kind.nose_to_bolt - kind.length)
    worst = 0.0
    for axis in (0, 1):
        half = kind.width / 2 if way[axis] == 0 else 0.0
        for end in ends:
            place = hole[axis] + way[axis] * end
            worst = max(worst, half - place, place + half - plate.size[axis])
    return worst


def _against_stock(
    hole: tuple[float, float], way: tuple[int, int], at: ClampAt, kind: ClampKind, stock: Stock, units: System
) -> Iterator[str]:
    x, y = hole[0] - stock.at[0], hole[1] - stock.at[1]
    if 0 < x < stock.size[0] and 0 < y < stock.size[1]:
        yield (
            f"the bolt at {at.hole} would go through the sheet. Take a hole outside it, or move the sheet "
            "with stock.at."
        )
        return
    nose = (x + way[0] * kind.nose_to_bolt, y + way[1] * kind.nose_to_bolt)
    short = max(-nose[0], nose[0] - stock.size[0], -nose[1], nose[1] - stock.size[1])
    if short >= 0:
        yield (
            f"the nose of the clamp at {at.hole} ends {show_length(short, units)} short of the sheet. Take "
            "a hole nearer to it, or turn the clamp with towards."
        )
