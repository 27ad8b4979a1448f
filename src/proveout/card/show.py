"""What the page shows of a job, section by section, from what is known of it at the moment."""

import json
import tomllib
from collections.abc import Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

from proveout.card.answers import error_records, finding_record
from proveout.card.desk import Desk, Now
from proveout.card.job_form import Asked, bench_forms, job_forms
from proveout.card.numbers import by_section, cut_rows, found, number, reason
from proveout.card.pages import page
from proveout.finding import Finding, InputError, Level, Way
from proveout.job.records import DrawnWanted, Job
from proveout.job.rewrite import edit_data
from proveout.job.source import parse_source
from proveout.pack.cautions import CAUTIONS, FIRST
from proveout.pack.folder import default_folder
from proveout.quantity import System, show_time

if TYPE_CHECKING:
    from proveout.card.shelf_of_jobs import Jobs
    from proveout.drawing.look import Look


MOST_TYPED: Final = 300  # characters of a reading


@dataclass(frozen=True, slots=True, kw_only=True)
class Verdict:
    """The stamp at the head of the card."""

    kind: str  # "ready", "not-ready", "faulty", "unproved"
    words: str
    more: str  # what to do about it, or how sure it is
    minutes: str


# --- the whole page


def card_page(desk: Desk, job: str, units: System) -> str:
    """The card of one job."""
    values = _values(desk)
    return page(
        "card.html",
        job=job,
        file=desk.job.path.name,
        folder=str(desk.job.path.parent),
        name=str(values.get("name") or desk.job.path.stem)[:100],
        units=units,
        forms={asked.section: asked for asked in _asked(desk)},
        revisions=_revisions(desk),
        verdict=verdict(desk.now),
        cautions=CAUTIONS,
        first=FIRST,
        steps=desk.history.ends(),
    )


def forms(desk: Desk) -> dict[str, object]:
    """Every section's boxes, and at which revision of the files."""
    return {
        "revisions": _revisions(desk),
        "sections": {
            asked.section: {"shape": asked.shape, "html": page("section.html", asked=asked)}
            for asked in _asked(desk)
        },
        "steps": desk.history.ends(),
    }


def _asked(desk: Desk) -> tuple[Asked, ...]:
    bench = _bench(desk)
    told = job_forms(_values(desk), bench)
    return (*told, *bench_forms(bench)) if bench is not None else told


def _values(desk: Desk) -> dict[str, Any]:
    """What stands in the job file: as it was read last, where it can't be read now."""
    with suppress(InputError):
        return parse_source(desk.job.read()[0], desk.job.path).values
    with suppress(InputError):
        return parse_source(desk.job.last(), desk.job.path).values
    return {}


def _bench(desk: Desk) -> dict[str, Any] | None:
    if desk.shop is None:
        return None
    with suppress(InputError):
        return parse_source(desk.shop.read()[0], desk.shop.path).values
    return None


def _revisions(desk: Desk) -> dict[str, str]:
    told = {}
    for which, document in (("job", desk.job), ("shop", desk.shop)):
        if document is not None:
            with suppress(InputError):
                told[which] = document.read()[1]
    return told


# --- numbers and verdict


def numbers(desk: Desk, units: System) -> dict[str, object]:
    """Every number that is known, as pieces of the page, and what is wrong with the job."""
    now = desk.now
    parts = [wanted.name for wanted in now.job.wanted] if now.job else []
    sections = by_section(now.figures, parts, units)
    pieces = {name: page("numbers.html", groups=groups) for name, groups in sections.items()}
    pieces["cut"] = page("cutting.html", rows=cut_rows(now.figures, units))
    pieces["proof"] = page("findings.html", **_findings(now, units))
    pieces["machine"] = page("machine.html", **_machine(desk))
    pieces["watch"] = page("watch.html", proved=now.proved if now.is_proved else None)
    pieces["verdict"] = page("verdict.html", verdict=verdict(now))
    return {
        "revision": now.revision,
        "pieces": pieces,
        "errors": error_records(now.errors, desk.job.path, desk.shop.path if desk.shop else None),
        "gone": now.gone,
    }


def verdict(now: Now) -> Verdict:
    """What may be said of the job at this moment."""
    minutes = _minutes(now)
    if now.gone:
        return Verdict(kind="faulty", words="FILE GONE", more="Nothing is lost: see below.", minutes="")
    if now.errors and now.job is None:
        count = len(now.errors)
        said = f"{count} thing{'s' if count > 1 else ''} to put right first"
        return Verdict(kind="faulty", words="CAN'T BE READ", more=said, minutes="")
    if now.errors:
        return Verdict(kind="faulty", words="CAN'T BE PLANNED", more=now.errors[0].text, minutes="")
    if now.is_proved and now.proved is not None:
        kind = "ready" if now.proved.ready else "not-ready"
        return Verdict(kind=kind, words=now.proved.verdict, more=now.proved.likely, minutes=minutes)
    if now.stage:
        more = "the proof is being made: cut nothing yet"
    elif now.failed:
        more = now.failed
    else:
        more = "the proof follows: cut nothing yet"
    return Verdict(kind="unproved", words="NOT PROVED YET", more=more, minutes=minutes)


def _minutes(now: Now) -> str:
    if now.is_proved and now.proved is not None:
        return show_time(now.proved.seconds)
    return f"about {show_time(now.draft.seconds)}" if now.draft is not None else ""


def why(desk: Desk, name: str, units: System) -> str:
    """The reason of a number; empty where there is no such number now."""
    figure = found(desk.now.figures, name)
    return page("why.html", reason=reason(figure, units)) if figure else ""


# --- layout and proof


def plan(desk: Desk) -> Mapping[str, object] | None:
    """The plan's data: the proof's own where it is of this job, else the layout as it is drafted."""
    now = desk.now
    if now.is_proved and now.proved is not None:
        return now.proved.plan
    if now.draft is None or now.job is None:
        return now.proved.plan if now.proved is not None else None
    from proveout.card.plan_data import plan_data

    early = now.draft
    return plan_data(now.job, early.placed, early.reckoned.held, tabs=early.tabs, findings=early.findings)


def proof(desk: Desk) -> dict[str, object] | None:
    """What the view of the proof needs besides the scene."""
    proved = desk.now.proved
    if proved is None:
        return None
    return {
        "of": desk.now.proved_of,
        "stale": not desk.now.is_proved,
        "units": proved.units,
        "findings": [finding_record(number, one) for number, one in proved.findings],
        "programs": {one.file: one.text for one in proved.programs},
    }


def _findings(now: Now, units: System) -> dict[str, object]:
    """The list of findings: of the proof, or of the plan as far as it is drafted."""
    proved = now.proved
    if now.is_proved and proved is not None:
        told: Sequence[tuple[int, Finding]] = proved.findings
    else:
        told = list(enumerate(_drafted(now), 1))
    rows = [
        finding_record(number, one)
        | {
            "ways": [_way(way) for way in one.ways],
            "shown": now.is_proved and (one.at is not None or one.line is not None),
        }
        for number, one in told
    ]
    order = {level.value: place for place, level in enumerate(Level)}
    rows.sort(key=lambda row: order[str(row["level"])])
    return {
        "rows": rows,
        "proved": now.is_proved,
        "notes": proved.notes if now.is_proved and proved else (),
        "minutes": [number(one, units, one.name) for one in now.figures if one.name.startswith("minutes")],
        "failed": now.failed,
    }


def _drafted(now: Now) -> tuple[Finding, ...]:
    """The findings of a draft, with their ways out."""
    if now.draft is None or now.job is None:
        return ()
    from proveout.ways import with_ways

    return with_ways(now.draft.findings, now.job, now.draft.placed, now.text)


def _way(way: Way) -> dict[str, str]:
    return {"says": way.says, "edits": json.dumps([edit_data(one) for one in way.edits])}


# --- at the machine


def _machine(desk: Desk) -> dict[str, object]:
    now = desk.now
    proved = now.proved if now.is_proved else None
    return {
        "proved": proved,
        "folder": default_folder(now.job) if now.job else None,
        "written": bool(now.job and default_folder(now.job).is_dir()),
        "files": [
            {"name": name, "kilobytes": max(1, round(len(content) / 1000)), "what": _what(name)}
            for name, content in (proved.pack.items() if proved else ())
            if "/" not in name and _what(name)
        ],
    }


def _what(name: str) -> str:
    """What a file of the pack is for, as one would ask for it; empty for those that nobody fetches alone."""
    if name.endswith((".nc", ".ngc", ".tap")):
        return "outline check, spindle off" if name.startswith("0-") else "program"
    return {
        "setup-sheet.pdf": "setup sheet, A4",
        "setup-sheet-letter.pdf": "setup sheet, Letter",
        "report.html": "report: pictures, findings, reasons",
    }.get(name, "")


def write_pack_of(desk: Desk) -> str:
    """Write the pack beside the job file, in place of one that is there.

    Raises:
        NotProved: there is none of the job as it stands
        InputError: it can't be written
    """
    from proveout.pack.pack import write_pack

    folder, files = desk.now.pack()
    write_pack(files, folder, replace=True)
    return f"Written to {folder}"


# --- after the cut


def after(desk: Desk) -> str:
    """The form of readings, and what was learned."""
    from proveout.card.after import after_sheet

    now = desk.now
    sheet, failed = None, ""
    if now.job is not None:
        try:
            sheet = after_sheet(now.job, now.proved.pack if now.proved else None)
        except InputError as error:
            failed = str(error)
    return page("after.html", sheet=sheet, failed=failed)


def record_of(desk: Desk, given: Mapping[str, Any]) -> tuple[str, ...]:
    """Record readings that were typed on the page; what was written.

    Raises:
        InputError: something is wrong or doubtful
    """
    from proveout.card.after import record

    now = desk.now
    if now.job is None:
        raise InputError("The job can't be read as it stands: put that right first.")
    rows = given.get("rows")
    head = given.get("head")
    if not isinstance(rows, list) or not isinstance(head, dict):
        raise InputError("The page sent no readings. Load it anew.")
    return record(
        now.job, now.proved.pack if now.proved else None, [_strings(one) for one in rows], _strings(head)
    )


def _strings(given: object) -> dict[str, str]:
    if not isinstance(given, dict):
        return {}
    return {
        key: value[:300] for key, value in given.items() if isinstance(key, str) and isinstance(value, str)
    }


def coupon_of(desk: Desk, jobs: "Jobs") -> str:
    """A job of coupons for this job's fits, opened beside it.

    Raises:
        InputError: nothing to fit, or the file can't be written
    """
    from proveout.coupons import Asked as Wanted
    from proveout.coupons import default_file, write_coupons

    job = desk.now.job
    if job is None:
        raise InputError("The job can't be read as it stands: put that right first.")
    out = default_file(job)
    if not out.exists():
        write_coupons(job, out, Wanted(), overwrite=False)
    return jobs.open(out)


# --- what drawings hold


def drawings(desk: Desk, units: System) -> str:
    """The drawings of drawn parts with their curves numbered, and what these may be meant for."""
    job = desk.now.job
    return page("drawings.html", drawings=list(_drawings(job)) if job else [])


def drawing_picture(desk: Desk, part: int) -> str:
    """The drawing of a part with its curves numbered, as SVG; empty where there is none."""
    from proveout.drawing.look import look_picture

    job = desk.now.job
    drawn = job.wanted[part].pattern if job is not None and part < len(job.wanted) else None
    if job is None or not isinstance(drawn, DrawnWanted):
        return ""
    try:
        return look_picture(_looked(job, drawn))
    except InputError:
        return ""


def _looked(job: Job, drawn: DrawnWanted) -> "Look":
    from proveout.drawing.look import look

    file = job.file.parent / drawn.drawing
    return look(file, known=drawn.known, units=drawn.units, layers=drawn.layers)


def _drawings(job: Job) -> Iterator[dict[str, object]]:
    for index, wanted in enumerate(job.wanted):
        drawn = wanted.pattern
        if not isinstance(drawn, DrawnWanted):
            continue
        try:
            seen = _looked(job, drawn)
        except InputError as error:
            yield {"part": wanted.name, "error": error.text}
            continue
        if (drawn.part or 1) > len(seen.drawn):
            continue  # told of by the plan
        yield {
            "part": wanted.name,
            "error": "",
            "file": drawn.drawing,
            "notes": seen.notes,
            "number": index,
            "curves": [
                {
                    "number": one.number,
                    "said": one.shape.said,
                    "may_be": one.may_be,
                    "edits": json.dumps(_rule(index, one.shape.length, one.accept)) if one.accept else "",
                }
                for one in seen.seen
                if one.kind == "hole" and one.part == seen.drawn[(drawn.part or 1) - 1].name
            ],
        }


def _rule(part: int, size: float, accept: Sequence[str]) -> list[dict[str, object]]:
    value = {"size": f"{size:.3f} mm", **tomllib.loads("\n".join(accept))}
    return [{"what": "add", "keys": ["parts", part, "rules"], "value": value}]
