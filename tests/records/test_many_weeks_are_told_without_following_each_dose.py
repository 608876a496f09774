"""Week by week is told by the events of the doses alone, and comes to what their records say."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path

import pytest

from coach.clock import ManualClock
from coach.records.drawn import trend_lines
from coach.records.forms import forms_of
from coach.records.shelf import EVER, Shelf
from coach.records.trends import WEEKS, Week, trends_of
from coach.records.weeks import weeks_of
from coach.sitting.opening import Opening
from tests.person import MORNING, Person, desk_at
from tests.records.test_what_is_written_down_beside_a_dose import fill, form, shelf_after
from tests.records.test_what_was_wrong_is_put_right import from_paper

MONDAY = date(2026, 11, 23)


def after_some_doses(folder: Path) -> Shelf:
    """Return a shelf with a dose that went well, one that did not, and one with a slip."""
    clock = ManualClock(MORNING)
    desk = desk_at(folder, clock=clock)
    assert Person(desk.begin(), clock).follow().way == "finished"
    clock.move((desk.today().opens - clock.at).total_seconds())
    sitting = desk.begin("Nurse on call")
    person = Person(sitting, clock)
    person.follow("look-site")
    person.sitting.went_wrong("hands-soiled")
    person.follow("saline-before-push")
    sitting.answer("no")
    sitting.undo()
    sitting.answer("no")
    assert person.follow().way == "finished"
    clock.move((desk.today().opens - clock.at).total_seconds())
    sitting = desk.begin("Nurse on call")
    person = Person(sitting, clock)
    person.follow("saline-before-push")
    sitting.answer("no")
    sitting.undo()
    assert person.follow().way == "finished"
    return Shelf(desk)


def test_it_comes_to_what_the_records_of_the_doses_say(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    shelf = after_some_doses(tmp_path)
    records = shelf.records.between(EVER, shelf.now() + timedelta(days=1), shelf.now())
    begun = [one for one in records if one.begun is not None]
    assert [(one.resisted, bool(one.told)) for one in begun] == [(0, False), (1, True), (0, False)]
    monkeypatch.setattr(Opening, "history", None)
    assert weeks_of(shelf) == trends_of(records, shelf.zone).weeks == (Week(MONDAY, 3, 1, 1),)


def test_what_was_entered_in_error_counts_in_no_week(tmp_path: Path) -> None:
    shelf = after_some_doses(tmp_path)
    second = next(one for one in shelf.day(shelf.today()) if one.resisted)
    fill(form(forms_of(shelf, second), "error"), {"who": "Nurse May", "why": "a try"})
    assert weeks_of(shelf) == (Week(MONDAY, 2, 0, 0),)


def test_a_dose_from_paper_counts_as_begun_unless_it_was_entered_in_error(tmp_path: Path) -> None:
    shelf, dose = from_paper(tmp_path)
    assert weeks_of(shelf) == (Week(MONDAY, 2, 0, 0),)
    fill(form(forms_of(shelf, dose), "error"), {"who": "Nurse May", "why": "a try"})
    assert weeks_of(shelf) == (Week(MONDAY, 1, 0, 0),)


def test_weeks_go_back_further_than_the_days_that_are_told_one_by_one(tmp_path: Path) -> None:
    shelf = shelf_after(tmp_path, hours=(WEEKS - 1) * 7 * 24)
    weeks = weeks_of(shelf)
    assert [week.doses for week in weeks] == [1, *[0] * (WEEKS - 1)]
    told = list(trend_lines((), shelf.now(), shelf.now(), weeks, shelf.zone))
    assert "By week, 12 at most: begun, with resistance (r), with a soiling (s)." in told
    assert "23 Nov ............ 1 begun, 0 r, 0 s" in told
    later = tmp_path / "later"
    later.mkdir()
    assert weeks_of(shelf_after(later, hours=WEEKS * 7 * 24)) == ()
