"""The loads along the machine time of the programs: small plots one under the other, as one SVG picture.

In every plot up is worse, so that a learner looks for what stands high: hold-down is drawn on a scale of
1 / times for that. No meaning rests on colour: limits are dashed and named, the usual range is a band with
dotted edges, the worst place is a black triangle. Made for a width of 360 to 700 pixels.
"""

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final, NamedTuple

import numpy as np

from proveout.job.records import Job
from proveout.motion import Floats
from proveout.pack.load_words import TITLES, amount, how_to_read, loads_of
from proveout.pack.markup import escaped
from proveout.pack.plan_picture import column_letters
from proveout.proof.load_checks import HOLD_WANTED, POWER_SHARE, PUSH_OFF
from proveout.proof.load_clock import Clock, clock
from proveout.proof.load_shares import Load, most_force, peak, usual_chip
from proveout.proof.verdict import Loads, Verdict
from proveout.quantity import show_time

BINS: Final = 360  # moments that a plot tells apart; each is at most two points of its outline
WIDE: Final = 420.0  # of the picture, in its own unit, which is about a pixel of a small screen
LEFT: Final = 36.0
RIGHT: Final = 412.0
STRIP: Final = 8.0  # top of the row of programs
FIRST: Final = 34.0  # top of the first plot
HIGH: Final = 62.0  # of a plot
STEP: Final = 96.0  # from plot to plot
HEADROOM: Final = 1.15  # of the highest thing in a plot
NEAR_LIMIT: Final = 2.5  # times the greatest force, up to which a cutter's limit is drawn
MOST_SHOWN: Final = (
    2.0  # of 1 / times: what clamps stand less than half is drawn as half, to keep 1 and 3 apart
)
LONGEST: Final = 44  # letters of a program's name
MARK: Final = 'class="proveout-loads"'  # what makes a picture one of ours
STYLE: Final = """
.proveout-loads{font:11px Helvetica,Arial,sans-serif}
.proveout-loads text{fill:#1c1b18}
.proveout-loads .paper{fill:#fff}
.proveout-loads .ground{fill:none;stroke:#fff;stroke-width:3px;stroke-linejoin:round}
.proveout-loads .area{fill:#777;stroke:#1c1b18;stroke-width:.6px}
.proveout-loads .mark{fill:#1c1b18;stroke:#fff;stroke-width:.8px}
.proveout-loads .rule{fill:none;stroke:#1c1b18;stroke-width:.8px}
.proveout-loads .faint{fill:none;stroke:#8b8678;stroke-width:.5px;stroke-opacity:.6}
.proveout-loads .limit{fill:none;stroke:#1c1b18;stroke-width:1.2px;stroke-dasharray:5 3}
.proveout-loads .band{fill:#ddd;stroke:#555;stroke-width:.6px;stroke-dasharray:1 2}
.proveout-loads .head{font-weight:700}
@media (prefers-color-scheme:dark){
.proveout-loads text{fill:#ece8dd}
.proveout-loads .paper{fill:#272521}
.proveout-loads .ground{stroke:#272521}
.proveout-loads .area{fill:#a09a8c;stroke:#ece8dd}
.proveout-loads .mark{fill:#ece8dd;stroke:#272521}
.proveout-loads .rule,.proveout-loads .limit{stroke:#ece8dd}
.proveout-loads .band{fill:#46433c;stroke:#bbb5a6}
}
""".strip()


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Scale:
    """How a load is drawn: its values as heights, the names of heights, and what is drawn besides."""

    unit: str  # as the heading tells it
    heights: Floats  # (m,) values as drawn; 0 where nothing is asked
    top: float  # height at the plot's upper edge
    ticks: tuple[tuple[float, str], ...]  # height and name
    limits: tuple[tuple[float, float, float], ...] = ()  # begin and end in s, height
    bands: tuple[tuple[float, float, float, float], ...] = ()  # begin and end in s, lower and upper height


class Turn(NamedTuple):
    """A time through which one cutter cuts."""

    cutter: int
    begin: float
    end: float


def load_plot(job: Job, verdict: Verdict) -> str | None:
    """The picture as a whole SVG file; None where there are no loads to show."""
    loads, every = verdict.loads, loads_of(job, verdict)
    if loads is None or not every:
        return None
    when = clock(verdict, loads, job.shop.machine)
    shown = [load for load in every if load.shares.any()]  # none of hold-down where there is no clamp
    foot = FIRST + 14 + STEP * (len(shown) - 1) + HIGH
    letters = {program.file: column_letters(number) for number, program in enumerate(verdict.programs)}
    body = [
        *_programs(when, letters),
        *_time_lines(when, foot),
        *(
            line
            for number, load in enumerate(shown)
            for line in _plot(job, verdict, loads, load, when, letters, FIRST + 14 + STEP * number)
        ),
        *_key(job, verdict, when, foot + 44),
    ]
    high = foot + 55 + 15 * len(verdict.programs)
    return "\n".join((*_head(job, high), *body, "</svg>")) + "\n"


def _head(job: Job, high: float) -> tuple[str, ...]:
    size = f'width="{WIDE * 5 / 3:.0f}" height="{high * 5 / 3:.0f}" viewBox="0 0 {WIDE:.0f} {_short(high)}"'
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" {MARK} {size} role="img">',
        f"<title>{escaped(job.name)}: the loads along the programs</title>",
        f"<style>{STYLE}</style>",
        f'<rect class="paper" width="{WIDE:.0f}" height="{_short(high)}"/>',
    )


def sampled(begin: Floats, end: Floats, heights: Floats, *, total: float, bins: int = BINS) -> Floats:
    """The greatest height in each of equal moments of a time, (bins,): no peak is lost, however short.

    Args:
        begin: (m,) s, of stretches in order
        end: (m,) s
        heights: (m,) not negative
    """
    moment = max(total, 1e-9) / bins
    first = np.clip(np.floor(begin / moment), 0, bins - 1).astype(np.int64)
    last = np.clip(np.ceil(end / moment) - 1, first, bins - 1).astype(np.int64)
    count = last - first + 1
    stretch = np.repeat(np.arange(len(begin)), count)
    number = np.arange(len(stretch)) - np.repeat(np.cumsum(count) - count, count)
    out = np.zeros(bins)
    np.maximum.at(out, first[stretch] + number, heights[stretch])
    return out


def scale_of(job: Job, loads: Loads, load: Load, when: Clock) -> Scale:
    """How a load of a job is drawn."""
    inch = 25.4 if job.units == "in" else 1.0
    turns = _turns(loads, load, when)
    match load.name:
        case "power":
            return _even(
                "% of what it has at that speed", 100 * POWER_SHARE * load.shares, 100 * POWER_SHARE, when
            )
        case "push_off":
            return _even(job.units, load.values / inch, PUSH_OFF / inch, when)
        case "margin":
            return _times(load, when)
        case "chip":
            usual = {turn.cutter: _usual(job, turn.cutter, inch) for turn in turns}
            bands = tuple((turn.begin, turn.end, *usual[turn.cutter]) for turn in turns)
            values = load.values / inch
            top = HEADROOM * max(float(values.max()), *(high for *_, high in bands))
            return Scale(unit=job.units, heights=values, top=top, ticks=_ticks(top), bands=bands)
        case _:
            return _force(job, load, turns)


def _force(job: Job, load: Load, turns: Sequence[Turn]) -> Scale:
    """Newtons, with what each cutter stands where that is not far above what it is asked."""
    most = float(load.values.max())
    stands = {cutter.number: most_force(cutter) for cutter in job.shop.cutters}
    limits = tuple(
        (turn.begin, turn.end, stands[turn.cutter])
        for turn in turns
        if stands[turn.cutter] <= NEAR_LIMIT * most
    )
    top = HEADROOM * max(most, *(height for *_, height in limits), 0.0)
    return Scale(unit="N", heights=load.values, top=top, ticks=_ticks(top), limits=limits)


def _even(unit: str, heights: Floats, limit: float, when: Clock) -> Scale:
    """An even scale from 0 with one limit, which is always in sight."""
    top = HEADROOM * max(float(heights.max()), limit)
    return Scale(unit=unit, heights=heights, top=top, ticks=_ticks(top), limits=((0.0, when.total, limit),))


def _times(load: Load, when: Clock) -> Scale:
    """A scale of 1 / times, up to twice what the clamps stand: few times are high."""
    heights = np.minimum(1 / np.maximum(load.values, 1e-9), MOST_SHOWN)
    wanted = 1 / HOLD_WANTED
    top = HEADROOM * max(float(heights.max()), wanted)
    ticks: list[tuple[float, str]] = []
    for number in (HOLD_WANTED, 1.0, 2.0, 5.0, 10.0, 20.0):
        clear = all(abs(1 / number - other) > 10 / HIGH * top for other, _ in ticks)
        if 6 / HIGH * top < 1 / number <= top and clear:
            ticks.append((1 / number, f"{number:g}"))
    return Scale(
        unit="times that the clamps stand it",
        heights=heights,
        top=top,
        ticks=tuple(ticks),
        limits=((0.0, when.total, wanted),),
    )


def _usual(job: Job, number: int, inch: float) -> tuple[float, float]:
    cutter = next(one for one in job.shop.cutters if one.number == number)
    low, high = usual_chip(cutter, job.stock.material)
    return low / inch, high / inch


def _turns(loads: Loads, load: Load, when: Clock) -> tuple[Turn, ...]:
    """The times through which one cutter after the other cuts."""
    rows = np.flatnonzero(load.shares > 0)
    cutter = loads.motion.cutter[rows]
    edges = [0, *(np.flatnonzero(np.diff(cutter)) + 1).tolist(), len(rows)]
    return tuple(
        Turn(int(cutter[first]), float(when.begin[rows[first]]), float(when.end[rows[after - 1]]))
        for first, after in pairwise(edges)
    )


def _ticks(top: float) -> tuple[tuple[float, str], ...]:
    """Round heights from 0 up, two to four of them."""
    power = 10.0 ** math.floor(math.log10(top / 2))
    step = max((power * factor for factor in (1, 2, 5) if power * factor <= top / 2), default=power)
    places = max(0, -math.floor(math.log10(step) + 1e-9))
    return tuple(
        (number * step, f"{number * step:.{places}f}" if number else "0")
        for number in range(int(top / step) + 1)
    )


def _plot(
    job: Job, verdict: Verdict, loads: Loads, load: Load, when: Clock, letters: dict[str, str], top: float
) -> Iterator[str]:
    """One plot, its upper edge at `top`; the group around it carries its numbers for other programs."""
    scale = scale_of(job, loads, load, when)
    worst = peak(verdict, loads, load)
    if worst is None:
        return
    y = _heights(scale, top)
    said = amount(load, worst.value, worst.limit, job)
    line = f"line {worst.line} of {letters[worst.file]}" if worst.line else letters[worst.file]
    yield (
        f'<g data-load="{load.name}" data-value="{worst.value:.6g}" data-limit="{worst.limit:.6g}" '
        f'data-program="{escaped(worst.file)}" data-line="{worst.line or ""}" data-top="{scale.top:.6g}">'
    )
    yield f"<title>{escaped(TITLES[load.name])}: {escaped(how_to_read(load.name, job))}</title>"
    for begin, end, low, high in scale.bands:
        x, wide, upper = _x(when, begin), _x(when, end) - _x(when, begin), y(high)
        yield _box("band", x, upper, wide, y(low) - upper)
    for height, name in scale.ticks:
        yield f'<path class="faint" d="M{_short(LEFT)} {_short(y(height))}H{_short(RIGHT)}"/>'
        yield _text(LEFT - 4, y(height) + 4, name, anchor="end")
    yield f'<path class="area" d="{_outline(when, scale, y)}"/>'
    yield from _borders(when, top)
    for begin, end, height in scale.limits:
        left, right = _short(_x(when, begin)), _short(_x(when, end))
        yield f'<path class="limit" d="M{left} {_short(y(height))}H{right}"/>'
    at = (float(when.begin[worst.row]) + float(when.end[worst.row])) / 2
    yield _triangle(_x(when, at), y(float(scale.heights[worst.row])))
    yield _text(LEFT, top - 7, f"{TITLES[load.name]}, {scale.unit}", style="head")
    yield _text(RIGHT - 11, top - 7, f"{said}: {line}", anchor="end")
    yield _triangle(RIGHT - 4, top - 7)
    yield "</g>"


def _heights(scale: Scale, top: float) -> Callable[[float], float]:
    """Where a height lies on the page."""
    return lambda height: top + HIGH * (1 - height / scale.top)


def _outline(when: Clock, scale: Scale, y: Callable[[float], float]) -> str:
    """The load as areas, a level for each moment; broken where nothing is asked."""
    level = sampled(when.begin, when.end, scale.heights, total=when.total)
    out, above = [], False
    base = _short(y(0.0))
    for number, height in enumerate(level.tolist()):
        if height > 0:
            if not above:
                out.append(f"M{_moment(number)} {base}")
            out.append(f"V{y(height):.2f}H{_moment(number + 1)}")
        elif above:
            out.append(f"V{base}Z")
        above = height > 0
    return "".join(out) + (f"V{base}Z" if above else "")


def _moment(number: int) -> str:
    return _short(LEFT + (RIGHT - LEFT) * number / BINS)


def _borders(when: Clock, top: float) -> Iterator[str]:
    """Begin, foot and end of each program in a plot; a change of cutter leaves a gap between two."""
    for begin, end in when.programs:
        left, right = _short(_x(when, begin)), _short(_x(when, end))
        yield f'<path class="rule" d="M{left} {_short(top)}V{_short(top + HIGH)}H{right}V{_short(top)}"/>'


def _programs(when: Clock, letters: dict[str, str]) -> Iterator[str]:
    """The row of programs on top, each a box with its letter; between two boxes the cutter is changed."""
    at = 0.0
    for letter, (begin, end) in zip(letters.values(), when.programs, strict=True):
        x, wide = _x(when, begin), _x(when, end) - _x(when, begin)
        yield _box("rule", x, STRIP, wide, 15)
        if wide > 9 * len(letter) + 2:
            yield _text(x + wide / 2, STRIP + 11.5, letter, anchor="middle", style="head")
        if x - _x(when, at) > 62:
            yield _text((x + _x(when, at)) / 2, STRIP + 11.5, "new cutter", anchor="middle")
        at = end


def _time_lines(when: Clock, foot: float) -> Iterator[str]:
    """Round times, named under the last plot."""
    steps = (1, 2, 5, 10, 20, 30, 60, 120, 300, 600, 1200, 1800, 3600, 7200, 18000, 36000, 86400)
    step = next((one for one in steps if when.total / one <= 7), math.ceil(when.total / 7))
    unit = 60 if step >= 60 else 1
    for second in range(0, int(when.total) + 1, step):
        x = _short(_x(when, second))
        yield f'<path class="faint" d="M{x} {_short(FIRST + 14)}V{_short(foot + 3)}"/>'
        yield _text(_x(when, second), foot + 14, f"{second // unit}", anchor="middle")
    named = "minutes on the machine" if unit == 60 else "seconds on the machine"
    yield _text((LEFT + RIGHT) / 2, foot + 27, named, anchor="middle")


def _key(job: Job, verdict: Verdict, when: Clock, top: float) -> Iterator[str]:
    """What the signs mean, and the programs by name."""
    yield _triangle(9, top + 1)
    yield _text(17, top, "closest to its limit; up is harder")
    yield f'<path class="limit" d="M212 {_short(top - 4)}H232"/>'
    yield _text(237, top, "limit")
    yield _box("band", 286, top - 9, 20, 9)
    yield _text(311, top, "usual chip")
    for number, (program, (begin, end)) in enumerate(zip(verdict.programs, when.programs, strict=True)):
        name = program.file if len(program.file) <= LONGEST else f"{program.file[: LONGEST - 3]}..."
        y = top + 18 + 15 * number
        yield _text(6, y, column_letters(number), style="head")
        yield _text(26, y, f"{name}, {show_time(end - begin)} from {show_time(begin)} on")


def _x(when: Clock, second: float) -> float:
    return LEFT + (RIGHT - LEFT) * second / max(when.total, 1e-9)


def _triangle(x: float, tip: float) -> str:
    """A black triangle that stands on its tip."""
    return f'<path class="mark" d="M{_short(x)} {_short(tip)}l-4.5 -7h9z"/>'


def _box(style: str, x: float, y: float, wide: float, high: float) -> str:
    at, size = f'x="{_short(x)}" y="{_short(y)}"', f'width="{_short(wide)}" height="{_short(high)}"'
    return f'<rect class="{style}" {at} {size}/>'


def _text(x: float, y: float, text: str, *, anchor: str = "start", style: str = "") -> str:
    kind = f' class="{style}"' if style else ""
    return f'<text x="{_short(x)}" y="{_short(y)}" text-anchor="{anchor}"{kind}>{escaped(text)}</text>'


def _short(value: float) -> str:
    """A hundredth of the picture's unit is enough."""
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text
