"""Hold, for a job with parts and no clamps: the parts are laid out first, the clamps chosen after.

The parts lie as they do on a free bed; of all places for clamps, those that are in no cutter's way are kept,
and the fewest that hold wherever the cutters go are chosen. Where that does not hold, or leaves an end of the
blank free to swing, the clamps for the blank alone come first and the parts are laid out around them. Where
that does not hold either, it is said why, and what would.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

from proveout.curve import polygon
from proveout.cutting.limits import HOLD_SAFETY
from proveout.draft import laid_out
from proveout.finding import Finding, InputError, Level
from proveout.hold.choose_clamps import Held, measured, spread_clamps
from proveout.hold.friction import is_spread
from proveout.hold.others import others_of
from proveout.hold.places import Place, places
from proveout.holding import ForParts, Holding, Push, holding, pushes_of
from proveout.job.records import Job
from proveout.layout.clear_places import clear_places, cut_corners
from proveout.parts.part import PlacedPart, lies
from proveout.quantity import show_length
from proveout.reckon import Reckoned, hold, reckon
from proveout.shelf.materials import Material
from proveout.shelf.tables import material

LARGER: Final = (20.0, 40.0, 60.0, 80.0)  # mm, by which a larger blank is tried for the remedy

FREE: Final = "The parts lie as on a free bed; the clamps stand clear of cutters, nuts and spindle."
AROUND: Final = "The clamps stand as for the blank alone; the parts are laid out around them."


@dataclass(frozen=True, slots=True, kw_only=True)
class _Task:
    """What is asked of the clamps."""

    job: Job  # without clamps
    reckoned: Reckoned
    wood: Material
    push: Push | None
    every: tuple[Place, ...]

    @property
    def wanted(self) -> float:
        return self.push.wanted(self.wood) if self.push else 0.0

    @property
    def pull(self) -> float:
        return HOLD_SAFETY * self.push.pull if self.push else 0.0


def hold_job(job: Job) -> Holding:
    """The answer for a job, its parts counted where it has some and states nothing that holds them."""
    if not job.wanted or job.clamps or others_of(job):
        return holding(job)
    return holding(job, for_parts(job))


def for_parts(job: Job) -> ForParts:
    """Clamps for the parts of a job that states none.

    Raises:
        InputErrors: parts that can't be made
    """
    reckoned, wood = reckon(job), material(job.stock.material)
    every = places(job.shop.plate, job.stock, job.shop.clamps)
    task = _Task(job=job, reckoned=reckoned, wood=wood, push=_push(job, reckoned, wood), every=every)
    try:
        placed = _laid(task, ())
    except InputError as error:
        return _answer(task, (), None, "", (_does_not_fit(error),))
    clear = _clear(task, placed)
    found = _after(task, placed, clear)
    if found is None or not (found[1].enough and _spread(task, found[1])):
        found = _better(task, found, _before(task))
    if found is None:
        return _answer(task, placed, None, "", (_none_clear(task, len(clear)),))
    placed, held, how = found
    return _answer(task, placed, held, how, tuple(_weak(task, held, len(clear))))


_Found = tuple[tuple[PlacedPart, ...], Held, str]


def _better(task: _Task, one: _Found | None, other: _Found | None) -> _Found | None:
    """That which stands enough, with clamps near both ends, with fewer of them, and then more."""

    def merit(found: _Found) -> tuple[bool, bool, int, float]:
        held = found[1]
        return held.enough, _spread(task, held), -len(held.places), held.stands

    return max((found for found in (one, other) if found), key=merit, default=None)


def _spread(task: _Task, held: Held) -> bool:
    """Whether the clamps stand far enough apart that no end can swing and lift."""
    return is_spread([one.patch for one in held.places], task.job.stock.size)


def _push(job: Job, reckoned: Reckoned, wood: Material) -> Push | None:
    """The hardest of the parts' cuts with a firm hold, dull; a drill pushes down, not sideways."""
    used = {part.cutter for part, _ in reckoned.shaped.parts}
    used |= {feature.cutter for part, _ in reckoned.shaped.parts for feature in part.features}
    pushes = pushes_of(job, wood, (one for one in job.shop.cutters if one.number in used))
    return max(pushes, key=lambda one: one.wanted(wood), default=None)


def _laid(task: _Task, clamps: Sequence[Place]) -> tuple[PlacedPart, ...]:
    """The parts around some clamps."""
    job = replace(task.job, clamps=tuple(one.at for one in clamps))
    return laid_out(job, task.reckoned.shaped, hold(job))


def _clear(task: _Task, placed: Sequence[PlacedPart]) -> tuple[Place, ...]:
    job = task.job
    return clear_places(
        task.every,
        placed,
        job.shop.cutters,
        job.shop.machine.spindle,
        thickest=job.stock.thickest,
        lowest_tip=-job.through_allowance,
    )


def _after(task: _Task, placed: tuple[PlacedPart, ...], clear: Sequence[Place]) -> _Found | None:
    """Clamps after the layout; laid out again with them, the parts must be held where they then lie."""
    job = task.job
    corners = cut_corners(placed, job.shop.cutters)
    held = spread_clamps(clear, task.wood, job.stock.size, task.wanted, pull=task.pull, points=corners)
    if held is None:
        return None
    try:
        again = _laid(task, held.places)
    except InputError:  # by a hair: the layout's grid is coarser than the rule
        return None
    return again, _measured(task, held.places, again), FREE


def _before(task: _Task) -> _Found | None:
    """Clamps before the layout; None where the parts do not fit around them."""
    held = spread_clamps(task.every, task.wood, task.job.stock.size, task.wanted, pull=task.pull)
    if held is None:
        return None
    try:
        placed = _laid(task, held.places)
    except InputError:
        return None
    return placed, _measured(task, held.places, placed), AROUND


def _measured(task: _Task, chosen: tuple[Place, ...], placed: Sequence[PlacedPart]) -> Held:
    """What clamps stand where the cutters go."""
    corners = cut_corners(placed, task.job.shop.cutters)
    return measured(chosen, task.wood, task.job.stock.size, task.wanted, pull=task.pull, points=corners)


def _answer(
    task: _Task,
    placed: Sequence[PlacedPart],
    held: Held | None,
    how: str,
    findings: tuple[Finding, ...],
) -> ForParts:
    outlines = tuple(polygon((lies(one).outline,)) for one in placed)
    return ForParts(push=task.push, outlines=outlines, held=held, how=how, findings=findings)


def _does_not_fit(error: InputError) -> Finding:
    return Finding(
        level=Level.STOP,
        kind="does-not-fit",
        text="The parts do not fit on the blank even without clamps.",
        remedy=error.text,
    )


def _none_clear(task: _Task, clear: int) -> Finding:
    return Finding(
        level=Level.STOP,
        kind="blank-not-held",
        text=_why_not(task, clear) or "No clamp on hand reaches the blank from a free hole of the plate.",
        remedy=" ".join(_what_would(task)),
    )


def _weak(task: _Task, held: Held, clear: int) -> Iterator[Finding]:
    if held.enough or task.push is None:
        return
    x, y = (show_length(one, task.job.units) for one in held.weakest)
    yield Finding(
        level=Level.STOP,
        kind="hold-margin",
        text=f"With the best clamps that are clear of the cutters the blank stands {held.stands:.0f} N "
        f"sideways at ({x}, {y}), where it is cut; {task.push.cutter.name} may push "
        f"{task.push.force:.0f} N, and {HOLD_SAFETY:.0f} times that is wanted. {_why_not(task, clear)}",
        remedy=" ".join(_what_would(task)),
    )


def _why_not(task: _Task, clear: int) -> str:
    total = len(task.every)
    return f"Of {total} places for a clamp, {total - clear} are in a cutter's way." if total else ""


def _what_would(task: _Task) -> Iterator[str]:
    """What to change so that the parts are held, what is reckoned first."""
    larger = (_larger(task, extra) for extra in LARGER) if task.every else ()
    held = next((one for one in larger if _found_for(one)), None)
    if held is not None:
        size = " x ".join(show_length(side, task.job.units) for side in held.job.stock.size)
        yield f"A blank of {size} with its left front corner where it is would be held."
        yield "Or take fewer parts, let them be turned (rotations),"
    else:
        yield "Take a larger blank or fewer parts, let them be turned (rotations),"
    yield "hold it with tape under it or screws through the waste, or cut shallower."


def _larger(task: _Task, extra: float) -> _Task:
    """The same with a larger blank."""
    job = task.job
    wide, deep = job.stock.size
    stock = replace(job.stock, size=(wide + extra, deep + extra))
    every = places(job.shop.plate, stock, job.shop.clamps)
    return replace(task, job=replace(job, stock=stock), every=every)


def _found_for(task: _Task) -> bool:
    """Whether clamps hold the parts, before or after the layout."""
    try:
        placed = _laid(task, ())
    except InputError:
        return False
    found = (_after(task, placed, _clear(task, placed)), _before(task))
    return any(one is not None and one[1].enough for one in found)
