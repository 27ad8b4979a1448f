"""A scene read back in Python, by its own description."""

import json
from typing import Any

import numpy as np
import numpy.typing as npt

Scene = tuple[dict[str, Any], dict[str, npt.NDArray[Any]]]


def read_scene(binary: bytes) -> Scene:
    """Header and arrays."""
    length = int.from_bytes(binary[4:8], "little")
    header = json.loads(binary[8 : 8 + length])
    arrays = {
        name: np.frombuffer(
            binary, dtype="<" + one["type"], count=one["count"], offset=8 + length + one["offset"]
        )
        for name, one in header["arrays"].items()
    }
    return header, arrays
