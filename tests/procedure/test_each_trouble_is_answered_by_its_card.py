"""Each trouble is answered by its own card, as it is at that moment of the dose."""

from __future__ import annotations

from tests.mutants.called import ALWAYS, answered_otherwise
from tests.mutants.operators import response_dropped
from tests.procedure.shipped import SOURCE


def test_at_each_moment_a_trouble_has_the_card_that_is_there_for_it() -> None:
    assert not list(answered_otherwise(SOURCE))


def test_every_trouble_that_has_a_card_is_in_the_list() -> None:
    troubles = {mishap.id for mishap in SOURCE.mishaps if mishap.kind == "trouble"}
    assert troubles - ALWAYS.keys() == {"pause", "told-to-stop"}


def test_a_card_that_is_missing_is_found() -> None:
    faults = {fault.id: fault.source for fault in response_dropped(SOURCE)}
    assert set(answered_otherwise(faults["response-dropped site-running-stop"])) == {"site-bad"}
    assert set(answered_otherwise(faults["response-dropped danger-stop"])) == {"danger"}
