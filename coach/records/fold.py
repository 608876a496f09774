"""From the events of a dose to its record.

Owns what an event means in a record; what a step is there for comes from the procedure files.
Pure but for reading the journal. It must never change anything.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import UTC, datetime
from decimal import Decimal

from coach.engine import Dose, Moment, ended, response_to_do
from coach.errors import EngineError, FileProblems, OrderError
from coach.journal.records import Answer
from coach.orders.quantities import Quantity, in_unit, product, read_typed
from coach.orders.sheet import OrderSheet
from coach.orders.values import parse_discard
from coach.procedure.model import Question, Reading, Stop
from coach.records.model import CallMade, Look, Note, Push, Span, Told, Typed
from coach.sitting.timing import infusion_of

UNREADABLE = (FileProblems, OrderError, EngineError)
"""What is raised where this program cannot follow the steps of a dose any more."""


def looks_in(moments: Sequence[Moment]) -> Iterator[Look]:
    """Yield each look that was asked for and still counts."""
    for moment in moments:
        step, event, outcome = moment.step, moment.event, moment.outcome
        if step is None or event is None or outcome is None or not isinstance(step.ask, Question):
            continue
        hoped = outcome is step.outcomes[0]
        yield Look(event.at.at, step.id, step.ask.asks, outcome.says, hoped, step.records)


def pushes_in(dose: Dose, sheet: OrderSheet, moments: Sequence[Moment]) -> Iterator[Push]:
    """Yield each push that went in as ordered; a lock with what it holds of its medicine."""
    for moment in moments:
        step, event = moment.step, moment.event
        if step is None or event is None or not step.amount:
            continue
        volume = dose.values[step.amount]
        if moment.outcome is not step.outcomes[0] or isinstance(volume, str):
            continue
        strength = sheet.heparin.strength if step.records == "lock" else None
        units = None
        if strength is not None:
            mL = in_unit(volume, "mL").amount
            units = Quantity(product(strength.amount, mL), "units")
        yield Push(event.at.at, step.records, volume, units)


def typed_in(dose: Dose, moments: Sequence[Moment]) -> Iterator[Typed]:
    """Yield what was typed and still counts."""
    for moment in moments:
        step, event = moment.step, moment.event
        if step is None or event is None or not isinstance(step.ask, Reading):
            continue
        ask, left, discard = step.ask, "", None
        if ask.left_of:
            left = _left(dose, ask.left_of, event.value)
        if ask.check == "outlasts":
            discard = parse_discard(event.value, dose.zone).astimezone(UTC)
        agreed = moment.outcome is step.outcomes[0]
        yield Typed(event.at.at, step.id, ask.asks, event.value, agreed, left, discard)


def _left(dose: Dose, name: str, typed: str) -> str:
    whole = dose.values[name]
    if isinstance(whole, str):
        return ""
    return str(in_unit(read_typed(whole, typed), "mL").amount)


def told_in(dose: Dose, moments: Sequence[Moment]) -> Iterator[Told]:
    """Yield each spoiling and trouble, and the responses that were done until the next one."""
    responses = {step.id for step in dose.procedure.responses}
    for place, moment in enumerate(moments):
        mishap, event = moment.mishap, moment.event
        if mishap is None or event is None:
            continue
        then = []
        for later in moments[place + 1 :]:
            if later.mishap is not None:
                break
            if later.step is not None and later.step.id in responses:
                then.append(later.step.title)
            elif later.step is not None:
                break
        yield Told(event.at.at, event.kind, mishap.id, mishap.title, tuple(then))


def calls_in(
    dose: Dose, moments: Sequence[Moment], answers: Sequence[Answer]
) -> Iterator[CallMade]:
    """Yield each stop that was answered, with the *answers* that were written down for it.

    A stop that waits for its answer comes as well, with nothing picked.
    """
    before = 0
    for moment in moments:
        step, event, outcome = moment.step, moment.event, moment.outcome
        if step is not None and event is not None and isinstance(step.ask, Stop) and outcome:
            found = _answer(answers, step.id, before, event.seq)
            yield _call(
                event.at.at, step.id, step.title, step.ask, outcome.says, found, outcome.ends
            )
            before = event.seq
    if moments and not ended(dose.procedure, moments[-1].state):
        waits, last = response_to_do(dose.procedure, moments[-1].state.facts), moments[-1].event
        if waits is not None and isinstance(waits.ask, Stop) and last is not None:
            found = _answer(answers, waits.id, before, last.seq + 1)
            yield _call(last.at.at, waits.id, waits.title, waits.ask, "", found, False)


def _answer(answers: Sequence[Answer], step: str, since: int, until: int) -> Answer | None:
    found = [one for one in answers if one.step == step and since <= one.seq < until]
    return found[-1] if found else None


def _call(
    at: datetime, step: str, title: str, ask: Stop, says: str, found: Answer | None, ends: bool
) -> CallMade:
    words, who = (found.words, found.who) if found else ("", "")
    back = found.read_back if found else False
    return CallMade(at, step, title, ask.call, says, ends, words, who, back)


def notes_in(moments: Sequence[Moment]) -> Iterator[Note]:
    """Yield the words that were kept with the dose."""
    for moment in moments:
        if moment.event is not None and moment.event.kind == "note":
            yield Note(moment.event.at.at, moment.event.value)


def flow_in(dose: Dose, moments: Sequence[Moment]) -> tuple[Span | None, tuple[Span, ...]]:
    """Return from when to when the medicine was given, and the pauses between.

    The medicine counts as given from the moment that some may have gone in; until its wait was
    over, or until nothing flowed any more.
    """
    given, wait = dose.procedure.source.given, infusion_of(dose.procedure)
    begun = next((n for n, m in enumerate(moments) if m.event and not m.state.facts & given), None)
    if begun is None or wait is None:
        return None, ()
    since, until, pauses = _at(moments[begun]), None, list[Span]()
    stood: datetime | None = None
    for moment in moments[begun:]:
        if moment.step is not None and moment.step.ask is wait:
            until = _at(moment)
            break
        stands = bool(moment.state.facts & wait.runs_while)
        if stands and stood is None:
            stood = _at(moment)
        elif not stands and stood is not None:
            pauses.append(Span(stood, _at(moment)))
            stood = None
    over = ended(dose.procedure, moments[-1].state)
    if stood is not None and until is None and over:
        return Span(since, stood), tuple(pauses)
    if stood is not None and until is None:
        pauses.append(Span(stood, None))
    return Span(since, until), tuple(pauses)


def _at(moment: Moment) -> datetime:
    assert moment.event is not None
    return moment.event.at.at


def given_of(
    sheet: OrderSheet, flow: Span | None, typed: Sequence[Typed], over: bool, complete: bool
) -> tuple[Quantity | None, Quantity | None]:
    """Return how much went in and how much was left, in mL.

    What was read off counts before what was ordered; None where nobody knows.
    """
    volume = in_unit(sheet.medicine.volume, "mL")
    read = [one.left_mL for one in typed if one.left_mL]
    left = Quantity(Decimal(read[-1]), "mL") if read else None
    if flow is None:
        return Quantity(Decimal(0), "mL"), left
    if left is not None and over:
        return Quantity(max(Decimal(0), volume.amount - left.amount), "mL"), left
    return (volume if complete else None), left
