"""A cutter for the benchmarks."""

from proveout.job.records import Cutter, CutterKind


def a_cutter(
    diameter: float,
    kind: CutterKind = "flat",
    *,
    flute_length: float = 12.0,
    stick_out: float = 20.0,
    point_deg: float | None = None,
    corner_radius: float | None = None,
) -> Cutter:
    """A two-flute cutter."""
    return Cutter(
        number=1,
        name=f"{diameter} mm {kind}",
        kind=kind,
        diameter=diameter,
        flutes=2,
        flute_length=flute_length,
        stick_out=stick_out,
        shank_diameter=diameter,
        centre_cutting=True,
        spiral="up",
        carbide=True,
        point_deg=point_deg,
        corner_radius=corner_radius,
    )
