"""False ticks: what the coach believes and what is true on the table, kept apart.

Owns the search through the states that a false tick leads to: a step that was answered and not
done, or done and not answered. What the coach believes is moved by the engine; what is true is
moved by what was really done, and the rules look at what is true. An answer to a look is honest:
it says what is so. It must never choose a step; that is the engine's.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from typing import NamedTuple

from coach.engine import STOPPED
from coach.procedure.model import Act, Hold, Question
from coach.proof.chart import Chart
from coach.proof.cone import Forward, Here, lenses, lowest
from coach.proof.explore import Explorer, doable
from coach.proof.family import Family
from coach.proof.rules import Rule
from coach.proof.truth import NOTHING_DONE, Does, Truth
from coach.proof.watch import LEFT, Check, Key, Watch, key_of

FINISH: Key = ("finished", "", "")
"""The end of the list, where some rules look at what is left."""


class Way(NamedTuple):
    """One thing that can happen where something is believed, and what is believed after it."""

    kinds: int
    key: Key
    does: Does
    """What it does to the table, for kinds that it treats alike."""
    target: Belief


class Belief:
    """One state that the coach believes the table to be in."""

    __slots__ = ("place", "slips", "ticks", "ways")

    def __init__(self, place: int) -> None:
        """Make one at *place*, from which nothing leads on yet."""
        self.place = place
        self.ways: tuple[Way, ...] = ()
        """What can happen and is answered for."""
        self.slips: tuple[Way, ...] = ()
        """What can be answered for and not be done, or be done and not answered for."""
        self.ticks: list[dict[int, Tick]] = []
        """For each number of false ticks, what can be true meanwhile, by its code."""


class Tick:
    """One state: what is believed and what is true, and who can be in it."""

    __slots__ = ("before", "belief", "fresh", "key", "kinds", "length", "number", "true")

    def __init__(
        self, belief: Belief, true: int, number: int, before: Tick | None, key: Key
    ) -> None:
        """Make the state in which *true* is the code of what is true; no kind reaches it yet.

        It was first come to by *key* from *before*, after *number* false ticks.
        """
        self.belief = belief
        self.true = true
        self.number = number
        self.before = before
        self.key = key
        self.kinds = 0
        self.length: int = before.length + 1 if before is not None and number else 0
        """How many things happened from the first false tick on."""
        self.fresh = 0
        """The kinds that have come to it and not yet gone on."""


class Slip(NamedTuple):
    """How one rule is broken by false ticks."""

    ticks: int
    """The fewest that break it."""
    kinds: int
    """The kinds in which so many do."""
    before: Tick
    """A state in which it is broken next."""
    key: Key
    """What breaks it then."""

    @property
    def keys(self) -> tuple[Key, ...]:
        """What happens from the first false tick on, until the rule is broken."""
        found = [self.key]
        tick: Tick | None = self.before
        while tick is not None and tick.number:
            found.append(tick.key)
            tick = tick.before
        return tuple(reversed(found))


class SlipSearch:
    """Searches what false ticks lead to, from every state that honest ticks reach."""

    def __init__(
        self, family: Family, rules: Iterable[Rule], engine: Explorer | None = None
    ) -> None:
        """Look for what breaks *rules* in a dose of any kind of *family*.

        *engine* is what ``believed`` returns for the family, if that is at hand.
        """
        self.family = family
        self.watch = Watch(family, rules)
        self.engine = engine or believed(family)
        self.truth = Truth(_table_chart(family, self.engine.places, self.watch), self.watch)
        self.broken: dict[int, Slip] = {}
        """How each rule falls that falls at all, by its place."""
        self.states = self.moves = 0
        self.beliefs = self._beliefs()
        self._begun: dict[int, list[Tick]] = {}
        """The states that more kinds have come to, by when it is their turn to be gone on from."""
        self._nearest = False
        self._tell: Callable[[int], None] = lambda _: None

    def run(self, most: int, tell: Callable[[int], None] = lambda _: None) -> None:
        """Visit every state that up to *most* false ticks lead to, for all kinds.

        From time to time *tell* how many of 100 parts are done with so many false ticks.
        """
        self._begin(-1)
        self.moves = 0
        self._tell = tell
        for number in range(1, most + 1):
            self._slips(number)
            self._go_on()
            self.states += sum(len(belief.ticks[number]) for belief in self.beliefs)

    def shortest(self, kind: int, most: int) -> None:
        """Find the shortest run by which each rule falls; all of them fall to *most* false ticks.

        In a dose of *kind*, from the first false tick on.
        """
        wanted = frozenset(range(len(self.watch.rules)))
        self.broken = {}
        self._tell = lambda _: None
        self._begin(1 << kind)
        self._nearest = True
        for number in range(1, most + 1):
            self._slips(number)
            # What is nearest to the first false tick comes first, so the first found is shortest.
            self._go_on(wanted if number == most else frozenset())
        self._nearest = False

    def _begin(self, kinds: int) -> None:
        """Visit the states in which what is believed is true, for *kinds* alone."""
        self._begun = {}
        for belief in self.beliefs:
            belief.ticks = [{}]
        for kind, belief in enumerate(self.starts):
            true = self.truth.chart.encode(kind, self.truth.chart.begin(kind))[1]
            self._reach(belief, true, 0, kinds & 1 << kind, None, LEFT)
        self._go_on()

    def _go_on(self, wanted: frozenset[int] = frozenset()) -> None:
        """Go on from each state whose turn it is, until none is left or all *wanted* fell."""
        while self._begun and not (wanted and wanted <= self.broken.keys()):
            turn = min(self._begun)
            self._tell(100 * turn // self.engine.end)
            for tick in self._begun.pop(turn):
                fresh, tick.fresh = tick.fresh, 0
                self._go(tick, fresh, tick.belief.ways, tick.number)

    def _slips(self, number: int) -> None:
        """Make each false tick that can be made after one less."""
        for belief in self.beliefs:
            belief.ticks.append({})
        for belief in self.beliefs:
            for tick in belief.ticks[number - 1].values() if belief.slips else ():
                self._go(tick, tick.kinds, belief.slips, number)

    def _beliefs(self) -> tuple[Belief, ...]:
        """Return all that can be believed, with what can happen there, as the engine has it."""
        nodes = [node for nodes in self.engine.nodes[:-1] for node in nodes.values()]
        found = {node: Belief(node.place) for node in (*nodes, self.engine.call)}
        self.starts = [found[node] for node in self.engine.starts]
        steps = (*self.family.procedure.steps, *self.family.procedure.responses)
        answered = {key_of(s, 0): s.id for s in steps if isinstance(s.ask, Act | Hold | Question)}
        for node in nodes:
            belief = found[node]
            ways: list[Way] = []
            slips: list[Way] = []
            for kinds, key, to in node.edges:
                ways += self._ways(kinds & node.kinds, key, key, belief, found[to])
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
        if target.place == STOPPED and not self.truth.mark(done).checks:
            return
        for does in self.truth.does(done, belief.place, max(target.place, belief.place)):
            if kinds & does.kinds:
                yield Way(kinds & does.kinds, key, does, target)

    def _go(self, tick: Tick, kinds: int, ways: Iterable[Way], number: int) -> None:
        """Let each of *ways* happen in the state of *tick*, for those of *kinds* that it can."""
        place, true = tick.belief.place, tick.true
        for able, key, does, target in ways:
            both = able & kinds
            if not both:
                continue
            case = does.cases.get(true & does.reads) or self.truth.case(does, lowest(both), true)
            honest, keeps, puts, broken, unfinished = case
            if not honest and key[0] != "ticked":
                continue
            self.moves += 1
            for check in broken:
                self._break(check, both, number, tick, key)
            for check in unfinished if unfinished and target.place == does.to else ():
                self._break(check, both, number, tick, FINISH)
            if target.place == place:
                after = true & keeps | puts
                known = target.ticks[number].get(after)
                # Most moves lead to where all of them have been.
                if known is None or both & ~known.kinds:
                    self._reach(target, after, number, both, tick, key)
            elif target.place != STOPPED:
                after = self.truth.moved_on(does.key, lowest(both), place, true, target.place)
                self._reach(target, after, number, both, tick, key)

    def _reach(
        self, belief: Belief, true: int, number: int, kinds: int, before: Tick | None, key: Key
    ) -> None:
        """Come to the state of *belief* and *true*, if fewer false ticks do not lead there."""
        for fewer in belief.ticks[:number]:
            known = fewer.get(true)
            if known is not None:
                kinds &= ~known.kinds
        if not kinds:
            return
        tick = belief.ticks[number].get(true)
        if tick is None:
            tick = belief.ticks[number][true] = Tick(belief, true, number, before, key)
        fresh = kinds & ~tick.kinds
        if fresh:
            tick.kinds |= fresh
            if not tick.fresh:
                turn = tick.length if self._nearest else belief.place
                self._begun.setdefault(turn, []).append(tick)
            tick.fresh |= fresh

    def _break(self, check: Check, kinds: int, number: int, before: Tick, key: Key) -> None:
        kinds &= check.kinds
        old = self.broken.get(check.rule)
        if kinds and old is None:
            self.broken[check.rule] = Slip(number, kinds, before, key)
        elif kinds and old is not None and old.ticks == number:
            self.broken[check.rule] = old._replace(kinds=old.kinds | kinds)


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
