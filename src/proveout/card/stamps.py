"""When the files that a job names were last written to: the proof of a job is one of what stood in them."""

from collections.abc import Iterable
from pathlib import Path

from proveout.finding import InputError
from proveout.job.records import DrawnWanted, Job


def stamps(job: Job | None, errors: Iterable[InputError] = ()) -> str:
    """Times and sizes of the shop book and of all drawings; empty where none is there.

    Args:
        errors: of a job that can't be read: the files that they are of, so that it is read again once those
            are mended
    """
    if job is None:
        files = {error.place.file for error in errors if error.place is not None}
    else:
        drawn = (one.pattern for one in job.wanted if isinstance(one.pattern, DrawnWanted))
        files = {job.shop.book, *(job.file.parent / one.drawing for one in drawn)}
    return ",".join(filter(None, map(_stamp, sorted(files))))


def _stamp(file: Path) -> str:
    try:
        found = file.stat()
    except (OSError, ValueError):
        return ""
    return f"{found.st_mtime_ns:x}.{found.st_size:x}"
