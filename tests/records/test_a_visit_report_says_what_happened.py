"""The visit report says what happened since the last visit, trouble first, and counts it."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal
from pathlib import Path

from msgspec.structs import replace

from coach.orders.quantities import Quantity
from coach.records.model import DoseRecord, Told, Typed, Why
from coach.records.report import COLUMNS, MOST_DOSES, Beside, visit_lines
from coach.records.trends import minutes_late, percent_given, trends_of
from coach.says import report as words
from coach.sitting.desk import Desk
from tests.person import MORNING
from tests.records.test_a_dose_becomes_a_record import given

DAY = timedelta(days=1)
NOTHING = Beside((), (), ())


def reported(desk: Desk, records: list[DoseRecord], beside: Beside = NOTHING) -> str:
    """Return the report of *records* as one text, with single spaces."""
    found = visit_lines(desk.sheet, records, MORNING - DAY, MORNING + DAY, beside, desk.zone)
    assert all(len(line) <= COLUMNS for line in found)
    return " ".join(" ".join(found).split())


def test_a_quiet_dose_is_counted_and_nothing_is_told_as_wrong(tmp_path: Path) -> None:
    desk, record = given(tmp_path)
    said = reported(desk, [record])
    assert words.NO_TROUBLES in said
    assert "Due: 1. Given in full: 1. Stopped early: 0. Not given: 0." in said
    assert "10 mL of 10 mL" in said
    assert words.NO_QUESTIONS in said


def test_trouble_stands_before_the_doses_with_what_was_done(tmp_path: Path) -> None:
    desk, record = given(tmp_path, {"look-site": ["no"]})
    told = Told(MORNING, "spoiled", "x", "I dropped the pad", ("Open a new pad",))
    typed = Typed(MORNING, "y", "Type the rate.", "28.8 mL/h", False, "", None)
    said = reported(desk, [replace(record, told=(told,), typed=(typed,))])
    assert said.index("I dropped the pad. Then: Open a new pad.") < said.index(words.DOSES)
    assert "28.8 mL/h" in said
    assert "Call to: nurse." in said
    assert words.NO_ANSWER in said
    assert "not given" in said


def test_what_the_person_said_stands_with_the_dose(tmp_path: Path) -> None:
    desk, record = given(tmp_path)
    late = replace(
        record, status="not-done", reasons=(Why(MORNING, "not-done", "I slept", "R. V."),)
    )
    beside = Beside(("All steps alone.",), ("Saline: 4 left.",), ((MORNING, "May I swim?"),))
    said = reported(desk, [late], beside)
    assert "Why not given: I slept (R. V.)" in said
    assert all(text in said for text in ("All steps alone.", "Saline: 4 left.", "May I swim?"))


def test_of_many_doses_only_those_with_something_to_say_are_told_one_by_one(
    tmp_path: Path,
) -> None:
    desk, record = given(tmp_path)
    plain = [replace(record, notes=())] * MOST_DOSES
    said = reported(desk, [*plain, replace(record, status="stopped")])
    assert words.AND_MORE.format(number=MOST_DOSES) in said
    assert said.count("stopped early") == 1


def test_the_weeks_count_the_doses_begun_and_what_was_spoiled(tmp_path: Path) -> None:
    desk, record = given(tmp_path)
    told = Told(MORNING, "spoiled", "x", "I dropped the pad", ())
    never = replace(record, status="not-done", begun=None, flow=None, due=record.due + 7 * DAY)
    trends = trends_of([record, replace(record, told=(told,)), never], desk.zone)
    assert [(week.doses, week.spoiled) for week in trends.weeks] == [(2, 1), (0, 0)]
    assert (trends.due, trends.given, trends.not_done, len(trends.rest)) == (3, 2, 1, 1)
    in_error = replace(record, status="entered-in-error")
    assert trends_of([in_error], desk.zone).due == 0


def test_how_late_and_how_much_are_whole_numbers(tmp_path: Path) -> None:
    _, record = given(tmp_path)
    assert record.flow is not None
    begun = replace(record.flow, since=record.due + timedelta(minutes=7, seconds=50))
    assert minutes_late(replace(record, flow=begun)) == 7
    assert minutes_late(replace(record, flow=None)) is None
    part = Quantity(Decimal("3.35"), "mL")
    assert percent_given(replace(record, given=part)) == 33
    assert percent_given(replace(record, given=None)) is None
