"""What was changed, in which file, and the way back: one order for all files that a job is made of."""

import threading
from dataclasses import dataclass, replace
from typing import Final

from proveout.card.document import MOST_KEPT, Document

STEPS: Final = 200  # that can be taken back


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """A change that can be taken back."""

    file: Document
    says: str  # "Move low strap from C5 to C7"
    before: str  # the whole text
    after: str
    of: str = ""  # what it is of: steps that follow one another of the same are one


class History:
    """The steps of a job's files. Its methods may be called from several threads."""

    def __init__(self) -> None:
        self._lock = threading.RLock()
        self._done: list[Step] = []
        self._undone: list[Step] = []

    def take(self, step: Step) -> str:
        """Save a step's text in its file; the file's new revision.

        Raises:
            Conflict: the file holds another text by now
            InputError: it can't be written
        """
        with self._lock:
            revision = step.file.swap(step.before, step.after)
            last = self._done[-1] if self._done else None
            if last and _goes_on(last, step):
                step = replace(step, before=last.before)
                self._done.pop()
            self._done = [*self._done, step][-STEPS:]
            while len(self._done) > 1 and sum(len(one.after) for one in self._done) > MOST_KEPT:
                del self._done[0]
            self._undone.clear()
            return revision

    def undo(self) -> str:
        """Take the last step back; its words, or nothing where there is none.

        Raises:
            Conflict: the file was changed since, by something else
            InputError: it can't be written
        """
        with self._lock:
            if not self._done:
                return ""
            step = self._done[-1]
            step.file.swap(step.after, step.before)
            self._undone.append(self._done.pop())
            return step.says

    def redo(self) -> str:
        """Make the last step that was taken back again; as `undo`."""
        with self._lock:
            if not self._undone:
                return ""
            step = self._undone[-1]
            step.file.swap(step.before, step.after)
            self._done.append(self._undone.pop())
            return step.says

    def ends(self) -> tuple[str, str]:
        """What undo and redo would take back and make again; empty where nothing."""
        with self._lock:
            return (
                self._done[-1].says if self._done else "",
                self._undone[-1].says if self._undone else "",
            )


def _goes_on(last: Step, step: Step) -> bool:
    """Whether a person typed on in the same box."""
    return bool(step.of) and (last.file, last.of, last.after) == (step.file, step.of, step.before)
