"""Visits every state of one kind of dose in the plainest way, as a measure for other searches."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from coach.engine import (
    State,
    after_mishap,
    after_outcome,
    after_return,
    ended,
    possible,
    start,
    step_to_do,
)
from coach.procedure.compose import compose
from coach.procedure.model import Procedure, Source
from coach.proof.family import family_of
from coach.proof.rules import Rule
from coach.proof.watch import LEFT, Check, Key, Watch, key_of, told_key
from tests.proof.spin import Told


def plainly(source: Source, kind: Mapping[str, str], rules: tuple[Rule, ...]) -> Told:
    """Count the states and moves of *source* for one *kind*, and name the *rules* broken."""
    procedure = compose(source, kind)
    watch = Watch(family_of(source, [kind]), rules)
    first = start(procedure)
    first = State(first.facts | watch.start, first.place)
    seen, waiting, moves = {first}, [first], 0
    broken: set[str] = set()

    def ask(checks: tuple[Check, ...], facts: int) -> None:
        broken.update(named(rules[c.rule]) for c in checks if c.kinds and not c.holds(facts))

    while waiting:
        before = waiting.pop()
        for key, unmarked in moves_from(procedure, before):
            after = watch.marked(unmarked, key)
            moves += 1
            ask(watch.marks[key].checks, before.facts)
            if after.place == len(procedure.steps):
                ask(watch.finish, after.facts)
            if after not in seen:
                seen.add(after)
                waiting.append(after)
    return Told(len(seen), moves, frozenset(broken))


def moves_from(procedure: Procedure, state: State) -> Iterator[tuple[Key, State]]:
    """Yield all that can happen in *state*, and the state after it."""
    if ended(procedure, state):
        return
    step = step_to_do(procedure, state)
    for number, outcome in enumerate(step.outcomes):
        yield key_of(step, number), after_outcome(procedure, state, step, outcome)
    for mishap in possible(procedure, state):
        yield told_key(mishap), after_mishap(procedure, state, mishap)
    yield LEFT, after_return(procedure, state)


def named(rule: Rule) -> str:
    """Return the name of *rule* as a model in Promela has it."""
    return rule.id.replace("-", "_")
