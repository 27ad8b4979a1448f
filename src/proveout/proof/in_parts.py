"""Screws that would go through a part instead of waste."""

from collections.abc import Iterator

from shapely import Polygon

from proveout.finding import Finding, Level
from proveout.proof.trial import Trial
from proveout.setup import IntendedPart


def screws_in_parts(run: Trial) -> Iterator[Finding]:
    """Each screw whose steel lies in what shall stay of a part."""
    for grip in run.setup.grips:
        if grip.kind != "screw":
            continue
        for part in run.setup.parts:
            if grip.pressing.intersects(part.outline) and not _in_a_hole(grip.pressing, part):
                centre = grip.pressing.centroid
                yield Finding(
                    level=Level.CAUTION,
                    kind="means-doubt",
                    text=f"{grip.name[0].upper()}{grip.name[1:]} goes through {part.name}, not through "
                    "waste: it leaves a hole there.",
                    remedy="Put it in waste, at least 2 mm and a cutter's diameter from the part.",
                    at=(centre.x, centre.y, run.setup.stock.thickest),
                    name=grip.name,
                )


def _in_a_hole(area: Polygon, part: IntendedPart) -> bool:
    return any(one.through and one.region.covers(area) for one in part.features)
