"""What is being done, said on the terminal once it has taken longer than a second."""

import sys
import threading
import time
from types import TracebackType
from typing import Final, TextIO

PATIENCE: Final = 1.0  # s


class Progress:
    """A context in which `say` names the stage at work; the terminal hears of it after a second.

    On a terminal one line is written over and over; elsewhere each stage gets a line of its own.
    """

    def __init__(self, stream: TextIO | None = None) -> None:
        self._stream = sys.stderr if stream is None else stream
        self._on_terminal = self._stream.isatty()
        self._stage = ""
        self._shown = ""
        self._done = threading.Event()
        self._thread = threading.Thread(target=self._watch, daemon=True)

    def say(self, stage: str) -> None:
        """Name the stage that begins."""
        self._stage = stage

    def __enter__(self) -> "Progress":
        self._thread.start()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._done.set()
        self._thread.join()
        if self._shown and self._on_terminal:
            self._stream.write("\r\x1b[K")
            self._stream.flush()

    def _watch(self) -> None:
        started = time.monotonic()
        if self._done.wait(PATIENCE):
            return
        while True:
            self._show(time.monotonic() - started)
            if self._done.wait(0.2):
                return

    def _show(self, seconds: float) -> None:
        stage = self._stage
        if self._on_terminal:
            self._stream.write(f"\r\x1b[K{stage} ... {seconds:.0f} s")
        elif stage != self._shown:
            self._stream.write(f"{stage} ... {seconds:.1f} s\n")
        self._shown = stage
        self._stream.flush()
