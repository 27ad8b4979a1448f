"""What the setup sheet says of a fit coupon: what to measure, what to press, in which order, how to judge."""

from collections.abc import Iterator

from proveout.job.records import CouponWanted, Wanted
from proveout.pack.made import Made

JUDGED = "slides, snug, light press, firm press, or split"


def coupon_hardware(wanted: Wanted, coupon: CouponWanted) -> str:
    """What to fetch for trying it: the very pieces that the parts shall take."""
    return f"{wanted.count} x {_what(coupon)} out of the same box as for the parts"


def coupon_steps(made: Made) -> Iterator[str]:
    """What to do with each coupon of the job."""
    for wanted in made.job.wanted:
        if isinstance(wanted.pattern, CouponWanted):
            yield f"{wanted.name}: {coupon_words(made, wanted, wanted.pattern)}"


def coupon_words(made: Made, wanted: Wanted, coupon: CouponWanted) -> str:
    """What to do with the strip once it is cut."""
    opening, across = ("hole", "across") if coupon.hardware.form == "dowel" else ("recess", "across flats")
    noun = _noun(coupon)
    return (
        f"number 1 is the tightest. Measure the {noun}, and each {opening} {across} before anything goes in, "
        f"and write it down; meant are {_meant(made, wanted, opening)}. Try the loosest first, {opening} "
        f"{coupon.steps}, then one by one down to 1, always with the same {noun}. {_press(coupon)} Write "
        f"beside each what it was: {JUDGED}. Eye protection on: wood that splits throws "
        f"splinters. Stop at the first that splits: tighter ones would split too. "
        f"{_out(coupon)} Then enter what was measured and judged with proveout record."
    )


def _meant(made: Made, wanted: Wanted, opening: str) -> str:
    """Each number with its size."""
    figures = {figure.name: figure for figure in made.figures}
    what = "flats" if opening == "recess" else "diameter"
    sizes = []
    number = 1
    while (figure := figures.get(f"{wanted.name}.{opening} {number}.{what}")) is not None:
        size = figure.value / 25.4 if made.job.units == "in" else figure.value
        sizes.append(
            f"{number}: {size:.3f}" if made.job.units == "in" else f"{number}: {size:.3f}".removesuffix("0")
        )
        number += 1
    return f"{', '.join(sizes)} {made.job.units}"


def _press(coupon: CouponWanted) -> str:
    if coupon.hardware.form == "dowel":
        return (
            "By hand as far as it goes, then square with a vice, the strip flat on a block with a hole under "
            "the dowel. Don't hammer."
        )
    shank = " with a hole for the bolt's shank" if coupon.hardware.form == "hex head" else ""
    return (
        f"Start the hexagon square, the strip flat on a block{shank} that supports it all round, and press "
        f"with a vice and a flat block until the {_noun(coupon)} lies on the floor. Don't hammer."
    )


def _out(coupon: CouponWanted) -> str:
    if coupon.hardware.form == "dowel":
        return "Push the dowel out again with a thinner rod, the strip supported all round."
    end = (
        "by the bolt's end" if coupon.hardware.form == "hex head" else "with a rod through the hole behind it"
    )
    return f"Push the {_noun(coupon)} out again {end}, the strip supported all round."


def _what(coupon: CouponWanted) -> str:
    size = coupon.hardware.size
    size = f"{size} mm" if size.isdigit() else f"{size} in" if "/" in size else size
    return f"{size} {'hex head bolt' if coupon.hardware.form == 'hex head' else coupon.hardware.form}"


def _noun(coupon: CouponWanted) -> str:
    return {"hex head": "head", "hex nut": "nut", "dowel": "dowel"}[coupon.hardware.form]
