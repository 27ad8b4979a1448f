"""What the command line prints of a made job and of a verdict, as text and as JSON."""

import json
import textwrap
from collections.abc import Sequence
from pathlib import Path

from proveout.finding import Finding, Level
from proveout.job.records import Job
from proveout.motion_time import Minutes
from proveout.pack.load_words import hardest_lines
from proveout.pack.made import Made
from proveout.pack.result_json import finding_record, loads_record, minutes_record
from proveout.proof.verdict import Verdict
from proveout.quantity import show_time


def made_text(made: Made, folder: Path) -> str:
    """A made job in a dozen lines: verdict, minutes, findings, where the pack is."""
    lines = [f"{made.job.name}: {_verdict_words(made.ready)}. {_minutes_words(made.verdict.minutes)}"]
    if made.likely_words:
        lines.append(f"{made.likely_words}, cutter changes and all")
    lines += hardest_lines(made.job, made.verdict)
    lines += _finding_lines(made.findings)
    lines.append(f"pack: {folder}")
    by_file = {program.file: program.minutes for program in made.verdict.programs}
    for program in made.programs:
        minutes = by_file.get(program.file)
        lines.append(f"  {program.file}" + (f"  {show_time(minutes.total * 60)}" if minutes else ""))
    lines.append("  setup-sheet.pdf  start here")
    lines.append(f"what limits its minutes: proveout faster {made.job.file}")
    return "\n".join(lines)


def made_json(made: Made, folder: Path) -> str:
    """The same for another program to read; the pack's result.json holds the rest."""
    return json.dumps(
        {
            "verdict": "ready" if made.ready else "not ready",
            "minutes": minutes_record(made.verdict.minutes),
            "findings": [finding_record(finding) for finding in made.findings],
            "pack": str(folder),
            "programs": [program.file for program in made.programs],
        },
        indent=2,
    )


def verdict_text(job: Job, verdict: Verdict) -> str:
    """A verdict with its findings, its hardest moment and what the proof rests on."""
    words = _verdict_words(verdict.ready)
    if verdict.ready and not (job.wanted or job.intended):
        words += " as far as could be judged, since no parts were stated"
    lines = [f"{job.name}: {words}. {_minutes_words(verdict.minutes)}"]
    lines += hardest_lines(job, verdict)
    lines += _finding_lines(verdict.findings)
    lines += [f"proof: {note}" for note in verdict.notes]
    return "\n".join(lines)


def verdict_json(job: Job, verdict: Verdict) -> str:
    """The same for another program to read."""
    return json.dumps(
        {
            "verdict": "ready" if verdict.ready else "not ready",
            "minutes": minutes_record(verdict.minutes),
            "findings": [finding_record(finding) for finding in verdict.findings],
            "loads": loads_record(job, verdict),
            "notes": list(verdict.notes),
        },
        indent=2,
    )


def _verdict_words(ready: bool) -> str:
    return "READY" if ready else "NOT READY - do not cut"


def _minutes_words(minutes: Minutes) -> str:
    return f"{show_time(minutes.total * 60)} on the machine, {show_time(minutes.cutting * 60)} of it cutting"


def _finding_lines(findings: Sequence[Finding]) -> list[str]:
    lines: list[str] = []
    for level in Level:
        for finding in findings:
            if finding.level is level:
                place = ""
                if finding.program:
                    place = f"{finding.program}:{finding.line}: " if finding.line else f"{finding.program}: "
                text = finding.text.removeprefix(f"Line {finding.line}: ") if place else finding.text
                if text != finding.text:  # what stood after "Line 6:" begins the sentence now
                    text = text[:1].upper() + text[1:]
                said = f"{level.value}: {place}{text}"
                lines += textwrap.wrap(said, 100, initial_indent="  ", subsequent_indent="    ")
                if finding.remedy:
                    lines += textwrap.wrap(
                        f"do: {finding.remedy}", 100, initial_indent="    ", subsequent_indent="      "
                    )
    return lines
