"""Each part as a drawing: which curves go on which layer, and what the drawing says of itself."""

from proveout.drawing.dxf import Layer
from proveout.parts.part import Feature, Part


def part_layers(part: Part, thickness: float) -> list[Layer]:
    """The outline, and a layer for each kind of feature; a blind one has its depth in the layer's name.

    Args:
        part: in its own frame
        thickness: of the stock from which depths are counted, mm
    """
    layers = {"OUTLINE": [part.outline]}
    for feature in part.features:
        layers.setdefault(_layer(feature, thickness), []).extend(feature.curves)
    return [Layer(name=name, curves=tuple(curves)) for name, curves in layers.items()]


def _layer(feature: Feature, thickness: float) -> str:
    if feature.through:
        return "THROUGH"
    return f"RECESS-{thickness - feature.floor:.2f}-DEEP"


def part_remarks(part: Part, job: str) -> list[str]:
    """What a person who opens the drawing should know."""
    return [
        f"{part.name}, from the job {job}; millimetres, final size",
        *(f"{feature.name}: {feature.intent}" for feature in part.features),
    ]
