"""What a hand pulls a clamp's bolt with, as a range, and how near that comes to its proof load."""

from dataclasses import dataclass
from typing import Final

from proveout.fit.torque import bolt_preload
from proveout.fit.torque import hand_torque as torque_of_hand
from proveout.job.records import ClampKind
from proveout.shelf.tables import hand_torque, nut_factor, thread

SOFTEST: Final = 225.0 / 580.0  # of class 8.8's proof stress, that of class 4.6: ISO 898-1 (from memory)


@dataclass(frozen=True, slots=True, kw_only=True)
class Tension:
    """A bolt under a knob: N and N mm, a weak hand on a rough thread first."""

    torque: tuple[float, float]
    pull: tuple[float, float]
    proof: float  # N, of the softest bolts that are sold

    @property
    def share(self) -> float:
        """Of the proof load, at the utmost."""
        return self.pull[1] / self.proof


def tension(kind: ClampKind) -> Tension:
    """T = K D F with the range of hands and of K.

    Source: Shigley, Mechanical Engineering Design (from memory); proof stress ISO 898-1
    """
    hand, factor = hand_torque("knob"), nut_factor("zinc plated dry")
    row = thread(kind.bolt)
    low, high = (torque_of_hand(kind.knob_diameter, force) for force in (hand.comfortable, hand.upper))
    return Tension(
        torque=(low, high),
        pull=(bolt_preload(low, row.diameter, factor.high), bolt_preload(high, row.diameter, factor.low)),
        proof=row.stress_area * row.proof_stress * SOFTEST,
    )
