"""While the medicine runs, what the pump shows as left is held against the order."""

from __future__ import annotations

from pathlib import Path

import pytest

from coach.errors import OrderError
from coach.orders.quantities import shown
from coach.sitting.pace import Pace
from coach.sitting.show import view_of
from tests.dose.test_every_dose_ends_in_one_of_two_ways import sit
from tests.person import Person

HALF = 90
"""Seconds: half of the demonstration's three minutes."""
EXPECTED = "4.9 mL"
"""What is left of 10 mL then: some seconds went by in looking that the pump runs."""


def running(folder: Path) -> tuple[Person, Pace]:
    """Return a person whose medicine has run for half of its time."""
    person = sit(folder)
    person.follow(until="infuse")
    person.clock.move(HALF)
    return person, Pace(person.sitting)


@pytest.mark.parametrize(
    ("typed", "verdict"),
    [("4.9", "as-expected"), ("5 mL", "as-expected"), ("4", "ahead"), ("6.5", "behind")],
)
def test_what_is_left_is_as_it_should_be_or_ahead_or_behind(
    tmp_path: Path, typed: str, verdict: str
) -> None:
    _, pace = running(tmp_path)
    seen = pace.look(typed)
    assert seen.look.verdict == verdict
    assert shown(seen.look.expected) == EXPECTED
    assert not seen.off


def test_a_pause_is_not_counted(tmp_path: Path) -> None:
    person, pace = running(tmp_path)
    person.sitting.went_wrong("pump-blocked")
    person.clock.move(600)
    person.follow(until="infuse")
    assert shown(pace.look("4.9").look.expected) == EXPECTED


def test_a_pump_that_gave_nothing_is_told_as_a_trouble_and_stops_the_dose(tmp_path: Path) -> None:
    person, pace = running(tmp_path)
    seen = pace.look("10")
    assert (seen.look.verdict, seen.off) == ("not-moving", True)
    pace.tell()
    view = view_of(person.sitting)
    assert view.way == "stop"
    assert view.card is not None
    assert view.card.contacts[0].who == "Nurse"


def test_each_look_is_kept_with_the_dose(tmp_path: Path) -> None:
    person, pace = running(tmp_path)
    pace.look("5")
    event = person.sitting.moment.event
    assert event is not None
    assert (event.kind, event.value) == (
        "note",
        "The pump shows 5 mL as left; 4.9 mL by the clock.",
    )


@pytest.mark.parametrize("typed", ["", "some", "11 mL", "5 mg"])
def test_what_cannot_be_so_is_refused_and_not_kept(tmp_path: Path, typed: str) -> None:
    person, pace = running(tmp_path)
    before = len(person.sitting.moments)
    with pytest.raises(OrderError):
        pace.look(typed)
    assert len(person.sitting.moments) == before


def test_before_and_after_the_medicine_there_is_nothing_to_look_at(tmp_path: Path) -> None:
    person = sit(tmp_path)
    pace = Pace(person.sitting)
    assert not pace.can_look()
    person.follow(until="infuse")
    assert pace.can_look()
    person.clock.move(HALF * 2)
    assert not pace.can_look()
