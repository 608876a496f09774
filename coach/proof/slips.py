"""False ticks: what the coach believes and what is true on the table, kept apart.

Owns the search through the states that a false tick leads to: a step that was answered and not
done, or done and not answered. What the coach believes is moved by the engine; what is true is
moved by what was really done, and the rules look at what is true. An answer to a look is honest:
it says what is so. It must never choose a step; that is the engine's.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from itertools import chain
from typing import NamedTuple

from coach.engine import STOPPED
from coach.procedure.model import Act, Hold, Question
from coach.proof.chart import Chart
from coach.proof.cone import Forward, Here, lenses, lowest
from coach.proof.explore import Explorer, doable
from coach.proof.family import Family
from coach.proof.idle import Resting, idle_truths
from coach.proof.rules import Rule
from coach.proof.truth import NOTHING_DONE, Checked, Does, Truth
from coach.proof.watch import Key, Watch, key_of

FINISH: Key = ("finished", "", "")
"""The end of the list, where some rules look at what is left."""


Way = tuple[int, Key, Does, "Belief"]
"""One thing that can happen where something is believed: the kinds for whom it can, what it is,
what it does to the table for kinds that it treats alike, and what is believed after it."""
ANY = -1
"""Stands for any number of things that happened since the first false tick."""


class Belief:
    """One state that the coach believes the table to be in."""

    __slots__ = ("matters", "place", "seen", "slips", "ticks", "ways")

    def __init__(self, place: int, idle: int) -> None:
        """Make one at *place*, from which nothing leads on yet, where the bits *idle* are so."""
        self.place = place
        self.matters = ~idle
        """What of a code can matter when no false tick is left."""
        self.seen: dict[int, int] = {}
        """By the code of what can be true: the kinds that need not come to it any more."""
        self.ways: tuple[Way, ...] = ()
        """What can happen and is answered for."""
        self.slips: tuple[Way, ...] = ()
        """What can be answered for and not be done, or be done and not answered for."""
        self.ticks: list[dict[int, Tick]] = []
        """For each number of false ticks, what can be true meanwhile, by its code."""


class Coming(NamedTuple):
    """How some kinds came to a state by the shortest way after the first false tick."""

    kinds: int
    before: Tick
    key: Key
    length: int
    """How many things happened from the first false tick on."""


class Tick:
    """One state: what is believed and what is true, and who can be in it."""

    __slots__ = ("belief", "comings", "kinds", "number", "true")

    def __init__(self, belief: Belief, true: int, number: int) -> None:
        """Make the state in which *true* is the code of what is true, after *number* false ticks.

        No kind reaches it yet.
        """
        self.belief = belief
        self.true = true
        self.number = number
        self.kinds = 0
        self.comings: list[Coming] = []
        """None if no false tick led here, or any way is as good."""


class Slip(NamedTuple):
    """How one rule is broken by false ticks."""

    ticks: int
    """The fewest that break it."""
    kinds: int
    """The kinds in which so many do."""
    kind: int
    """One of them in which the shortest run is so."""
    before: Tick
    """The state in which it is broken next there."""
    key: Key
    """What breaks it then."""

    @property
    def keys(self) -> tuple[Key, ...]:
        """The shortest run: what happens from the first false tick on until the rule is broken."""
        found, tick = [self.key], self.before
        while tick.number:
            coming = next(one for one in tick.comings if one.kinds >> self.kind & 1)
            found.append(coming.key)
            tick = coming.before
        return tuple(reversed(found))


Sources = dict[int, list[tuple[Tick, int]]]
"""States and the kinds in them, by how many things happened since the first false tick."""


class SlipSearch:
    """Searches what false ticks lead to, from every state that honest ticks reach."""

    def __init__(
        self, family: Family, rules: Iterable[Rule], engine: Explorer | None = None
    ) -> None:
        """Look for what breaks *rules* in a dose of any kind of *family*.

        *engine* is a search of all that the coach can believe, if one is at hand that has run and
        kept what changes nothing: ``believed`` returns one, and one with an eye on rules does too.
        """
        self.family = family
        self.watch = Watch(family, rules)
        self.engine = engine or believed(family)
        self.truth = Truth(_table_chart(family, self.engine.places, self.watch), self.watch)
        self.broken: dict[int, Slip] = {}
        """How each rule falls that falls at all, by its place."""
        self.states = self.moves = 0
        self._done: dict[tuple[int, Key, int, int], tuple[tuple[int, Does], ...]] = {}
        self.beliefs = self._beliefs()
        self._begun: dict[int, dict[Tick, int]] = {}
        """The states that more kinds have come to, by when it is their turn to be gone on from."""
        self._final = -1
        """Which false tick is the last one; -1 as long as there are others to come."""

    def run(self, most: int, tell: Callable[[int], None] = lambda _: None) -> None:
        """Visit every state that up to *most* false ticks lead to, for all kinds.

        From time to time *tell* how many of 100 parts are done with so many false ticks.
        """
        self._honest(-1)
        self.moves = 0
        for number in range(1, most + 1):
            for tick, able in chain(*self._sources(number, most).values()):
                self._go(tick, able, tick.belief.slips, number, ANY)
            self._from_place_to_place(number, tell)
            self.states += sum(len(belief.ticks[number]) for belief in self.beliefs)

    def shortest(
        self, kinds: int, most: int, wanted: frozenset[int], tell: Callable[[int], None]
    ) -> None:
        """Find the shortest run by which each of the rules *wanted* falls to *most* false ticks.

        In a dose of any of *kinds*, from the first false tick on. From time to time *tell* for
        how many of 100 of them it is found.
        """
        self.broken = {}
        self._honest(kinds)
        for number in range(1, most + 1):
            sources = self._sources(number, most)
            # What is nearest to the first false tick comes first: what is found first is shortest.
            while (sources or self._begun) and not wanted <= self.broken.keys():
                tell(100 * len(wanted & self.broken.keys()) // len(wanted))
                length = min((*sources, *self._begun))
                for tick, able in sources.pop(length, ()):
                    self._go(tick, able, tick.belief.slips, number, length + 1)
                for tick, able in self._begun.pop(length, {}).items():
                    self._go(tick, able, tick.belief.ways, number, length + 1)
        self._begun = {}

    def _honest(self, kinds: int) -> None:
        """Visit the states in which what is believed is true, for *kinds* alone."""
        self._final = -1
        for belief in self.beliefs:
            belief.ticks, belief.seen = [{}], {}
        for kind, belief in enumerate(self.starts):
            true = self.truth.chart.encode(kind, self.truth.chart.begin(kind))[1]
            if kinds >> kind & 1:
                self._reach(belief, true, 0, 1 << kind, None)
        self._from_place_to_place(0, lambda _: None)

    def _from_place_to_place(self, number: int, tell: Callable[[int], None]) -> None:
        while self._begun:
            place = min(self._begun)
            tell(100 * place // self.engine.end)
            for tick, kinds in self._begun.pop(place).items():
                self._go(tick, kinds, tick.belief.ways, number, ANY)

    def _sources(self, number: int, most: int) -> Sources:
        """Return from what a false tick of that *number* can be made, of up to *most* in a dose."""
        self._final = number if number == most else -1
        for belief in self.beliefs:
            belief.seen = self._seen_before(belief)
        sources: Sources = {}
        for belief in self.beliefs:
            belief.ticks.append({})
            for tick in belief.ticks[number - 1].values() if belief.slips else ():
                for length, kinds in [(c.length, c.kinds) for c in tick.comings] or [(0, -1)]:
                    sources.setdefault(length, []).append((tick, kinds & tick.kinds))
        return sources

    def _seen_before(self, belief: Belief) -> dict[int, int]:
        """Return what can be true of *belief* with fewer false ticks than are looked at next.

        When no false tick is left, what the coach believes is moved as the table is, so what is
        idle by what is believed does not matter.
        """
        matters = belief.matters if self._final > 0 else -1
        seen: dict[int, int] = {}
        for ticks in belief.ticks:
            for true, tick in ticks.items():
                code = true & matters
                seen[code] = seen.get(code, 0) | tick.kinds
        return seen

    def _beliefs(self) -> tuple[Belief, ...]:
        """Return all that can be believed, with what can happen there, as the engine has it."""
        nodes = [node for nodes in self.engine.nodes[:-1] for node in nodes.values()]
        resting = Resting(self.engine.chart, idle_truths(self.watch))
        found = {node: Belief(node.place, resting.idle_in(node)) for node in nodes}
        found[self.engine.call] = Belief(STOPPED, 0)
        self.starts = [found[node] for node in self.engine.starts]
        steps = (*self.family.procedure.steps, *self.family.procedure.responses)
        answered = {key_of(s, 0): s.id for s in steps if isinstance(s.ask, Act | Hold | Question)}
        for node in nodes:
            belief = found[node]
            ways: list[Way] = []
            slips: list[Way] = []
            loops = ((kinds, key, node) for kinds, key in node.loops)
            for kinds, key, to in (*node.edges, *loops):
                ways += self._ways(kinds, key, key, belief, found[to])
                if key in answered:
                    name = answered[key]
                    ticked, done = ("ticked", name, ""), ("unticked", name, "")
                    slips += self._ways(kinds, ticked, NOTHING_DONE, belief, found[to])
                    slips += self._ways(kinds, done, key, belief, belief)
            belief.ways, belief.slips = tuple(ways), tuple(slips)
        return tuple(found[node] for node in nodes)

    def _ways(
        self, kinds: int, key: Key, done: Key, belief: Belief, target: Belief
    ) -> Iterator[Way]:
        """Yield what *key* leads to, for each class of *kinds* for whom *done* does the same."""
        case = kinds, done, belief.place, target.place
        known = self._done.get(case)
        if known is None:
            known = self._done[case] = tuple(self._classes(*case))
        return ((able, key, does, target) for able, does in known)

    def _classes(self, kinds: int, done: Key, place: int, to: int) -> Iterator[tuple[int, Does]]:
        """Yield what *done* does at *place* on the way *to* another, for each class of *kinds*."""
        if to != STOPPED or self.truth.mark(done).checks:
            for does in self.truth.does(done, place, max(to, place)):
                if kinds & does.kinds:
                    yield kinds & does.kinds, does

    def _go(self, tick: Tick, kinds: int, ways: Iterable[Way], number: int, length: int) -> None:
        """Let each of *ways* happen in the state of *tick*, for those of *kinds* that it can.

        What follows is of that *number* of false ticks, and that *length* from the first of them.
        """
        place, true, final = tick.belief.place, tick.true, number == self._final
        moves = 0
        for able, key, does, target in ways:
            both = able & kinds
            if not both:
                continue
            case = does.cases.get(true & does.reads) or self.truth.case(does, lowest(both), true)
            honest, keeps, puts, checked = case
            if not honest and key[0] != "ticked":
                continue
            moves += 1
            if checked:
                finished = target.place == does.to
                self._break(checked, both, number, finished, tick, key)
            if target.place == place:
                after = true & keeps | puts
            elif target.place != STOPPED:
                after = self.truth.moved_on(does.key, lowest(both), place, true, target.place)
            else:
                continue
            if final:
                after &= target.matters
            fresh = both & ~target.seen.get(after, 0)
            if fresh:
                coming = None if length == ANY else Coming(fresh, tick, key, length)
                self._reach(target, after, number, fresh, coming)
        self.moves += moves

    def _reach(
        self, belief: Belief, true: int, number: int, fresh: int, coming: Coming | None
    ) -> None:
        """Come to the state of *belief* and *true* with kinds that were not in it yet."""
        belief.seen[true] = belief.seen.get(true, 0) | fresh
        tick = belief.ticks[number].get(true)
        if tick is None:
            tick = belief.ticks[number][true] = Tick(belief, true, number)
        tick.kinds |= fresh
        turn = belief.place
        if coming is not None:
            tick.comings.append(coming)
            turn = coming.length
        begun = self._begun.setdefault(turn, {})
        begun[tick] = begun.get(tick, 0) | fresh

    def _break(
        self, checked: Checked, kinds: int, number: int, finished: bool, before: Tick, key: Key
    ) -> None:
        found = [(check, key) for check in checked.broken]
        found += [(check, FINISH) for check in checked.unfinished if finished]
        for check, then in found:
            able = kinds & check.kinds
            old = self.broken.get(check.rule)
            if able and old is None:
                self.broken[check.rule] = Slip(number, able, lowest(able), before, then)
            elif old is not None and old.ticks == number and able & ~old.kinds:
                self.broken[check.rule] = old._replace(kinds=old.kinds | able)


def believed(family: Family) -> Explorer:
    """Return the search of all that the coach can believe in a dose of *family*, run to its end.

    No rule has a say in it, so the same one serves whatever rules are looked at.
    """
    places, nothing = Forward(family).places(), Watch(family, ())
    engine = Explorer(_belief_chart(family, places, nothing), places, nothing, loops=True)
    engine.run()
    return engine


def _belief_chart(family: Family, places: tuple[Here, ...], nothing: Watch) -> Chart:
    steps = family.procedure.steps
    reads = []
    for place, here in enumerate(places):
        found = [r.only_if for r in here.responses] + [m.at for m in here.mishaps]
        found += [mask for at in here.steps for mask in (steps[at].needs, steps[at].only_if)]
        if place < len(steps):
            found.append(steps[place].only_if)
        reads.append(found)
    return Chart(family, lenses(family, places, reads), tuple(0 for _ in places), nothing)


def _table_chart(family: Family, places: tuple[Here, ...], watch: Watch) -> Chart:
    reads, live, later = [], [], 0
    for here in places:
        steps = doable(family, here)
        looks = [s.ask.sees for s in steps if isinstance(s.ask, Act | Question)]
        reads.append([*looks, *watch.reads_of(steps), *watch.told_reads(here.mishaps)])
    reads[-1] += watch.finish_reads
    for here in reversed(places):
        later |= watch.bits_of(doable(family, here), here.mishaps)
        live.append(later)
    seen = lenses(family, places, reads, family.facts)
    return Chart(family, seen, tuple(reversed(live)), watch)
