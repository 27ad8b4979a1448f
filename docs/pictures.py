"""The pictures of README.md, made anew from the examples: python docs/pictures.py [FOLDER]

Run it after a change to what they show, and look at them before they are committed. Each picture is made by
one function of PICTURES; to add one, add a function that gives its PNG.
"""

import sys
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Final

import typst

from proveout.job.read import read_job
from proveout.pack.made import Made
from proveout.pack.plan_picture import plan_svg
from proveout.pack.result_picture import result_png
from proveout.pack.sheet import ROOM, sheet_pictures
from proveout.plan import make

HERE: Final = Path(__file__).parent
EXAMPLES: Final = HERE.parent / "examples"
PER_INCH: Final = 72.0  # dots of a whole page
WIDE: Final = 900  # dots of a picture across
FRAMED: Final = """
#set page(width: 160mm, height: auto, margin: 0mm)
#image(bytes(sys.inputs.svg), format: "svg", width: 100%)
"""


@cache
def made(example: str) -> Made:
    """An example, planned and proved once."""
    return make(read_job(EXAMPLES / example / "job.toml"))


def setup_sheet_page() -> bytes:
    """Page 1 of the clamp kit's setup sheet."""
    kit = made("clamp-kit")
    return sheet_pictures(kit, plan_svg(kit, ROOM).encode(), per_inch=PER_INCH)[0]


def plan_picture() -> bytes:
    """The clamp kit on its bed, from above."""
    svg = plan_svg(made("clamp-kit"))
    shown = typst.compile(
        FRAMED.encode(),
        sys_inputs={"svg": svg},
        ignore_system_fonts=True,
        format="png",
        ppi=WIDE / (160 / 25.4),
    )
    assert isinstance(shown, bytes)
    return shown


def result_picture() -> bytes:
    """What the bracket's programs leave of the sheet, as the proof has it."""
    return result_png(made("drawn-bracket").verdict.result)


PICTURES: Final[dict[str, Callable[[], bytes]]] = {
    "setup-sheet.png": setup_sheet_page,
    "plan.png": plan_picture,
    "result.png": result_picture,
}


def main(folder: Path) -> None:
    """Write them all."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, picture in PICTURES.items():
        content = picture()
        (folder / name).write_bytes(content)
        print(f"{folder / name}: {len(content) / 1000:.0f} kB")


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else HERE / "pictures")
