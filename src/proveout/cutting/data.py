"""CuttingData: how one cutter shall cut one kind of cut, and what limits it."""

from dataclasses import dataclass
from typing import Literal

from proveout.figure import Figure

CutKind = Literal["recess", "bore", "drill", "slot", "outline"]


@dataclass(frozen=True, slots=True, kw_only=True)
class CuttingData:
    """Cutting values of one operation; the figures hold the reasons, the limits the weakest links."""

    cutter: int
    depth_of_cut: float  # per pass
    stepover: float  # radial width of a clearing pass
    feed: float  # mm/s along the cut
    plunge_feed: float  # mm/s straight down, and the vertical part of any ramp
    ramp_deg: float  # steepest ramp or helix
    speed_rpm: float
    finish_allowance: float  # left on walls by clearing, taken by the finishing pass
    finish_feed: float  # mm/s of the finishing pass
    finish_depth: float  # most depth of one finishing pass
    limits: tuple[tuple[str, str], ...]  # (value's name, the constraint that limits it, in words)
    figures: tuple[Figure, ...]
    active: tuple[str, ...] = ()  # names of the limits that hold back depth and feed
