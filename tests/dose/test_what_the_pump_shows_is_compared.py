"""Label, pump and order are compared line by line, and again after new batteries."""

from __future__ import annotations

from pathlib import Path

import pytest

from coach.sitting.show import view_of
from tests.dose.test_every_dose_ends_in_one_of_two_ways import sit


@pytest.mark.parametrize(
    ("wrong", "whom"),
    [
        ({"label-rate-type": ["20"], "label-rate-doubt": ["20"]}, "Pharmacist"),
        ({"read-unit": ["no"]}, "Nurse"),
        ({"read-time": ["no"]}, "Nurse"),
        ({"set-volume-type": ["100"], "set-volume-doubt": ["100"]}, "Nurse"),
        ({"set-rate-type": ["20"], "set-rate-doubt": ["20"]}, "Nurse"),
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
    person.answers = {"set-rate-type": ["20"], "set-rate-doubt": ["20"]}
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
        ("20", "20 is 200 divided by 10."),
        ("3", "3 is the time of this order."),
    ],
)
def test_what_a_wrong_number_looks_like_is_said_before_anybody_is_called(
    tmp_path: Path, typed: str, named: str
) -> None:
    person = sit(tmp_path)
    person.answers = {"set-rate-type": [typed], "set-rate-doubt": [typed]}
    assert named in person.follow(until="set-rate-doubt").do
    view = person.follow()
    assert view.card is not None
    assert named in view.card.assessment


def test_a_slip_of_the_finger_is_only_typed_again(tmp_path: Path) -> None:
    person = sit(tmp_path)
    person.answers = {"set-rate-type": ["201"]}
    doubt = person.follow(until="set-rate-doubt")
    assert doubt.do == "Look at it again. You typed 201 mL/h."
    assert doubt.asks == "Read the pump again. Type only what you see there."
    assert person.follow().way == "finished"


@pytest.mark.parametrize(
    ("first", "second", "wrong", "stop"),
    [
        ("label-strength-type", "label-strength-doubt", "5 mg/mL", "label-strength-stop"),
        ("label-volume-type", "label-volume-doubt", "99", "label-volume-stop"),
        ("label-rate-type", "label-rate-doubt", "20", "label-rate-stop"),
        ("set-volume-type", "set-volume-doubt", "99", "set-volume-stop"),
        ("set-rate-type", "set-rate-doubt", "20", "set-rate-stop"),
        ("read-discard", "discard-doubt", "25 Nov 2026 09:55", "discard-stop"),
        ("first-heparin-type", "first-heparin-doubt", "100 units/mL", "first-heparin-stop"),
        ("second-heparin-type", "second-heparin-doubt", "100 units/mL", "second-heparin-stop"),
        ("read-heparin-total", "heparin-total-doubt", "50", "heparin-total-stop"),
        ("read-left", "read-left-again", "9", "left-stop"),
    ],
)
def test_the_second_wrong_number_ends_with_a_call(
    tmp_path: Path, first: str, second: str, wrong: str, stop: str
) -> None:
    person = sit(tmp_path)
    person.answers = {first: [wrong], second: [wrong]}
    view = person.follow()
    assert view.way == "stopped"
    assert person.seen[-1] == stop
    assert (person.seen.count(first), person.seen.count(second)) == (1, 1)


def test_a_wrong_number_cannot_be_taken_back_and_typed_as_if_for_the_first_time(
    tmp_path: Path,
) -> None:
    person = sit(tmp_path)
    person.answers = {"set-rate-type": ["20"], "set-rate-doubt": ["20"]}
    person.follow(until="set-rate-doubt")
    assert not view_of(person.sitting).can_undo
    person.act(view_of(person.sitting))
    stop = view_of(person.sitting)
    assert (stop.step, stop.can_undo) == ("set-rate-stop", False)


def test_a_number_typed_right_can_be_taken_back(tmp_path: Path) -> None:
    person = sit(tmp_path)
    person.answers = {"set-rate-type": ["20"]}
    person.follow(until="set-rate-doubt")
    person.act(view_of(person.sitting))
    assert view_of(person.sitting).can_undo
    person.sitting.undo()
    assert view_of(person.sitting).step == "set-rate-doubt"


def test_a_date_that_was_typed_wrong_at_first_is_the_right_one_at_the_start(
    tmp_path: Path,
) -> None:
    person = sit(tmp_path)
    person.answers = {"read-discard": ["25 Nov 2026 09:55"], "discard-doubt": ["30 Dec 2026"]}
    assert person.follow().way == "finished"
    assert "bag-time-again" in person.seen
