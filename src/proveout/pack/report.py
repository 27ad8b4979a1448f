"""report.html: one page that opens anywhere, with pictures, findings, programs and every number's reason.

In the order of the work, under the card's own look: its tokens are read as text and stand in the page.
"""

import base64
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from importlib import resources
from typing import Final

from proveout import __version__
from proveout.figure import Figure
from proveout.finding import Finding, Level
from proveout.job.records import Job
from proveout.pack.cautions import CAUTIONS, FIRST
from proveout.pack.html_table import Cell, table
from proveout.pack.load_plot import load_plot
from proveout.pack.load_words import TITLES, amount, how_to_read, limit_words, loads_of, why_no_loads
from proveout.pack.made import Made
from proveout.pack.margin_picture import made_picture
from proveout.pack.markup import escaped
from proveout.pack.on_the_bed import clamps_alike, cutters_in_order
from proveout.pack.plan_picture import numbered
from proveout.pack.shopping import cutting_rows, shopping_rows
from proveout.pack.sizes import caliper_span
from proveout.proof.load_shares import Load, Peak, peak
from proveout.proof.verdict import Loads
from proveout.quantity import System, show, show_length, show_time

LOAD_HEADS: Final = ("Load", "Closest to its limit", "Where", "What limits it")
LOOK: Final = ("card/static/look.css", "pack/report.css")  # the tokens, and what a page makes of them
POLICY: Final = "default-src 'none'; img-src data:; style-src 'unsafe-inline'"


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """A part of the page under its own heading."""

    anchor: str
    title: str
    body: tuple[str, ...]


def report_html(made: Made, plan: str, picture: bytes) -> str:
    """The page as one file with nothing outside it.

    Args:
        made: the job
        plan: SVG of the layout
        picture: PNG of the simulated result
    """
    name = escaped(made.job.name)
    sections = [one for one in _sections(made, plan, picture) if one.body]
    body = [
        '<a class="skip" href="#findings">To the findings</a>',
        *_head(made),
        *_contents(sections),
        "<main>",
        *(line for one in sections for line in _section(one)),
        "</main>",
        f"<footer><p>proveout {escaped(__version__)}</p></footer>",
    ]
    return (
        '<!doctype html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f'<meta http-equiv="Content-Security-Policy" content="{POLICY}">\n'
        f"<title>{name}: report</title>\n<style>\n{_look()}\n</style>\n</head>\n<body>\n"
        + "\n".join(body)
        + "\n</body>\n</html>\n"
    )


def _look() -> str:
    """Both style sheets; files of the package are data here, no room above is imported."""
    root = resources.files("proveout")
    return "\n".join(root.joinpath(name).read_text(encoding="utf-8").strip() for name in LOOK)


def _sections(made: Made, plan: str, picture: bytes) -> Iterator[Section]:
    """All of it, in the order of the work; a section without anything to say is empty."""

    def section(anchor: str, title: str, body: Iterable[str]) -> Section:
        return Section(anchor=anchor, title=title, body=tuple(body))

    units = made.job.units
    yield section("findings", "Findings", _findings(made.findings, units))
    yield section("fetch", "To buy and to fetch", _bought(made))
    yield section("cutting-list", "Cutting list", _cut(made))
    yield section("bed", "The sheet on the bed", _bed(made, plan))
    yield section("hold", "How the sheet is held", _held(made))
    yield section("programs", "Programs, in order of running", _programs(made))
    if load_plot(made.job, made.verdict) is None:
        yield section("loads", "Loads", (f"<p>{escaped(why_no_loads(made.job, made.verdict))}</p>",))
    yield section("loads", "Loads along the programs", _loads(made))
    yield section("result", "What the programs leave", _result(picture))
    yield section("reasons", "Numbers and their reasons", _reasons(made.figures, units))
    yield section("proof", "What the proof rests on", _list(made.verdict.notes))
    yield section("cautions", "Cautions", _cautions())


def _section(one: Section) -> Iterator[str]:
    yield f'<section id="{one.anchor}"><h2>{one.title}</h2>'
    yield from one.body
    yield "</section>"


def _contents(sections: Iterable[Section]) -> Iterator[str]:
    links = "".join(f'<li><a href="#{one.anchor}">{one.title}</a></li>' for one in sections)
    yield f'<nav aria-label="Sections"><ol>{links}</ol></nav>'


def _head(made: Made) -> Iterator[str]:
    minutes, stock, units = made.verdict.minutes, made.job.stock, made.job.units
    size = " x ".join(show_length(side, units) for side in stock.size)
    thick = caliper_span(stock.thinnest, stock.thickest, units)
    stopped = "" if made.ready else " stopped"
    took = (
        f"{show_time(minutes.total * 60)}: {show_time(minutes.cutting * 60)} cutting, "
        f"{show_time(minutes.air * 60)} between cuts, {show_time(minutes.tool_changes * 60)} changing "
        f"cutters{f'; {likely}' if (likely := made.likely_words) else ''}"
    )
    yield f"<header><div>{_label('job')}<h1>{escaped(made.job.name)}</h1></div>"
    yield f'<div class="stamp{stopped}">{made.verdict_words}</div>'
    shop = f"{made.job.shop.name}, {made.job.shop.machine.name}"
    sheet = f"{stock.material}, {size}, {thick} thick"
    for kind, label, words in (
        ("", "shop, machine", shop),
        ("", "sheet of stock", sheet),
        (' class="wide"', "on the machine", took),
    ):
        yield f"<div{kind}>{_label(label)}{escaped(words)}</div>"
    yield "</header>"


def _label(words: str) -> str:
    return f'<span class="label">{words}</span>'


# What was found


def _findings(findings: Sequence[Finding], units: System) -> Iterator[str]:
    if not findings:
        yield "<p>None.</p>"
        return
    rows = (_finding(number, finding, units) for number, finding in numbered(findings))
    yield from table(("No.", "Level", "Where", "What, and what to do"), rows)


def _finding(number: int, finding: Finding, units: System) -> tuple[Cell, ...]:
    """A row; its number is the one that marks its place in the picture of the sheet."""
    remedy = f'<span class="do">Do: {escaped(finding.remedy)}</span>' if finding.remedy else ""
    kind = "mark" if finding.level is Level.NOTE else "mark finding"
    return (
        Cell(f'<span class="{kind}">{number}</span>'),
        Cell(finding.level.value, f"level {finding.level.value}"),
        Cell(_where(finding.program, finding.line, finding.at, units)),
        Cell(f"{escaped(finding.text)}{remedy}"),
    )


def _where(program: str, line: int | None, at: tuple[float, float, float] | None, units: System) -> str:
    """A place as it is found again: program, line, and where on the bed."""
    where = escaped(program) or "the plan"
    if line is not None:
        where += f"<br>line {line}"
    if at is not None:
        x, y, z = (show_length(value, units) for value in (*at[:2], abs(at[2])))
        side = "below" if at[2] < 0 else "above"
        where += f"<br>{x} from the left, {y} from the front, {z} {side} the bed"
    return where


# The sheet on the bed, and how it is held


def _bed(made: Made, plan: str) -> Iterator[str]:
    """The picture, and what its numbers mean: clamps in circles, findings in triangles."""
    yield _picture("The sheet on the bed, from above", plan, "plan")
    clamps = [
        (
            Cell(f'<span class="mark clamp">{number}</span>'),
            at.hole,
            f"nose to the {at.towards}",
            alike.kind,
            alike.bolt,
        )
        for alike in clamps_alike(made)
        for number, at in alike.places
    ]
    if clamps:
        yield from table(("Clamp", "Hole", "Which way", "Kind", "Bolt"), clamps)


def _picture(name: str, svg: str, kind: str) -> str:
    """A picture in a frame that scrolls where the page is narrower, by keys too."""
    return f'<div class="picture {kind}" role="region" tabindex="0" aria-label="{name}">{svg}</div>'


def _held(made: Made) -> Iterator[str]:
    """Where the sheet is held well and where it is not; nothing where no clamp presses on it."""
    picture = made_picture(made)
    if picture is not None:
        yield _picture("How the sheet is held", picture, "margins")


# The programs


def _programs(made: Made) -> Iterator[str]:
    units = made.job.units
    numbers = {cutter.number: cutter for cutter in made.setup.cutters}
    minutes = {one.file: one.minutes for one in made.verdict.programs}
    rows = []
    for program in made.programs:
        cutters = ", ".join(
            f'<span class="mark cutter">{number}</span> {escaped(numbers[number].name)}'
            for number in program.cutters
        )
        took = show_time(minutes[program.file].total * 60) if program.file in minutes else ""
        rows.append((program.file, Cell(cutters or "spindle off"), Cell(took, "number")))
    yield from table(("File", "Cutter", "Time"), rows)
    used = [
        (
            Cell(f'<span class="mark cutter">{cutter.number}</span>'),
            *(
                Cell(show_length(size, units), "number")
                for size in (cutter.diameter, cutter.flute_length, cutter.stick_out)
            ),
        )
        for cutter in cutters_in_order(made)
    ]
    if used:
        yield from table(("Cutter No.", "Across", "Flutes", "Stick-out"), used)


def _loads(made: Made) -> Iterator[str]:
    """How hard the programs cut: plots along the time, how each is read, and the worst place of each load."""
    job, loads = made.job, made.verdict.loads
    picture = load_plot(job, made.verdict)
    if picture is None or loads is None:
        return
    yield _picture("Loads along the programs", picture, "loads")
    peaks = ((load, peak(made.verdict, loads, load)) for load in loads_of(job, made.verdict))
    yield from table(LOAD_HEADS, (_load(job, loads, load, worst) for load, worst in peaks if worst))


def _load(job: Job, loads: Loads, load: Load, worst: Peak) -> tuple[Cell | str, ...]:
    return (
        Cell(f"<b>{TITLES[load.name]}</b><br>{escaped(how_to_read(load.name, job))}"),
        amount(load, worst.value, worst.limit, job),
        Cell(_where(worst.file, worst.line, worst.at, job.units)),
        limit_words(load, worst, job, loads),
    )


def _result(picture: bytes) -> Iterator[str]:
    image = base64.b64encode(picture).decode("ascii")
    yield (
        '<div class="picture"><img alt="The sheet after all programs, seen from above" '
        f'src="data:image/png;base64,{image}"></div>'
    )


# Lists


def _bought(made: Made) -> Iterator[str]:
    """What to buy, in whole pieces."""
    yield from table(("Pieces", "What", "For what"), shopping_rows(made))


def _cut(made: Made) -> Iterator[str]:
    yield from table(("Part", "Pieces", "Finished size", "Thick", "Of", "Long side"), cutting_rows(made))


# Reasons


def _reasons(figures: Sequence[Figure], units: System) -> Iterator[str]:
    """By what they are of, each opening into what it comes from."""
    groups: dict[str, list[Figure]] = {}
    for one in figures:
        groups.setdefault(one.name.split(".")[0], []).append(one)
    for of, group in groups.items():
        yield f"<h3>{escaped(of)}</h3>"
        for figure in group:
            yield from _reason(figure, units)


def _reason(figure: Figure, units: System) -> Iterator[str]:
    value = show(figure.value, figure.unit, units)
    if figure.low is not None and figure.high is not None:
        low, high = (show(end, figure.unit, units) for end in (figure.low, figure.high))
        value += f" ({low} to {high})"
    yield f"<details><summary>{escaped(figure.name)}: <b>{escaped(value)}</b></summary>"
    yield f'<span class="why">{escaped(figure.rule)} <i>{escaped(figure.source)}</i></span>'
    for below in figure.inputs:
        yield from _reason(below, units)
    yield "</details>"


def _list(lines: Iterable[str]) -> Iterator[str]:
    items = "".join(f"<li>{escaped(line)}</li>" for line in lines)
    yield f"<ul>{items}</ul>"


def _cautions() -> Iterator[str]:
    yield f'<div class="cautions"><p>{escaped(FIRST)}</p>'
    yield from _list(CAUTIONS)
    yield "</div>"
