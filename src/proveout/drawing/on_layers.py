"""What lies on some layers of a sheet."""

from collections.abc import Collection
from dataclasses import fields, replace

import numpy as np

from proveout.drawing.wires import Sheet, Wires


def on_layers(sheet: Sheet, layers: Collection[str]) -> Sheet:
    """The sheet with what lies on some layers alone; their names are compared without regard to case."""
    wanted = {one.lower() for one in layers}
    numbers = [number for number, name in enumerate(sheet.layers) if name.lower() in wanted]
    rows = np.flatnonzero(np.isin(sheet.wires.layer, numbers))
    arrays = {one.name: getattr(sheet.wires, one.name)[rows] for one in fields(Wires)}
    return replace(sheet, wires=Wires(**arrays))
