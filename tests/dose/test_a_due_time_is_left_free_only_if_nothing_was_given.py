"""A dose that stopped before its medicine may be begun anew with another bag; no other may."""

from __future__ import annotations

import hashlib
from pathlib import Path

import pytest

from coach.clock import ManualClock
from coach.errors import JournalError
from coach.sitting.desk import Desk
from tests.person import MORNING, Person, desk_at


def stopped(desk: Desk, clock: ManualClock, step: str, trouble: str) -> Person:
    """Follow a dose to *step*, tell of a *trouble* that ends in a stop, and call."""
    person = Person(desk.begin(), clock)
    person.follow(until=step)
    person.sitting.went_wrong(trouble)
    assert person.follow().way == "stopped"
    return person


@pytest.fixture
def clock() -> ManualClock:
    return ManualClock(MORNING)


def test_a_bad_bag_leaves_the_due_time_free_for_a_new_one(
    tmp_path: Path, clock: ManualClock
) -> None:
    desk = desk_at(tmp_path, clock=clock)
    due = desk.today().due
    stopped(desk, clock, "open-port", "bag-leaks")
    assert desk.today().due == due
    assert desk.today().can_begin
    second = Person(desk.begin(), clock)
    assert second.sitting.row.due == due
    assert second.follow().way == "finished"
    assert desk.today().due > due


def test_it_is_left_free_as_often_as_nothing_was_given(tmp_path: Path, clock: ManualClock) -> None:
    desk = desk_at(tmp_path, clock=clock)
    due = desk.today().due
    for _ in range(3):
        stopped(desk, clock, "wipe-table", "bag-leaks")
        assert desk.today().due == due


def test_once_medicine_was_begun_the_due_time_is_never_given_again(
    tmp_path: Path, clock: ManualClock
) -> None:
    desk = desk_at(tmp_path, clock=clock)
    due = desk.today().due
    person = stopped(desk, clock, "infuse", "bag-leaks")
    assert desk.today().due > due
    with pytest.raises(JournalError):
        desk.journal.begin(
            kind="dose",
            sheet_id=person.sitting.row.sheet_id,
            sheet_hash=person.sitting.row.sheet_hash,
            procedure_hash=person.sitting.row.procedure_hash,
            due=due,
            choices=person.sitting.row.choices,
            begun=clock.now(),
        )


def test_a_start_that_did_not_take_counts_as_begun(tmp_path: Path, clock: ManualClock) -> None:
    desk = desk_at(tmp_path, clock=clock)
    due = desk.today().due
    person = Person(desk.begin(), clock, {"see-running": ["no"]})
    person.follow(until="not-running")
    person.sitting.done()
    person.sitting.went_wrong("bag-leaks")
    assert person.follow().way == "stopped"
    assert desk.today().due > due


def test_after_an_emergency_the_due_time_is_taken(tmp_path: Path, clock: ManualClock) -> None:
    desk = desk_at(tmp_path, clock=clock)
    due = desk.today().due
    stopped(desk, clock, "wipe-table", "danger")
    assert desk.today().due > due


def test_another_window_sees_the_due_time_free_as_well(tmp_path: Path, clock: ManualClock) -> None:
    desk = desk_at(tmp_path, clock=clock)
    due = desk.today().due
    stopped(desk, clock, "wipe-table", "fever")
    desk.journal.close()
    assert desk_at(tmp_path, clock=clock).today().due == due


def test_a_record_that_cannot_be_read_leaves_nothing_free_and_needs_a_word(
    tmp_path: Path, clock: ManualClock
) -> None:
    desk = desk_at(tmp_path, clock=clock)
    due, raw = desk.today().due, b"{}"
    sha256 = hashlib.sha256(raw).hexdigest()
    for kind in ("sheet", "procedure"):
        desk.journal.keep_source(kind, sha256, raw)
    row = desk.journal.begin(
        kind="dose",
        sheet_id=desk.sheet.sheet.id,
        sheet_hash=sha256,
        procedure_hash=sha256,
        due=due,
        choices={},
        begun=clock.now(),
    )
    desk.journal.append(row.id, clock.now(), "answer", "a-stop", "called", ends="stopped")
    assert desk.today().due > due
    assert desk.today().needs_word
