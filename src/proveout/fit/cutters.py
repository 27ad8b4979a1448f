"""Which cutter on hand finishes a fitted feature."""

import math
from collections.abc import Callable, Sequence
from typing import Final

from proveout.finding import InputError
from proveout.fit.spirals import liking
from proveout.job.records import Cutter
from proveout.quantity import System, show_length

# A bore needs room for the helix: beyond this share of its diameter the cutter nearly plunges.
LARGEST_BORE_RADIUS: Final = 0.45  # times the diameter of the hole; common practice
# A drill, or a cutter that is plunged like one, makes the hole where it is this near to the size wanted.
DRILL_MATCH: Final = 0.05


def flat_cutters(cutters: Sequence[Cutter], named: int | None, *, through: bool = True) -> tuple[Cutter, ...]:
    """The flat-ended cutters to choose from, largest first: all, or the named one alone.

    Of those of one diameter, to a tenth of a millimetre, the spiral that suits the cut comes first.
    """

    def key(cutter: Cutter) -> tuple[float, int, int]:
        return -round(cutter.diameter, 1), liking(cutter, through=through), cutter.number

    return tuple(sorted((one for one in allowed(cutters, named) if one.kind == "flat"), key=key))


def allowed(cutters: Sequence[Cutter], named: int | None) -> tuple[Cutter, ...]:
    """All cutters on hand, or the one that the person named.

    Raises:
        InputError: no cutter has that number
    """
    if named is None:
        return tuple(cutters)
    found = tuple(cutter for cutter in cutters if cutter.number == named)
    if not found:
        numbers = ", ".join(str(cutter.number) for cutter in cutters)
        raise InputError(f"There is no cutter {named} in the shop file. On hand: {numbers}.")
    return found


def largest(
    cutters: Sequence[Cutter],
    named: int | None,
    *,
    fits: Callable[[Cutter], bool],
    refusal: Callable[[tuple[Cutter, ...]], InputError],
    through: bool = True,
) -> Cutter:
    """The largest flat cutter that fits; otherwise raises the refusal, which is told what was on hand."""
    for cutter in flat_cutters(cutters, named, through=through):
        if fits(cutter):
            return cutter
    raise refusal(allowed(cutters, named))


def drills_hole(cutter: Cutter, diameter: float, *, depth: float, past: float, match: float) -> bool:
    """Whether a straight plunge of that cutter makes a through hole.

    Args:
        cutter: a drill, or a flat cutter that cuts at its centre
        diameter: wanted
        depth: from the top of the stock to the bottom of the cut
        past: how far the tip may go below the stock; a drill's point has to fit into that
        match: largest difference of diameters
    """
    if cutter.flute_length < depth or abs(cutter.diameter - diameter) > match:
        return False
    if cutter.kind == "drill":
        return point_length(cutter) <= past
    return cutter.kind == "flat" and cutter.centre_cutting


def point_length(cutter: Cutter) -> float:
    """Height of a drill's cone; a drill with no stated point counts as 118 deg, the usual twist drill."""
    half = math.radians((cutter.point_deg or 118.0) / 2)
    return cutter.radius / math.tan(half)


def shown(cutters: Sequence[Cutter], system: System) -> str:
    """Cutters as a message lists them: number, diameter, flute length."""
    return "; ".join(
        f"cutter {cutter.number} ({cutter.kind}, {show_length(cutter.diameter, system)}, "
        f"flutes {show_length(cutter.flute_length, system)})"
        for cutter in cutters
    )


def no_cutter(
    what: str, needs: str, choice: Sequence[Cutter], named: int | None, system: System
) -> InputError:
    """The refusal where no cutter makes a feature: what it is, what it takes, what there is."""
    if named is not None:
        return InputError(
            f"The cutter named for this part can't make {what}: {shown(choice, system)}. {needs} "
            "Name another, or leave the cutter out so that one is chosen."
        )
    return InputError(f"No cutter on hand can make {what}. {needs} On hand: {shown(choice, system)}.")
