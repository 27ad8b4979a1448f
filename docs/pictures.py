"""The pictures of README.md, made anew from the examples: python docs/pictures.py [FOLDER]

Run it after a change to what they show, and look at them before they are committed. Each picture is made by
one function of PICTURES; to add one, add a function that gives its PNG. Those of the job card are taken in a
real browser: the machine needs a Chromium, and the test extra.
"""

import sys
import tempfile
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Final

import typst

from proveout.job.read import read_job
from proveout.pack.made import Made
from proveout.pack.plan_picture import plan_svg
from proveout.pack.result_picture import result_png
from proveout.pack.sheet import ROOM, sheet_pictures
from proveout.plan import make

if TYPE_CHECKING:
    from playwright.sync_api import Page, ViewportSize

HERE: Final = Path(__file__).parent
EXAMPLES: Final = HERE.parent / "examples"
PER_INCH: Final = 72.0  # dots of a whole page
SCREEN: "Final[ViewportSize]" = {"width": 940, "height": 600}
PATIENCE: Final = 120_000  # ms
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


@cache
def card_pictures() -> tuple[bytes, bytes]:
    """The job card of the clamp kit in a browser: its plan, and its proof."""
    sys.path.insert(0, str(HERE.parent / "tests"))
    from browser import chromium_found, launched
    from card_bench import copied, served

    with (
        tempfile.TemporaryDirectory() as folder,
        served(Path(folder), copied("clamp-kit", Path(folder))) as address,
        launched(chromium_found()) as browser,
    ):
        page = browser.new_page(viewport=SCREEN, reduced_motion="reduce")
        page.goto(address)
        page.locator("#proof-view canvas").wait_for(timeout=PATIENCE)
        page.locator("#progress").wait_for(state="hidden", timeout=PATIENCE)
        return tuple(_seen(page, place) for place in ("#op-30", "#proof-view"))  # type: ignore[return-value]


def _seen(page: "Page", place: str) -> bytes:
    """The window with a place at its top."""
    page.locator(place).evaluate("one => one.scrollIntoView()")
    page.wait_for_timeout(1500)  # for the picture to be drawn at its finest
    return page.screenshot()


PICTURES: Final[dict[str, Callable[[], bytes]]] = {
    "setup-sheet.png": setup_sheet_page,
    "plan.png": plan_picture,
    "result.png": result_picture,
    "card-layout.png": lambda: card_pictures()[0],
    "card-proof.png": lambda: card_pictures()[1],
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
