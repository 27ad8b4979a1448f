"""What has been said of a program: each thing once for its line, however often the line is carried out."""

import re
from collections.abc import Iterable
from typing import Final

from proveout.finding import Finding

_NUMBER: Final = re.compile(r"-?\d+(?:\.\d*)?")


class Told:
    """Findings as they come."""

    def __init__(self) -> None:
        self._told: dict[tuple[int | None, str, str], Finding] = {}

    def __len__(self) -> int:
        return len(self._told)

    def tell(self, finding: Finding) -> bool:
        """Keep a finding; False where its line has one already that differs in nothing but numbers."""
        key = (finding.line, finding.kind, _NUMBER.sub("", finding.text))
        if key in self._told:
            return False
        self._told[key] = finding
        return True

    def by_line(self) -> Iterable[Finding]:
        """All findings, those of one line in the order in which they came."""
        return sorted(self._told.values(), key=lambda finding: finding.line or 0)
