"""A sheet laid out before, and whether it would be laid out so again."""

from dataclasses import replace

from proveout.layout.lay import LayOrder
from proveout.parts.part import Part, PlacedPart


def laid_again(
    before: LayOrder, placed: tuple[PlacedPart, ...], order: LayOrder
) -> tuple[PlacedPart, ...] | None:
    """The parts of an order where those of an earlier one were laid; None where they might lie elsewhere.

    What a part looks like inside moves nothing: only its outline, what is cut through, and by which cutters.
    """
    if replace(before, parts=()) != replace(order, parts=()) or _taken(before) != _taken(order):
        return None
    now = {was: part for (was, _), (part, _) in zip(before.parts, order.parts, strict=True)}
    return tuple(replace(one, part=now[one.part]) for one in placed)


def _taken(order: LayOrder) -> list[object]:
    """All of the parts that laying out looks at."""
    return [(*_shape(part), count) for part, count in order.parts]


def _shape(part: Part) -> tuple[object, ...]:
    through = tuple(feature.curves for feature in part.features if feature.through)
    cutters = {feature.cutter for feature in part.features}
    return part.name, part.outline, part.cutter, part.rotations_deg, through, cutters
