"""Laws that hold for every sequence of events, tried on the shipped procedure."""

from __future__ import annotations

from datetime import timedelta
from functools import lru_cache
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coach.clock import Instant
from coach.engine import (
    Dose,
    Moment,
    after_mishap,
    after_outcome,
    after_return,
    apply,
    begin,
    can_undo,
    ended,
    fold,
    ordered_seconds,
    possible,
    start,
    step_to_do,
)
from coach.errors import EngineError
from coach.events import Event
from coach.orders.quantities import Quantity
from coach.orders.read import read_sheet
from coach.orders.values import CHOICES, sheet_values
from coach.procedure.compose import compose
from coach.procedure.files import bundle_of
from coach.procedure.model import (
    Hold,
    Question,
    Reading,
    Recheck,
    Source,
    Step,
    Stop,
    Wait,
    Within,
)
from coach.procedure.read import read_source
from tests.person import DEMO, MORNING, PROCEDURES


@lru_cache(maxsize=1)
def shipped() -> Source:
    """Return the shipped procedure, read once."""
    return read_source(bundle_of(PROCEDURES))


def all_choices() -> st.SearchStrategy[dict[str, str]]:
    """Any kind of order sheet that there can be."""
    drawn = st.fixed_dictionaries({name: st.sampled_from(v) for name, v in CHOICES.items()})
    return drawn.map(lambda c: {**c, "tubing": "new"} if c["reuse"] == "not-allowed" else c)


@lru_cache(maxsize=1)
def dose() -> Dose:
    """Return a dose of the demonstration sheet."""
    choices = {
        "heparin": "ordered", "clamp": "present", "connector": "negative",
        "storage": "refrigerator", "reuse": "allowed", "mode": "intermittent",
        "tubing": "new", "batteries": "due", "last": "finished",
    }  # fmt: skip
    values = sheet_values(read_sheet(DEMO))
    return Dose(compose(shipped(), choices), values, ZoneInfo("America/New_York"))


def event(number: int, kind: str, step: str = "", value: str = "") -> Event:
    """Return an event, one second after the one before it."""
    at = MORNING + timedelta(seconds=number)
    return Event(number, Instant(at, float(number), "test"), kind, step, value)


def as_event(of: Dose, number: int, step: Step, pick: int) -> Event:
    """Return an event that answers *step*, in the way that *pick* chooses."""
    ask = step.ask
    if isinstance(ask, Question | Stop):
        outcome = step.outcomes[pick % len(step.outcomes)]
        return event(number, "answer", step.id, outcome.name)
    if isinstance(ask, Reading):
        expected = of.values[ask.against[0]]
        right = "30 Dec 2026" if ask.check == "outlasts" else "0"
        if ask.check == "equals" and isinstance(expected, Quantity):
            right = str(expected.amount)
        wrong = "1 Jan 2026" if ask.check == "outlasts" else "98765"
        return event(number, "reading", step.id, wrong if pick % 4 == 3 else right)
    if isinstance(ask, Within):
        return event(number, "done", step.id, "98765" if pick % 4 == 3 else "0")
    if isinstance(ask, Hold | Wait):
        return event(number, "done", step.id, str(ordered_seconds(of, ask)))
    return event(number, "done", step.id)


def walk(of: Dose, picks: list[int]) -> tuple[list[Event], Moment]:
    """Return the events, and the moment after them, that *picks* choose: hopeful or not."""
    moment = begin(of)
    events: list[Event] = []
    for pick in picks:
        if ended(of.procedure, moment.state):
            break
        number = len(events) + 1
        mishaps = possible(of.procedure, moment.state)
        if pick % 13 == 0:
            happened = event(number, "returned")
        elif pick % 11 == 0 and mishaps:
            mishap = mishaps[pick // 11 % len(mishaps)]
            happened = event(number, mishap.kind, "", mishap.id)
        else:
            happened = as_event(of, number, step_to_do(of.procedure, moment.state), pick)
        moment = apply(of, moment, happened)
        events.append(happened)
    return events, moment


PICKS = st.lists(st.integers(0, 10_000), max_size=260)


@settings(max_examples=150, deadline=None)
@given(PICKS)
def test_the_step_to_do_now_has_all_that_it_needs(picks: list[int]) -> None:
    _, moment = walk(dose(), picks)
    if not ended(dose().procedure, moment.state):
        step = step_to_do(dose().procedure, moment.state)
        assert not moment.state.facts & step.needs


@settings(max_examples=60, deadline=None)
@given(all_choices(), PICKS)
def test_every_kind_of_sheet_always_has_a_step_to_do(
    choices: dict[str, str], picks: list[int]
) -> None:
    procedure = compose(shipped(), choices)
    state = start(procedure)
    for pick in picks:
        if ended(procedure, state):
            break
        mishaps = possible(procedure, state)
        if pick % 13 == 0:
            state = after_return(procedure, state)
        elif pick % 11 == 0 and mishaps:
            state = after_mishap(procedure, state, mishaps[pick // 11 % len(mishaps)])
        else:
            step = step_to_do(procedure, state)
            outcome = step.outcomes[0 if pick % 5 else pick // 5 % len(step.outcomes)]
            state = after_outcome(procedure, state, step, outcome)


@settings(max_examples=60, deadline=None)
@given(PICKS)
def test_every_fact_has_exactly_one_value(picks: list[int]) -> None:
    _, moment = walk(dose(), picks)
    for mask in dose().procedure.source.table.masks.values():
        assert (moment.state.facts & mask).bit_count() == 1


@settings(max_examples=60, deadline=None)
@given(PICKS)
def test_a_state_is_the_fold_of_its_events(picks: list[int]) -> None:
    events, moment = walk(dose(), picks)
    assert fold(dose(), events)[-1] == moment


@settings(max_examples=60, deadline=None)
@given(PICKS)
def test_undoing_is_folding_all_but_the_last(picks: list[int]) -> None:
    events, moment = walk(dose(), picks)
    undone = event(len(events) + 1, "undone")
    if can_undo(moment):
        assert fold(dose(), [*events, undone]) == fold(dose(), events[:-1])
    else:
        with pytest.raises(EngineError, match="nothing here that can be undone"):
            fold(dose(), [*events, undone])


@settings(max_examples=60, deadline=None)
@given(PICKS)
def test_after_a_return_nothing_that_fades_is_left(picks: list[int]) -> None:
    _, moment = walk(dose(), picks)
    procedure = dose().procedure
    if not ended(procedure, moment.state):
        state = after_return(procedure, moment.state)
        assert not state.facts & procedure.passing
        assert after_return(procedure, state) == state


@given(st.integers(0, 14))
def test_a_hold_shorter_than_ordered_is_refused(seconds: int) -> None:
    hopeful = [6] * 200
    events, _ = walk(dose(), hopeful)
    at = next(i for i, e in enumerate(events) if e.step == "saline-before-scrub")
    moment = fold(dose(), events[:at])[-1]
    short = event(at + 1, "done", "saline-before-scrub", str(seconds))
    with pytest.raises(EngineError, match="not over yet"):
        apply(dose(), moment, short)
    assert apply(dose(), moment, event(at + 1, "done", "saline-before-scrub", "15"))


@given(st.text(max_size=8) | st.sampled_from(["²", "٣٣٣", "120.", " 120"]))
def test_a_timer_takes_no_word_for_time(value: str) -> None:
    procedure = dose().procedure
    moment = apply(dose(), begin(dose()), event(1, "done", "take-out"))
    assert isinstance(step_to_do(procedure, moment.state).ask, Wait)
    try:
        apply(dose(), moment, event(2, "done", "let-it-warm", value))
    except EngineError:
        return
    assert value.isascii()
    assert int(value) >= 120


@pytest.mark.parametrize("kind", ["done", "answer", "reading"])
def test_an_answer_to_another_step_is_refused(kind: str) -> None:
    with pytest.raises(EngineError, match=r"“Take the bag out” comes first\."):
        apply(dose(), begin(dose()), event(1, kind, "start-pump", "yes"))


@pytest.mark.parametrize("kind", ["answer", "reading"])
def test_a_step_is_answered_only_in_its_own_way(kind: str) -> None:
    with pytest.raises(EngineError, match="not answered in that way"):
        apply(dose(), begin(dose()), event(1, kind, "take-out", "done"))


@pytest.mark.parametrize("step", [s for s in shipped().steps if isinstance(s.ask, Recheck)])
def test_a_recheck_without_its_reading_does_not_hold(step: Step) -> None:
    procedure = dose().procedure
    state = start(procedure)._replace(place=procedure.index[step.id])
    facts = step.outcomes[0].effect.on(state.facts)
    for fact, allowed in step.needs_named.items():
        facts = procedure.source.table.effect({fact: allowed[0]}).on(facts)
    moment = Moment(state._replace(facts=facts), {}, None)
    after = apply(dose(), moment, event(1, "done", step.id))
    assert after.outcome is not None
    assert after.outcome.name == "late"
