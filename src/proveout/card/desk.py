"""A job on the desk: its files, its numbers as they stand, its proof, and the windows that watch them.

One thread reckons what the files say, whenever they change; the latest text wins. A process of its own
proves. Windows are told that something is new and fetch what they show.
"""

import os
import threading
import traceback
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, Literal

from proveout.card.document import Conflict, Document, Gone, is_there, revision_of
from proveout.card.follow import followed, widened
from proveout.card.history import History, Step
from proveout.card.proved import Proved
from proveout.card.prover import News, Prover
from proveout.card.stamps import stamps
from proveout.figure import Figure
from proveout.finding import Edit, InputError, InputErrors, Place
from proveout.job.lines import Keys, spelled
from proveout.job.locate import located
from proveout.job.read import read_job_text, read_shop_text
from proveout.job.records import Job
from proveout.job.source import Source, parse_source
from proveout.pack.folder import default_folder
from proveout.quantity import printable

if TYPE_CHECKING:
    from proveout.draft import Draft
    from proveout.reckon import Reckoned

Which = Literal["job", "shop"]
Tell = Callable[[dict[str, object]], None]

QUIET: Final = 0.6  # s without a change, before the proof is begun
FILES: Final = {"shop", "drawing", "book"}  # fields that name a file
LOOK: Final = 1.0  # s, after which the files are looked at for changes from elsewhere


@dataclass(frozen=True, slots=True, kw_only=True)
class Now:
    """What is known of the job, and of which text."""

    revision: str = ""  # of both files together
    text: str = ""  # of the job file
    job: Job | None = None
    reckoned: "Reckoned | None" = None
    draft: "Draft | None" = None
    errors: tuple[InputError, ...] = ()  # of reading, or of the plan
    gone: str = ""  # why a file can't be read any more
    proved: Proved | None = None
    proved_of: str = ""  # the revision that was proved
    stage: str = ""  # of a proof that runs
    share: float = 0.0
    failed: str = ""  # why there is no proof

    @property
    def figures(self) -> tuple[Figure, ...]:
        """Every number that is known of this revision; the proof's where it is of this one."""
        if self.proved is not None and self.proved_of == self.revision:
            return self.proved.figures
        if self.draft is not None:
            return self.draft.figures
        return self.reckoned.figures if self.reckoned is not None else ()

    @property
    def is_proved(self) -> bool:
        """Whether the proof that is known is of the text as it stands."""
        return self.proved is not None and self.proved_of == self.revision

    def pack(self) -> tuple[Path, Mapping[str, bytes]]:
        """The pack of the job as it stands: where it is kept beside the job, and its files.

        Raises:
            NotProved: what is proved is another text; its programs are nobody's to take
        """
        if self.job is None or self.proved is None or not self.is_proved:
            raise NotProved
        return default_folder(self.job), self.proved.pack


class NotProved(InputError):
    """The job as it stands has no proof yet."""

    def __init__(self) -> None:
        super().__init__("The proof of what stands in the job has not ended yet.")


@dataclass(frozen=True, slots=True, kw_only=True)
class Refused:
    """Why an edit was not saved."""

    errors: tuple[InputError, ...] = ()
    conflict: str = ""


class Desk:
    """One job file open in the card."""

    def __init__(self, path: Path) -> None:
        self.job = Document(path)
        self.shop: Document | None = None
        self.history = History()
        self.now = Now()
        self._tell: set[Tell] = set()
        self._changing = threading.RLock()  # of what is known
        self._wake = threading.Condition()
        self._dirty = True
        self._ends = False
        self._prover = Prover(path, self._news)
        self._due: threading.Timer | None = None
        self._thread = threading.Thread(target=self._run, daemon=True, name=f"desk {path.name}")

    def open(self) -> None:
        """Begin to watch the files, and to reckon what they say."""
        self._thread.start()

    def close(self) -> None:
        """Let go of everything; windows are told, so that their streams end."""
        self._ends = True
        for tell in tuple(self._tell):
            tell({"ended": True})
        with self._wake:
            self._wake.notify_all()
        if self._due is not None:
            self._due.cancel()
        self._prover.close()

    def rest(self) -> None:
        """Let the process of the proofs go, where nobody watches and none runs; the next starts it anew."""
        if not self._tell:
            self._prover.rest()

    # --- windows

    def subscribe(self, tell: Tell) -> None:
        """Tell a window what is new, from now on; `tell` may be called from any thread."""
        self._tell.add(tell)
        self._told(tell)

    def unsubscribe(self, tell: Tell) -> None:
        """Tell it no more."""
        self._tell.discard(tell)

    def _told(self, tell: Tell) -> None:
        now = self.now
        tell(
            {
                "revision": now.revision,
                "drafted": now.draft is not None or bool(now.errors),
                "proved": now.proved_of,
                "stage": now.stage,
                "share": round(now.share, 3),
                "failed": now.failed,
                "gone": now.gone,
            }
        )

    def _set(self, **changes: Any) -> None:
        with self._changing:  # reckoning and proof both have news: neither may lose the other's
            self.now = replace(self.now, **changes)
        for tell in tuple(self._tell):
            self._told(tell)

    # --- edits

    def document(self, which: Which) -> Document:
        """One of the two files.

        Raises:
            Gone: the job names no shop file that can be read
        """
        if which == "job":
            return self.job
        if self.shop is None:
            raise Gone("the job names no shop file that can be read.")
        return self.shop

    def edit(self, which: Which, edits: Sequence[Edit], seen: str, says: str, of: str) -> Refused | str:
        """Save some edits, and take up what follows; the new revision of the file, or why not.

        An edit that brings a fault with it is refused and leaves the file as it is; faults that stood there
        before stand in nobody's way.
        """
        try:
            document = self.document(which)
            _refuse_outside(edits, document.path)
            if which == "job":
                edits = widened(document.read()[0], edits)
            before, after = document.edited(edits, seen)
            if which == "job":
                after = followed(before, after, edits)
            new = self._new_faults(which, before, after)
            if new:
                return Refused(errors=new)
            step = Step(file=document, says=says, before=before, after=after, of=of)
            # Its own revision, not the file's: what an editor writes meanwhile this window has not seen.
            saved = self.history.take(step) if after != before else revision_of(before)
        except Conflict as conflict:
            self.wake()
            return Refused(conflict=str(conflict))
        except InputErrors as errors:
            return Refused(errors=errors.errors)
        except InputError as error:
            return Refused(errors=(error,))
        self.wake()
        return saved

    def back(self, way: Literal["undo", "redo"]) -> Refused | str:
        """Take the last change of either file back, or make it again; its words."""
        try:
            says = self.history.undo() if way == "undo" else self.history.redo()
        except Conflict as conflict:
            return Refused(conflict=str(conflict))
        except InputError as error:
            return Refused(errors=(error,))
        self.wake()
        return says

    def write_again(self) -> None:
        """Write what was read last where a file was taken away.

        Raises:
            InputError: nothing was read of it, or it can't be written
        """
        self.job.write_again()
        if self.shop is not None:
            self.shop.write_again()
        self.wake()

    def _new_faults(self, which: Which, before: str, after: str) -> tuple[InputError, ...]:
        path = self.document(which).path
        had = {(_field(one), one.text) for one in _faults(which, before, path)}
        return tuple(one for one in _faults(which, after, path) if (_field(one), one.text) not in had)

    # --- reckoning

    def wake(self) -> None:
        """Reckon anew."""
        with self._wake:
            self._dirty = True
            self._wake.notify_all()

    def _run(self) -> None:
        self._guarded(self._prover.warm)
        while not self._ends:
            self._guarded(self._look)
            with self._wake:
                if not self._dirty:
                    self._wake.wait(LOOK)
                self._dirty = False

    def _guarded(self, work: Callable[[], None]) -> None:
        """Work whose failure is told on the page: this thread must go on, or the page stands still."""
        try:
            work()
        except Exception as error:  # what should never happen
            told = never(error)
            if told.text not in [one.text for one in self.now.errors]:
                traceback.print_exc()
            self._set(errors=(told,), revision="", draft=None)

    def _look(self) -> None:
        """Take up the files as they are now, where they are other than before."""
        try:
            text, revision = self.job.read()
            source = parse_source(text, self.job.path)
            self._find_shop(source)
            shop = self.shop.read()[1] if self.shop is not None else ""
        except Gone as gone:
            self._say_gone(gone)
            return
        except InputError as error:
            self._take_up(revision, text, (error,))
            return
        texts = f"{revision}-{shop}"
        now = self.now
        if f"{texts}-{stamps(now.job, now.errors)}" != now.revision or now.gone:
            self._take_up(texts, text, ())

    def _say_gone(self, gone: Gone) -> None:
        named = gone.place.file if gone.place else self.job.path
        text = gone.text if named == self.job.path else f"{named.name}, which it names: {gone.text}"
        if text != self.now.gone:
            self._set(gone=text, stage="")

    def _find_shop(self, source: Source) -> None:
        named = source.values.get("shop")
        if not isinstance(named, str) or not named.isprintable():
            self.shop = None
            return
        path = source.file.parent / named
        if self.shop is None or self.shop.path != path:
            self.shop = Document(path) if is_there(path) else None

    def _take_up(self, texts: str, text: str, errors: tuple[InputError, ...]) -> None:
        if errors and f"{texts}-{stamps(None, errors)}" == self.now.revision and not self.now.gone:
            return
        if self._due is not None:
            self._due.cancel()
        before = self.now.draft
        job, errors = (None, errors) if errors else _read(text, self.job.path)
        revision = f"{texts}-{stamps(job, errors)}"
        if job is None:
            self._set(
                revision=revision, job=None, reckoned=None, draft=None, errors=errors, gone="", failed=""
            )
            return
        self._set(revision=revision, text=text, job=job, gone="", failed="", errors=(), draft=None)
        self._reckon(job, before)
        if self.now.is_proved:  # as after an undo: what is known of it holds
            self._prover.stop()
            self._set(stage="")
        elif self.now.draft is not None:
            self._prove_soon()

    def _reckon(self, job: Job, before: "Draft | None") -> None:
        """Sizes and hold-down first, for they are there at once; then layout and cutting values."""
        # The page is there before the libraries that reckon are: they take a second to load.
        from proveout.reckon import reckon

        known = None  # nothing of the text before stands beside an error of this one
        try:
            known = reckon(job)
            self._set(reckoned=known)
            from proveout.draft import draft

            self._set(draft=draft(job, before=before))
        except InputErrors as errors:
            self._set(errors=located(errors.errors), reckoned=known)
        except InputError as error:
            self._set(errors=located([error]), reckoned=known)
        except Exception as error:  # what should never happen: said of this text, and not tried again
            traceback.print_exc()
            self._set(errors=(never(error),), reckoned=known)

    # --- the proof

    def _prove_soon(self) -> None:
        if self._ends:
            return
        self._due = threading.Timer(QUIET, self.prove)
        self._due.daemon = True
        self._due.start()

    def prove(self) -> None:
        """Begin the proof of what stands in the files."""
        if self._due is not None:
            self._due.cancel()
        if self._ends:
            return
        self._set(stage="beginning", share=0.0, failed="")
        try:
            self._prover.ask(self.now.revision)
        except Exception as error:  # no process to be had: the page must say so
            traceback.print_exc()
            self._set(stage="", failed=f"The proof can't be begun: {type(error).__name__}: {error}")

    def stop(self) -> None:
        """Stop the proof that runs, or is about to."""
        if self._due is not None:
            self._due.cancel()
        self._prover.stop()
        self._set(stage="", share=0.0, failed="The proof was stopped. What is shown below it is of before.")

    def _news(self, news: News) -> None:
        if news.stage:
            self._set(stage=news.stage, share=max(news.share, self.now.share if news.share else 0.0))
        elif news.proved is not None:
            self._set(proved=news.proved, proved_of=news.of, stage="", share=1.0, failed="")
        elif news.changed:  # it found other files than those that it was asked of
            self._set(stage="")
            self.wake()
            if self.now.job is not None:
                self._prove_soon()
        elif news.of != self.now.revision:  # what was wrong then says nothing of what stands here now
            self._set(stage="")
        elif news.errors:
            self._set(errors=news.errors, stage="", failed="")
        else:
            self._set(stage="", failed=news.failed)


def _refuse_outside(edits: Sequence[Edit], file: Path) -> None:
    """A page names files within the job's folder only; others are an editor's business.

    Raises:
        InputError: an edit that names one elsewhere
    """
    folder = Path(os.path.realpath(file.parent))
    for field, named in _files_named(edits):
        if not isinstance(named, str) or "\0" in named:
            continue  # told of by whoever reads the field
        if not Path(os.path.realpath(folder / named)).is_relative_to(folder):
            raise InputError(
                f'"{printable(named)}" lies outside the job\'s folder, and the page names files within it '
                "only. Copy the file there; or write the path into the job file with an editor.",
                Place(file=file, field=field),
            )


def _files_named(edits: Sequence[Edit]) -> Iterator[tuple[str, object]]:
    """The fields that name files, and the names that edits give them."""
    for edit in edits:
        yield from _named_in(edit.keys, edit.value)


def _named_in(keys: Keys, value: object) -> Iterator[tuple[str, object]]:
    if isinstance(value, dict):
        for name, each in value.items():
            yield from _named_in((*keys, name), each)
    elif isinstance(value, (list, tuple)):
        for number, each in enumerate(value):
            yield from _named_in((*keys, number), each)
    elif FILES.intersection(map(str, keys)):
        yield spelled(keys), value


def never(error: Exception) -> InputError:
    """What should never happen, in words; the terminal says where."""
    return InputError(
        f"The card failed at this ({type(error).__name__}: {str(error)[:200]}). What was saved is in the "
        "file: take the last change back, or change it otherwise. The terminal says more."
    )


def _read(text: str, path: Path) -> tuple[Job | None, tuple[InputError, ...]]:
    try:
        return read_job_text(text, path), ()
    except InputErrors as errors:
        return None, errors.errors
    except InputError as error:
        return None, (error,)


def _faults(which: Which, text: str, path: Path) -> tuple[InputError, ...]:
    """Everything that is wrong in one of the files itself."""
    try:
        if which == "job":
            read_job_text(text, path)
        else:
            read_shop_text(text, path)
    except InputErrors as errors:
        return tuple(one for one in errors.errors if one.place is None or one.place.file == path)
    except InputError as error:
        return (error,)
    return ()


def _field(error: InputError) -> str:
    return error.place.field if error.place else ""
