"""Made: a whole job, planned and proved, as the pack shows it."""

from dataclasses import dataclass

from proveout.figure import Figure
from proveout.finding import Finding, Level, is_ready
from proveout.job.records import Job
from proveout.parts.part import PlacedPart
from proveout.program.text import Program
from proveout.proof.verdict import Verdict
from proveout.setup import Setup


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
    def verdict_words(self) -> str:
        """The verdict as paper and page head it; what must be accepted to cut stands beside it."""
        if not self.ready:
            return "NOT READY: do not cut"
        count = sum(finding.level is Level.CAUTION for finding in self.findings)
        return "READY" if not count else f"READY, {count} caution{'s' if count > 1 else ''}"
