"""Tells whether a mutant is the same to whoever follows it, by going through both side by side.

Owns the comparison of two searches that have run: whatever is told and answered, in both the same
is asked next, and the same call ends it. Then the person does the same in both, honestly or not,
and so breaks the same rules. What the coach believes meanwhile may differ. It must never look at
a rule.
"""

from __future__ import annotations

from collections.abc import Iterator

from msgspec.structs import replace

from coach.procedure.facts import Effect
from coach.procedure.model import Mishap, Source, Step, Wait, Within
from coach.proof.cone import lowest
from coach.proof.explore import Explorer
from coach.proof.page import Node
from coach.proof.structure import _call_after
from coach.proof.watch import Key
from tests.mutants.operators import Mutant
from tests.mutants.reuse import Again

Edges = dict[Key, list[tuple[int, Node]]]
"""For all that can happen in a state: to whom, and what it leads to."""
Pair = tuple[int, Node, Node]
"""Some kinds, and the states that they are in, in the one search and in the other."""

NO_EFFECT = Effect(-1, 0)


class Alike:
    """Holds the searches of mutants against that of the right source."""

    def __init__(self, right: Explorer) -> None:
        """Hold them against *right*, which has run."""
        self.right = right
        self.source = right.procedure.source
        self._edges: dict[Node, Edges] = {}
        self._asked: dict[tuple[Node, int], int] = {}

    def same(self, mutant: Mutant, explorer: Explorer) -> bool:
        """Tell whether *explorer*, the search of *mutant*, asks for the same whatever happens.

        False where it cannot be told in this way.
        """
        return _looks_alike(self.source, mutant) and _Walk(self, mutant, explorer).ends_alike()

    def edges(self, node: Node) -> Edges:
        """Return what can happen in *node* of the right search."""
        if node not in self._edges:
            self._edges[node] = _edges(node)
        return self._edges[node]

    def asked(self, node: Node, kind: int) -> int:
        """Return what of *node* of the right search decides on the response, for *kind*."""
        if (node, kind) not in self._asked:
            self._asked[node, kind] = _asked(self.right, node, kind)
        return self._asked[node, kind]


def _edges(node: Node) -> Edges:
    found: Edges = {}
    for kinds, key, target in node.edges:
        if kinds & node.kinds:
            found.setdefault(key, []).append((kinds & node.kinds, target))
    return found


def _asked(explorer: Explorer, node: Node, kind: int) -> int:
    return explorer.chart.decode(kind, node.place, node.code).facts & explorer.chart.asked


class _Walk:
    """Goes through the right search and that of one mutant side by side."""

    def __init__(self, alike: Alike, mutant: Mutant, explorer: Explorer) -> None:
        self.alike = alike
        self.wrong = explorer
        names = {response.id for response in mutant.source.responses}
        self.touches = frozenset(mutant.touches)
        self.edges: dict[Node, Edges] = {}
        self.calls_alike = not self.touches & names
        """Whether the same call comes first in both where the facts asked for are the same."""

    def ends_alike(self) -> bool:
        """Tell whether nothing that can happen parts the two."""
        known: dict[tuple[Node, Node], int] = {}
        todo = list(self._begin())
        while todo:
            kinds, mine, theirs = todo.pop()
            fresh = kinds & ~known.get((mine, theirs), 0)
            if not fresh:
                continue
            known[mine, theirs] = known.get((mine, theirs), 0) | fresh
            for pair in self._after(fresh, mine, theirs):
                if pair is None:
                    return False
                if not self._is_taken(pair):
                    todo.append(pair)
        return True

    def _begin(self) -> Iterator[Pair]:
        """Yield where the two could part: till then they are in the same states."""
        if isinstance(self.wrong, Again):
            for node in self.wrong.anew:
                known = self.wrong.right.nodes[node.place].get(node.code)
                if known is not None and known.kinds & node.kinds:
                    yield known.kinds & node.kinds, known, node
            return
        starts = zip(self.alike.right.starts, self.wrong.starts, strict=True)
        yield from ((1 << kind, *pair) for kind, pair in enumerate(starts))

    def _is_taken(self, pair: Pair) -> bool:
        """Tell whether both are in one state, in which nothing is different."""
        _, mine, theirs = pair
        if not isinstance(self.wrong, Again) or theirs in self.wrong.anew:
            return False
        return theirs.place == mine.place and theirs.code == mine.code

    def _after(self, kinds: int, mine: Node, theirs: Node) -> Iterator[Pair | None]:
        """Yield where all that can happen leads to in both; None where it parts them."""
        my_edges, their_edges = self.alike.edges(mine), self._edges_of(theirs)
        for key in my_edges.keys() | their_edges.keys():
            left, right = kinds, kinds
            for my_kinds, my_target in my_edges.get(key, ()):
                left &= ~my_kinds
                for their_kinds, their_target in their_edges.get(key, ()):
                    both = kinds & my_kinds & their_kinds
                    if both and self._parted(both, key, (mine, my_target), (theirs, their_target)):
                        yield None
                    elif both and my_target is not self.alike.right.call:
                        yield both, my_target, their_target
            for their_kinds, _ in their_edges.get(key, ()):
                right &= ~their_kinds
            if left == right:
                continue
            if key[0] != "told" and key[1]:
                yield None
            # What can be told in one alone changes nothing in the other.
            for my_kinds, my_target in my_edges.get(key, ()):
                if my_kinds & right & ~left & kinds:
                    yield self._stays(my_kinds & right & ~left & kinds, my_target, theirs)
            for their_kinds, their_target in their_edges.get(key, ()):
                if their_kinds & left & ~right & kinds:
                    yield self._stays(their_kinds & left & ~right & kinds, mine, their_target)

    def _edges_of(self, node: Node) -> Edges:
        if node not in self.edges:
            self.edges[node] = _edges(node)
        return self.edges[node]

    def _stays(self, kinds: int, mine: Node, theirs: Node) -> Pair | None:
        calls = self.alike.right.call, self.wrong.call
        return None if mine is calls[0] or theirs is calls[1] else (kinds, mine, theirs)

    def _parted(
        self, kinds: int, key: Key, mine: tuple[Node, Node], theirs: tuple[Node, Node]
    ) -> bool:
        """Tell whether *key* leads to a call in one of the two alone, or to another one."""
        calls = mine[1] is self.alike.right.call, theirs[1] is self.wrong.call
        if not any(calls):
            return False
        if not all(calls):
            return True
        kind = lowest(kinds)
        if self.calls_alike and key[1] not in self.touches:
            asked = self.alike.asked(mine[0], kind)
            if asked == _asked(self.wrong, theirs[0], kind):
                return False
        return _call_after(self.alike.right, mine[0], kind, key) != _call_after(
            self.wrong, theirs[0], kind, key
        )


def _looks_alike(right: Source, mutant: Mutant) -> bool:
    """Tell whether what *mutant* changed is asked for in the same words, and timed alike."""
    olds, news = _by_id(right), _by_id(mutant.source)
    for name in mutant.touches:
        old, new = olds.get(name), news.get(name)
        if isinstance(old, Step) and isinstance(new, Step) and _bare(old) != _bare(new):
            return False
    return all(_timed_alike(right, mutant.source, fact) for fact in _changed(right, mutant))


def _by_id(source: Source) -> dict[str, Step | Mishap]:
    every: tuple[Step | Mishap, ...] = (*source.steps, *source.responses, *source.mishaps)
    return {one.id: one for one in every}


def _bare(step: Step) -> Step:
    """Return *step* without what decides on when it is asked for, and what it sets."""
    outcomes = tuple(replace(o, effect=NO_EFFECT, sets={}) for o in step.outcomes)
    return replace(step, when={}, only_if=0, needs=0, needs_named={}, outcomes=outcomes)


def _changed(right: Source, mutant: Mutant) -> Iterator[str]:
    """Yield the facts that something sets otherwise, or that fade otherwise."""
    olds, news = _by_id(right), _by_id(mutant.source)
    for name in mutant.touches:
        old, new = olds.get(name), news.get(name)
        if isinstance(old, Step) and isinstance(new, Step):
            for mine, theirs in zip(old.outcomes, new.outcomes, strict=True):
                yield from (fact for fact, _ in mine.sets.items() ^ theirs.sets.items())
        elif isinstance(old, Mishap) and isinstance(new, Mishap):
            written = ~old.effect.keeps | ~new.effect.keeps
            same = old.effect == new.effect
            masks = right.table.masks.items()
            yield from (fact for fact, mask in masks if mask & written and not same)
        elif old is None and new is None:
            yield name


def _timed_alike(right: Source, wrong: Source, fact: str) -> bool:
    """Tell whether no time, record or text hangs on when and how *fact* is set otherwise."""
    mask = right.table.masks[fact]
    if mask & right.given or any(fact in c.left for c in right.circumstances):
        return False
    steps = (*right.steps, *right.responses)
    if any(isinstance(s.ask, Within) and s.ask.since[0] == fact for s in steps):
        return False
    return all(_begins_anew(right, wrong, s, fact) for s in steps if isinstance(s.ask, Wait))


def _begins_anew(right: Source, wrong: Source, step: Step, fact: str) -> bool:
    """Tell whether the wait of *step* is the same however *fact* was set before.

    It is, if it neither begins with the fact nor runs by it. Or if in the right source some step
    has to set the fact before, to a value with which it runs, and does so in both: then the time
    begins anew with that step.
    """
    ask, mask = step.ask, right.table.masks[fact]
    assert isinstance(ask, Wait)
    if ask.since != fact and not ask.runs_while & mask:
        return True
    runs = mask & ~ask.runs_while
    if ask.since != fact or ask.runs_while & ~mask or step.needs & mask != ask.runs_while:
        return False
    return _setting(right, fact, runs) <= _setting(wrong, fact, runs) and not any(
        puts & runs for puts in _by_itself(right)
    )


def _setting(source: Source, fact: str, runs: int) -> frozenset[tuple[str, int]]:
    """Return each step, and which of its outcomes, that lets a wait run by setting *fact*."""
    return frozenset(
        (step.id, number)
        for step in (*source.steps, *source.responses)
        for number, outcome in enumerate(step.outcomes)
        if fact in outcome.sets and outcome.effect.puts & runs
    )


def _by_itself(source: Source) -> Iterator[int]:
    """Yield the bits that are put without any step."""
    yield from (mishap.effect.puts for mishap in source.mishaps)
    for fact in source.table.facts:
        yield from (source.table.bits[fact.name, becomes] for becomes in fact.fades.values())
