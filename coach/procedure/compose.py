"""Chooses from the files what one order sheet needs, and finds each step's ways back.

Owns ``when``: which steps, mishaps and first values fit the choices of a sheet and a dose. It
must never follow a step; that is the engine's.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from coach.procedure.facts import Choices, Effect, FactTable
from coach.procedure.model import Procedure, Source, Step, Way


def fits(when: Choices, choices: Mapping[str, str]) -> bool:
    """Tell whether *choices* fit the condition *when*."""
    return all(choices[name] in values for name, values in when.items())


def compose(source: Source, choices: Mapping[str, str]) -> Procedure:
    """Return the procedure for the *choices* of one order sheet and one dose.

    Raises KeyError if a choice that the files ask about is not among *choices*.
    """
    steps = tuple(step for step in source.steps if fits(step.when, choices))
    responses = tuple(step for step in source.responses if fits(step.when, choices))
    return Procedure(
        source=source,
        choices=dict(choices),
        start=start_of(source, choices),
        steps=steps,
        responses=responses,
        alarms=alarms_of(source.table, responses),
        mishaps=tuple(m for m in source.mishaps if fits(m.when, choices)),
        ways=ways_of(source.table, steps),
        fading=(fading := fading_of(source.table)),
        passing=sum(fading),
        index={step.id: place for place, step in enumerate(steps)},
        counts=_counts(source, steps),
    )


def start_of(source: Source, choices: Mapping[str, str]) -> int:
    """Return the facts at the beginning of a dose with these *choices*."""
    facts = 0
    for fact in source.table.facts:
        value = next(start.value for start in fact.starts if fits(start.when, choices))
        facts |= source.table.bits[fact.name, value]
    return facts


def provides(step: Step, fact: str, allowed: Sequence[str]) -> bool:
    """Tell whether *step*, ending as hoped, gives *fact* one of the *allowed* values."""
    return step.outcomes[0].sets.get(fact) in allowed


def ways_of(table: FactTable, steps: Sequence[Step]) -> tuple[tuple[Way, ...], ...]:
    """Return for each of *steps* the earlier ones that set what it needs, nearest first."""
    # By fact, nearest first: each step is asked once for what it sets, not once for each need.
    setters: dict[str, list[tuple[int, str]]] = {}
    ways = []
    for place, step in enumerate(steps):
        ways.append(
            tuple(
                (
                    table.masks[fact],
                    tuple(at for at, sets in setters.get(fact, ()) if sets in allowed),
                )
                for fact, allowed in step.needs_named.items()
            )
        )
        for fact, value in step.outcomes[0].sets.items():
            setters.setdefault(fact, []).insert(0, (place, value))
    return tuple(ways)


def fading_of(table: FactTable) -> dict[int, Effect]:
    """Return for the bit of each value that does not last what becomes of it."""
    return {
        table.bits[fact.name, value]: table.effect({fact.name: becomes})
        for fact in table.facts
        for value, becomes in fact.fades.items()
    }


def alarms_of(table: FactTable, responses: Sequence[Step]) -> int:
    """Return bits of which at least one is set whenever one of *responses* is asked for.

    For each response the values of one of its facts will do: those that are no fact's first.
    """
    first = found = 0
    for fact in table.facts:
        for start in fact.starts:
            first |= table.bits[fact.name, start.value]
    facts = tuple(table.masks.values())
    choices = [[mask & ~r.only_if for mask in facts if mask & r.only_if] for r in responses]
    for allowed in sorted(choices, key=len):
        found |= min(allowed, key=lambda bits: (bool(bits & first), (bits & ~found).bit_count()))
    return found


def _counts(source: Source, steps: Sequence[Step]) -> dict[str, int]:
    # A supply that this dose does not need counts as 0, so that every text can be filled.
    counts = {supply: 0 for step in source.steps for supply in step.uses}
    for step in steps:
        for supply, number in step.uses.items():
            counts[supply] += number
    return counts
