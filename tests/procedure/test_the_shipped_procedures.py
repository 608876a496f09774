"""The procedures that ship: whole for every kind of order sheet, and short enough to show."""

from __future__ import annotations

import itertools
from collections import Counter
from collections.abc import Iterator, Mapping

import pytest

from coach.orders.quantities import Quantity, seconds
from coach.orders.values import CHOICES, sheet_values
from coach.procedure.compose import compose
from coach.procedure.conditions import PROGRESS_NAMES, fill
from coach.procedure.files import bundle_of
from coach.procedure.form import TIMES
from coach.procedure.model import Procedure, Question, Reading, Stop, Wait
from coach.procedure.read import read_source
from coach.procedure.steps import LONGEST, LONGEST_OTHER
from coach.proof.texts import texts_of
from tests.procedure.shipped import (
    FOLDER,
    PROGRESS,
    SHEETS,
    SOURCE,
    STEPS,
    STOPS,
    filled,
    open_texts,
    values_of,
)


def asked_about() -> frozenset[str]:
    """Return the choices that any ``when`` of the procedures asks about."""
    whens = [step.when for step in STEPS]
    whens += [mishap.when for mishap in SOURCE.mishaps]
    whens += [start.when for fact in SOURCE.table.facts for start in fact.starts]
    return frozenset(name for when in whens for name in when)


def every_kind() -> Iterator[dict[str, str]]:
    """Yield every combination of choices; tubing is kept only where its use again is allowed."""
    names = sorted(CHOICES)
    for values in itertools.product(*(CHOICES[name] for name in names)):
        choices = dict(zip(names, values, strict=True))
        if (choices["tubing"], choices["reuse"]) != ("kept", "not-allowed"):
            yield choices


KINDS = [
    pytest.param(choices, id="-".join(choices[name] for name in sorted(asked_about())))
    for choices in every_kind()
    if choices["mode"] == "intermittent"
]
"""One for each combination of the choices that are asked about; ``mode`` is not."""


def test_the_procedures_load_the_same_twice() -> None:
    assert read_source(bundle_of(FOLDER)) == SOURCE


def test_every_choice_but_the_mode_is_asked_about() -> None:
    assert asked_about() == CHOICES.keys() - {"mode"}


@pytest.mark.parametrize("choices", KINDS)
def test_every_kind_of_sheet_has_a_procedure_that_begins_and_ends(
    choices: Mapping[str, str],
) -> None:
    procedure = compose(SOURCE, choices)
    ids = [step.id for step in procedure.steps]
    assert ids[-1] == ("remember-heparin" if choices["heparin"] == "ordered" else "remember")
    assert ("heparin-syringe-push" in ids) is (choices["heparin"] == "ordered")
    assert ("let-it-warm" in ids) is (choices["storage"] == "refrigerator")
    assert ("batteries-in" in ids) is (choices["batteries"] == "due")
    assert ("cover-end" in ids) is (choices["reuse"] == "allowed")
    assert ("line-clamp-open" in ids) is (choices["clamp"] == "present")
    assert ids.index("start-pump") < ids.index("stop-pump") < ids.index("tube-clamp-shut")
    assert one_value_of_each_fact(procedure)


def one_value_of_each_fact(procedure: Procedure) -> bool:
    """Tell whether each fact begins with exactly one of its values."""
    masks = SOURCE.table.masks.values()
    return all((procedure.start & mask).bit_count() == 1 for mask in masks)


@pytest.mark.parametrize("choices", KINDS)
def test_every_need_can_be_given_in_every_kind_of_sheet(choices: Mapping[str, str]) -> None:
    """By the start, by an earlier step's hoped-for end, or by a step that comes in between."""
    procedure = compose(SOURCE, choices)
    start = SOURCE.table.named(procedure.start)
    can_be = {(fact, value) for fact, value in start.items()}
    can_be |= {pair for step in procedure.responses for pair in step.outcomes[0].sets.items()}
    for step in procedure.steps:
        for fact, allowed in step.needs_named.items():
            assert any((fact, value) in can_be for value in allowed), (step.id, fact)
        can_be |= {pair for outcome in step.outcomes for pair in outcome.sets.items()}


@pytest.mark.parametrize("choices", KINDS)
def test_every_text_can_be_filled_in_every_kind_of_sheet(choices: Mapping[str, str]) -> None:
    procedure = compose(SOURCE, choices)
    counts = {f"count_{supply}": str(number) for supply, number in procedure.counts.items()}
    values = values_of("orders") | counts
    for step in (*procedure.steps, *procedure.responses):
        for text in texts_of(step):
            assert "{" not in fill(text.words, values)
            lays_out = step.id.startswith("lay-") and text.kind == "do"
            assert not (lays_out and " 0 " in fill(text.words, values)), step.id


def test_every_id_is_used_once() -> None:
    ids = Counter(step.id for step in STEPS) + Counter(mishap.id for mishap in SOURCE.mishaps)
    assert [name for name, times in ids.items() if times > 1] == []


def test_every_answer_of_a_question_has_a_name_of_its_own() -> None:
    for step in STEPS:
        names = [outcome.name for outcome in step.outcomes]
        assert len(set(names)) == len(names), step.id


def test_every_step_says_what_to_do_and_why() -> None:
    for step in STEPS:
        assert step.title
        said = step.do.removesuffix(" {looks_like}")  # a sentence of its own
        assert said.endswith((".", "?")), step.id
        assert step.why.endswith("."), step.id
        assert not step.title.endswith("."), step.id


def test_every_question_ends_as_one() -> None:
    for step in STEPS:
        if isinstance(step.ask, Question):
            assert step.ask.asks.endswith("?"), step.id


def test_every_stop_says_what_to_leave_what_to_close_and_what_to_say() -> None:
    assert len(STOPS) > 20
    for step, stop in STOPS:
        assert stop.leave.startswith("Leave "), step.id
        assert stop.close.endswith("."), step.id
        assert "{now}" in stop.assessment, step.id
        assert stop.request.startswith("Please "), step.id


def test_every_stop_ends_the_sitting_with_a_call_unless_the_nurse_lets_it_go_on() -> None:
    for step, _ in STOPS:
        assert step.outcomes[0].ends
        assert [outcome.name for outcome in step.outcomes[1:]] in ([], ["goes-on"])
    for step in STEPS:
        if not isinstance(step.ask, Stop):
            assert not any(outcome.ends for outcome in step.outcomes)


def test_an_emergency_can_never_be_gone_on_from() -> None:
    dangers = tuple(step for step, stop in STOPS if stop.call == "emergency")
    assert [step.id for step in dangers] == ["danger-stop", "reaction-stop", "very-ill-stop"]
    for danger in dangers:
        assert [outcome.name for outcome in danger.outcomes] == ["called"]
    assert SOURCE.responses[: len(dangers)] == dangers
    final = {mishap.id for mishap in SOURCE.mishaps if mishap.final}
    assert final == {"danger", "reaction", "very-ill"}


@pytest.mark.parametrize("sheet", sorted(SHEETS))
def test_every_text_is_short_enough_to_show(sheet: str) -> None:
    values = values_of(sheet)
    too_long = [
        (len(text.words), text)
        for text in (filled(t, values) for t in open_texts())
        if len(text.words) > LONGEST.get(text.kind, LONGEST_OTHER)
    ]
    assert too_long == []


def test_every_line_of_the_menu_is_used() -> None:
    assert {mishap.group for mishap in SOURCE.mishaps} == set(SOURCE.groups)


def test_only_timed_or_paced_steps_run_while_hands_are_busy() -> None:
    for step in STEPS:
        if step.hands_busy:
            assert not isinstance(step.ask, Question | Reading | Stop), step.id


def test_every_volume_that_flows_is_a_volume_of_the_order_sheet() -> None:
    (flows,) = (step.ask for step in STEPS if isinstance(step.ask, Wait) and step.ask.gives)
    assert (flows.time, flows.gives) == ("infusion_time", "volume")


@pytest.mark.parametrize("sheet", sorted(SHEETS))
def test_the_times_that_a_step_may_name_are_the_times_of_an_order_sheet(sheet: str) -> None:
    values = sheet_values(SHEETS[sheet])
    units = {"s", "min", "h", "day", "days"}
    times = {n for n, v in values.items() if isinstance(v, Quantity) and v.unit in units}
    assert times | {"tubing_hours"} == set(TIMES)
    assert all(seconds(v) > 0 for n, v in values.items() if n in times and isinstance(v, Quantity))


def test_the_plausible_words_cover_all_that_a_dose_under_way_can_say() -> None:
    assert {name for name in PROGRESS if not name.startswith("count_")} == PROGRESS_NAMES
