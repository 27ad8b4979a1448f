"""From the shop book's entries to what is learned of each cutter, material and kind of feature."""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

from proveout.book.alike import Kind, Known, told_by_others
from proveout.book.entry import Entry, Mean
from proveout.book.learn import Posterior, Reading, learn
from proveout.book.learned import Learned
from proveout.book.priors import CALIPER, PUSHED, SCATTER, UNRECKONED, offset_prior, sitting_effect
from proveout.quantity import System
from proveout.shelf.fit_classes import FIT_NAMES, fit_class
from proveout.shelf.tables import ShelfError, material

INSIDE: Final = ("recess", "hole", "slot")
FEATURES: Final = (*INSIDE, "outline")
# How well a hand tells one fit class from the next, standard deviation of the clearance, mm. Project default.
JUDGED: Final = 0.02
# Others' word counts where it narrows the spread by a tenth at least. Project default.
TELLS: Final = 0.9
# A measured diameter that changed by more than this, mm, is another cutter or a new grind. Project
# default.
MEASURED_ANEW: Final = 0.05
FINE: Final = 0.01  # mm; a smaller error is told in thousandths
# More readings than that of one kind: the newest are taken.
MOST: Final = 2000


@dataclass(frozen=True, slots=True, kw_only=True)
class CutterNow:
    """A cutter as the shop file has it today."""

    label: str  # "1: 3 mm two-flute up-cut"
    diameter: float
    diameter_error: float = 0.0
    runout: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Taught:
    """What is known of one kind of cut, and by how many sittings of what sort."""

    kind: Kind
    posterior: Posterior
    coupons: int  # sittings that were coupons
    alike: int  # readings of like cuts that count where there are none of this


def taught(
    own: Iterable[Entry], means: Iterable[Mean], cutter: CutterNow, material_name: str, feature: str
) -> Taught:
    """What the book says of a cutter in a material and a kind of feature.

    Args:
        own: entries of that kind that stand, in the order in which they were taken; others are passed over
        means: of every kind that was read
        cutter: as it is now; what was read with another measured diameter is moved by the difference
        material_name: on the shelf
        feature: one of FEATURES
    """
    kind = Kind(cutter=cutter.label, material=material_name, feature=feature)
    own = tuple(one for one in own if _is_of(kind, one) and _is_this_cutter(one, cutter))[-MOST:]
    expected = reckoned(cutter, feature)
    read = [one for one in means if _teaches(one, feature) and _is_this_cutter(one, cutter)]
    others = [one for one in (_known(mean, cutter) for mean in read) if one.kind != kind]
    counts = {_kind_of(one): one.count for one in read}
    mean, deviation = told_by_others(kind, others)
    if deviation > TELLS * told_by_others(kind, ())[1]:
        mean, deviation, others = 0.0, UNRECKONED, []
    error = math.hypot(deviation, reckoned_error(cutter))
    prior = offset_prior(expected + mean, error, sitting_effect(cutter.runout))
    readings = _readings(own, cutter)
    return Taught(
        kind=kind,
        posterior=learn(readings, prior),
        coupons=len({_sitting(one) for one in own if "coupon" in one.job}),
        alike=sum(counts[one.kind] for one in others),
    )


def learned(one: Taught, system: System) -> Learned | None:
    """The same as a job takes it; None where the book has nothing to say."""
    found = one.posterior
    if not found.readings and not one.alike:
        return None
    return Learned(
        cutter=one.kind.cutter,
        material=one.kind.material,
        feature=one.kind.feature,
        laws=found.laws,
        words=_words(one, system),
        source=source_words(one, system),
        drift=drift_words(one, system),
    )


def reckoned(cutter: CutterNow, feature: str) -> float:
    """The offset that is expected where nothing was read, mm: pushed-off walls, and what runout widens."""
    inward = cutter.runout * 2 / math.pi - PUSHED
    return -inward if feature == "outline" else inward


def reckoned_error(cutter: CutterNow) -> float:
    """Standard deviation of that, mm: even laws of push-off and diameter. Runout is a sitting's."""
    return math.hypot(2 * PUSHED / math.sqrt(12), cutter.diameter_error / math.sqrt(3))


def _is_of(kind: Kind, one: Entry) -> bool:
    same = (one.cutter, one.material, one.feature) == (kind.cutter, kind.material, kind.feature)
    return same and _is_read(one)


def _kind_of(one: Mean) -> Kind:
    return Kind(cutter=one.cutter, material=one.material, feature=one.feature)


def _teaches(one: Mean, feature: str) -> bool:
    """Holes and recesses teach each other; outlines, which stand on the other side of the cutter, don't."""
    return one.feature in FEATURES and (one.feature in INSIDE) == (feature in INSIDE)


def _is_this_cutter(one: Entry | Mean, cutter: CutterNow) -> bool:
    """Whether it was read of the cutter as it is now, and not of one of its name that is clearly another."""
    if one.cutter != cutter.label or one.diameter is None:
        return True
    return abs(one.diameter - cutter.diameter) <= max(MEASURED_ANEW, 2 * cutter.diameter_error)


def _is_read(one: Entry) -> bool:
    if one.asked is None or one.kind not in ("size", "fit"):
        return False
    if one.found is not None:
        return True
    tried = one.feature in INSIDE and one.fitted in FIT_NAMES and one.hardware is not None
    return tried and _clearance(one) is not None


def _clearance(one: Entry) -> tuple[float, float] | None:
    """What a hand's word says of the clearance, mm."""
    try:
        wood = material(one.material).kind
        fit = fit_class(one.fitted, wood, "flats" if one.feature == "recess" else "round")
    except (ShelfError, KeyError):
        return None
    return fit.low, fit.high


def _sitting(one: Entry) -> str:
    return one.sitting or one.taken_on.isoformat()


def _readings(own: Sequence[Entry], cutter: CutterNow) -> list[Reading]:
    """A reading for each thing that was measured: what several people read of one is their mean.

    Of what was both measured and tried, the measure counts. Sittings stand as they began.
    """
    things: dict[tuple[str, str], list[Entry]] = {}
    for one in own:
        things.setdefault((_sitting(one), one.subject), []).append(one)
    order = {sitting: place for place, sitting in enumerate(dict.fromkeys(_sitting(one) for one in own))}
    return sorted((_reading(rows, cutter) for rows in things.values()), key=lambda one: order[one.sitting])


def _reading(rows: Sequence[Entry], cutter: CutterNow) -> Reading:
    """The offset of one thing, as if its program had been made for the cutter's diameter of today."""
    measured = [one for one in rows if one.found is not None]
    told = [_said(one, cutter) for one in measured or rows]
    moved = max(abs(_moved(one, cutter)) for one in rows)
    noise = math.sqrt(sum(noise**2 for _, noise in told)) / len(told)
    return Reading(
        value=sum(value for value, _ in told) / len(told),
        noise=math.hypot(noise, moved / 2),  # of what was measured anew nobody knows which measure was right
        sitting=_sitting(rows[0]),
    )


def _said(one: Entry, cutter: CutterNow) -> tuple[float, float]:
    """The offset that an entry says, and its standard deviation."""
    assert one.asked is not None
    if one.found is not None:
        noise = math.hypot(CALIPER, (one.resolution or 0.0) / math.sqrt(12))
        return one.found - one.asked + _moved(one, cutter), noise
    clearance = _clearance(one)
    assert clearance is not None and one.hardware is not None
    noise = math.hypot((clearance[1] - clearance[0]) / math.sqrt(12), JUDGED)
    return one.hardware + sum(clearance) / 2 - one.asked + _moved(one, cutter), noise


def _moved(one: Entry | Mean, cutter: CutterNow) -> float:
    """What the offset would be more, had the program been made for the cutter's diameter of today, mm."""
    if one.diameter is None or one.cutter != cutter.label:
        return 0.0
    moved = one.diameter - cutter.diameter
    return -moved if one.feature == "outline" else moved


def _known(one: Mean, cutter: CutterNow) -> Known:
    """The mean of a kind's readings about what is expected of it."""
    noise = CALIPER**2 + one.resolution**2 / 12 + SCATTER**2
    return Known(
        kind=_kind_of(one),
        mean=one.mean + _moved(one, cutter) - reckoned(cutter, one.feature),
        variance=noise / one.count,
    )


# In words


def _words(one: Taught, system: System) -> str:
    found = one.posterior
    if not found.readings:
        return (
            "What comes out, less what the program cuts to, as the shop book tells it of like cuts: "
            f"{one.alike} readings with the same cutter, material or kind of feature."
        )
    many = f"{found.readings} reading{'s' if found.readings > 1 else ''}"
    return (
        f"What comes out, less what the program cuts to: {many}; parts differ by "
        f"{show_small(found.scatter, system)} (one standard deviation). {drift_words(one, system)}"
    ).strip()


def source_words(one: Taught, system: System) -> str:
    """Where it comes from and what it is: "shop book: 6 coupons, offset -0.07 +/- 0.02 mm"."""
    found = one.posterior
    fine = found.error < FINE
    bare = show_small(found.offset, system, bare=True, fine=fine)
    offset = f"offset {bare} +/- {show_small(found.error, system, fine=fine)}"
    if not found.readings:
        return f"shop book: {one.alike} readings of like cuts, {offset}"
    others = found.sittings - one.coupons
    sorts = [
        f"{count} {word}{'s' if count > 1 else ''}"
        for count, word in ((one.coupons, "coupon"), (others, "first article"))
        if count
    ]
    return f"shop book: {' and '.join(sorts)}, {offset}"


def drift_words(one: Taught, system: System) -> str:
    """What there is to say of a cutter whose sizes drift; nothing where they don't, for all that is known."""
    found = one.posterior
    if not found.is_drifting:
        return ""
    return (
        f"Over {found.sittings} sittings its sizes have drifted by {show_small(found.drifted, system)}: look "
        "at the cutter's edge and the collet."
    )


def show_small(length: float, system: System, *, bare: bool = False, fine: bool = False) -> str:
    """A small length: hundredths of a millimetre (fine: thousandths), or tenths of a thou; bare: no unit."""
    number = f"{length:.{3 if fine else 2}f}" if system == "mm" else f"{length / 25.4:.4f}"
    number = number.removeprefix("-") if float(number) == 0 else number
    return number if bare else f"{number} {system}"
