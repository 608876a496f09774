"""Label, pump and order are compared line by line, and again after new batteries."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.dose.test_every_dose_ends_in_one_of_two_ways import sit


@pytest.mark.parametrize(
    ("wrong", "whom"),
    [
        ({"label-rate-type": ["20"], "label-rate-doubt": ["yes"]}, "Pharmacist"),
        ({"read-unit": ["no"]}, "Nurse"),
        ({"read-time": ["no"]}, "Nurse"),
        ({"set-volume-type": ["100"], "set-volume-doubt": ["yes"]}, "Nurse"),
        ({"set-rate-type": ["20"], "set-rate-doubt": ["yes"]}, "Nurse"),
    ],
)
def test_a_number_that_does_not_agree_is_never_started(
    tmp_path: Path, wrong: dict[str, list[str]], whom: str
) -> None:
    person = sit(tmp_path)
    person.answers = wrong
    view = person.follow()
    assert view.way == "stopped"
    assert "start-pump" not in person.seen
    assert view.card is not None
    assert view.card.contacts[0].who == whom
    assert view.card.assessment.startswith("No medicine has gone in yet.")


def test_the_time_that_the_pump_shows_is_asked_for_in_the_words_of_the_order(
    tmp_path: Path,
) -> None:
    assert sit(tmp_path).follow(until="read-time").asks == "Does it say 3 minutes?"


def test_after_new_batteries_the_unit_volume_and_rate_are_compared_before_going_on(
    tmp_path: Path,
) -> None:
    person = sit(tmp_path)
    person.follow(until="infuse")
    person.clock.move(60)
    person.sitting.went_wrong("pump-low")
    person.seen.clear()
    person.follow(until="go-on")
    assert person.seen == [
        "low-battery", "low-battery-new", "read-unit", "set-volume-type", "set-rate-type",
        "bag-time-again", "go-on",
    ]  # fmt: skip
    assert person.follow().way == "finished"


def test_a_rate_that_changed_with_the_batteries_stops_the_dose_and_says_what_went_in(
    tmp_path: Path,
) -> None:
    person = sit(tmp_path)
    person.follow(until="infuse")
    person.clock.move(90)
    person.sitting.went_wrong("pump-low")
    person.answers = {"set-rate-type": ["20"], "set-rate-doubt": ["yes"]}
    view = person.follow()
    assert view.way == "stopped"
    assert "go-on" not in person.seen
    assert view.card is not None
    assert view.card.assessment.startswith("By the clock")
    assert view.card.close.startswith("Shut each clamp")


def test_new_batteries_are_put_in_before_the_hands_are_washed(tmp_path: Path) -> None:
    person = sit(tmp_path)
    person.follow(until="infuse")
    seen = person.seen
    assert seen.index("wipe-table") < seen.index("lay-batteries") < seen.index("batteries-out")
    assert seen.index("batteries-seen") < seen.index("first-take-soap")
    assert seen.count("first-take-soap") == 1


@pytest.mark.parametrize(
    ("typed", "named"),
    [
        ("2000", "2,000 is 10 times 200."),
        ("4800", "4,800 is 24 times 200."),
        ("20", "20 is the strength of this order."),
        ("3", "3 is the time of this order."),
    ],
)
def test_what_a_wrong_number_looks_like_is_said_before_anybody_is_called(
    tmp_path: Path, typed: str, named: str
) -> None:
    person = sit(tmp_path)
    person.answers = {"set-rate-type": [typed], "set-rate-doubt": ["yes"]}
    assert named in person.follow(until="set-rate-doubt").do
    view = person.follow()
    assert view.card is not None
    assert named in view.card.assessment


def test_a_slip_of_the_finger_is_only_typed_again(tmp_path: Path) -> None:
    person = sit(tmp_path)
    person.answers = {"set-rate-type": ["201"], "set-rate-doubt": ["no"]}
    assert person.follow(until="set-rate-doubt").do == "You typed 201 mL/h. Look at it again."
