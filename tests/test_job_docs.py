"""The words about job and shop files: reference and starter say all that the reader knows, and truly."""

import re
from pathlib import Path

import pytest

from proveout.job import fields
from proveout.job.kinds import MOST_READINGS, Wrong
from proveout.job.source import BIGGEST, parse_source
from proveout.job.starter import starter_files
from proveout.job.table import Field, fields_of
from proveout.quantity import DECLARED, UNITS

PAGE = (Path(__file__).parent.parent / "docs" / "job-file.md").read_text()
MUST = "must be there"

# Where the page treats each table.
SECTIONS: dict[str, type] = {
    "## The job file": fields.JobFields,
    "### [stock]": fields.StockFields,
    "### [air]": fields.AirFields,
    "### [zero]": fields.ZeroFields,
    "### [[clamps]] of the job": fields.ClampAtFields,
    "### [[stops]]": fields.StopAtFields,
    "### [[dowels]]": fields.DowelAtFields,
    "### [[tape]]": fields.TapeFields,
    "### [[screws]]": fields.ScrewFields,
    "### [vacuum]": fields.VacuumFields,
    "### [[flaws]]": fields.FlawFields,
    "### [[parts]]": fields.PartFields,
    "#### A lobed knob": fields.KnobFields,
    "#### A slotted strap": fields.StrapFields,
    "#### A stop block": fields.StopFields,
    "#### A drawn part": fields.DrawnFields,
    "#### A rule of a drawn part": fields.RuleFields,
    "#### A coupon": fields.CouponFields,
    "### [[places]]": fields.PlaceFields,
    "## The shop file": fields.ShopFields,
    "### [machine]": fields.MachineFields,
    "### [machine.spindle]": fields.SpindleFields,
    "### [plate]": fields.PlateFields,
    "### [plate.inserts]": fields.InsertFields,
    "### [[cutters]]": fields.CutterFields,
    "### [[clamps]] of the shop": fields.ClampFields,
}


def section(heading: str) -> list[str]:
    """The lines under a heading, up to the next one."""
    _, _, after = f"\n{PAGE}".partition(f"\n{heading}\n")
    return re.split(r"\n#+ ", after)[0].splitlines()


def rows_of(heading: str) -> dict[str, list[str]]:
    """A section's table: kind, meaning and default by field."""
    rows = [line.strip("|").split(" | ") for line in section(heading) if line.startswith("| `")]
    return {row[0].strip(" `"): [cell.strip() for cell in row[1:]] for row in rows}


def listed(table: type) -> list[Field[object]]:
    """The fields that a section must treat: a pattern's without those that all parts share."""
    shared = (
        {field.name for field in fields_of(fields.PartFields)} if table is not fields.PartFields else set()
    )
    patterned = issubclass(table, fields.PartFields)
    return [field for field in fields_of(table) if not (patterned and field.name in shared)]


def everywhere() -> list[tuple[str, Field[object]]]:
    """Every field of both files with its section."""
    return [(heading, field) for heading, table in SECTIONS.items() for field in listed(table)]


def name_of(value: object) -> str:
    """A test's name: the section's heading or the field's own."""
    return value.name if isinstance(value, Field) else str(value).strip("# ")


def test_every_table_of_the_reader_has_its_section() -> None:
    """No table of either file is left out of the reference."""
    tables = {table for name, table in vars(fields).items() if name.endswith("Fields")}
    assert set(SECTIONS.values()) == tables


@pytest.mark.parametrize("heading", SECTIONS, ids=name_of)
def test_a_section_treats_the_fields_of_its_table_and_no_others(heading: str) -> None:
    """What the reader takes under a heading is what the page says of it, with the same kind of value."""
    kinds = {name: row[0] for name, row in rows_of(heading).items()}
    assert kinds == {field.name: field.kind for field in listed(SECTIONS[heading])}


@pytest.mark.parametrize(("heading", "field"), everywhere(), ids=name_of)
def test_the_page_says_of_each_field_what_it_is_and_whether_it_may_be_left_out(
    heading: str, field: Field[object]
) -> None:
    """A field that must be there is called so; every other says what stands for it; all have a meaning."""
    _, meaning, left_out = rows_of(heading)[field.name]
    assert len(meaning) > 5
    assert (left_out == MUST) == field.required
    assert left_out


@pytest.mark.parametrize(
    ("heading", "field"), [(h, f) for h, f in everywhere() if f.default is not None], ids=name_of
)
def test_the_default_on_the_page_is_the_one_that_is_taken(heading: str, field: Field[object]) -> None:
    """Writing the page's default into the file gives what leaving the field out gives."""
    stated = re.split(r" \(|:", rows_of(heading)[field.name][2])[0]
    assert field.read(stated, "mm") == field.default


@pytest.mark.parametrize(
    ("heading", "field"), [(h, f) for h, f in everywhere() if f.kind in ("word", "mm or in")], ids=name_of
)
def test_every_word_that_a_field_takes_is_on_the_page(heading: str, field: Field[object]) -> None:
    """Where one of a few words is wanted, the page lists those that the reader offers."""
    with pytest.raises(Wrong) as wrong:
        field.read("no such word", "mm")
    offered = set(re.findall(r'"([^"]+)"', wrong.value.complaints[0][1].partition("Write ")[2]))
    on_page = set(re.findall(r'`"([^"]+)"`', rows_of(heading)[field.name][1]))
    assert len(offered) > 1
    assert on_page == offered


@pytest.mark.parametrize(("heading", "field"), everywhere(), ids=name_of)
def test_what_a_message_proposes_is_read(heading: str, field: Field[object]) -> None:
    """The example that a missing field's message gives can be written into a file that declares no units."""
    values = parse_source(f"value = {field.example}", Path("example.toml")).values
    field.read(values["value"], None)


def test_the_card_says_of_each_field_what_the_page_says() -> None:
    """The words that ship with the package are the page's; python tests/field_words.py writes them again."""
    import field_words

    assert field_words.FILE.read_text(encoding="utf-8") == field_words.written()


def test_the_page_says_what_a_bare_number_means() -> None:
    """For each kind of quantity in the files: a bare number's unit, and the other units that are read."""
    rows = [line.strip("|").split("|") for line in section("# The job file and the shop file") if "|" in line]
    said = {row[0].strip(): [cell.strip() for cell in row[1:]] for row in rows[2:]}
    used = {kind for kind in UNITS if any(kind.value in field.kind for _, field in everywhere())}
    assert said.keys() == {kind.value for kind in used}
    for kind in used:
        metric, inch, others = said[kind.value]
        assert (metric, inch) == (DECLARED["mm"][kind], DECLARED["in"][kind])
        assert set(re.findall(r"`([^`]+)`", others)) == UNITS[kind].keys() - {metric, inch}


def test_the_page_states_the_bounds() -> None:
    """The page names the most that is read of everything that is counted."""
    text = " ".join(section("## What is refused"))
    for said in (
        f"{BIGGEST // 1_000_000} MB",
        f"{fields.MOST_CUTTERS} cutters",
        f"{fields.MOST_CLAMPS} clamps",
        f"{fields.MOST_MEANS} stops, dowels, tapes or screws",
        f"{fields.MOST_FLAWS} flaws",
        f"{fields.MOST_PARTS} kinds of part",
        f"{fields.MOST_COPIES} parts in all",
        f"{MOST_READINGS} thickness readings",
    ):
        assert said in text


STARTED = {
    ("job.toml", ""): fields.JobFields,
    ("job.toml", "[stock]"): fields.StockFields,
    ("job.toml", "[zero]"): fields.ZeroFields,
    ("job.toml", "[[clamps]]"): fields.ClampAtFields,
    ("job.toml", "# [[stops]]"): fields.StopAtFields,
    ("job.toml", "# [[dowels]]"): fields.DowelAtFields,
    ("job.toml", "# [[tape]]"): fields.TapeFields,
    ("job.toml", "# [[screws]]"): fields.ScrewFields,
    ("job.toml", "# [vacuum]"): fields.VacuumFields,
    ("job.toml", "# [[flaws]]"): fields.FlawFields,
    ("job.toml", "[[parts]]"): fields.KnobFields,
    ("shop.toml", ""): fields.ShopFields,
    ("shop.toml", "[machine]"): fields.MachineFields,
    ("shop.toml", "[machine.spindle]"): fields.SpindleFields,
    ("shop.toml", "[plate]"): fields.PlateFields,
    ("shop.toml", "[plate.inserts]"): fields.InsertFields,
    ("shop.toml", "[[cutters]]"): fields.CutterFields,
    ("shop.toml", "[[clamps]]"): fields.ClampFields,
}


@pytest.mark.parametrize(("name", "header"), STARTED)
def test_the_starter_shows_every_field_with_a_word_about_it(name: str, header: str) -> None:
    """A beginner meets each field under its table, with a comment on its line or right above it."""
    text = f"\n{starter_files()[name]}"
    _, _, after = text.partition(f"\n{header}\n") if header else ("", "", text)
    lines = ["", *re.split(r"\n(# )?\[", after)[0].splitlines()]
    for field in fields_of(STARTED[name, header]):
        at = next(i for i, line in enumerate(lines) if re.match(rf"(# )?{field.name} = ", line))
        assert "#" in lines[at][2:] or lines[at - 1].startswith("#"), field.name
