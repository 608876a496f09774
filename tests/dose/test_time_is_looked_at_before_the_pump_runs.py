"""The clock is looked at before the pump is started, and again before it goes on."""

from __future__ import annotations

from pathlib import Path

from tests.dose.test_every_dose_ends_in_one_of_two_ways import facts_of, sit
from tests.person import Person

HOUR = 3_600


def paused_for(person: Person, seconds: int) -> None:
    """Follow to the infusion, pause it after a minute, and go on after *seconds*."""
    person.follow(until="infuse")
    person.clock.move(60)
    person.sitting.went_wrong("pause")
    person.clock.move(seconds)
    person.seen.clear()


def test_a_pump_that_is_started_past_the_window_needs_the_nurse(tmp_path: Path) -> None:
    person = sit(tmp_path)
    person.follow(until="start-pump")
    person.clock.move(HOUR)
    view = person.follow()
    assert view.way == "stopped"
    assert view.card is not None
    assert view.card.contacts[0].who == "Nurse"
    assert person.seen[-1] == "late-stop"
    assert facts_of(person.sitting)["infusion"] == "not-begun"


def test_on_the_word_of_the_nurse_a_late_dose_is_started(tmp_path: Path) -> None:
    person = sit(tmp_path, late_stop=["goes-on"])
    person.follow(until="start-pump")
    person.clock.move(HOUR)
    person.seen.clear()
    assert person.follow().way == "finished"
    after = person.seen[person.seen.index("late-stop") :]
    assert after.index("look-both-clamps") < after.index("start-pump")


def test_a_short_pause_has_the_discard_date_looked_at(tmp_path: Path) -> None:
    person = sit(tmp_path)
    paused_for(person, 60)
    assert person.follow().way == "finished"
    assert person.seen[:2] == ["bag-time-again", "go-on"]


def test_after_hours_of_pause_the_time_out_stops_the_dose(tmp_path: Path) -> None:
    person = sit(tmp_path)
    paused_for(person, 4 * HOUR)
    assert person.follow().way == "stopped"
    assert person.seen[-2:] == ["bag-out-again", "bag-out-stop"]


def test_what_has_flowed_is_not_counted_as_still_to_come(tmp_path: Path) -> None:
    person = sit(tmp_path)
    person.answers = {"read-discard": ["25 Nov 2026 13:00"]}
    paused_for(person, 2 * HOUR)
    assert person.follow(until="go-on").step == "go-on"
    assert {"bag-out-again", "bag-time-again", "look-both-clamps"} <= set(person.seen)


def test_a_bag_past_its_discard_date_does_not_go_on(tmp_path: Path) -> None:
    person = sit(tmp_path)
    person.answers = {"read-discard": ["25 Nov 2026 11:00"]}
    paused_for(person, 2 * HOUR)
    assert person.follow().way == "stopped"
    assert person.seen[-1] == "discard-joined-stop"
