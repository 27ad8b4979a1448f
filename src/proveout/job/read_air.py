"""The reader of [air]: what the stock is cut in, and what its parts are used in."""

from proveout.job import defaults
from proveout.job.fields import AirFields
from proveout.job.records import USUAL_AIR, Air
from proveout.job.table import Table


def read_air(table: Table) -> Air:
    """What a job file says of the air, or usual air; faults are noted at their fields."""
    inner = table.table("air")
    found = inner.values(AirFields) if inner else None
    if inner is None or found is None:
        return USUAL_AIR
    fields = AirFields
    if found[fields.moisture] is not None and "cut_humidity" in inner.data:
        inner.wrong("the meter's moisture says it already. Leave cut_humidity or moisture out.", "moisture")
    use = found[fields.use_humidity] or defaults.USE_HUMIDITY
    return Air(
        cut_humidity=found[fields.cut_humidity],
        cut_temperature=found[fields.cut_temperature],
        use_humidity=(min(use), max(use)),
        use_temperature=found[fields.use_temperature],
        moisture=found[fields.moisture],
        sawn=found[fields.sawn],
    )
