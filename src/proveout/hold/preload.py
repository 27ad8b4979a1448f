"""How hard a strap clamp presses on the work when its knob is turned by hand."""

import math
from dataclasses import dataclass
from typing import Final

from proveout.figure import Figure
from proveout.fit.torque import bolt_preload
from proveout.fit.torque import hand_torque as torque_of_hand
from proveout.job.records import ClampKind
from proveout.shelf.cited import cited
from proveout.shelf.tables import hand_torque, nut_factor, thread

HEEL: Final = 5.0  # mm from the bar's end to where its heel bears; project default


def strap_share(bolt_to_heel: float, bolt_to_work: float) -> float:
    """Share of the bolt's force that a strap puts on the work: a / (a + b), by statics.

    Args:
        bolt_to_heel: a, mm along the strap
        bolt_to_work: b, mm along the strap
    """
    return bolt_to_heel / (bolt_to_heel + bolt_to_work)


@dataclass(frozen=True, slots=True, kw_only=True)
class Pulls:
    """A bolt's pull as a range, N."""

    low: float
    usual: float
    high: float


def levers(kind: ClampKind, bite: float) -> tuple[float, float]:
    """From a clamp's bolt to where its heel bears and to the middle of what its nose bears on, mm.

    Args:
        kind: the clamp
        bite: how far its nose lies over the work, mm
    """
    return kind.length - kind.nose_to_bolt - HEEL, max(kind.nose_to_bolt - bite / 2, 1.0)


def hand_pulls(kind: ClampKind) -> Pulls:
    """What a hand pulls a clamp's bolt with: at ease on a rough thread, up to strong on a slippery one.

    Source: T = K D F, Shigley (from memory), with the shelf's hands and nut factors
    """
    hand, factor = hand_torque("knob"), nut_factor("zinc plated dry")
    diameter = thread(kind.bolt).diameter
    usual, utmost = (torque_of_hand(kind.knob_diameter, force) for force in (hand.comfortable, hand.upper))
    return Pulls(
        low=bolt_preload(usual, diameter, factor.high),
        usual=bolt_preload(usual, diameter, factor.usual),
        high=bolt_preload(utmost, diameter, factor.low),
    )


def clamp_force(kind: ClampKind, *, bite: float, stands: Pulls | None = None) -> Figure:
    """Force of a clamp on the work, N, as a range: a weak hand and a rough thread at the low end.

    Args:
        kind: the clamp
        bite: how far its nose lies over the work, mm
        stands: pull that its own links stand, which bounds the hand's; None: they aren't asked
    """
    hand, factor, pulled = hand_torque("knob"), nut_factor("zinc plated dry"), hand_pulls(kind)
    share = strap_share(*levers(kind, bite))
    rule = "the bolt's tension by hand torque, T = K D F, and the strap's share of it on the work"
    if stands is not None and stands.low < pulled.low:
        rule += f"; counted only up to the {stands.low:.0f} N that the weakest part of the clamp stands"
    most = stands or Pulls(low=math.inf, usual=math.inf, high=math.inf)
    return Figure(
        name=f"hold.{kind.name}.force",
        value=min(pulled.usual, most.usual) * share,
        unit="N",
        rule=rule,
        source=f"statics; {cited(factor)}; {cited(hand)}",
        low=min(pulled.low, most.low) * share,
        high=min(pulled.high, most.high) * share,
    )
