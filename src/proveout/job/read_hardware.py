"""Bolts, nuts and dowels as a job file states them, with what calipers said of them."""

from typing import Literal

from proveout.job.records import Hardware


def hexagon_of(
    size: str,
    form: Literal["hex head", "hex nut", "dowel"],
    flats: tuple[float, ...] | None,
    height: float | None,
) -> Hardware:
    """A head or nut; of several readings the largest comes first, for that one must seat."""
    largest, others = _largest_first(flats)
    return Hardware(size=size, form=form, across_flats=largest, height=height, others=others)


def dowel_of(size: str, diameters: tuple[float, ...] | None, limits: str | None) -> Hardware:
    """A dowel; of several readings the largest comes first."""
    largest, others = _largest_first(diameters)
    return Hardware(size=size, form="dowel", diameter=largest, others=others, limits=limits)


def _largest_first(readings: tuple[float, ...] | None) -> tuple[float | None, tuple[float, ...]]:
    if not readings:
        return None, ()
    first, *others = sorted(readings, reverse=True)
    return first, tuple(others)
