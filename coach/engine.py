"""Needs, sets, and the step to do now.

Owns what follows from a procedure and the events of a sitting. Pure: a state is the fold of its
events; no clock, screen or disk is read here, time comes in with the events. It must never
know a step, a fact or a rule of any one procedure.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from datetime import timedelta, tzinfo
from typing import NamedTuple

import msgspec
from msgspec.structs import replace

from coach.errors import EngineError
from coach.events import Event
from coach.orders.quantities import Quantity
from coach.procedure.model import (
    Act,
    Hold,
    Mishap,
    Outcome,
    Procedure,
    Question,
    Reading,
    Recheck,
    Step,
    Stop,
    Wait,
    Within,
)
from coach.readings import holds, whole_seconds

STOPPED = -1
"""The place of a sitting that was ended by a stop."""


class State(NamedTuple):
    """What the coach believes: the facts, and how far the list has been gone through."""

    facts: int
    place: int
    """Index of the next step in order; the number of steps when finished; or STOPPED."""


class Dose(msgspec.Struct, frozen=True):
    """What a sitting is about: a composed procedure and the values of its order sheet."""

    procedure: Procedure
    values: Mapping[str, Quantity | str]
    zone: tzinfo


def start(procedure: Procedure) -> State:
    """Return the state before the first event."""
    return _settled(procedure, procedure.start, 0)


def finished(procedure: Procedure, state: State) -> bool:
    """Tell whether every step in order has been gone through."""
    return state.place == len(procedure.steps)


def ended(procedure: Procedure, state: State) -> bool:
    """Tell whether the sitting is over, finished or stopped."""
    return state.place == STOPPED or (
        finished(procedure, state) and response_to_do(procedure, state.facts) is None
    )


def response_to_do(procedure: Procedure, facts: int) -> Step | None:
    """Return the most urgent response that *facts* ask for."""
    if not facts & procedure.alarms:
        return None
    for step in procedure.responses:
        if not facts & step.only_if:
            return step
    return None


def step_to_do(procedure: Procedure, state: State) -> Step:
    """Return the step to do now.

    A response comes first. Else it is the next step in order or, while a need of that does not
    hold, the nearest earlier step that sets it, and so on back; where several needs are open,
    the one whose step stands first in the list. Raises EngineError if the sitting has ended,
    or if no step can set what is needed.
    """
    response = response_to_do(procedure, state.facts)
    if response is not None and state.place != STOPPED:
        return response
    if not 0 <= state.place < len(procedure.steps):
        raise EngineError("This sitting has ended.")
    place = state.place
    while state.facts & procedure.steps[place].needs:
        place = _way_back(procedure, state.facts, place)
    return procedure.steps[place]


def _way_back(procedure: Procedure, facts: int, place: int) -> int:
    step = procedure.steps[place]
    unmet = facts & step.needs
    earliest = place
    for mask, providers in procedure.ways[place]:
        if unmet & mask:
            for provider in providers:
                if not facts & procedure.steps[provider].only_if:
                    earliest = min(earliest, provider)
                    break
            else:
                raise EngineError(f"No step can make ready what “{step.title}” needs.")
    return earliest


def _settled(procedure: Procedure, facts: int, place: int) -> State:
    """Pass over the steps that these facts do not ask for."""
    steps = procedure.steps
    while place < len(steps) and facts & steps[place].only_if:
        place += 1
    return State(facts, place)


def after_outcome(procedure: Procedure, state: State, step: Step, outcome: Outcome) -> State:
    """Return the state after *step*, which is the one to do now, ended in *outcome*.

    The list moves on only past a step that ended as hoped. A stop that is gone on from was a
    call: the table was left, and what does not last has faded.
    """
    facts = _faded(procedure, state.facts) if isinstance(step.ask, Stop) else state.facts
    facts = outcome.effect.on(facts)
    if outcome.ends:
        return State(facts, STOPPED)
    place = state.place
    if outcome is step.outcomes[0] and procedure.index.get(step.id) == place:
        place += 1
    return _settled(procedure, facts, place)


def possible(procedure: Procedure, state: State) -> tuple[Mishap, ...]:
    """Return the mishaps that can be told in *state*.

    While one is being answered, only an emergency can be told on top of it.
    """
    if state.place == STOPPED:
        return ()
    busy = response_to_do(procedure, state.facts) is not None
    return tuple(
        mishap
        for mishap in procedure.mishaps
        if not state.facts & mishap.at and (mishap.final or not busy)
    )


def after_mishap(procedure: Procedure, state: State, mishap: Mishap) -> State:
    """Return the state after *mishap*, which must be possible."""
    return _settled(procedure, mishap.effect.on(state.facts), state.place)


def after_return(procedure: Procedure, state: State) -> State:
    """Return the state of a table that was left and is come back to: what fades has faded."""
    if state.place == STOPPED:
        return state
    return _settled(procedure, _faded(procedure, state.facts), state.place)


def _faded(procedure: Procedure, facts: int) -> int:
    passing = facts & procedure.passing
    while passing:
        bit = passing & -passing
        facts = procedure.fading[bit].on(facts)
        passing ^= bit
    return facts


class Moment(msgspec.Struct, frozen=True):
    """The fold of some events: the state, and what readings it rests on."""

    state: State
    readings: Mapping[tuple[str, tuple[str, ...]], Event]
    """The last reading of each check against the same values, whichever step took it."""
    event: Event | None
    """The event that led here; None at the start."""
    step: Step | None = None
    """The step that was done by that event."""
    outcome: Outcome | None = None
    mishap: Mishap | None = None


def begin(dose: Dose) -> Moment:
    """Return the moment before the first event of *dose*."""
    return Moment(start(dose.procedure), {}, None)


def apply(dose: Dose, moment: Moment, event: Event) -> Moment:
    """Return the moment after *event*, which is not an undoing.

    Raises EngineError if the procedure does not allow the event now, OrderError if a reading
    cannot be read.
    """
    state = moment.state
    blank = replace(moment, event=event, step=None, outcome=None, mishap=None)
    if event.kind in ("left", "note"):
        return blank
    if event.kind == "returned":
        return replace(blank, state=after_return(dose.procedure, state))
    if event.kind in ("spoiled", "trouble"):
        mishap = _mishap(dose.procedure, state, event)
        return replace(blank, state=after_mishap(dose.procedure, state, mishap), mishap=mishap)
    step = step_to_do(dose.procedure, state)
    if step.id != event.step:
        raise EngineError(f"“{step.title}” comes first.")
    outcome = _outcome(dose, moment, step, event)
    readings = moment.readings
    if isinstance(step.ask, Reading):
        readings = {**readings, (step.ask.check, step.ask.against): event}
    return Moment(
        after_outcome(dose.procedure, state, step, outcome), readings, event, step, outcome
    )


def _mishap(procedure: Procedure, state: State, event: Event) -> Mishap:
    for mishap in possible(procedure, state):
        if mishap.id == event.value and mishap.kind == event.kind:
            return mishap
    raise EngineError("That cannot happen at this step.")


def _outcome(dose: Dose, moment: Moment, step: Step, event: Event) -> Outcome:
    ask = step.ask
    if event.kind == "answer" and isinstance(ask, Question | Stop):
        for outcome in step.outcomes:
            if outcome.name == event.value:
                return outcome
    elif event.kind == "reading" and isinstance(ask, Reading):
        held = holds(ask, dose.values, event.value, event.at.at, dose.zone)
        return step.outcomes[0 if held else 1]
    elif event.kind == "done" and isinstance(ask, Recheck):
        return step.outcomes[0 if _still_holds(dose, moment, ask, event) else 1]
    elif event.kind == "done" and isinstance(ask, Within):
        return step.outcomes[0 if _within(dose, ask, event) else 1]
    elif event.kind == "done" and isinstance(ask, Hold | Wait):
        _check_time(dose, ask, event)
        return step.outcomes[0]
    elif event.kind == "done" and isinstance(ask, Act):
        return step.outcomes[0]
    raise EngineError(f"“{step.title}” is not answered in that way.")


def _still_holds(dose: Dose, moment: Moment, ask: Recheck, event: Event) -> bool:
    reading = dose.procedure.steps[dose.procedure.index[ask.reading]].ask
    if not isinstance(reading, Reading):
        return False
    # Typed wrong at first, it was typed again at another step.
    taken = moment.readings.get((reading.check, reading.against))
    # What has flowed already need not flow any more.
    by = event.at.at - timedelta(seconds=_seconds_told(event) or 0)
    return taken is not None and holds(reading, dose.values, taken.value, by, dose.zone)


def _within(dose: Dose, ask: Within, event: Event) -> bool:
    ahead = sum(_seconds_of(dose, name) for name in ask.until)
    passed = _seconds_told(event)
    return passed is not None and passed + ahead <= _seconds_of(dose, ask.time)


def _check_time(dose: Dose, ask: Hold | Wait, event: Event) -> None:
    passed = _seconds_told(event)
    if passed is None or passed < ordered_seconds(dose, ask):
        raise EngineError("The time that the order sheet asks for is not over yet.")


def _seconds_told(event: Event) -> int | None:
    whole = event.value.isascii() and event.value.isdigit()
    return int(event.value) if whole else None


def ordered_seconds(dose: Dose, ask: Hold | Wait) -> int:
    """Return the whole seconds, rounded up, that the order sheet asks for."""
    return _seconds_of(dose, ask.time)


def _seconds_of(dose: Dose, name: str) -> int:
    value = dose.values[name]
    if isinstance(value, str):
        raise EngineError("The order sheet gives no time for this step.")
    return whole_seconds(value)


def fold(dose: Dose, events: Iterable[Event]) -> tuple[Moment, ...]:
    """Return the moments that still count, from the start to now.

    An undoing takes the last moment back, but never past a return, a note, a final mishap, a
    step that lasts or a wrong number.
    """
    moments = [begin(dose)]
    for event in events:
        _take_in(dose, moments, event)
    return tuple(moments)


def first_without(dose: Dose, events: Iterable[Event], unless: int) -> Event | None:
    """Return the event that first led to a moment without the bits *unless*; None if none did.

    It counts even if it was taken back later.
    """
    moments = [begin(dose)]
    for event in events:
        _take_in(dose, moments, event)
        if not moments[-1].state.facts & unless:
            return event
    return None


def _take_in(dose: Dose, moments: list[Moment], event: Event) -> None:
    if event.kind != "undone":
        moments.append(apply(dose, moments[-1], event))
    elif can_undo(moments[-1]):
        moments.pop()
    else:
        raise EngineError("There is nothing here that can be undone.")


def can_undo(moment: Moment) -> bool:
    """Tell whether the last thing that was said can be taken back."""
    event = moment.event
    if event is None or event.kind in ("left", "returned", "note"):
        return False
    step = moment.step
    if (
        step is not None
        and moment.outcome is not step.outcomes[0]
        and isinstance(step.ask, Reading)
    ):
        # It would be typed anew without end.
        return False
    if step is not None and step.lasting:
        return moment.outcome is not step.outcomes[0]
    return moment.state.place != STOPPED and not (moment.mishap and moment.mishap.final)


def way_ahead(procedure: Procedure, state: State) -> Iterator[Step]:
    """Yield the steps that follow if each ends as hoped, the one to do now first.

    Bounded: it ends with the sitting, or when a state comes back.
    """
    seen: set[State] = set()
    while not ended(procedure, state) and state not in seen:
        seen.add(state)
        step = step_to_do(procedure, state)
        yield step
        state = after_outcome(procedure, state, step, step.outcomes[0])
