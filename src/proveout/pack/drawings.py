"""Each part as a drawing: which curves go on which layer, and what the drawing says of itself."""

from proveout.drawing.dxf import Layer
from proveout.job.records import Job
from proveout.parts.part import Feature, Part


def counted_from(job: Job) -> float:
    """Height of the sheet's top, mm above the bed, at which a recess has the depth that it was sized for.

    With zero on the bed every floor lies at one height, so the depth is met where the sheet is thinnest; with
    zero on the top, depths are counted down from the thickest reading.
    """
    return job.stock.thinnest if job.zero.level == "bed" else job.stock.thickest


def part_layers(part: Part, top: float) -> list[Layer]:
    """The outline, and a layer for each kind of feature; a blind one has its depth in the layer's name.

    Args:
        part: in its own frame
        top: of the sheet, from which depths are counted, mm above the bed
    """
    layers = {"OUTLINE": [part.outline]}
    for feature in part.features:
        layers.setdefault(_layer(feature, top), []).extend(feature.curves)
    return [Layer(name=name, curves=tuple(curves)) for name, curves in layers.items()]


def _layer(feature: Feature, top: float) -> str:
    if feature.through:
        return "THROUGH"
    return f"RECESS-{top - feature.floor:.2f}-DEEP"


def part_remarks(part: Part, job: str) -> list[str]:
    """What a person who opens the drawing should know."""
    return [
        f"{part.name}, from the job {job}; millimetres, final size",
        *(f"{feature.name}: {feature.intent}" for feature in part.features),
    ]
