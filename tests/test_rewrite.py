"""Job files edited in place: what an edit doesn't touch stays byte for byte as it was."""

import json
import tomllib
from pathlib import Path
from typing import Any

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from proveout.finding import Edit, InputError
from proveout.job.edited import CannotEdit, applied, same
from proveout.job.lines import DEEPEST, Keys, marks_of
from proveout.job.rewrite import edit_data, edit_from, rewritten
from test_job_lines import FILE, ways

ROOT = Path(__file__).parent.parent
FILES = [*sorted(ROOT.rglob("examples/*/*.toml")), *sorted(ROOT.rglob("starter_files/*.toml"))]

JOB = """\
# The kit.

units = "mm"
name = 'kit'       # as ever

[stock]
size = [340, 240]  # as sawn
thickness = [
    "11.82",  # left
    "11.76",  # right
]
# nominal_thickness = 12

# The bed is flat.
[zero]
level = "bed"      # by paper

# Two straps.
[[clamps]]
clamp = "low strap"
hole = "C5"

# The other.
[[clamps]]
clamp = "low strap"
hole = "Q5"

[[parts]]
name = "knob"
rules = [{ bolt = "M6", fit.k = 1 }, { dowel = "6" }]
[[parts.rules2]]
a = 1
"""


def put(*keys: str | int, value: object) -> Edit:
    return Edit(what="set", keys=keys, value=value)


def drop(*keys: str | int) -> Edit:
    return Edit(what="drop", keys=keys)


def add(*keys: str | int, value: dict[str, object]) -> Edit:
    return Edit(what="add", keys=keys, value=value)


@pytest.mark.parametrize(
    ("edit", "old", "new"),
    [
        (put("name", value='new "kit"\n'), "'kit'  ", '"new \\"kit\\"\\n"  '),
        (put("stock", "size", value=["340", "250.5"]), "240]", "250.5]"),
        (put("stock", "size", value=[340, "9 in"]), "240]", '"9 in"]'),
        (put("stock", "thickness", 1, value="11.9"), '"11.76"', '"11.9"'),
        (put("stock", "thickness", value=["11.82", "12"]), '"11.76"', '"12"'),
        (put("coats", value=2), "as ever\n", "as ever\ncoats = 2\n"),
        (put("stock", "at", value=[70, 60.5]), "]\n# nom", "]\nat = [70, 60.5]\n# nom"),
        (put("air", "moisture", value="9 %"), "12\n\n", '12\n\n[air]\nmoisture = "9 %"\n\n'),
        (put("parts", 0, "rules", 0, "holds", value="nut"), "k = 1", 'k = 1, holds = "nut"'),
        (put("parts", 0, "rules", 0, "fit", "l", value=True), "k = 1", "k = 1, fit.l = true"),
        (put("a b", "c", value=1), "a = 1\n", 'a = 1\n\n["a b"]\nc = 1\n'),
        (put("parts", 0, "count", value=8), '"6" }]\n', '"6" }]\ncount = 8\n'),
        (drop("name"), "name = 'kit'       # as ever\n", ""),
        (drop("stock", "thickness", 0), '    "11.82",  # left\n', ""),
        (drop("stock", "size", 1), "340, 240", "340"),
        (drop("stock", "size", 0), "340, 240", "240"),
        (drop("zero"), '# The bed is flat.\n[zero]\nlevel = "bed"      # by paper\n\n', ""),
        (drop("clamps", 0), '# Two straps.\n[[clamps]]\nclamp = "low strap"\nhole = "C5"\n\n', ""),
        (drop("clamps", 1), '# The other.\n[[clamps]]\nclamp = "low strap"\nhole = "Q5"\n\n', ""),
        (drop("parts", 0, "rules2", 0), "[[parts.rules2]]\na = 1\n", ""),
        (drop("parts", 0, "rules", 0), '{ bolt = "M6", fit.k = 1 }, ', ""),
        (drop("parts", 0, "rules", 0, "bolt"), 'bolt = "M6", ', ""),
        (drop("parts"), JOB[JOB.index("\n[[parts]]") :], ""),
        (
            add("clamps", value={"clamp": "low strap", "hole": "C10"}),
            '"Q5"\n',
            '"Q5"\n\n[[clamps]]\nclamp = "low strap"\nhole = "C10"\n',
        ),
        (
            add("flaws", value={"at": [1, 2]}),
            'hole = "Q5"\n',
            'hole = "Q5"\n\n[[flaws]]\nat = [1, 2]\n',
        ),
        (add("places", value={"part": "knob"}), "a = 1\n", 'a = 1\n\n[[places]]\npart = "knob"\n'),
        (add("parts", 0, "rules", value={"layer": "A"}), '"6" }', '"6" }, {layer = "A"}'),
        (add("parts", 0, "rules2", value={"a": 2}), "a = 1\n", "a = 1\n\n[[parts.rules2]]\na = 2\n"),
    ],
    ids=lambda value: f"{value.what} {value.keys}" if isinstance(value, Edit) else "",
)
@pytest.mark.parametrize("end", ["\n", "\r\n"])
@pytest.mark.parametrize("mark", ["", "\ufeff"])
def test_an_edit_changes_its_own_words_and_no_others(
    edit: Edit, old: str, new: str, end: str, mark: str
) -> None:
    """Each edit of a file with comments gives the very text that a careful person would have written."""
    assert JOB.count(old) >= 1
    expected = JOB.replace(old, new, 1) if old in ("a = 1\n",) or JOB.count(old) == 1 else None
    assert expected is not None, "the words are not the only ones"
    before, after = (mark + text.replace("\n", end) for text in (JOB, expected))
    assert rewritten(before, [edit]) == after


def test_a_long_list_is_written_one_item_a_line() -> None:
    """A list that would run past 110 columns gets a line for each of its items."""
    readings = [f"11.{number} mm" for number in range(10, 24)]
    text = rewritten("[stock]\nat = 1\n  t = 1 # one\n", [put("stock", "t", value=readings)])
    body = "".join(f'      "{reading}",\n' for reading in readings)
    assert text == f"[stock]\nat = 1\n  t = [\n{body}  ] # one\n"


@pytest.mark.parametrize(
    ("text", "edit", "after"),
    [
        ("stock.size = 1 # a\nx = 2", put("stock", "at", value=3), "stock.size = 1 # a\nstock.at = 3\nx = 2"),
        ("stock.size = 1 # a\nx = 2", drop("stock", "size"), "stock = {}\nx = 2"),
        ("[a.b]\nc = 1\n", drop("a", "b"), "[a]\n"),
        ("[a.b]\nc = 1\n", put("a", "d", value=1), "[a.b]\nc = 1\n\n[a]\nd = 1\n"),
        ("# first\n[a]\nc = 1\n\n[b]\n", drop("a"), "# first\n\n[b]\n"),
        ("# first\n[a]\n", put("x", value=1), "# first\nx = 1\n\n[a]\n"),
        ("x = 1", put("y", value=2), "x = 1\ny = 2"),
        ("", put("y", value=2), "y = 2\n"),
        ("x = {}", put("x", "y", value=2), "x = {y = 2}"),
        ("x = [\n  {y = 1} # c\n]", add("x", value={"y": 2}), "x = [\n  {y = 1}, # c\n  {y = 2},\n]"),
        ("x = [\n  {y = 1}, # c\n]", add("x", value={"y": 2}), "x = [\n  {y = 1}, # c\n  {y = 2},\n]"),
        ("x = []", add("x", value={"y": 2}), "x = [{y = 2}]"),
        ("x = [{y = 1}]\nz = 1\n", drop("x", 0), "z = 1\n"),
        ("x = [1, # one\n 2]", drop("x", 1), "x = [1, # one\n]"),
        ('a = """\n# b"""\n[c]\nd = 1\n', drop("c"), 'a = """\n# b"""\n'),
        ("x = 4 # four\n", put("x", value="044"), 'x = "044" # four\n'),
        ("x = 4 # four\n", put("x", value="3.50"), "x = 3.5 # four\n"),
        ("x = '4' # four\n", put("x", value="3.5"), 'x = "3.5" # four\n'),
    ],
)
def test_odd_spellings_are_edited_as_they_are_spelt(text: str, edit: Edit, after: str) -> None:
    """Dotted keys, braces, brackets and tables that nothing else names keep their ways of being written."""
    assert rewritten(text, [edit]) == after


@pytest.mark.parametrize(
    ("edit", "said"),
    [
        (put("clamps", 5, "hole", value="A1"), "job file:19:1: clamps[6].hole: there is no clamps[6]."),
        (drop("stock", "colour"), "job file:6:1: stock.colour: there is no stock.colour."),
        (put("name", "x", value=1), 'name.x: name is "kit" and has no fields.'),
        (put("clamps", value=[]), "clamps is a table on lines of its own: change its fields one by one."),
        (add("name", value={"x": 1}), 'name is "kit" and not a list of tables.'),
        (put("name", value="\ud800"), "text with half a character is not text that a file can hold."),
        (put("name", value=None), "NoneType is not a value that the file can hold."),
        (put("name", value="9" * 20_000), "the line has"),
    ],
)
def test_what_does_not_fit_is_refused_with_its_place(edit: Edit, said: str) -> None:
    """An edit of something that isn't there says what isn't, and where in the file one looked for it."""
    with pytest.raises(InputError) as caught:
        rewritten(JOB, [edit])
    assert said in str(caught.value) or "can't be changed" in str(caught.value)


@pytest.mark.parametrize("file", FILES, ids=lambda file: f"{file.parent.name}-{file.name}")
def test_every_field_of_the_examples_can_be_set_and_dropped(file: Path) -> None:
    """Set and dropped one by one, no field disturbs any line but its own, nor any comment but its own."""
    text = file.read_bytes().decode()
    values = tomllib.loads(text)
    for keys in ways(values):
        value: Any = values
        for key in keys:
            value = value[key]
        if not isinstance(value, (dict, list)):
            changed = rewritten(text, [put(*keys, value="new")]).splitlines()
            differ = [pair for pair in zip(text.splitlines(), changed, strict=True) if pair[0] != pair[1]]
            assert len(differ) == (value != "new"), keys
        dropped = rewritten(text, [drop(*keys)])
        left = iter(text.splitlines())
        if not isinstance(keys[-1], int) or isinstance(value, dict):
            assert all(line in left for line in dropped.splitlines()), keys


VALUES = st.recursive(
    st.text(max_size=5) | st.integers(-9, 99) | st.floats() | st.booleans() | st.just("4.5"),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=3), inner, max_size=2),
    max_leaves=4,
)
NAMES = st.sampled_from(["a", "b", "new", "a.b", "stock", "air"])


@st.composite
def edits(draw: st.DrawFn, values: dict[str, Any]) -> Edit:
    """An edit of something that is there, or of something new beside it."""
    found = list(ways(values))
    keys: Keys = draw(st.sampled_from(found)) if found else ()
    if draw(st.integers(0, 3)) == 0:
        keys = ()
    what = draw(st.sampled_from(["set", "drop", "add"]))
    if not keys or (what != "drop" and draw(st.integers(0, 1)) == 0):
        keys = (*keys, draw(NAMES))
    fields = st.dictionaries(st.text(max_size=3), VALUES, max_size=2)
    value = draw(fields if what == "add" else VALUES)
    return Edit(what=what, keys=keys, value=value)  # type: ignore[arg-type]


def others(text: str, edit: Edit) -> dict[Keys, str]:
    """The text of every field on lines of its own that an edit has no business with, to the line's end."""
    keys = edit.keys if edit.what != "drop" or isinstance(edit.keys[-1], str) else edit.keys[:-1]
    fields = [mark for mark in marks_of(text) if mark.kind == "field"]
    apart = [mark for mark in fields if mark.keys[: len(keys)] != keys]
    return {
        mark.keys: text[mark.begin : (text + "\n").index("\n", mark.end)].rstrip("\r")
        for mark in apart
        if mark.keys != keys[: len(mark.keys)]
    }


@settings(max_examples=600, deadline=None)
@given(FILE, st.sampled_from(["\n", "\r\n"]), st.data())
def test_any_edit_of_any_file_says_what_it_should_or_is_refused(
    text: str, end: str, data: st.DataObject
) -> None:
    """Values are those of the edits; lines outside the changed stretch stay, with their comments and ends."""
    try:
        values = tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        assume(False)
    text = text.replace("\n", end)
    values = tomllib.loads(text)
    edit = data.draw(edits(values))
    try:
        wanted = applied(values, [edit])
    except CannotEdit:
        with pytest.raises(InputError):
            rewritten(text, [edit])
        return
    try:
        after = rewritten(text, [edit])
    except InputError as error:
        assert may_be_refused(values, edit, wanted), error
        return
    assert same(tomllib.loads(after), wanted)
    kept = others(after, edit)
    assert {keys: kept.get(keys) for keys in others(text, edit)} == others(text, edit)
    if edit.what != "drop":
        assert after.count("# [c]") >= text.count("# [c]") - str(values).count("# [c]")
    assert "\n" not in after.replace("\r\n", "") or end == "\n" or "\r\n" not in text


def may_be_refused(values: dict[str, Any], edit: Edit, wanted: dict[str, Any]) -> bool:
    """Tables on lines of their own are not set whole, and nothing nests deeper than is read."""
    if max(map(len, ways(wanted))) > DEEPEST:
        return True
    held: Any = values
    for key in edit.keys:
        try:
            held = held[key]
        except (KeyError, IndexError, TypeError):
            return False
    return edit.what == "set" and isinstance(held, (dict, list))


def test_edits_follow_one_another() -> None:
    """Each edit is of the text that the one before has left: numbers of items count anew."""
    after = rewritten(JOB, [drop("clamps", 0), put("clamps", 0, "hole", value="Q6")])
    assert [clamp["hole"] for clamp in tomllib.loads(after)["clamps"]] == ["Q6"]


@pytest.mark.parametrize("edit", [put("a", 0, "b", value=[1, "x"]), drop("a"), add("a", value={"b": 1.5})])
def test_an_edit_comes_back_from_json(edit: Edit) -> None:
    """The JSON form holds the whole of an edit."""
    assert edit_from(json.loads(json.dumps(edit_data(edit)))) == edit


@pytest.mark.parametrize(
    "data",
    [
        None,
        [],
        {"what": "move", "keys": ["a"], "value": 1},
        {"what": "set", "keys": [], "value": 1},
        {"what": "set", "keys": ["a"]},
        {"what": "set", "keys": [True], "value": 1},
        {"what": "set", "keys": [-1], "value": 1},
        {"what": "set", "keys": ["a"], "value": 1, "more": 2},
    ],
)
def test_other_json_is_refused(data: object) -> None:
    """What isn't an edit is not taken for one."""
    with pytest.raises(InputError, match="an edit reads"):
        edit_from(data)
