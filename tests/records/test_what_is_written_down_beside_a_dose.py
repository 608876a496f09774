"""What people write down beside a dose is asked for a question at a time, and stays beside it."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime, timedelta
from decimal import Decimal
from pathlib import Path

import pytest
from msgspec.structs import replace

from coach.clock import ManualClock
from coach.errors import EngineError, JournalError, OrderError
from coach.journal.records import Asked, Called
from coach.orders.quantities import Quantity
from coach.records.drawn import change_lines, dose_lines, row_of, time_line_of, trend_lines
from coach.records.export.fhir_read import read_bundle
from coach.records.export.handed import fhir_file
from coach.records.forms import answer_form, answer_to, forms_of, needs_answer
from coach.records.questions import Form
from coach.records.shelf import Shelf, fits
from coach.sitting.show import view_of
from coach.visit import report_of
from tests.person import MORNING, Person, desk_at


def shelf_after(folder: Path, hours: int = 2) -> Shelf:
    """Return the shelf some hours after a dose that went well."""
    clock = ManualClock(MORNING)
    desk = desk_at(folder, clock=clock)
    Person(desk.begin(), clock).follow()
    clock.move(hours * 3600)
    return Shelf(desk)


def form(forms: tuple[Form, ...], name: str) -> Form:
    """Return the form called *name*."""
    return next(one for one in forms if one.name == name)


def fill(one: Form, answers: Mapping[str, str]) -> str:
    """Answer all that *one* asks, and return what is said then."""
    told: dict[str, str] = {}
    for question in one.questions:
        question.check(answers[question.name], told)
        told[question.name] = answers[question.name]
    return one.keep(told)


def test_the_doses_are_read_day_by_day_the_newest_first(tmp_path: Path) -> None:
    shelf = shelf_after(tmp_path, hours=30)
    newest, before = shelf.back_from(shelf.today())
    assert {one.status for one in newest} == {"not-done"}
    assert before == shelf.today() - timedelta(days=1), "a day with enough doses is a page"
    found, older = shelf.back_from(before)
    assert found[-1].status == "completed"
    assert [one.due for one in found] == sorted((one.due for one in found), reverse=True)
    only, _ = shelf.back_from(shelf.today(), "given in full")
    assert [one.status for one in only] == ["completed"]
    assert shelf.back_from(older) == ((), older), "before the first dose nothing is looked into"


def test_every_word_has_to_stand_somewhere(tmp_path: Path) -> None:
    shelf = shelf_after(tmp_path)
    dose = shelf.back_from(shelf.today(), "given full")[0][0]
    assert fits(dose, "CEFAZOLIN in full", shelf.zone)
    assert not fits(dose, "cefazolin stopped", shelf.zone)


def test_a_correction_stands_beside_what_was_there(tmp_path: Path) -> None:
    shelf = shelf_after(tmp_path)
    [dose] = shelf.back_from(shelf.today(), "given in full")[0]
    put_right = form(forms_of(shelf, dose), "given")
    with pytest.raises(OrderError, match="more than the bag"):
        put_right.questions[0].check("11", {})
    with pytest.raises(OrderError, match="number alone"):
        put_right.questions[0].check("1e1", {})
    fill(put_right, {"given": "8", "who": "Nurse May", "why": "the bag was not empty"})
    [changed] = shelf.anew(dose).corrections
    assert (changed.said, changed.says, changed.who) == ("10", "8", "Nurse May")
    said = "\n".join(dose_lines(shelf.anew(dose), shelf.zone))
    assert "how much went in said 10 mL, now says 8 mL. Why: the bag was not empty" in said
    fill(form(forms_of(shelf, dose), "error"), {"who": "Nurse May", "why": "a try"})
    wrong = shelf.anew(dose)
    assert wrong.status == "entered-in-error"
    assert len(wrong.corrections) == 2
    assert row_of(wrong, shelf.zone).startswith("x 10:00 entered in error")


PUT_RIGHT = {
    "given": "8",
    "started": "25 Nov 2026 09:52",
    "over": "25 Nov 2026 10:01",
    "lot": "L-77",
    "gave": "Ana",
    "pressed": "Ben",
}


def test_what_is_put_right_is_what_the_record_shows(tmp_path: Path) -> None:
    shelf = shelf_after(tmp_path)
    [dose] = shelf.back_from(shelf.today(), "given in full")[0]
    assert dose.flow is not None
    for name, says in PUT_RIGHT.items():
        fill(form(forms_of(shelf, dose), name), {name: says, "who": "May", "why": "by the chart"})
        dose = shelf.anew(dose)
    fill(form(forms_of(shelf, dose), "given"), {"given": "9", "who": "May", "why": "once more"})
    dose = shelf.anew(dose)
    assert dose.flow is not None
    assert dose.flow.until is not None
    times = [f"{at.astimezone(shelf.zone):%H:%M}" for at in (dose.flow.since, dose.flow.until)]
    assert (times, dose.given, dose.lot) == (["09:52", "10:01"], Quantity(Decimal(9), "mL"), "L-77")
    assert (dose.gave, dose.pressed, dose.status) == ("Ana", "Ben", "completed")
    assert [(one.said, one.says) for one in dose.corrections if one.field == "given"] == [
        ("10", "8"),
        ("8", "9"),
    ]
    said = "\n".join((*dose_lines(dose, shelf.zone), *report_of(shelf)))
    assert "9 mL of 10 mL" in said
    assert "when the pump was started said 09:57 on 25 November, now says 09:52" in said
    assert "who gave it said nothing, now says Ana" in said
    assert "getting ready" in "\n".join(time_line_of(dose, shelf.zone))
    later = replace(dose, begun=dose.flow.since + timedelta(seconds=30))
    assert "getting ready" not in "\n".join(time_line_of(later, shelf.zone)), "it was before that"
    assert "Corrected by May on 25 November 2026: how much went in" in said
    [file] = fhir_file(shelf.desk, (dose,), tmp_path / "out.json", "R5")
    [read] = read_bundle(file.raw)
    assert (read.given, read.flow, read.lot) == (dose.given, dose.flow, dose.lot)
    assert file.holds(file.raw), "all of it comes back, with what was there before"


def test_a_time_that_cannot_have_been_is_not_put_right(tmp_path: Path) -> None:
    shelf = shelf_after(tmp_path)
    [dose] = shelf.back_from(shelf.today(), "given in full")[0]
    started, over = (form(forms_of(shelf, dose), name).questions[0] for name in ("started", "over"))
    with pytest.raises(OrderError, match="after the medicine was over"):
        started.check("25 Nov 2026 11:50", {})
    with pytest.raises(OrderError, match="not come yet"):
        started.check("25 Nov 2027 10:40", {})
    with pytest.raises(OrderError, match="before the pump started"):
        over.check("25 Nov 2026 09:00", {})
    assert (dose.begun, dose.ended) != (None, None)
    with pytest.raises(
        OrderError, match="before this dose was begun here, at 09:50 on 25 November"
    ):
        started.check("25 Nov 2026 09:49", {})
    started.check("25 Nov 2026 09:50", {})
    with pytest.raises(OrderError, match="after this dose ended here, at "):
        over.check("25 Nov 2026 11:00", {})


def test_how_much_went_in_is_put_right_only_once_a_dose_is_over(tmp_path: Path) -> None:
    clock = ManualClock(MORNING)
    desk = desk_at(tmp_path, clock=clock)
    sitting = desk.begin()
    for until, of_a_dose in (("infuse", False), ("", True)):
        Person(sitting, clock).follow(until)
        shelf = Shelf(desk)
        [dose] = shelf.day(shelf.today())
        offered = {one.name for one in forms_of(shelf, dose)}
        assert ({"given", "error"} <= offered, "gave" in offered) == (of_a_dose, True)


def test_a_bag_that_is_good_through_a_day_is_good_until_its_end(tmp_path: Path) -> None:
    shelf = shelf_after(tmp_path)
    [dose] = shelf.back_from(shelf.today(), "given in full")[0]
    midnight = datetime(2026, 12, 31, tzinfo=shelf.zone)
    said = "\n".join(dose_lines(replace(dose, discard=midnight), shelf.zone))
    assert "good until the end of 30 December 2026." in said
    said = "\n".join(dose_lines(replace(dose, discard=midnight + timedelta(hours=9)), shelf.zone))
    assert "good until 09:00 on 31 December 2026." in said


def test_why_a_dose_was_not_given_is_kept_in_the_persons_words(tmp_path: Path) -> None:
    shelf = shelf_after(tmp_path)
    [missed] = shelf.back_from(shelf.today(), "not given")[0]
    fill(form(forms_of(shelf, missed), "reason"), {"reason": "I was out", "who": "Ana"})
    assert [(one.kind, one.words) for one in shelf.anew(missed).reasons] == [
        ("not-done", "I was out")
    ]
    told = "\n".join(trend_lines(*shelf.lately(), (), shelf.zone))
    assert "1 of 2 due doses" in told
    assert "not given. I was out" in told


def test_a_dose_on_paper_takes_its_due_time_once(tmp_path: Path) -> None:
    shelf = shelf_after(tmp_path)
    [missed] = shelf.back_from(shelf.today(), "not given")[0]
    paper = form(forms_of(shelf, missed), "paper")
    answers = {
        "begun": "25 Nov 2026 10:50",
        "ended": "25 Nov 2026 11:00",
        "amount": "",
        "gave": "Ana",
        "writes": "Ben",
    }
    with pytest.raises(OrderError, match="before the pump started"):
        fill(paper, {**answers, "ended": "25 Nov 2026 10:40"})
    with pytest.raises(OrderError, match="not come yet"):
        fill(paper, {**answers, "begun": "25 Nov 2027 10:40"})
    fill(paper, answers)
    now = shelf.anew(missed)
    assert (now.status, now.from_paper, now.given) == ("unknown", True, None)
    by_hand = form(forms_of(shelf, None), "paper")
    with pytest.raises(OrderError, match="No dose was due"):
        by_hand.questions[0].check("25 Nov 2026 11:30", {})
    with pytest.raises(JournalError, match="already in the record"):
        fill(by_hand, {**answers, "due": "25 Nov 2026 11:00"})


def test_a_visit_ends_what_the_next_report_goes_back_to(tmp_path: Path) -> None:
    shelf = shelf_after(tmp_path)
    before = shelf.since_visit()
    fill(form(forms_of(shelf, None), "question"), {"question": "May I swim?"})
    assert [words for _, words in shelf.questions(before)] == ["May I swim?"]
    fill(form(forms_of(shelf, None), "visit"), {"nurse": "May"})
    book = shelf.desk.journal.records
    assert (book.every(Called)[0].nurse, len(book.every(Asked))) == ("May", 1)
    assert shelf.since_visit() == shelf.now()


def test_a_time_line_has_each_part_in_its_order(tmp_path: Path) -> None:
    shelf = shelf_after(tmp_path)
    [dose] = shelf.back_from(shelf.today(), "given in full")[0]
    _, *lines = time_line_of(dose, shelf.zone)
    kinds = [line.split()[1][0] for line in lines]
    assert kinds == ["~", "^", "=", "^", "#", "|"]
    assert max(map(len, lines)) <= 38
    assert list(change_lines(dose, dose, shelf.zone)) == []


def test_a_stop_goes_on_only_by_words_that_were_read_back(tmp_path: Path) -> None:
    clock = ManualClock(MORNING)
    desk = desk_at(tmp_path, clock=clock)
    sitting = desk.begin()
    person = Person(sitting, clock)
    person.follow("infuse")
    with pytest.raises(EngineError, match="no call"):
        answer_form(sitting)
    sitting.went_wrong("pump-warning")
    stop = view_of(sitting)
    goes_on = stop.choices[-1].name
    assert not needs_answer(sitting, stop.choices[0].name)
    assert needs_answer(sitting, goes_on)
    said = {"words": "Let it run.", "caller": "May", "back": "no"}
    fill(answer_form(sitting), said)
    assert needs_answer(sitting, goes_on), "words that were not read back are no word"
    fill(answer_form(sitting), {**said, "back": "yes"})
    assert not needs_answer(sitting, goes_on)
    sitting.answer(goes_on)
    person.follow("infuse")
    sitting.went_wrong("pump-warning")
    assert needs_answer(sitting, goes_on), "a word is for one call"
    sitting.answer("called")
    fill(answer_form(sitting), {**said, "back": "yes"})
    assert answer_to(sitting) is not None
    [first, second] = Shelf(desk).records.of(desk.journal.every_sitting()[0]).calls
    assert (first.who, second.words) == ("May", "Let it run.")
