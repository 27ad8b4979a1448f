"""A part as it is drawn: outline, holes and pockets cut literally, by the rules of the job file."""

from collections.abc import Iterator, Sequence
from dataclasses import replace

from proveout.curve import is_circle, moved, polygon
from proveout.drawing.corners import goes_round, least_inside_radius, rounded, sharp_corners, turning_left
from proveout.drawing.loops import Loop
from proveout.drawing.opened import Opened, opened
from proveout.figure import Figure
from proveout.finding import Finding, InputError, Level
from proveout.fit.cutters import drills_hole, largest, no_cutter
from proveout.fit.drawn_cuts import SAME_SIZE, DrawnCut, DrawnCuts, drawn_cuts
from proveout.fit.drawn_fit import fitted
from proveout.fit.holes import through_depth
from proveout.fit.outline import TIGHT, outline_cutter
from proveout.fit.shaped import CLEARED, ShapedPart
from proveout.job.records import Cutter, DrawnWanted, Job, Wanted
from proveout.parts.part import Feature, FeatureKind, Part
from proveout.quantity import show_length


def shape_drawn(job: Job, wanted: Wanted, drawn: DrawnWanted) -> ShapedPart:
    """The part of a drawing, its zero moved to the middle of its outline.

    Raises:
        InputError: a drawing that can't be read or cut as the rules say
    """
    file = job.file.parent / drawn.drawing
    try:
        found = opened(file, known=drawn.known, units=drawn.units, outline=drawn.outline, layers=drawn.layers)
        sorted_out = drawn_cuts(job, drawn, found.loops)
        outline, cuts = sorted_out.outline, sorted_out.literal
        fits = [fitted(job, wanted, sorted_out, one) for one in sorted_out.fitted]
        left, front, right, back = outline.region.bounds
        middle = -(left + right) / 2, -(front + back) / 2
        edge = outline_cutter(job, outline.curve, name=wanted.name, named=wanted.cutter)
        literal = tuple(_feature(job, wanted, cut, middle) for cut in cuts)
        ring = rounded(outline.curve, edge.radius, hole=False)
    except InputError as error:
        raise InputError(f"{wanted.name}: {drawn.drawing}: {error.text}") from None
    part = Part(
        name=wanted.name,
        outline=moved(ring, x=middle[0], y=middle[1]),
        cutter=edge.number,
        features=(*literal, *(_centred(one, middle) for fit in fits for one in fit.features)),
        rotations_deg=wanted.rotations_deg,
    )
    return ShapedPart(
        part=part,
        count=wanted.count,
        figures=(*_figures(wanted, sorted_out), *(figure for fit in fits for figure in fit.figures)),
        findings=(
            *_findings(job, wanted, found, outline, edge, cuts, literal),
            *_unused(wanted, sorted_out),
            *(finding for fit in fits for finding in fit.findings),
        ),
    )


def _centred(feature: Feature, middle: tuple[float, float]) -> Feature:
    return replace(feature, curves=tuple(moved(one, x=middle[0], y=middle[1]) for one in feature.curves))


def _feature(job: Job, wanted: Wanted, cut: DrawnCut, middle: tuple[float, float]) -> Feature:
    cutter = _feature_cutter(job, wanted, cut)
    outer = rounded(cut.loop.curve, cutter.radius, hole=True)
    circle = is_circle(cut.loop.curve, 1e-3)
    if circle:
        outer = turning_left(cut.loop.curve)
    islands = [rounded(one.curve, cutter.radius, hole=False) for one in cut.islands]
    kind: FeatureKind = "hole" if circle and cut.through else "slot" if cut.through else "recess"
    return Feature(
        name=cut.name,
        kind=kind,
        intent=f"as drawn on layer {cut.loop.layer}",
        curves=tuple(moved(one, x=middle[0], y=middle[1]) for one in (outer, *islands)),
        floor=cut.floor,
        through=cut.through,
        tolerance=CLEARED,
        cutter=cutter.number,
    )


def _feature_cutter(job: Job, wanted: Wanted, cut: DrawnCut) -> Cutter:
    """The largest flat cutter that comes everywhere in the region; a drill of the hole's size before it."""
    depth = through_depth(job) if cut.through else job.stock.thickest - cut.floor
    curve, circle = cut.loop.curve, is_circle(cut.loop.curve, 1e-3)
    if circle and cut.through and wanted.cutter is None:
        past = job.through_allowance
        for one in job.shop.cutters:
            if one.kind == "drill" and drills_hole(one, circle[1], depth=depth, past=past, match=SAME_SIZE):
                return one
    radius = least_inside_radius(curve, hole=True)
    if circle:
        radius = circle[1] / 2 * 0.9  # room for the helix of a bore

    def fits(one: Cutter) -> bool:
        return (
            one.radius <= radius + TIGHT
            and one.flute_length >= depth
            and goes_round(curve, one.radius, hole=True)
            and _comes_everywhere(cut, one)
        )

    def refusal(choice: tuple[Cutter, ...]) -> InputError:
        return no_cutter(
            f"{cut.loop.said} ({show_length(depth, job.units)} deep)",
            "It takes a flat cutter that goes into its narrowest place and round its corners, with flutes of "
            f"at least {show_length(depth, job.units)}.",
            choice,
            wanted.cutter,
            job.units,
        )

    return largest(job.shop.cutters, wanted.cutter, fits=fits, refusal=refusal)


def _comes_everywhere(cut: DrawnCut, cutter: Cutter) -> bool:
    """Whether the cutter's middle can go all through the region in one piece, corners aside."""
    region = polygon((cut.loop.curve, *(one.curve for one in cut.islands)))
    way = region.buffer(-cutter.radius + 0.005)
    if way.is_empty or way.geom_type != "Polygon":
        return False
    left = region.difference(way.buffer(cutter.radius)).area
    corners = len(sharp_corners(cut.loop.curve, hole=True)) + sum(
        len(one.curve.segments) for one in cut.islands
    )
    return bool(left <= corners * cutter.radius**2 + 0.05 * region.area)


def _figures(wanted: Wanted, cuts: DrawnCuts) -> tuple[Figure, ...]:
    left, front, right, back = cuts.outline.region.bounds
    inside = len(cuts.literal) + sum(len(one.loops) for one in cuts.fitted)
    sizes = (("width", right - left), ("height", back - front))
    return tuple(
        Figure(
            name=f"{wanted.name}.{name}",
            value=value,
            unit="mm",
            rule=f"The outline's extent in the drawing, with {inside} curves inside it.",
            source="the drawing",
        )
        for name, value in sizes
    )


def _unused(wanted: Wanted, cuts: DrawnCuts) -> Iterator[Finding]:
    """Rules that fit no curve: a slip of the layer or the size, and the curve is cut otherwise."""
    for number in cuts.unused:
        yield Finding(
            level=Level.CAUTION,
            kind="as-drawn",
            text=f"{wanted.name}: its rule {number} fits none of the drawing's curves.",
            remedy="Compare it with what proveout look says of the drawing: layers, sizes and numbers.",
        )


def _findings(
    job: Job,
    wanted: Wanted,
    found: Opened,
    outline: Loop,
    edge: Cutter,
    cuts: Sequence[DrawnCut],
    features: Sequence[Feature],
) -> Iterator[Finding]:
    """What was settled in reading, and corners that come out round."""
    for note in found.notes:
        yield Finding(level=Level.NOTE, kind="as-drawn", text=f"{wanted.name}: {note}")
    for doubt in found.doubts:
        yield Finding(
            level=Level.CAUTION,
            kind="as-drawn",
            text=f"{wanted.name}: {doubt}",
            remedy="Measure 1 more dimension against the drawing before anything is cut.",
        )
    cutters = {one.number: one for one in job.shop.cutters}
    places = [("its outline", len(sharp_corners(outline.curve, hole=False)), edge)]
    places += [
        (cut.name, len(sharp_corners(cut.loop.curve, hole=True)), cutters[feature.cutter])
        for cut, feature in zip(cuts, features, strict=True)
    ]
    for name, count, cutter in places:
        if count:
            corners = (
                f"1 sharp inside corner of {name} comes"
                if count == 1
                else f"{count} sharp inside corners of {name} come"
            )
            yield Finding(
                level=Level.NOTE,
                kind="as-drawn",
                text=(
                    f"{wanted.name}: {corners} out with a radius of "
                    f"{show_length(cutter.radius, job.units)}, that of {cutter.name}."
                ),
                remedy="Where something square must go in, draw corner reliefs or name a slimmer cutter.",
            )
