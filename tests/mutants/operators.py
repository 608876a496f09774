"""Small wrong changes to a procedure, one at a time.

Owns what can be done wrong in a procedure's files: a step left out, two swapped, a need removed,
something else set, a condition dropped or changed, a time shortened or counted otherwise, a trouble
sent elsewhere, a call or a comparison spoiled. It must never judge a change.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterator, Mapping, Sequence
from typing import TypeVar

import msgspec
from msgspec.structs import replace

from coach.orders.values import CHOICES
from coach.procedure.facts import Choices, Effect, FactTable
from coach.procedure.form import TIMES
from coach.procedure.model import (
    SINCE_DUE,
    Act,
    Hold,
    Mishap,
    Outcome,
    Reading,
    Recheck,
    Source,
    Step,
    Stop,
    Wait,
    Within,
)

T = TypeVar("T", bound=Hashable)


class Mutant(msgspec.Struct, frozen=True):
    """A source with one wrong change."""

    id: str
    """What was done, and where: the operator, the step, and what of it."""
    touches: tuple[str, ...]
    """The steps, mishaps or facts that were changed, by id."""
    source: Source


def mutants(source: Source) -> Iterator[Mutant]:
    """Yield every mutant of *source*, operator by operator."""
    for operator in OPERATORS:
        yield from operator(source)


def left_out(source: Source) -> Iterator[Mutant]:
    """Leave out each step of the list."""
    for place, step in enumerate(source.steps):
        steps = source.steps[:place] + source.steps[place + 1 :]
        yield Mutant(f"left-out {step.id}", (step.id,), replace(source, steps=steps))


def response_dropped(source: Source) -> Iterator[Mutant]:
    """Leave out each response."""
    for place, step in enumerate(source.responses):
        responses = source.responses[:place] + source.responses[place + 1 :]
        name = f"response-dropped {step.id}"
        yield Mutant(name, (step.id,), replace(source, responses=responses))


def swapped(source: Source) -> Iterator[Mutant]:
    """Swap each step with the next one that some order sheet asks for together with it."""
    steps = source.steps
    for place, step in enumerate(steps):
        for later in range(place + 1, len(steps)):
            if _together(step.when, steps[later].when):
                order = [*steps[:place], steps[later], *steps[place + 1 : later], step]
                order += steps[later + 1 :]
                name = f"swapped {step.id} with {steps[later].id}"
                touches = (step.id, steps[later].id)
                yield Mutant(name, touches, replace(source, steps=tuple(order)))
                break


def _together(one: Choices, other: Choices) -> bool:
    return all(set(values) & set(other.get(name, values)) for name, values in one.items())


def need_removed(source: Source) -> Iterator[Mutant]:
    """Remove each fact from each step's needs."""
    for step in source.steps:
        for fact in step.needs_named:
            left = {name: v for name, v in step.needs_named.items() if name != fact}
            new = replace(step, needs_named=left, needs=source.table.forbids(left))
            yield _with(source, f"need-removed {step.id} {fact}", step, new)


def set_dropped(source: Source) -> Iterator[Mutant]:
    """Let each outcome forget to set each fact that it sets."""
    for step, outcome, fact in _settings(source):
        sets = {name: value for name, value in outcome.sets.items() if name != fact}
        new = _setting(source.table, step, outcome, sets)
        yield _with(source, f"set-dropped {step.id} {outcome.name} {fact}", step, new)


def set_changed(source: Source) -> Iterator[Mutant]:
    """Let each outcome set each fact that it sets to the value after, and before, the right one."""
    for step, outcome, fact in _settings(source):
        for value in _others(_values(source, fact), outcome.sets[fact]):
            new = _setting(source.table, step, outcome, {**outcome.sets, fact: value})
            name = f"set-changed {step.id} {outcome.name} {fact}={value}"
            yield _with(source, name, step, new)


def _settings(source: Source) -> Iterator[tuple[Step, Outcome, str]]:
    for step in source.steps + source.responses:
        for outcome in step.outcomes:
            for fact in outcome.sets:
                yield step, outcome, fact


def _setting(table: FactTable, step: Step, outcome: Outcome, sets: Mapping[str, str]) -> Step:
    new = replace(outcome, sets=sets, effect=table.effect(sets))
    return replace(step, outcomes=tuple(new if o is outcome else o for o in step.outcomes))


def _others(values: Sequence[T], right: T) -> tuple[T, ...]:
    """Return the value after *right* and the one before, in the circle of *values*."""
    place = values.index(right)
    near = dict.fromkeys((values[(place + 1) % len(values)], values[place - 1]))
    return tuple(value for value in near if value != right)


def _values(source: Source, fact: str) -> tuple[str, ...]:
    return next(found.values for found in source.table.facts if found.name == fact)


def when_dropped(source: Source) -> Iterator[Mutant]:
    """Drop each choice from each ``when``."""
    for one, choice in _asked_of(source):
        new = replace(one, when={name: v for name, v in one.when.items() if name != choice})
        yield _with(source, f"when-dropped {one.id} {choice}", one, new)


def when_changed(source: Source) -> Iterator[Mutant]:
    """Let each ``when`` fit just those order sheets that it did not fit, choice by choice."""
    for one, choice in _asked_of(source):
        others = tuple(value for value in CHOICES[choice] if value not in one.when[choice])
        new = replace(one, when={**one.when, choice: others})
        yield _with(source, f"when-changed {one.id} {choice}={'+'.join(others)}", one, new)


def _asked_of(source: Source) -> Iterator[tuple[Step | Mishap, str]]:
    """Yield what only some order sheets ask for, with each choice that decides on it."""
    everything: tuple[Step | Mishap, ...] = (*source.steps, *source.responses, *source.mishaps)
    for one in everything:
        for choice in one.when:
            yield one, choice


def condition_dropped(source: Source) -> Iterator[Mutant]:
    """Drop each fact from each ``if``, and from each ``as_soon_as`` that has more than one."""
    for step in source.steps + source.responses:
        key = _condition_of(source, step)
        asked = [mask for mask in source.table.masks.values() if mask & step.only_if]
        for name, mask in source.table.masks.items():
            if mask & step.only_if and (key == "if" or len(asked) > 1):
                new = replace(step, only_if=step.only_if & ~mask)
                yield _with(source, f"{key}-dropped {step.id} {name}", step, new)


def condition_changed(source: Source) -> Iterator[Mutant]:
    """Let each ``if`` and ``as_soon_as`` ask for the values after the right ones, fact by fact."""
    for step in source.steps + source.responses:
        key = _condition_of(source, step)
        for fact in source.table.facts:
            if source.table.masks[fact.name] & step.only_if:
                changed, values = _moved_on(source.table, fact.name, fact.values, step.only_if)
                new = replace(step, only_if=changed)
                yield _with(source, f"{key}-changed {step.id} {fact.name}={values}", step, new)


def _condition_of(source: Source, step: Step) -> str:
    return "if" if step in source.steps else "as_soon_as"


def _moved_on(table: FactTable, name: str, values: Sequence[str], unless: int) -> tuple[int, str]:
    """Return *unless* with the values after those that it allows allowed, and these values."""
    allowed = [not unless & table.bits[name, value] for value in values]
    wanted = tuple(v for v, before in zip(values, [allowed[-1], *allowed], strict=False) if before)
    return unless & ~table.masks[name] | table.forbids({name: wanted}), "+".join(wanted)


def shortened(source: Source) -> Iterator[Mutant]:
    """Give each hold, wait and limit another time, or let it be an act that is ticked."""
    for step in source.steps + source.responses:
        if not isinstance(step.ask, Hold | Wait | Within):
            continue
        for time in _others(TIMES, step.ask.time):
            new = replace(step, ask=replace(step.ask, time=time))
            yield _with(source, f"shortened {step.id} to {time}", step, new)
        if not isinstance(step.ask, Within):
            yield _with(source, f"unheld {step.id}", step, replace(step, ask=Act()))


def counted(source: Source) -> Iterator[Mutant]:
    """Let each time begin with something else, or run whatever is so, or while it should not."""
    names = tuple(fact.name for fact in source.table.facts)
    for step in source.steps + source.responses:
        ask = step.ask
        if isinstance(ask, Wait):
            for name in _others(names, ask.since):
                new = replace(step, ask=replace(ask, since=name))
                yield _with(source, f"since-changed {step.id} {name}", step, new)
            new = replace(step, ask=replace(ask, runs_while=0))
            yield _with(source, f"while-dropped {step.id}", step, new)
            for fact in source.table.facts:
                if source.table.masks[fact.name] & ask.runs_while:
                    moved = _moved_on(source.table, fact.name, fact.values, ask.runs_while)
                    new = replace(step, ask=replace(ask, runs_while=moved[0]))
                    yield _with(
                        source, f"while-changed {step.id} {fact.name}={moved[1]}", step, new
                    )
        elif isinstance(ask, Within) and ask.since != SINCE_DUE:
            fact_name, right = ask.since
            for value in _others(_values(source, fact_name), right):
                new = replace(step, ask=replace(ask, since=(fact_name, value)))
                yield _with(source, f"since-changed {step.id} {fact_name}={value}", step, new)


def sent_elsewhere(source: Source) -> Iterator[Mutant]:
    """Let each mishap lead to another value of its fact, or to nothing."""
    for mishap in source.mishaps:
        for fact in source.table.facts:
            mask = source.table.masks[fact.name]
            if not mishap.effect.puts & mask:
                continue
            right = source.table.value(mishap.effect.puts, fact.name)
            for value in _others(fact.values, right):
                puts = mishap.effect.puts & ~mask | source.table.bits[fact.name, value]
                new = replace(mishap, effect=Effect(mishap.effect.keeps, puts))
                name = f"sent-elsewhere {mishap.id} {fact.name}={value}"
                yield _with(source, name, mishap, new)
            effect = Effect(mishap.effect.keeps | mask, mishap.effect.puts & ~mask)
            new = replace(mishap, effect=effect)
            yield _with(source, f"sent-nowhere {mishap.id} {fact.name}", mishap, new)


def unheard(source: Source) -> Iterator[Mutant]:
    """Let each stop say nothing of whom to call, what to leave, or what to close."""
    for step in source.steps + source.responses:
        if isinstance(step.ask, Stop):
            for ask, field in (
                (replace(step.ask, call=""), "call"),
                (replace(step.ask, leave=""), "leave"),
                (replace(step.ask, close=""), "close"),
            ):
                yield _with(source, f"unheard {step.id} {field}", step, replace(step, ask=ask))


def compared_otherwise(source: Source) -> Iterator[Mutant]:
    """Compare each reading with another value, or more loosely; hold another against the clock."""
    every = source.steps + source.responses
    readings = [step for step in every if isinstance(step.ask, Reading)]
    for step in every:
        ask = step.ask
        if isinstance(ask, Reading):
            asked = [r.ask.against for r in readings if isinstance(r.ask, Reading)]
            for against in _others(tuple(dict.fromkeys(asked)), ask.against):
                new = replace(step, ask=replace(ask, against=against))
                name = f"compared-otherwise {step.id} with {'+'.join(against)}"
                yield _with(source, name, step, new)
            if ask.check == "equals":
                new = replace(step, ask=replace(ask, check="at-most"))
                yield _with(source, f"compared-otherwise {step.id} at-most", step, new)
        if isinstance(ask, Recheck):
            for other in readings:
                if other.id != ask.reading:
                    new = replace(step, ask=Recheck(other.id))
                    name = f"compared-otherwise {step.id} by {other.id}"
                    yield _with(source, name, step, new)


def fade_dropped(source: Source) -> Iterator[Mutant]:
    """Let each value that does not last stay as it was when the table is left."""
    for fact in source.table.facts:
        for value in fact.fades:
            left = {name: becomes for name, becomes in fact.fades.items() if name != value}
            facts = tuple(replace(f, fades=left) if f is fact else f for f in source.table.facts)
            table = replace(source.table, facts=facts)
            name = f"fade-dropped {fact.name} {value}"
            yield Mutant(name, (fact.name,), replace(source, table=table))


def _with(source: Source, name: str, old: Step | Mishap, new: Step | Mishap) -> Mutant:
    """Return the mutant *name*: *source* with *new* in the place of *old*."""

    def put(all_of_them: tuple[object, ...]) -> tuple[object, ...]:
        return tuple(new if one is old else one for one in all_of_them)

    changed = msgspec.structs.replace(
        source,
        steps=put(source.steps),
        responses=put(source.responses),
        mishaps=put(source.mishaps),
    )
    return Mutant(name, (old.id,), changed)


OPERATORS: tuple[Callable[[Source], Iterator[Mutant]], ...] = (
    left_out,
    response_dropped,
    swapped,
    need_removed,
    set_dropped,
    set_changed,
    when_dropped,
    when_changed,
    condition_dropped,
    condition_changed,
    shortened,
    counted,
    sent_elsewhere,
    unheard,
    compared_otherwise,
    fade_dropped,
)
"""Every kind of wrong change."""
