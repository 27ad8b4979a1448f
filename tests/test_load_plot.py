"""What people see of the loads: the plots, the table, the summary; their numbers are the proof's own."""

import json
import re
import subprocess
import sys
import xml.etree.ElementTree as ET
from dataclasses import replace
from functools import cache
from importlib.resources import files as package_files
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from jsonschema import Draft202012Validator
from shapely import box

import made_example
from proof_bench import CUTTER, MACHINE, clamp, setup
from proveout.job.records import Job
from proveout.pack.load_plot import BINS, FIRST, HIGH, LEFT, RIGHT, STEP, load_plot, sampled
from proveout.pack.load_words import hardest_lines, loads_of
from proveout.pack.made import Made
from proveout.pack.report import report_html
from proveout.pack.result_json import loads_record, result_record
from proveout.program.text import Program
from proveout.proof.load_clock import clock
from proveout.proof.load_shares import most_force, peak
from proveout.proof.prove import prove
from proveout.proof.verdict import Loads, Verdict
from proveout.quantity import System

EXAMPLES = Path(__file__).parent.parent / "examples"
SIX = replace(
    CUTTER, number=2, name="6 mm", diameter=6.0, shank_diameter=6.0, stick_out=20.0, flute_length=18.0
)
CLAMPS = (clamp("A1", box(0, 0, 8, 60), 12, 24), clamp("C1", box(112, 0, 120, 60), 12, 24))
BENCH = setup((120.0, 60.0, 12.0), clamps=CLAMPS, cutters=(CUTTER, SIX))

SHALLOW = (
    "G21 G90 G17\nM3 S18000\nG4 P3\nG0 X20 Y-8 Z30\nG0 Z11\nG1 Y70 F1200\nG0 Z30\nG4 P2\nG0 X30\nM5\nM2\n"
)
DEEP = "G21 G90 G17\nM3 S18000\nG0 X60 Y-8 Z30\nG1 Z6 F1500\nG1 Y20\nG1 Z4\nG1 Y70\nG0 Z30\nM5\nM2\n"
AIR = "G21 G90 G17\nG0 X10 Y10 Z40\nG1 X60 F1000\nM2\n"


def program(file: str, text: str, cutter: int | None) -> Program:
    """A program as it goes into the proof."""
    cutters = () if cutter is None else (cutter,)
    return Program(file=file, text=text, cutters=cutters, dialect="plain", units="mm")


PROGRAMS = (program("air.nc", AIR, None), program("thin.nc", SHALLOW, 1), program("thick.nc", DEEP, 2))


@cache
def by_hand() -> Made:
    """The example made by hand, once."""
    return made_example.made()


def job(units: System = "mm", *, material: str = "birch plywood") -> Job:
    """A job whose bench is that of the proof."""
    made = by_hand().job
    return replace(
        made,
        units=units,
        stock=replace(made.stock, material=material),
        shop=replace(made.shop, machine=MACHINE, cutters=BENCH.cutters),
    )


@pytest.fixture(scope="module")
def proved() -> Verdict:
    """Air, a shallow slot of a thin cutter, a deep one of a thick cutter."""
    return prove(PROGRAMS, BENCH, cell=0.2)


@pytest.fixture(scope="module")
def loads(proved: Verdict) -> Loads:
    """The loads of that proof."""
    assert proved.loads is not None
    return proved.loads


class Plot:
    """A picture of loads, read back as any other program would read it."""

    def __init__(self, picture: str | None) -> None:
        assert picture is not None
        self.text = picture
        self.root = ET.fromstring(picture)
        spell = "{http://www.w3.org/2000/svg}"
        self.groups = {one.get("data-load", ""): one for one in self.root.iter(f"{spell}g")}
        self.words = ["".join(one.itertext()) for one in self.root.iter(f"{spell}text")]

    def number(self, load: str, name: str) -> float:
        """A number that a plot carries."""
        return float(self.groups[load].get(f"data-{name}", ""))

    def paths(self, load: str, style: str) -> list[str]:
        """The paths of one style in a plot."""
        return [one.get("d", "") for one in self.groups[load] if one.get("class") == style]

    def height(self, load: str, y: float) -> float:
        """The value that a place on the page stands for."""
        top = FIRST + 14 + STEP * list(self.groups).index(load)
        return (1 - (y - top) / HIGH) * self.number(load, "top")

    def levels(self, load: str) -> list[tuple[float, float, float]]:
        """From, to (both as a share of the time) and height of each level of a plot's outline."""
        out: list[tuple[float, float, float]] = []
        (outline,) = self.paths(load, "area")
        x = y = 0.0
        for sign, told in re.findall(r"([MVHZ])([^MVHZ]*)", outline):
            if sign == "M":
                x = float(told.split()[0])
            elif sign == "V":
                y = float(told)
            elif sign == "H":
                share = [(end - LEFT) / (RIGHT - LEFT) for end in (x, float(told))]
                out.append((share[0], share[1], self.height(load, y)))
                x = float(told)
        return out


# --- no peak is lost


@given(
    st.lists(st.tuples(st.integers(0, 900), st.integers(0, 700), st.floats(0, 1e6)), min_size=1, max_size=60)
)
def test_no_peak_is_lost_and_none_is_made_up(told: list[tuple[int, int, float]]) -> None:
    """Each moment has the greatest height of the stretches that fall into it, by looking at all of them."""
    begin, end, at = [], [], 0
    for pause, length, _ in told:
        begin.append(at + pause)
        at += pause + length
        end.append(at)
    bins = 40
    moment = -(-max(at, 1) // bins)
    heights = np.array([height for *_, height in told])
    got = sampled(
        np.array(begin, float), np.array(end, float), heights, total=float(moment * bins), bins=bins
    )
    for number in range(bins):
        low, high = number * moment, (number + 1) * moment
        inside = [
            height
            for first, last, (*_, height) in zip(begin, end, told, strict=True)
            if (first < high and last > low) or (first == last and min(first // moment, bins - 1) == number)
        ]
        assert got[number] == max(inside, default=0.0)
    assert got.max() == heights.max()


# --- when


def test_the_time_of_the_plot_is_the_time_of_the_verdict(proved: Verdict, loads: Loads) -> None:
    """The stretches follow each other, and end when the verdict's minutes do; a change of cutter is a gap."""
    when = clock(proved, loads, MACHINE)
    assert when.total == pytest.approx(proved.minutes.total * 60)
    assert (when.end >= when.begin).all()
    assert (when.begin[1:] >= when.end[:-1] - 1e-6).all()
    for one, (begin, end) in zip(proved.programs, when.programs, strict=True):
        assert end - begin == pytest.approx((one.minutes.total - one.minutes.tool_changes) * 60)
    assert [round(b - a) for (_, a), (b, _) in zip(when.programs, when.programs[1:], strict=False)] == [
        0,
        120,
    ]
    gaps = when.begin[1:] - when.end[:-1]
    assert sorted(np.round(gaps[gaps > 1e-3], 3).tolist()) == [2.0, 3.0, 122.0], "dwell, run-up, change"


def test_a_long_cut_shares_its_time_out_evenly(proved: Verdict, loads: Loads) -> None:
    """A straight cut of 78 mm is as far as a third of its length after a third of its time."""
    when = clock(proved, loads, MACHINE)
    rows = np.flatnonzero((loads.motion.line == 6) & (loads.motion.cutter == 1))
    assert len(rows) > 5
    took = when.end[rows] - when.begin[rows]
    way = np.abs(loads.motion.end[rows, 1] - loads.motion.start[rows, 1])
    assert took / way == pytest.approx(took.sum() / 78.0)


# --- the numbers


@pytest.mark.parametrize("units", ["mm", "in"])
def test_the_plots_show_the_numbers_of_the_proof(proved: Verdict, loads: Loads, units: System) -> None:
    """Each plot's worst value, its line, and the top of its outline, from the arrays by plain numpy."""
    plot = Plot(load_plot(job(units), proved))
    inch = 25.4 if units == "in" else 1.0
    has = MACHINE.spindle.power * np.minimum(loads.motion.speed_rpm / MACHINE.spindle.max_rpm, 1)
    share = 100 * loads.power / np.maximum(has, 1e-9)
    shown = {
        "force": loads.force,
        "power": share,
        "push_off": loads.push_off / inch,
        "chip": loads.chip / inch,
    }
    assert list(plot.groups) == ["force", "power", "push_off", "margin", "chip"]
    for name, values in shown.items():
        assert max(height for *_, height in plot.levels(name)) == pytest.approx(values.max(), rel=2e-3)
    assert max(height for *_, height in plot.levels("margin")) == pytest.approx(
        1 / loads.margin.min(), rel=2e-3
    )
    for name, row in (
        ("power", int(np.argmax(share))),
        ("push_off", int(np.argmax(loads.push_off))),
        ("margin", int(np.argmin(loads.margin))),
    ):
        values = {"power": loads.power, "push_off": loads.push_off, "margin": loads.margin}[name]
        assert plot.number(name, "value") == pytest.approx(values[row], rel=1e-5)
        assert plot.number(name, "line") == loads.motion.line[row]
        assert plot.groups[name].get("data-program") == "thick.nc"


def test_each_level_stands_where_its_cut_is_run(proved: Verdict, loads: Loads) -> None:
    """Between the cuts there is nothing; what is drawn at a time is the greatest of that time."""
    plot = Plot(load_plot(job(), proved))
    when = clock(proved, loads, MACHINE)
    for first, last, height in plot.levels("force"):
        inside = (when.begin < (last + 0.3 / BINS) * when.total) & (
            when.end > (first - 0.3 / BINS) * when.total
        )
        assert height <= loads.force[inside].max() * 1.01 + 0.02
        assert height > 0
    cutting = when.begin[loads.force > 0] / when.total
    levels = plot.levels("force")
    assert all(any(a - 1e-3 <= at <= b + 1e-3 for a, b, _ in levels) for at in cutting.tolist())


def test_the_dashed_lines_stand_at_the_limits(proved: Verdict) -> None:
    """0.1 mm, 80 % and 3 times; each cutter's own force where it is in sight."""
    plot = Plot(load_plot(job(), proved))
    for name, limit in (("push_off", 0.1), ("power", 80.0), ("margin", 1 / 3)):
        (line,) = plot.paths(name, "limit")
        y = float(line.split("H")[0].split()[1])
        assert plot.height(name, y) == pytest.approx(limit, rel=5e-3)


def test_the_worst_place_is_the_one_closest_to_its_limit(proved: Verdict, loads: Loads) -> None:
    """A thin cutter that is pushed a little may be nearer its end than a thick one pushed hard."""
    force = loads_of(job(), proved)[0]
    worst = peak(proved, loads, force)
    assert worst is not None
    stands = np.where(loads.motion.cutter == 1, most_force(CUTTER), most_force(SIX))
    assert worst.row == int(np.argmax(loads.force / stands))
    assert worst.share == pytest.approx(float((loads.force / stands).max()))


def test_a_cutter_stands_what_beam_theory_says() -> None:
    """F = sigma pi d^3 / (32 L) with d = 0.8 D, halved for a dull edge: 6 mm, 20 mm out, 600 N/mm2.

    Source: any handbook's bending of a round bar; 0.8 D from Kops and Vo (see engagement.py)
    """
    assert most_force(SIX) == pytest.approx(600 * np.pi * 4.8**3 / (32 * 20) / 2)


def test_more_stretches_give_no_larger_picture(proved: Verdict, loads: Loads) -> None:
    """At most 800 points an outline, however long the program."""
    plot = Plot(load_plot(job(), proved))
    for name in plot.groups:
        (outline,) = plot.paths(name, "area")
        assert len(re.findall("[MVH]", outline)) <= 800
    assert 2 * BINS + 2 <= 800


# --- the picture


def test_the_picture_fits_small_pages_and_names_what_it_shows(proved: Verdict) -> None:
    """420 wide, no colour, every program by name, nothing from outside."""
    plot = Plot(load_plot(job(), proved))
    assert plot.root.get("viewBox", "").split()[2] == "420"
    for one in PROGRAMS:
        assert any(one.file in words for words in plot.words)
    colours = set(re.findall(r"#[0-9a-f]{3,6}", plot.text))
    for colour in colours:
        short = colour[1:] if len(colour) == 7 else "".join(2 * letter for letter in colour[1:])
        red, green, blue = (int(short[at : at + 2], 16) for at in (0, 2, 4))
        assert max(red, green, blue) - min(red, green, blue) < 24, f"{colour} is a colour"
    assert "http" not in plot.text.replace("http://www.w3.org/2000/svg", "")


def test_the_same_proof_gives_the_same_bytes() -> None:
    """Proved and drawn again, letter for letter."""
    first, second = (load_plot(job(), prove(PROGRAMS, BENCH, cell=0.4)) for _ in range(2))
    assert first == second


def test_a_program_s_name_is_never_markup() -> None:
    """A file may be called anything."""
    name = '<script>alert("&1")</script>' + "x" * 60 + ".nc"
    plot = Plot(load_plot(job(), prove([replace(PROGRAMS[2], file=name)], BENCH, cell=0.4)))
    assert plot.groups["force"].get("data-program") == name
    assert "<script" not in plot.text


def test_a_bench_without_clamps_has_no_plot_of_them() -> None:
    """Nothing is said of a hold-down that nobody stated, and it is null in the result."""
    verdict = prove([PROGRAMS[2]], replace(BENCH, clamps=()), cell=0.4)
    assert list(Plot(load_plot(job(), verdict)).groups) == ["force", "power", "push_off", "chip"]
    record: Any = loads_record(job(), verdict)
    assert record["programs"][0]["margin"] is None
    assert "clamps" not in " ".join(hardest_lines(job(), verdict))


def test_clamps_that_hold_nothing_leave_the_scale_readable() -> None:
    """Half a newton of clamping: 1 and 3 are told apart on the scale, and the heading has the true value."""
    weak = replace(BENCH, clamps=tuple(replace(one, force=0.5) for one in CLAMPS))
    plot = Plot(load_plot(job(), prove([PROGRAMS[2]], weak, cell=0.4)))
    assert plot.number("margin", "value") < 0.5
    assert max(height for *_, height in plot.levels("margin")) == pytest.approx(2.0, rel=1e-3)
    names = [one.text for one in plot.groups["margin"] if one.tag.endswith("text")]
    assert {"1", "3"} <= set(names)


# --- report, result and words


def report_of(verdict: Verdict, material: str = "birch plywood") -> str:
    """The report of the example by hand with another verdict."""
    made: Made = replace(by_hand(), job=job(material=material), verdict=verdict)
    return report_html(made, "<svg></svg>", b"")


def test_the_report_has_the_plots_and_a_row_for_each_load(proved: Verdict) -> None:
    """The section, the picture and the five worst places."""
    page = report_of(proved)
    section = page.split("<h2>Loads along the programs</h2>")[1].split("</section>")[0]
    assert section.count("<tr>") == 6
    assert load_plot(job(), proved) in section  # type: ignore[operator]
    assert section.count("thick.nc<br>line") >= 3


@pytest.mark.parametrize("why", ["unknown", "air"])
def test_where_there_are_no_loads_a_sentence_says_why(proved: Verdict, why: str) -> None:
    """No heading over nothing: a material that nobody knows, or programs that cut air."""
    verdict = replace(proved, loads=None) if why == "unknown" else prove([PROGRAMS[0]], BENCH, cell=0.4)
    page = report_of(verdict, material="unobtainium" if why == "unknown" else "birch plywood")
    assert "Loads along" not in page
    assert ("unobtainium&quot; cuts" in page) if why == "unknown" else ("take nothing off" in page)
    assert load_plot(job(), verdict) is None
    assert loads_record(job(), verdict) is None
    assert hardest_lines(job(), verdict) == []


def schema() -> dict[str, Any]:
    """The published schema."""
    text = package_files("proveout.pack").joinpath("result.schema.json").read_text(encoding="utf-8")
    found: dict[str, Any] = json.loads(text)
    return found


def test_the_result_tells_each_program_s_peaks_and_keeps_to_its_schema(proved: Verdict, loads: Loads) -> None:
    """Small, valid, and no field of it may be missing or unknown; the numbers are the proof's."""
    made = replace(by_hand(), job=job(), verdict=proved)
    told: Any = json.loads(json.dumps(result_record(made)))
    valid = Draft202012Validator(schema())
    assert [fault.message for fault in valid.iter_errors(told)] == []
    air, thin, thick = told["loads"]["programs"]
    assert [air["file"], thin["file"], thick["file"]] == [one.file for one in PROGRAMS]
    assert all(air[name] is None for name in ("force", "power", "push_off", "margin", "chip"))
    mine = loads.motion.cutter == 1
    assert thin["push_off"]["value"] == pytest.approx(loads.push_off[mine].max(), rel=1e-3)
    assert thick["margin"]["value"] == pytest.approx(loads.margin[~mine].min(), rel=1e-3)
    assert thick["margin"]["limit"] == 3
    assert len(json.dumps(told["loads"])) < 3000
    for spoil in ("value", "limit", "line", "at"):
        broken = json.loads(json.dumps(told))
        del broken["loads"]["programs"][1]["force"][spoil]
        assert not valid.is_valid(broken)
    told["loads"]["programs"][1]["force"]["more"] = 1
    assert not valid.is_valid(told)


def test_the_hardest_cut_is_told_in_two_lines(proved: Verdict, loads: Loads) -> None:
    """Where any of force, power, push-off or hold-down comes closest to its limit."""
    first, second = hardest_lines(job(), proved)
    shares = np.stack([load.shares for load in loads_of(job(), proved)[:4]])
    row = int(np.argmax(shares.max(axis=0)))
    assert first == f"hardest cut: line {loads.motion.line[row]} of thick.nc:"
    assert f"{loads.push_off[row]:.3f} mm of push-off" in second
    assert second.endswith(" times") == bool(np.isfinite(loads.margin[row]))


# --- the command


def run(*arguments: object) -> "subprocess.CompletedProcess[str]":
    """The command in a process of its own."""
    command = [sys.executable, "-m", "proveout.cli", "prove", *map(str, arguments)]
    return subprocess.run(command, capture_output=True, text=True, check=False)


def test_prove_draws_the_loads_when_asked_and_writes_over_nothing(tmp_path: Path) -> None:
    """A picture once; again only with --replace, and then only over a picture of ours."""
    latch = EXAMPLES / "bought-program"
    base = (latch / "latch-plate.nc", "--setup", latch / "setup.toml", "--loads")
    picture = tmp_path / "loads.svg"
    done = run(*base, picture, "--json")
    assert done.returncode in (0, 1)
    assert Plot(picture.read_text()).groups
    assert json.loads(done.stdout)["loads"]["programs"][0]["file"] == "latch-plate.nc"
    before = picture.read_bytes()
    again = run(*base, picture)
    assert again.returncode == 2
    assert "--replace" in again.stderr
    replaced = run(*base, picture, "--replace")
    assert replaced.returncode == done.returncode
    assert replaced.stdout.count("hardest cut: line") == 1
    assert picture.read_bytes() == before
    other = tmp_path / "mine.svg"
    other.write_text("<svg>mine</svg>")
    assert run(*base, other, "--replace").returncode == 2
    assert other.read_text() == "<svg>mine</svg>"
    nowhere = run(*base, tmp_path / "none" / "loads.svg")
    assert nowhere.returncode == 2
    assert "no such folder" in nowhere.stderr
    assert sorted(one.name for one in tmp_path.iterdir()) == ["loads.svg", "mine.svg"]
