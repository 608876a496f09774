"""Tells which wrong changes make no difference, by all that the right source was seen to do.

Owns a look back at a search that has run: a need that is met whenever its step comes up, and a
fact whose new value nothing tells from the right one, change nothing for whoever follows the
procedure, whatever is true on the table. It must never look at a rule.
"""

from __future__ import annotations

from msgspec.structs import replace

from coach.engine import State, after_outcome, ended, possible, response_to_do, step_to_do
from coach.procedure.model import Source, Step, Wait, Within
from coach.proof.explore import Explorer
from coach.proof.page import Node
from coach.proof.watch import key_of
from tests.mutants.operators import Mutant

At = tuple[int, State]
"""A kind of order sheet, and a state of it."""


class Seen:
    """What the right source was seen to do."""

    def __init__(self, explorer: Explorer) -> None:
        """Go once more through each state that *explorer* found."""
        self.explorer = explorer
        self.procedure = explorer.procedure
        self.outside = _read_outside(self.procedure.source)
        self.unmet: set[tuple[str, str]] = set()
        """Each need of a step that was the reason for a way back somewhere."""
        self.done: dict[str, list[At]] = {}
        """For each step, where it is the one to do."""
        self.asked: dict[str, set[Node]] = {}
        """For each step, in which states it is the one to do, for some kind."""
        self.looked: dict[str, set[Node]] = {}
        """For each step, in which states its needs have a say in what is to be done."""
        self.lacking: dict[str, set[Node]] = {}
        """For each fact, in which states it is the reason for a way back."""
        self.told: dict[str, set[Node]] = {}
        """For each mishap, in which states it can be told."""
        for nodes in explorer.nodes:
            for node in nodes.values():
                for kind in range(len(explorer.family.kinds)):
                    if node.kinds >> kind & 1 and node is not explorer.call:
                        state = explorer.chart.decode(kind, node.place, node.code)
                        self._take_in(kind, state, node)

    def _take_in(self, kind: int, state: State, node: Node) -> None:
        for mishap in possible(self.procedure, state):
            self.told.setdefault(mishap.id, set()).add(node)
        if ended(self.procedure, state):
            return
        step = step_to_do(self.procedure, state)
        self.done.setdefault(step.id, []).append((kind, state))
        self.asked.setdefault(step.id, set()).add(node)
        if response_to_do(self.procedure, state.facts) is None:
            self._way_back(state, node)

    def _way_back(self, state: State, node: Node) -> None:
        """Keep every unmet need that any step on the way back could look at."""
        steps, masks = self.procedure.steps, self.procedure.source.table.masks
        todo, known = [state.place], {state.place}
        while todo:
            step = steps[todo.pop()]
            self.looked.setdefault(step.id, set()).add(node)
            for fact in step.needs_named:
                if state.facts & step.needs & masks[fact]:
                    self.unmet.add((step.id, fact))
                    self.lacking.setdefault(fact, set()).add(node)
            for mask, providers in self.procedure.ways[self.procedure.index[step.id]]:
                if state.facts & step.needs & mask:
                    found = next(p for p in providers if not state.facts & steps[p].only_if)
                    if found not in known:
                        known.add(found)
                        todo.append(found)

    def same(self, mutant: Mutant) -> bool:
        """Tell whether *mutant* is the same to whoever follows it.

        False where it cannot be told in this way.
        """
        old = _step(self.procedure.source, mutant.touches[0])
        new = _step(mutant.source, mutant.touches[0])
        if old is None or new is None:
            return False
        if old == replace(new, needs=old.needs, needs_named=old.needs_named):
            gone = old.needs_named.keys() - new.needs_named.keys()
            return bool(gone) and not any((old.id, fact) in self.unmet for fact in gone)
        if old == replace(new, outcomes=old.outcomes):
            return self._sets_alike(old, new)
        return False

    def _sets_alike(self, old: Step, new: Step) -> bool:
        for number, (mine, theirs) in enumerate(zip(old.outcomes, new.outcomes, strict=True)):
            changed = {name for name, _ in mine.sets.items() ^ theirs.sets.items()}
            if changed & self.outside or mine.ends != theirs.ends:
                return False
            if changed and not all(
                self._leads_alike(at, old, new, number) for at in self.done.get(old.id, ())
            ):
                return False
        return old != new

    def _leads_alike(self, at: At, old: Step, new: Step, number: int) -> bool:
        kind, state = at
        before = old.outcomes[number], new.outcomes[number]
        mine, theirs = (
            self.explorer.watch.marked(
                after_outcome(self.procedure, state, step, outcome),
                key_of(step, number),
            )
            for step, outcome in zip((old, new), before, strict=True)
        )
        if mine == theirs:
            return True
        called = response_to_do(self.procedure, mine.facts)
        if called is not response_to_do(self.procedure, theirs.facts):
            return False
        encode = self.explorer.chart.encode
        return encode(kind, mine) == encode(kind, theirs)


def _step(source: Source, name: str) -> Step | None:
    return next((step for step in source.steps + source.responses if step.id == name), None)


def _read_outside(source: Source) -> frozenset[str]:
    """Return the facts that the clock, the record or the next dose read as well."""
    facts = {name for circumstance in source.circumstances for name in circumstance.left}
    facts |= {name for name, mask in source.table.masks.items() if mask & source.given}
    steps = source.steps + source.responses
    facts |= {step.ask.since for step in steps if isinstance(step.ask, Wait)}
    facts |= {step.ask.since[0] for step in steps if isinstance(step.ask, Within)}
    return frozenset(facts)
