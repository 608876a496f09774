"""Visits every state that can be reached, for all kinds of order sheet at once.

Owns the search. Every move is the engine's own: what step is to be done, what it leads to, what
can be told, what fades. It must never know a rule by what it is about.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import NamedTuple

from coach.engine import STOPPED
from coach.procedure.model import Step
from coach.proof.chart import Chart
from coach.proof.cone import Forward, Here, lenses
from coach.proof.family import Family
from coach.proof.idle import idle_bits
from coach.proof.moves import Moves
from coach.proof.page import Move, Node
from coach.proof.rules import Rule
from coach.proof.watch import Key, Watch


class Broken(NamedTuple):
    """A move that breaks a rule."""

    rule: int
    kinds: int
    node: Node
    key: Key


class Explorer:
    """Searches the states of one chart."""

    def __init__(
        self, chart: Chart, places: tuple[Here, ...], watch: Watch, loops: bool = False
    ) -> None:
        """Search what *chart* codes; *places* say what can happen where.

        With *loops* the moves that change nothing are kept as well, by themselves.
        """
        self.loops = loops
        self.chart = chart
        self.watch = watch
        self.broken: list[Broken] = []
        self.starts: list[Node] = []
        """For each kind, the node that it begins in."""
        self.places = places
        self.call = Node(STOPPED, 0)
        self.table = Moves(chart, places, watch, self.call)
        self.family = chart.family
        self.procedure = chart.family.procedure
        self.end = len(self.procedure.steps)
        self.nodes: list[dict[int, Node]] = [{} for _ in range(self.end + 2)]
        self.waiting: list[list[Node]] = [[] for _ in range(self.end + 2)]
        self.moves = 0
        self.nodes[STOPPED][0] = self.call
        self._gone: dict[int, int] = {}
        """By a kind in the node that is gone on from: the code after the table was left there."""

    def run(self, tell: Callable[[int], None] = lambda _: None) -> None:
        """Visit every state, and *tell* from time to time how many of 100 parts are done."""
        for kind in range(len(self.family.kinds)):
            node = self._node(*self.chart.encode(kind, self.chart.begin(kind)))
            self.starts.append(node)
            self._reach(node, 1 << kind)
        for place, waiting in enumerate(self.waiting[: self.end + 1]):
            tell(100 * place // self.end)
            while waiting:
                node = waiting.pop()
                fresh, node.waiting = node.waiting, 0
                self._visit(node, fresh)

    def _node(self, place: int, code: int) -> Node:
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
        for mask, _, target in node.edges:
            if mask & kinds & ~target.kinds:
                self._reach(target, mask & kinds)
        self._make(node, kinds)

    def _make(self, node: Node, kinds: int) -> None:
        """Make those moves of *node* that some of *kinds* can make and none before them could.

        One of them is looked at for all who make a move alike: what a state's code leaves out is
        true only of those who can be in it.
        """
        before, node.opened = node.opened, node.opened | kinds
        self._gone.clear()
        for leaf in self.table.leaves(node, kinds):
            able = leaf.kinds & kinds
            if not able:
                continue
            if leaf.step:
                node.asked.append((able, leaf.step))
            if leaf.calls:
                self.call.kinds |= able
                if not leaf.kinds & before:
                    node.edges += leaf.calls
                    self.moves += len(leaf.calls)
            for move in leaf.moves:
                if move.kinds & kinds and not move.kinds & before:
                    self._edge(node, move, move.kinds & kinds, leaf.leaving)

    def _edge(self, node: Node, move: Move, able: int, leaving: tuple[Move, ...]) -> None:
        """Make *move* in *node* for all who make it alike, of whom those *able* are in it."""
        self.moves += 1
        place, keeps, puts, fades, broken = move.changes.get(
            node.code & move.reads
        ) or self.table.change(move, able, node)
        for check in broken:
            self.broken.append(Broken(check.rule, move.kinds & check.kinds, node, move.key))
        if place == node.place:
            code = (self._left(node, able, leaving) if fades else node.code) & keeps | puts
            if code == node.code:
                if self.loops:
                    node.loops.append((move.kinds, move.key))
                return
            target = self.nodes[place].get(code) or self._node(place, code)
        elif place == STOPPED:
            target = self.call
        else:
            target = self._node(*self.table.moved_on(move, able, node))
        node.edges.append((move.kinds, move.key, target))
        if able & ~target.kinds:
            self._reach(target, able)

    def _left(self, node: Node, able: int, leaving: tuple[Move, ...]) -> int:
        """Return the code after the table was left in *node* by *able*, who stay at its place."""
        first = able & -able
        if first not in self._gone:
            for move in leaving:
                if move.kinds & first:
                    known = move.changes.get(node.code & move.reads)
                    change = known or self.table.change(move, first, node)
                    self._gone[first] = node.code & change.keeps | change.puts
        return self._gone[first]


def search_of(family: Family, rules: Iterable[Rule], *, loops: bool = False) -> Explorer:
    """Return the search through all states of *family*, with an eye on *rules*; not yet run.

    With *loops*, false ticks can be looked for in what it finds.
    """
    places = Forward(family).places()
    watch = Watch(family, rules)
    idle = idle_bits(watch)
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
    for place, here in reversed(list(enumerate(places))):
        bits = watch.bits_of(doable(family, here), here.mishaps)
        reads[place] += [values for bit, values in idle.items() if bit & bits & ~later]
        later |= bits
        live.append(later)
    chart = Chart(family, lenses(family, places, reads), tuple(reversed(live)), watch, idle)
    return Explorer(chart, places, watch, loops)


def doable(family: Family, here: Here) -> tuple[Step, ...]:
    """Return the steps and responses that can be done while the list stands *here*."""
    return tuple(family.procedure.steps[at] for at in here.steps) + here.responses
