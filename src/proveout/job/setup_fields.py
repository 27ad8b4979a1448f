"""Every field of the setup file that the job file and the shop file don't have; as in `fields`.

The reference in docs/setup-file.md is checked against them.
"""

from typing import Any, Final

from proveout.job import defaults
from proveout.job.fields import ANGLE, LENGTH, JobFields
from proveout.job.kinds import list_of, one_of, part_name, path, positive, several, signed, text
from proveout.job.table import Field, defaulted, optional, required

MOST_INTENDED: Final = 200
MOST_LAYERS: Final = 50
MOST_TABS: Final = 100


class SetupFields:
    """The setup file's top."""

    units = JobFields.units
    name = JobFields.name
    shop = optional("shop", "path", path, '"shop.toml"')
    through_allowance = JobFields.through_allowance
    safe_above = JobFields.safe_above
    finish = JobFields.finish
    coats = JobFields.coats


class IntendedFields:
    """One of the [[intended]]."""

    name = required("name", "text", part_name, '"bracket"')
    drawing = required("drawing", "path", path, '"bracket.dxf"')
    units: Field[Any] = optional("units", "mm or in", one_of({"mm": "mm", "in": "in"}), '"mm"')
    known = optional("known", "text", text, '"width = 120 mm"')
    at = required("at", "2 lengths", several(signed(LENGTH), "XY"), '["40 mm", "30 mm"]')
    anchor: Field[Any] = defaulted(
        "anchor", "word", one_of({"zero": "zero", "corner": "corner"}), '"zero"', defaults.ANCHOR
    )
    angle = defaulted("angle", "angle", signed(ANGLE), '"90 deg"', 0.0)
    outline = optional("outline", "text", text, '"OUTLINE"')
    through: Field[Any] = optional(
        "through", "text or list of texts", list_of(text, most=MOST_LAYERS), '["HOLES"]'
    )
    tolerance = defaulted("tolerance", "length", positive(LENGTH), '"0.1 mm"', defaults.TOLERANCE)


class FloorFields:
    """One of the [[intended.floor]]."""

    layer = required("layer", "text", text, '"POCKET"')
    depth = optional("depth", "length", positive(LENGTH), '"5 mm"')
    floor = optional("floor", "length", positive(LENGTH), '"7 mm"')
    tolerance = optional("tolerance", "length", positive(LENGTH), '"0.1 mm"')


class TabFields:
    """One of the [[intended.tabs]]."""

    at = required("at", "2 lengths", several(signed(LENGTH), "XY"), '["60 mm", "0 mm"]')
    length = required("length", "length", positive(LENGTH), '"6 mm"')
    height = required("height", "length", positive(LENGTH), '"3 mm"')
