"""Killed at any moment and started again, a dose ends as it would have, no answer lost."""

from __future__ import annotations

import os
import signal
from pathlib import Path

import pytest

from coach.clock import ManualClock
from coach.journal.store import Journal
from coach.procedure.model import Hold
from coach.sitting.desk import Desk
from coach.sitting.show import view_of
from coach.sitting.sitting import Sitting
from tests.dose.test_every_dose_ends_in_one_of_two_ways import facts_of
from tests.person import DEMO, MORNING, PROCEDURES, Person, holds


def _desk(path: Path, clock: ManualClock) -> Desk:
    return Desk(DEMO, PROCEDURES, Journal.open(path), clock, holds)


def _die_after(path: Path, events: int) -> None:
    """In a process of its own, follow the dose and kill it right after its *events*th event."""
    child = os.fork()
    if child:
        _, status = os.waitpid(child, 0)
        assert os.WIFSIGNALED(status), "the dose ended before it could be killed"
        assert os.WTERMSIG(status) == signal.SIGKILL
        return
    clock = ManualClock(MORNING)
    sitting = _desk(path, clock).begin()
    append = sitting.journal.append

    def kept(*told: object, **named: object) -> object:
        event = append(*told, **named)  # type: ignore[arg-type]
        if event.seq == events:
            os.kill(os.getpid(), signal.SIGKILL)
        return event

    sitting.journal.append = kept  # type: ignore[method-assign, assignment]
    Person(sitting, clock).follow()
    os._exit(0)


def _lasting(sitting: Sitting) -> dict[str, str]:
    """Return the facts but those that fade by being away, which say nothing of the dose."""
    table = sitting.dose.procedure.source.table
    fading = {fact.name for fact in table.facts if fact.fades}
    named = table.named(sitting.moment.state.facts)
    return {name: value for name, value in named.items() if name not in fading}


def _whole_dose(path: Path) -> tuple[int, dict[str, str]]:
    clock = ManualClock(MORNING)
    desk = _desk(path, clock)
    sitting = desk.begin()
    assert Person(sitting, clock).follow().way == "finished"
    return len(desk.journal.events(sitting.row.id)), _lasting(sitting)


def test_kill_after_every_single_event_then_resume_gives_the_same_ending(tmp_path: Path) -> None:
    events, lasting = _whole_dose(tmp_path / "whole.sqlite")
    assert events > 100
    for killed_after in range(1, events):
        path = tmp_path / f"{killed_after}.sqlite"
        _die_after(path, killed_after)
        clock = ManualClock(MORNING)
        clock.move(3_600)  # later than any wait of the demonstration dose
        desk = _desk(path, clock)
        before = desk.journal.events(1)
        assert len(before) == killed_after
        resumed = desk.resume()
        late = {"late-stop": ["goes-on", "goes-on"]}
        assert Person(resumed, clock, late).follow().way == "finished"
        after = desk.journal.events(1)
        assert after[:killed_after] == before
        assert after[killed_after].kind == "returned"
        assert _lasting(resumed) == lasting
        desk.journal.close()


def test_what_does_not_last_is_done_again_after_a_return(tmp_path: Path) -> None:
    clock = ManualClock(MORNING)
    desk = _desk(tmp_path / "journal.sqlite", clock)
    sitting = desk.begin()
    person = Person(sitting, clock)
    person.follow(until="saline-before-scrub")
    sitting.start_run()
    while not isinstance(sitting.step().ask, Hold) or sitting.timer() is None:
        clock.move(1)
        sitting.tick()
    clock.move(7)
    resumed = desk.resume()
    assert view_of(resumed).step == "first-soap-or-not"
    again = Person(resumed, clock)
    again.follow(until="saline-before-scrub")
    assert "saline-before-pad" in again.seen


def test_a_scrub_that_was_cut_off_is_never_taken_for_one(tmp_path: Path) -> None:
    clock = ManualClock(MORNING)
    sitting = _desk(tmp_path / "journal.sqlite", clock).begin()
    Person(sitting, clock).follow(until="saline-before-scrub")
    sitting.start_run()
    for _ in range(5 + 14):  # the lead-in, and all of the scrub but its last second
        clock.move(1)
        sitting.tick()
    sitting.stop_run()
    again = Person(sitting, clock)
    again.follow(until="saline-before-scrub")
    assert again.seen[0] == "first-soap-or-not"
    sitting.start_run()
    timer = view_of(sitting).timer
    assert timer is not None
    assert (timer.kind, timer.passed) == ("lead-in", 0.0)


@pytest.mark.parametrize(
    ("held", "again"), [("tubing-dry", "tubing-scrub"), ("tubing-join", "bin-tubing-in-bag")]
)
def test_a_key_in_the_middle_of_a_stretch_leaves_nothing_clean(
    tmp_path: Path, held: str, again: str
) -> None:
    clock = ManualClock(MORNING)
    sitting = _desk(tmp_path / "journal.sqlite", clock).begin()
    person = Person(sitting, clock)
    person.follow(until="tubing-scrub")
    sitting.start_run()
    while view_of(sitting).step != held:
        clock.move(1)
        sitting.tick()
    sitting.stop_run()
    assert facts_of(sitting)["connector"] == "unclean"
    person.seen.clear()
    assert person.follow().way == "finished"
    assert again in person.seen
    assert person.seen.index(again) < person.seen.index("start-pump")


def test_a_stretch_that_is_stopped_while_getting_set_spoils_nothing(tmp_path: Path) -> None:
    clock = ManualClock(MORNING)
    sitting = _desk(tmp_path / "journal.sqlite", clock).begin()
    Person(sitting, clock).follow(until="tubing-scrub")
    sitting.start_run()
    clock.move(3)
    sitting.stop_run()
    assert view_of(sitting).step == "tubing-scrub"
    assert facts_of(sitting)["hands"] == "clean"


def test_warming_goes_on_while_the_coach_is_closed_and_the_clock_is_set(tmp_path: Path) -> None:
    clock = ManualClock(MORNING)
    desk = _desk(tmp_path / "journal.sqlite", clock)
    sitting = desk.begin()
    sitting.done()
    clock.move(30)
    clock.set_wall(clock.at.replace(hour=23))  # somebody sets the wall clock hours ahead
    timer = view_of(desk.resume()).timer
    assert timer is not None
    assert timer.passed == 30.0
    clock.move(90)
    timer = view_of(desk.resume()).timer
    assert timer is not None
    assert timer.over


def test_warming_survives_a_restart_of_the_machine(tmp_path: Path) -> None:
    clock = ManualClock(MORNING)
    desk = _desk(tmp_path / "journal.sqlite", clock)
    desk.begin().done()
    clock.move(60)
    clock.restart("another run")
    clock.move(30)
    timer = view_of(desk.resume()).timer
    assert timer is not None
    assert timer.passed == 90.0
    assert not timer.over
