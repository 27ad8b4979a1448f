"""The proof beside the page: a process of its own, so that the page goes on answering and it can be stopped.

The process is kept warm between proofs. It is asked to stop at the next stage; one that doesn't within a
moment is ended, and another takes its place.
"""

import multiprocessing
import signal
import threading
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, replace
from multiprocessing.connection import Connection
from multiprocessing.context import SpawnProcess
from pathlib import Path
from typing import Final

from proveout.card.document import revision_of, text_of
from proveout.card.proved import Proved
from proveout.card.stamps import stamps
from proveout.finding import InputError, InputErrors
from proveout.job.read import read_job_text
from proveout.job.records import Job

STOP: Final = 0  # in place of a ticket
PATIENCE: Final = 1.5  # s that a proof has to stop by itself

# Stages as the road names them, and the share of the time that has gone when each begins (clamp-kit's).
STAGES: Final = {
    "reading the job": 0.0,
    "sizing the parts": 0.02,
    "laying out the sheet": 0.05,
    "choosing how to cut": 0.15,
    "tracing paths": 0.35,
    "writing programs": 0.38,
    "reading the programs": 0.42,
    "removing material": 0.46,
    "judging": 0.52,
    "applying remedies": 0.1,
    "drawing": 0.9,
}


@dataclass(frozen=True, slots=True, kw_only=True)
class News:
    """What a proof has to say: a stage, an end, a refusal."""

    ticket: int
    stage: str = ""
    share: float = 0.0  # done, 0 to 1
    proved: Proved | None = None
    errors: tuple[InputError, ...] = ()
    of: str = ""  # what it was asked of
    changed: bool = False  # the files are no longer those that it was asked of
    failed: str = ""  # something that should never happen, in words
    stopped: bool = False


class Prover:
    """Proves one job at a time; a new question ends the one before it."""

    def __init__(self, job: Path, tell: Callable[[News], None]) -> None:
        self._job = job
        self._tell = tell
        self._lock = threading.RLock()
        self._ticket = 0
        self._of = ""
        self._process: SpawnProcess | None = None
        self._pipe: Connection | None = None
        self._idle, self._loaded = threading.Event(), threading.Event()
        self._busy = False
        self._closed = False

    def warm(self) -> None:
        """Start the process before it is needed: its libraries take a second or two."""
        with self._lock:
            if not self._closed and (self._process is None or not self._process.is_alive()):
                self._start()

    def ask(self, of: str) -> None:
        """Prove the job as its files stand now.

        Args:
            of: their revision; a proof of files that have another is none
        Raises:
            OSError: no process can be started
        """
        with self._lock:
            if self._closed:
                return
            self._end_running()
            self._ticket += 1
            self._idle.clear()
            self._of = of
            try:
                self._send(of)
            except OSError:  # it has ended by itself since the last question
                self._kill()
                self._send(of)

    def _send(self, of: str) -> None:
        self.warm()
        self._busy = True
        assert self._pipe is not None
        self._pipe.send((self._ticket, of))

    def stop(self) -> None:
        """End the proof that is running."""
        with self._lock:
            if self._busy:
                self._end_running()
                self._busy = False
                self._ticket += 1  # what is still said of the old one is nobody's

    def rest(self) -> None:
        """End the process where it has nothing to do."""
        with self._lock:
            if not self._busy:
                self._kill()

    def close(self) -> None:
        """End the process for good."""
        with self._lock:
            self._closed = True
            self._kill()

    def _end_running(self) -> None:
        if not self._busy or self._pipe is None:
            return
        with suppress(OSError):
            self._pipe.send((STOP, ""))
        # One that still loads takes the latest question only.
        if self._loaded.is_set() and not self._idle.wait(PATIENCE):
            self._kill()
        self._busy = False

    def _start(self) -> None:
        context = multiprocessing.get_context("spawn")
        ours, theirs = context.Pipe()
        self._idle, self._loaded = threading.Event(), threading.Event()
        self._pipe = ours
        self._process = context.Process(
            target=_work, args=(str(self._job), theirs), daemon=True, name="proof"
        )
        self._process.start()
        theirs.close()
        threading.Thread(target=self._listen, args=(ours, self._idle, self._loaded), daemon=True).start()

    def _kill(self) -> None:
        if self._process is not None:
            self._process.kill()
            self._process.join()
            self._process = None
        self._busy = False

    def _listen(self, pipe: Connection, idle: threading.Event, loaded: threading.Event) -> None:
        """Hand on what a process says until it ends."""
        while True:
            try:
                news = pipe.recv()
            except (EOFError, OSError):
                break
            loaded.set()
            ends = bool(news.proved or news.errors or news.failed or news.stopped or news.changed)
            if ends and news.ticket == self._ticket:  # an end of an older question says nothing of this one
                idle.set()
            if news.ticket and news.ticket == self._ticket and not news.stopped:
                if ends:
                    self._busy = False
                self._tell(news)
        loaded.set()
        idle.set()
        pipe.close()
        if self._busy and pipe is self._pipe and not self._closed:
            self._busy = False
            self._tell(
                News(ticket=self._ticket, of=self._of, failed="The proof ended by itself. Start it again.")
            )


class _Stopped(Exception):
    """The proof was asked to stop."""


def _work(job: str, pipe: Connection) -> None:
    """The process: one job file, proved as often as asked, until the card has gone."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # the terminal's interrupt is the card's to answer
    _load()
    with suppress(OSError):
        pipe.send(News(ticket=STOP))
    while True:
        try:
            ticket, of = pipe.recv()
            while pipe.poll():  # only the latest question is worth an answer
                ticket, of = pipe.recv()
            if ticket != STOP:
                pipe.send(replace(_answer(Path(job), ticket, of, pipe), of=of))
        except (EOFError, OSError):
            return


def _load() -> None:
    """What every proof needs, before the first is asked for."""
    import proveout.card.scene
    import proveout.pack.pack
    import proveout.plan  # noqa: F401


def _answer(job: Path, ticket: int, of: str, pipe: Connection) -> News:
    def say(stage: str) -> None:
        if pipe.poll():  # it is asked to stop, or something newer
            raise _Stopped
        pipe.send(News(ticket=ticket, stage=stage, share=STAGES.get(stage, 0.5)))

    other = News(ticket=ticket, changed=True)
    try:
        say("reading the job")
        read = _read(job, of)
        if read is None:
            return other
        found = _proved(*read, say, ticket)
        return found if _revision(*read) == of else other  # a drawing may have been saved anew meanwhile
    except (_Stopped, BrokenPipeError):
        return News(ticket=ticket, stopped=True)
    except InputError:  # a file that is gone by now
        return other
    except Exception as error:  # the page must say so, and go on
        return News(ticket=ticket, failed=f"The proof failed: {type(error).__name__}: {error}")


def _read(job: Path, of: str) -> tuple[Job, str] | None:
    """The job and its text, where they are what the proof was asked of; that was read without a fault."""
    try:
        text = text_of(job)
        read = read_job_text(text, job)
        return (read, text) if _revision(read, text) == of else None
    except InputError:
        return None


def _proved(job: Job, text: str, say: Callable[[str], None], ticket: int) -> News:
    from proveout.card.proved import proved_of
    from proveout.job.locate import located
    from proveout.plan import make

    try:
        made = make(job, say=say)
        say("drawing")
        return News(ticket=ticket, proved=proved_of(made, text))
    except InputErrors as errors:
        return News(ticket=ticket, errors=located(errors.errors))
    except InputError as error:
        return News(ticket=ticket, errors=located([error]))


def _revision(job: Job, text: str) -> str:
    """Of the files that a job was read from, as `Desk` tells them apart."""
    return f"{revision_of(text)}-{revision_of(text_of(job.shop.file))}-{stamps(job)}"
