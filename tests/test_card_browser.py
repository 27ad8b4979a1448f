"""The whole job in a real browser, from a drawing to the changed offset; and the page at every size."""

import math
import os
import re
import tomllib
import zipfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, Final, Literal

import ezdxf
import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page, expect

from card_bench import copied, served, until

SIZES: Final = ((1280, 800), (820, 1180), (390, 844))
SLOW: Final = 120_000  # ms: a first proof on a busy machine
# Kept where a person can look at them; elsewhere nothing is kept.
PICTURES: Final = os.environ.get("PROVEOUT_SCREENSHOTS")


@contextmanager
def window(
    chromium: Browser, address: str, size: tuple[int, int], scheme: Literal["light", "dark"] = "light"
) -> Iterator[Page]:
    """A window on the card; any error of its scripts fails the test, and so does any call elsewhere."""
    context = chromium.new_context(
        viewport={"width": size[0], "height": size[1]}, color_scheme=scheme, reduced_motion="reduce"
    )
    page = context.new_page()
    errors: list[str] = []
    page.on("pageerror", lambda error: errors.append(str(error)))
    page.on("console", lambda said: errors.append(said.text) if "Content Security" in said.text else None)
    own = ("http://127.0.0.1", "data:", "blob:")
    page.on("request", lambda asked: None if asked.url.startswith(own) else errors.append(asked.url))
    page.goto(address)
    yield page
    context.close()
    assert errors == []


def proved(page: Page) -> None:
    """Wait for a proof of what stands in the file."""
    expect(page.locator("#progress")).to_be_hidden(timeout=SLOW)
    expect(page.locator(".stamp.ready, .stamp.not-ready")).to_be_visible(timeout=SLOW)


def stamped(page: Page, verdict: str) -> None:
    """Wait for this verdict on what stands in the file."""
    expect(page.locator(f".stamp.{verdict}")).to_be_visible(timeout=SLOW)


def kept(page: Page, name: str) -> None:
    if PICTURES:
        Path(PICTURES).mkdir(parents=True, exist_ok=True)
        page.screenshot(path=f"{PICTURES}/{name}.png", full_page=True)


def handle_drawing(folder: Path) -> Path:
    """A handle plate of 90 by 60, in a unit that the file doesn't say, with a hexagon for an M8 head."""
    drawing = ezdxf.filemanagement.new("R2010", setup=False)
    drawing.header["$INSUNITS"] = 0
    space = drawing.modelspace()
    space.add_lwpolyline([(0, 0), (90, 0), (90, 60), (0, 60)], close=True)
    across = 13.0 / 3**0.5  # ISO 4014: 13 mm across the flats of an M8 head
    turns = [math.radians(60 * number) for number in range(6)]
    space.add_lwpolyline([(45 + across * math.cos(a), 30 + across * math.sin(a)) for a in turns], close=True)
    path = folder / "handle plate.dxf"
    drawing.saveas(path)
    return path


def values(folder: Path) -> dict[str, Any]:
    """What stands in the job file now."""
    return tomllib.loads((folder / "handle-plate" / "job.toml").read_text())


def test_the_whole_job_from_a_drawing_to_the_changed_offset(chromium: Browser, tmp_path: Path) -> None:
    drawing = handle_drawing(tmp_path)
    with served(tmp_path) as address, window(chromium, address, (1280, 800)) as page:
        _begin(page, drawing)
        _choose_the_head(page, tmp_path)
        _clamp(page, tmp_path)
        _move_a_clamp_onto_the_part(page, tmp_path)
        _scrub(page)
        _read_a_reason(page)
        _download(page)
        _record(page)


def _begin(page: Page, drawing: Path) -> None:
    """The drawing says no unit: the page asks, and one size that is known settles it."""
    page.locator("[name=drawing]").set_input_files(drawing)
    page.get_by_role("button", name="Begin with this drawing").click()
    expect(page.locator("#told")).to_contain_text("unit")
    page.get_by_label("or a size you know").fill("width = 90 mm")
    page.get_by_role("button", name="Begin with this drawing").click()
    page.wait_for_url("**/job/*/")
    expect(page.locator("h1")).to_contain_text("handle-plate")


def _choose_the_head(page: Page, folder: Path) -> None:
    page.get_by_role("button", name=re.compile("Size it to that")).click(timeout=SLOW)
    [rule] = until(lambda: values(folder)["parts"][0].get("rules"))
    assert rule["bolt"] == "M8" and rule["holds"] == "head"
    expect(page.locator("#piece-fit")).to_contain_text("flats", timeout=SLOW)


def _clamp(page: Page, folder: Path) -> None:
    """Nothing holds the blank: that is a stop, and its way out is a button."""
    stamped(page, "not-ready")
    finding = page.locator(".finding", has_text="nothing holds").or_(page.locator(".finding.stop")).first
    finding.locator("button.way").first.click()
    assert until(lambda: values(folder).get("clamps"))
    stamped(page, "ready")


def _move_a_clamp_onto_the_part(page: Page, folder: Path) -> None:
    """The part is put somewhere; a clamp whose nose then reaches over it is a stop, which a button ends."""
    board = page.locator("#plan")
    _pick(page, "part:part 1")
    for side, typed in (("From the left", "24 mm"), ("From the front", "12 mm")):
        box = board.get_by_role("textbox", name=side)
        box.fill(typed)
        box.press("Enter")
        expect(board.locator(".plan-state")).to_contain_text("Placed by hand", timeout=SLOW)
    until(lambda: values(folder)["places"][0]["at"] == ["24 mm", "12 mm"])
    index, hole = _over_the_part(page)
    _pick(page, f"clamp:{index}")
    board.get_by_role("combobox", name="Bolt in hole").select_option(hole)
    until(lambda: values(folder)["clamps"][index]["hole"] == hole)
    stop = page.locator(".finding.stop", has_text="part 1").first
    expect(stop).to_be_visible(timeout=SLOW)
    expect(stop).to_contain_text("clamp")
    stamped(page, "not-ready")
    stop.get_by_role("button", name="Let it be laid out again").click()
    until(lambda: "places" not in values(folder))
    stamped(page, "ready")


def _pick(page: Page, key: str) -> None:
    page.locator("#plan .plan-pick").select_option(key)


def _over_the_part(page: Page) -> tuple[int, str]:
    """The clamp in front of the sheet, and the hole in its row that is level with the part's middle."""
    plan = page.request.get(page.url + "plan.json").json()
    [part] = plan["parts"]
    middle = (part["box"][0] + part["box"][2]) / 2
    at = {hole["name"]: hole["at"] for hole in plan["plate"]["holes"]}
    clamp = next(one for one in plan["clamps"] if one["towards"] == "back")
    row = [name for name in clamp["may"] if at[name][1] == at[clamp["hole"]][1] and name != clamp["hole"]]
    return clamp["index"], min(row, key=lambda name: abs(at[name][0] - middle))


def _scrub(page: Page) -> None:
    """The slider goes to the middle of the cut: readout and program line go along."""
    slider = page.locator("#proof-view input[type=range]")
    before = page.locator("#proof-view").inner_text()
    slider.evaluate(
        "one => { one.value = one.max / 2; one.dispatchEvent(new Event('input', { bubbles: true })); }"
    )
    expect(page.locator("#proof-view")).not_to_have_text(before)
    blank = page.locator("#proof-view canvas").evaluate(
        "one => one.toDataURL().length < 2000"  # nothing but one colour packs to next to nothing
    )
    assert not blank


def _read_a_reason(page: Page) -> None:
    page.locator("#piece-fit .number", has_text="head recess, flats").or_(
        page.locator("#piece-fit .number", has_text="flats")
    ).first.click()
    reasons = page.get_by_role("dialog")
    expect(reasons).to_contain_text("It comes from")
    page.keyboard.press("Escape")
    expect(reasons).to_be_hidden()


def _download(page: Page) -> None:
    """The pack comes down whole; what to run is shown once everything is ticked."""
    with page.expect_download() as waiting:
        page.get_by_role("link", name="Download the whole pack").click()
    with zipfile.ZipFile(waiting.value.path()) as archive:
        names = {name.rpartition("/")[2] for name in archive.namelist()}
    assert {"result.json", "setup-sheet.pdf", "setup-sheet-letter.pdf", "report.html"} <= names
    expect(page.locator("#watch")).to_be_hidden()
    for box in page.locator("#checks input").all():
        box.check()
    expect(page.locator("#watch")).to_contain_text("0-outline-check.nc")


def _record(page: Page) -> None:
    """Three recesses came out a tenth too small: the next is cut larger, and the book is the reason."""
    number = page.locator("#piece-fit .number", has_text=re.compile("flats")).first
    before = _flats(page)
    row = page.locator("#readings tr", has_text="across flats").first
    wanted = float(re.findall(r"([\d.]+) mm", row.inner_text())[0])
    for piece in ("1", "2", "3"):
        page.get_by_label("Who measured").fill("Mo")
        row.get_by_label("Which piece").fill(piece)
        row.get_by_label("Found").fill(f"{wanted - 0.1:.2f} mm")
        row.get_by_label("I am sure").check()
        page.get_by_role("button", name="Write them into the shop book").click()
        expect(page.locator("#recorded")).to_contain_text("Written into the shop book", timeout=SLOW)
    expect(page.locator("#after")).to_contain_text("offset", timeout=SLOW)
    until(lambda: _flats(page) > before + 0.02)
    number.click()
    expect(page.get_by_role("dialog")).to_contain_text("shop book")


def _flats(page: Page) -> float:
    """The size that the recess is cut to, as the page shows it; mm."""
    shown = page.locator("#piece-fit .number", has_text="flats").first.inner_text()
    return float(re.findall(r"([\d.]+) mm", shown)[0])


# --- the page at every size


@pytest.mark.parametrize("size", SIZES)
def test_the_page_is_whole_at_every_size(chromium: Browser, tmp_path: Path, size: tuple[int, int]) -> None:
    """Nothing runs off to the side, nothing serious is found by the checker, in light and in dark."""
    job = copied("inch-knobs", tmp_path)
    with served(tmp_path, job) as address, window(chromium, address, size) as page:
        proved(page)
        expect(page.locator("#proof-view canvas")).to_be_visible(timeout=SLOW)
        for scheme in ("light", "dark"):
            page.emulate_media(color_scheme=scheme)
            kept(page, f"card-{size[0]}x{size[1]}-{scheme}")
            serious = [
                (one["id"], [node["target"] for node in one["nodes"]][:3])
                for one in Axe().run(page).response["violations"]
                if one["impact"] in ("serious", "critical")
            ]
            assert serious == [], scheme
        assert page.evaluate("document.documentElement.scrollWidth") <= size[0]
        page.goto(address.split("/job/")[0] + "/")
        kept(page, f"first-page-{size[0]}x{size[1]}")
        assert page.evaluate("document.documentElement.scrollWidth") <= size[0]


def test_what_is_typed_is_saved_and_what_is_nonsense_is_said_at_its_box(
    chromium: Browser, tmp_path: Path
) -> None:
    """By keys alone: a box is reached, typed in, refused in words, mended, taken back."""
    job = copied("inch-knobs", tmp_path)
    text = job.read_text()
    with served(tmp_path, job) as address, window(chromium, address, (1280, 800)) as page:
        box = page.get_by_role("textbox", name="edge margin")
        box.fill("soon")
        fault = page.locator("[data-question='stock.edge_margin'] .fault")
        expect(fault).to_contain_text("is not a length")
        assert job.read_text() == text
        box.fill("5/16 in")
        expect(fault).to_be_hidden()
        expect(page.locator("#undo")).to_be_enabled()
        assert tomllib.loads(job.read_text())["stock"]["edge_margin"] == "5/16 in"
        page.locator("#undo").click()
        expect(box).to_have_value("1/4 in")
        assert job.read_text() == text
        page.locator("#units").select_option("mm")
        expect(page.locator("#piece-stock")).to_contain_text("mm")


def test_a_value_that_needs_another_one_stays_marked_and_goes_along_with_it(
    chromium: Browser, tmp_path: Path
) -> None:
    """An M8 head doesn't go into M6 inserts: it waits in its box, is told of beside the verdict, and is saved
    once its bolt may end in a nut."""
    job = copied("clamp-kit", tmp_path)
    job.write_text(job.read_text().replace('bolt = "M6"', 'bolt = "M6"\ninto = "insert"', 1))

    def part() -> dict[str, Any]:
        return next(one for one in tomllib.loads(job.read_text())["parts"] if one["pattern"] == "lobed knob")

    with served(tmp_path, job) as address, window(chromium, address, (390, 844)) as page:
        bolt = page.locator("[data-field='parts[1].bolt']")
        held = bolt.input_value()
        bolt.fill("M8")
        expect(page.locator("#unsaved")).to_contain_text("Typed but not in the job")
        assert part()["bolt"] == held
        bolt.fill(held)
        expect(page.locator("#unsaved")).to_be_hidden()
        expect(page.locator("[data-question='parts[1].bolt'] .fault")).to_be_hidden()
        bolt.evaluate("one => one.scrollIntoView({ block: 'end', behavior: 'instant' })")
        bolt.fill("M8")
        expect(page.locator("#unsaved")).to_be_in_viewport()
        page.wait_for_function(
            "() => document.activeElement.getBoundingClientRect().bottom"
            " <= document.querySelector('.messages').getBoundingClientRect().top"
        )
        page.locator("#go-unsaved").click()
        expect(bolt).to_be_focused()
        page.locator("[data-field='parts[1].into']").select_option("nut")
        until(lambda: part()["into"] == "nut" and part()["bolt"] == "M8")
        expect(page.locator("#unsaved")).to_be_hidden()


def test_the_focus_goes_where_the_work_goes_on(chromium: Browser, tmp_path: Path) -> None:
    """By keys alone: what was added is there to type in, and what was taken out leaves one where one was."""
    job = copied("inch-knobs", tmp_path)
    with served(tmp_path, job) as address, window(chromium, address, (1280, 800)) as page:
        page.get_by_role("button", name="Add a stop block").press("Enter")
        name = page.locator("[data-field='parts[2].name']")
        expect(name).to_be_focused()
        name.locator("xpath=ancestor::fieldset").get_by_role("button", name="Take out").press("Enter")
        expect(page.locator("[data-table='parts[2]']")).to_have_count(0)
        assert page.evaluate("document.activeElement.closest('#op-20') !== null")


def test_two_windows_show_and_keep_each_others_edits(chromium: Browser, tmp_path: Path) -> None:
    job = copied("inch-knobs", tmp_path)
    with served(tmp_path, job) as address, window(chromium, address, (1280, 800)) as page:
        other = page.context.new_page()
        other.goto(page.url)
        page.get_by_role("textbox", name="edge margin").fill("3/8 in")
        expect(other.get_by_role("textbox", name="edge margin")).to_have_value("3/8 in", timeout=SLOW)
        other.get_by_role("textbox", name="edge margin").fill("7/16 in")
        expect(page.get_by_role("textbox", name="edge margin")).to_have_value("7/16 in", timeout=SLOW)
        other.close()


def test_a_card_that_has_ended_is_said(chromium: Browser, tmp_path: Path) -> None:
    job = copied("inch-knobs", tmp_path)
    with served(tmp_path, job) as address:
        context = chromium.new_context()
        page = context.new_page()
        page.goto(address)
        expect(page.locator("#piece-stock")).to_contain_text("thickest", timeout=SLOW)
    expect(page.locator("#told")).to_contain_text("does not answer", timeout=SLOW)
    context.close()


def test_the_page_weighs_little_and_asks_nobody_else(chromium: Browser, tmp_path: Path) -> None:
    """Scripts, styles and page, without the job's own data: under 3 MB."""
    job = copied("inch-knobs", tmp_path)
    with served(tmp_path, job) as address:
        context = chromium.new_context()
        page = context.new_page()
        weights: dict[str, int] = {}
        page.on(
            "response",
            lambda answer: (
                weights.__setitem__(answer.url, len(answer.body()))
                if answer.status == 200 and ("/static/" in answer.url or answer.url.endswith("/"))
                else None
            ),
        )
        page.goto(address)
        page.wait_for_load_state("load")
        expect(page.locator("#piece-stock")).to_contain_text("thickest", timeout=SLOW)
        context.close()
    assert 0 < sum(weights.values()) < 3_000_000
    assert len(weights) > 5
