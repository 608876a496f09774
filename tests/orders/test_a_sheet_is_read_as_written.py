"""Reading an order sheet: what arrives, and what is said of a file that cannot be used."""

from __future__ import annotations

from datetime import date, time
from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coach.errors import FileProblems
from coach.orders import form
from coach.orders.quantities import Quantity
from coach.orders.read import read_sheet, sheet_from_bytes
from coach.orders.sheet import OrderSheet
from tests.orders.written import ALSO, SHEET, changed, said, said_of, sheet, with_pump, with_tubing

TIMES = 'times: ["09:00", "21:00"]'


def test_every_value_arrives_as_it_was_written() -> None:
    found = sheet((TIMES, "times: [21:30, 09:00]"), ("addons_volume: 0.3", "addons_volume: 0.30"))
    assert found.sheet.date == date(2026, 11, 20)
    assert found.doses.times == (time(9), time(21, 30))
    assert str(found.line.addons_volume.amount) == "0.30"
    assert found.medicine.dose == Quantity(Decimal(1), "g")
    assert found.heparin.ordered
    assert not found.heparin.low_platelets_history
    assert not found.demonstration
    assert found.scrub.short_scrub_signed_by == ""
    assert found.contacts.pharmacist.phone == "(555) 555-0101"


def test_an_interval_keeps_its_offset() -> None:
    found = sheet((TIMES, "every: 8 h\n  first: 2026-11-20T09:00-05:00")).doses
    assert found.every == Quantity(Decimal(8), "h")
    assert found.first is not None
    assert found.first.isoformat() == "2026-11-20T09:00:00-05:00"
    assert found.times == ()


def test_limits_may_be_left_out() -> None:
    found = sheet_from_bytes(SHEET[: SHEET.index("limits:")].encode(), "orders.yaml").limits
    assert found.highest_rate is None
    assert found.heparin_units_per_day is None


def test_all_problems_come_at_once_with_line_and_field() -> None:
    rows = said(
        ("schema: 1", "schema: 2"),
        ("  id: test-sheet", "  id: Test Sheet"),
        ("clamp: present", "clamp: presnt"),
        ("lumens: 1", "lumens: 9"),
        ("  connector: negative\n", ""),
        ("dose: 1 g", "dose: 1g"),
        ("ordered: yes", "ordered: true"),
        ("wash: 20 s", "wush: 20 s"),
        ("allergies: []\n", ""),
    )
    assert rows == (
        'orders.yaml, line 1, field schema: expected schema 1; found "2".',
        "orders.yaml, line 3, field sheet.id: expected lower-case letters, digits and hyphens "
        'between them; found "Test Sheet".',
        'orders.yaml, line 14, field line.lumens: expected 1; found "9". '
        "The coach can not say yet which end of a line with several ends to use.",
        "orders.yaml, line 15, field line.clamp: expected one of present, none; "
        'found "presnt". Did you mean "present"?',
        "orders.yaml, line 13, field line.connector: expected this field; found nothing.",
        "orders.yaml, line 20, field medicine.dose: expected a dose, such as 1 g; "
        'found "1g". Write 1 g.',
        'orders.yaml, line 47, field heparin.ordered: expected one of yes, no; found "true".',
        "orders.yaml, line 56, field hands.wush: expected one of the fields rub, wash; "
        'found "wush". Did you mean "wash"?',
        "orders.yaml, line 56, field hands.wash: expected this field; found nothing.",
        "orders.yaml, line 1, field allergies: expected this field; found nothing.",
    )


@pytest.mark.parametrize(
    ("old", "new", "row"),
    [
        (
            "time_zone: America/New_York",
            "time_zone: America/New_Yrok",
            "line 8, field time_zone: expected a time zone, such as America/New_York; "
            'found "America/New_Yrok". Did you mean "America/New_York"?',
        ),
        (
            "time_zone: America/New_York",
            "time_zone: ../etc/passwd",
            "line 8, field time_zone: expected a time zone, such as America/New_York; "
            'found "../etc/passwd".',
        ),
        (
            "born: 1951-04-02",
            "born: 02/04/1951",
            'line 11, field person.born: expected a date, such as 2026-11-20; found "02/04/1951".',
        ),
        (
            "born: 1951-04-02",
            "born: 1851-04-02",
            'line 11, field person.born: expected a year from 1900 to 2099; found "1851-04-02".',
        ),
        (
            TIMES,
            "times: [9:00]",
            "line 29, field doses.times[1]: expected a time of day from 00:00 to 23:59, "
            'such as 09:00; found "9:00".',
        ),
        (
            TIMES,
            'times: ["24:00"]',
            "line 29, field doses.times[1]: expected a time of day from 00:00 to 23:59, "
            'such as 09:00; found "24:00".',
        ),
        (
            TIMES,
            "every: 8 h\n  first: 2026-11-20T24:00-05:00",
            "line 30, field doses.first: expected a date and time with its offset from UTC, "
            'such as 2026-11-20T09:00-05:00; found "2026-11-20T24:00-05:00".',
        ),
        (TIMES, "times: []", "line 29, field doses.times: expected at least one time; found none."),
        (
            TIMES,
            f"times: [{', '.join(['07:00'] * 25)}]",
            "line 29, field doses.times: expected a list of at most 24; found 25 of them.",
        ),
        (
            "allergies: []",
            f"allergies: [{', '.join(['nuts'] * 21)}]",
            "line 59, field allergies: expected a list of at most 20; found 21 of them.",
        ),
        (
            TIMES,
            "every: 8 h\n  first: 2026-11-20T09:00",
            "line 30, field doses.first: expected a date and time with its offset from UTC, "
            'such as 2026-11-20T09:00-05:00; found "2026-11-20T09:00".',
        ),
        (
            "warm_up: 45 min",
            "warm_up: 0 min",
            'line 33, field bag.warm_up: expected more than 0; found "0 min".',
        ),
        (
            "warm_up: 45 min",
            "warm_up: 91 days",
            'line 33, field bag.warm_up: expected at most 90 days; found "91 days".',
        ),
        (
            "phone: 555-0100",
            "phone: 555-NURSE",
            "line 61, field contacts.nurse.phone: expected a phone number of digits, +, spaces, "
            'hyphens and parentheses; found "555-NURSE".',
        ),
        (
            "looks: clear",
            "looks: " + "clear " * 11,
            "line 27, field medicine.looks: expected at most 60 characters; found 65 of them.",
        ),
        (
            "strength: 10 units/mL",
            "strength: 10 mg/mL",
            "line 49, field heparin.strength: expected a strength in units, such as 10 units/mL; "
            'found "10 mg/mL". Write a number, a space and units/mL, such as 10 units/mL.',
        ),
        (
            "person:\n  initials: A. B.\n  born: 1951-04-02\n",
            "",
            "line 1, field person: expected this field; found nothing.",
        ),
        (
            'emergency: {number: "911"}',
            "emergency: 911",
            'line 63, field contacts.emergency: expected a group of fields; found "911".',
        ),
    ],
)
def test_a_field_that_cannot_be_read_is_told_with_its_line(old: str, new: str, row: str) -> None:
    assert said((old, new)) == (f"orders.yaml, {row}",)


@pytest.mark.parametrize(
    ("text", "row"),
    [
        ("", "orders.yaml: expected fields with values; found an empty file."),
        ("- a", "orders.yaml, line 1: expected a group of fields; found a list."),
        ("words", 'orders.yaml, line 1: expected a group of fields; found "words".'),
    ],
)
def test_a_file_of_another_kind_is_told_in_one_row(text: str, row: str) -> None:
    assert said_of(text) == (row,)


@pytest.mark.parametrize(
    "new",
    [
        "looks: &a clear",
        "looks: *a",
        "looks: !!str clear",
        'looks: "\\x1b[2J"',
        "looks: clear\n  looks: cloudy",
    ],
)
def test_yaml_that_could_mislead_is_refused_at_its_line(new: str) -> None:
    rows = said(("looks: clear", new))
    assert rows
    assert all(row.startswith(("orders.yaml, line 27", "orders.yaml, line 28")) for row in rows)


def test_a_folder_of_time_zones_is_not_one() -> None:
    (row,) = said(("time_zone: America/New_York", "time_zone: America"))
    assert row.startswith("orders.yaml, line 8, field time_zone: expected a time zone, such as ")


def test_a_missing_file_is_told_by_the_name_it_was_given(tmp_path: Path) -> None:
    with pytest.raises(FileProblems) as refused:
        read_sheet(tmp_path / "none.yaml", "the order sheet")
    assert str(refused.value) == (
        "the order sheet: expected a file that can be read; found no file of that name."
    )


def test_a_file_on_disk_reads_like_its_bytes(tmp_path: Path) -> None:
    path = tmp_path / "orders.yaml"
    path.write_text(SHEET)
    assert read_sheet(path) == sheet()


def taken(raw: bytes) -> OrderSheet | None:
    """Return the sheet in *raw*, or None if it was refused as a file with problems."""
    try:
        return sheet_from_bytes(raw, "orders.yaml")
    except FileProblems as refused:
        assert refused.problems  # noqa: PT017 - a refusal without a reason is the fault sought
        return None


@given(st.binary(max_size=200))
def test_any_bytes_are_a_sheet_or_file_problems(raw: bytes) -> None:
    assert taken(raw) is None


LINES = tuple(SHEET.splitlines())


@given(st.integers(0, len(LINES) - 1), st.text(max_size=12) | st.sampled_from(["", "0 s", "{}"]))
def test_any_value_in_any_field_is_taken_or_told(place: int, value: str) -> None:
    name = LINES[place].partition(":")[0]
    lines = [*LINES[:place], f"{name}: {value}", *LINES[place + 1 :]]
    taken("\n".join(lines).encode("utf-8", "surrogatepass"))


@given(st.sets(st.integers(0, len(LINES) - 1), min_size=1, max_size=12))
def test_any_lines_left_out_are_taken_or_told(places: set[int]) -> None:
    kept = [line for place, line in enumerate(LINES) if place not in places]
    taken("\n".join(kept).encode())


def test_every_field_name_that_may_stand_is_one_that_is_read() -> None:
    text = changed(
        (TIMES, TIMES + "\n  every: 1 h\n  first: 2026-11-20T09:00-05:00"),
        with_pump("residual: 1 mL", "keep_open: 1 mL/h", "tolerance: 5%"),
        with_tubing("flush_through: 3 mL"),
    )
    text = "demonstration: yes\n" + text.replace(
        "time: 15 s", "time: 15 s\n  short_scrub_signed_by: A"
    )
    text = text.replace("born: 1951-04-02", "born: 1951-04-02\n  address: Here")
    text += ALSO
    for field, _ in form.every_field():
        assert f"{field.rpartition('.')[2]}:" in text
    for name in form.ROOT.names:
        assert f"\n{name}:" in f"\n{text}"
