"""Made: a whole job, planned and proved, as the pack shows it."""

from dataclasses import dataclass
from typing import Final

from proveout.figure import Figure
from proveout.finding import Finding, Level, is_ready
from proveout.job.records import Job
from proveout.parts.part import PlacedPart
from proveout.program.text import Program
from proveout.proof.verdict import Verdict
from proveout.quantity import show_time
from proveout.setup import Setup

LIKELY_MINUTES: Final = "minutes.by the shop book"  # a figure's name, in s


@dataclass(frozen=True, slots=True, kw_only=True)
class Made:
    """What the road has produced."""

    job: Job
    setup: Setup
    placed: tuple[PlacedPart, ...]
    programs: tuple[Program, ...]  # in order of running; the outline check first
    verdict: Verdict  # of the programs
    findings: tuple[Finding, ...]  # of the plan and the proof together
    figures: tuple[Figure, ...]

    @property
    def ready(self) -> bool:
        """Whether nothing found forbids cutting."""
        return is_ready(self.findings)

    @property
    def likely_words(self) -> str:
        """What the shop book makes of the minutes: "about 15 min by the shop book (3 jobs)"; else nothing."""
        likely = next((one for one in self.figures if one.name == LIKELY_MINUTES), None)
        jobs = self.job.learned_minutes
        if likely is None or jobs is None:
            return ""
        count = f"{jobs.jobs} job{'s' if jobs.jobs > 1 else ''}"
        return f"about {show_time(likely.value)} by the shop book ({count})"

    @property
    def verdict_words(self) -> str:
        """The verdict as paper and page head it; what must be accepted to cut stands beside it."""
        if not self.ready:
            return "NOT READY: do not cut"
        count = sum(finding.level is Level.CAUTION for finding in self.findings)
        return "READY" if not count else f"READY, {count} caution{'s' if count > 1 else ''}"
