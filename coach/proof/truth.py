"""What is true on the table while false ticks are made: what is done to it, and what is seen.

Owns the account of the table. It is moved by what is really done, and the rules look at it; kinds
are parted, and what was changed once is remembered, as in the honest search. It must never know
what the coach believes.
"""

from __future__ import annotations

from typing import NamedTuple

from coach.engine import State, after_return
from coach.procedure.model import Act, Mishap, Outcome, Question, Step, Stop
from coach.proof.chart import Chart
from coach.proof.cone import sum_bits
from coach.proof.page import Making
from coach.proof.watch import LEFT, NO_MARK, Check, Key, Mark, Watch, key_of, told_key

NOTHING_DONE: Key = ("nothing", "", "")
"""An answer was given, and nothing was done."""


class Checked(NamedTuple):
    """The rules that something breaks."""

    broken: tuple[Check, ...]
    unfinished: tuple[Check, ...]
    """Those that are broken at the end of the list, if it leads there."""


class Case(NamedTuple):
    """What one thing that is done is to the table, wherever nothing with a say in it differs."""

    honest: bool
    """Whether it can come out so: what is not so is not seen."""
    keeps: int
    """The bits of the code that it leaves alone, if the place stays the same."""
    puts: int
    checked: Checked | None
    """What it breaks, if anything."""


class Does:
    """One thing that is done to the table, alike for some kinds, between two places."""

    __slots__ = ("cases", "key", "kinds", "place", "reads", "to", "writes")

    def __init__(self, kinds: int, key: Key, place: int, to: int, reads: int, writes: int) -> None:
        """Do what *key* says at *place*, while the list comes *to* another or the same place.

        The bits of *reads* have a say in what it does, and it changes those of *writes* in any
        case.
        """
        self.kinds = kinds
        self.key = key
        self.place = place
        self.to = to
        self.reads = reads
        self.writes = writes
        self.cases: dict[int, Case] = {}
        """What it is to the table, by those bits of the code that have a say in it."""


class Truth:
    """What is true on the table, moved by what is really done."""

    def __init__(self, chart: Chart, watch: Watch) -> None:
        """Follow the table as *chart* codes it, with an eye on the rules of *watch*."""
        self.chart = chart
        self.watch = watch
        self.procedure = chart.family.procedure
        self.end = len(self.procedure.steps)
        self._made: dict[Key, Making] = {LEFT: None}
        for step in (*self.procedure.steps, *self.procedure.responses):
            for number, outcome in enumerate(step.outcomes):
                self._made[key_of(step, number)] = step, outcome
        self._made |= {told_key(mishap): mishap for mishap in self.procedure.mishaps}
        self._known: dict[tuple[Key, int, int], tuple[Does, ...]] = {}

    def mark(self, key: Key) -> Mark:
        """Return what *key* means to the rules."""
        return NO_MARK if key == NOTHING_DONE else self.watch.marks[key]

    def does(self, key: Key, place: int, to: int) -> tuple[Does, ...]:
        """Return what *key* does at *place* on the way *to* another, for each class of kinds."""
        known = self._known.get((key, place, to))
        if known is None:
            reads, puts = self._depends(key)
            reads += self.watch.finish_reads if to == self.end else ()
            held, surely = self.chart.fields(sum_bits(reads)), self._surely(key)
            parts = self.chart.part(place, reads, puts, to)
            known = tuple(Does(kinds, key, place, to, held, surely) for kinds, _ in parts)
            self._known[key, place, to] = known
        return known

    def _depends(self, key: Key) -> tuple[list[int], int]:
        """Return the masks that *key* holds the table against, and the bits that it puts."""
        reads, puts = list(self.mark(key).reads), self.mark(key).written
        if key == NOTHING_DONE:
            return reads, puts
        made = self._made[key]
        if isinstance(made, Mishap):
            return reads, puts | made.effect.puts
        if made is not None:
            puts |= made[1].effect.puts
            reads += [_seen(made[0])]
        if made is None or isinstance(made[0].ask, Stop):
            reads += self.procedure.fading
            puts |= sum_bits(effect.puts for effect in self.procedure.fading.values())
            puts |= self.watch.marks[LEFT].written
        return reads, puts

    def _surely(self, key: Key) -> int:
        """Return the bits of the code that *key* changes in any case."""
        puts = self.mark(key).written
        made = self._made.get(key)
        if isinstance(made, Mishap):
            puts |= made.effect.puts
        elif made is not None:
            # What is looked at is as it is, and is read besides.
            puts |= made[1].effect.puts & ~self.chart.fields(_seen(made[0]))
            puts |= self.watch.marks[LEFT].written if isinstance(made[0].ask, Stop) else 0
        return self.chart.fields(puts)

    def case(self, does: Does, kind: int, true: int) -> Case:
        """Find out what *does* is to a table with the code *true* in a dose of *kind*."""
        facts = self.chart.decode(kind, does.place, true).facts
        after = self.after(does.key, facts)
        broken = tuple(c for c in self.mark(does.key).checks if not c.holds(facts))
        finish = self.watch.finish if does.to == self.end else ()
        unfinished = tuple(check for check in finish if not check.holds(after))
        keeps, puts = -1, 0
        if does.place == does.to:
            code = self.chart.code(kind, does.to, after)
            then = self.chart.decode(kind, does.to, code).facts
            changed = self.chart.fields(facts ^ then) | does.writes
            keeps, puts = ~changed, code & changed
        checked = Checked(broken, unfinished) if broken or unfinished else None
        found = Case(self._is_honest(does.key, facts), keeps, puts, checked)
        does.cases[true & does.reads] = found
        return found

    def moved_on(self, key: Key, kind: int, place: int, true: int, to: int) -> int:
        """Return the code, at the place *to*, of what is true after *key* is done to *true*."""
        facts = self.chart.decode(kind, place, true).facts
        return self.chart.code(kind, to, self.after(key, facts))

    def after(self, key: Key, facts: int) -> int:
        """Return what is true on a table of *facts* after what *key* says was done."""
        if key == NOTHING_DONE:
            return facts
        made, mark = self._made[key], self.watch.marks[key]
        if made is None:
            return self._left(facts)
        if isinstance(made, Mishap):
            return made.effect.on(facts) & mark.keeps | mark.puts
        step, outcome = made
        if isinstance(step.ask, Stop):
            facts = self._left(facts)
        if key[2] and facts & _seen(step):
            facts = self._besides(facts, _seen(step), outcome)
        else:
            facts = outcome.effect.on(facts)
        return facts & mark.keeps | mark.puts

    def _besides(self, facts: int, sees: int, outcome: Outcome) -> int:
        """Apply *outcome*, but for what was looked at: that is as it is."""
        looked = self.chart.fields(sees)
        return outcome.effect.on(facts) & ~looked | facts & looked

    def _left(self, facts: int) -> int:
        """Return what is true when the table was left and somebody came back to it."""
        facts = after_return(self.procedure, State(facts, 0)).facts
        mark = self.watch.marks[LEFT]
        return facts & mark.keeps | mark.puts

    def _is_honest(self, key: Key, facts: int) -> bool:
        """Tell whether *key* is no lie: what is not so is not seen, and cannot be done."""
        made = self._made.get(key)
        return not isinstance(made, tuple) or bool(key[2]) or not facts & _seen(made[0])


def _seen(step: Step) -> int:
    """Return the bits that must be absent on the table for *step* to be done or answered so."""
    return step.ask.sees if isinstance(step.ask, Act | Question) else 0
