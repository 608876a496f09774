"""Taking back stops where something was done to the body: a key cannot undo it."""

from __future__ import annotations

from pathlib import Path

import pytest

from coach.errors import EngineError
from coach.sitting.show import view_of
from tests.dose.test_every_dose_ends_in_one_of_two_ways import facts_of, sit


@pytest.mark.parametrize(
    "after", ["saline-before-seen", "saline-before-shut", "see-running", "cassette-off"]
)
def test_a_joining_a_push_a_parting_and_the_start_stay_done(tmp_path: Path, after: str) -> None:
    person = sit(tmp_path)
    person.follow(until=after)
    assert not view_of(person.sitting).can_undo
    with pytest.raises(EngineError, match="nothing here that can be taken back"):
        person.sitting.undo()


def test_what_was_said_after_the_start_can_be_taken_back_but_not_the_start(tmp_path: Path) -> None:
    person = sit(tmp_path)
    person.follow(until="infuse")
    person.sitting.undo()
    assert view_of(person.sitting).step == "see-running"
    with pytest.raises(EngineError):
        person.sitting.undo()
    assert facts_of(person.sitting)["infusion"] == "flowing"


def test_no_to_a_push_was_a_slip_and_can_be_taken_back(tmp_path: Path) -> None:
    person = sit(tmp_path, saline_before_push=["no"])
    person.follow(until="look-at-clamps")
    person.sitting.undo()
    assert view_of(person.sitting).step == "saline-before-push"


def test_a_pump_that_went_on_after_a_pause_stays_on(tmp_path: Path) -> None:
    person = sit(tmp_path)
    person.follow(until="infuse")
    person.sitting.went_wrong("pause")
    person.follow(until="go-on")
    person.sitting.done()
    assert not view_of(person.sitting).can_undo
