"""Each trouble is answered by its own card, as it is at that moment of the dose."""

from __future__ import annotations

from coach.procedure.model import Question
from tests.mutants.called import ALWAYS, ANSWERS, answered_otherwise
from tests.mutants.operators import response_dropped, set_changed
from tests.procedure.shipped import SOURCE


def test_at_each_moment_a_trouble_has_the_card_that_is_there_for_it() -> None:
    assert not list(answered_otherwise(SOURCE))


def test_every_trouble_that_has_a_card_is_in_the_list() -> None:
    troubles = {mishap.id for mishap in SOURCE.mishaps if mishap.kind == "trouble"}
    assert troubles - ALWAYS.keys() == {"pause", "told-to-stop"}


def test_a_card_that_is_missing_is_found() -> None:
    faults = {fault.id: fault.source for fault in response_dropped(SOURCE)}
    assert set(answered_otherwise(faults["response-dropped site-running-stop"])) == {"site-bad"}
    dropped = faults["response-dropped danger-stop"]
    assert set(answered_otherwise(dropped)) == {"danger", "pump-beeps"}


def test_an_answer_that_leads_to_another_card_is_found() -> None:
    faults = {fault.id: fault.source for fault in set_changed(SOURCE)}
    routed = faults["set-changed beeps-screen air pump=low"]
    assert set(answered_otherwise(routed)) == {"pump-beeps"}
    skipped = faults["set-changed blocked-clamps no pump=held-bag"]
    assert set(answered_otherwise(skipped)) == {"pump-beeps", "pump-blocked"}


def test_each_answer_of_a_look_at_the_pump_is_in_the_list() -> None:
    for step in SOURCE.responses:
        if isinstance(step.ask, Question) and step.id.startswith(("beeps-", "blocked-")):
            assert set(ANSWERS[step.id]) == {outcome.name for outcome in step.outcomes}
