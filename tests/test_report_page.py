"""The report in a real browser: no barriers, on a phone, in the dark, its numbers tied to its picture."""

from pathlib import Path
from typing import Literal

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page

import made_example
from crowded import UNBROKEN, crowded
from proveout.pack.made import Made
from proveout.pack.plan_picture import balloons, numbered, plan_svg
from proveout.pack.report import report_html
from proveout.pack.result_picture import result_png

LIGHT = Literal["light", "dark"]


def opened(browser: Browser, made: Made, folder: Path, *, wide: int = 1280, light: LIGHT = "light") -> Page:
    """The report as a file on the disk, opened as a person would."""
    file = folder / "report.html"
    file.write_text(report_html(made, plan_svg(made), result_png(made.verdict.result)), encoding="utf-8")
    page = browser.new_page(viewport={"width": wide, "height": 844}, color_scheme=light)
    page.goto(file.as_uri())
    return page


@pytest.mark.parametrize(("wide", "light"), [(1280, "light"), (390, "dark")])
def test_the_report_has_no_barriers(chromium: Browser, tmp_path: Path, wide: int, light: LIGHT) -> None:
    """Rules of WCAG as axe-core checks them: nothing is found, and contrast and headings were checked."""
    page = opened(chromium, made_example.made(stopped=True), tmp_path, wide=wide, light=light)
    found = Axe().run(page).response
    page.close()
    assert [one["id"] for one in found["violations"]] == []
    ran = {one["id"] for one in found["passes"]}
    assert {"color-contrast", "heading-order", "image-alt", "svg-img-alt"} <= ran


@pytest.mark.parametrize("wide", [390, 820, 1280])
def test_nothing_runs_off_the_page(chromium: Browser, tmp_path: Path, wide: int) -> None:
    """However long a name is, the page never scrolls sideways; only pictures do, in their frames."""
    page = opened(chromium, crowded(stopped=True), tmp_path, wide=wide)
    width = page.evaluate("document.documentElement.scrollWidth")
    said = page.inner_text("h1")
    page.close()
    assert width == wide
    assert UNBROKEN in said


def test_tables_stack_on_a_phone_with_each_cell_named(chromium: Browser, tmp_path: Path) -> None:
    """At 390 px the hole of clamp 1 stands under its balloon, as wide as the page, with its column's head."""
    page = opened(chromium, made_example.made(), tmp_path, wide=390)
    first = page.locator("#bed tbody tr").first
    number, hole = first.locator("td").nth(0), first.locator("td").nth(1)
    head = hole.evaluate("one => getComputedStyle(one, '::before').content")
    boxes = number.bounding_box(), hole.bounding_box()
    page.close()
    assert boxes[0] is not None and boxes[1] is not None
    assert boxes[1]["y"] >= boxes[0]["y"] + boxes[0]["height"] - 1
    assert boxes[1]["width"] > 300
    assert "Hole" in head


def test_the_report_s_numbers_are_those_of_its_picture(chromium: Browser, tmp_path: Path) -> None:
    """A clamp has the number of its balloon, a finding that of its triangle."""
    made = made_example.made(stopped=True)
    page = opened(chromium, made, tmp_path)
    clamps = page.locator("#bed tbody tr").all_inner_texts()
    bold = page.locator("#bed svg text[font-weight=bold]").all_text_contents()
    marks = page.locator("#findings .mark").all_inner_texts()
    page.close()
    assert [row.split()[:2] for row in clamps] == [[str(number), one.hole] for number, one in balloons(made)]
    assert {str(number) for number, _ in balloons(made)} <= set(bold)
    assert marks == [str(number) for number, _ in numbered(made.findings)]


def test_pictures_stay_black_on_white_in_the_dark(chromium: Browser, tmp_path: Path) -> None:
    """The page turns dark, the paper of the plan stays white, and a reason opens by key alone."""
    page = opened(chromium, made_example.made(), tmp_path, light="dark")
    ground = page.evaluate("getComputedStyle(document.body).backgroundColor")
    paper = page.evaluate("getComputedStyle(document.querySelector('.plan')).backgroundColor")
    summary = page.locator("summary").first
    summary.focus()
    page.keyboard.press("Enter")
    is_open = page.evaluate("document.querySelector('details').open")
    tall = summary.bounding_box()
    page.close()
    assert max(int(one) for one in ground[4:-1].split(",")) < 60
    assert paper == "rgb(255, 255, 255)"
    assert is_open
    assert tall is not None and tall["height"] >= 44


def test_a_stop_is_a_shape_and_a_word(chromium: Browser, tmp_path: Path) -> None:
    """The stamp of a job that isn't ready is cut to an octagon and filled with ink; a ready one is ruled."""
    shapes = []
    for stopped in (True, False):
        page = opened(chromium, made_example.made(stopped=stopped), tmp_path)
        stamp = page.locator(".stamp")
        shape = stamp.evaluate("one => [getComputedStyle(one).clipPath, getComputedStyle(one).borderStyle]")
        shapes.append((stamp.inner_text(), *shape))
        page.close()
    assert shapes[0][0] == "NOT READY: do not cut" and shapes[0][1].count(",") == 7
    assert shapes[1] == ("READY, 1 caution", "none", "double")
