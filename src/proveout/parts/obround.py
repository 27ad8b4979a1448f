"""The obround: a bar or a slot with round ends."""

from proveout.curve import Curve, Point, Segment, circle


def obround(length: float, width: float, centre: Point = (0.0, 0.0)) -> Curve:
    """The ring of a round-ended bar along X, anticlockwise; a circle where it is as long as it is wide.

    Raises:
        ValueError: a width that is not positive, or a length less than the width
    """
    if width <= 0 or length < width:
        raise ValueError(f"a round-ended bar needs 0 < width <= length, not {width} and {length}")
    x, y = centre
    radius, half = width / 2, (length - width) / 2
    if half == 0:
        return circle(centre, width)
    right, left = (x + half, y), (x - half, y)
    return Curve(
        (
            Segment((x - half, y - radius), (x + half, y - radius)),
            Segment((x + half, y - radius), (x + half + radius, y), right),
            Segment((x + half + radius, y), (x + half, y + radius), right),
            Segment((x + half, y + radius), (x - half, y + radius)),
            Segment((x - half, y + radius), (x - half - radius, y), left),
            Segment((x - half - radius, y), (x - half, y - radius), left),
        )
    )
