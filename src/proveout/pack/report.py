"""report.html: one page that opens anywhere, with pictures, findings, programs and every number's reason."""

import base64
from collections.abc import Iterable, Iterator, Sequence
from typing import Final

from proveout import __version__
from proveout.figure import Figure
from proveout.finding import Finding
from proveout.job.records import Job
from proveout.pack.cautions import CAUTIONS, FIRST
from proveout.pack.load_plot import load_plot
from proveout.pack.load_words import TITLES, amount, how_to_read, limit_words, loads_of, why_no_loads
from proveout.pack.made import Made
from proveout.pack.margin_picture import made_picture
from proveout.pack.markup import escaped
from proveout.pack.plan_picture import numbered
from proveout.pack.shopping import cutting_rows, shopping_rows
from proveout.proof.load_shares import Load, Peak, peak
from proveout.proof.verdict import Loads
from proveout.quantity import System, show, show_length, show_time

LOAD_HEADS: Final = ("Closest to its limit", "Where", "What limits it")
STYLE: Final = """
:root { color-scheme: light dark; --ink: #1c1b18; --paper: #fbfaf6; --rule: #8b8678; --box: #fff; }
@media (prefers-color-scheme: dark) {
  :root { --ink: #ece8dd; --paper: #1d1c19; --rule: #8f8a7c; --box: #272521; }
}
* { box-sizing: border-box; }
body { margin: 0 auto; padding: 1.2rem; max-width: 68rem; background: var(--paper); color: var(--ink);
  font: 1.05rem/1.5 Georgia, "Times New Roman", serif; }
header { display: flex; flex-wrap: wrap; justify-content: space-between; gap: 0 1.5rem;
  border: 2px solid var(--ink); padding: .8rem 1rem; }
h1 { margin: 0; font-size: 1.6rem; }
h2 { margin: 2rem 0 .6rem; font-size: 1.2rem; border-bottom: 2px solid var(--ink); }
.verdict { font: 700 1.4rem/1.2 ui-monospace, monospace; text-align: right; white-space: nowrap; }
table { border-collapse: collapse; width: 100%; }
th, td { border: 1px solid var(--rule); padding: .35rem .6rem; text-align: left; vertical-align: top; }
td.number { text-align: right; white-space: nowrap; font-variant-numeric: tabular-nums; }
.picture { background: #fff; border: 1px solid var(--rule); padding: .5rem; overflow-x: auto; }
.picture svg, .picture img { max-width: 100%; height: auto; display: block; }
.loads { background: var(--box); padding: .5rem 0; }
.loads svg { max-width: min(44rem, 100%); margin: 0 auto; }
.margins svg { max-width: min(44rem, 100%); margin: 0 auto; }
.loads + table { margin-top: 1rem; }
@media (max-width: 40rem) {
  .stacks thead { display: none; }
  .stacks tr { display: block; border: 1px solid var(--rule); margin-top: .6rem; padding: .3rem .6rem; }
  .stacks td { display: block; border: 0; padding: .15rem 0; }
  .stacks td[data-head]::before { content: attr(data-head) ": "; font-style: italic; }
}
.level { font-weight: 700; text-transform: uppercase; letter-spacing: .04em; white-space: nowrap; }
.do { display: block; margin-top: .2rem; font-style: italic; }
details { border-left: 2px solid var(--rule); padding-left: .8rem; margin: .25rem 0; }
summary { cursor: pointer; }
summary b { font-variant-numeric: tabular-nums; }
.why { display: block; color: var(--ink); opacity: .85; }
.caution { border: 2px solid var(--ink); padding: .6rem 1rem; background: var(--box); }
@media print { details { break-inside: avoid; } body { max-width: none; } }
""".strip()


def report_html(made: Made, plan: str, picture: bytes) -> str:
    """The page as one file with nothing outside it.

    Args:
        made: the job
        plan: SVG of the layout
        picture: PNG of the simulated result
    """
    name = escaped(made.job.name)
    image = base64.b64encode(picture).decode("ascii")
    shot = (
        '<div class="picture"><img alt="The sheet after all programs, seen from above" '
        f'src="data:image/png;base64,{image}"></div>'
    )
    body = [
        *_head(made),
        *_findings(made.findings, made.job.units),
        "<h2>The sheet on the bed</h2>",
        f'<div class="picture">{plan}</div>',
        "<h2>What the programs leave</h2>",
        shot,
        *_held(made),
        *_programs(made),
        *_loads(made),
        *_shopping(made),
        *_reasons(made.figures, made.job.units),
        *_list("What the proof rests on", made.verdict.notes),
        *_cautions(),
        f"<p>proveout {escaped(__version__)}</p>",
    ]
    return (
        '<!doctype html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        '<meta http-equiv="Content-Security-Policy" content="default-src \'none\'; img-src data:; '
        "style-src 'unsafe-inline'\">\n"
        f"<title>{name}: report</title>\n<style>\n{STYLE}\n</style>\n</head>\n<body>\n"
        + "\n".join(body)
        + "\n</body>\n</html>\n"
    )


def _head(made: Made) -> Iterator[str]:
    minutes, stock, units = made.verdict.minutes, made.job.stock, made.job.units
    size = " x ".join(show_length(side, units) for side in stock.size)
    thick = f"{show_length(stock.thinnest, units)} to {show_length(stock.thickest, units)}"
    yield f"<header><div><h1>{escaped(made.job.name)}</h1>"
    yield f"<div>{escaped(made.job.shop.name)}, {escaped(made.job.shop.machine.name)}</div>"
    yield f"<div>{escaped(stock.material)}, {size}, {thick} thick</div></div>"
    yield f'<div class="verdict">{made.verdict_words}</div>'
    yield (
        f"<div>{show_time(minutes.total * 60)} on the machine: {show_time(minutes.cutting * 60)} cutting, "
        f"{show_time(minutes.air * 60)} between cuts, {show_time(minutes.tool_changes * 60)} changing "
        f"cutters{f'; {likely}' if (likely := made.likely_words) else ''}</div></header>"
    )


def _findings(findings: Sequence[Finding], units: System) -> Iterator[str]:
    yield "<h2>Findings</h2>"
    if not findings:
        yield "<p>None.</p>"
        return
    heads = "".join(f"<th>{head}</th>" for head in ("No.", "Level", "Where", "What, and what to do"))
    yield f"<table><thead><tr>{heads}</tr></thead><tbody>"
    for number, finding in numbered(findings):
        yield _finding(number, finding, units)
    yield "</tbody></table>"


def _finding(number: int, finding: Finding, units: System) -> str:
    """A row; its number is the one that marks its place in the picture of the sheet."""
    where = _where(finding.program, finding.line, finding.at, units)
    remedy = f'<span class="do">Do: {escaped(finding.remedy)}</span>' if finding.remedy else ""
    return (
        f'<tr><td class="number">{number}</td><td class="level">{finding.level.value}</td><td>{where}</td>'
        f"<td>{escaped(finding.text)}{remedy}</td></tr>"
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


def _held(made: Made) -> Iterator[str]:
    """Where the blank is held well and where it is not; nothing where no clamp presses on it."""
    picture = made_picture(made)
    if picture is None:
        return
    yield "<h2>How the blank is held</h2>"
    yield f'<div class="picture margins">{picture}</div>'


def _programs(made: Made) -> Iterator[str]:
    names = {cutter.number: cutter.name for cutter in made.setup.cutters}
    minutes = {one.file: one.minutes for one in made.verdict.programs}
    yield "<h2>Programs, in order of running</h2>"
    yield "<table><thead><tr><th>File</th><th>Cutter</th><th>Time</th></tr></thead><tbody>"
    for program in made.programs:
        cutters = ", ".join(f"{number}: {escaped(names[number])}" for number in program.cutters)
        took = show_time(minutes[program.file].total * 60) if program.file in minutes else ""
        yield (
            f"<tr><td>{escaped(program.file)}</td><td>{cutters or 'spindle off'}</td>"
            f'<td class="number">{took}</td></tr>'
        )
    yield "</tbody></table>"


def _loads(made: Made) -> Iterator[str]:
    """How hard the programs cut: plots along the time, how each is read, and the worst place of each load."""
    job, loads = made.job, made.verdict.loads
    picture = load_plot(job, made.verdict)
    if picture is None or loads is None:
        yield f"<p>{escaped(why_no_loads(job, made.verdict))}</p>"
        return
    yield "<h2>Loads along the programs</h2>"
    yield f'<div class="picture loads">{picture}</div>'
    heads = "".join(f"<th>{head}</th>" for head in ("Load", *LOAD_HEADS))
    yield f'<table class="stacks"><thead><tr>{heads}</tr></thead><tbody>'
    for load in loads_of(job, made.verdict):
        worst = peak(made.verdict, loads, load)
        if worst is not None:
            yield _load(job, loads, load, worst)
    yield "</tbody></table>"


def _load(job: Job, loads: Loads, load: Load, worst: Peak) -> str:
    """A row of the table; on a narrow page its cells stand one under the other, each with its own heading."""
    cells = (
        escaped(amount(load, worst.value, worst.limit, job)),
        _where(worst.file, worst.line, worst.at, job.units),
        escaped(limit_words(load, worst, job, loads)),
    )
    shown = "".join(
        f'<td data-head="{head}">{cell}</td>' for head, cell in zip(LOAD_HEADS, cells, strict=True)
    )
    said = escaped(how_to_read(load.name, job))
    return f"<tr><td><b>{TITLES[load.name]}</b><br>{said}</td>{shown}</tr>"


def _shopping(made: Made) -> Iterator[str]:
    """What to buy and what is cut, in whole pieces."""
    yield "<h2>To buy and to fetch</h2>"
    yield from _plain_table(("Pieces", "What", "For what"), shopping_rows(made))
    yield "<h2>Cutting list</h2>"
    yield from _plain_table(
        ("Part", "Pieces", "Finished size", "Thick", "Of", "Long side"), cutting_rows(made)
    )


def _plain_table(heads: Sequence[str], rows: Sequence[Sequence[str]]) -> Iterator[str]:
    yield f"<table><thead><tr>{''.join(f'<th>{head}</th>' for head in heads)}</tr></thead><tbody>"
    for row in rows:
        yield f"<tr>{''.join(f'<td>{escaped(cell)}</td>' for cell in row)}</tr>"
    yield "</tbody></table>"


def _reasons(figures: Sequence[Figure], units: System) -> Iterator[str]:
    yield "<h2>Numbers and their reasons</h2>"
    for figure in figures:
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


def _list(title: str, lines: Iterable[str]) -> Iterator[str]:
    yield f"<h2>{title}</h2><ul>"
    for line in lines:
        yield f"<li>{escaped(line)}</li>"
    yield "</ul>"


def _cautions() -> Iterator[str]:
    yield f'<h2>Cautions</h2><div class="caution"><p>{escaped(FIRST)}</p><ul>'
    for line in CAUTIONS:
        yield f"<li>{escaped(line)}</li>"
    yield "</ul></div>"
