"""Materials: solid woods, panels and plastics, with the unfavourable end of what they stand; N/mm2, kg/m3."""

from dataclasses import dataclass
from typing import Final, Literal

from proveout.shelf.rows import Basis, Row

MaterialKind = Literal["plywood", "solid wood", "fibreboard", "plastic", "metal"]

# Coefficients of variation of clear wood. Wood Handbook, chapter 5 (from memory).
BENDING_VARIATION: Final = 0.16
CRUSH_VARIATION: Final = 0.28
SHEAR_VARIATION: Final = 0.14

# Standard deviations below the mean of a normal distribution.
TENTH_IN_A_HUNDRED: Final = 1.28
FIVE_IN_A_HUNDRED: Final = 1.645

# Fibres roll over each other at 18 to 28 % of the shear strength along the grain; the low end. Wood Handbook,
# chapter 5 (from memory).
ROLLING_SHARE: Final = 0.18


@dataclass(frozen=True, slots=True, kw_only=True)
class Material:
    """What a sheet or board is made of."""

    name: str  # "birch plywood", "sugar maple", "mdf"
    also: tuple[str, ...]  # other names for it
    kind: MaterialKind
    density: float  # kg/m3, mean, as it is used indoors
    crush: float  # pressure across the fibres or the face that leaves a lasting dent, mean
    crush_low: float  # the same at its unfavourable end
    panel_shear: float  # through the thickness, unfavourable end
    planar_shear: float  # layers sliding or rolling over each other, unfavourable end
    bending: float  # strength at its unfavourable end; a lasting load takes half of it
    modulus: float  # of elasticity; panels: the weaker direction
    chip_class: str  # key of the chip loads
    energy_class: str  # key of the cutting energies
    source: str
    basis: Basis
    note: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PanelThickness:
    """What a panel sold under a nominal thickness really measures, mm. A caliper reading comes before it."""

    material: str
    nominal: float
    mean: float
    lower: float
    upper: float
    plies: int | None  # None where it has none, or where they vary
    density: float | None  # kg/m3
    source: str
    basis: Basis
    note: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PlywoodStrength:
    """Stiffness and strength of one plywood in bending; N/mm2 on the full thickness."""

    material: str
    nominal: float
    plies: int
    thickness: float  # that the values refer to
    modulus_along: float  # mean, span along the face grain
    modulus_across: float
    bending_along: float  # characteristic: 5 in 100 are weaker
    bending_across: float
    source: str
    basis: Basis
    note: str


def unfavourable(mean: float, variation: float, deviations: float) -> float:
    """The value that lies so many standard deviations under the mean, in the mean's unit.

    x = mean (1 - deviations * variation), for a normal distribution with this coefficient of variation.
    """
    return mean * (1 - deviations * variation)


def read_solid_wood(row: Row) -> Material:
    """A wood from its row of printed averages at 12 % moisture; the unfavourable ends follow from them.

    Density = 1000 G (1 + 12/100), G on oven-dry mass and volume at 12 %. Of 100 pieces of clear,
    straight-grained wood 10 dent sooner, 10 shear sooner and 5 break sooner in bending than the record says.
    Source: Wood Handbook FPL-GTR-282, chapters 4 and 5
    """
    crush, shear = row.measure("crush_mean"), row.measure("shear_mean")
    low_shear = unfavourable(shear, SHEAR_VARIATION, TENTH_IN_A_HUNDRED)
    return Material(
        name=row.text("name"),
        also=row.names("also"),
        kind="solid wood",
        density=1000 * row.number("specific_gravity") * 1.12,
        crush=crush,
        crush_low=unfavourable(crush, CRUSH_VARIATION, TENTH_IN_A_HUNDRED),
        panel_shear=low_shear,
        planar_shear=ROLLING_SHARE * low_shear,
        bending=unfavourable(row.measure("bending_mean"), BENDING_VARIATION, FIVE_IN_A_HUNDRED),
        modulus=row.measure("modulus_mean"),
        chip_class=row.text("chip_class"),
        energy_class=row.text("energy_class"),
        source=row.text("source"),
        basis=row.basis(),
        note=row.note(),
    )


def read_sheet_material(row: Row) -> Material:
    """A panel or plastic from its row."""
    return Material(
        name=row.text("name"),
        also=row.names("also"),
        kind=material_kind(row),
        density=row.number("density_kg_m3"),
        crush=row.measure("crush_mean"),
        crush_low=row.measure("crush_low"),
        panel_shear=row.measure("panel_shear"),
        planar_shear=row.measure("planar_shear"),
        bending=row.measure("bending"),
        modulus=row.measure("modulus"),
        chip_class=row.text("chip_class"),
        energy_class=row.text("energy_class"),
        source=row.text("source"),
        basis=row.basis(),
        note=row.note(),
    )


def material_kind(row: Row) -> MaterialKind:
    """What sort of stuff it is."""
    match row.text("kind"):
        case "plywood" | "solid wood" | "fibreboard" | "plastic" | "metal" as known:
            return known
        case other:
            raise ValueError(f"{row}: {other!r} is no kind of material")


def read_panel_thickness(row: Row) -> PanelThickness:
    """A thickness from its row."""
    plies, density = row.text("plies"), row.text("density_kg_m3")
    return PanelThickness(
        material=row.text("material"),
        nominal=row.measure("nominal"),
        mean=row.measure("mean"),
        lower=row.measure("lower"),
        upper=row.measure("upper"),
        plies=int(plies) if plies else None,
        density=float(density) if density else None,
        source=row.text("source"),
        basis=row.basis(),
        note=row.note(),
    )


def read_plywood_strength(row: Row) -> PlywoodStrength:
    """A plywood's stiffness and strength from its row."""
    return PlywoodStrength(
        material=row.text("material"),
        nominal=row.measure("nominal"),
        plies=int(row.text("plies")),
        thickness=row.measure("thickness"),
        modulus_along=row.measure("modulus_along"),
        modulus_across=row.measure("modulus_across"),
        bending_along=row.measure("bending_along"),
        bending_across=row.measure("bending_across"),
        source=row.text("source"),
        basis=row.basis(),
        note=row.note(),
    )
