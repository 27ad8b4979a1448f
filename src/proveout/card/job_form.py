"""Which boxes stand in which section of the card: the job's in the order of the work, then the bench's."""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from proveout.card.form import PATTERNS, Adds, Form, form, template
from proveout.job import fields
from proveout.job.lines import Keys
from proveout.quantity import System

Values = Mapping[str, Any]

# Lists of tables that hold the blank, beside the clamps; what each is called, one and several.
MEANS: Final[dict[str, tuple[type, str, str]]] = {
    "stops": (fields.StopAtFields, "a stop", "Stops"),
    "dowels": (fields.DowelAtFields, "a dowel", "Dowels"),
    "tape": (fields.TapeFields, "a strip of tape", "Tape"),
    "screws": (fields.ScrewFields, "a screw", "Screws"),
}
PART_WORDS: Final = {
    "lobed knob": "a lobed knob",
    "slotted strap": "a slotted strap",
    "stop block": "a stop block",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """A section's boxes."""

    section: str
    forms: tuple[Form, ...]
    adds: tuple[Adds, ...] = ()

    @property
    def shape(self) -> str:
        """What boxes there are, whatever stands in them: where it changes, the section is drawn anew."""
        return "|".join(_shape(self.forms)) + "|" + "|".join(one.says for one in self.adds)


def _shape(forms: Sequence[Form]) -> Iterator[str]:
    for one in forms:
        boxes = (box.field for each in (*one.questions, *one.more) for box in each.boxes)
        yield f"{one.field}:{one.title}:{len(one.questions)}:{','.join(boxes)}"
        yield from _shape(one.inner)


def job_forms(values: Values, bench: Values | None) -> tuple[Asked, ...]:
    """The job file's boxes by section.

    Args:
        values: of the job file
        bench: of its shop file; None where it can't be read
    """
    units = units_of(values)
    return (
        Asked(section="stock", forms=tuple(_stock(values, units))),
        Asked(section="fit", forms=tuple(_fit(values, units)), adds=tuple(_part_adds(values))),
        Asked(section="hold", forms=tuple(_hold(values, units)), adds=tuple(_hold_adds(values, bench))),
        Asked(
            section="cut",
            forms=(
                _top(values, units, ("through_allowance", "safe_above"), "How deep through, how high above"),
            ),
        ),
    )


def units_of(values: Values) -> System | None:
    """What a bare number means in a file with these values."""
    if "units" not in values:
        return None
    return "in" if values["units"] == "in" else "mm"


def _top(values: Values, units: System | None, only: Sequence[str], title: str = "") -> Form:
    return form(fields.JobFields, (), values, units, only=only, title=title)


def _stock(values: Values, units: System | None) -> Iterator[Form]:
    yield _top(values, units, ("name", "units", "shop"), "The job")
    yield form(fields.StockFields, ("stock",), _table(values, "stock"), units, title="The sheet")
    yield form(
        fields.AirFields,
        ("air",),
        _table(values, "air"),
        units,
        title="The air it is cut and used in",
        drops="air" in values,
    )


def _fit(values: Values, units: System | None) -> Iterator[Form]:
    for number, part in enumerate(_tables(values, "parts")):
        pattern = part.get("pattern")
        table = PATTERNS.get(pattern, fields.PartFields) if isinstance(pattern, str) else fields.PartFields
        keys: Keys = ("parts", number)
        drawn = table is fields.DrawnFields
        yield form(
            table,
            keys,
            part,
            units,
            title=f"{part.get('name', f'part {number + 1}')}",
            drops=len(_tables(values, "parts")) > 1,
            inner=tuple(_rules(part, keys, units)) if drawn else (),
            adds=(_rule_add(keys),) if drawn else (),
        )
    yield _top(values, units, ("finish", "coats"), "The finish")


def _rules(part: Values, keys: Keys, units: System | None) -> Iterator[Form]:
    for number, rule in enumerate(_tables(part, "rules")):
        yield form(
            fields.RuleFields,
            (*keys, "rules", number),
            rule,
            units,
            title=f"Rule {number + 1}: {_about(rule)}",
            drops=True,
        )


def _about(rule: Values) -> str:
    """Which curves a rule is of."""
    for name in ("layer", "size", "curve"):
        if name in rule:
            return f"{name} {rule[name]}"
    return "no curves named yet"


def _rule_add(keys: Keys) -> Adds:
    # Depth and size alone make a rule that can be read; a person writes their own over both.
    value = {"size": "6.6 mm", "depth": "5 mm"}
    return Adds(
        says="a rule for curves of one size",
        edits=({"what": "add", "keys": [*keys, "rules"], "value": value},),
    )


def _hold(values: Values, units: System | None) -> Iterator[Form]:
    yield form(fields.ZeroFields, ("zero",), _table(values, "zero"), units, title="The work zero")
    yield from _listed(values, units, "clamps", fields.ClampAtFields, "Clamp")
    for name, (table, _, several) in MEANS.items():
        yield from _listed(values, units, name, table, several.removesuffix("s"))
    if "vacuum" in values:
        yield form(
            fields.VacuumFields, ("vacuum",), _table(values, "vacuum"), units, title="The vacuum", drops=True
        )
    yield from _listed(values, units, "flaws", fields.FlawFields, "Flaw")
    yield from _listed(values, units, "places", fields.PlaceFields, "Place")


def _listed(values: Values, units: System | None, name: str, table: type, title: str) -> Iterator[Form]:
    for number, one in enumerate(_tables(values, name)):
        yield form(table, (name, number), one, units, title=f"{title} {number + 1}", drops=True)


def _hold_adds(values: Values, bench: Values | None) -> Iterator[Adds]:
    used = Counter(str(one.get("clamp")) for one in _tables(values, "clamps"))
    for one in _tables(bench or {}, "clamps"):
        kind, count = str(one.get("name")), one.get("count")
        if isinstance(count, int) and used[kind] >= count:
            continue  # the shop has no more of them
        value = template(fields.ClampAtFields, clamp=kind, **_free_hole(values, bench or {}))
        yield Adds(says=f"a clamp: {kind}", edits=({"what": "add", "keys": ["clamps"], "value": value},))
    for name, (table, said, _) in MEANS.items():
        yield Adds(says=said, edits=({"what": "add", "keys": [name], "value": template(table)},))
    if "vacuum" not in values:
        value = template(fields.VacuumFields)
        yield Adds(
            says="a vacuum",
            edits=tuple(
                {"what": "set", "keys": ["vacuum", key], "value": given} for key, given in value.items()
            ),
        )


def _free_hole(values: Values, bench: Values) -> dict[str, object]:
    """A hole beside the sheet where no clamp stands yet, and the way its nose then points.

    The left side from the front, then the right; what is wrong with it is told like anything typed.
    """
    taken = {str(one.get("hole")) for one in _tables(values, "clamps")}
    plate = bench.get("plate", {})
    rows = plate.get("rows", 9) if isinstance(plate, dict) else 9
    columns = plate.get("columns", 5) if isinstance(plate, dict) else 5
    if not (isinstance(rows, int) and isinstance(columns, int) and 0 < columns <= 26 and 0 < rows <= 99):
        return {}
    first = next((one for one in _tables(values, "clamps") if one.get("towards") == "right"), None)
    column = str(first["hole"])[:1] if first and str(first.get("hole", ""))[:1].isalpha() else "B"
    for row in range(3, rows + 1):
        if f"{column}{row}" not in taken:
            return {"hole": f"{column}{row}", "towards": "right"}
    return {}


def _part_adds(values: Values) -> Iterator[Adds]:
    names = {str(one.get("name")) for one in _tables(values, "parts")}
    for pattern, said in PART_WORDS.items():
        name = pattern.rpartition(" ")[2]
        free = next(one for one in (name, *(f"{name} {n}" for n in range(2, 500))) if one not in names)
        value = template(PATTERNS[pattern], name=free, pattern=pattern, count=1)
        yield Adds(says=said, edits=({"what": "add", "keys": ["parts"], "value": value},))


def bench_forms(bench: Values) -> tuple[Asked, ...]:
    """The shop file's boxes."""
    units = units_of(bench)
    plate, machine = _table(bench, "plate"), _table(bench, "machine")
    inserts = _table(plate, "inserts")
    forms = (
        form(fields.ShopFields, (), bench, units, title="The shop"),
        form(fields.MachineFields, ("machine",), machine, units, title="The machine"),
        form(
            fields.SpindleFields,
            ("machine", "spindle"),
            _table(machine, "spindle"),
            units,
            title="Its spindle",
        ),
        form(fields.PlateFields, ("plate",), plate, units, title="The plate"),
        form(fields.InsertFields, ("plate", "inserts"), inserts, units, title="Its inserts"),
        *(
            form(
                fields.CutterFields,
                ("cutters", number),
                one,
                units,
                title=f"Cutter {one.get('number', number + 1)}: {one.get('name', '')}",
                drops=len(_tables(bench, "cutters")) > 1,
            )
            for number, one in enumerate(_tables(bench, "cutters"))
        ),
        *(
            form(
                fields.ClampFields,
                ("clamps", number),
                one,
                units,
                title=f"Clamp: {one.get('name', '')}",
                drops=True,
            )
            for number, one in enumerate(_tables(bench, "clamps"))
        ),
    )
    return (Asked(section="bench", forms=forms, adds=tuple(_bench_adds(bench))),)


def _bench_adds(bench: Values) -> Iterator[Adds]:
    numbers = {one.get("number") for one in _tables(bench, "cutters")}
    free = next(number for number in range(1, 1000) if number not in numbers)
    cutter = template(fields.CutterFields, number=free, name=f"cutter {free}")
    yield Adds(says="a cutter", edits=({"what": "add", "keys": ["cutters"], "value": cutter},))
    names = {one.get("name") for one in _tables(bench, "clamps")}
    name = next(
        one for one in ("strap clamp", *(f"strap clamp {n}" for n in range(2, 500))) if one not in names
    )
    clamp = template(fields.ClampFields, name=name)
    yield Adds(says="a kind of clamp", edits=({"what": "add", "keys": ["clamps"], "value": clamp},))


def _table(values: Values, name: str) -> Values:
    found = values.get(name)
    return found if isinstance(found, dict) else {}


def _tables(values: Values, name: str) -> list[dict[str, Any]]:
    found = values.get(name)
    return [one if isinstance(one, dict) else {} for one in found] if isinstance(found, list) else []
