"""A card with a job of its own for tests: a copy of an example, a desk, a client that has come by the key."""

import os
import re
import shutil
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, Final

from starlette.testclient import TestClient

from proveout.card.app import card_app
from proveout.card.guard import KEY, Guard
from proveout.card.shelf_of_jobs import Jobs

EXAMPLES: Final = Path(__file__).parents[1] / "examples"
HOST: Final = "127.0.0.1:8765"
ORIGIN: Final = {"origin": f"http://{HOST}"}


def copied(example: str, folder: Path) -> Path:
    """An example's files in a folder of their own; its job file."""
    shutil.copytree(EXAMPLES / example, folder / example, ignore=shutil.ignore_patterns("*-pack"))
    if example == "drawn-bracket":
        shutil.copytree(EXAMPLES / "clamp-kit", folder / "clamp-kit", ignore=shutil.ignore_patterns("*-pack"))
    return folder / example / "job.toml"


@contextmanager
def served(folder: Path, job: Path | None = None) -> Iterator[str]:
    """The card as a person starts it; the address that it prints."""
    command = [sys.executable, "-m", "proveout.cli", "card", *([str(job)] if job else []), "--no-browser"]
    process = subprocess.Popen(
        [*command, "--port", "0"],
        cwd=folder,
        env=os.environ | {"PROVEOUT_STATE": str(folder / "state")},
        stdout=subprocess.PIPE,
        text=True,
    )
    assert process.stdout is not None
    try:
        found = re.search(r"http://\S+", process.stdout.readline())
        assert found
        yield found[0]
    finally:
        process.terminate()
        process.wait()
        process.stdout.close()


class Card:
    """The card without a socket: requests in, answers out."""

    def __init__(self, jobs: Jobs, job: str) -> None:
        self.jobs = jobs
        self.guard = Guard(card_app(jobs), hosts={HOST}, port=8765)
        self.client = TestClient(self.guard, base_url=f"http://{HOST}", raise_server_exceptions=False)
        self.client.get(f"/?{KEY}={self.guard.fresh_key()}")
        self.job = job
        self.seen: dict[str, str] = {}
        self.look()

    @property
    def desk(self) -> Any:
        """The job's desk."""
        return self.jobs.desk(self.job)

    def get(self, path: str) -> Any:
        """What the card answers to a GET of one of the job's addresses."""
        return self.client.get(f"/job/{self.job}/{path}")

    def post(self, path: str, **given: Any) -> Any:
        """The same of a POST of JSON."""
        return self.client.post(f"/job/{self.job}/{path}", json=given, headers=ORIGIN)

    def look(self) -> dict[str, Any]:
        """The forms, and their revisions as the ones that this window has seen."""
        told: dict[str, Any] = self.get("forms").json()
        self.seen = told["revisions"]
        return told

    def edit(self, *edits: dict[str, Any], file: str = "job", says: str = "a change", of: str = "") -> Any:
        """Ask for edits as this window; one that succeeds is seen."""
        answer = self.post(
            "edit", file=file, edits=list(edits), says=says, of=of, seen=self.seen.get(file, "")
        )
        if answer.status_code == 200:
            self.seen[file] = answer.json()["revision"]
        return answer

    def numbers(self, units: str = "mm") -> dict[str, Any]:
        """The numbers, once those of the text as it stands are there."""
        told: dict[str, Any] = self.get(f"numbers?units={units}").json()
        return told


@contextmanager
def opened(path: Path) -> Iterator[Card]:
    """A card with a job open."""
    jobs = Jobs(path.parent.parent)
    try:
        yield Card(jobs, jobs.open(path))
    finally:
        jobs.close()


def until(what: Callable[[], Any], seconds: float = 240.0) -> Any:
    """What a question answers once it answers anything true; the test fails when it never does."""
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        found = what()
        if found:
            return found
        threading.Event().wait(0.02)
    raise AssertionError("it never came to pass")


def set_to(*keys: str | int, value: Any) -> dict[str, Any]:
    """An edit that sets a field."""
    return {"what": "set", "keys": list(keys), "value": value}
