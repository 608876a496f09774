"""Marks: one key each, the lowest counts, what was not marked was not alone, no mark is lost."""

from __future__ import annotations

import os
import signal
from collections.abc import Callable
from functools import cache
from pathlib import Path
from random import Random
from tempfile import mkdtemp

import pytest

from coach.errors import EngineError
from coach.journal.teaching import LEVELS, Mark
from coach.practice.rehearsal import Marked, Rehearsal
from coach.sitting.show import view_of
from tests.person import Person
from tests.practice.school import clock_of, follow, lessons_at, mark_all, meet, pupil


def begun(folder: Path) -> Rehearsal:
    """Return a rehearsal whose first scrub is to come."""
    lessons = lessons_at(folder)
    return lessons.begin(pupil(lessons)[1])


def row(rehearsal: Rehearsal, step: str) -> Marked:
    """Return the last doing of *step*."""
    return [one for one in rehearsal.to_mark() if one.step == step and one.dealt is None][-1]


@pytest.fixture(scope="module")
def done() -> Rehearsal:
    """A rehearsal that was done to its end, with one surprise that was told; nothing is marked."""
    lessons = lessons_at(Path(mkdtemp()))
    rehearsal = lessons.begin(pupil(lessons)[1])
    follow(lessons, rehearsal, until="saline-before-air")
    assert meet(rehearsal, "saline-before-tip-touched").met.is_right
    follow(lessons, rehearsal)
    return rehearsal


def test_what_was_not_marked_was_not_alone(done: Rehearsal) -> None:
    verdict = done.verdict()
    assert verdict.standing == "fails"
    assert verdict.says == "It does not count. Wash your hands: not marked."


def test_every_critical_step_and_surprise_alone_counts(done: Rehearsal) -> None:
    mark_all(done)
    assert done.verdict().counts
    assert done.verdict().surprises == 1


@pytest.mark.parametrize("level", LEVELS[1:])
def test_one_critical_step_that_was_not_alone_is_enough(done: Rehearsal, level: str) -> None:
    mark_all(done)
    done.mark(row(done, "saline-before-scrub"), level)
    assert done.verdict().standing == "fails"
    assert "Scrub the connector" in done.verdict().says


def test_a_surprise_that_was_met_with_help_does_not_count(done: Rehearsal) -> None:
    mark_all(done)
    [surprise] = [one for one in done.to_mark() if one.dealt is not None]
    done.mark(surprise, "reminder")
    assert done.verdict().standing == "fails"
    assert "The tip of the syringe touched something" in done.verdict().says


def test_a_mark_is_corrected_by_a_later_one_and_both_stay(done: Rehearsal) -> None:
    mark_all(done)
    before = len(done.book.every(Mark))
    done.mark(row(done, "start-pump"), "not-yet", 3, "looked for the key")
    done.mark(row(done, "start-pump"), "alone")
    assert len(done.book.every(Mark)) == before + 2
    assert done.verdict().counts


def test_a_step_done_twice_is_as_good_as_its_worse_doing(done: Rehearsal) -> None:
    mark_all(done)
    doings = [one for one in done.to_mark() if one.step == "saline-before-read"]
    assert len(doings) == 2  # the touched syringe was followed by a new one
    done.mark(doings[0], "hands-on")
    assert done.verdict().standing == "fails"
    done.mark(doings[0], "alone")
    assert done.verdict().counts


def test_a_step_that_is_not_critical_need_not_be_marked(done: Rehearsal) -> None:
    mark_all(done)
    done.mark(row(done, "clear-table"), "hands-on")
    assert done.verdict().counts


@pytest.mark.parametrize(("level", "prompts"), [("well", 0), ("alone", -1), ("alone", 1_000)])
def test_what_is_no_mark_is_refused(done: Rehearsal, level: str, prompts: int) -> None:
    before = len(done.book.every(Mark))
    with pytest.raises(EngineError):
        done.mark(row(done, "start-pump"), level, prompts)
    assert len(done.book.every(Mark)) == before


def test_a_step_that_could_not_be_done_is_marked_as_not_yet(tmp_path: Path) -> None:
    lessons = lessons_at(tmp_path)
    rehearsal = lessons.begin(pupil(lessons)[1])
    follow(lessons, rehearsal, until="open-port")
    mark_all(rehearsal)
    assert rehearsal.verdict().standing == "aside"
    now = rehearsal.step_to_mark()
    assert now is not None
    rehearsal.mark(now, "not-yet")
    assert rehearsal.verdict().standing == "fails"


def test_what_was_taken_back_leaves_the_list(tmp_path: Path) -> None:
    rehearsal = begun(tmp_path)
    rehearsal.sitting.done()
    last = rehearsal.last_to_mark()
    assert last is not None
    rehearsal.mark(last, "hands-on")
    rehearsal.sitting.undo()
    assert rehearsal.to_mark() == ()
    assert rehearsal.last_to_mark() is None


# Surprises in a rehearsal


def test_the_learner_sees_what_there_is_to_see_and_not_its_name(tmp_path: Path) -> None:
    rehearsal = begun(tmp_path)
    names = {one.name: one.says for one in rehearsal.can_deal()}
    dealt = rehearsal.deal("mishap bag-cloudy")
    assert dealt.shown == "The fluid in the bag looks milky."
    assert names["mishap bag-cloudy"] == dealt.says == "The fluid is cloudy or has bits in it"
    assert rehearsal.pending == dealt
    assert rehearsal.settle() is None


def test_a_missed_surprise_leaves_the_rehearsal_as_it_was_answered(tmp_path: Path) -> None:
    rehearsal = begun(tmp_path)
    rehearsal.deal("mishap bag-cloudy")
    rehearsal.sitting.done()
    settled = rehearsal.settle()
    assert settled is not None
    assert not settled.met.is_right
    assert settled.met.did == "Take the bag out: done"
    assert settled.should == (
        "The fluid is cloudy or has bits in it. Then: Do not use this bag. Call the pharmacist."
    )
    assert view_of(rehearsal.sitting).step == "let-it-warm"
    assert rehearsal.pending is None


def test_one_surprise_at_a_time_and_only_one_that_can_be(tmp_path: Path) -> None:
    rehearsal = begun(tmp_path)
    with pytest.raises(EngineError, match="cannot be dealt now"):
        rehearsal.deal("mishap pump-blocked")
    rehearsal.deal("mishap bag-leaks")
    with pytest.raises(EngineError, match="still to be met"):
        rehearsal.pick()


def test_a_wrong_rate_is_ten_times_too_fast_and_has_to_be_typed_as_it_stands(
    tmp_path: Path,
) -> None:
    lessons = lessons_at(tmp_path)
    rehearsal = lessons.begin(pupil(lessons)[1])
    follow(lessons, rehearsal, until="set-rate-type")
    dealt = rehearsal.deal("reading set-rate-type")
    assert dealt.shown == "You read: 2,000 mL/h"
    rehearsal.sitting.read("2000")
    settled = rehearsal.settle()
    assert settled is not None
    assert settled.met.is_right
    assert settled.met.did == "Compare the rate: typed 2000"


def test_the_phone_rings_in_the_middle_of_a_scrub(tmp_path: Path) -> None:
    lessons = lessons_at(tmp_path)
    rehearsal = lessons.begin(pupil(lessons)[1])
    sitting, clock = rehearsal.sitting, clock_of(lessons)
    follow(lessons, rehearsal, until="saline-before-scrub")
    assert all(not one.name.startswith("interruption") for one in rehearsal.can_deal())
    sitting.start_run()
    clock.move(5)
    sitting.tick()
    clock.move(5)
    assert rehearsal.deal("interruption phone").shown == "Your phone rings."
    sitting.stop_run()
    assert rehearsal.settle() is None  # stopped, and now to be done again whole
    found = None
    for _ in range(10):
        Person(sitting, clock).act(view_of(sitting))
        found = found or rehearsal.settle()
    assert found is not None
    assert found.met.is_right


def test_the_coach_picks_what_failed_last_time_and_then_what_was_met_least(tmp_path: Path) -> None:
    lessons = lessons_at(tmp_path)
    _, visit = pupil(lessons)
    first = lessons.begin(visit)
    names = [one.name for one in first.can_deal()]
    first.deal("mishap bag-leaks")
    first.sitting.done()
    assert first.settle() is not None
    lessons.put_aside()
    second = lessons.begin(visit)
    assert second.pick().name == "mishap bag-leaks"
    second.sitting.went_wrong("bag-leaks")
    assert second.settle() is not None
    lessons.put_aside()
    others = {name for name in names if name != "mishap bag-leaks"}
    picked = set[str]()
    for seed in range(30):
        third = lessons.begin(visit)
        third.chance = Random(seed)
        picked.add(third.pick().name)
        lessons.put_aside()
    assert picked <= others
    assert len(picked) > 3


# Killed in the middle


def killed(told: Callable[[], object]) -> None:
    """In a process of its own, do what is *told*, and be killed at once."""
    child = os.fork()
    if child:
        _, status = os.waitpid(child, 0)
        assert os.WIFSIGNALED(status), "it could not be told"
        return
    try:
        told()
        os.kill(os.getpid(), signal.SIGKILL)
    finally:
        os._exit(1)  # reached only where something was raised


@cache
def steps_of_the_start() -> tuple[str, ...]:
    return ("take-out", "let-it-warm", "clear-table", "wipe-table")


@pytest.mark.parametrize("number", [1, 3])
def test_no_mark_and_no_surprise_is_lost_when_the_program_is_killed(
    tmp_path: Path, number: int
) -> None:
    begun(tmp_path).sitting.journal.close()

    def teach() -> None:
        lessons = lessons_at(tmp_path)
        rehearsal = lessons.resume()
        follow(lessons, rehearsal, until="lay-bins")
        for one in rehearsal.to_mark()[:number]:
            rehearsal.mark(one, "reminder", 2, "slow")
        rehearsal.deal("mishap bag-leaks")

    killed(teach)
    again = lessons_at(tmp_path).resume()
    marks = [one.mark for one in again.to_mark() if one.mark is not None]
    assert [(m.step, m.level, m.prompts, m.note) for m in marks] == [
        (step, "reminder", 2, "slow") for step in steps_of_the_start()[:number]
    ]
    assert again.pending is not None
    assert again.pending.name == "mishap bag-leaks"
    again.sitting.went_wrong("bag-leaks")
    settled = again.settle()
    assert settled is not None
    assert settled.met.is_right


def test_an_answer_that_was_given_before_a_kill_is_compared_after_it(tmp_path: Path) -> None:
    begun(tmp_path).sitting.journal.close()

    def teach() -> None:
        rehearsal = lessons_at(tmp_path).resume()
        rehearsal.deal("mishap bag-leaks")
        rehearsal.sitting.went_wrong("bag-leaks")

    killed(teach)
    again = lessons_at(tmp_path).resume()
    [surprise] = [one for one in again.to_mark() if one.dealt is not None]
    assert surprise.met is not None
    assert surprise.met.is_right


def test_what_passed_by_the_kill_itself_is_not_met_rightly(tmp_path: Path) -> None:
    """Taking up again makes good what was touched, but nobody told it."""
    begun(tmp_path).sitting.journal.close()

    def teach() -> None:
        lessons = lessons_at(tmp_path)
        rehearsal = lessons.resume()
        follow(lessons, rehearsal, until="saline-before-air")
        rehearsal.deal("mishap hands-soiled")

    killed(teach)
    again = lessons_at(tmp_path).resume()
    [surprise] = [one for one in again.to_mark() if one.dealt is not None]
    assert surprise.met is not None
    assert not surprise.met.is_right
    assert surprise.met.did == "Nothing was said of it in time."
