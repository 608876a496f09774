"""Doses walked by the engine alone: each moment of one, and each thing that can be said there."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import timedelta
from zoneinfo import ZoneInfo

from coach.clock import Instant
from coach.engine import Dose, Moment, apply, begin, ended, ordered_seconds, possible, step_to_do
from coach.events import Event
from coach.orders.quantities import Quantity
from coach.orders.values import sheet_choices, sheet_values
from coach.practice.surprises import Surprise
from coach.procedure.compose import compose
from coach.procedure.model import Hold, Question, Reading, Step, Stop, Wait
from coach.procedure.teaching import read_teaching
from tests.person import MORNING
from tests.procedure.shipped import BUNDLE, SHEETS, SOURCE

TEACHING = read_teaching(BUNDLE)
FULL = {"last": "finished", "batteries": "due", "tubing": "new"}


def dose_of(sheet: str, **others: str) -> Dose:
    """Return a dose by the demonstration sheet called *sheet*, some of its choices changed."""
    orders = SHEETS[sheet]
    choices = {**sheet_choices(orders), **FULL, **others}
    return Dose(compose(SOURCE, choices), sheet_values(orders), ZoneInfo(orders.time_zone))


def event(moment: Moment, kind: str, step: str = "", value: str = "") -> Event:
    """Return the event that follows *moment* a second later."""
    seq = moment.event.seq if moment.event is not None else 0
    at = MORNING + timedelta(seconds=seq + 1)
    return Event(seq + 1, Instant(at, float(seq + 1), "walk"), kind, step, value)


def as_hoped(dose: Dose, moment: Moment) -> Event:
    """Return what ends the step to do now as hoped."""
    step = step_to_do(dose.procedure, moment.state)
    ask = step.ask
    if isinstance(ask, Question | Stop):
        return event(moment, "answer", step.id, step.outcomes[0].name)
    if isinstance(ask, Reading):
        return event(moment, "reading", step.id, ordered(dose, ask))
    passed = ordered_seconds(dose, ask) if isinstance(ask, Hold | Wait) else 0
    return event(moment, "done", step.id, str(passed))


def ordered(dose: Dose, ask: Reading) -> str:
    """Return what agrees with the order sheet."""
    if ask.check == "outlasts":
        return "30 Dec 2026"
    expected = dose.values[ask.against[0]]
    assert isinstance(expected, Quantity)
    return "0" if ask.check == "at-most" else f"{expected.amount}"


def walk(dose: Dose, moment: Moment | None = None) -> Iterator[Moment]:
    """Yield each moment in which there is something to do, from the start or from *moment* on."""
    moment = moment or begin(dose)
    while not ended(dose.procedure, moment.state):
        yield moment
        moment = apply(dose, moment, as_hoped(dose, moment))


def all_said(dose: Dose, moment: Moment) -> Iterator[Event]:
    """Yield everything that can be said at *moment*; of numbers the right one and two others."""
    step = step_to_do(dose.procedure, moment.state)
    yield as_hoped(dose, moment)
    if isinstance(step.ask, Question | Stop):
        for outcome in step.outcomes[1:]:
            yield event(moment, "answer", step.id, outcome.name)
    if isinstance(step.ask, Reading):
        for typed in (
            ("1 Jan 2025", "31 Dec 2030") if step.ask.check == "outlasts" else ("7", "3.25")
        ):
            yield event(moment, "reading", step.id, typed)
    for mishap in possible(dose.procedure, moment.state):
        yield event(moment, mishap.kind, step.id, mishap.id)
    yield event(moment, "left")
    if moment.event is not None:
        yield event(moment, "undone")


def own(moment: Moment, surprise: Surprise) -> Event:
    """Return the right answer to *surprise* by its own name."""
    step: Step = surprise.step
    if surprise.mishap is not None:
        return event(moment, surprise.mishap.kind, step.id, surprise.mishap.id)
    if surprise.outcome is not None:
        return event(moment, "answer", step.id, surprise.outcome.name)
    return event(moment, "reading", step.id, surprise.typed)


def named(told: Event) -> str:
    """Return *told* as one would say it in a list."""
    return " ".join(word for word in (told.kind, told.step, told.value) if word)


Kinds = Mapping[str, Dose]

DOSES: Kinds = {
    "all": dose_of("orders"),
    "daily": dose_of("orders-daily"),
    "no clamp": dose_of("orders-daily", clamp="none", heparin="not-ordered", storage="room"),
    "positive": dose_of("orders", connector="positive", reuse="allowed"),
    "kept": dose_of("orders-daily", reuse="allowed", tubing="kept", batteries="not-due"),
    "after a stop": dose_of("orders", last="stopped"),
}
"""Kinds of doses that have between them every step on the way of a dose in which all goes well."""
