"""What a step says and asks by one order sheet, as one short name of it.

Owns what counts as a change of a step: any word, number, need or effect of it, and the keys of
the pump. Facts go by their names, so that a fact that is added elsewhere changes nothing. Pure.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

import msgspec

from coach.journal.rows import sha256_of
from coach.orders.quantities import Quantity, shown
from coach.procedure.compose import fits
from coach.procedure.conditions import PROGRESS_NAMES, fill
from coach.procedure.facts import FactTable
from coach.procedure.model import (
    Hold,
    Outcome,
    PumpKey,
    Question,
    Reading,
    Recheck,
    Source,
    Step,
    Stop,
    Wait,
    Within,
)


class Ground(msgspec.Struct, frozen=True):
    """What steps are read by: the procedure, and one order sheet."""

    source: Source
    choices: Mapping[str, str]
    """What the sheet says of ``when``; where it leaves a choice to each dose, there is none."""
    words: Mapping[str, str]
    """The sheet's values in words."""
    values: Mapping[str, Quantity | str]
    card: Mapping[str, PumpKey]


def steps_of(ground: Ground) -> tuple[Step, ...]:
    """Return each step and response that a dose by the sheet can have, in order."""
    return tuple(
        step
        for step in (*ground.source.steps, *ground.source.responses)
        if fits({n: v for n, v in step.when.items() if n in ground.choices}, ground.choices)
    )


def words_of(ground: Ground) -> dict[str, str]:
    """Return the sheet's values in words, and each other placeholder as it is written.

    A number of supplies comes from all steps together, and what is said as a dose goes on from
    no step: neither is a change of the step that shows it.
    """
    later = {*PROGRESS_NAMES, *(f"count_{s}" for step in ground.source.steps for s in step.uses)}
    return {**{name: f"{{{name}}}" for name in later}, **ground.words}


def contents_of(ground: Ground, steps: Sequence[Step]) -> dict[str, str]:
    """Return for each of *steps* by its id what names its content, a SHA-256 in hex."""
    words = words_of(ground)
    return {step.id: _content(ground, words, step) for step in steps}


def _content(ground: Ground, words: Mapping[str, str], step: Step) -> str:
    key = ground.card.get(step.pump)
    lines = (
        step.id,
        *(fill(text, words) for text in (step.title, step.do, step.why)),
        _named(step.needs_named),
        _bits(ground.source.table, step.only_if),
        *(line for one in step.outcomes for line in _outcome(one, words)),
        type(step.ask).__name__,
        *_asked(ground, words, step),
        *((key.press, key.expect) if key is not None else ()),
        f"{step.hands_busy} {step.lasting} {step.critical}",
    )
    return sha256_of("\n".join(lines).encode())


def _named(wanted: Mapping[str, Sequence[str]]) -> str:
    return "; ".join(f"{fact}: {', '.join(values)}" for fact, values in sorted(wanted.items()))


def _bits(table: FactTable, unless: int) -> str:
    """Return the condition *unless* by names: for each fact in it, the values that it may have."""
    return _named(table.wanted(unless))


def _outcome(one: Outcome, words: Mapping[str, str]) -> Iterator[str]:
    yield f"{one.name} {one.ends} {fill(one.says, words)}"
    yield _named({fact: (value,) for fact, value in one.sets.items()})


def _asked(ground: Ground, words: Mapping[str, str], step: Step) -> Iterator[str]:
    ask, table = step.ask, ground.source.table
    if isinstance(ask, Question | Reading):
        yield fill(ask.asks, words)
    if isinstance(ask, Reading):
        yield ask.check
        yield from (_value(ground, name) for name in (*ask.against, ask.left_of) if name)
    elif isinstance(ask, Hold | Wait | Within):
        yield _value(ground, ask.time)
    if isinstance(ask, Wait):
        yield f"{ask.since} {_bits(table, ask.runs_while)}"
        yield _value(ground, ask.gives) if ask.gives else ""
    elif isinstance(ask, Within):
        yield " ".join(ask.since)
        yield from (_value(ground, name) for name in ask.until)
    elif isinstance(ask, Recheck):
        yield ask.reading
    elif isinstance(ask, Stop):
        yield ask.call
        for text in (ask.leave, ask.close, ask.situation, ask.assessment, ask.request):
            yield fill(text, words)


def _value(ground: Ground, name: str) -> str:
    value = ground.values[name]
    return f"{name} {value if isinstance(value, str) else shown(value)}"
