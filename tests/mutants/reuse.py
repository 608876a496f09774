"""Searches a mutant with what the search of the right source found out already.

Owns the account of the states in which a change can make a difference: in all others a mutant
moves as the right source does, so the moves found there are taken over. Where that cannot be
told, every move is found out anew. It must never judge: the search is the proof's own.
"""

from __future__ import annotations

from copy import copy

from coach.procedure.model import Mishap, Source, Step
from coach.proof.chart import Chart
from coach.proof.cone import Here, bits_of
from coach.proof.explore import Explorer
from coach.proof.page import Node
from tests.mutants.operators import Mutant
from tests.mutants.same import Seen

CODING = ("lenses", "live", "idle", "idle_asked", "nominal", "varying", "vary", "always", "columns")
"""What of a chart decides how a state is written down."""

Where = frozenset[Node]
"""States of the right search in which a change can make a difference."""


def search_again(seen: Seen, mutant: Mutant, explorer: Explorer) -> Explorer:
    """Return the search of *mutant*, not yet run, with the moves taken over that are right.

    That is *explorer* itself where none can be taken over.
    """
    where = _where(seen, mutant, explorer)
    right = seen.explorer
    if where is None or not _written_alike(right.chart, explorer.chart, explorer.places):
        return explorer
    for name in CODING:
        setattr(explorer.chart, name, getattr(right.chart, name))
    return Again(explorer, right, where)


class Again(Explorer):
    """A search that takes over the moves of another where nothing can be different."""

    def __init__(self, explorer: Explorer, right: Explorer, where: Where) -> None:
        """Search what *explorer* would, as *right* did, but for the states *where* it cannot."""
        super().__init__(explorer.chart, explorer.places, explorer.watch)
        self.right = right
        self.where = where
        self.anew: set[Node] = set()
        """The states in which moves were found out anew."""
        self.taken: set[Node] = set()
        """The states in which moves were taken over."""

    def _visit(self, node: Node, kinds: int) -> None:
        known = self.right.nodes[node.place].get(node.code)
        if known is None or known in self.where:
            self.anew.add(node)
            super()._visit(node, kinds)
            return
        if node not in self.taken:
            self.taken.add(node)
            node.asked = list(known.asked)
            for mask, key, target in known.edges:
                twin = self.call if target is self.right.call else self._twin(target)
                node.edges.append((mask, key, twin))
        for mask, _, target in node.edges:
            self._reach(target, mask & kinds)
        if kinds & ~known.kinds:
            self.anew.add(node)
            self._make(node, kinds & ~known.kinds)

    def _twin(self, node: Node) -> Node:
        return self._node(node.place, node.code)

    def news(self) -> Explorer:
        """Return this search with those states alone that are not as they were, or lead there."""
        few = copy(self)
        few.nodes = [
            {code: node for code, node in nodes.items() if self._is_new(node)}
            for nodes in self.nodes
        ]
        return few

    def _is_new(self, node: Node) -> bool:
        return node in self.anew or any(target in self.anew for _, _, target in node.edges)


def _written_alike(right: Chart, wrong: Chart, places: tuple[Here, ...]) -> bool:
    """Tell whether states that *right* writes alike have the same future by *wrong* as well."""
    if right.idle:
        return False
    if right.calls != wrong.calls or right.calling != wrong.calling:
        return False
    if right.fades_early != wrong.fades_early:
        return False
    if len(right.lenses) != len(wrong.lenses):
        return False
    for mine, theirs, here in zip(right.lenses, wrong.lenses, places, strict=True):
        for bit in bits_of(here.arriving & right.family.facts):
            field = right.fields(bit)
            if (theirs.on(mine.on(bit)) ^ theirs.on(bit)) & field:
                return False
    return not any(b & ~a for a, b in zip(right.live, wrong.live, strict=True))


def _where(seen: Seen, mutant: Mutant, explorer: Explorer) -> Where | None:
    """Return where what *mutant* changed can make a difference; None where it cannot be told."""
    right, wrong = seen.procedure.source, mutant.source
    if [r.id for r in right.responses] != [r.id for r in wrong.responses]:
        return None
    if right.table != wrong.table:
        return None
    found = _where_order(seen, explorer)
    olds, news = _by_id(right), _by_id(wrong)
    if found is None or olds.keys() != news.keys():
        return None
    for name in mutant.touches:
        old, new = olds[name], news[name]
        if isinstance(old, Step) and isinstance(new, Step):
            more = _where_step(seen, explorer, old, new)
            if more is None:
                return None
            found |= more
        elif isinstance(old, Mishap) and isinstance(new, Mishap):
            if old.at != new.at or old.when != new.when:
                return None
            found |= seen.told.get(name, set())
    return frozenset(found)


def _by_id(source: Source) -> dict[str, Step | Mishap]:
    every: tuple[Step | Mishap, ...] = (*source.steps, *source.responses, *source.mishaps)
    return {one.id: one for one in every}


def _where_order(seen: Seen, explorer: Explorer) -> set[Node] | None:
    """Return where another order of the steps can make a difference; None if one is missing."""
    pairs = list(zip(seen.procedure.steps, explorer.procedure.steps, strict=False))
    moved = [place for place, (old, new) in enumerate(pairs) if old.id != new.id]
    if len(seen.procedure.steps) != len(explorer.procedure.steps):
        return None
    found: set[Node] = set()
    if moved:
        found |= _passing(seen, explorer, moved[0], moved[-1])
    for place in moved:
        step = pairs[place][0]
        found |= seen.looked.get(step.id, set()) | seen.asked.get(step.id, set())
        for fact in step.outcomes[0].sets:
            found |= seen.lacking.get(fact, set())
    return found


def _passing(seen: Seen, explorer: Explorer, first: int, last: int) -> set[Node]:
    """Return the states from which the list can come to stand at, or pass, *first* to *last*."""
    spans = zip(seen.explorer.chart.spans, explorer.chart.spans, strict=True)
    nodes = seen.explorer.nodes
    return {
        node
        for at, upto in enumerate(spans)
        if at <= last and max(upto) >= first
        for node in nodes[at].values()
    }


def _where_step(seen: Seen, explorer: Explorer, old: Step, new: Step) -> set[Node] | None:
    """Return where a step that is *new* where it was *old* can make a difference."""
    found: set[Node] = set()
    place = seen.procedure.index.get(old.id)
    if old.only_if != new.only_if or old.when != new.when:
        if place is None:
            return None
        found |= _passing(seen, explorer, place, place)
        for fact in old.outcomes[0].sets:
            found |= seen.lacking.get(fact, set())
        found |= seen.looked.get(old.id, set()) | seen.asked.get(old.id, set())
    if old.needs != new.needs:
        found |= seen.looked.get(old.id, set())
    if old.outcomes != new.outcomes:
        found |= seen.asked.get(old.id, set()) | seen.looked.get(old.id, set())
        for fact in _newly_provided(seen.procedure.source, old, new) if place is not None else ():
            found |= seen.lacking.get(fact, set())
    return found


def _newly_provided(right: Source, old: Step, new: Step) -> set[str]:
    """Return the facts that *new* sets as hoped to a value that some step needs, and *old* not."""
    changed = dict(new.outcomes[0].sets.items() - old.outcomes[0].sets.items())
    needs = [(fact, values) for step in right.steps for fact, values in step.needs_named.items()]
    return {fact for fact, values in needs if changed.get(fact) in values}
