"""How hard a strap clamp presses on the work when its knob is turned by hand."""

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


def clamp_force(kind: ClampKind, *, bite: float) -> Figure:
    """Force of a clamp on the work, N, as a range: a weak hand and a rough thread at the low end.

    Args:
        kind: the clamp
        bite: how far its nose lies over the work, mm
    """
    hand, factor = hand_torque("knob"), nut_factor("zinc plated dry")
    diameter = thread(kind.bolt).diameter
    share = strap_share(kind.length - kind.nose_to_bolt - HEEL, max(kind.nose_to_bolt - bite / 2, 1.0))

    def on_work(rim_force: float, nut: float) -> float:
        return bolt_preload(torque_of_hand(kind.knob_diameter, rim_force), diameter, nut) * share

    return Figure(
        name=f"hold.{kind.name}.force",
        value=on_work(hand.comfortable, factor.usual),
        unit="N",
        rule="the bolt's tension by hand torque, T = K D F, and the strap's share of it on the work",
        source=f"statics; {cited(factor)}; {cited(hand)}",
        low=on_work(hand.comfortable, factor.high),
        high=on_work(hand.upper, factor.low),
    )
