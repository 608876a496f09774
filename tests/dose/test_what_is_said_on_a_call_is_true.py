"""A call card says what went in, where the person is, and what to do with what is left."""

from __future__ import annotations

from pathlib import Path

import pytest

from coach.sitting.show import menu_of, view_of
from coach.sitting.sitting import Sitting
from coach.sitting.view import Card
from tests.dose.test_every_dose_ends_in_one_of_two_ways import facts_of, sit
from tests.person import changed_sheet

NOTHING_YET = "No medicine has gone in yet."
ADDRESS = '  address: "12 Made-Up Lane, Quillfern"  # Where help has to come to. May be left out.\n'


def card_of(sitting: Sitting) -> Card:
    """Return the call card that is shown."""
    card = view_of(sitting).card
    assert card is not None
    return card


def offered(sitting: Sitting) -> set[str]:
    """Return the mishaps that can be told now."""
    return {item.name for group in menu_of(sitting) for item in group.items}


@pytest.mark.parametrize("trouble", ["danger", "fever", "unwell", "line-out", "blood-seen"])
def test_before_the_start_the_card_says_that_no_medicine_went_in(
    tmp_path: Path, trouble: str
) -> None:
    person = sit(tmp_path)
    person.follow(until="tubing-seen")
    person.sitting.went_wrong(trouble)
    assert card_of(person.sitting).assessment.startswith(NOTHING_YET)


@pytest.mark.parametrize("trouble", ["danger", "fever", "unwell", "line-out", "blood-seen"])
def test_after_the_start_the_card_says_how_much_went_in_by_the_clock(
    tmp_path: Path, trouble: str
) -> None:
    person = sit(tmp_path)
    person.follow(until="infuse")
    person.clock.move(90)
    person.sitting.went_wrong(trouble)
    said = card_of(person.sitting).assessment
    assert said.startswith("By the clock 5.1 mL of 10 mL went in.")


def test_after_the_end_the_card_says_what_the_pump_showed(tmp_path: Path) -> None:
    person = sit(tmp_path)
    person.follow(until="saline-after-push")
    person.sitting.went_wrong("danger")
    said = card_of(person.sitting).assessment
    assert said.startswith("By the pump 10 mL of 10 mL went in.")


def test_an_emergency_card_says_where_to_come_to(tmp_path: Path) -> None:
    person = sit(tmp_path)
    person.sitting.went_wrong("danger")
    assert "I am at 12 Made-Up Lane, Quillfern." in card_of(person.sitting).request


def test_without_an_address_an_emergency_card_asks_the_person_to_say_it(tmp_path: Path) -> None:
    person = sit(tmp_path, changed_sheet(tmp_path, {ADDRESS: ""}))
    person.sitting.went_wrong("danger")
    assert "Say where you are." in card_of(person.sitting).request


def test_a_bag_that_leaks_before_it_is_opened_speaks_of_no_tubing(tmp_path: Path) -> None:
    person = sit(tmp_path, look_leaks=["no"])
    person.follow(until="bad-bag-closed-stop")
    assert "Nothing is joined to you." in card_of(person.sitting).close


def test_a_bag_that_leaks_at_its_spike_has_its_clamps_shut(tmp_path: Path) -> None:
    person = sit(tmp_path, look_spike=["no"])
    person.follow(until="bad-bag-stop")
    assert "Shut each clamp" in card_of(person.sitting).close


@pytest.mark.parametrize("step", ["tubing-clamp-open", "start-pump"])
@pytest.mark.parametrize(
    ("trouble", "stop"),
    [("pump-air", "air-stop"), ("blood-seen", "blood-stop"), ("joint-leaks", "leaks-stop")],
)
def test_trouble_in_joined_tubing_can_be_told_before_the_start(
    tmp_path: Path, step: str, trouble: str, stop: str
) -> None:
    person = sit(tmp_path)
    person.follow(until=step)
    person.sitting.went_wrong(trouble)
    assert view_of(person.sitting).step == stop
    assert card_of(person.sitting).contacts[0].who == "Nurse"
    assert person.follow().way == "stopped"


def test_a_joint_cannot_leak_where_nothing_is_joined(tmp_path: Path) -> None:
    person = sit(tmp_path)
    person.follow(until="look-site")
    assert "joint-leaks" not in offered(person.sitting)
    assert "pump-air" not in offered(person.sitting)


def test_stopped_early_the_bag_and_tubing_are_kept_for_the_nurse(tmp_path: Path) -> None:
    person = sit(tmp_path)
    person.answers = {"read-left-early": ["6"]}
    person.follow(until="infuse")
    person.clock.move(60)
    person.sitting.went_wrong("told-to-stop")
    assert person.follow().way == "finished"
    assert "put-aside" in person.seen
    assert "bin-used-tubing" not in person.seen
    assert facts_of(person.sitting)["tubing"] == "aside"


def test_more_left_than_the_bag_held_is_read_again(tmp_path: Path) -> None:
    person = sit(tmp_path)
    person.answers = {"read-left-early": ["60"], "more-than-all": ["6"]}
    person.follow(until="infuse")
    person.sitting.went_wrong("told-to-stop")
    person.follow(until="take-along")
    assert person.seen[-3:] == ["read-left-early", "more-than-all", "take-along"]


def test_more_left_than_the_bag_held_two_times_is_for_the_nurse_who_can_say_to_go_on(
    tmp_path: Path,
) -> None:
    person = sit(tmp_path)
    person.answers = {
        "read-left-early": ["60"],
        "more-than-all": ["50"],
        "odd-left-stop": ["goes-on"],
    }
    person.follow(until="infuse")
    person.sitting.went_wrong("told-to-stop")
    person.follow(until="odd-left-stop")
    situation = card_of(person.sitting).situation
    assert situation.endswith("The pump shows 50 mL as left, and the bag held 10 mL.")
    assert person.follow().way == "finished"
    assert person.seen.count("read-left-early") == 1


def test_what_the_nurse_took_as_left_is_not_asked_for_again(tmp_path: Path) -> None:
    person = sit(tmp_path)
    person.answers = {"read-left": ["9"], "more-left": ["no"], "left-stop": ["goes-on"]}
    assert person.follow().way == "finished"
    assert (person.seen.count("read-left"), person.seen.count("left-stop")) == (1, 1)


def test_stopped_early_the_log_says_what_the_pump_showed(tmp_path: Path) -> None:
    person = sit(tmp_path)
    person.answers = {"read-left-early": ["6.5"]}
    person.follow(until="infuse")
    person.clock.move(60)
    person.sitting.went_wrong("told-to-stop")
    assert "cefazolin, 3.5 mL of 10 mL" in person.follow(until="write-down").do
    last = person.follow(until="remember-heparin").do
    assert last.endswith("saline, 3.5 mL of cefazolin, saline, heparin.")
    person.sitting.went_wrong("danger")
    said = card_of(person.sitting).assessment
    assert said.startswith("By the pump 3.5 mL of 10 mL went in.")
    assert person.follow().way == "stopped"


def test_the_log_at_home_names_the_medicine_and_how_much_went_in(tmp_path: Path) -> None:
    person = sit(tmp_path)
    view = person.follow(until="write-down")
    assert "cefazolin, 10 mL of 10 mL" in view.do


@pytest.mark.parametrize(
    ("step", "stop", "do"),
    [
        ("tubing-clamp-open", "site-stop", "Do not give the dose."),
        ("infuse", "site-running-stop", "Stop the pump."),
        ("saline-after-push", "site-after-stop", "Do not push any more."),
    ],
)
def test_a_bad_site_is_told_for_its_moment(tmp_path: Path, step: str, stop: str, do: str) -> None:
    person = sit(tmp_path)
    person.follow(until=step)
    person.sitting.went_wrong("site-bad")
    view = view_of(person.sitting)
    assert view.step == stop
    assert view.do.startswith(do)


@pytest.mark.parametrize(
    ("step", "stop"),
    [
        ("tubing-clamp-open", "fever-stop"),
        ("infuse", "fever-running-stop"),
        ("saline-after-push", "fever-stop"),
    ],
)
def test_a_fever_stops_the_pump_only_where_it_runs(tmp_path: Path, step: str, stop: str) -> None:
    person = sit(tmp_path)
    person.follow(until=step)
    person.sitting.went_wrong("fever")
    assert view_of(person.sitting).step == stop


def test_a_line_without_a_clamp_has_the_clamp_of_the_tubing_shut(tmp_path: Path) -> None:
    changes = {"  clamp: present ": "  clamp: none "}
    person = sit(tmp_path, changed_sheet(tmp_path, changes))
    person.sitting.went_wrong("fever")
    said = card_of(person.sitting).close
    assert said == "If the tubing is on your line, shut the clamp on the tubing."


@pytest.mark.parametrize("step", ["cassette-off", "saline-after-push"])
def test_bag_trouble_is_not_offered_once_the_tubing_is_off(tmp_path: Path, step: str) -> None:
    person = sit(tmp_path)
    person.follow(until=step)
    assert not {"bag-leaks", "bag-cloudy"} & offered(person.sitting)
