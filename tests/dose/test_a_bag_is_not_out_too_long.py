"""A bag may be out of the refrigerator only so long, to the end of its dose."""

from __future__ import annotations

from datetime import timedelta
from functools import cache
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coach.clock import Instant
from coach.engine import Dose, Moment, apply, begin
from coach.errors import EngineError
from coach.events import Event
from coach.orders.values import sheet_choices, sheet_values
from coach.procedure.compose import compose
from coach.sitting.show import view_of
from coach.sitting.timing import since_set
from tests.dose.test_every_dose_ends_in_one_of_two_ways import sit
from tests.person import MORNING, Person, desk_at
from tests.procedure.shipped import SHEETS, SOURCE

DOSE = {"tubing": "new", "batteries": "due", "last": "finished"}
ALLOWED = 4 * 3_600
INFUSION = 180
MOST = ALLOWED - INFUSION
"""The seconds that the demonstration bag may have been out when its pump is started."""


def out_for(person: Person) -> float:
    """Return the seconds since the bag was taken out."""
    passed = since_set(person.sitting.moments, "bag", "warming", person.clock.now())
    assert passed is not None
    return passed


def out_just(person: Person, seconds: float) -> None:
    """Let time pass, away from the table, until the bag was out for *seconds* at the check."""
    person.follow(until="bag-out-again")
    person.sitting.leave()
    person.clock.move(seconds - 600 - out_for(person))
    person.sitting.come_back()
    person.follow(until="bag-out-again")
    person.clock.move(seconds - out_for(person))


@pytest.mark.parametrize(("out", "step"), [(MOST, "bag-time-again"), (MOST + 1, "bag-out-stop")])
def test_a_bag_is_in_time_to_the_second(tmp_path: Path, out: int, step: str) -> None:
    person = sit(tmp_path)
    out_just(person, out)
    person.sitting.done()
    assert view_of(person.sitting).step == step


def test_a_bag_that_was_out_too_long_ends_with_the_pharmacist_called(tmp_path: Path) -> None:
    person = sit(tmp_path)
    out_just(person, MOST + 1)
    view = person.follow()
    assert view.way == "stopped"
    assert view.card is not None
    assert view.card.contacts[0].who == "Pharmacist"
    assert "start-pump" not in person.seen


def test_the_time_with_the_program_closed_counts(tmp_path: Path) -> None:
    person = sit(tmp_path)
    person.follow(until="look-site")
    person.sitting.journal.close()
    person.clock.move(ALLOWED)
    again = Person(desk_at(tmp_path, clock=person.clock).resume(), person.clock)
    assert again.follow().way == "stopped"
    assert again.seen[-2] == "bag-out-again"
    assert "start-pump" not in again.seen


def test_a_table_that_was_left_after_the_check_has_it_made_again(tmp_path: Path) -> None:
    person = sit(tmp_path)
    person.follow(until="start-pump")
    person.sitting.leave()
    person.sitting.come_back()
    person.follow(until="start-pump")
    assert person.seen.count("bag-out-again") == 2


def test_a_bag_that_is_taken_out_anew_is_timed_anew(tmp_path: Path) -> None:
    person = sit(tmp_path)
    person.sitting.done()
    person.clock.move(30)
    person.sitting.undo()
    person.clock.move(30)
    person.sitting.done()
    assert out_for(person) == 0


def test_a_bag_kept_at_room_temperature_is_not_asked_about() -> None:
    sheet = SHEETS["orders"]
    choices = {**DOSE, **sheet_choices(sheet), "storage": "room"}
    procedure = compose(SOURCE, choices)
    assert "bag-out-again" not in procedure.index
    assert SOURCE.table.named(procedure.start)["bag-out"] == "no-limit"


@cache
def at_the_check() -> tuple[Dose, Moment]:
    """Return the demonstration dose, put at the check of the time out."""
    sheet = SHEETS["orders"]
    choices = {**DOSE, **sheet_choices(sheet)}
    procedure = compose(SOURCE, choices)
    dose = Dose(procedure, sheet_values(sheet), ZoneInfo(sheet.time_zone))
    table, place = SOURCE.table, procedure.index["bag-out-again"]
    facts = table.effect({"bag": "warm"}).on(procedure.start)
    first = begin(dose)
    return dose, Moment(type(first.state)(facts, place), {}, None)


def told(value: str) -> dict[str, str]:
    """Return the facts after the check was made with *value* as the seconds passed."""
    dose, moment = at_the_check()
    at = Instant(MORNING + timedelta(hours=1), 3_600.0, "test")
    event = Event(1, at, "done", "bag-out-again", value)
    return SOURCE.table.named(apply(dose, moment, event).state.facts)


@given(st.integers(0, 10 * ALLOWED))
def test_any_time_is_either_in_time_or_too_long(passed: int) -> None:
    facts = told(str(passed))
    in_time = passed <= MOST
    assert facts["bag-out"] == ("in-time" if in_time else "unchecked")
    assert facts["bag"] == ("warm" if in_time else "out-too-long")


@pytest.mark.parametrize("value", ["", "soon", "-1", "1.5", "٣"])
def test_a_time_that_is_not_known_is_taken_for_too_long(value: str) -> None:
    assert told(value)["bag"] == "out-too-long"


def test_it_is_not_answered_like_a_question() -> None:
    dose, moment = at_the_check()
    at = Instant(MORNING, 0.0, "test")
    with pytest.raises(EngineError):
        apply(dose, moment, Event(1, at, "answer", "bag-out-again", "in-time"))


def test_a_bag_that_was_out_too_long_is_not_opened(tmp_path: Path) -> None:
    person = sit(tmp_path)
    person.follow(until="look-bits")
    person.clock.move(ALLOWED)
    assert person.follow().way == "stopped"
    assert person.seen[-2:] == ["bag-out-first", "bag-out-closed-stop"]
    assert "open-port" not in person.seen
