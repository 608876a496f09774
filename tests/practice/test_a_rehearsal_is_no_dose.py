"""A rehearsal is followed as a dose is, and nothing of it is ever among doses."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from coach import places
from coach.clock import ManualClock
from coach.errors import EngineError, JournalBusy
from coach.journal.store import Journal
from coach.practice.lessons import Lessons, NotYet
from coach.practice.rehearsal import Rehearsal
from coach.sitting.show import view_of
from coach.sitting.view import View
from tests.person import DEMO, MORNING, changed_sheet, desk_at
from tests.practice.school import clock_of, follow, lessons_at, pupil


def test_a_rehearsal_goes_through_all_the_steps_of_a_dose_with_new_tubing(tmp_path: Path) -> None:
    lessons = lessons_at(tmp_path)
    rehearsal = lessons.begin(pupil(lessons)[1])
    assert follow(lessons, rehearsal).way == "finished"
    steps = {moment.step.id for moment in rehearsal.sitting.moments if moment.step is not None}
    assert {"unpack-tubing", "batteries-in", "start-pump", "heparin-syringe-push"} <= steps


def test_the_nurse_chooses_the_circumstances(tmp_path: Path) -> None:
    sheet = changed_sheet(tmp_path, {"reuse: not-allowed": "reuse: allowed\n  hours: 24 h"})
    lessons = lessons_at(tmp_path, sheet)
    offered = {one.choice: one.values for one in lessons.circumstances()}
    assert offered["tubing"] == ("new", "kept")
    assert offered["last"] == ("finished", "stopped")
    rehearsal = lessons.begin(pupil(lessons)[1], {"tubing": "kept", "batteries": "no such"})
    choices = rehearsal.sitting.row.choices
    assert (choices["tubing"], choices["batteries"]) == ("kept", "due")


def test_the_record_of_doses_is_never_written_by_a_rehearsal(tmp_path: Path) -> None:
    desk = desk_at(tmp_path)
    record = tmp_path / "journal.sqlite"
    before = {path.name: path.read_bytes() for path in tmp_path.glob("journal.sqlite*")}
    lessons = Lessons(desk, places.practice_beside(record), lessons_at(tmp_path / "x").chance)
    follow(lessons, lessons.begin(pupil(lessons)[1]))
    after = {path.name: path.read_bytes() for path in tmp_path.glob("journal.sqlite*")}
    assert after == before
    assert desk.journal.every_sitting() == ()


def test_a_file_of_rehearsals_takes_no_dose_and_a_record_no_rehearsal(tmp_path: Path) -> None:
    lessons = lessons_at(tmp_path)
    lessons.begin(pupil(lessons)[1])
    lessons.put_aside()
    row = lessons.journal.every_sitting()[0]
    with pytest.raises(Exception, match="could not be used"):
        lessons.journal.begin(
            kind="dose",
            sheet_id=row.sheet_id,
            sheet_hash=row.sheet_hash,
            procedure_hash=row.procedure_hash,
            due=row.due,
            choices={},
            begun=row.begun,
        )


@settings(
    max_examples=4, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(moves=st.lists(st.sampled_from(("dose", "practice", "hour")), min_size=2, max_size=4))
def test_doses_and_rehearsals_mixed_leave_the_day_as_the_doses_alone_do(
    tmp_path_factory: pytest.TempPathFactory, moves: list[str]
) -> None:
    days = []
    for practises in (True, False):
        folder = tmp_path_factory.mktemp("home")
        clock = ManualClock(MORNING)
        desk = desk_at(folder, DEMO, clock)
        lessons = lessons_at(folder, DEMO, clock)
        visit = pupil(lessons)[1]
        for move in moves:
            if move == "hour":
                clock.move(3_600)
            elif move == "practice":
                if practises:
                    _some_of(lessons, lessons.begin(visit))
            elif desk.today().can_begin and not desk.today().needs_word:
                dose = desk.begin()
                dose.went_wrong("bag-leaks")
                dose.answer("called")
                desk.journal.release_dose()
        today = desk.today()
        rows = desk.journal.every_sitting()
        assert {row.kind for row in rows} <= {"dose"}
        stock = desk.supplies.items()
        days.append(
            (
                today.due,
                today.missed,
                today.last and today.last.due,
                today.word_for,
                len(rows),
                stock,
            )
        )
        desk.journal.close()
        lessons.close()
    assert days[0] == days[1]


def _some_of(lessons: Lessons, rehearsal: Rehearsal) -> None:
    """Rehearse a few steps at a clock that stands still, and put the rest aside."""
    sitting = rehearsal.sitting
    for _ in range(3):
        if view_of(sitting).way == "act":
            sitting.done()
    lessons.put_aside()


# Waits


def test_a_long_wait_is_skipped_and_the_screen_says_by_how_much(tmp_path: Path) -> None:
    lessons = lessons_at(tmp_path)
    rehearsal = lessons.begin(pupil(lessons)[1])
    rehearsal.sitting.done()
    assert view_of(rehearsal.sitting).step == "let-it-warm"
    clock_of(lessons).move(30)
    assert rehearsal.skip_wait() == "1 minute 30 seconds of 2 minutes were skipped for practice."
    assert rehearsal.skipped().startswith("1 minute 30 seconds of 2 minutes")
    rehearsal.sitting.done()
    assert rehearsal.skipped() == ""


def test_no_scrub_no_wash_and_no_drying_can_be_skipped(tmp_path: Path) -> None:
    sheet = changed_sheet(tmp_path, {"dry: 6 s": "dry: 2 min", "time: 15 s": "time: 70 s"})
    lessons = lessons_at(tmp_path, sheet)
    rehearsal = lessons.begin(pupil(lessons)[1])
    sitting, tried = rehearsal.sitting, set[str]()

    def try_it(view: View) -> None:
        if view.way != "run":
            return
        sitting.start_run()
        while sitting.running:
            clock_of(lessons).move(1)
            tried.add(sitting.step().id)
            assert rehearsal.can_skip() == 0
            sitting.tick()

    follow(lessons, rehearsal, "saline-before-seen", before=try_it)
    assert {"first-wash", "saline-before-scrub", "saline-before-dry"} <= tried


def test_a_wait_that_is_not_running_cannot_be_skipped(tmp_path: Path) -> None:
    lessons = lessons_at(tmp_path)
    rehearsal = lessons.begin(pupil(lessons)[1])
    with pytest.raises(EngineError, match="no wait here"):
        rehearsal.skip_wait()


def test_marks_and_visits_carry_the_real_time(tmp_path: Path) -> None:
    lessons = lessons_at(tmp_path)
    rehearsal = lessons.begin(pupil(lessons)[1])
    rehearsal.sitting.done()
    rehearsal.skip_wait()
    rehearsal.sitting.done()
    real = clock_of(lessons).now().at
    last = rehearsal.last_to_mark()
    assert last is not None
    assert rehearsal.mark(last, "alone").at == real
    event = rehearsal.sitting.moment.event
    assert event is not None
    assert event.at.at - real == timedelta(minutes=2)


# Taken up again


def test_a_rehearsal_that_was_killed_goes_on_at_its_own_time(tmp_path: Path) -> None:
    clock = ManualClock(MORNING)
    lessons = lessons_at(tmp_path, DEMO, clock)
    rehearsal = lessons.begin(pupil(lessons)[1])
    rehearsal.sitting.done()
    rehearsal.skip_wait()
    lessons.close()
    again = lessons_at(tmp_path, DEMO, clock)
    run = again.under_way()
    assert run is not None
    assert again.learner_of(run).name == "R. V."
    taken = again.resume()
    assert taken.run == rehearsal.run
    timer = taken.sitting.timer()
    assert timer is not None
    assert timer.over


def test_one_rehearsal_at_a_time(tmp_path: Path) -> None:
    lessons = lessons_at(tmp_path)
    _, visit = pupil(lessons)
    lessons.begin(visit)
    with pytest.raises(NotYet, match="under way"):
        lessons.begin(visit)
    with pytest.raises(JournalBusy):
        lessons_at(tmp_path).begin(visit)
    lessons.put_aside()
    assert lessons.under_way() is None
    assert lessons.begin(visit).sitting.row.id == 2
    with Journal.open(places.practice_beside(tmp_path / "journal.sqlite")) as journal:
        assert [row.kind for row in journal.every_sitting()] == ["rehearsal"] * 2
