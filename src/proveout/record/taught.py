"""What the book has taught, cutter by cutter, as `proveout book` tells it."""

from collections.abc import Iterator, Sequence
from typing import Final

from proveout.book.alike import Kind
from proveout.book.entry import Entry, Mean
from proveout.book.minutes import learned_minutes
from proveout.book.offsets import (
    FEATURES,
    CutterNow,
    Taught,
    drift_words,
    show_small,
    source_words,
    taught,
)
from proveout.quantity import System

OTHER_DIAMETER: Final = "read with another diameter than the shop file's; it counts no more"
APART: Final = 2.0  # standard deviations of the difference, from which X and Y are told apart
ENOUGH: Final = 3  # readings along each


def taught_lines(
    entries: Sequence[Entry], means: Sequence[Mean], cutters: Sequence[CutterNow], units: System
) -> Iterator[str]:
    """A line for each kind of cut that was read, and one for the minutes.

    Args:
        entries: that stand, by day
        means: of every kind that was read
        cutters: as the shop file has them today; of others the last entry's diameter counts
    """
    now = {one.label: one for one in cutters}
    for kind in _kinds(entries):
        cutter = now.get(kind.cutter) or _last(entries, kind.cutter)
        yield _line(taught(entries, means, cutter, kind.material, kind.feature), units)
        yield from _apart(entries, cutter, kind, units)
    minutes = learned_minutes(entries)
    if minutes is not None:
        jobs = f"{minutes.jobs} job{'s' if minutes.jobs > 1 else ''}"
        yield (
            f"minutes: the next job takes {minutes.times:.2f} times what is predicted "
            f"({minutes.low:.2f} to {minutes.high:.2f}), by {jobs}"
        )


def _kinds(entries: Sequence[Entry]) -> list[Kind]:
    found = {
        Kind(cutter=one.cutter, material=one.material, feature=one.feature)
        for one in entries
        if one.cutter and one.material and one.feature in FEATURES and one.kind in ("size", "fit")
    }
    return sorted(found, key=lambda one: (one.cutter, one.material, one.feature))


def _last(entries: Sequence[Entry], label: str) -> CutterNow:
    """A cutter that the shop has no more, as the last entry knew it."""
    diameters = [one.diameter for one in entries if one.cutter == label and one.diameter is not None]
    return CutterNow(label=label, diameter=diameters[-1] if diameters else 0.0)


def _line(one: Taught, units: System) -> str:
    found = one.posterior
    if not found.readings and not one.alike:
        return f"{one.kind.cutter}, {one.kind.material}, {one.kind.feature}: {OTHER_DIAMETER}"
    what = f"{one.kind.cutter}, {one.kind.material}, {one.kind.feature}"
    said = source_words(one, units).removeprefix("shop book: ")
    drift = drift_words(one, units)
    return (
        f"{what}: {said}; parts differ by {show_small(found.scatter, units)}{f'. {drift}' if drift else ''}"
    )


def _apart(entries: Sequence[Entry], cutter: CutterNow, kind: Kind, units: System) -> Iterator[str]:
    """Where sizes along X and along Y come out clearly different, by how much each is off."""
    along = {
        axis: taught(
            [one for one in entries if one.direction == axis], (), cutter, kind.material, kind.feature
        )
        for axis in ("x", "y")
    }
    x, y = (along[axis].posterior for axis in ("x", "y"))
    if min(x.readings, y.readings) < ENOUGH:
        return
    error = (x.error**2 + y.error**2) ** 0.5
    if abs(x.offset - y.offset) > APART * error:
        yield (
            f"  along X {show_small(x.offset, units)}, along Y {show_small(y.offset, units)}: the axes "
            "differ. Check belts or screws, and each axis' steps against a long rule."
        )
