"""An alarm of the pump: one look at a time, each answer kept; what is not solved ends in a call."""

from __future__ import annotations

from pathlib import Path

import pytest

from coach.engine import Moment, State, after_outcome, apply, possible, step_to_do
from coach.procedure.model import Question, Stop
from tests.dose.test_every_dose_ends_in_one_of_two_ways import sit
from tests.practice.walk import DOSES, all_said, event, walk

DOSE = DOSES["no clamp"]
LOOKS = ("blocked-clamps", "blocked-bends", "blocked-bag", "blocked-air")
"""In the order of the trade."""
MOST_QUESTIONS = 6
"""On the longest way from a beep to a call."""
WAY_BACK = ("look-tube-clamp", "bag-time-again", "go-on")


@pytest.fixture(scope="module")
def running() -> Moment:
    return next(
        moment for moment in walk(DOSE) if step_to_do(DOSE.procedure, moment.state).id == "infuse"
    )


def told(moment: Moment, trouble: str) -> Moment:
    """Return the moment after *trouble* was told."""
    return apply(DOSE, moment, event(moment, "trouble", "", trouble))


def said(moment: Moment, *answers: str) -> Moment:
    """Return the moment after each of *answers*; an empty one says that the step was done."""
    for answer in answers:
        step = step_to_do(DOSE.procedure, moment.state)
        kind = "answer" if answer else "done"
        moment = apply(DOSE, moment, event(moment, kind, step.id, answer))
        assert moment.event is not None
        assert (moment.event.step, moment.event.value) == (step.id, answer)
    return moment


def now(moment: Moment) -> str:
    """Return the step to do now."""
    return step_to_do(DOSE.procedure, moment.state).id


def steps_from(moment: Moment, *answers: str) -> list[str]:
    """Return the step to do now, and the one after each of *answers*."""
    return [now(moment), *(now(said(moment, *answers[: n + 1])) for n in range(len(answers)))]


def longest(state: State) -> int:
    """Return how many questions are asked at most from *state* until a call or the way back.

    Every way there ends in a call with somebody to ring, or back at the list.
    """
    step = step_to_do(DOSE.procedure, state)
    if step.id in DOSE.procedure.index:
        return 0
    if isinstance(step.ask, Stop):
        assert step.ask.call in ("nurse", "emergency")
        return 0
    after = [after_outcome(DOSE.procedure, state, step, outcome) for outcome in step.outcomes]
    return isinstance(step.ask, Question) + max(longest(one) for one in after)


def test_a_blocked_pump_is_paused_and_looked_into_one_look_at_a_time(running: Moment) -> None:
    seen = steps_from(told(running, "pump-blocked"), "", "no", "no", "no", "no")
    assert seen == ["blocked-pause", *LOOKS, "blocked-again-stop"]


@pytest.mark.parametrize("looks", range(3))
def test_as_soon_as_a_cause_is_put_right_the_pump_goes_on_as_after_a_pause(
    running: Moment, looks: int
) -> None:
    moment = said(told(running, "pump-blocked"), "", *["no"] * looks, "yes")
    assert steps_from(moment, "yes", "") == list(WAY_BACK)
    assert now(said(moment, "yes", "", "")) == "infuse"


@pytest.mark.parametrize("looks", range(3))
def test_a_second_alarm_after_any_look_is_a_call_at_once(running: Moment, looks: int) -> None:
    found = said(told(running, "pump-blocked"), "", *["no"] * looks, "yes", "yes", "", "")
    again = told(found, "pump-blocked")
    assert now(again) == "blocked-again-stop"
    assert now(said(told(found, "pump-beeps"), "no", "blocked")) == "blocked-again-stop"


@pytest.mark.parametrize(
    ("answers", "stop"),
    [
        (("no", "no", "empty"), "ran-out-stop"),
        (("no", "no", "loose"), "blocked-again-stop"),
        (("no", "no", "no", "yes"), "air-stop"),
    ],
)
def test_what_a_look_finds_and_nobody_can_put_right_alone_is_a_call(
    running: Moment, answers: tuple[str, ...], stop: str
) -> None:
    assert now(said(told(running, "pump-blocked"), "", *answers)) == stop


def test_where_the_pump_beeps_a_sign_of_danger_comes_first(running: Moment) -> None:
    beeps = told(running, "pump-beeps")
    assert now(beeps) == "beeps-body"
    danger = step_to_do(DOSE.procedure, said(beeps, "yes").state)
    assert isinstance(danger.ask, Stop)
    assert danger.ask.call == "emergency"


@pytest.mark.parametrize(
    ("says", "follows", "own"),
    [
        ("blocked", "blocked-pause", "pump-blocked"),
        ("air", "air-stop", "pump-air"),
        ("low", "low-battery", "pump-low"),
        ("empty", "ran-out-stop", "pump-empty"),
        ("other", "warning-stop", "pump-warning"),
    ],
)
def test_what_its_screen_says_leads_on_as_if_it_had_been_told_so(
    running: Moment, says: str, follows: str, own: str
) -> None:
    moment = said(told(running, "pump-beeps"), "no", says)
    assert now(moment) == follows
    assert moment.state == told(running, own).state


def test_no_way_from_an_alarm_is_long_and_each_ends_in_a_call_or_back_at_the_list(
    running: Moment,
) -> None:
    for trouble in ("pump-beeps", "pump-blocked"):
        state = told(running, trouble).state
        assert 1 < longest(state) <= MOST_QUESTIONS


def test_each_answer_is_in_the_record_of_the_dose(tmp_path: Path) -> None:
    person = sit(tmp_path)
    person.follow(until="infuse")
    before = len(person.sitting.moments)
    person.sitting.went_wrong("pump-blocked")
    person.answers = {look: ["no"] for look in LOOKS}
    card = person.follow().card
    assert card is not None
    assert card.contacts[0].who == "Nurse"
    kept = [moment.event for moment in person.sitting.moments[before:] if moment.event]
    assert [(event.step, event.value) for event in kept[2:-1]] == [(look, "no") for look in LOOKS]


def test_while_it_is_looked_into_an_emergency_can_be_told_and_nothing_else(
    running: Moment,
) -> None:
    moment = said(told(running, "pump-beeps"), "no", "blocked", "", "no")
    assert now(moment) == "blocked-bends"
    offered = {mishap.id for mishap in possible(DOSE.procedure, moment.state)}
    assert offered == {"danger", "reaction", "very-ill"}
    assert {one.kind for one in all_said(DOSE, moment)} == {"answer", "trouble", "left", "undone"}
