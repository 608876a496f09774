"""What the steps for hands, connector and pushing must hold, from what is published.

Hands: CDC, Handwashing (read): wet, lather, scrub, rinse, dry; hand rub only without soap and
water, not on dirt that can be seen, until dry.
Connector: CDC, hub-scrub protocol for haemodialysis catheters (read): scrub, let dry, touched
after it: scrub again. A scrub before every joining is common practice, no source.
Pushing: OpenStax, Pharmacology for Nurses 2.3 (read): "If resistance is felt, do not force".
"""

from __future__ import annotations

import pytest

from coach.procedure.model import Hold, Step, Wait
from coach.proof.texts import texts_of
from tests.procedure.shipped import SOURCE, STEPS

BY_ID = {step.id: step for step in STEPS}
ROUNDS = ("first", "second")
JOINING = ("saline-before", "saline-after", "heparin-syringe", "tubing")


def order_of(*ids: str) -> list[int]:
    """Return the places of the steps *ids* in the list."""
    places = {step.id: place for place, step in enumerate(SOURCE.steps)}
    return [places[name] for name in ids]


def wanted(step: Step, fact: str) -> tuple[str, ...]:
    """Return what *step* needs of *fact*."""
    return step.needs_named[fact]


@pytest.mark.parametrize("when", ROUNDS)
def test_hands_are_wetted_and_soaped_then_scrubbed_rinsed_and_dried(when: str) -> None:
    ids = [f"{when}-{move}" for move in ("take-soap", "wash", "rinse", "towel")]
    places = order_of(*ids)
    assert places == sorted(places)
    given = [BY_ID[name].outcomes[0].sets["hands"] for name in ids]
    assert given == ["soapy", "scrubbed", "rinsed", "clean"]
    for name, before in zip(ids[1:], given, strict=False):
        assert wanted(BY_ID[name], "hands") == (before,)


@pytest.mark.parametrize("when", ROUNDS)
def test_washing_and_rubbing_are_timed_and_cannot_be_ticked(when: str) -> None:
    assert BY_ID[f"{when}-wash"].ask == Hold("wash_time")
    assert BY_ID[f"{when}-rub"].ask == Hold("rub_time")


@pytest.mark.parametrize("when", ROUNDS)
def test_hand_rub_comes_after_no_soap_and_no_dirt(when: str) -> None:
    soap, dirt = BY_ID[f"{when}-soap-or-not"], BY_ID[f"{when}-dirt"]
    assert [answer.sets["cleaning"] for answer in soap.outcomes] == ["soap", "no-soap"]
    assert [answer.sets["cleaning"] for answer in dirt.outcomes] == ["rub", "soap"]
    table = SOURCE.table
    assert dirt.only_if == table.forbids({"hands": ("unclean",), "cleaning": ("no-soap",)})
    rub = BY_ID[f"{when}-rub"]
    assert rub.only_if == table.forbids({"hands": ("unclean",), "cleaning": ("rub", "no-soap")})


@pytest.mark.parametrize("when", ROUNDS)
def test_hand_rub_ends_when_hands_are_dry(when: str) -> None:
    dry, not_dry = BY_ID[f"{when}-rub-dry"].outcomes
    assert dry.sets == {"hands": "clean", "cleaning": "unknown"}
    assert not_dry.sets == {"hands": "unclean"}


@pytest.mark.parametrize("what", JOINING)
def test_each_joining_has_a_pad_a_timed_scrub_and_a_timed_drying_of_its_own(what: str) -> None:
    places = order_of(*(f"{what}-{move}" for move in ("pad", "scrub", "dry", "bare", "join")))
    assert places == list(range(places[0], places[0] + 5))
    scrub, dry, join = (BY_ID[f"{what}-{move}"] for move in ("scrub", "dry", "join"))
    assert scrub.ask == Hold("scrub_time")
    assert scrub.outcomes[0].sets == {"connector": "wet", "pad": "packed"}
    assert isinstance(dry.ask, Wait)
    assert (dry.ask.time, dry.ask.since) == ("dry_time", "connector")
    assert dry.outcomes[0].sets == {"connector": "ready"}
    assert wanted(join, "connector") == ("ready",)
    assert join.outcomes[0].sets["connector"] == "in-use"


def test_every_step_that_joins_is_among_those() -> None:
    joins = {step.id for step in STEPS if step.outcomes[0].sets.get("joined", "nothing") in JOINING}
    assert joins == {f"{what}-join" for what in JOINING}


def test_a_scrubbed_connector_that_was_touched_has_to_be_scrubbed_again() -> None:
    (touched,) = (mishap for mishap in SOURCE.mishaps if mishap.id == "connector-touched")
    wet_or_ready = SOURCE.table.forbids({"connector": ("wet", "ready")})
    assert touched.at == wet_or_ready
    after = touched.effect.on(SOURCE.table.bits["connector", "ready"])
    assert after == SOURCE.table.bits["connector", "unclean"]


@pytest.mark.parametrize("what", ["saline-before", "saline-after", "heparin-syringe"])
def test_a_push_says_never_to_force_it_and_resistance_stops_it(what: str) -> None:
    push = BY_ID[f"{what}-push"]
    assert "Never force it." in push.do
    assert push.outcomes[1].sets == {"line": "resists"}
    assert set(wanted(push, "line")) == {"unknown", "free"}


def test_a_timed_step_names_the_time_of_the_order_sheet_and_writes_none_itself() -> None:
    """Sources disagree on scrubbing and drying, so no number of seconds stands in a step."""
    timed = [step for step in STEPS if isinstance(step.ask, Hold | Wait)]
    for step in timed:
        assert isinstance(step.ask, Hold | Wait)
        assert f"{{{step.ask.time}}}" in step.do or step.id == "infuse", step.id
        assert not any(char.isdigit() for text in texts_of(step) for char in text.words), step.id
    assert {step.ask.time for step in timed if isinstance(step.ask, Hold)} == {
        "wash_time",
        "rub_time",
        "scrub_time",
    }
