"""Coupons for the fits of a job: one for each kind of hardware and fit, in a job file of their own."""

import os
from collections.abc import Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import TypeVar

from proveout.draft import laid_out
from proveout.figure import Figure
from proveout.finding import InputError, Place
from proveout.fit.shape import shape, shape_part
from proveout.job import defaults
from proveout.job.coupon_text import LONGEST_NAME, MARK, Trial, coupon_text
from proveout.job.fields import CouponFields
from proveout.job.kinds import Wrong
from proveout.job.pattern_checks import pattern_faults
from proveout.job.read import read_job
from proveout.job.records import CouponWanted, DrawnWanted, Hardware, Job, KnobWanted, StopWanted, Wanted
from proveout.job.source import read_source
from proveout.job.table import Field
from proveout.pack.folder import slug
from proveout.quantity import System
from proveout.reckon import hold

T = TypeVar("T")


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What a person asked for besides the job."""

    part: str | None = None  # whose fits alone are tried; None: all parts'
    steps: int | None = None
    step: float | None = None  # mm


def asked_for(job: Job, *, part: str | None, steps: str | None, step: str | None) -> Asked:
    """What the words of the command line ask for.

    Raises:
        InputError: no number of sizes, or no length
    """
    return Asked(
        part=part,
        steps=_read(CouponFields.steps, steps, job.units),
        step=_read(CouponFields.step, step, job.units),
    )


def _read(field: Field[T], said: str | None, units: System) -> T | None:
    if said is None:
        return None
    try:
        return field.read(said, units)
    except Wrong as wrong:
        raise InputError(f"--{field.name}: {wrong.complaints[0][1]}") from None


@dataclass(frozen=True, slots=True, kw_only=True)
class _Fit:
    """A fit that a part of the job wants."""

    hardware: Hardware
    fit: str
    clearance: str
    cutter: int | None


def default_file(job: Job) -> Path:
    """Where the coupons' job file goes when nobody says: NAME-coupon.toml beside the job file."""
    return job.file.parent / f"{slug(job.name) or 'job'}-coupon.toml"


def write_coupons(job: Job, out: Path, asked: Asked, *, overwrite: bool) -> tuple[Trial, ...]:
    """Write the job file of a job's coupons, once it is known that it can be read and laid out.

    Raises:
        InputError: nothing to fit, no such part, sizes beyond sense, no room on the sheet, a file that is
            there already or can't be written
    """
    refuse_existing(out, overwrite=overwrite)
    trials = coupons_of(job, asked)
    text = coupon_text(
        job, read_source(job.file).values, trials, out=out, named=f"{job.name[:LONGEST_NAME]} coupon"
    )
    # Under a name of its own first: a file that can't be used is never seen, and no old one is lost to it.
    waiting = out.parent / f".proveout-{os.urandom(8).hex()}.toml"
    try:
        waiting.write_text(text, encoding="utf-8", newline="\n")
        _check(read_job(waiting), job)
        waiting.replace(out)
    except OSError as error:
        why = error.strerror or str(error)
        raise InputError(
            f"the job file can't be written: {why}. Name another file.", Place(file=out)
        ) from None
    finally:
        with suppress(OSError):
            waiting.unlink()
    return trials


def refuse_existing(out: Path, *, overwrite: bool) -> None:
    """Nothing that is there is touched unless a person says so, and then only a file of coupons.

    Raises:
        InputError: the file exists, or is to be replaced and is no such file
    """
    if not os.path.lexists(out):
        return
    if not overwrite:
        raise InputError(
            "This is there already. Give another name with --out, or add --replace to replace it.",
            Place(file=out),
        )
    if not _is_ours(out):
        raise InputError(
            f'This doesn\'t begin with "{MARK}", so it is not replaced. Give another name with --out.',
            Place(file=out),
        )


def _is_ours(out: Path) -> bool:
    try:
        if out.is_symlink() or not out.is_file():
            return False
        with out.open("rb") as file:
            return file.read(len(MARK)) == MARK.encode()
    except OSError:
        return False


def _check(coupons: Job, job: Job) -> None:
    """What was written can be read; its parts must go on the sheet too."""
    try:
        laid_out(coupons, shape(coupons), hold(coupons))
    except InputError as error:
        raise InputError(
            f"{error.text} That is --steps here; --part NAME tries one part's fits alone.",
            Place(file=job.file),
        ) from None


# --- which fits there are


def coupons_of(job: Job, asked: Asked) -> tuple[Trial, ...]:
    """A coupon for each kind of hardware and fit that the parts of a job have, in the job's order.

    Raises:
        InputError: nothing to fit, no such part, sizes beyond sense
    """
    fits: dict[_Fit, list[str]] = {}
    for wanted in _parts(job, asked.part):
        for fit in dict.fromkeys(_fits(wanted)):
            fits.setdefault(fit, []).append(wanted.name)
    if not fits:
        raise InputError(_nothing(asked.part), Place(file=job.file, field="parts"))
    names = _names(list(fits))
    return tuple(
        _trial(job, fit, name, tuple(parts), asked)
        for (fit, parts), name in zip(fits.items(), names, strict=True)
    )


def _parts(job: Job, name: str | None) -> tuple[Wanted, ...]:
    found = tuple(one for one in job.wanted if name is None or one.name.lower() == name.strip().lower())
    if not found:
        known = ", ".join(one.name for one in job.wanted)
        raise InputError(f"there is no part {name} in the job. It has: {known}.", Place(file=job.file))
    return found


def _nothing(part: str | None) -> str:
    whose = "this job" if part is None else part
    return (
        f"{whose} has nothing to fit: a coupon is for a bolt's head, a nut or a dowel that a part takes. "
        'Give a drawn part a rule for it: bolt = "M6" with holds = "head", or dowel = "6".'
    )


def _fits(wanted: Wanted) -> Iterator[_Fit]:
    match wanted.pattern:
        case KnobWanted() as knob:
            yield _Fit(hardware=knob.hardware, fit=knob.fit, clearance=knob.clearance, cutter=wanted.cutter)
        case StopWanted() as stop:
            yield _Fit(
                hardware=stop.hardware, fit=stop.fit, clearance=defaults.CLEARANCE, cutter=wanted.cutter
            )
        case DrawnWanted() as drawn:
            for rule in drawn.rules:
                if rule.takes and rule.takes.hardware:
                    takes, dowel = rule.takes, rule.takes.hardware.form == "dowel"
                    yield _Fit(
                        hardware=rule.takes.hardware,
                        fit=takes.fit,
                        clearance=defaults.CLEARANCE if dowel else takes.clearance,
                        cutter=wanted.cutter,
                    )
        case _:
            return


def _names(fits: Sequence[_Fit]) -> list[str]:
    """A name for each coupon: its hardware, its fit where that tells it apart, else a number."""
    short = [f"{_size(one.hardware.size)} {_noun(one.hardware)}" for one in fits]
    longer = [
        f"{name} {one.fit}" if short.count(name) > 1 else name for name, one in zip(short, fits, strict=True)
    ]
    return [
        f"{name} coupon {longer[: place + 1].count(name)}" if longer.count(name) > 1 else f"{name} coupon"
        for place, name in enumerate(longer)
    ]


def _size(size: str) -> str:
    """A size that may stand in a file's name: M6, 6 mm, 1-4 in, no 10."""
    if size.isdigit():
        return f"{size} mm"
    return f"{size.replace('/', '-')} in" if "/" in size else size.replace("#", "no ")


def _noun(hardware: Hardware) -> str:
    return {"hex head": "head", "hex nut": "nut", "dowel": "dowel"}[hardware.form]


def _trial(job: Job, fit: _Fit, name: str, parts: tuple[str, ...], asked: Asked) -> Trial:
    coupon = CouponWanted(
        hardware=fit.hardware,
        fit=fit.fit,
        clearance=fit.clearance,
        steps=asked.steps or defaults.STEPS,
        step=asked.step or defaults.STEP[job.units],
        around=None,
    )
    for fault in pattern_faults(coupon, job.units):
        raise InputError(f"{name}: {fault.field}: {fault.text}", Place(file=job.file))
    wanted = Wanted(
        name=name, count=1, pattern=coupon, rotations_deg=defaults.COUPON_ROTATIONS, cutter=fit.cutter
    )
    return Trial(wanted=wanted, coupon=coupon, parts=parts, usual=_usual(job, wanted))


def _usual(job: Job, wanted: Wanted) -> float:
    """The size that proveout would cut."""
    try:
        figures: tuple[Figure, ...] = shape_part(job, wanted).figures
    except InputError as error:
        raise error.at(Place(file=job.file)) from None
    ends = (f"{wanted.name}.recess.flats", f"{wanted.name}.hole.diameter")
    return next(figure.value for figure in figures if figure.name in ends)
