"""One edit as changes of a TOML text: which characters go, and what comes in their place."""

import re
from collections.abc import Iterator
from typing import Any, Final, NamedTuple

from proveout.finding import Edit
from proveout.job.edited import CannotEdit, at, has, same
from proveout.job.lines import Keys, Mark, marks_of, spelled
from proveout.job.toml_text import WIDEST, dotted, field_text, laid_over_lines, value_text

# The order of the tables in docs/job-file.md, in which an absent one is put.
ORDER: Final = (
    *("stock", "air", "zero", "clamps", "stops", "dowels", "tape", "screws", "vacuum", "flaws", "parts"),
    "places",
)

_REST_OF_ITEM = re.compile(r"[ \t]*(,?)[ \t]*(#[^\n]*|\r?)(?=\n|\Z)")
_COMMA = re.compile(r"\s*,")


class Splice(NamedTuple):
    """Characters from begin up to end give way to others."""

    begin: int
    end: int
    text: str


class Page:
    """A TOML text with its values, and where they stand in it."""

    def __init__(self, text: str, values: dict[str, Any]) -> None:
        self.text = text
        self.values = values
        self.marks = marks_of(text)
        self.valued = {mark.keys: mark for mark in self.marks if mark.kind in ("field", "inner", "item")}
        self.headers = [mark for mark in self.marks if mark.kind in ("table", "listed")]
        self.newline = "\r\n" if re.search(r"\r?\n", text + "\n")[0] == "\r\n" else "\n"  # type: ignore[index]

    def edited(self, edit: Edit, wanted: dict[str, Any]) -> str:
        """The text after an edit that leads to the wanted values.

        Raises:
            CannotEdit: it can't be done to the text
            ValueError: TOML has no such value
        """
        match edit.what:
            case "set":
                splices = self.set(edit.keys, at(wanted, edit.keys))
            case "drop":
                splices = self.drop(edit.keys)
            case "add":
                splices = self.add(edit.keys, at(wanted, edit.keys)[-1])
        return self.spliced(splices)

    def spliced(self, splices: list[Splice]) -> str:
        """The text with the splices done; those that overlap take out what any of them does."""
        text, kept = [], 0
        for splice in sorted(splices):
            text.append(self.text[kept : max(splice.begin, kept)] + splice.text)
            kept = max(splice.end, kept)
        return "".join(text) + self.text[kept:]

    # To set a field

    def set(self, keys: Keys, value: object) -> list[Splice]:
        step = self.known(keys)
        if step < len(keys):
            return self.absent(keys, step, value)
        return list(self.replaced(keys, at(self.values, keys), value))

    def replaced(self, keys: Keys, old: object, new: object) -> Iterator[Splice]:
        """Only what differs is written anew: of a list its items, while it has as many of them."""
        if same(old, new):
            return
        if isinstance(old, list) and isinstance(new, list) and len(old) == len(new):
            for place, pair in enumerate(zip(old, new, strict=True)):
                yield from self.replaced((*keys, place), *pair)
        elif isinstance(old, dict) and isinstance(new, dict) and old.keys() == new.keys():
            for name in old:
                yield from self.replaced((*keys, name), old[name], new[name])
        else:
            yield self.whole(keys, new)

    def whole(self, keys: Keys, value: object) -> Splice:
        """A value in the place of another."""
        mark = self.valued.get(keys)
        if mark is None:
            raise CannotEdit(f"{spelled(keys)} is a table on lines of its own: change its fields one by one")
        start = self.line_start(mark.begin)
        text = value_text(value)
        if isinstance(value, list) and value and mark.value - start + len(text) > WIDEST:
            text = laid_over_lines(value, self.indent(start), self.newline)
        return Splice(mark.value, mark.end, text)

    def absent(self, keys: Keys, step: int, value: object) -> list[Splice]:
        """A field that isn't there, `step` of whose keys are: where its table is written, it goes in."""
        names = _names(keys[step:])
        table = keys[:step]
        if table in self.valued:
            return [self.into_braces(table, names, value)]
        if (mark := self.last_dotted(table)) is not None:
            own = _names(keys[len(mark.home) :])
            if mark.kind == "inner":
                return [Splice(mark.end, mark.end, ", " + field_text(own, value))]
            return [self.line_after(mark, own, value)]
        if isinstance(value, dict) and not table and len(names) == 1:
            return [self.table_added(keys, value, listed=False)]
        if len(names) > 1 or (table and not self.header(table)):
            return [self.table_added(keys[:-1], {names[-1]: value}, listed=False)]
        return [self.field_added(table, names, value)]

    def field_added(self, table: Keys, names: list[str], value: object) -> Splice:
        """A field behind the last one of a table that has a header, or of the file's top."""
        own = [mark for mark in self.marks if mark.kind == "field" and mark.home == table]
        before = own[-1] if own else self.header(table) if table else None
        if before is not None:
            return self.line_after(before, names, value)
        line = field_text(names, value)
        if not self.headers:
            return self.lines_at(len(self.text), [line])
        top = self.block_start(self.headers[0])
        return Splice(top, top, line + 2 * self.newline)

    def line_after(self, mark: Mark, names: list[str], value: object) -> Splice:
        start = self.line_start(mark.begin)
        indent = self.indent(start)
        line = indent + field_text(names, value)
        if isinstance(value, list) and value and len(line) > WIDEST:
            line = f"{indent}{dotted(names)} = {laid_over_lines(value, indent, self.newline)}"
        return self.lines_at(self.line_end(mark.end), [line])

    def into_braces(self, table: Keys, names: list[str], value: object) -> Splice:
        mark = self.valued[table]
        if self.text[mark.value] != "{":
            raise CannotEdit(f"{spelled(table)} is no table, so it has no fields")
        inner = [one for one in self.marks if one.kind == "inner" and one.home == table]
        if inner:
            return Splice(inner[-1].end, inner[-1].end, ", " + field_text(names, value))
        return Splice(mark.value, mark.end, "{" + field_text(names, value) + "}")

    # To add a table

    def add(self, keys: Keys, fields: dict[str, Any]) -> list[Splice]:
        if keys in self.valued:
            return self.into_brackets(keys, fields)
        step = self.known(keys)
        if step < len(keys) and (keys[:step] in self.valued or self.last_dotted(keys[:step])):
            return self.absent(keys, step, [fields])
        return [self.table_added(keys, fields, listed=True)]

    def into_brackets(self, keys: Keys, fields: dict[str, Any]) -> list[Splice]:
        """A table in braces behind the last one of a list that is written in brackets."""
        items = [mark for mark in self.marks if mark.kind == "item" and mark.home == keys]
        text, begin = value_text(fields), self.valued[keys].value + 1
        if not items:
            return [Splice(begin, begin, text)]
        last = items[-1]
        rest = _REST_OF_ITEM.match(self.text, last.end)
        if rest is None:  # the brackets close on the same line
            comma = _COMMA.match(self.text, last.end)
            end = comma.end() if comma else last.end
            return [Splice(end, end, (" " if comma else ", ") + text)]
        line = f"{self.indent(self.line_start(last.begin))}{text},{self.newline}"
        below = self.line_end(last.end)
        return [Splice(last.end, last.end, "" if rest[1] else ","), Splice(below, below, line)]

    def table_added(self, keys: Keys, fields: dict[str, Any], *, listed: bool) -> Splice:
        """A table with its header, after those that it belongs to, or in the order of the reference."""
        name = dotted(key for key in keys if isinstance(key, str))
        lines = [f"[[{name}]]" if listed else f"[{name}]"]
        lines += [field_text((name,), value) for name, value in fields.items()]
        return self.lines_at(self.place_for(keys), lines, apart=True)

    def place_for(self, keys: Keys) -> int:
        for length in range(len(keys), 0, -1):
            kin = [mark for mark in self.headers if mark.keys[:length] == keys[:length]]
            if kin:
                return self.section_end(kin[-1])
        if not self.headers:
            return len(self.text)
        before = ORDER[: ORDER.index(str(keys[0]))] if keys[0] in ORDER else None
        earlier = [mark for mark in self.headers if before is None or mark.keys[0] in before]
        return self.section_end(earlier[-1]) if earlier else self.block_start(self.headers[0])

    # To drop

    def drop(self, keys: Keys) -> list[Splice]:
        value, holder = at(self.values, keys), at(self.values, keys[:-1])
        if isinstance(value, dict) and isinstance(holder, list) and len(holder) == 1:
            return self.drop(keys[:-1])
        if (mark := self.valued.get(keys)) is not None and mark.kind == "item":
            return self.drop_item(mark)
        within = next(
            (keys[:step] for step in range(len(keys) - 1, 0, -1) if keys[:step] in self.valued), None
        )
        if within is not None:
            return self.drop_inner(keys, within)
        headers = [one for one in self.headers if one.keys[: len(keys)] == keys]
        fields = [one for one in self.marks if one.kind == "field" and _leads(one, keys)]
        sections = [(self.block_start(one), self.section_end(one)) for one in headers]
        cuts = self.tidy(sections) + [self.lines_of(one) for one in fields]
        left = self.left_empty(keys, holder, fields)
        return [Splice(*cut, left if not number else "") for number, cut in enumerate(sorted(cuts))]

    def left_empty(self, keys: Keys, holder: object, fields: list[Mark]) -> str:
        """What keeps a table in the file that nothing but the dropped thing named."""
        table = keys[:-1]
        if not table or isinstance(holder, list) or len(holder) > 1 or self.header(table):  # type: ignore[arg-type]
            return ""
        if fields:
            own = _names(table[len(fields[0].home) :])
            return self.indent(self.line_start(fields[0].begin)) + dotted(own) + " = {}" + self.newline
        return f"[{dotted(key for key in table if isinstance(key, str))}]" + self.newline

    def drop_inner(self, keys: Keys, within: Keys) -> list[Splice]:
        """A field within braces, with its comma."""
        inner = [one for one in self.marks if one.kind == "inner" and one.home == within]
        place = next((number for number, one in enumerate(inner) if one.keys == keys), None)
        if place is None or len(inner) == 1 or keys[:-1] != within:
            left = {key: value for key, value in at(self.values, keys[:-1]).items() if key != keys[-1]}
            return [self.whole(within, _with(at(self.values, within), keys[len(within) : -1], left))]
        first, last = (inner[place - 1].end, inner[place].end) if place else (inner[0].begin, inner[1].begin)
        return [Splice(first, last, "")]

    def drop_item(self, mark: Mark) -> list[Splice]:
        """An item of a list, with its comma; with its line and comment where it has one of its own."""
        items = [one for one in self.marks if one.kind == "item" and one.home == mark.home]
        place, start = items.index(mark), self.line_start(mark.begin)
        rest = _REST_OF_ITEM.match(self.text, mark.end)
        last = place == len(items) - 1
        if rest and not self.text[start : mark.begin].strip() and (rest[1] or last):
            return [Splice(start, self.line_end(mark.end), "")]
        if place and "\n" not in self.text[items[place - 1].end : mark.begin]:
            return [Splice(items[place - 1].end, mark.end, "")]
        if not last and "\n" not in self.text[mark.end : items[place + 1].begin]:
            return [Splice(mark.begin, items[place + 1].begin, "")]
        if (comma := _COMMA.match(self.text, mark.end)) or last:
            alone = not self.text[start : mark.begin].strip()
            return [Splice(start if alone else mark.begin, comma.end() if comma else mark.end, "")]
        held = at(self.values, mark.home)
        return [self.whole(mark.home, held[:place] + held[place + 1 :])]

    # Where things are

    def known(self, keys: Keys) -> int:
        """How many of the keys lead to something that is there."""
        held: Any = self.values
        for step, key in enumerate(keys):
            if not has(held, key):
                return step
            held = held[key]
        return len(keys)

    def header(self, table: Keys) -> Mark | None:
        return next((mark for mark in self.headers if mark.keys == table), None)

    def last_dotted(self, table: Keys) -> Mark | None:
        """The last field whose dotted key makes this table."""
        made = [
            mark for mark in self.marks if mark.kind in ("field", "inner") and _leads(mark, (*table, ""), 1)
        ]
        return made[-1] if made and table else None

    def line_start(self, place: int) -> int:
        return self.text.rfind("\n", 0, place) + 1

    def line_end(self, place: int) -> int:
        """Past the end of the line."""
        found = self.text.find("\n", place)
        return len(self.text) if found < 0 else found + 1

    def indent(self, start: int) -> str:
        line = self.text[start : self.line_end(start)]
        return line[: len(line) - len(line.lstrip())]

    def lines_of(self, mark: Mark) -> tuple[int, int]:
        return self.line_start(mark.begin), self.line_end(mark.end)

    def block_start(self, header: Mark) -> int:
        """Where the comment directly above a header begins; the file's first lines are not about it."""
        begin = self.line_start(header.begin)
        floor = max((self.line_end(one.end) for one in self.marks if one.begin < header.begin), default=0)
        start = begin
        while start > floor and self.text[self.line_start(start - 1) : start].lstrip().startswith("#"):
            start = self.line_start(start - 1)
        return begin if start == 0 else start

    def section_end(self, header: Mark) -> int:
        """Past a table's last field and the comment lines that follow without a gap."""
        later = [one for one in self.headers if one.begin > header.begin]
        stop = self.block_start(later[0]) if later else len(self.text)
        end = max(self.line_end(one.end) for one in self.marks if header.begin <= one.begin < stop)
        while end < stop and self.text[end : self.line_end(end)].lstrip().startswith("#"):
            end = self.line_end(end)
        return end

    def tidy(self, cuts: list[tuple[int, int]]) -> list[tuple[int, int]]:
        """Stretches of lines, neighbours made one, each with one of the gaps around it."""
        joined: list[tuple[int, int]] = []
        for begin, end in sorted(cuts):
            if joined and not self.text[joined[-1][1] : begin].strip():
                joined[-1] = (joined[-1][0], max(end, joined[-1][1]))
            else:
                joined.append((begin, end))
        return [self.with_gap(*cut) for cut in joined]

    def with_gap(self, begin: int, end: int) -> tuple[int, int]:
        rest = self.text[end:]
        past = end + len(rest) - len(rest.lstrip())
        if past == len(self.text):
            before = self.text[:begin].rstrip()
            return (self.line_end(len(before)) if before else 0), past
        gap = begin == 0 or not self.text[self.line_start(begin - 1) : begin].strip()
        return begin, self.line_start(past) if gap else end

    def lines_at(self, place: int, lines: list[str], *, apart: bool = False) -> Splice:
        """Lines put in before a line, or at the file's end; blank lines around where they stand apart."""
        before = self.text[self.line_start(place - 1) : place] if place else ""
        text = self.newline.join(lines)
        gap = self.newline if apart and before.strip() else ""
        if before and not before.endswith("\n"):
            return Splice(place, place, self.newline + gap + text)
        after = self.text[place : self.line_end(place)]
        return Splice(
            place, place, gap + text + self.newline + (self.newline if apart and after.strip() else "")
        )


def _names(keys: Keys) -> list[str]:
    if not all(isinstance(key, str) for key in keys):
        raise CannotEdit(f"there is no {spelled(keys)}")
    return [str(key) for key in keys]


def _leads(mark: Mark, keys: Keys, short: int = 0) -> bool:
    """Whether a field is the one at these keys, or its dotted key leads through them."""
    length = len(keys) - short
    return len(mark.home) < length and len(mark.keys) >= len(keys) and mark.keys[:length] == keys[:length]


def _with(values: object, keys: Keys, new: object) -> object:
    """A value in which what stands at the keys is another."""
    if not keys:
        return new
    if isinstance(values, dict):
        return {key: _with(each, keys[1:], new) if key == keys[0] else each for key, each in values.items()}
    assert isinstance(values, list)
    return [_with(each, keys[1:], new) if place == keys[0] else each for place, each in enumerate(values)]
