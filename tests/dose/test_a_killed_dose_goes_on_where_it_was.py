"""Killed at any moment and started again, a dose ends as it would have, no answer lost."""

from __future__ import annotations

import os
import shutil
import signal
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from coach.clock import ManualClock
from coach.engine import State
from coach.events import Event
from coach.journal.store import Journal
from coach.procedure.model import Hold
from coach.sitting.desk import Desk
from coach.sitting.show import view_of
from coach.sitting.sitting import Sitting
from tests.dose.test_every_dose_ends_in_one_of_two_ways import facts_of
from tests.person import DEMO, MORNING, PROCEDURES, Person, holds


def _desk(path: Path, clock: ManualClock) -> Desk:
    return Desk(DEMO, PROCEDURES, Journal.open(path), clock, holds)


def _lasting(sitting: Sitting) -> dict[str, str]:
    """Return the facts but those that fade by being away, which say nothing of the dose."""
    table = sitting.dose.procedure.source.table
    fading = {fact.name for fact in table.facts if fact.fades}
    named = table.named(sitting.moment.state.facts)
    return {name: value for name, value in named.items() if name not in fading}


def _die_after(path: Path, copy: Path, told: Callable[[Journal], object]) -> None:
    """In a process of its own, tell one event more to a copy of the journal, and be killed."""
    child = os.fork()
    if child:
        _, status = os.waitpid(child, 0)
        assert os.WIFSIGNALED(status), "the event could not be told"
        assert os.WTERMSIG(status) == signal.SIGKILL
        return
    try:
        for ending in ("", "-wal"):
            shutil.copyfile(f"{path}{ending}", f"{copy}{ending}")
        journal = Journal.open(copy)
        journal.hold_dose()
        told(journal)
        os.kill(os.getpid(), signal.SIGKILL)
    finally:
        os._exit(1)  # reached only where something was raised: no test may go on in this process


def _killed_after_each_event(folder: Path) -> dict[str, str]:
    """Follow the dose to its end, leave in *folder* a journal killed after each of its events.

    Each is named after the number of its events. Returns what lasts at the end of the dose.
    """
    clock, path = ManualClock(MORNING), folder / "whole.sqlite"
    sitting = _desk(path, clock).begin()
    append = sitting.journal.append

    def kept(*told: Any, **named: Any) -> Event:
        copy = folder / f"{len(sitting.moments)}.sqlite"
        _die_after(path, copy, lambda journal: journal.append(*told, **named))
        return append(*told, **named)

    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(sitting.journal, "append", kept)
        assert Person(sitting, clock).follow().way == "finished"
    sitting.journal.close()
    return _lasting(sitting)


def _ends_as_it_would(
    resumed: Sitting, clock: ManualClock, lasting: dict[str, str], ends_well: set[State]
) -> None:
    """Follow *resumed* to its end, or to where an earlier one was that was followed to its end."""
    person = Person(resumed, clock, {"late-stop": ["goes-on", "goes-on"]})
    passed = [resumed.moment.state]
    while passed[-1] not in ends_well and not resumed.over:
        person.act(view_of(resumed))
        passed.append(resumed.moment.state)
    if resumed.over:
        assert view_of(resumed).way == "finished"
        assert _lasting(resumed) == lasting
    ends_well.update(passed)


def test_kill_after_every_single_event_then_resume_gives_the_same_ending(tmp_path: Path) -> None:
    lasting = _killed_after_each_event(tmp_path)
    with Journal.open(tmp_path / "whole.sqlite") as journal:
        whole = journal.events(1)
    assert len(whole) > 100
    ends_well: set[State] = set()
    for killed_after in range(1, len(whole)):
        clock = ManualClock(MORNING)
        clock.move(3_600)  # later than any wait of the demonstration dose
        desk = _desk(tmp_path / f"{killed_after}.sqlite", clock)
        assert desk.journal.events(1) == whole[:killed_after]
        resumed = desk.resume()
        whole_way = killed_after % 10 == 0
        _ends_as_it_would(resumed, clock, lasting, set() if whole_way else ends_well)
        after = desk.journal.events(1)
        assert after[:killed_after] == whole[:killed_after]
        assert after[killed_after].kind == "returned"
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
