"""Each surprise, dealt wherever it can happen, is met rightly by what the steps ask for alone.

By the engine, with no disk: each kind of dose is walked, at each of its moments all surprises are
dealt, and everything that can be said there is held against each.
"""

from __future__ import annotations

from functools import cache

import pytest

from coach.engine import Moment, after_return, apply, possible, step_to_do
from coach.practice.surprises import Surprise, can_be_met, surprises, verdict
from coach.procedure.model import Hold, Question, Reading
from tests.person import MORNING
from tests.practice.walk import (
    DOSES,
    TEACHING,
    all_said,
    as_hoped,
    event,
    named,
    own,
    walk,
)
from tests.procedure.shipped import SOURCE

SYRINGES = ("saline-before", "saline-after", "heparin-syringe")
ALIKE = {
    *("mishap bag-cloudy", "mishap bag-leaks"),  # each makes of it a bag that is not used
    *(f"answer look-{what} no" for what in ("leaks", "colour", "bits", "spike")),
    *("mishap hands-soiled", "answer tubing-look-hands no"),
    *(f"answer {syringe}-look-hands no" for syringe in SYRINGES),
    *("mishap resistance", *(f"answer {syringe}-push no" for syringe in SYRINGES)),
    *("mishap site-bad", "answer look-site no"),
    *("mishap danger", "answer beeps-body yes"),
    *("mishap danger", "answer beeps-body yes"),  # what is asked first is told at any time
}
"""Those that can be told in more than one way, each with the same effect."""


def dealt(kind: str, moment: Moment, *, holding: bool = False) -> tuple[Surprise, ...]:
    """Return the surprises that can be dealt at *moment*."""
    return surprises(DOSES[kind], moment, TEACHING, MORNING, holding=holding)


@cache
def moments(kind: str) -> tuple[Moment, ...]:
    """Return the moments of a dose, and of the first response to each mishap that can befall it.

    Each mishap is followed from the first moment at which it leads to that response.
    """
    dose, found, seen = DOSES[kind], list[Moment](), set[tuple[str, str]]()
    for moment in walk(dose):
        found.append(moment)
        for mishap in possible(dose.procedure, moment.state):
            told = event(moment, mishap.kind, "", mishap.id)
            after = apply(dose, moment, told)
            step = step_to_do(dose.procedure, after.state)
            if step.id not in dose.procedure.index and (mishap.id, step.id) not in seen:
                seen.add((mishap.id, step.id))
                found.append(after)
    return tuple(found)


@pytest.mark.parametrize("kind", DOSES)
def test_the_right_answer_is_right_and_each_other_one_is_wrong(kind: str) -> None:
    dose, alike, pairs = DOSES[kind], set[tuple[str, str]](), 0
    for moment in moments(kind):
        said = [
            (one, apply(dose, moment, one))
            for one in all_said(dose, moment)
            if one.kind != "undone"
        ]
        for surprise in dealt(kind, moment):
            right = own(moment, surprise)
            assert verdict(dose, surprise, moment, right) is True, (surprise.name, named(right))
            state = apply(dose, moment, right).state
            for one, after in said:
                same = one.kind == right.kind and one.value == right.value
                found = verdict(dose, surprise, moment, one)
                if found and not same:
                    # The same by another name: nothing that follows can tell them apart.
                    assert after.state == state, (surprise.name, named(one))
                    alike.add((surprise.name, f"{one.kind} {one.value}"))
                assert found in (True, False), (surprise.name, named(one))
                pairs += 1
            if moment.event is not None:
                assert verdict(dose, surprise, moment, event(moment, "undone")) is False
    assert pairs > 30_000
    assert {first for first, _ in alike} <= ALIKE


def test_every_trouble_and_spoiling_was_dealt_somewhere() -> None:
    met = {
        surprise.mishap.id
        for kind in DOSES
        for moment in moments(kind)
        for surprise in dealt(kind, moment)
        if surprise.mishap is not None
    }
    assert met == {mishap.id for mishap in SOURCE.mishaps}


@pytest.mark.parametrize("kind", DOSES)
def test_what_happened_cannot_be_passed_over(kind: str) -> None:
    """To go on as if nothing was seen is wrong at each step: the most common mistake."""
    dose = DOSES[kind]
    for moment in moments(kind):
        going_on = as_hoped(dose, moment)
        for surprise in dealt(kind, moment):
            if (
                apply(dose, moment, going_on).state
                != apply(dose, moment, own(moment, surprise)).state
            ):
                assert verdict(dose, surprise, moment, going_on) is False, surprise.name


def test_each_question_that_has_something_to_see_and_each_number_can_be_a_surprise() -> None:
    names = {s.name for kind in DOSES for moment in moments(kind) for s in dealt(kind, moment)}
    steps = {
        step_to_do(DOSES[kind].procedure, moment.state).id: step_to_do(
            DOSES[kind].procedure, moment.state
        )
        for kind in DOSES
        for moment in moments(kind)
    }
    questions = {
        f"answer {step.id} {outcome.name}"
        for step in steps.values()
        if isinstance(step.ask, Question)
        for outcome in step.outcomes[1:]
        if outcome.seen
    }
    readings = {f"reading {step.id}" for step in steps.values() if isinstance(step.ask, Reading)}
    assert questions
    assert readings
    assert questions | readings <= names


def test_a_number_that_was_seen_right_may_be_typed_in_any_unit() -> None:
    dose = DOSES["all"]
    moment = next(
        m for m in walk(dose) if step_to_do(dose.procedure, m.state).id == "set-rate-type"
    )
    surprise = next(s for s in dealt("all", moment) if s.kind == "reading")
    assert surprise.looks == "2,000 mL/h"  # ten times too fast
    for typed, right in (("2000", True), ("2000 ml/h", True), ("200", False), ("20000", False)):
        said = event(moment, "reading", surprise.step.id, typed)
        assert verdict(dose, surprise, moment, said) is right


def test_a_date_that_is_over_has_to_be_typed_as_it_stands() -> None:
    dose = DOSES["all"]
    moment = next(m for m in walk(dose) if step_to_do(dose.procedure, m.state).id == "read-discard")
    surprise = next(s for s in dealt("all", moment) if s.kind == "reading")
    assert surprise.looks == "24 November 2026"
    for typed, right in (("24 Nov 2026", True), ("2026-11-24", True), ("30 Nov 2026", False)):
        said = event(moment, "reading", "read-discard", typed)
        assert verdict(dose, surprise, moment, said) is right


# The phone in the middle of a hold


def holds(kind: str) -> list[tuple[Moment, Surprise]]:
    """Return each hold of a dose with the first interruption of it."""
    dose = DOSES[kind]
    return [
        (moment, next(s for s in dealt(kind, moment, holding=True) if s.kind == "interruption"))
        for moment in walk(dose)
        if isinstance(step_to_do(dose.procedure, moment.state).ask, Hold)
    ]


@pytest.mark.parametrize("kind", DOSES)
def test_the_phone_is_right_only_with_the_whole_hold(kind: str) -> None:
    dose = DOSES[kind]
    assert holds(kind)
    for moment, phone in holds(kind):
        assert verdict(dose, phone, moment, as_hoped(dose, moment)) is True
        assert verdict(dose, phone, moment, event(moment, "left")) is False
        assert verdict(dose, phone, moment, event(moment, "undone")) is False
        for mishap in possible(dose.procedure, moment.state):
            said = event(moment, mishap.kind, "", mishap.id)
            assert verdict(dose, phone, moment, said) is (
                None if mishap.kind == "spoiled" else False
            )


def test_a_hold_that_was_stopped_for_the_phone_is_right_once_it_is_done_again_whole() -> None:
    dose = DOSES["all"]
    for moment, phone in holds("all"):
        stopped = event(moment, "returned")
        assert verdict(dose, phone, moment, stopped) is None
        now = apply(dose, moment, stopped)
        for _ in range(20):
            said = as_hoped(dose, now)
            found = verdict(dose, phone, now, said)
            if found is not None:
                break
            assert said.step != phone.step.id
            now = apply(dose, now, said)
        assert found is True
        assert said.step == phone.step.id


def test_the_phone_rings_only_while_a_hold_runs() -> None:
    for kind in DOSES:
        for moment in moments(kind):
            assert all(one.kind != "interruption" for one in dealt(kind, moment))


# What is no answer


def test_a_stretch_that_was_broken_off_is_right_where_it_makes_good_what_was_spoiled() -> None:
    dose = DOSES["all"]
    made_good, still_to_tell = set[str](), set[str]()
    for moment in moments("all"):
        back = event(moment, "returned")
        changes = after_return(dose.procedure, moment.state) != moment.state
        for surprise in dealt("all", moment):
            found = verdict(dose, surprise, moment, back)
            assert found is not False
            assert not found or changes
            if surprise.mishap is not None:
                (made_good if found else still_to_tell).add(surprise.mishap.kind)
    assert made_good == {"spoiled"}  # no trouble passes by starting a stretch anew
    assert still_to_tell == {"spoiled", "trouble"}


def test_a_long_silence_is_no_answer_and_neither_is_coming_back_from_it() -> None:
    dose = DOSES["all"]
    moment = next(m for m in walk(dose) if m.state.place > 30)
    surprise = next(s for s in dealt("all", moment) if s.kind == "mishap" and s.mishap)
    at = moment.event
    assert at is not None
    late = event(moment, "left")
    talked = late.at.__class__(late.at.at, late.at.tick + 3_600, late.at.counter)
    silent = late.__class__(late.seq, talked, "left", "", "")
    assert verdict(dose, surprise, moment, silent) is None
    away = apply(dose, moment, silent)
    assert verdict(dose, surprise, away, event(away, "returned")) is None
    assert verdict(dose, surprise, moment, late) is False
    assert verdict(dose, surprise, moment, event(moment, "note", "", "well")) is None


def test_what_can_no_longer_be_told_is_known() -> None:
    dose = DOSES["all"]
    checked = 0
    for moment in moments("all"):
        for surprise in dealt("all", moment):
            assert can_be_met(dose, surprise, moment)
            if surprise.kind == "mishap":
                after = apply(dose, moment, own(moment, surprise))
                checked += not can_be_met(dose, surprise, after)
    assert checked > 100
