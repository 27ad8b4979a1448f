"""The page's own removal beside the prover's, and the view of the proof in a real browser."""

import base64
import json
import math
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np
import numpy.typing as npt
import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page

from browser import serving
from card_bench import until
from proof_bench import CUTTER, MACHINE, builder
from proveout.card.answers import finding_record
from proveout.card.scene import packed, scene
from proveout.card.scene_moves import arrays_of, pieces_of
from proveout.finding import Finding, Level
from proveout.job.read import read_job
from proveout.job.records import Cutter
from proveout.motion import Motion, joined
from proveout.pack.made import Made
from proveout.pack.plan_picture import numbered
from proveout.plan import make
from proveout.proof.load_clock import moments
from proveout.proof.removal import carve, fresh_field

Heights = npt.NDArray[np.float32]

ROOT = Path(__file__).parents[1]
SIZE, THICK, CELLS = (60.0, 40.0), 12.0, 240
RIM = 2e-3  # mm, of the diameter: a cell within a thousandth of a rim may be cut or not
NEAR = 0.01  # mm, that heights may differ
ZERO = (5.0, 7.0, 11.9)  # mm, a work zero in nobody's corner
HOSTILE = "<img src=x onerror=document.title='struck'>"

POLICY = "<meta http-equiv=Content-Security-Policy content=\"default-src 'self'\">"
PAGE = f"""<!doctype html><html lang=en><head><meta charset=utf-8>{POLICY}<title>Proof</title>
<meta name=viewport content="width=device-width"><link rel=icon href=/static/icon>
<link rel=stylesheet href=/static/look.css><link rel=stylesheet href=/static/proof_view.css></head>
<body><main><h1>A job</h1><h2>Proof</h2><h3>The sheet</h3><div id=root></div></main>
<script type=module src=/page.js></script></body></html>""".encode()
MOUNT = b"""import { mountProof } from "/static/proof_view.js";
const [scene, given] = await Promise.all(
  [fetch("/scene").then((one) => one.arrayBuffer()), fetch("/given.json").then((one) => one.json())]);
globalThis.times = [];
const onTime = (at) => times.push(at);
globalThis.view = mountProof(document.getElementById("root"), { scene, ...given, onTime });"""
CUT = """async ({ cells, keptCost, way }) => {
  const { readScene } = await import("/static/scene.js");
  const { Replay } = await import("/static/removal.js");
  const scene = readScene(await (await fetch("/scene")).arrayBuffer());
  const replay = new Replay(scene, { cells, keptCost });
  for (const time of way) replay.goTo(time * scene.header.total);
  let text = "";
  const bytes = new Uint8Array(replay.heights.buffer);
  for (let at = 0; at < bytes.length; at += 8192) {
    text += String.fromCharCode(...bytes.subarray(at, at + 8192));
  }
  const { columns, rows, cell } = replay.grid;
  return { columns, rows, cell, kept: replay.kept.length, heights: btoa(text) };
}"""


# --- the removal


@pytest.fixture(scope="module")
def page(chromium: Browser) -> Iterator[Page]:
    page = chromium.new_page()
    yield page
    page.close()


def cut_by_page(
    page: Page, binary: bytes, *, way: tuple[float, ...] = (1.0,), kept_cost: float = 1e9
) -> Heights:
    """The heights after the page has gone to some moments, shares of the whole time, one after the other."""
    files = {"/x.html": b"<!doctype html>", "/scene": binary}
    cells = CELLS if len(binary) < 100_000 else None
    with serving(files) as address:
        page.goto(f"{address}/x.html")
        told = page.evaluate(CUT, {"cells": cells, "keptCost": kept_cost, "way": way})
    heights = np.frombuffer(base64.b64decode(told["heights"]), dtype="<f4")
    if kept_cost < 1e9:
        assert told["kept"] > 3
    return heights.reshape(told["rows"], told["columns"])


def scene_of(motion: Motion, cutter: Cutter) -> bytes:
    """A scene of one motion, with what a removal needs of it."""
    when = moments([motion], MACHINE)
    header = {
        "sheet": {"size": list(SIZE), "thickness": THICK},
        "total": when.total,
        "cutters": [
            {
                name: getattr(cutter, name)
                for name in ("number", "kind", "diameter", "point_deg", "corner_radius")
            }
        ],
    }
    return packed(header, arrays_of([motion], pieces_of(motion, when)))


def cut_by_prover(
    motion: Motion, cutters: tuple[Cutter, ...], size: tuple[float, float], top: float, cell: float
) -> Heights:
    field = fresh_field(size, top, cell=cell, margin=0.0)
    return carve(field, motion, cutters).field.heights


def agree(
    page: Heights, motion: Motion, cutters: tuple[Cutter, ...], size: tuple[float, float], top: float
) -> None:
    """The page's heights lie between those of cutters a thousandth of a millimetre smaller and larger."""
    cell = max(size) / max(page.shape)
    low, high = (
        cut_by_prover(
            motion, tuple(replace(one, diameter=one.diameter + more) for one in cutters), size, top, cell
        )
        for more in (RIM, -RIM)
    )
    assert low.shape == page.shape
    assert (low < top - 1).any()
    assert (page >= low - NEAR).all()
    assert (page <= high + NEAR).all()
    assert np.abs(page - cut_by_prover(motion, cutters, size, top, cell)).mean() < NEAR / 10


def body(name: str) -> Motion:
    """A way that one kind of body is left by."""
    moves = builder((8.0, 8.0, 20.0))
    match name:
        case "slot":
            moves.line_to((8.0, 8.0, 7.0))
            moves.line_to((50.3, 27.7, 7.0))
        case "ramp":
            moves.line_to((8.0, 8.0, 12.0))
            moves.line_to((47.0, 30.0, 3.0))
            moves.line_to((47.0, 10.0, 9.0))
        case "steep":
            moves.rapid((20.0, 20.0, 14.0))
            moves.line_to((28.0, 22.0, 1.0))
        case "arcs":
            moves.line_to((20.0, 8.0, 6.0))
            moves.arc_to((32.0, 20.0, 6.0), (20.0, 20.0), math.pi / 2)
            moves.line_to((32.0, 20.0, 5.0))
            moves.arc_to((44.0, 20.0, 5.0), (38.0, 20.0), -math.pi)
            moves.arc_to((44.0, 20.0, 5.0), (40.0, 20.0), 2 * math.pi)
        case "helix":
            moves.rapid((36.0, 20.0, 14.0))
            moves.arc_to((36.0, 20.0, 4.0), (30.0, 20.0), 6 * math.pi)
        case _:
            moves.line_to((8.0, 8.0, 2.0))
    return moves.motion()


KINDS = {
    "flat": CUTTER,
    "ball": replace(CUTTER, kind="ball", diameter=6.0),
    "bull nose": replace(CUTTER, kind="bull nose", diameter=8.0, corner_radius=1.5),
    "vee": replace(CUTTER, kind="vee", diameter=10.0, point_deg=90.0),
    "drill": replace(CUTTER, kind="drill", diameter=5.0, point_deg=118.0),
}


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("name", ["slot", "ramp", "steep", "arcs", "helix", "plunge"])
def test_the_page_cuts_each_body_as_the_prover_does(page: Page, name: str, kind: str) -> None:
    motion, cutter = body(name), KINDS[kind]
    agree(cut_by_page(page, scene_of(motion, cutter)), motion, (cutter,), SIZE, THICK)


def test_in_the_middle_of_a_move_as_much_is_cut_as_was_run(page: Page) -> None:
    """Half the time along a slope is half the slope, and half the time along an arc half the arc."""
    moves = builder((10.0, 10.0, 12.0))
    moves.speed_rpm = 0.0
    moves.line_to((40.0, 10.0, 4.0))
    whole = moves.motion()
    half = builder((10.0, 10.0, 12.0))
    half.line_to((25.0, 10.0, 8.0))
    agree(cut_by_page(page, scene_of(whole, CUTTER), way=(0.5,)), half.motion(), (CUTTER,), SIZE, THICK)

    moves = builder((20.0, 8.0, 6.0))
    moves.speed_rpm = 0.0
    moves.arc_to((20.0, 32.0, 6.0), (20.0, 20.0), math.pi)
    half = builder((20.0, 8.0, 6.0))
    half.arc_to((32.0, 20.0, 6.0), (20.0, 20.0), math.pi / 2)
    agree(
        cut_by_page(page, scene_of(moves.motion(), CUTTER), way=(0.5,)), half.motion(), (CUTTER,), SIZE, THICK
    )


@pytest.fixture(scope="module")
def bracket() -> Made:
    return make(read_job(ROOT / "examples" / "drawn-bracket" / "job.toml"))


def test_the_page_cuts_an_example_as_the_prover_does(page: Page, bracket: Made) -> None:
    motion = joined(program.motion for program in bracket.verdict.programs)
    stock = bracket.setup.stock
    agree(cut_by_page(page, scene(bracket)), motion, bracket.setup.cutters, stock.size, stock.thickest)


def test_going_to_and_fro_in_time_leaves_the_same_sheet(page: Page, bracket: Made) -> None:
    binary = scene(bracket)
    straight = cut_by_page(page, binary, way=(0.6,))
    for way in ((1.0, 0.6), (0.9, 0.1, 0.0, 1.0, 0.55, 0.6), (0.6005, 0.6)):
        assert (cut_by_page(page, binary, way=way, kept_cost=50_000) == straight).all()
    uncut = cut_by_page(page, binary, way=(1.0, 0.0))
    stock = bracket.setup.stock
    cell = max(stock.size) / max(uncut.shape)
    assert (uncut == fresh_field(stock.size, stock.thickest, cell=cell, margin=0.0).heights).all()


# --- the view


def findings_of(made: Made) -> tuple[Finding, ...]:
    """Three findings at places of the second program."""
    program = made.verdict.programs[1]

    def at(row: int, level: Level, text: str) -> Finding:
        x, y, z = program.motion.end[row].tolist()
        line = int(program.motion.line[row])
        return Finding(
            level=level,
            kind="estimate",
            text=text,
            remedy="Do so.",
            program=program.file,
            line=line,
            at=(x, y, z),
        )

    return at(100, Level.STOP, HOSTILE), at(200, Level.CAUTION, "Some."), at(300, Level.NOTE, "More.")


@pytest.fixture(scope="module")
def files(bracket: Made) -> dict[str, bytes]:
    parts = tuple(replace(part, name=HOSTILE) for part in bracket.setup.parts)
    made = replace(
        bracket, findings=findings_of(bracket), setup=replace(bracket.setup, parts=parts, zero=ZERO)
    )
    given = {
        "findings": [finding_record(*one) for one in numbered(made.findings)],
        "programs": {program.file: program.text for program in made.programs},
        "units": "mm",
    }
    return {
        "/x.html": PAGE,
        "/page.js": MOUNT,
        "/static/icon": b"",
        "/scene": scene(made),
        "/given.json": json.dumps(given).encode(),
    }


@pytest.fixture
def view(chromium: Browser, files: dict[str, bytes]) -> Iterator[Page]:
    """The mounted view; whatever the browser complains of fails the test."""
    page = chromium.new_page(viewport={"width": 1280, "height": 800})
    complaints: list[str] = []
    page.on(
        "console", lambda said: complaints.append(said.text) if said.type in ("error", "warning") else None
    )
    page.on("pageerror", lambda error: complaints.append(str(error)))
    with serving(files) as address:
        page.goto(f"{address}/x.html")
        until(lambda: page.evaluate("Boolean(globalThis.view)"))
        yield page
        page.close()  # before the server: what is still under way would be an error
    assert [one for one in complaints if "GPU stall" not in one] == []


def tones_seen(page: Page) -> dict[str, int]:
    """How often each tone is seen in the picture of the sheet, of 32 steps a channel."""
    picture = base64.b64encode(page.locator("canvas.sheet").screenshot()).decode()
    told: dict[str, int] = page.evaluate(
        """async (picture) => {
          const bytes = Uint8Array.from(atob(picture), (one) => one.charCodeAt(0));
          const image = await createImageBitmap(new Blob([bytes]));
          const flat = new OffscreenCanvas(image.width, image.height).getContext("2d");
          flat.drawImage(image, 0, 0);
          const tones = {};
          const { data } = flat.getImageData(0, 0, image.width, image.height);
          for (let at = 0; at < data.length; at += 4) {
            const tone = [0, 1, 2].map((part) => data[at + part] >> 3).join();
            tones[tone] = (tones[tone] ?? 0) + 1;
          }
          return tones;
        }""",
        picture,
    )
    return told


def test_the_sheet_is_drawn_and_turned_by_keys(view: Page) -> None:
    view.locator("canvas.sheet").focus()  # its frame is drawn in both pictures
    view.wait_for_timeout(600)
    before = tones_seen(view)
    assert sum(count > 20 for count in before.values()) > 20
    for _ in range(4):
        view.keyboard.press("ArrowLeft")
    view.wait_for_timeout(600)
    after = tones_seen(view)
    moved = sum(abs(after.get(tone, 0) - before.get(tone, 0)) for tone in {*before, *after})
    assert moved > 0.02 * sum(before.values())


def test_a_finding_leads_to_its_moment_its_line_and_its_balloon(view: Page, bracket: Made) -> None:
    program = bracket.verdict.programs[1]
    line = int(program.motion.line[200])
    view.evaluate("view.goTo(2)")
    assert view.locator(".row.here").get_attribute("data-line") == str(line)
    assert view.locator(".cell.line dd").inner_text() == str(line)
    assert view.locator(".cell.program dd").inner_text() == program.file
    assert view.locator("button.balloon[aria-current]").get_attribute("data-number") == "2"
    assert "Some." in view.locator(".chosen-finding").inner_text()
    assert view.evaluate("times.at(-1) === view.time()")
    view.wait_for_timeout(300)
    box, picture = (
        view.locator("button.balloon[aria-current]").bounding_box(),
        view.locator(".stage").bounding_box(),
    )
    assert box is not None and picture is not None
    assert box["x"] + box["width"] / 2 == pytest.approx(picture["x"] + picture["width"] / 2, abs=3)
    assert box["y"] + box["height"] / 2 == pytest.approx(picture["y"] + picture["height"] / 2, abs=3)


def test_the_place_is_told_from_the_work_zero(view: Page, bracket: Made) -> None:
    view.evaluate("view.setTime(1e9)")
    end = bracket.verdict.programs[-1].motion.end[-1]
    for axis, value in zip("XYZ", end - np.array(ZERO), strict=True):
        assert float(view.locator(f".cell.{axis} dd").inner_text().split()[0]) == pytest.approx(
            value, abs=0.006
        )


def test_slider_plots_and_text_all_pick_the_moment(view: Page, bracket: Made) -> None:
    total = float(view.locator("input.moment").get_attribute("max") or 0)
    view.locator("input.moment").fill("100")
    assert view.evaluate("view.time()") == pytest.approx(100, abs=total / 1000)
    view.locator(".strip").focus()
    view.keyboard.press("End")
    assert view.evaluate("view.time()") == pytest.approx(total)
    view.keyboard.press("ArrowLeft")
    assert view.evaluate("view.time()") == pytest.approx(0.99 * total)
    plot = view.locator(".graph").first
    box = plot.bounding_box()
    assert box is not None
    plot.click(position={"x": 46 + (box["width"] - 56) / 2, "y": 40})
    assert view.evaluate("view.time()") == pytest.approx(total / 2, rel=0.01)
    view.locator("button.worst").first.click()
    worst = view.locator("button.worst").first.inner_text()
    assert view.locator(".cell.line dd").inner_text() in worst
    following = str(int(view.locator(".row.here").get_attribute("data-line") or 0) + 1)
    view.locator(f".row[data-line='{following}']").click()
    assert view.locator(".row.here").get_attribute("data-line") == following


def test_a_step_is_a_line_of_program(view: Page) -> None:
    view.evaluate("view.goTo(1)")
    line = int(view.locator(".cell.line dd").inner_text())
    view.get_by_role("button", name="One move on").click()
    view.get_by_role("button", name="One move on").click()
    after = int(view.locator(".cell.line dd").inner_text())
    assert after > line
    view.get_by_role("button", name="One move back").click()
    assert line <= int(view.locator(".cell.line dd").inner_text()) <= after


def test_playing_moves_on_and_can_be_stopped(view: Page) -> None:
    view.evaluate("view.setTime(10)")
    view.get_by_role("button", name="Play").click()
    until(lambda: view.evaluate("globalThis.view.time() > 10.5"))
    view.get_by_role("button", name="Pause").click()
    stopped = view.evaluate("view.time()")
    view.wait_for_timeout(200)
    assert view.evaluate("view.time()") == stopped


def test_hostile_names_stay_text(view: Page) -> None:
    view.evaluate("view.goTo(1)")
    assert HOSTILE in view.locator(".chosen-finding").inner_text()
    assert view.locator("#root img").count() == 0
    assert view.title() == "Proof"


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_nothing_in_the_view_shuts_anybody_out(view: Page, scheme: str) -> None:
    view.emulate_media(color_scheme="dark" if scheme == "dark" else "light")
    view.evaluate("view.goTo(2)")
    view.wait_for_timeout(300)
    found = Axe().run(view).response["violations"]
    assert [(one["id"], one["nodes"][0]["html"]) for one in found] == []


def test_it_fits_a_phone_and_every_button_can_be_hit(view: Page) -> None:
    view.set_viewport_size({"width": 390, "height": 844})
    view.wait_for_timeout(300)
    assert view.evaluate("document.documentElement.scrollWidth") <= 390
    for button in view.locator(".proof button:visible, .proof select").all():
        box = button.bounding_box()
        assert box is not None and min(box["width"], box["height"]) >= 43.9


def test_without_webgl_everything_but_the_picture_works(chromium: Browser, files: dict[str, bytes]) -> None:
    page = chromium.new_page()
    page.add_init_script("HTMLCanvasElement.prototype.getContext = () => null")
    with serving(files) as address:
        page.goto(f"{address}/x.html")
        until(lambda: page.evaluate("Boolean(globalThis.view)"))
        assert "result.png" in page.locator(".no-picture").inner_text()
        page.evaluate("view.goTo(3)")
        assert "More." in page.locator(".chosen-finding").inner_text()
        assert page.locator(".row.here").count() == 1
    page.close()


def test_a_view_that_is_taken_away_leaves_nothing(view: Page) -> None:
    view.evaluate("view.destroy()")
    view.wait_for_timeout(400)
    assert view.locator("#root *").count() == 0
