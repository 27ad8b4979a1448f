"""`PYTHONPATH=tests python -m benchmarks.page`: the view of the proof, drawn without a graphics card.

For the examples and for a whole sheet of 200,000 moves: the scene's bytes, how long the page takes to open
it, how long a step of the slider keeps the page busy, and pictures a second while the sheet is turned. The
page is 1280 x 800. Other work on the machine shows in every figure; the best of each is told too.
"""

import json
import statistics
import time
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Final

from playwright.sync_api import Browser

from benchmarks import sheet
from browser import STATIC, chromium_found, launched, serving
from proveout.card.answers import finding_record
from proveout.card.scene import scene
from proveout.job.read import read_job
from proveout.pack.made import Made
from proveout.pack.plan_picture import numbered
from proveout.plan import make
from proveout.proof.prove import prove

EXAMPLES: Final = Path(__file__).parent.parent / "examples"
NAMES: Final = ("clamp-kit", "inch-knobs", "drawn-bracket")
PAGE: Final = b"""<!doctype html><html lang=en><meta charset=utf-8><title>Proof</title>
<link rel=icon href="data:,"><link rel=stylesheet href=/static/look.css>
<link rel=stylesheet href=/static/proof_view.css><div id=root></div>
<script type=module src=/page.js></script>"""
MOUNT: Final = b"""import { mountProof } from "/static/proof_view.js";
const [scene, given] = await Promise.all(
  [fetch("/scene").then((one) => one.arrayBuffer()), fetch("/given.json").then((one) => one.json())]);
globalThis.view = mountProof(document.getElementById("root"), { scene, ...given });
requestAnimationFrame(() => requestAnimationFrame(() => { globalThis.opened = performance.now(); }));"""
BUSY: Final = """globalThis.busy = 0;
const later = requestAnimationFrame;
globalThis.requestAnimationFrame = (act) => later((stamp) => {
  const begun = performance.now();
  act(stamp);
  busy += performance.now() - begun;
});"""
STEPS: Final = """async () => {
  const slider = document.querySelector("input.moment");
  const frame = () => new Promise((done) => requestAnimationFrame(done));
  const took = [];
  for (let step = 0; step < 60; step += 1) {
    await frame();
    const begun = performance.now();
    busy = 0;
    slider.value = Number(slider.max) * ((step * 37) % 61) / 61;
    slider.dispatchEvent(new Event("input"));
    const set = performance.now() - begun;
    await frame(); // the picture is drawn first in this frame
    took.push(set + busy);
  }
  return took;
}"""
TURNS: Final = """async () => {
  const canvas = document.querySelector("canvas.sheet");
  const key = () => canvas.dispatchEvent(new KeyboardEvent("keydown", { key: "ArrowLeft" }));
  const seconds = [];
  for (let second = 0; second < 6; second += 1) {
    const begun = performance.now();
    let pictures = 0;
    while (performance.now() - begun < 1000) {
      await new Promise((done) => { requestAnimationFrame(done); key(); });
      pictures += 1;
    }
    seconds.push(pictures * 1000 / (performance.now() - begun));
  }
  return { seconds, wide: canvas.clientWidth, high: canvas.clientHeight, drawn: canvas.width };
}"""


def main() -> None:
    """Print a line for each job, then the page's own size."""
    with launched(chromium_found()) as browser:
        for made in every():
            show(browser, made)
    size = sum(file.stat().st_size for file in STATIC.iterdir())
    print(f"scripts and styles: {size / 1000:.0f} kB (goal: under 3 MB)")


def every() -> Iterator[Made]:
    """The examples, and a whole sheet."""
    for name in NAMES:
        made = make(read_job(EXAMPLES / name / "job.toml"))
        yield made
        if name == NAMES[0]:
            kit = made
    yield whole_sheet(kit)


def whole_sheet(made: Made) -> Made:
    """Another job's frame around the sheet of 200,000 moves."""
    text, bench = sheet.program(sheet.MOVES), sheet.bench(sheet.MOVES)
    verdict = prove([text], bench)
    plate = replace(made.job.shop.plate, size=(2540.0, 1320.0), columns=26, rows=26, pitch=48.0)
    shop = replace(made.job.shop, machine=bench.machine, cutters=bench.cutters, plate=plate)
    stock = replace(made.job.stock, size=bench.stock.size, at=(50.0, 50.0))
    job = replace(made.job, name="whole sheet", shop=shop, stock=stock)
    return replace(
        made, job=job, setup=bench, programs=(text,), verdict=verdict, findings=verdict.findings, placed=()
    )


def show(browser: Browser, made: Made) -> None:
    """Measure one job."""
    begun = time.perf_counter()
    binary = scene(made)
    packing = time.perf_counter() - begun
    given = {
        "findings": [finding_record(*one) for one in numbered(made.findings)],
        "programs": {program.file: program.text for program in made.programs},
        "units": made.job.units,
    }
    files = {"/x.html": PAGE, "/page.js": MOUNT, "/scene": binary, "/given.json": json.dumps(given).encode()}
    page = browser.new_page(viewport={"width": 1280, "height": 800})
    page.add_init_script(BUSY)
    with serving(files) as address:
        page.goto(f"{address}/x.html")
        page.wait_for_function("globalThis.opened", timeout=60_000)
        opened = page.evaluate("globalThis.opened")
        page.wait_for_timeout(1000)
        steps = page.evaluate(STEPS)
        page.wait_for_timeout(500)
        turned = page.evaluate(TURNS)
        page.close()
    print(f"{made.job.name}: picture {turned['wide']} x {turned['high']}, drawn {turned['drawn']} wide")
    print(f"  scene {len(binary) / 1e6:.2f} MB (a whole sheet: under 20), packed in {packing:.2f} s")
    print(f"  opened in {opened / 1000:.2f} s (goal: 5)")
    middle, best, worst = statistics.median(steps), min(steps), max(steps)
    print(f"  slider step {middle:.0f} ms, best {best:.0f}, worst {worst:.0f} (goal: 50)")
    seconds = turned["seconds"]
    print(
        f"  turning {statistics.median(seconds):.0f} pictures a second, best {max(seconds):.0f} (goal: 20)",
        flush=True,
    )


if __name__ == "__main__":
    main()
