"""Surprises: which can be dealt now, and whether what the learner did is what the steps ask for.

Owns the comparing, which is by the engine and never by names: right is whatever leads to the same
state. Pure: no clock or disk is read here. It must never know a step or a mishap by name.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime

import msgspec

from coach.clock import seconds_between
from coach.engine import (
    Dose,
    Moment,
    State,
    after_mishap,
    after_outcome,
    after_return,
    apply,
    ended,
    possible,
    step_to_do,
)
from coach.events import Event
from coach.practice.wrong_numbers import reads_the_same, wrong_number
from coach.procedure.model import Mishap, Outcome, Question, Reading, Step
from coach.procedure.teaching import Interruption, Teaching

KINDS = ("mishap", "answer", "reading", "interruption")
"""What a surprise rests on: a spoiling or trouble; an answer that is not hoped for; a number that
is not the ordered one; something that comes in the middle of a hold and changes nothing."""


class Surprise(msgspec.Struct, frozen=True):
    """One thing that can be shown to a learner now; its texts have their placeholders open."""

    kind: str
    """One of `KINDS`."""
    name: str
    """What names it among all surprises, at whatever step it is dealt."""
    step: Step
    """The step that is to do."""
    says: str
    """What it is, for the nurse; the learner never sees it."""
    seen: str
    """What the learner is shown."""
    should: str
    """What the learner should say, as the menu, the answer or the number has it."""
    mishap: Mishap | None = None
    outcome: Outcome | None = None
    typed: str = ""
    """The wrong number, as it is to be typed."""
    looks: str = ""
    """The wrong number, as people write it: it takes the place of ``{typed}``."""


def surprises(
    dose: Dose, moment: Moment, teaching: Teaching, at: datetime, *, holding: bool
) -> tuple[Surprise, ...]:
    """Return what can be dealt at *moment*, which is the aware time *at*; nothing once it is over.

    Interruptions are among them only while a hold runs (*holding*).
    """
    if ended(dose.procedure, moment.state):
        return ()
    step = step_to_do(dose.procedure, moment.state)
    return (
        *(_of_mishap(step, one) for one in possible(dose.procedure, moment.state) if one.seen),
        *_of_answers(step),
        *_of_reading(dose, step, teaching, at),
        *(_of_interruption(step, one) for one in teaching.interruptions if holding),
    )


def _of_mishap(step: Step, mishap: Mishap) -> Surprise:
    name, title = f"mishap {mishap.id}", mishap.title
    return Surprise("mishap", name, step, title, mishap.seen, title, mishap=mishap)


def _of_answers(step: Step) -> Iterator[Surprise]:
    for outcome in step.outcomes[1:]:
        if isinstance(step.ask, Question) and outcome.seen:
            name, says = f"answer {step.id} {outcome.name}", f"{step.title}: {outcome.says}"
            yield Surprise("answer", name, step, says, outcome.seen, outcome.says, outcome=outcome)


def _of_reading(dose: Dose, step: Step, teaching: Teaching, at: datetime) -> Iterator[Surprise]:
    if isinstance(step.ask, Reading):
        wrong = wrong_number(step.ask, dose.values, at, dose.zone)
        if wrong is not None:
            typed, looks = wrong
            says = f"{step.title}: {{typed}}"
            yield Surprise(
                "reading", f"reading {step.id}", step, says, teaching.reads, "{typed}",
                typed=typed, looks=looks,
            )  # fmt: skip


def _of_interruption(step: Step, one: Interruption) -> Surprise:
    return Surprise(
        "interruption",
        f"interruption {one.id}",
        step,
        one.seen,
        one.seen,
        f"{step.title}: {step.do}",
    )


def verdict(dose: Dose, surprise: Surprise, before: Moment, event: Event) -> bool | None:
    """Tell whether *event*, told at the moment *before* it, is the right answer to *surprise*.

    None where it is no answer yet: a note, a silence that was long enough to count as an absence,
    in which a nurse may have talked, or the coming back from it. A stretch that was broken off is
    the right answer where doing it again makes good all that was spoiled, and else none.

    Raises EngineError or OrderError if the event is not possible at that moment.
    """
    if event.kind == "note" or _long_silence(dose, before, event):
        return None
    if surprise.kind == "interruption":
        return _of_the_hold(dose, surprise, event)
    if event.kind == "returned":
        broken_off = before.event is None or before.event.kind != "left"
        return True if broken_off and _made_good(dose, surprise, before.state) else None
    if event.kind == "undone":
        return False
    if surprise.kind == "reading":
        return _as_shown(dose, surprise, event)
    after = apply(dose, before, event).state
    return event.kind != "left" and after == _right(dose, surprise, before.state)


def _long_silence(dose: Dose, before: Moment, event: Event) -> bool:
    if event.kind != "left" or before.event is None:
        return False
    return seconds_between(before.event.at, event.at) >= dose.procedure.source.idle


def _of_the_hold(dose: Dose, surprise: Surprise, event: Event) -> bool | None:
    """Right is the hold done to its end, at once or again from its start."""
    if event.kind == "done" and event.step == surprise.step.id:
        return True
    steps_again = event.kind in ("done", "answer", "reading")
    # What was dropped or touched meanwhile, and a stretch broken off, lead back to the hold.
    return None if steps_again or event.kind in ("returned", "spoiled") else False


def _right(dose: Dose, surprise: Surprise, state: State) -> State:
    if surprise.mishap is not None:
        return after_mishap(dose.procedure, state, surprise.mishap)
    assert (
        surprise.outcome is not None
    )  # a surprise of the two kinds that have a state of their own
    return after_outcome(dose.procedure, state, surprise.step, surprise.outcome)


def follows(dose: Dose, surprise: Surprise, moment: Moment) -> Step | None:
    """Return what is to be done once *surprise*, dealt at *moment*, was said, if anything is."""
    if surprise.mishap is None and surprise.outcome is None:
        return None
    state = _right(dose, surprise, moment.state)
    return None if ended(dose.procedure, state) else step_to_do(dose.procedure, state)


def _made_good(dose: Dose, surprise: Surprise, state: State) -> bool:
    """Tell whether coming back to the table does again all that the surprise spoiled."""
    if surprise.mishap is None:
        return False
    back = after_return(dose.procedure, state)
    return back != state and back == after_return(
        dose.procedure, after_mishap(dose.procedure, state, surprise.mishap)
    )


def _as_shown(dose: Dose, surprise: Surprise, event: Event) -> bool:
    ask = surprise.step.ask
    if event.kind != "reading" or event.step != surprise.step.id or not isinstance(ask, Reading):
        return False
    return reads_the_same(ask, dose.values, dose.zone, event.value, surprise.typed)


def can_be_met(dose: Dose, surprise: Surprise, moment: Moment) -> bool:
    """Tell whether *surprise* can still be answered at *moment*, after it was dealt.

    Where an absence made good what it spoiled, nobody can tell it any more.
    """
    if ended(dose.procedure, moment.state):
        return False
    if surprise.mishap is not None:
        return surprise.mishap in possible(dose.procedure, moment.state)
    return (
        surprise.kind == "interruption"
        or step_to_do(dose.procedure, moment.state).id == surprise.step.id
    )
