"""What does not come right after a second go ends with a call, not in a circle."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.dose.test_every_dose_ends_in_one_of_two_ways import sit


@pytest.mark.parametrize(
    ("step", "again", "stop"),
    [
        ("batteries-seen", "batteries-again", "pump-bad-stop"),
        ("lock-cassette", "cassette-again", "cassette-stop"),
        ("fill", "fill-again", "fill-stop"),
        ("look-air", "air-again", "fill-stop"),
        ("look-both-clamps", "clamps-again", "clamps-stop"),
    ],
)
def test_a_second_no_ends_with_the_nurse_called(
    tmp_path: Path, step: str, again: str, stop: str
) -> None:
    person = sit(tmp_path)
    person.answers = {step: ["no"], again: ["no"]}
    view = person.follow()
    assert view.way == "stopped"
    assert view.card is not None
    assert view.card.contacts[0].who == "Nurse"
    assert person.seen[-3:] == [step, again, stop]


@pytest.mark.parametrize(
    ("step", "again"),
    [
        ("batteries-seen", "batteries-again"),
        ("lock-cassette", "cassette-again"),
        ("fill", "fill-again"),
        ("look-air", "air-again"),
        ("look-both-clamps", "clamps-again"),
    ],
)
def test_a_second_go_that_comes_right_goes_on(tmp_path: Path, step: str, again: str) -> None:
    person = sit(tmp_path)
    person.answers = {step: ["no"]}
    assert person.follow().way == "finished"
    assert person.seen.count(again) == 1
