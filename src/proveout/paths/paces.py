"""Paces: by what each move of a cut gets its feed, so that one way can be run at other feeds."""

from array import array
from typing import Final, NamedTuple

import numpy as np

from proveout.cutting.data import CuttingData
from proveout.motion import Bytes, Floats

RAPID: Final = 0  # at none: the machine's own speed
ALONG: Final = 1  # the feed along the cut
FINISHING: Final = 2  # the feed of a finishing pass
PLUNGING: Final = 3  # the feed straight down
COLUMNS: Final = 3  # of a list of paces


class Paces(NamedTuple):
    """What sets the feed of each of n moves."""

    by: Bytes  # (n,) RAPID, ALONG, FINISHING or PLUNGING
    way: Floats  # (n,) mm that the cutter runs while it goes up or down by `drop`
    drop: Floats  # (n,) mm; 0 where it stays level or goes straight down


def paces_of(rows: "array[float]") -> Paces:
    """Paces collected row by row: by what, way, drop."""
    table = np.array(rows, dtype=np.float64).reshape(-1, COLUMNS)
    return Paces(by=table[:, 0].astype(np.uint8), way=table[:, 1].copy(), drop=table[:, 2].copy())


def sloped(feed: float, plunge_feed: float, way: float, drop: float) -> float:
    """A feed, lowered where its vertical share would pass the plunge feed."""
    return min(feed, plunge_feed * way / drop) if drop else feed


def feeds_at(paces: Paces, data: CuttingData) -> Floats:
    """The feed of each move at other cutting values, (n,) mm/s; all but their feeds must be the same."""
    feed = np.array([0.0, data.feed, data.finish_feed, data.plunge_feed])[paces.by]
    level = paces.drop == 0
    slowed = data.plunge_feed * paces.way / np.where(level, 1.0, paces.drop)
    feeds: Floats = np.where(level, feed, np.minimum(feed, slowed))
    return feeds
