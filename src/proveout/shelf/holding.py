"""Holding: friction between what lies on what, the nut factor, and what a hand can do."""

from dataclasses import dataclass

from proveout.shelf.rows import Basis, Row


@dataclass(frozen=True, slots=True, kw_only=True)
class Friction:
    """Coefficient of friction of a pair of faces, dry and brushed."""

    pair: str  # "wood on wood", "wood under steel"
    also: tuple[str, ...]  # other names of the same pair
    design: float  # to reckon with
    low: float  # measured or published, least
    high: float
    source: str
    basis: Basis
    note: str


@dataclass(frozen=True, slots=True, kw_only=True)
class NutFactor:
    """K of T = K D F: torque to tension in a bolt.

    The high end leaves the least clamping force, the low end loads the bolt and the wood the most.
    """

    condition: str  # of the thread: "plain steel dry", "zinc plated dry", "oiled"
    also: tuple[str, ...]  # other names of the same condition
    low: float
    usual: float
    high: float
    source: str
    basis: Basis
    note: str


@dataclass(frozen=True, slots=True, kw_only=True)
class HandTorque:
    """Force that a hand brings to a knob's rim, N. The torque is that force times half the diameter."""

    grip: str
    comfortable: float
    strong: float  # what most people can do
    upper: float  # what the strong can do: for overload
    diameter_min: float  # mm, of the knobs for which it holds
    diameter_max: float
    source: str
    basis: Basis
    note: str


def read_friction(row: Row) -> Friction:
    """A pair from its row."""
    return Friction(
        pair=row.text("pair"),
        also=row.names("also"),
        design=row.number("design"),
        low=row.number("low"),
        high=row.number("high"),
        source=row.text("source"),
        basis=row.basis(),
        note=row.note(),
    )


def read_nut_factor(row: Row) -> NutFactor:
    """A nut factor from its row."""
    return NutFactor(
        condition=row.text("condition"),
        also=row.names("also"),
        low=row.number("low"),
        usual=row.number("usual"),
        high=row.number("high"),
        source=row.text("source"),
        basis=row.basis(),
        note=row.note(),
    )


def read_hand_torque(row: Row) -> HandTorque:
    """A grip from its row."""
    return HandTorque(
        grip=row.text("grip"),
        comfortable=row.measure("comfortable"),
        strong=row.measure("strong"),
        upper=row.measure("upper"),
        diameter_min=row.measure("diameter_min"),
        diameter_max=row.measure("diameter_max"),
        source=row.text("source"),
        basis=row.basis(),
        note=row.note(),
    )
