"""Where a pack lies, and what marks it. Light to import: whoever reads a pack pays for nothing else."""

import re
import unicodedata
from pathlib import Path
from typing import Final

from proveout.job.records import Job

MARK: Final = "result.json"  # what makes a folder a pack of ours


def default_folder(job: Job) -> Path:
    """Where a job's pack goes when nobody says: NAME-pack beside the job file."""
    return job.file.parent / f"{slug(job.name) or 'job'}-pack"


def slug(name: str) -> str:
    """A name as a file name: small letters without accents, digits, dashes. Empty where nothing is left."""
    letters = unicodedata.normalize("NFKD", name.lower()).encode("ascii", "ignore").decode()
    return re.sub(r"[^a-z0-9]+", "-", letters).strip("-")
