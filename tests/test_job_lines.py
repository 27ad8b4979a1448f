"""Places in a TOML text: every field of a job file is found at the line and column where it stands."""

import re
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from proveout.finding import InputError
from proveout.job.lines import Keys, Spot, line_table, nearest_spot, spelled
from proveout.job.source import BIGGEST, parse_source, read_source

ROOT = Path(__file__).parent.parent

TEXT = '''\
# a comment with [brackets] and "quotes
name = "not a [table]"   # = nor "this"
[stock]
thickness = ["11.8", # first ]
    "11.9 mm",

    "11.7",
]
note = """
[machine]
a = 1 \\""" ""
"""
other = \'\'\'
[[parts]] '' \'\'\'\'
after = 1
[[parts]]
name = 'knob # 1'
"quo.ted" . deep = 3
head = {across_flats = "9.92", size.x = [1, {z = 2}]}
[[parts]]
[parts.extra]
when = 1979-05-27 07:32:00 # a date with a space
'''


@pytest.mark.parametrize(
    ("keys", "line", "column"),
    [
        (("name",), 2, 1),
        (("stock",), 3, 1),
        (("stock", "thickness"), 4, 1),
        (("stock", "thickness", 0), 4, 14),
        (("stock", "thickness", 1), 5, 5),
        (("stock", "thickness", 2), 7, 5),
        (("stock", "note"), 9, 1),
        (("stock", "other"), 13, 1),
        (("stock", "after"), 15, 1),
        (("parts", 0), 16, 1),
        (("parts", 0, "name"), 17, 1),
        (("parts", 0, "quo.ted", "deep"), 18, 1),
        (("parts", 0, "head", "across_flats"), 19, 9),
        (("parts", 0, "head", "size", "x", 1, "z"), 19, 46),
        (("parts", 1), 20, 1),
        (("parts", 1, "extra"), 21, 1),
        (("parts", 1, "extra", "when"), 22, 1),
    ],
)
def test_each_field_is_found_where_it_stands(keys: Keys, line: int, column: int) -> None:
    """Texts and lists over lines, inline tables, dotted and quoted keys, comments: none leads astray."""
    assert line_table(TEXT)[keys] == Spot(line, column)


def ways(value: object, keys: Keys = ()) -> Iterator[Keys]:
    """Every way from the top of a parsed file to a table, a field or a list's item."""
    if keys:
        yield keys
    inner: list[tuple[Any, object]] = []
    if isinstance(value, dict):
        inner = list(value.items())
    elif isinstance(value, list):
        inner = list(enumerate(value))
    for key, each in inner:
        yield from ways(each, (*keys, key))


@pytest.mark.parametrize("file", sorted(ROOT.rglob("examples/*/*.toml")), ids=lambda file: file.parent.name)
def test_the_examples_places_are_where_their_keys_stand(file: Path) -> None:
    """At the place of every field of both examples the text begins with that field's name."""
    text = file.read_text()
    lines, spots = text.split("\n"), line_table(text)
    assert set(spots) == set(ways(tomllib.loads(text)))
    for keys, spot in spots.items():
        rest = lines[spot.line - 1][spot.column - 1 :]
        if isinstance(keys[-1], str):
            assert rest.startswith((keys[-1], "[")), keys


BARE = st.from_regex(r"[a-z0-9_-]{1,4}", fullmatch=True)
QUOTED = st.sampled_from(['"a.b"', "'c d'", '"#"', '"\\u0041\\""', "''", '"]"', "'='"])
KEY = st.lists(BARE | QUOTED, min_size=1, max_size=2).map(" . ".join)
WORDS = ["1", "-0.5", "true", "nan", "1979-05-27", "1979-05-27 07:32:00", "0xFF"]
TEXTS = [
    '"x"',
    "'[y]'",
    '"a # b"',
    '"\\""',
    '""',
    '"""\n[z]\n"quoted" """',
    '""""""',
    '"""a""b"""',
    '""""it"""""',
]
TEXTS_RAW = ["'''\n=\n'''", "''''''", "''''it'''''"]
SCALAR = st.sampled_from([*WORDS, *TEXTS, *TEXTS_RAW])


def listed(items: list[str]) -> str:
    """A list over several lines, with comments that hold brackets."""
    return "[ # ]\n" + "".join(f"  {item}, # [{number}\n" for number, item in enumerate(items)) + "]"


def inlined(pairs: list[tuple[str, str]]) -> str:
    """An inline table."""
    return "{" + ", ".join(f"{key} = {value}" for key, value in pairs) + "}"


VALUE = st.recursive(
    SCALAR,
    lambda inner: (
        st.lists(inner, max_size=3).map(listed)
        | st.lists(st.tuples(BARE, SCALAR), max_size=3, unique_by=lambda pair: pair[0]).map(inlined)
    ),
    max_leaves=6,
)
STATEMENT = st.tuples(KEY, VALUE).map(lambda pair: f"  {pair[0]} = {pair[1]}  # end")
HEADER = KEY.map(lambda key: f"[ {key} ]") | KEY.map(lambda key: f"[[{key}]]")
FILE = st.lists(STATEMENT | HEADER | st.just("") | st.just("# [c]"), max_size=8).map("\n".join)


@settings(max_examples=400)
@given(FILE)
def test_the_table_of_places_has_the_same_ways_as_the_parsed_file(text: str) -> None:
    """Of any text that is TOML, the scanner finds the very tables, fields and items that the parser finds."""
    try:
        values = tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        return
    assert set(line_table(text)) == set(ways(values))


def test_ways_are_spelt_for_people() -> None:
    """Items are counted from 1, and a name that could upset a terminal is made safe."""
    assert spelled(("parts", 1, "calipers", "height")) == "parts[2].calipers.height"
    assert spelled(("stock", "thickness", 0)) == "stock.thickness[1]"
    assert spelled(("a\x1bb",)) == "a?b"


def test_what_is_missing_is_placed_at_its_table() -> None:
    """A field that isn't there has the place of the table that lacks it, or the file's first line."""
    spots = line_table(TEXT)
    assert nearest_spot(spots, ("parts", 1, "name")) == Spot(20, 1)
    assert nearest_spot(spots, ("zero", "level")) == Spot(1, 1)


AFTER = "expected newline or end of document after a statement"
AGAIN = "cannot overwrite a value"
DEEP = "tables or lists are nested more than 8 deep. Nothing in a job or shop file goes deeper than 4."
QUOTES = 'Text and values with a unit stand in quotes: "11.8 mm".'
INCHES = 'Write inches as "in" inside the quotes: "1/4 in".'
ONCE = "Each field stands once in its table: take one of them out."
BRACKETS = "Several tables of one name are all written in two brackets: [[clamps]]."
CLOSED = 'Text opens and closes with quotes on one line: "birch plywood".'


@pytest.mark.parametrize(
    ("text", "place", "complaint", "way_out"),
    [
        ("a = 1\nthickness = 11.8 mm\n", "2:18", AFTER, f"thickness = 11.8 mm - {QUOTES}"),
        ('bolt = "1/4""', "1:13", AFTER, f'bolt = "1/4"" - {INCHES}'),
        ("a = 1\na = 2", "2:6", AGAIN, f"a = 2 - {ONCE}"),
        ("[clamps]\n[[clamps]]", "2:9", AGAIN, f"[[clamps]] - {BRACKETS}"),
        ('name = "knob', "1:13", "unterminated string", f'name = "knob - {CLOSED}'),
    ],
)
def test_a_text_that_is_not_toml_is_told_with_the_likely_slip(
    text: str, place: str, complaint: str, way_out: str
) -> None:
    """Line, column, what the line reads, and what to write instead."""
    with pytest.raises(InputError) as caught:
        parse_source(text, Path("j.toml"))
    assert str(caught.value) == f"j.toml:{place}: this is not TOML: {complaint}. The line reads: {way_out}"


LONG = "the line has 20005 characters; at most 10000 are read. Spread a long list over several lines."


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("a = [[[[[[[[[1]]]]]]]]]", f"j.toml:1:13: {DEEP}"),
        ("a = " + "[" * 9000, f"j.toml: {DEEP}"),
        ("[a.b.c.d.e.f.g.h.i]", f"j.toml:1:19: {DEEP}"),
        ("\na = " + "9" * 5000, "j.toml:2:5: a number of more than 400 digits."),
        ("\n\n" + "a." * 10_000 + "b = 1", f"j.toml:3:10001: {LONG}"),
    ],
    ids=["lists", "open brackets", "header", "number", "line"],
)
def test_a_text_beyond_any_job_is_refused_with_its_place(text: str, sentence: str) -> None:
    """Nesting, numbers and lines are bounded, so that no file makes the reader slow or makes it crash."""
    with pytest.raises(InputError) as caught:
        parse_source(text, Path("j.toml"))
    assert str(caught.value) == sentence


def test_a_file_written_by_another_editor_is_read_alike() -> None:
    """A byte order mark and the line ends of another system change neither values nor places."""
    plain = parse_source(TEXT, Path("j.toml"))
    other = parse_source("\ufeff" + TEXT.replace("\n", "\r\n"), Path("j.toml"))
    assert other.spots == plain.spots
    assert other.values == plain.values


def message(file: Path) -> str:
    """What is said of a file that can't be read, its folder left out."""
    with pytest.raises(InputError) as caught:
        read_source(file)
    return str(caught.value).replace(f"{file.parent}/", "")


def test_files_that_cannot_be_read_are_told_of(tmp_path: Path) -> None:
    """Not there, a folder, a device, too big, not UTF-8: each is told of in a sentence naming the file."""
    assert message(tmp_path / "j.toml") == (
        "j.toml: there is no such file. Check the path; proveout new writes a job and a shop file to start "
        "from."
    )
    (tmp_path / "d").mkdir()
    assert message(tmp_path / "d") == "d: this is a folder. Name a TOML file."
    assert message(Path("/dev/zero")) == "zero: this is not a plain file. Name a TOML file."
    (tmp_path / "big.toml").write_bytes(b"#" * (BIGGEST + 1))
    assert message(tmp_path / "big.toml") == (
        "big.toml: the file is over 1000 kB. A job or shop file is TOML text of a few kB."
    )
    (tmp_path / "latin.toml").write_bytes('a = 1\nb = "é\xb0"'.encode("latin-1"))
    assert message(tmp_path / "latin.toml") == (
        "latin.toml:2:6: byte 0xE9 is not UTF-8 text. Save the file as UTF-8."
    )
    assert re.fullmatch(r"a\0b: the file can't be read: .*null byte.*\.", message(tmp_path / "a\0b"))
