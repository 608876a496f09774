"""The JSON Schema of a sheet takes what the reader takes, and refuses what it can see is wrong.

By the jsonschema library. What needs a second field, a calendar or a list of zones is the
reader's alone: an editor marks nothing there.
"""

from __future__ import annotations

import pytest

from coach.errors import FileProblems
from coach.orders import read
from coach.orders.form import DOSES, ROOT, every_field
from coach.orders.patch import put
from coach.orders.read import sheet_from_bytes
from coach.orders.schema import order_schema
from coach.shapes import Group
from tests.editor import checker, marked
from tests.orders.written import ALSO, SHEET, changed
from tests.person import DAILY, DEMO

SHEETS = tuple(path.read_text(encoding="utf-8") for path in (DEMO, DAILY))
SCHEMA = order_schema(SHEETS)
CHECKER = checker(SCHEMA)
FIELDS = tuple(field for field, _ in every_field())
WRITINGS = (
    "5 mL", "0 mL", "0.5 mL", ".5 mL", "5.0 mL", "05 mL", "5mL", "5 ml", "5 cc", "1,000 mL",
    "1,00 mL",
    "1234567890 mL", "0.1234567 mL", "-5 mL", "2 L", "1 g", "500 mg", "5 mcg", "30 units",
    "30 u", "20 mg/mL", "10 units/mL", "100 mL/h", "100 ml/hr", "2 mL/day", "15 s", "30 min",
    "1 day",
    "7 days", "1 days", "0 h", "5%", "5 %", "0%", "0.5%", "5", "1", "0", "007", "1.5", "yes", "no",
    "present", "none", "room", "PICC", "allowed", "70% alcohol", "intermittent", "continuous",
    "2026-11-20", "2026-1-2", "09:00", "9:00", "24:00", "2026-11-20T09:00-05:00",
    "2026-11-20T09:00",
    "America/New_York", "new york", "UTC", "555-0100", "+1 (555) 0100", "call me", "demo-1", "Demo",
    "a--b", "x" * 60, "x" * 61,
)  # fmt: skip
UNSEEN = {("sheet.version", "007"), ("time_zone", "PICC"), ("time_zone", "Demo")}
"""Right in form to an editor: a number however it is written, and a name that may be a zone's."""


def refused(text: str) -> set[str]:
    """Return the fields with which the reader finds something wrong."""
    try:
        sheet_from_bytes(text.encode(), "orders.yaml")
    except FileProblems as error:
        return {row.field for row in error.problems}
    return set()


@pytest.mark.parametrize("text", [*SHEETS, SHEET, SHEET + ALSO])
def test_a_right_sheet_is_marked_nowhere(text: str) -> None:
    assert marked(CHECKER, text) == set()


def all_written(
    writing: str, left_out: tuple[str, ...], group: Group = ROOT, indent: str = ""
) -> str:
    """Return a sheet in which every field says *writing*, but for those that are *left_out*."""
    lines = []
    for name, held in group.fields.items():
        if group is DOSES and name in left_out:
            continue
        if isinstance(held, Group):
            lines.append(f"{indent}{name}:\n{all_written(writing, left_out, held, indent + '  ')}")
        elif held["type"] == "array":
            lines.append(f"{indent}{name}:\n{indent}- {writing}\n")
        else:
            lines.append(f"{indent}{name}: {writing}\n")
    return "".join(lines)


@pytest.mark.parametrize("left_out", [("times",), ("every", "first")])
@pytest.mark.parametrize("writing", WRITINGS)
def test_an_editor_marks_the_fields_where_the_reader_refuses_the_form(
    writing: str, left_out: tuple[str, ...], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(read, "contradictions", lambda *_: ())
    text = all_written(writing, left_out)
    unseen = {field for field, other in UNSEEN if other == writing}
    groups = {field.rpartition(".")[0] for field in FIELDS}  # marked for a field that may not be
    assert marked(CHECKER, text) - groups == refused(text) - unseen


@pytest.mark.parametrize("field", FIELDS)
def test_an_editor_misses_a_field_where_the_reader_does(field: str) -> None:
    name = field.rpartition(".")[2]
    for text in (*SHEETS, SHEET + ALSO):
        place = f"{field}[1]" if field in ("doses.times", "allergies") else field
        without = put(text, place, "")
        assert bool(marked(CHECKER, without)) <= bool(refused(without)), name
        missing = any(one.endswith(name) for one in refused(without))
        if missing and not refused(text):
            assert marked(CHECKER, without) != set(), name


@pytest.mark.parametrize(
    "pairs",
    [
        [("lumens: 1", "lumens: 2")],
        [("agency:", "agencie:")],
        [("  wash:", "  wish:")],
        [('times: ["09:00", "21:00"]', 'times: ["09:00", "09:00"]')],
        [('times: ["09:00", "21:00"]', "times: []")],
        [('times: ["09:00", "21:00"]', 'times: ["09:00"]\n  every: 1 h')],
        [('times: ["09:00", "21:00"]', "every: 1 h")],
        [("storage: refrigerator", "storage: room")],
        [("reuse: allowed", "reuse: not-allowed")],
        [("ordered: yes", "ordered: no")],
        [("ordered: yes\n  strength: 10 units/mL", "ordered: yes")],
        [("allergies: []", "allergies: none")],
        [("hands:\n  wash: 20 s\n  rub: 20 s", "hands: clean")],
        [("schema: 1\n", "")],
        [("schema: 1\n", "schema: 2\n")],
    ],
)
def test_what_an_editor_can_see_is_refused_by_both(pairs: list[tuple[str, str]]) -> None:
    text = changed(*pairs)
    assert refused(text) != set()
    assert marked(CHECKER, text) != set()


@pytest.mark.parametrize(
    "pair",
    [
        ("dose: 1 g", "dose: 100 mg"),
        ("date: 2026-11-20", "date: 2026-02-30"),
        ("time_zone: America/New_York", "time_zone: Moon/Base"),
        ("batteries_every: 3 days", "batteries_every: 91 days"),
    ],
)
def test_what_needs_more_than_one_field_is_left_to_the_reader(pair: tuple[str, str]) -> None:
    assert refused(changed(pair)) != set()
    assert marked(CHECKER, changed(pair)) == set()


def test_each_field_of_the_demonstration_is_explained() -> None:
    properties = SCHEMA["properties"]
    assert isinstance(properties, dict)
    flush = properties["flush"]["properties"]
    assert flush["barrel"]["description"] == "The size of the syringe, whatever it holds."
    assert properties["tubing"]["properties"]["hours"]["description"].startswith("How long one set")
