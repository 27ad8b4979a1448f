"""With how many sizes on each coupon the parts would go on the sheet, where they don't."""

from collections.abc import Callable
from dataclasses import replace

from proveout.fit.shape import shape
from proveout.fit.shaped import Shaped
from proveout.job.fields import FEWEST_STEPS
from proveout.job.records import CouponWanted, Job, Wanted


def fewer_sizes(job: Job, lies: Callable[[Shaped], bool]) -> str:
    """A sentence, a blank before it, for the message that refuses the sheet; "" where nothing is a coupon.

    Args:
        job: whose parts did not fit on its sheet
        lies: whether these parts would
    """
    steps = [one.pattern.steps for one in job.wanted if isinstance(one.pattern, CouponWanted)]
    if not steps:
        return ""
    for most in range(max(steps) - 1, FEWEST_STEPS - 1, -1):
        if lies(shape(replace(job, wanted=tuple(_at_most(one, most) for one in job.wanted)))):
            return f" With {most} sizes on each coupon they would fit: steps = {most}."
    return f" Fewer sizes don't help: not even {FEWEST_STEPS} on each coupon would fit."


def _at_most(wanted: Wanted, most: int) -> Wanted:
    if not isinstance(wanted.pattern, CouponWanted):
        return wanted
    return replace(wanted, pattern=replace(wanted.pattern, steps=min(most, wanted.pattern.steps)))
