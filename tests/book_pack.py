"""A small pack to record readings of, as its result.json tells it, and whoever answers the questions."""

from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path

import made_example
from proveout.book.cut import Cut, read_cut
from proveout.figure import Figure
from proveout.pack.made import Made
from proveout.pack.result_json import result_json
from proveout.quantity import System

FLATS = 9.73  # that the recess of the made example is cut to


def fitted_made(*, units: System = "mm", job_name: str = "clamp knobs") -> Made:
    """The made example with its recess sized to flats, as the road hands it on."""
    flats = Figure(
        name="knob.head recess.flats", value=FLATS, unit="mm", rule="as the test says", source="this test"
    )
    made = made_example.made(units=units, job_name=job_name)
    return replace(made, figures=(*made.figures, flats))


def pack_in(folder: Path, *, units: System = "mm", job_name: str = "clamp knobs") -> Path:
    """A pack's folder with nothing but its result in it."""
    folder.mkdir(parents=True, exist_ok=True)
    folder.joinpath("result.json").write_bytes(result_json(fitted_made(units=units, job_name=job_name)))
    return folder


def cut_in(folder: Path, *, units: System = "mm") -> Cut:
    """What such a pack says of itself."""
    return read_cut(pack_in(folder, units=units))


class Answers:
    """A person who answers from a list; questions and all that is said are kept in order."""

    def __init__(self, answers: Iterable[str]) -> None:
        self._answers = list(answers)
        self.heard: list[str] = []

    def ask(self, question: str) -> str:
        """The next answer; the test fails where there is none."""
        self.heard.append(question)
        assert self._answers, f"no answer is left for: {question}"
        return self._answers.pop(0)

    def say(self, text: str) -> None:
        """Kept."""
        self.heard.append(text)

    @property
    def all_used(self) -> bool:
        """Whether every answer was asked for."""
        return not self._answers
