"""The strap clamp: a round-ended bar with a slot for its bolt.

The frame's origin is the bar's middle; its nose, the end that goes over the work, points to -X.
"""

from proveout.curve import Curve
from proveout.parts.obround import obround


def strap_outline(length: float, width: float) -> Curve:
    """The bar's outline, anticlockwise, its ends full half circles.

    Raises:
        ValueError: a bar wider than it is long
    """
    return obround(length, width)


def strap_slot(length: float, *, slot_length: float, slot_width: float, from_nose: float) -> Curve:
    """The bolt slot of a bar of that length, anticlockwise.

    Args:
        length: of the bar
        slot_length: overall
        slot_width: across, which is also the diameter of its round ends
        from_nose: from the nose end of the bar to the slot's near end
    Raises:
        ValueError: a slot shorter than it is wide
    """
    return obround(slot_length, slot_width, (from_nose + slot_length / 2 - length / 2, 0.0))
