"""A sitting ends with the line flushed, locked and clamped, or with help called."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import pytest

from coach.clock import ManualClock
from coach.sitting.desk import Desk
from coach.sitting.show import menu_of, view_of
from coach.sitting.sitting import Sitting
from tests.person import DAILY, MORNING, Person, changed_sheet, desk_at


def facts_of(sitting: Sitting) -> dict[str, str]:
    """Return what the coach believes now, by name."""
    return sitting.dose.procedure.source.table.named(sitting.moment.state.facts)


def until_open(desk: Desk, clock: ManualClock) -> None:
    """Let time pass until a dose can be begun."""
    today = desk.today()
    if not today.can_begin:
        clock.move((today.opens - clock.at).total_seconds() + 60)


def sit(folder: Path, orders: Path | None = None, **answers: list[str]) -> Person:
    """Begin the demonstration dose; *answers* by step, underscores for hyphens."""
    clock = ManualClock(MORNING)
    desk = desk_at(folder, orders, clock) if orders else desk_at(folder, clock=clock)
    told = {step.replace("_", "-"): given for step, given in answers.items()}
    return Person(desk.begin(), clock, told)


def test_a_dose_with_heparin_ends_flushed_locked_clamped_and_tidy(tmp_path: Path) -> None:
    person = sit(tmp_path)
    assert person.follow().way == "finished"
    facts = facts_of(person.sitting)
    assert facts["saline-before-in"] == "done"
    assert facts["infusion"] == "ended"
    assert facts["saline-after-in"] == "done"
    assert facts["heparin-in"] == "done"
    assert facts["clamp"] == "shut"
    assert facts["end-clamp-seen"] == "shut"
    assert facts["joined"] == "nothing"
    assert facts["line"] == "free"
    assert facts["tubing"] == "binned"
    assert {facts[s] for s in ("saline-before", "saline-after", "heparin-syringe")} == {"off"}


def test_a_dose_without_heparin_asks_for_none_and_ends_clamped(tmp_path: Path) -> None:
    changes = {
        "  ordered: yes ": "  ordered: no ",
        "  strength: 10 units/mL   # 1, 10 or 100 units/mL.\n": "",
        "  volume: 3 mL            # How much heparin closes the line.\n": "",
    }
    person = sit(tmp_path, changed_sheet(tmp_path, changes))
    assert person.follow().way == "finished"
    assert not [step for step in person.seen if "heparin" in step]
    facts = facts_of(person.sitting)
    assert facts["heparin-in"] == "not-ordered"
    assert facts["saline-after-in"] == "done"
    assert facts["clamp"] == "shut"


def test_resistance_met_with_every_clamp_open_ends_with_the_nurse_called(tmp_path: Path) -> None:
    person = sit(tmp_path, saline_before_push=["no"], look_at_clamps=["no"])
    view = person.follow()
    assert view.way == "stopped"
    assert view.card is not None
    assert view.card.contacts[0].who == "Nurse"
    assert view.card.leave
    assert view.card.close
    assert facts_of(person.sitting)["infusion"] == "not-begun"


def test_resistance_from_a_shut_clamp_is_tried_once_more_and_the_dose_goes_on(
    tmp_path: Path,
) -> None:
    person = sit(tmp_path, saline_before_push=["no"])
    assert person.follow().way == "finished"
    at = person.seen.index("look-at-clamps")
    assert person.seen[at - 1 : at + 4] == [
        "saline-before-push",
        "look-at-clamps",
        "look-again",
        "push-once-more",
        "saline-before-push",
    ]


def test_resistance_met_again_is_never_pushed_again(tmp_path: Path) -> None:
    person = sit(tmp_path, saline_before_push=["no"], saline_after_push=["no"])
    view = person.follow()
    assert view.way == "stopped"
    assert person.seen[-2:] == ["saline-after-push", "resists-again-stop"]


def test_a_touched_tip_asks_for_a_new_syringe_and_nothing_else_twice(tmp_path: Path) -> None:
    person = sit(tmp_path)
    person.follow(until="saline-after-air")
    person.sitting.went_wrong("saline-after-tip-touched")
    assert person.follow().way == "finished"
    at = person.seen.index("saline-after-new")
    assert person.seen[at + 1 : at + 7] == [
        "saline-after-read",
        "saline-after-free",
        "saline-after-uncap",
        "saline-after-air",
        "saline-after-look-air",
        "saline-after-recap",
    ]
    assert person.seen.count("saline-before-air") == 1
    assert person.seen.count("first-take-soap") == 1


def test_a_joint_that_was_touched_is_taken_apart_and_scrubbed_again(tmp_path: Path) -> None:
    person = sit(tmp_path, saline_before_seen=["no"])
    assert person.follow().way == "finished"
    at = person.seen.index("saline-before-take-off")
    assert person.seen[at + 1 : at + 12] == [
        "saline-before-new",
        "saline-before-read",
        "saline-before-free",
        "saline-before-uncap",
        "saline-before-air",
        "saline-before-look-air",
        "saline-before-recap",
        "saline-before-look-hands",
        "saline-before-pad",
        "saline-before-scrub",
        "saline-before-seen",
    ]


def test_a_label_that_does_not_match_stops_before_the_bag_is_opened(tmp_path: Path) -> None:
    person = sit(tmp_path, label_volume_type=["99"], label_volume_doubt=["99"])
    view = person.follow()
    assert view.way == "stopped"
    assert view.card is not None
    assert view.card.contacts[0].who == "Pharmacist"
    assert "99" in view.card.situation
    assert "open-port" not in person.seen
    assert facts_of(person.sitting)["bag-port"] == "covered"


def test_a_slip_of_the_finger_is_typed_again_and_the_dose_goes_on(tmp_path: Path) -> None:
    person = sit(tmp_path, set_rate_type=["2000"])
    assert person.follow().way == "finished"
    at = person.seen.index("set-rate-type")
    assert person.seen[at + 1] == "set-rate-doubt"
    assert person.seen.count("set-rate-type") == 1


@pytest.mark.parametrize(
    "step", ["label-name-read", "label-medicine-read", "look-leaks", "look-colour", "look-bits"]
)
def test_anything_off_with_the_bag_stops_the_dose(tmp_path: Path, step: str) -> None:
    person = sit(tmp_path)
    person.answers = {step: ["no"]}
    view = person.follow()
    assert view.way == "stopped"
    assert "open-port" not in person.seen
    assert view.card is not None
    assert view.card.contacts[0].who == "Pharmacist"


def test_a_bag_that_would_pass_its_discard_time_during_the_dose_stops_it(tmp_path: Path) -> None:
    too_old = "25 Nov 2026 09:55"
    person = sit(tmp_path, read_discard=[too_old], discard_doubt=[too_old])
    assert person.follow().way == "stopped"
    assert person.seen[-1] == "discard-stop"


def test_a_bag_that_ran_out_of_time_since_it_was_read_is_not_started(tmp_path: Path) -> None:
    person = sit(tmp_path, bag_time_again=[])
    person.answers = {"read-discard": ["25 Nov 2026 10:08"]}
    person.follow(until="bag-time-again")
    person.clock.move(600)
    assert person.follow().way == "stopped"
    assert "start-pump" not in person.seen
    assert person.seen[-1] == "discard-joined-stop"


def test_an_emergency_can_be_told_at_every_step_and_shows_its_number_first(
    tmp_path: Path,
) -> None:
    person = sit(tmp_path)
    danger = [m for m in person.sitting.dose.procedure.mishaps if m.final]
    assert {m.id for m in danger} == {"danger", "reaction", "very-ill"}

    def look(_: object) -> None:
        offered = {item.name for group in menu_of(person.sitting) for item in group.items}
        assert {m.id for m in danger} <= offered

    person.before = look
    person.follow(until="infuse")
    person.clock.move(90)
    person.sitting.went_wrong("danger")
    view = view_of(person.sitting)
    assert view.card is not None
    assert view.card.emergency
    assert view.card.contacts[0].phone == "911"
    assert "5.1 mL of 10 mL" in view.card.assessment
    assert not view.can_undo


def test_nothing_is_started_after_an_emergency_without_a_word_from_somebody(
    tmp_path: Path,
) -> None:
    clock = ManualClock(MORNING)
    desk = desk_at(tmp_path, clock=clock)
    person = Person(desk.begin(), clock)
    person.follow(until="wipe-table")
    person.sitting.went_wrong("danger")
    assert person.follow().way == "stopped"
    clock.move(3_600)
    assert desk.today().needs_word
    from coach.sitting.desk import NotNow

    with pytest.raises(NotNow, match="until the nurse or doctor says so"):
        desk.begin()
    assert desk.begin("Dr. Imaginary, by telephone") is not None


def test_the_same_due_time_is_never_given_twice(tmp_path: Path) -> None:
    clock = ManualClock(MORNING)
    desk = desk_at(tmp_path, clock=clock)
    first = desk.today().due
    assert Person(desk.begin(), clock).follow().way == "finished"
    assert desk.today().due > first


def test_the_nurse_can_end_the_medicine_early_and_the_line_is_still_flushed(
    tmp_path: Path,
) -> None:
    person = sit(tmp_path)
    person.follow(until="infuse")
    person.clock.move(60)
    person.sitting.went_wrong("told-to-stop")
    assert person.follow().way == "finished"
    facts = facts_of(person.sitting)
    assert facts["infusion"] == "stopped-early"
    assert facts["saline-after-in"] == "done"
    assert "read-left" not in person.seen


def test_a_pause_moves_the_end_and_the_clamps_are_known_open_before_going_on(
    tmp_path: Path,
) -> None:
    person = sit(tmp_path)
    person.follow(until="infuse")
    person.clock.move(60)
    person.sitting.went_wrong("pause")
    person.clock.move(500)
    person.sitting.done()
    assert view_of(person.sitting).step == "go-on"
    person.sitting.done()
    timer = view_of(person.sitting).timer
    assert timer is not None
    assert (timer.total, timer.passed) == (180, 62.0)


def test_kept_tubing_is_covered_and_comes_back_at_the_next_dose(tmp_path: Path) -> None:
    clock = ManualClock(MORNING)
    desk: Desk = desk_at(tmp_path, DAILY, clock)
    until_open(desk, clock)
    first = Person(desk.begin("Nurse on call"), clock, {"late-stop": ["goes-on"]})
    assert first.follow().way == "finished"
    assert facts_of(first.sitting)["tubing-end"] == "covered"
    until_open(desk, clock)
    second = Person(desk.begin("Nurse on call"), clock)
    assert second.sitting.dose.procedure.choices["tubing"] == "kept"
    assert second.follow().way == "finished"
    assert "kept-spike-out" in second.seen
    assert "unpack-tubing" not in second.seen
    clock.move((desk.today().closes - clock.at).total_seconds() - 60)
    third = desk.begin("Nurse on call")
    assert clock.at - MORNING > timedelta(hours=22, minutes=30)  # 24 h, less warm-up and infusion
    assert third.dose.procedure.choices["tubing"] == "new"


def test_a_kept_end_that_was_touched_is_thrown_away(tmp_path: Path) -> None:
    clock = ManualClock(MORNING)
    desk = desk_at(tmp_path, DAILY, clock)
    until_open(desk, clock)
    person = Person(
        desk.begin("Nurse on call"), clock, {"look-cap": ["no"], "late-stop": ["goes-on"]}
    )
    assert person.follow().way == "finished"
    assert facts_of(person.sitting)["tubing-end"] == "binned"
    until_open(desk, clock)
    assert desk.begin("Nurse on call").dose.procedure.choices["tubing"] == "new"


def test_told_to_stop_the_pump_is_stopped_before_what_is_left_is_read(
    tmp_path: Path,
) -> None:
    person = sit(tmp_path)
    person.follow(until="infuse")
    person.clock.move(60)
    person.sitting.went_wrong("told-to-stop")
    person.seen.clear()
    person.follow(until="second-take-soap")
    assert person.seen[:3] == ["stop-pump", "tube-clamp-shut", "read-left-early"]


def test_until_the_pump_is_stopped_its_troubles_can_be_told(tmp_path: Path) -> None:
    person = sit(tmp_path)
    person.follow(until="read-left")
    offered = {item.name for group in menu_of(person.sitting) for item in group.items}
    assert {"pump-air", "pump-blocked", "pump-warning", "unwell"} <= offered
    person.sitting.went_wrong("unwell")
    assert view_of(person.sitting).step == "unwell-running-stop"


def test_a_blocked_pump_is_paused_before_a_clamp_is_opened(tmp_path: Path) -> None:
    person = sit(tmp_path)
    person.follow(until="infuse")
    person.sitting.went_wrong("pump-blocked")
    assert person.follow().way == "finished"
    at = person.seen.index("blocked-pause")
    assert person.seen[at + 1] == "blocked-clamps"


def test_the_cassette_is_off_the_pump_before_the_tubing_is_binned(tmp_path: Path) -> None:
    person = sit(tmp_path)
    person.follow()
    assert person.seen.index("cassette-off") < person.seen.index("bin-used-tubing")
