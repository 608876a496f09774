"""The events of a dose become its record: what was given, what went wrong, who was there."""

from __future__ import annotations

from datetime import UTC, timedelta
from decimal import Decimal
from pathlib import Path

import pytest
from msgspec.structs import replace

from coach.clock import ManualClock
from coach.errors import JournalError
from coach.journal.records import Answer, Correction, Lot, OnPaper, People, Reason
from coach.orders.quantities import Quantity
from coach.records.book import Records
from coach.records.drawn import dose_lines
from coach.records.model import DoseRecord
from coach.sitting.desk import Desk
from coach.sitting.opening import Opening
from tests.person import MORNING, PROCEDURES, Person, desk_at, holds

HOUR = timedelta(hours=1)


def records_of(desk: Desk) -> Records:
    """Return the records of the doses on *desk*."""
    opening = Opening(desk.sheet, desk.sheet_raw, PROCEDURES, desk.journal, desk.clock, holds)
    return Records(opening, desk.journal)


def given(folder: Path, answers: dict[str, list[str]] | None = None) -> tuple[Desk, DoseRecord]:
    """Follow a dose with *answers*, and return the desk and the record of it."""
    clock = ManualClock(MORNING)
    desk = desk_at(folder, clock=clock)
    Person(desk.begin(), clock, answers or {}).follow()
    return desk, records_of(desk).of(desk.journal.every_sitting()[0])


def mL(number: str) -> Quantity:
    """Return a volume."""
    return Quantity(Decimal(number), "mL")


def test_a_whole_dose_is_completed_with_all_of_it_given(tmp_path: Path) -> None:
    desk, record = given(tmp_path)
    assert (record.status, record.timing) == ("completed", "in-time")
    assert (record.given, record.left) == (mL("10"), mL("0"))
    assert record.flow is not None
    assert record.flow.until is not None
    assert record.flow.until - record.flow.since >= timedelta(minutes=3)
    ordered = [desk.sheet.flush.saline_before, desk.sheet.flush.saline_after]
    assert [one.volume for one in record.pushes if one.kind == "flush"] == ordered
    assert all(one.agreed for one in record.typed)
    assert [one.says for one in record.looks if one.of == "site"] == ["Yes"]
    assert record.discard is not None
    assert record.chain


def test_a_dose_that_stopped_before_any_medicine_was_not_done(tmp_path: Path) -> None:
    desk, record = given(tmp_path, {"look-site": ["no"]})
    assert (record.status, record.given) == ("not-done", mL("0"))
    [call] = record.calls
    assert (call.call, call.ended, call.words) == ("nurse", True, "")
    desk.journal.records.keep(
        Answer(
            at=MORNING,
            sitting_id=1,
            seq=0,
            step=call.step,
            who="Nurse May",
            words="Wait for me.",
            read_back=True,
        )
    )
    [call] = records_of(desk).of(desk.journal.every_sitting()[0]).calls
    assert (call.who, call.words, call.read_back) == ("Nurse May", "Wait for me.", True)


def test_what_people_add_stands_beside_what_was_kept(tmp_path: Path) -> None:
    desk, before = given(tmp_path)
    book, row = desk.journal.records, desk.journal.every_sitting()[0]
    book.keep(People(at=MORNING, sitting_id=1, gave="R. V.", pressed="Ana"))
    book.keep(Lot(at=MORNING, sitting_id=1, lot="L7"))
    book.keep(
        Reason(
            at=MORNING,
            sheet_id=row.sheet_id,
            due_utc=row.due,
            kind="late",
            words="I slept",
            who="R. V.",
        )
    )
    wrong = Correction(
        at=MORNING,
        sitting_id=1,
        field="status",
        said="completed",
        says="entered-in-error",
        who="Nurse May",
        why="A try",
    )
    book.keep(wrong)
    record = records_of(desk).of(row)
    assert (record.gave, record.pressed, record.lot) == ("R. V.", "Ana", "L7")
    assert [one.words for one in record.reasons] == ["I slept"]
    assert record.status == "entered-in-error"
    assert [(one.said, one.why) for one in record.corrections] == [("completed", "A try")]
    assert (
        replace(record, gave="", pressed="", lot="", reasons=(), corrections=(), status="completed")
        == before
    )


def test_doses_never_begun_are_told_only_after_the_first_on_record(tmp_path: Path) -> None:
    desk, first = given(tmp_path)
    gap = timedelta(hours=1)
    found = records_of(desk).between(
        first.due - 24 * HOUR, first.due + 4 * HOUR, first.due + 3 * gap
    )
    assert found[0] == first
    assert len(found) > 1
    assert {one.status for one in found[1:]} == {"not-done"}


def test_a_dose_from_paper_takes_its_due_time(tmp_path: Path) -> None:
    desk, first = given(tmp_path)
    due = first.due + HOUR
    row = OnPaper(
        at=MORNING,
        sheet_id=first.sheet,
        sheet_hash=first.sheet_hash,
        due=due,
        due_utc=due,
        begun=due,
        ended=due + HOUR / 4,
        given="10",
        gave="R. V.",
        pressed="Ana",
        words="",
    )
    desk.journal.records.keep(row)
    with pytest.raises(JournalError, match="already in the record"):
        desk.journal.records.keep(row)
    assert due.astimezone(UTC) in desk.journal.taken(first.sheet)
    paper = [one for one in records_of(desk).between(due, due + HOUR, due) if one.from_paper]
    assert [(one.status, one.given, one.gave) for one in paper] == [
        ("completed", mL("10"), "R. V.")
    ]


def test_a_dose_under_way_is_in_progress(tmp_path: Path) -> None:
    clock = ManualClock(MORNING)
    desk = desk_at(tmp_path, clock=clock)
    Person(desk.begin(), clock).follow("infuse")
    record = records_of(desk).of(desk.journal.every_sitting()[0])
    assert (record.status, record.given) == ("in-progress", None)
    assert record.flow is not None
    assert record.flow.until is None
    said = list(dose_lines(record, desk.zone))
    assert "How much went in is asked at the end." in said
    assert "Nobody knows how much went in." not in said
