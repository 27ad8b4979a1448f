"""Which closed curves of a drawing make a part, and how each is cut by the job's rules."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from proveout.curve import Point
from proveout.drawing.loops import Loop, enclosing, outermost, regions
from proveout.drawing.shapes import shape_of
from proveout.drawing.understand import ON_AXIS, in_order, understand
from proveout.finding import InputError
from proveout.job.records import DrawnRule, DrawnWanted, Job, Takes
from proveout.quantity import show_length

SAME_SIZE: Final = 0.05  # mm by which a circle or hexagon may differ from the size that a rule names
MOST_NAMED: Final = 6  # parts of a drawing in a message


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawnCut:
    """A closed curve within the outline that is cut as it is drawn, and how deep."""

    name: str
    loop: Loop
    islands: tuple[Loop, ...]
    floor: float
    through: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawnFit:
    """The curves that one rule means for hardware."""

    rule: int  # from 1
    takes: Takes
    loops: tuple[Loop, ...]
    shanks: tuple[Loop | None, ...]  # for each: the circle about its middle, which has no rule of its own


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawnCuts:
    """A part's curves, sorted out."""

    outline: Loop
    literal: tuple[DrawnCut, ...]
    fitted: tuple[DrawnFit, ...]
    unused: tuple[int, ...]  # rules that fit no curve, from 1


def drawn_cuts(job: Job, drawn: DrawnWanted, loops: Sequence[Loop]) -> DrawnCuts:
    """The part's outline, and what is cut within it.

    Raises:
        InputError: without a place: no such part or layer, several parts where one is wanted, a curve that
            crosses the outline, a floor outside the stock
    """
    ruled = _by_rule(drawn, loops)
    outline = _outline(loops, drawn)
    rest = _within(outline, loops, drawn, ruled)
    used = {number for one in rest if (number := ruled[id(one)])}
    fits = tuple(_fits(drawn, rest, ruled))
    shanks = {id(one) for fit in fits for one in fit.shanks if one is not None}
    return DrawnCuts(
        outline=outline,
        literal=tuple(_literal(job, drawn, [one for one in rest if id(one) not in shanks], ruled)),
        fitted=fits,
        unused=tuple(number for number in range(1, len(drawn.rules) + 1) if number not in used),
    )


def _fits(drawn: DrawnWanted, rest: Sequence[Loop], ruled: dict[int, int]) -> Iterator[DrawnFit]:
    circles = [
        (loop, shape.centre)
        for loop in rest
        if not ruled[id(loop)] and (shape := shape_of(loop.curve)).kind == "circle"
    ]
    for number, rule in enumerate(drawn.rules, 1):
        mine = tuple(one for one in rest if ruled[id(one)] == number)
        if rule.takes is None or not mine:
            continue
        held = rule.takes.bolt is not None and rule.takes.hardware is not None
        shanks = tuple(_about_the_middle(one, circles) if held else None for one in mine)
        yield DrawnFit(rule=number, takes=rule.takes, loops=mine, shanks=shanks)


def _about_the_middle(loop: Loop, circles: Sequence[tuple[Loop, Point]]) -> Loop | None:
    centre = shape_of(loop.curve).centre
    return next((one for one, middle in circles if math.dist(middle, centre) <= ON_AXIS), None)


# --- which rule counts


def _by_rule(drawn: DrawnWanted, loops: Sequence[Loop]) -> dict[int, int]:
    """For each loop's identity the number of the first rule that holds, from 1; 0 for none."""
    named = any(rule.curve is not None for rule in drawn.rules)
    labels = (
        {id(one): str(number) for number, one in enumerate(in_order(understand(loops)), 1)} if named else {}
    )
    return {
        id(loop): next(
            (
                number
                for number, rule in enumerate(drawn.rules, 1)
                if _holds(rule, loop, labels.get(id(loop), ""))
            ),
            0,
        )
        for loop in loops
    }


def _holds(rule: DrawnRule, loop: Loop, label: str) -> bool:
    if rule.layer is not None and rule.layer.lower() != loop.layer.lower():
        return False
    if rule.curve is not None and rule.curve.lower() not in (label, loop.entity.lower()):
        return False
    if rule.size is None:
        return True
    shape = shape_of(loop.curve)
    return shape.kind in ("circle", "hexagon") and abs(shape.length - rule.size) <= SAME_SIZE


# --- the outline and what lies in it


def _outline(loops: Sequence[Loop], drawn: DrawnWanted) -> Loop:
    if drawn.part is not None:
        parts = understand(loops)
        if drawn.part > len(parts):
            holds = "1 part" if len(parts) == 1 else f"{len(parts)} parts"
            raise InputError(f"it holds {holds}, so there is no part {drawn.part}.")
        return parts[drawn.part - 1].loop
    layer = drawn.outline
    mine = loops if layer is None else [one for one in loops if one.layer.lower() == layer.lower()]
    if not mine:
        layers = ", ".join(dict.fromkeys(one.layer for one in loops))
        raise InputError(f'there is no closed curve on layer "{layer}". Its layers: {layers}.')
    outer = outermost(mine)
    if len(outer) != 1:
        raise InputError(_several(loops, outer))
    return outer[0]


def _several(loops: Sequence[Loop], outer: Sequence[Loop]) -> str:
    """Which parts there are to choose from."""
    parts = understand(loops)
    said = [f"part {number} ({one.shape.said})" for number, one in enumerate(parts[:MOST_NAMED], 1)]
    more = f" and {len(parts) - MOST_NAMED} more" if len(parts) > MOST_NAMED else ""
    return (
        f"{len(outer)} closed curves lie in no other. It holds {', '.join(said)}{more}. Say which is meant: "
        'part = 1; or put the one outline on a layer of its own and name that: outline = "OUTLINE".'
    )


def _within(
    outline: Loop, loops: Sequence[Loop], drawn: DrawnWanted, ruled: dict[int, int]
) -> tuple[Loop, ...]:
    """The curves inside the outline.

    Where the drawing holds several parts, what lies in a hole that goes through is another part.
    """
    others = [one for one in loops if one is not outline]
    inside = [one for one in others if outline.region.buffer(1e-6).covers(one.region)]
    if drawn.part is None:
        stray = next((one for one in others if not any(one is other for other in inside)), None)
        if stray is not None:
            raise InputError(f"{stray.said} lies outside the part's outline, or crosses it.")
        return tuple(inside)
    crossing = next(
        (one for one in others if one.region.intersects(outline.region) and not _apart(one, outline, inside)),
        None,
    )
    if crossing is not None:
        raise InputError(f"{crossing.said} crosses the outline of part {drawn.part}.")
    own = {id(hole.loop) for hole in understand(loops)[drawn.part - 1].holes}
    around = enclosing(inside)
    return tuple(
        one
        for one, rings in zip(inside, around, strict=True)
        if id(one) in own or not any(_falls_out(drawn, ruled[id(inside[ring])]) for ring in rings)
    )


def _apart(one: Loop, outline: Loop, inside: Sequence[Loop]) -> bool:
    return any(one is other for other in inside) or one.region.buffer(1e-6).covers(outline.region)


def _falls_out(drawn: DrawnWanted, ruled: int) -> bool:
    """Whether what lies in a curve of a rule is no part of the part: the curve is cut right through."""
    if not ruled:
        return True
    rule = drawn.rules[ruled - 1]
    if rule.takes is not None:
        return rule.takes.hardware is None or rule.takes.hardware.form == "dowel"
    return rule.depth is None and rule.floor is None


# --- what is cut as it is drawn


def _literal(job: Job, drawn: DrawnWanted, rest: Sequence[Loop], ruled: dict[int, int]) -> list[DrawnCut]:
    deep: dict[tuple[float, bool], list[Loop]] = {}
    for loop in rest:
        rule = drawn.rules[ruled[id(loop)] - 1] if ruled[id(loop)] else None
        if rule is None or rule.takes is None:
            deep.setdefault(_floor(job, rule, loop), []).append(loop)
    cuts: list[DrawnCut] = []
    for (floor, through), loops in deep.items():
        for region in regions(loops):
            number = len(cuts) + 1
            name = f"{'hole' if through else 'pocket'} {number}"
            if through and region.islands:
                raise InputError(
                    f"{region.islands[0].said} lies in a hole that goes through: it would fall out. Draw it "
                    "as a part of its own; give the hole a depth by a rule; or, where it is the recess of a "
                    'head or nut, say so in one: bolt = "M6", holds = "head".'
                )
            cuts.append(
                DrawnCut(name=name, loop=region.loop, islands=region.islands, floor=floor, through=through)
            )
    return cuts


def _floor(job: Job, rule: DrawnRule | None, loop: Loop) -> tuple[float, bool]:
    """Height of the floor that a rule gives a curve, and whether it goes through."""
    if rule is None or (rule.depth is None and rule.floor is None):
        return 0.0, True
    floor = rule.floor if rule.floor is not None else job.stock.thickest - (rule.depth or 0.0)
    if not 0 < floor < job.stock.thinnest:
        raise InputError(
            f"the floor of {loop.said} would lie {show_length(floor, job.units)} above the bed, in a "
            f"sheet {show_length(job.stock.thinnest, job.units)} thick. Give its rule another depth."
        )
    return floor, False
