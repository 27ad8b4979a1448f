"""Which way a cutter's spiral leaves an edge: what it lifts, what it presses, where chips go.

All of it is common practice, no source: an up-cut draws chips out and lifts the upper face's fibres, a
down-cut presses them and packs its chips into a closed cut, a compression cutter does one at each end, a
straight one neither.
"""

from collections.abc import Iterable
from typing import Final

from proveout.finding import Finding, Level
from proveout.job.records import Cutter, Spiral

THROUGH: Final[tuple[Spiral, ...]] = ("compression", "down", "straight", "up")  # the better first
BLIND: Final[tuple[Spiral, ...]] = ("up", "straight", "down", "compression")
SPLINTERS: Final = ("plywood", "solid wood")  # kinds of stock with fibres or a face to lift


_TEXT: Final[dict[Spiral, str]] = {
    "up": "lifts the fibres of the upper face, whose edges may splinter; the lower stays clean on the plate.",
    "down": "packs its chips and presses the fibres of the lower face away, whose edges may splinter.",
    "compression": "leaves both faces clean only in passes deeper than its up-cut end, about a diameter.",
}
_REMEDY: Final[dict[Spiral, str]] = {
    "up": "Lay the better face down, tape over the outlines, or take a down-cut or a compression cutter.",
    "down": "Lay the better face up on a plate without grooves, and draw the dust off while it cuts.",
    "compression": "Lay the better face down, or tape over the outlines.",
}


def liking(cutter: Cutter, *, through: bool) -> int:
    """The place of a spiral among cutters of one diameter: clean faces through, chips out of recesses."""
    return (THROUGH if through else BLIND).index(cutter.spiral)


def torn_edges(cutters: Iterable[Cutter], kind: str) -> tuple[Finding, ...]:
    """What the spirals of cutters that go right through do to the faces of a kind of stock."""
    if kind not in SPLINTERS:
        return ()
    return tuple(_told(one) for one in cutters if one.kind == "flat" and one.spiral != "straight")


def _told(cutter: Cutter) -> Finding:
    return Finding(
        level=Level.NOTE,
        kind="tear-out",
        text=f"{cutter.name} {_TEXT[cutter.spiral]}",
        remedy=_REMEDY[cutter.spiral],
    )
