"""The text of a job file for coupons: the bench of the job that they are for, and what is to be tried."""

import json
import os
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from proveout.job.records import CouponWanted, Hardware, Job, Wanted
from proveout.quantity import System

MARK: Final = "# Fit coupons"  # with which a file of ours begins
WIDE: Final = 36  # characters of a field before its remark
LONG: Final = 90  # characters of a list on one line
LONGEST_NAME: Final = 90  # characters of a job's name, some fewer than are read

_ABOVE: Final[Mapping[str, tuple[str, ...]]] = {
    "stock": (
        "# Cut them from the very sheet that the parts come from, or from an offcut of it. For an offcut",
        "# write its own size, where it lies, fresh caliper readings, and below the clamps that hold it.",
    ),
}
_REMARKS: Final[Mapping[tuple[str, str], str]] = {
    ("stock", "size"): "X and Y: an offcut's own, where you cut from one",
    ("stock", "thickness"): "caliper readings of what lies on the plate",
    ("stock", "at"): "its left front corner, from the plate's",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Trial:
    """A coupon, the parts that it is for, and the size that proveout would cut for them."""

    wanted: Wanted
    coupon: CouponWanted
    parts: tuple[str, ...]
    usual: float


# What is said anew, and what a strip that is only tried doesn't get.
LEFT_OUT: Final = ("units", "name", "shop", "finish", "coats")
OF_THE_PARTS: Final = ("parts", "places")


def coupon_text(
    job: Job, values: Mapping[str, object], trials: Sequence[Trial], *, out: Path, named: str
) -> str:
    """A job file for the coupons, commented for somebody who has never cut one.

    Args:
        job: that the coupons are for
        values: of its file, as they stand there
        trials: the coupons
        out: where the file will lie, from which its paths count
        named: what the job of the coupons is called
    """
    lines = [*_head(job, out), *_top(values, job, out, named)]
    for name, value in values.items():
        if isinstance(value, dict):
            lines += ["", *_ABOVE.get(name, ()), f"[{name}]", *_fields(name, value)]
        elif name not in OF_THE_PARTS and isinstance(value, list):
            for one in value:
                lines += ["", f"[[{name}]]", *_fields(name, one)]
    for trial in trials:
        lines += _trial(trial, job.units)
    return "\n".join(lines) + "\n"


def _head(job: Job, out: Path) -> Iterator[str]:
    yield f'{MARK} for the job "{job.name}". Which size of recess or hole your own hardware wants in your'
    yield "# own stock, cut by your own cutter, is found by trial: each strip holds a row of sizes, numbered."
    yield f"# Next: proveout make {out.name}. Its setup sheet says how to press, measure and judge."


def _top(values: Mapping[str, object], job: Job, out: Path, named: str) -> Iterator[str]:
    yield ""
    if "units" in values:
        yield f"units = {_value(values['units'])}"
    yield f"name = {_value(named)}"
    yield f"shop = {_value(_path(job.file.parent / str(values['shop']), str(values['shop']), job, out))}"
    for name, value in values.items():
        if name not in LEFT_OUT and not isinstance(value, dict | list):
            yield f"{name} = {_value(value)}"


def _path(file: Path, stated: str, job: Job, out: Path) -> str:
    """The shop file's path from the new file's folder, as it was stated where the folder is the same."""
    if Path(stated).is_absolute() or job.file.parent.resolve() == out.parent.resolve():
        return stated
    try:
        return Path(os.path.relpath(file.resolve(), out.parent.resolve())).as_posix()
    except ValueError:  # another drive
        return file.absolute().as_posix()


def _fields(table: str, values: Mapping[str, object]) -> Iterator[str]:
    for name, value in values.items():
        yield _said(f"{name} = {_value(value)}", _REMARKS.get((table, name), ""))


def _said(field: str, remark: str) -> str:
    return f"{field:<{WIDE}} # {remark}" if remark else field


def _value(value: object) -> str:
    """A value as TOML writes it; JSON's texts, numbers, true and false are TOML's too."""
    if not isinstance(value, list):
        return json.dumps(value, ensure_ascii=False)
    items = [_value(one) for one in value]
    line = f"[{', '.join(items)}]"
    return line if len(line) <= LONG else "[\n" + "".join(f"    {one},\n" for one in items) + "]"


# The coupons themselves


def _trial(trial: Trial, units: System) -> Iterator[str]:
    coupon, opening = trial.coupon, "hole" if trial.coupon.hardware.form == "dowel" else "recess"
    usual = _length(trial.usual, units, places=3)
    yield ""
    yield "[[parts]]"
    yield _said(f"name = {_value(trial.wanted.name)}", f"for: {', '.join(trial.parts)}")
    yield "count = 1"
    yield 'pattern = "coupon"'
    yield from _hardware(coupon.hardware, units)
    yield _said(f"fit = {_value(coupon.fit)}", "the row lies about the size that is cut for it")
    if opening == "recess":
        yield _said(
            f"clearance = {_value(coupon.clearance)}", "of the hole behind each, to push the head out by"
        )
    yield _said(f"steps = {coupon.steps}", f"so many sizes; number 1 is the tightest {opening}")
    yield _said(f"step = {_length(coupon.step, units)}", "from each size to the next")
    yield _said(f"# around = {usual}", "the size that is cut now; another is tried about by stating it")
    if trial.wanted.cutter is not None:
        yield _said(f"cutter = {trial.wanted.cutter}", "as for the parts")


def _hardware(hardware: Hardware, units: System) -> Iterator[str]:
    if hardware.form == "dowel":
        yield f"dowel = {_value(hardware.size)}"
        yield _measured("dowel_diameter", _readings(hardware.diameter, hardware.others), "6.02 mm", units)
        if hardware.limits:
            yield f"dowel_limits = {_value(hardware.limits)}"
        return
    yield f"bolt = {_value(hardware.size)}"
    yield f"holds = {_value('head' if hardware.form == 'hex head' else 'nut')}"
    yield _measured("across_flats", _readings(hardware.across_flats, hardware.others), "9.88 mm", units)
    yield _measured("head_height", _readings(hardware.height), "3.98 mm", units)


def _readings(first: float | None, others: tuple[float, ...] = ()) -> tuple[float, ...]:
    return () if first is None else (first, *others)


def _measured(field: str, readings: tuple[float, ...], example: str, units: System) -> str:
    if not readings:
        return _said(f"# {field} = {_value(example)}", "yours, by caliper: sizes are only as good as this")
    said = [_length(one, units) for one in readings]
    value = said[0] if len(said) == 1 else f"[{', '.join(said)}]"
    return _said(f"{field} = {value}", "by caliper")


def _length(value: float, units: System, places: int = 5) -> str:
    """A length in quotes."""
    shown = value / 25.4 if units == "in" else value
    return _value(f"{round(shown, places):.10g} {units}")
