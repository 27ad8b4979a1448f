"""The interactive plan in a real browser: what a hand moves becomes exactly the edits of the job file."""

import copy
import json
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any, Final, Literal, cast

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page, ViewportSize

import made_example
from browser import serving
from proveout.card.plan_data import plan_data
from proveout.finding import Finding, Level
from proveout.reckon import hold

Data = dict[str, Any]
Scheme = Literal["light", "dark"]

PAGE: Final = b"""<!doctype html><html lang="en"><head><meta charset="utf-8"><title>plan</title>
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta http-equiv="Content-Security-Policy" content="default-src 'self'">
<link rel="stylesheet" href="/static/look.css"><link rel="stylesheet" href="/static/plan.css">
<link rel="stylesheet" href="/page.css"></head>
<body><main><h1>Job</h1><h2>Layout</h2><div id="plan"></div></main>
<script type="module" src="/page.js"></script></body></html>"""
STYLE: Final = b"body { margin: 1rem; background: var(--paper); color: var(--ink); }"
SCRIPT: Final = b"""import { mountPlan } from "/static/plan.js";
window.edits = []; window.called = [];
const plan = await (await fetch("/plan.json")).json();
window.plan = mountPlan(document.getElementById("plan"), {
  plan, onEdit: (says, edits) => window.edits.push({ says, edits }),
  onUndo: () => window.called.push("undo"), onRedo: () => window.called.push("redo"),
  onChoose: (number) => window.called.push(number),
});
document.body.dataset.ready = "yes";"""

FINDINGS: Final = (
    Finding(level=Level.STOP, kind="clamp-struck", text="The clamp at B6 is struck.", at=(12.0, 70.0, 20.0)),
    Finding(level=Level.CAUTION, kind="floor-thin", text="The floor is thin.", at=(112.0, 98.0, 4.0)),
)


def plan_of(**more: Any) -> Data:
    """A sheet of 220 by 140 mm with two knobs, a strap and two clamps; knob 2 was placed by hand."""
    made = made_example.made()
    data = plan_data(made.job, made.placed, hold(made.job), tabs=made.setup.tabs, findings=FINDINGS)
    data["parts"][1] |= {"placed": True, "place": 0}  # type: ignore[index]
    flaw = {"index": 0, "at": [150.0, 20.0], "size": [20.0, 12.0], "round": False, "what": "knot"}
    return cast(Data, copy.deepcopy(data | {"places": 1, "flaws": [flaw]} | more))


@contextmanager
def opened(
    chromium: Browser,
    plan: Data,
    size: tuple[int, int] = (1280, 800),
    scheme: Scheme = "light",
    *,
    touch: bool = False,
) -> Iterator[Page]:
    """The plan on a page of its own; any error of the page fails the test."""
    files = {"/x.html": PAGE, "/page.css": STYLE, "/page.js": SCRIPT, "/plan.json": json.dumps(plan).encode()}
    view: ViewportSize = {"width": size[0], "height": size[1]}
    page = chromium.new_page(viewport=view, color_scheme=scheme, has_touch=touch, is_mobile=touch)
    errors: list[str] = []
    page.on("pageerror", lambda error: errors.append(str(error)))
    page.on("console", lambda said: errors.append(said.text) if "Security Policy" in said.text else None)
    try:
        with serving(files) as address:
            page.goto(f"{address}/x.html")
            page.wait_for_selector("body[data-ready]")
            yield page
        assert errors == []
    finally:
        page.close()


def told(page: Page) -> list[Data]:
    return cast(list[Data], page.evaluate("edits"))


def edits(page: Page) -> list[list[Data]]:
    return [one["edits"] for one in told(page)]


def on_screen(page: Page, x: float, y: float) -> tuple[float, float]:
    """Where a point of the sheet is on the screen."""
    at = page.evaluate(
        "([x, y]) => { const m = document.querySelector('.plan-svg').getScreenCTM();"
        " const p = new DOMPoint(x, -y).matrixTransform(m); return [p.x, p.y]; }",
        [x, y],
    )
    return at[0], at[1]


def drag(page: Page, start: tuple[float, float], end: tuple[float, float], *, drop: bool = True) -> None:
    page.mouse.move(*on_screen(page, *start))
    page.mouse.down()
    page.mouse.move(*on_screen(page, (start[0] + end[0]) / 2, (start[1] + end[1]) / 2))
    page.mouse.move(*on_screen(page, *end))
    if drop:
        page.mouse.up()


def focus(page: Page, key: str) -> None:
    page.locator(f'.plan-hold[data-key="{key}"]').focus()


def said(page: Page) -> str:
    return page.locator(".plan-live").inner_text()


def spoken(page: Page, key: str) -> str:
    return page.locator(f'.plan-hold[data-key="{key}"]').get_attribute("aria-label") or ""


def test_a_clamp_that_is_dragged_goes_to_the_nearest_hole(chromium: Browser) -> None:
    """The bolt in B6 stands at (-15, 65); a hand that lets go 20 mm further back means B7, at (-15, 90)."""
    with opened(chromium, plan_of()) as page:
        drag(page, (-30, 65), (-27, 85), drop=False)
        assert page.locator(".plan-here").count() == 1
        assert page.locator(".plan-over .plan-hole-name").text_content() == "B7"
        page.mouse.up()
        assert told(page) == [
            {
                "says": "Move low strap from B6 to B7",
                "edits": [{"what": "set", "keys": ["clamps", 0, "hole"], "value": "B7"}],
            }
        ]
        assert spoken(page, "clamp:0").endswith("bolt in hole B7, nose to the right, waiting for the plan")


def test_a_clamp_taken_to_another_edge_turns_its_nose(chromium: Browser) -> None:
    """In front of the sheet the nose can only point to the back; hole and way change together."""
    with opened(chromium, plan_of()) as page:
        front = next(hole for hole, ways in plan_of()["clamps"][0]["may"].items() if ways == ["back"])
        at = next(hole["at"] for hole in plan_of()["plate"]["holes"] if hole["name"] == front)
        drag(page, (-30, 65), (at[0] - 15, at[1]))
        assert edits(page) == [
            [
                {"what": "set", "keys": ["clamps", 0, "hole"], "value": front},
                {"what": "set", "keys": ["clamps", 0, "towards"], "value": "back"},
            ]
        ]


def test_a_clamp_goes_from_hole_to_hole_by_keys(chromium: Browser) -> None:
    """Each arrow is the next hole, said aloud; Enter hands on one change, however many steps it took."""
    with opened(chromium, plan_of()) as page:
        focus(page, "clamp:1")
        page.keyboard.press("ArrowDown")
        assert said(page) == "Hole L5, nose to the left."
        page.keyboard.press("ArrowDown")
        assert told(page) == []
        page.keyboard.press("Enter")
        assert edits(page) == [[{"what": "set", "keys": ["clamps", 1, "hole"], "value": "L4"}]]
        assert page.evaluate("document.activeElement.dataset.key") == "clamp:1"


def test_a_part_that_is_dragged_stays_on_whole_millimetres(chromium: Browser) -> None:
    """Knob 1's left front corner lies at (36, 78) or a little more; dragged by 10.3 and -6.2 mm it lies on
    whole millimetres, and the job file gets a place for it, as there was none."""
    with opened(chromium, plan_of()) as page:
        drag(page, (50, 90), (60.3, 83.8))
        box = plan_of()["parts"][0]["box"]
        at = [f"{round(box[0] + 10.3)} mm", f"{round(box[1] - 6.2)} mm"]
        value = {"part": "knob 1", "at": at, "turn": "0 deg"}
        assert edits(page) == [[{"what": "add", "keys": ["places"], "value": value}]]


def test_a_part_that_has_a_place_keeps_its_entry(chromium: Browser) -> None:
    """Knob 2 is moved by keys: to the next whole millimetre, then by tenths; only its place is set."""
    with opened(chromium, plan_of()) as page:
        box = plan_of()["parts"][1]["box"]
        focus(page, "part:knob 2")
        page.keyboard.press("ArrowRight")
        page.keyboard.press("Shift+ArrowUp")
        right = f"{int(box[0]) + 1} mm"
        assert said(page).startswith(f"{right} from the left, ")
        page.keyboard.press("Enter")
        (change,) = told(page)
        assert change["edits"][0]["keys"] == ["places", 0, "at"]
        x, y = change["edits"][0]["value"]
        assert x == right
        assert 0 < float(y.removesuffix(" mm")) - box[1] <= 0.1 + 1e-6
        assert change["says"] == f"Move knob 2 to {x} from the left, {y} from the front"


def test_a_second_move_before_the_plan_has_come_sets_what_the_first_added(chromium: Browser) -> None:
    """The first move of knob 1 adds the second entry of [[places]], and the next one sets just that."""
    with opened(chromium, plan_of()) as page:
        focus(page, "part:knob 1")
        for _ in range(2):
            page.keyboard.press("ArrowRight")
            page.keyboard.press("Enter")
        first, second = edits(page)
        assert first[0]["what"] == "add"
        assert (second[0]["what"], second[0]["keys"]) == ("set", ["places", 1, "at"])


def test_a_part_is_turned_about_its_middle(chromium: Browser) -> None:
    """The strap of 90 by 28 mm may be turned by 90 degrees: its middle at (92, 36) stays, so that its corner
    comes to (92 - 14, 36 - 45); what reaches off the sheet is said."""
    with opened(chromium, plan_of()) as page:
        focus(page, "part:strap 1")
        page.keyboard.press("r")
        assert page.locator(".plan-warn").inner_text().startswith("Look: It reaches 9 mm off the sheet.")
        page.keyboard.press("Enter")
        value = {"part": "strap 1", "at": ["78 mm", "-9 mm"], "turn": "90 deg"}
        assert edits(page) == [[{"what": "add", "keys": ["places"], "value": value}]]


def test_escape_puts_it_back_from_keys_and_from_the_hand(chromium: Browser) -> None:
    """Nothing is handed on, the thing is where it was; letting go of the mouse afterwards changes nothing."""
    with opened(chromium, plan_of()) as page:
        before = spoken(page, "part:knob 1")
        focus(page, "part:knob 1")
        page.keyboard.press("ArrowUp")
        assert spoken(page, "part:knob 1") != before
        page.keyboard.press("Escape")
        assert spoken(page, "part:knob 1") == before
        drag(page, (50, 90), (80, 60), drop=False)
        page.keyboard.press("Escape")
        page.mouse.move(*on_screen(page, 90, 50))
        page.mouse.up()
        assert spoken(page, "part:knob 1") == before
        assert told(page) == []


def fingers(page: Page, *ways: tuple[tuple[float, float], tuple[float, float]]) -> None:
    """Fingers on the screen, each from one point of the sheet to another, then lifted."""
    points = [[on_screen(page, *end) for end in way] for way in ways]
    session = page.context.new_cdp_session(page)
    for step in range(6):
        at = [
            {"x": x0 + (x1 - x0) * step / 5, "y": y0 + (y1 - y0) * step / 5, "id": number}
            for number, ((x0, y0), (x1, y1)) in enumerate(points)
        ]
        kind = "touchMove" if step else "touchStart"
        session.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": at})
    session.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})
    page.wait_for_timeout(300)


def test_a_finger_moves_a_part_and_two_look_closer(chromium: Browser) -> None:
    """On a phone a finger on a part drags it and doesn't scroll the page; two fingers make the bed larger and
    leave the page as it is."""
    with opened(chromium, plan_of(), (390, 844), touch=True) as page:
        fingers(page, ((50, 90), (60, 70)))
        ((edit,),) = edits(page)
        assert edit["value"]["part"] == "knob 1"
        assert page.evaluate("scrollY") == 0
        before = page.locator(".plan-svg").bounding_box()
        fingers(page, ((100, 120), (90, 120)), ((120, 120), (150, 120)))
        after = page.locator(".plan-svg").bounding_box()
        assert before and after and after["width"] > 2 * before["width"]
        assert page.evaluate("visualViewport.scale") == 1


def test_a_flaw_is_added_moved_grown_and_removed(chromium: Browser) -> None:
    """Each step is one change at the flaw's own place in the file, also before the plan has come back."""
    with opened(chromium, plan_of()) as page:
        page.get_by_role("button", name="Add a flaw").click()
        page.keyboard.press("ArrowLeft")
        page.keyboard.press("Enter")
        page.locator('[data-key="flaw:1"][data-corner="high"]').focus()
        page.keyboard.press("ArrowRight")
        page.keyboard.press("Enter")
        focus(page, "flaw:1")
        page.keyboard.press("Delete")
        new = {"at": ["100 mm", "60 mm"], "size": ["20 mm", "20 mm"], "what": "knot"}
        assert edits(page) == [
            [{"what": "add", "keys": ["flaws"], "value": new}],
            [{"what": "set", "keys": ["flaws", 1, "at"], "value": ["99 mm", "60 mm"]}],
            [{"what": "set", "keys": ["flaws", 1, "size"], "value": ["21 mm", "20 mm"]}],
            [{"what": "drop", "keys": ["flaws", 1]}],
        ]
        assert page.locator('[data-key="flaw:1"]').count() == 0


def test_a_corner_of_a_flaw_is_dragged(chromium: Browser) -> None:
    """The left front corner comes in by (4, 2): the flaw lies further in and is so much smaller."""
    with opened(chromium, plan_of()) as page:
        focus(page, "flaw:0")
        drag(page, (150, 20), (154, 22))
        assert edits(page) == [
            [
                {"what": "set", "keys": ["flaws", 0, "at"], "value": ["154 mm", "22 mm"]},
                {"what": "set", "keys": ["flaws", 0, "size"], "value": ["16 mm", "10 mm"]},
            ]
        ]


def test_a_round_flaw_stays_round(chromium: Browser) -> None:
    """Its file has a diameter: made 1 mm larger, 13 mm, from its left front corner it also lies 1 mm further
    out both ways."""
    knot = {"index": 0, "at": [150.0, 20.0], "size": [12.0, 12.0], "round": True, "what": "knot"}
    with opened(chromium, plan_of(flaws=[knot])) as page:
        focus(page, "flaw:0")
        page.locator('[data-corner="low"]').focus()
        page.keyboard.press("ArrowLeft")
        page.keyboard.press("Enter")
        assert edits(page) == [
            [
                {"what": "set", "keys": ["flaws", 0, "at"], "value": ["149 mm", "19 mm"]},
                {"what": "set", "keys": ["flaws", 0, "diameter"], "value": "13 mm"},
            ]
        ]


def test_a_placed_part_can_be_laid_out_again(chromium: Browser) -> None:
    """Delete drops its entry; of a part that proveout has laid out there is nothing to drop."""
    with opened(chromium, plan_of()) as page:
        focus(page, "part:knob 1")
        page.keyboard.press("Delete")
        assert said(page) == "knob 1 is laid out by proveout already."
        focus(page, "part:knob 2")
        page.keyboard.press("Delete")
        assert told(page) == [
            {
                "says": "Let knob 2 be laid out again",
                "edits": [{"what": "drop", "keys": ["places", 0]}],
            }
        ]


def test_what_is_typed_goes_into_the_file_as_it_stands(chromium: Browser) -> None:
    """A length in another unit is the reader's business, not the page's; it is handed on once."""
    with opened(chromium, plan_of()) as page:
        page.get_by_role("combobox", name="Chosen").select_option("part:knob 2")
        field = page.get_by_role("textbox", name="From the left")
        field.fill("2-7/16 in")
        field.press("Enter")
        field.blur()
        ((edit,),) = edits(page)
        assert edit["keys"] == ["places", 0, "at"]
        assert edit["value"][0] == "2-7/16 in"


def test_undo_is_asked_for_outside_of_fields(chromium: Browser) -> None:
    """Ctrl+Z on the plan undoes a change of the job; in a field it belongs to the typing."""
    with opened(chromium, plan_of()) as page:
        focus(page, "part:knob 1")
        page.keyboard.press("Control+z")
        page.keyboard.press("Control+Shift+z")
        page.get_by_role("textbox", name="From the left").focus()
        page.keyboard.press("Control+z")
        assert page.evaluate("called") == ["undo", "redo"]


def test_a_balloon_opens_its_finding(chromium: Browser) -> None:
    with opened(chromium, plan_of()) as page:
        page.get_by_role("button", name="finding 2, caution: The floor is thin.").click()
        page.locator('[data-number="1"]').focus()
        page.keyboard.press("Enter")
        assert page.evaluate("called") == [2, 1]


def test_a_new_plan_leaves_what_a_person_is_at(chromium: Browser) -> None:
    """A plan that comes during a drag, while something is typed, or while the picture is large changes none
    of them; what was waiting is not any more."""
    with opened(chromium, plan_of()) as page:
        focus(page, "part:knob 2")
        page.keyboard.press("ArrowRight")
        page.keyboard.press("Enter")
        assert "waiting" in spoken(page, "part:knob 2")
        page.get_by_role("button", name="Larger").click()
        large = page.locator(".plan-svg").bounding_box()
        field = page.get_by_role("textbox", name="From the front")
        field.fill("12")
        page.evaluate("async () => plan.update(await (await fetch('/plan.json')).json())")
        assert "waiting" not in spoken(page, "part:knob 2")
        assert field.input_value() == "12"
        assert page.evaluate("document.activeElement.value") == "12"
        now = page.locator(".plan-svg").bounding_box()
        assert large and now and now["width"] == large["width"]
        field.press("Escape")
        page.get_by_role("button", name="Whole bed").click()
        drag(page, (50, 90), (60, 80), drop=False)
        page.evaluate("async () => plan.update(await (await fetch('/plan.json')).json())")
        page.mouse.up()
        assert edits(page)[-1][0]["value"]["part"] == "knob 1"
        assert page.evaluate("document.activeElement.dataset.key") == "part:knob 1"


def test_inch_jobs_move_in_sixteenths(chromium: Browser) -> None:
    """From 3 in, one step is 3-1/16 in and a fine one a sixty-fourth more."""
    plan = plan_of(units="in")
    plan["parts"][0]["box"] = [76.2, 50.8, 120.2, 94.8]
    with opened(chromium, plan) as page:
        focus(page, "part:knob 1")
        page.keyboard.press("ArrowRight")
        assert said(page) == "3-1/16 in from the left, 2 in from the front."
        page.keyboard.press("Shift+ArrowRight")
        page.keyboard.press("Enter")
        assert edits(page)[0][0]["value"]["at"] == ["3-5/64 in", "2 in"]


def test_a_part_in_the_way_is_said_before_it_is_put_down(chromium: Browser) -> None:
    """Knob 1 pushed onto knob 2, which was placed by hand; onto the flaw; under the clamp at B6."""
    with opened(chromium, plan_of()) as page:
        warned = page.locator(".plan-warn")
        drag(page, (50, 90), (90, 90), drop=False)
        assert "Too near knob 2" in warned.inner_text()
        page.mouse.move(*on_screen(page, 140, 20))
        assert "On a flaw: knot." in warned.inner_text()
        page.mouse.move(*on_screen(page, 30, 60))
        assert "Too near the clamp at B6." in warned.inner_text()
        page.keyboard.press("Escape")
        assert warned.is_hidden()


def test_hostile_names_are_text(chromium: Browser) -> None:
    """Names, holes and words of flaws and findings never become markup or run."""
    evil = '<img src=x onerror="window.hacked = 1"></svg><script>window.hacked = 1</script>'
    plan = plan_of()
    plan["parts"][0]["name"] = plan["clamps"][0]["name"] = plan["flaws"][0]["what"] = evil
    plan["findings"][0]["text"] = evil
    with opened(chromium, plan) as page:
        for key in ("clamp:0", "flaw:0"):
            focus(page, key)
            page.keyboard.press("ArrowUp")
            page.keyboard.press("Enter")
        page.get_by_role("combobox", name="Chosen").select_option(f"part:{evil}")
        assert page.locator(".plan-panel h3").inner_text() == evil
        assert page.locator("#plan img, #plan script").count() == 0
        assert page.evaluate("window.hacked") is None


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_nothing_serious_is_in_anyones_way(chromium: Browser, scheme: Scheme) -> None:
    """The checks of axe-core, with a part, then a flaw chosen and being moved."""
    with opened(chromium, plan_of(), scheme=scheme) as page:
        for key in ("part:strap 1", "flaw:0"):
            focus(page, key)
            page.keyboard.press("ArrowUp")
            found = Axe().run(page).response["violations"]
            grave = [
                (one["id"], one["nodes"][0]["html"])
                for one in found
                if one["impact"] in ("serious", "critical")
            ]
            assert grave == []


@pytest.mark.parametrize("size", [(1280, 800), (820, 1180), (390, 844)], ids=["desk", "tablet", "phone"])
def test_nothing_overflows_and_what_is_pressed_is_large(chromium: Browser, size: tuple[int, int]) -> None:
    """No sideways scrolling of the page; buttons, fields and lists are at least 44 px high."""
    with opened(chromium, plan_of(), size) as page:
        focus(page, "flaw:0")
        assert page.evaluate("document.documentElement.scrollWidth") <= size[0]
        high = page.evaluate(
            "[...document.querySelectorAll('#plan :is(button, select, input[type=text], summary)')]"
            ".filter((one) => one.offsetParent).map((one) => one.getBoundingClientRect().height)"
        )
        assert len(high) > 8
        assert min(high) >= 44
