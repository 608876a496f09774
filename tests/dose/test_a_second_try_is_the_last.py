"""What went wrong once is tried once more; the second time, somebody is called."""

from __future__ import annotations

from pathlib import Path

from coach.sitting.show import view_of
from tests.dose.test_every_dose_ends_in_one_of_two_ways import facts_of, sit


def test_a_wrong_syringe_is_put_aside_and_another_one_is_taken(tmp_path: Path) -> None:
    person = sit(tmp_path, saline_before_read=["no"])
    assert person.follow().way == "finished"
    at = person.seen.index("saline-before-other")
    assert person.seen[at + 1] == "saline-before-read-again"


def test_a_second_wrong_syringe_ends_with_the_pharmacist_called(tmp_path: Path) -> None:
    person = sit(tmp_path, saline_before_read=["no"], saline_before_read_again=["no"])
    view = person.follow()
    assert view.way == "stopped"
    assert view.card is not None
    assert view.card.contacts[0].who == "Pharmacist"
    assert person.seen[-1] == "saline-before-wrong-stop"


def test_one_wrong_syringe_of_each_kind_is_put_aside_and_the_dose_goes_on(
    tmp_path: Path,
) -> None:
    person = sit(tmp_path, saline_before_read=["no"], heparin_syringe_read=["no"])
    assert person.follow().way == "finished"
    assert {"saline-before-other", "heparin-syringe-other"} <= set(person.seen)


def test_a_pump_that_does_not_run_is_started_once_more(tmp_path: Path) -> None:
    person = sit(tmp_path, see_running=["no"])
    assert person.follow().way == "finished"
    at = person.seen.index("not-running")
    assert person.seen[at - 1 : at + 4] == [
        "see-running",
        "not-running",
        "due-again",
        "start-pump",
        "see-running",
    ]


def test_a_pump_that_does_not_run_the_second_time_ends_with_the_nurse_called(
    tmp_path: Path,
) -> None:
    person = sit(tmp_path, see_running=["no", "no"])
    view = person.follow()
    assert view.way == "stopped"
    assert view.card is not None
    assert view.card.contacts[0].who == "Nurse"
    assert person.seen[-1] == "not-running-stop"


def test_what_was_missing_is_laid_out_and_the_dose_goes_on(tmp_path: Path) -> None:
    person = sit(tmp_path, missing_stop=["goes-on"])
    person.follow(until="saline-before-read")
    person.sitting.went_wrong("supply-missing")
    person.seen.clear()
    assert person.follow().way == "finished"
    assert person.seen[:1] == ["missing-stop"]
    assert "first-take-soap" in person.seen


def test_while_the_medicine_runs_it_goes_on_with_the_pump_and_clamps_seen_to(
    tmp_path: Path,
) -> None:
    person = sit(tmp_path, missing_running_stop=["goes-on"])
    person.follow(until="infuse")
    person.clock.move(60)
    person.sitting.went_wrong("supply-missing")
    person.seen.clear()
    person.follow(until="go-on")
    assert facts_of(person.sitting)["pump"] == "paused"
    assert "look-both-clamps" in person.seen
    assert person.follow().way == "finished"


def test_a_call_that_is_gone_on_from_leaves_nothing_scrubbed(tmp_path: Path) -> None:
    person = sit(tmp_path, unwell_stop=["goes-on"])
    person.follow(until="tubing-scrub")
    person.sitting.start_run()
    while view_of(person.sitting).step != "tubing-bare":
        person.clock.move(1)
        person.sitting.tick()
    assert facts_of(person.sitting)["connector"] == "ready"
    person.sitting.went_wrong("unwell")
    person.act(view_of(person.sitting))
    facts = facts_of(person.sitting)
    assert (facts["body"], facts["connector"], facts["hands"]) == ("well", "unclean", "unclean")


def test_the_heparin_strength_is_typed_when_it_is_made_ready_and_again_before_use(
    tmp_path: Path,
) -> None:
    person = sit(tmp_path)
    assert person.follow().way == "finished"
    seen = person.seen
    assert seen.index("heparin-syringe-recap") < seen.index("first-heparin-type")
    assert seen.index("first-heparin-type") < seen.index("start-pump")
    assert seen.index("saline-after-off") < seen.index("second-heparin-type")
    assert seen.index("second-heparin-type") < seen.index("heparin-syringe-push")


def test_wrong_heparin_is_found_before_any_medicine_is_given(tmp_path: Path) -> None:
    person = sit(
        tmp_path, first_heparin_type=["100 units/mL"], first_heparin_doubt=["100 units/mL"]
    )
    view = person.follow()
    assert view.way == "stopped"
    assert view.card is not None
    assert view.card.situation.startswith("My heparin syringe shows 100 units/mL.")
    assert view.card.assessment.startswith("No medicine has gone in yet.")


def test_a_new_heparin_syringe_has_its_strength_typed_as_well(tmp_path: Path) -> None:
    person = sit(tmp_path, heparin_syringe_seen=["no"])
    assert person.follow().way == "finished"
    after = person.seen[person.seen.index("heparin-again") :]
    assert "heparin-syringe-read" in after
    assert after.index("second-heparin-type") < after.index("heparin-syringe-push")
    assert "read-heparin-total" in after
