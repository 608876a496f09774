"""The doses as CSV: one row a dose, safe to open in a spreadsheet, and read back as it was.

RFC 4180 (read): records end with CRLF, a field with a quote, a comma or a line break is quoted, and
a quote in it is doubled; all records have the same number of fields. What a spreadsheet takes for
a formula: OWASP, CSV injection (restated).
"""

from __future__ import annotations

import csv
import io
import re
from datetime import UTC, datetime
from decimal import Decimal
from zoneinfo import ZoneInfo

import pytest
from msgspec.structs import replace

from coach.errors import CoachError
from coach.orders.quantities import Quantity
from coach.records.export.table import (
    COLUMNS,
    Row,
    columns_csv,
    csv_of,
    read_csv,
    rows_of,
)
from coach.records.model import Note, Span, Told, Why
from coach.says import export as words
from tests.records.test_the_export_as_fhir import START, Dice

ZONE = ZoneInfo("America/New_York")
FIELD = re.compile(rb'(?:"(?:[^"]|"")*"|[^",\r\n]*)(,|\r\n)')
"""A field and what ends it, by the grammar of RFC 4180, section 2."""


def some_rows(number: int) -> tuple[Row, ...]:
    """Return the rows of random records."""
    dice = Dice(11)
    return rows_of([dice.record(n) for n in range(number)], ZONE)


def by_the_grammar(raw: bytes) -> list[int]:
    """Return how many fields each record has, read by the grammar alone."""
    place, counts, fields = 0, list[int](), 0
    while place < len(raw):
        found = FIELD.match(raw, place)
        assert found is not None, raw[place : place + 40]
        place, fields = found.end(), fields + 1
        if found[1] == b"\r\n":
            counts.append(fields)
            fields = 0
    return counts


def test_rows_are_read_back_as_they_were() -> None:
    rows = some_rows(400)
    assert read_csv(csv_of(rows)) == rows
    assert read_csv(csv_of(())) == ()


def test_each_file_keeps_to_the_grammar_and_is_utf_8() -> None:
    raw, dictionary = csv_of(some_rows(100)), columns_csv()
    assert by_the_grammar(raw) == [len(COLUMNS)] * 101
    assert by_the_grammar(dictionary) == [len(words.DICTIONARY)] * (len(COLUMNS) + 1)
    assert "夜" in raw.decode("utf-8")


def test_the_dictionary_names_each_column_once_and_in_order() -> None:
    head, *rows = csv.reader(io.StringIO(columns_csv().decode("utf-8"), newline=""))
    assert tuple(head) == words.DICTIONARY
    assert [row[0] for row in rows] == [column.name for column in COLUMNS]
    assert all(all(row) for row in rows)
    assert set(words.COLUMNS) == {column.name for column in COLUMNS}
    assert set(words.FORMS) == {column.form for column in COLUMNS}


@pytest.mark.parametrize(
    "typed", ["=1+1", "+1", "-1", "@SUM(A1)", "'quoted", "\t=1", "＝1", '=HYPERLINK("x","y")']
)
def test_no_words_of_a_person_are_taken_for_a_formula(typed: str) -> None:
    record = replace(Dice(11).record(1), lot=typed, notes=(Note(START, typed),), gave=typed)
    [row] = rows_of([record], ZONE)
    raw = csv_of([row])
    assert read_csv(raw) == (row,)
    assert row["lot"] == typed
    [_, cells] = csv.reader(io.StringIO(raw.decode("utf-8"), newline=""))
    for column, cell in zip(COLUMNS, cells, strict=True):
        if column.form == "text":
            assert not cell.startswith(("=", "+", "-", "@", "\t", "\r", "＝", "＋", "－", "＠"))
    assert cells[[c.name for c in COLUMNS].index("lot")] == f"'{typed}"


def test_times_are_by_the_clock_of_the_sheet_and_stay_what_they_are() -> None:
    due = datetime(2026, 11, 1, 5, 30, tzinfo=UTC)  # the first 01:30 of that night
    record = replace(Dice(11).record(1), due=due, window=Span(due, due.replace(hour=6)))
    [row] = read_csv(csv_of(rows_of([record], ZONE)))
    assert str(row["due"]) == "2026-11-01 01:30:00-04:00"
    assert str(row["window_to"]) == "2026-11-01 01:30:00-05:00"
    assert row["due"] == due


def test_what_is_told_stands_in_its_cell_and_what_nobody_knows_is_empty() -> None:
    record = replace(
        Dice(11).record(1),
        status="not-done",
        dose=Quantity(Decimal("0.50"), "g"),
        given=None,
        flow=None,
        told=(
            Told(START, "spoiled", "a", "I dropped the pad", ("Open a new pad",)),
            Told(START, "trouble", "b", "It leaks", ()),
            Told(START, "trouble", "c", "It beeps", ()),
        ),
        reasons=(Why(START, "not-done", "I slept", "R. V."),),
    )
    [row] = read_csv(csv_of(rows_of([record], ZONE)))
    assert row["spoiled"] == "I dropped the pad: Open a new pad"
    assert row["troubles"] == "It leaks | It beeps"
    assert row["reasons"] == "not-done: I slept"
    assert (row["status"], row["dose"], row["dose_unit"]) == ("not-done", Decimal("0.5"), "g")
    assert (row["given_mL"], row["medicine_from"], row["timing"]) == (None, None, "")


@pytest.mark.parametrize("raw", [b"", b"a,b\r\n", b"\xff", b"{}", csv_of(()) + b"1,2\r\n"])
def test_another_file_is_refused(raw: bytes) -> None:
    with pytest.raises(CoachError, match="no export of the coach"):
        read_csv(raw)
