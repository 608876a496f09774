"""False ticks: what the coach believes and what is true on the table, kept apart.

Owns the search through the states that a false tick leads to: a step that was answered and not
done, or done and not answered. What the coach believes is moved by the engine; what is true is
moved by what was really done, and the rules look at what is true. An answer to a look is honest:
it says what is so. It must never choose a step; that is the engine's.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import NamedTuple

from coach.engine import (
    STOPPED,
    State,
    after_mishap,
    after_outcome,
    after_return,
    ended,
    possible,
    step_to_do,
)
from coach.procedure.model import Act, Hold, Mishap, Outcome, Procedure, Question, Step, Stop
from coach.proof.chart import Chart, Part
from coach.proof.cone import Here, lenses
from coach.proof.explore import Explorer, doable
from coach.proof.family import Family
from coach.proof.rules import Rule
from coach.proof.watch import LEFT, Check, Key, Watch, key_of, told_key

FINISH: Key = ("finished", "", "")
"""The end of the list, where some rules look at what is left."""

Pair = tuple[int, int]
"""The code of what is believed, and the code of what is true."""


class Tick:
    """One state after false ticks: what is believed and what is true, and who can be in it."""

    __slots__ = ("before", "code", "key", "kinds", "place", "truth", "waiting")

    def __init__(self, place: int, pair: Pair, before: Tick | Pair, key: Key) -> None:
        """Make the state of *pair* at *place*, which no kind is known to reach yet.

        It was first come to by *key* from *before*, a pair where belief and truth agree.
        """
        self.before = before
        self.key = key
        self.place = place
        self.code, self.truth = pair
        self.kinds = 0
        self.waiting = 0


class Slip(NamedTuple):
    """A move that breaks a rule after false ticks."""

    rule: int
    kinds: int
    ticks: int
    """How many false ticks led to it."""
    before: Tick | Pair
    """The state in which it was made."""
    key: Key
    """What breaks the rule."""


class Truth:
    """What is true on the table, moved by what is really done."""

    def __init__(self, family: Family, watch: Watch) -> None:
        """Follow the table of a dose of any kind of *family*."""
        self.family = family
        self.procedure: Procedure = family.procedure
        self.watch = watch

    def after(self, facts: int, step: Step, number: int) -> int:
        """Return what is true after *step* was done and came out in that way."""
        outcome = step.outcomes[number]
        if isinstance(step.ask, Stop):
            facts = self.left(facts)
        if number and isinstance(step.ask, Question) and facts & step.ask.sees:
            facts = self._besides(facts, step.ask.sees, outcome)
        else:
            facts = outcome.effect.on(facts)
        mark = self.watch.marks[key_of(step, number)]
        return facts & mark.keeps | mark.puts

    def _besides(self, facts: int, sees: int, outcome: Outcome) -> int:
        """Apply *outcome*, but for what was looked at: that is as it is."""
        looked = sum(field for field in self.family.fields if field & sees)
        return outcome.effect.on(facts) & ~looked | facts & looked

    def left(self, facts: int) -> int:
        """Return what is true when the table was left and somebody came back to it."""
        facts = after_return(self.procedure, State(facts, 0)).facts
        mark = self.watch.marks[LEFT]
        return facts & mark.keeps | mark.puts

    def told(self, facts: int, mishap: Mishap) -> int:
        """Return what is true after *mishap* happened."""
        mark = self.watch.marks[told_key(mishap)]
        return mishap.effect.on(facts) & mark.keeps | mark.puts


class SlipSearch:
    """Searches what false ticks lead to, from every state that honest ticks reach."""

    def __init__(self, family: Family, rules: Iterable[Rule], honest: Explorer) -> None:
        """Start from the states of *honest*, which has run for the same *family* and *rules*."""
        self.family = family
        self.procedure = family.procedure
        self.honest = honest
        self.end = honest.end
        self.watch = Watch(family, rules)
        self.truth = Truth(family, self.watch)
        nothing = Watch(family, ())
        places = honest.places
        self.belief = Explorer(_belief_chart(family, places, nothing), places, nothing)
        self.table = _table_chart(family, places, self.watch)
        self.known: list[dict[Pair, int]] = [{} for _ in range(self.end + 1)]
        """The kinds that reach each pair without a further false tick."""
        self.waiting: list[list[Tick]] = [[] for _ in range(self.end + 1)]
        self.ticks: list[dict[Pair, Tick]] = []
        self.broken: dict[int, Slip] = {}
        self.moves = 0
        self.states = 0
        self._parts: dict[tuple[object, ...], Part] = {}

    def run(self, most: int) -> None:
        """Visit every state that up to *most* false ticks lead to."""
        level = self._project()
        for number in range(1, most + 1):
            self.ticks = [{} for _ in range(self.end + 1)]
            for place, pairs in enumerate(level):
                for pair, kinds in pairs.items():
                    self._slip(place, pair, kinds, number)
            for place in range(self.end + 1):
                waiting = self.waiting[place]
                for tick in waiting:
                    fresh, tick.waiting = tick.waiting, 0
                    self._visit(tick, fresh, number)
                waiting.clear()
            level = [{pair: t.kinds for pair, t in found.items()} for found in self.ticks]
            self.states += sum(map(len, level))
            for known, found in zip(self.known, level, strict=True):
                for pair, kinds in found.items():
                    known[pair] = known.get(pair, 0) | kinds

    def _project(self) -> list[dict[Pair, int]]:
        """Return the states of the honest search as pairs in which belief and truth agree."""
        chart = self.honest.chart
        for place, nodes in enumerate(self.honest.nodes[: self.end + 1]):
            rows = (
                chart.nominal[place],
                self.belief.chart.nominal[place],
                self.table.nominal[place],
            )
            alike = _alike(rows)
            for node in nodes.values():
                for mask, kind in alike:
                    both = mask & node.kinds
                    if both:
                        state = chart.decode(kind, place, node.code)
                        pair = self._pair(kind, state, state.facts)
                        if pair is not None:
                            self.known[place][pair] = self.known[place].get(pair, 0) | both
        return [dict(pairs) for pairs in self.known]

    def _pair(self, kind: int, believed: State, true: int) -> Pair | None:
        place, code = self.belief.chart.encode(kind, believed)
        if place == STOPPED:
            return None
        return code, self.table.code(kind, place, true)

    def _states(self, place: int, pair: Pair, kind: int) -> tuple[State, int]:
        believed = self.belief.chart.decode(kind, place, pair[0])
        return believed, self.table.decode(kind, place, pair[1]).facts

    def _reach(
        self, kinds: int, kind: int, believed: State, true: int, before: Tick | Pair, key: Key
    ) -> None:
        self.moves += 1
        pair = self._pair(kind, believed, true)
        if pair is None:
            return
        place = believed.place
        kinds &= ~self.known[place].get(pair, 0)
        tick = self.ticks[place].get(pair)
        if tick is None:
            if not kinds:
                return
            tick = self.ticks[place][pair] = Tick(place, pair, before, key)
        fresh = kinds & ~tick.kinds
        if fresh:
            tick.kinds |= fresh
            if not tick.waiting:
                self.waiting[place].append(tick)
            tick.waiting |= fresh

    def _slip(self, place: int, pair: Pair, kinds: int, number: int) -> None:
        """Make each false tick that can be made in one state."""
        if place == self.end:
            return
        for both, kind in self._classes(place, pair, kinds):
            believed, true = self._states(place, pair, kind)
            if ended(self.procedure, believed):
                continue
            step = step_to_do(self.procedure, believed)
            if isinstance(step.ask, Act | Hold | Question):
                ticked = after_outcome(self.procedure, believed, step, step.outcomes[0])
                self._finish(both, ticked, true, number, pair)
                self._reach(both, kind, ticked, true, pair, ("ticked", step.id, ""))
                self._check(both, key_of(step, 0), true, number, pair)
                self._reach(
                    both,
                    kind,
                    believed,
                    self.truth.after(true, step, 0),
                    pair,
                    ("unticked", step.id, ""),
                )

    def _visit(self, tick: Tick, kinds: int, number: int) -> None:
        place, pair = tick.place, (tick.code, tick.truth)
        for both, kind in self._classes(place, pair, kinds):
            believed, true = self._states(place, pair, kind)
            if ended(self.procedure, believed):
                continue
            for mishap in possible(self.procedure, believed):
                self._check(both, told_key(mishap), true, number, tick)
                if mishap.id not in self.belief.chart.calling:
                    after = after_mishap(self.procedure, believed, mishap)
                    self._reach(
                        both, kind, after, self.truth.told(true, mishap), tick, told_key(mishap)
                    )
            back = after_return(self.procedure, believed)
            self._reach(both, kind, back, self.truth.left(true), tick, LEFT)
            step = step_to_do(self.procedure, believed)
            for outcome in self._honest(step, true):
                self._check(both, key_of(step, outcome), true, number, tick)
                on = after_outcome(self.procedure, believed, step, step.outcomes[outcome])
                done = self.truth.after(true, step, outcome)
                self._finish(both, on, done, number, tick)
                self._reach(both, kind, on, done, tick, key_of(step, outcome))

    def _honest(self, step: Step, true: int) -> Iterator[int]:
        """Yield the numbers of the answers that are no lie: what is not so is not seen."""
        for number in range(len(step.outcomes)):
            if number or not isinstance(step.ask, Question) or not true & step.ask.sees:
                yield number

    def _check(self, kinds: int, key: Key, true: int, number: int, before: Tick | Pair) -> None:
        for check in self.watch.marks[key].checks:
            if kinds & check.kinds and not check.holds(true):
                self._break(check, kinds, number, before, key)

    def _finish(
        self, kinds: int, believed: State, true: int, number: int, before: Tick | Pair
    ) -> None:
        if believed.place == self.end:
            for check in self.watch.finish:
                if kinds & check.kinds and not check.holds(true):
                    self._break(check, kinds, number, before, FINISH)

    def _break(self, check: Check, kinds: int, number: int, before: Tick | Pair, key: Key) -> None:
        old = self.broken.get(check.rule)
        if old is None:
            self.broken[check.rule] = Slip(check.rule, kinds & check.kinds, number, before, key)
        elif old.ticks == number:
            self.broken[check.rule] = old._replace(kinds=old.kinds | kinds & check.kinds)

    def _classes(self, place: int, pair: Pair, kinds: int) -> Iterator[tuple[int, int]]:
        """Yield the classes of *kinds* that all moves of one state treat alike."""
        for mask, kind in self._part(place, bool(pair[0] & self.procedure.alarms)):
            if mask & kinds:
                yield mask & kinds, kind

    def _part(self, place: int, calling: bool) -> Part:
        known = self._parts.get((place, calling))
        if known is None:
            known = self._parts[place, calling] = self._divided(place, calling)
        return known

    def _divided(self, place: int, calling: bool) -> Part:
        """Part the kinds by all that any move at *place* can tell apart."""
        here, steps = self.honest.places[place], doable(self.family, self.honest.places[place])
        upto = self.belief.chart.spans[place]
        facts = -1 if calling else self.family.facts
        engine = [mask for s in steps for mask in (s.needs, s.only_if)]
        engine += [m.at for m in here.mishaps] + [r.only_if & facts for r in here.responses]
        engine += self.belief.table.fading
        engine += [s.only_if for s in self.procedure.steps[place : min(upto + 1, self.end)]]
        table = [*self.watch.reads_of(steps), *self.watch.told_reads(here.mishaps)]
        table += [s.ask.sees for s in steps if isinstance(s.ask, Question)]
        table += self.watch.finish_reads if upto == self.end else ()
        puts = self.belief.table.faded
        for effect in (o.effect for s in steps for o in s.outcomes):
            puts |= effect.puts
        for mishap in here.mishaps:
            puts |= mishap.effect.puts | self.watch.marks[told_key(mishap)].written
        puts |= self.watch.written_by(steps) | self.watch.marks[LEFT].written
        first = self.belief.chart.part(place, engine, puts & self.family.facts, upto)
        second = self.table.part(place, table + self.belief.table.fading, puts, upto)
        return tuple(
            (both, (both & -both).bit_length() - 1)
            for mine, _ in first
            for yours, _ in second
            if (both := mine & yours)
        )


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
        looks = [s.ask.sees for s in steps if isinstance(s.ask, Question)]
        reads.append([*looks, *watch.reads_of(steps), *watch.told_reads(here.mishaps)])
    reads[-1] += watch.finish_reads
    for here in reversed(places):
        later |= watch.bits_of(doable(family, here), here.mishaps)
        live.append(later)
    seen = lenses(family, places, reads, family.facts)
    return Chart(family, seen, tuple(reversed(live)), watch)


def _alike(rows: tuple[tuple[int, ...], ...]) -> Part:
    """Part the kinds by their place in all of *rows*."""
    classes: dict[tuple[int, ...], list[int]] = {}
    for kind, key in enumerate(zip(*rows, strict=True)):
        classes.setdefault(key, [0, kind])[0] |= 1 << kind
    return tuple((kinds, kind) for kinds, kind in classes.values())
