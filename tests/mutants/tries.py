"""Tries a mutant near what was changed, so that most that are wrong need no search.

Owns the choice of runs: from a little before what was changed, as hoped but for one or two things
that happen otherwise. What they break is broken; what they do not break is left to the search. It
must never tell that a rule holds.
"""

from __future__ import annotations

from collections.abc import Iterator

from coach.engine import (
    STOPPED,
    State,
    after_mishap,
    after_outcome,
    after_return,
    ended,
    finished,
    possible,
    step_to_do,
)
from coach.proof.family import Family
from coach.proof.watch import LEFT, Check, Key, Watch, key_of, told_key
from tests.mutants.operators import Mutant

EARLIER = 16
"""How many moves before what was changed the runs begin."""
LATER = 6
"""How many steps of the list beyond what was changed they go on."""
OTHERWISE = 2
"""How many things happen in a run that are not hoped for."""

Move = tuple[Key, State]
"""What happened, and the state after it."""


class Tries:
    """Makes runs through a mutant."""

    def __init__(self, family: Family, watch: Watch, mutant: Mutant) -> None:
        """Make runs through *mutant*, which *family* is for some kinds of order sheet."""
        self.family = family
        self.procedure = family.procedure
        self.watch = watch
        self.touches = frozenset(mutant.touches)
        self.mishaps = tuple(m for m in self.procedure.mishaps if m.id in self.touches)

    def broken(self) -> Iterator[str]:
        """Yield the rules that are broken: first by what is hoped for, then near the change.

        Raises EngineError where a run comes upon a need that nothing can meet.
        """
        near: dict[int, list[State]] = {}
        for kind in range(len(self.family.kinds)):
            run: list[State] = []
            changed: list[int] = []
            state = self.family.begin(kind)
            state = state._replace(facts=state.facts | self.watch.start)
            while not ended(self.procedure, state):
                key, after = self._hoped(state)
                yield from self._breaks(kind, state, key, after)
                if key[1] in self.touches or any(not state.facts & m.at for m in self.mishaps):
                    changed.append(len(run))
                run.append(state)
                state = after
            if changed:
                near[kind] = run[max(0, changed[0] - EARLIER) : changed[0] + LATER]
        for kind, begin in list(near.items())[:1]:
            yield from self._near(kind, begin)

    def _near(self, kind: int, begin: list[State]) -> Iterator[str]:
        last, seen = begin[-1].place + LATER, set(begin)
        for left in range(OTHERWISE, -1, -1):
            todo, begin = begin, []
            while todo:
                state = todo.pop()
                if state.place > last or ended(self.procedure, state):
                    continue
                for number, (key, after) in enumerate(self._moves(state, left > 0)):
                    yield from self._breaks(kind, state, key, after)
                    if after.place != STOPPED and after not in seen:
                        seen.add(after)
                        (begin if number else todo).append(after)

    def _hoped(self, state: State) -> Move:
        step = step_to_do(self.procedure, state)
        key = key_of(step, 0)
        after = after_outcome(self.procedure, state, step, step.outcomes[0])
        return key, self.watch.marked(after, key)

    def _moves(self, state: State, otherwise: bool) -> Iterator[Move]:
        """Yield what is hoped for in *state*, then what can happen *otherwise*."""
        yield self._hoped(state)
        if not otherwise:
            return
        procedure = self.procedure
        step = step_to_do(procedure, state)
        found = [(LEFT, after_return(procedure, state))]
        found += [
            (told_key(mishap), after_mishap(procedure, state, mishap))
            for mishap in possible(procedure, state)
            if not mishap.final
        ]
        for number, outcome in enumerate(step.outcomes[1:], 1):
            found.append((key_of(step, number), after_outcome(procedure, state, step, outcome)))
        for key, after in found:
            yield key, self.watch.marked(after, key)

    def _breaks(self, kind: int, state: State, key: Key, after: State) -> Iterator[str]:
        checks: list[tuple[Check, int]] = [(c, state.facts) for c in self.watch.marks[key].checks]
        if finished(self.procedure, after):
            checks += [(check, after.facts) for check in self.watch.finish]
        for check, facts in checks:
            if check.kinds >> kind & 1 and not check.holds(facts):
                yield self.watch.rules[check.rule].id
