"""Visits every state that can be reached, for all kinds of order sheet at once.

Owns the search. Every move is the engine's own: what step is to be done, what it leads to, what
can be told, what fades. It must never know a rule by what it is about.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Literal, NamedTuple

from coach.engine import (
    STOPPED,
    State,
    after_mishap,
    after_outcome,
    after_return,
    ended,
    possible,
    response_to_do,
    step_to_do,
)
from coach.procedure.model import Mishap, Step, Stop
from coach.proof.chart import Chart, Part
from coach.proof.cone import Forward, Here, lenses
from coach.proof.family import Family
from coach.proof.rules import Rule
from coach.proof.watch import LEFT, Key, Watch, key_of, told_key

Move = Mishap | Literal["step", "return"]
"""Something told, the step to be done, or a return to the table."""

Open = tuple[int, int, Move]
"""A move that was not made yet: the kinds that can make it alike, one of them, and the move."""


class Node:
    """One state of some kinds: its place and code, who can be in it, and what it leads to."""

    __slots__ = ("code", "edges", "kinds", "opened", "pending", "place", "waiting")

    def __init__(self, place: int, code: int) -> None:
        """Make the node of *code* at *place*, which no kind is known to reach yet."""
        self.place = place
        self.code = code
        self.kinds = 0
        self.waiting = 0
        self.opened = 0
        self.pending: list[Open] = []
        self.edges: list[tuple[int, Key, Node]] = []


class Broken(NamedTuple):
    """A move that breaks a rule."""

    rule: int
    kinds: int
    node: Node
    key: Key


class Explorer:
    """Searches the states of one chart."""

    def __init__(self, chart: Chart, places: tuple[Here, ...], watch: Watch) -> None:
        """Search what *chart* codes; *places* say what can happen where."""
        self.chart = chart
        self.watch = watch
        self.broken: list[Broken] = []
        self.witnessed: set[int] = set()
        """The rules whose guarded thing was done somewhere, by their place."""
        self.starts: list[Node] = []
        """For each kind, the node that it begins in."""
        self.places = places
        self.family = chart.family
        self.procedure = chart.family.procedure
        self.end = len(self.procedure.steps)
        self.nodes: list[dict[int, Node]] = [{} for _ in range(self.end + 2)]
        self.waiting: list[list[Node]] = [[] for _ in range(self.end + 2)]
        self.moves = 0
        self.faded = sum_bits(effect.puts for _, effect in self.procedure.fading)
        self.faded |= watch.marks[LEFT].written
        self.fading = [bit for bit, _ in self.procedure.fading]
        self._parts: dict[tuple[object, ...], Part] = {}
        self.calling = chart.calling
        self.call = Node(STOPPED, 0)
        self.nodes[STOPPED][0] = self.call

    def run(self) -> None:
        """Visit every state."""
        for kind in range(len(self.family.kinds)):
            node = self._node(kind, self.chart.begin(kind))
            self.starts.append(node)
            self._reach(node, 1 << kind)
        for place in range(self.end + 1):
            waiting = self.waiting[place]
            while waiting:
                node = waiting.pop()
                fresh, node.waiting = node.waiting, 0
                self._visit(node, fresh)

    def _node(self, kind: int, state: State) -> Node:
        place, code = self.chart.encode(kind, state)
        nodes = self.nodes[place]
        node = nodes.get(code)
        if node is None:
            node = nodes[code] = Node(place, code)
        return node

    def _reach(self, node: Node, kinds: int) -> None:
        fresh = kinds & ~node.kinds
        if fresh:
            node.kinds |= fresh
            if not node.waiting:
                self.waiting[node.place].append(node)
            node.waiting |= fresh

    def _visit(self, node: Node, kinds: int) -> None:
        if kinds & ~node.opened:
            self._open(node, kinds)
        if node.pending:
            self._make(node, kinds)
        for mask, _, target in node.edges:
            if mask & kinds & ~target.kinds:
                self._reach(target, mask & kinds)

    def _open(self, node: Node, kinds: int) -> None:
        """List the moves that can be made in *node* by those who are like some of *kinds*."""
        for alike, kind in self._here_part(node.place):
            if not alike & kinds & ~node.opened:
                continue
            waiting = self._waiting(self.chart.decode(kind, node.place, node.code).facts)
            for like, one in self._like(node.place, waiting):
                both = like & alike
                if both & kinds & ~node.opened:
                    node.opened |= both
                    state = self.chart.decode(
                        one if both >> one & 1 else kind, node.place, node.code
                    )
                    if not ended(self.procedure, state):
                        node.pending += self._moves(node, both, state, waiting)

    def _waiting(self, facts: int) -> tuple[Step, ...]:
        """Return the responses that the facts ask for in some kind of order sheet."""
        if not facts & self.procedure.alarms:
            return ()
        known = self.family.facts
        return tuple(r for r in self.procedure.responses if not facts & r.only_if & known)

    def _like(self, place: int, waiting: tuple[Step, ...]) -> Part:
        """Part the kinds by which of the responses in *waiting* they ask for."""
        key = "like", *(step.id for step in waiting)
        known = self._parts.get(key)
        if known is None:
            reads = [step.only_if & self.family.choices for step in waiting]
            known = self._parts[key] = self.chart.part(place, reads, 0, place)
        return known

    def _moves(
        self, node: Node, alike: int, state: State, waiting: tuple[Step, ...]
    ) -> Iterator[Open]:
        for mishap in possible(self.procedure, state):
            if mishap.id in self.calling and not self.watch.marks[told_key(mishap)].checks:
                node.edges.append((alike, told_key(mishap), self.call))
                self.moves += 1
                continue
            for mask, kind in self._told_part(node, mishap, waiting):
                yield mask & alike, kind, mishap
        for mask, kind in self._return_part(node, waiting):
            yield mask & alike, kind, "return"
        for mask, kind in self._step_part(node, state, waiting):
            yield mask & alike, kind, "step"

    def _make(self, node: Node, kinds: int) -> None:
        """Make those moves of *node* that some of *kinds* can make."""
        later = []
        for pending in node.pending:
            mask, kind, move = pending
            if not mask & kinds:
                if mask:
                    later.append(pending)
                continue
            before = self.chart.decode(kind, node.place, node.code)
            if move == "return":
                self._edge(node, mask, kind, LEFT, before, after_return(self.procedure, before))
            elif isinstance(move, Mishap):
                after = after_mishap(self.procedure, before, move)
                self._edge(node, mask, kind, told_key(move), before, after)
            else:
                step = step_to_do(self.procedure, before)
                for number, outcome in enumerate(step.outcomes):
                    after = after_outcome(self.procedure, before, step, outcome)
                    self._edge(node, mask, kind, key_of(step, number), before, after)
        node.pending = later

    def _edge(
        self, node: Node, kinds: int, kind: int, key: Key, before: State, after: State
    ) -> None:
        self.moves += 1
        mark = self.watch.marks[key]
        if mark.keeps != -1:
            after = self.watch.marked(after, key)
        for check in mark.checks:
            self.witnessed.add(check.rule)
            if not check.holds(before.facts):
                self.broken.append(Broken(check.rule, kinds & check.kinds, node, key))
        if after.place == self.end:
            for check in self.watch.finish:
                self.witnessed.add(check.rule)
                if not check.holds(after.facts):
                    self.broken.append(Broken(check.rule, kinds & check.kinds, node, key))
        target = self._node(kind, after)
        if target is not node:
            node.edges.append((kinds, key, target))

    def _here_part(self, place: int) -> Part:
        """Part the kinds by what can be told at *place*, and by what the facts ask for."""
        key = "here", place
        known = self._parts.get(key)
        if known is None:
            here = self.places[place]
            reads = [mishap.at for mishap in here.mishaps]
            reads += [r.only_if & self.family.facts for r in here.responses]
            known = self._parted(key, place, reads, 0, place, ())
        return known

    def _told_part(self, node: Node, mishap: Mishap, waiting: tuple[Step, ...]) -> Part:
        key = "told", node.place, mishap.id, *(step.id for step in waiting)
        known = self._parts.get(key)
        if known is None:
            mark = self.watch.marks[told_key(mishap)]
            puts = mishap.effect.puts | mark.written
            upto = self._upto(node.place, puts)
            known = self._parted(key, node.place, mark.reads, puts, upto, waiting)
        return known

    def _return_part(self, node: Node, waiting: tuple[Step, ...]) -> Part:
        key = "return", node.place, *(step.id for step in waiting)
        known = self._parts.get(key)
        if known is None:
            reads = (*self.fading, *self.watch.marks[LEFT].reads)
            upto = self._upto(node.place, self.faded)
            known = self._parted(key, node.place, reads, self.faded, upto, waiting)
        return known

    def _step_part(self, node: Node, state: State, waiting: tuple[Step, ...]) -> Part:
        place = node.place
        response = response_to_do(self.procedure, state.facts)
        back = response is None and bool(state.facts & self.procedure.steps[place].needs)
        key = "step", place, back, *(step.id for step in waiting)
        known = self._parts.get(key)
        if known is None:
            ways = self.places[place].steps if back else (place,)
            steps = tuple(self.procedure.steps[at] for at in ways) if response is None else waiting
            reads = [mask for step in steps for mask in (step.needs, step.only_if)]
            reads += self.watch.reads_of(steps)
            puts = sum_bits(o.effect.puts for step in steps for o in step.outcomes)
            puts |= self.watch.written_by(steps)
            on = response is None and not back
            if self.chart.spans[place] == self.end:
                reads += self.watch.finish_reads
            upto = self.chart.spans[place] if on else self._upto(place, puts)
            known = self._parted(key, place, reads, puts, upto, waiting)
        return known

    def _upto(self, place: int, puts: int) -> int:
        """Return the last place that a move which puts *puts* can pass on to from *place*."""
        if place == self.end:
            return place
        only_if = self.procedure.steps[place].only_if
        touched = any(f & only_if and f & puts for f in self.family.fields)
        return self.chart.spans[place] if touched else place

    def _parted(
        self,
        key: tuple[object, ...],
        place: int,
        reads: Iterable[int],
        puts: int,
        upto: int,
        waiting: tuple[Step, ...],
    ) -> Part:
        """Part the kinds by what a move tells apart, with what it may call for, and remember it."""
        steps = self.procedure.steps
        reads = [*reads, *(steps[at].only_if for at in range(place, min(upto + 1, self.end)))]
        for other in self.places[place].responses:
            touched = (
                sum(f for f in self.family.fields if f & other.only_if) & puts & ~other.only_if
            )
            if other in waiting or touched:
                reads.append(other.only_if)
                if isinstance(other.ask, Stop):
                    reads += self.fading
                    puts |= self.faded
        found = self._parts[key] = self.chart.part(place, reads, puts, upto)
        return found


def sum_bits(masks: Iterable[int]) -> int:
    """Return all bits of *masks* together."""
    found = 0
    for mask in masks:
        found |= mask
    return found


def search_of(family: Family, rules: Iterable[Rule]) -> Explorer:
    """Return the search through all states of *family*, with an eye on *rules*; not yet run."""
    places = Forward(family).places()
    watch = Watch(family, rules)
    steps = family.procedure.steps
    reads, live, later = [], [], 0
    for here in places:
        found = [response.only_if for response in here.responses]
        found += [mishap.at for mishap in here.mishaps]
        found += [mask for at in here.steps for mask in (steps[at].needs, steps[at].only_if)]
        reads.append(
            [*found, *watch.reads_of(doable(family, here)), *watch.told_reads(here.mishaps)]
        )
    for place, step in enumerate(steps):
        reads[place].append(step.only_if)
    reads[-1] += watch.finish_reads
    for here in reversed(places):
        later |= watch.bits_of(doable(family, here), here.mishaps)
        live.append(later)
    chart = Chart(family, lenses(family, places, reads), tuple(reversed(live)), watch)
    return Explorer(chart, places, watch)


def doable(family: Family, here: Here) -> tuple[Step, ...]:
    """Return the steps and responses that can be done while the list stands *here*."""
    return tuple(family.procedure.steps[at] for at in here.steps) + here.responses
