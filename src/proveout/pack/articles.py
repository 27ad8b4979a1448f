"""What of a job can be measured once it is cut: one row for each size that differs, numbered.

The setup sheet's form, the form to fill in and the questions of `record` all have these numbers.
"""

from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import replace
from statistics import fmean
from typing import Final

from proveout.book.article import FITS, Article, What
from proveout.book.entry import cutter_words
from proveout.curve import is_circle, polygon
from proveout.job.records import CouponWanted, Hardware, KnobWanted, StopWanted, Wanted
from proveout.pack.made import Made
from proveout.parts.part import Feature, Part, PlacedPart

ENGRAVED: Final = "engraved"  # how such a feature's intent begins
ALIKE: Final = 3  # decimals of a millimetre to which alike sizes agree
QUARTER: Final = 90.0  # degrees


def articles(made: Made) -> tuple[Article, ...]:
    """Everything worth measuring, part by part: the outline's sizes, then each feature's."""
    copies: dict[str, list[PlacedPart]] = defaultdict(list)
    tolerances: dict[str, float] = {}
    for placed, intended in zip(made.placed, made.setup.parts, strict=True):
        copies[placed.part.name].append(placed)
        tolerances.setdefault(placed.part.name, intended.tolerance)
    wanted = {one.name: one for one in made.job.wanted}
    rows: list[Article] = []
    for name, alike in copies.items():
        rows += _outline(made, wanted.get(name), alike, tolerances[name])
        rows += _told_once(list(_features(made, wanted.get(name), alike)))
    return tuple(replace(row, number=number) for number, row in enumerate(rows, start=1))


def _outline(
    made: Made, wanted: Wanted | None, copies: Sequence[PlacedPart], within: float
) -> Iterator[Article]:
    part = copies[0].part
    row = _row(made, part.name, part.cutter, within)
    if wanted and isinstance(wanted.pattern, KnobWanted):
        yield replace(row, what="over the lobes", feature="outline", asked=wanted.pattern.diameter)
        return
    for what, along, size in _sides(part):
        yield replace(row, what=what, feature="outline", asked=size, direction=_direction(along, copies))


def _sides(part: Part) -> tuple[tuple[What, str, float], ...]:
    """The longer and the shorter side of the box about a part, each with the axis that it lies along."""
    left, front, right, back = polygon((part.outline,)).bounds
    wide, deep = right - left, back - front
    if wide >= deep:
        return ("length", "x", wide), ("width", "y", deep)
    return ("length", "y", deep), ("width", "x", wide)


def _direction(along: str, copies: Sequence[PlacedPart]) -> str:
    """The machine's axis along which a size lies, where all copies lie alike and square to the axes."""
    turns = {round(placed.turn_deg % 180, 6) for placed in copies}
    if turns == {0.0}:
        return along
    return {"x": "y", "y": "x"}[along] if turns == {QUARTER} else ""


def _features(made: Made, wanted: Wanted | None, copies: Sequence[PlacedPart]) -> Iterator[Article]:
    part = copies[0].part
    for feature in part.features:
        if feature.intent.startswith(ENGRAVED):
            continue  # a coupon's numbers: their depth is nobody's business
        row = replace(_row(made, part.name, feature.cutter, feature.tolerance), of=feature.name)
        across = _across(made, part, feature, copies, row)
        if across:
            takes, size = _hardware(wanted, feature)
            fitting = across.what in FITS
            across = replace(across, takes=takes, hardware=size) if fitting else across
            coupon = wanted is not None and isinstance(wanted.pattern, CouponWanted)
            yield across if coupon else _as_fitted(made, across)
        if not feature.through:
            yield _depth(made, feature, row)


def _as_fitted(made: Made, row: Article) -> Article:
    """With the range in which a caliper's reading makes the fit right, where hardware goes in."""
    names = {f"{row.part}.{name}.to measure" for name in (row.of, _kind(row.of))}
    wanted = next((figure for figure in made.figures if figure.name in names), None)
    return replace(row, low=wanted.low, high=wanted.high, reads=wanted.value) if wanted else row


def _across(
    made: Made, part: Part, feature: Feature, copies: Sequence[PlacedPart], row: Article
) -> Article | None:
    """How wide a feature is; None for a recess that isn't sized to flats, whose width says little."""
    if not feature.through:
        sizes = {figure.name: figure.value for figure in made.figures}
        # Alike recesses of a drawing are sized once, under the name of their kind.
        names = (f"{part.name}.{name}.flats" for name in (feature.name, _kind(feature.name)))
        flats = next((sizes[name] for name in names if name in sizes), None)
        return None if flats is None else replace(row, what="across flats", feature="recess", asked=flats)
    left, front, right, back = polygon(feature.curves).bounds
    round_hole = len(feature.curves) == 1 and is_circle(feature.curves[0])
    if round_hole:
        return replace(row, what="diameter", feature=feature.kind, asked=round_hole[1])
    narrow = min(right - left, back - front)
    along = "x" if right - left == narrow else "y"
    return replace(row, what="width", feature=feature.kind, asked=narrow, direction=_direction(along, copies))


def _depth(made: Made, feature: Feature, row: Article) -> Article:
    if made.job.zero.level == "top":
        return replace(row, what="depth", feature="depth", asked=made.setup.zero[2] - feature.floor)
    # Its floor is at one height above the bed, however thick the sheet is there.
    return replace(row, what="wood left under it", feature="depth", asked=feature.floor)


def _told_once(rows: Sequence[Article]) -> list[Article]:
    """Alike rows as one, kind by kind, depths last. All of a kind alike go by their kind, else by name."""
    groups: dict[tuple[object, ...], list[Article]] = defaultdict(list)
    for row in rows:
        size = round(row.asked, ALIKE)
        groups[_kind(row.of), row.what, size, row.cutter, row.within, row.takes].append(row)
    sizes = Counter((kind, what) for kind, what, *_ in groups)
    told = [_one_for(alike, only=sizes[kind, what] == 1) for (kind, what, *_), alike in groups.items()]
    kinds = list(dict.fromkeys(_kind(row.of) for row in rows))
    return sorted(told, key=lambda row: (kinds.index(_kind(row.of)), row.feature == "depth"))


def _one_for(alike: Sequence[Article], *, only: bool) -> Article:
    first = alike[0]
    directions = {row.direction for row in alike}
    return replace(
        first,
        of=_kind(first.of) if only else first.of,
        direction=first.direction if len(directions) == 1 else "",
    )


def _kind(name: str) -> str:
    """A feature's name without the number that tells it from others like it."""
    return name.rstrip(" 0123456789") or name


def _row(made: Made, part: str, cutter: int, within: float) -> Article:
    """A row with what all rows of one cutter in one part share; the rest is filled in by whoever asks."""
    owned = next((one for one in made.job.shop.cutters if one.number == cutter), None)
    return Article(
        number=0,
        part=part,
        of="",
        what="width",
        feature="",
        direction="",
        cutter=cutter_words(owned.number, owned.name) if owned else "",
        diameter=owned.diameter if owned else None,
        material=made.job.stock.material,
        asked=0.0,
        within=within,
    )


def _hardware(wanted: Wanted | None, feature: Feature) -> tuple[str, float | None]:
    """What goes into a feature, and its size where the job file states one that was measured."""
    match wanted.pattern if wanted else None:
        case KnobWanted(hardware=hardware) if feature.kind == "recess":
            return _named(hardware), _mean(hardware.across_flats, hardware)
        case CouponWanted(hardware=hardware) if feature.name.startswith(("recess", "hole")):
            return _named(hardware), _mean(hardware.across_flats or hardware.diameter, hardware)
        case StopWanted(hardware=hardware) if feature.kind == "hole":
            return _named(hardware), _mean(hardware.diameter, hardware)
        case _:
            return feature.takes, None


def _mean(largest: float | None, hardware: Hardware) -> float | None:
    """Of all readings of the box: which piece will be tried nobody knows."""
    return None if largest is None else fmean((largest, *hardware.others))


def _named(hardware: Hardware) -> str:
    size = f"{hardware.size} mm" if hardware.size.isdigit() else hardware.size
    size = f"{size} in" if "/" in size else size
    return f"{size} {'hex head bolt' if hardware.form == 'hex head' else hardware.form}"
