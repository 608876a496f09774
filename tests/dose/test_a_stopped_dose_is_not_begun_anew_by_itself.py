"""After a stop, Today says what happened, and a new beginning needs a word and a first look."""

from __future__ import annotations

from pathlib import Path

import pytest

from coach.clock import ManualClock
from coach.sitting.desk import Desk, NotNow, names_somebody
from coach.telling import last_stopped
from tests.dose.test_a_due_time_is_left_free_only_if_nothing_was_given import stopped
from tests.person import DAILY, MORNING, Person, changed_sheet, desk_at


@pytest.fixture
def clock() -> ManualClock:
    return ManualClock(MORNING)


def begun_again(desk: Desk, clock: ManualClock, **answers: list[str]) -> Person:
    """Begin on the word of a nurse."""
    told = {step.replace("_", "-"): given for step, given in answers.items()}
    return Person(desk.begin("Nurse on call"), clock, told)


def test_a_fever_before_the_medicine_needs_a_word_to_begin_anew(
    tmp_path: Path, clock: ManualClock
) -> None:
    desk = desk_at(tmp_path, clock=clock)
    due = desk.today().due
    stopped(desk, clock, "wipe-table", "fever")
    today = desk.today()
    assert (today.due, today.can_begin, today.word_for) == (due, True, "stopped")
    assert today.stopped is not None
    assert (today.stopped.title, today.stopped.call) == ("Fever or chills", "nurse")
    said = last_stopped(today, desk.zone)
    assert said.endswith(" on 25 November: Fever or chills. You called the nurse.")
    with pytest.raises(NotNow, match="The last dose was stopped"):
        desk.begin()
    assert begun_again(desk, clock).follow().way == "finished"


def test_a_bad_bag_needs_no_word(tmp_path: Path, clock: ManualClock) -> None:
    desk = desk_at(tmp_path, clock=clock)
    stopped(desk, clock, "wipe-table", "bag-leaks")
    assert desk.today().word_for == ""
    assert Person(desk.begin(), clock).follow().way == "finished"


def test_after_any_stop_the_line_is_looked_at_first(tmp_path: Path, clock: ManualClock) -> None:
    desk = desk_at(tmp_path, clock=clock)
    stopped(desk, clock, "wipe-table", "bag-leaks")
    person = Person(desk.begin(), clock)
    assert person.follow().way == "finished"
    assert person.seen[:3] == ["look-left-on", "look-left-clamp", "take-out"]


@pytest.mark.parametrize("step", ["look_left_on", "look_left_clamp"])
def test_what_was_left_on_or_open_ends_with_the_nurse_called(
    tmp_path: Path, clock: ManualClock, step: str
) -> None:
    desk = desk_at(tmp_path, clock=clock)
    stopped(desk, clock, "wipe-table", "fever")
    person = begun_again(desk, clock, **{step: ["no"]})
    view = person.follow()
    assert view.way == "stopped"
    assert view.card is not None
    assert view.card.contacts[0].who == "Nurse"


def test_after_a_dose_that_was_finished_nothing_is_asked(
    tmp_path: Path, clock: ManualClock
) -> None:
    desk = desk_at(tmp_path, clock=clock)
    assert desk.today().word_for == ""
    person = Person(desk.begin(), clock)
    assert person.follow().way == "finished"
    assert person.seen[0] == "take-out"
    assert desk.today().stopped is None


def test_a_dose_soon_after_the_last_one_needs_a_word_whatever_its_sheet(
    tmp_path: Path, clock: ManualClock
) -> None:
    first = desk_at(tmp_path, clock=clock)
    assert Person(first.begin(), clock).follow().way == "finished"
    first.journal.close()
    changes = {"  id: demo-quick ": "  id: demo-other "}
    desk = desk_at(tmp_path, changed_sheet(tmp_path, changes), clock)
    today = desk.today()
    assert (today.can_begin, today.word_for) == (True, "too-soon")
    with pytest.raises(NotNow, match="begun only a short time ago"):
        desk.begin()
    assert desk.begin("Nurse on call").row.due == today.due


def test_half_of_the_interval_later_it_needs_none(tmp_path: Path, clock: ManualClock) -> None:
    first = desk_at(tmp_path, clock=clock)
    assert Person(first.begin(), clock).follow().way == "finished"
    first.journal.close()
    clock.move(30 * 60)
    desk = desk_at(tmp_path, changed_sheet(tmp_path, {"  id: demo-quick ": "  id: other "}), clock)
    assert desk.today().word_for == ""


def test_on_a_daily_sheet_six_hours_are_too_soon(tmp_path: Path, clock: ManualClock) -> None:
    first = desk_at(tmp_path, clock=clock)
    assert Person(first.begin(), clock).follow().way == "finished"
    first.journal.close()
    assert desk_at(tmp_path, DAILY, clock).today().word_for == "too-soon"
    clock.move(6 * 3_600)
    assert desk_at(tmp_path, DAILY, clock).today().word_for == ""


@pytest.mark.parametrize("word", ["", "no", "No.", "quit", "call", "2", ".", "x", "not yet"])
def test_what_names_nobody_is_no_leave_to_begin(word: str) -> None:
    assert not names_somebody(word)


@pytest.mark.parametrize("word", ["Nurse on call", "Dr. Lee", "Noor", "Ng"])
def test_a_name_is_leave_to_begin(word: str) -> None:
    assert names_somebody(word)


def test_a_bag_that_can_no_longer_warm_up_in_time_needs_a_word(tmp_path: Path) -> None:
    clock = ManualClock(MORNING)
    desk = desk_at(tmp_path, clock=clock)
    today = desk.today()
    clock.move((today.begin_by - clock.at).total_seconds() + 30)
    assert desk.today().word_for == "too-late"
    with pytest.raises(NotNow, match="can no longer warm up in time"):
        desk.begin("no")
    assert desk.begin("Dr. Lee").row.due == today.due
