"""What `proveout coupon` says: the coupons that were written, and what to do next."""

import json
from collections.abc import Sequence
from pathlib import Path

from proveout.job.coupon_text import Trial
from proveout.parts.coupon import sizes
from proveout.quantity import System, show_fine


def coupon_report(trials: Sequence[Trial], out: Path, units: System) -> str:
    """The coupons with their sizes, and the way on."""
    lines = [f"wrote {out}"]
    for trial in trials:
        row = sizes(trial.usual, trial.coupon.steps, trial.coupon.step)
        first, last = show_fine(row[0], units), show_fine(row[-1], units)
        lines.append(
            f"  {trial.wanted.name}, {trial.coupon.fit}: {len(row)} sizes from {first} to {last}, "
            f"for {', '.join(trial.parts)}"
        )
    lines += [
        "Cut them from the same sheet as the parts, or from an offcut of it: then state in that file the",
        "offcut's own size, readings and clamps.",
        f"Next: proveout make {out}",
    ]
    return "\n".join(lines)


def coupon_json(trials: Sequence[Trial], out: Path) -> str:
    """The same for another program; sizes in mm, the tightest first."""
    coupons = [
        {
            "name": trial.wanted.name,
            "size": trial.coupon.hardware.size,
            "form": trial.coupon.hardware.form,
            "fit": trial.coupon.fit,
            "parts": list(trial.parts),
            "sizes": list(sizes(trial.usual, trial.coupon.steps, trial.coupon.step)),
        }
        for trial in trials
    ]
    return json.dumps({"written": str(out), "coupons": coupons}, indent=2)
