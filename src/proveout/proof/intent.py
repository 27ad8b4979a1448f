"""What shall stand at a place when the cutting is done, as the intent says."""

import numpy as np
import numpy.typing as npt
import shapely
from shapely import Polygon

from proveout.motion import Floats
from proveout.setup import IntendedFeature, IntendedPart, Setup, Tab

GONE: float = -1e6  # mm; nothing need stand here


def feature_floor(feature: IntendedFeature) -> float:
    """Height above the bed that a feature must be cut down to."""
    return 0.0 if feature.through else feature.floor


def lowest_floor(feature: IntendedFeature) -> float:
    """The lowest height to which a feature may be cut."""
    return GONE if feature.through else feature.floor - feature.tolerance


def kept_height(setup: Setup, part: IntendedPart, points: Floats) -> Floats:
    """Height up to which a part's material must stand at each point, (n,) mm; GONE outside the part."""
    height = np.where(inside(part.outline, points), setup.stock.thickest, GONE)
    for feature in part.features:
        within = np.flatnonzero(height > lowest_floor(feature))
        within = within[inside(feature.region, points[within])]
        height[within] = lowest_floor(feature)
    return height


def inside(region: Polygon, points: Floats) -> npt.NDArray[np.bool_]:
    """Which points lie within a region."""
    left, front, right, back = region.bounds
    x, y = points[:, 0], points[:, 1]
    found: npt.NDArray[np.bool_] = (x >= left) & (x <= right) & (y >= front) & (y <= back)
    near = np.flatnonzero(found)
    shapely.prepare(region)
    found[near] = shapely.contains_xy(region, x[near], y[near])
    return found


def tabs_of(setup: Setup, part: IntendedPart) -> tuple[Tab, ...]:
    """The bridges that keep a part in the sheet."""
    return tuple(tab for tab in setup.tabs if tab.part == part.name)


def naming(part: IntendedPart, feature: IntendedFeature | None = None) -> str:
    """A part or its feature as it is spoken of: "knob 3's head recess"."""
    return part.name if feature is None else f"{part.name}'s {feature.name}"
