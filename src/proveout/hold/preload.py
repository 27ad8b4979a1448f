"""How hard a strap clamp presses on the work when its knob is turned by hand."""

from typing import Final

from proveout.figure import Figure
from proveout.fit.torque import bolt_preload, hand_torque
from proveout.job.records import ClampKind
from proveout.shelf.tables import nut_factor, thread

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
    torque = hand_torque(kind.knob_diameter)
    factor = nut_factor("dry")
    diameter = thread(kind.bolt).diameter
    share = strap_share(kind.length - kind.nose_to_bolt - HEEL, max(kind.nose_to_bolt - bite / 2, 1.0))
    usual = bolt_preload(torque.value, diameter, factor.usual)
    low = bolt_preload(torque.low or torque.value, diameter, factor.high)
    high = bolt_preload(torque.high or torque.value, diameter, factor.low)
    return Figure(
        name=f"hold.{kind.name}.force",
        value=usual * share,
        unit="N",
        rule="the bolt's force by hand torque, T = K D F, and the strap's share of it on the work",
        source=f"statics; nut factor: {factor.source}; hand torque: {torque.source}",
        inputs=(torque,),
        low=low * share,
        high=high * share,
    )
