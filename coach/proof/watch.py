"""What the rules keep in mind while a dose goes on, and what they look at.

Owns one bit for each rule that speaks of what came before: set while the thing that it guards may
be done. The bits ride above those of the facts and choices, where no effect touches them. It must
never choose a move.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

import msgspec

from coach.engine import State
from coach.procedure.model import Mishap, Step, Stop
from coach.proof.family import Family
from coach.proof.rules import NOTHING, Event, Rule

Key = tuple[str, str, str]
"""What happened: ``step`` with its id and the name of its ending, ``told`` with a mishap, or
``left``."""

LEFT: Key = ("left", "", "")


class Check(msgspec.Struct, frozen=True):
    """What one rule asks when the thing that it guards is done."""

    rule: int
    """Its place among the rules."""
    kinds: int
    """The kinds that it speaks of, as bits."""
    bit: int
    """The bit that must be set before; 0 if the rule needs none."""
    given: int
    """Bits that must be absent before for the rule to ask anything."""
    unless: int
    """Bits that must be absent before."""
    never: bool
    """Whether the thing is never done at all."""

    def holds(self, facts: int) -> bool:
        """Tell whether the rule holds for a move from the state of *facts*."""
        if facts & self.given:
            return True
        return (
            not self.never and not facts & self.unless and (not self.bit or facts & self.bit != 0)
        )


class Mark(msgspec.Struct, frozen=True):
    """What one move means to the rules."""

    checks: tuple[Check, ...] = ()
    keeps: int = -1
    puts: int = 0

    @property
    def reads(self) -> tuple[int, ...]:
        """The masks that its rules hold the facts and bits against."""
        return tuple(mask for c in self.checks for mask in (c.given, c.unless, c.bit) if mask)

    @property
    def written(self) -> int:
        """The bits of the rules that it sets or clears."""
        return ~self.keeps | self.puts


NO_MARK = Mark()
"""What a move means that no rule speaks of."""


class Watch:
    """The rules, put together for one family."""

    def __init__(self, family: Family, rules: Iterable[Rule]) -> None:
        """Give each rule that needs one its bit."""
        self.family = family
        self.rules = tuple(rules)
        low = family.facts | family.choices
        self.bits: dict[int, int] = {}
        for place, rule in enumerate(self.rules):
            if rule.form == "only" or (rule.form == "never" and rule.after != NOTHING):
                self.bits[place] = 1 << low.bit_length() + len(self.bits)
        self.all = sum(self.bits.values())
        self.start = sum(b for place, b in self.bits.items() if self.rules[place].form == "never")
        self._named: dict[str, list[Key]] = {}
        """All that can happen, by the step or mishap that it is about; a call is a way to leave."""
        for key in _keys(family):
            self._named.setdefault(key[1], []).append(key)
        self._left = [key for keys in self._named.values() for key in keys if key[0] == "left"]
        self.marks: Mapping[Key, Mark] = self._marks()
        self.finish = tuple(
            self._check(place, rule) for place, rule in enumerate(self.rules) if rule.event.finished
        )
        """What is asked when the end of the list is come to."""

    def marked(self, state: State, key: Key) -> State:
        """Return *state* with the bits of the rules as *key* leaves them."""
        mark = self.marks[key]
        return State(state.facts & mark.keeps | mark.puts, state.place)

    def reads_of(self, steps: Iterable[Step]) -> Iterator[int]:
        """Yield the masks that rules hold the facts against when one of *steps* is done."""
        for mark in self._marks_of(steps):
            yield from mark.reads

    def told_reads(self, mishaps: Iterable[Mishap]) -> Iterator[int]:
        """Yield the masks that rules hold the facts against when one of *mishaps* is told.

        With those for a return to the table, which can come at any time.
        """
        yield from self.marks[LEFT].reads
        for mishap in mishaps:
            yield from self.marks[told_key(mishap)].reads

    @property
    def finish_reads(self) -> tuple[int, ...]:
        """The masks that rules hold the facts against at the end."""
        return tuple(mask for c in self.finish for mask in (c.given, c.unless, c.bit) if mask)

    def bits_of(self, steps: Iterable[Step], mishaps: Iterable[Mishap]) -> int:
        """Return the bits of the rules that guard any of *steps* and *mishaps*, or the end."""
        marks = [
            *self._marks_of(steps),
            *(self.marks[told_key(m)] for m in mishaps),
            self.marks[LEFT],
        ]
        found = 0
        for check in (*self.finish, *(check for mark in marks for check in mark.checks)):
            found |= check.bit
        return found

    def _marks_of(self, steps: Iterable[Step]) -> Iterator[Mark]:
        for step in steps:
            for outcome in range(len(step.outcomes)):
                yield self.marks[key_of(step, outcome)]

    def cases(self, event: Event) -> set[Key]:
        """Return all that can happen of which *event* speaks."""
        found = {("told", name, "") for name in event.told}
        found |= {("step", name, "") for name in event.done}
        found |= {key for name in event.tried for key in self._named.get(name, ())}
        return found | set(self._left if event.left else ())

    def _marks(self) -> dict[Key, Mark]:
        checks: dict[Key, list[Check]] = {k: [] for keys in self._named.values() for k in keys}
        cleared, put = dict.fromkeys(checks, 0), dict.fromkeys(checks, 0)
        for place, rule in enumerate(self.rules):
            if rule.form not in ("only", "never", "always"):
                continue
            check = self._check(place, rule)
            for key in self.cases(rule.event) & checks.keys():
                checks[key].append(check)
            lifts, sets = rule.since, rule.after
            if rule.form == "never":
                lifts, sets = sets, lifts
            for key in self.cases(lifts) & checks.keys():
                cleared[key] |= check.bit
            for key in self.cases(sets) & checks.keys():
                put[key] |= check.bit
        return {k: Mark(tuple(checks[k]), ~(cleared[k] | put[k]), put[k]) for k in checks}

    def _check(self, place: int, rule: Rule) -> Check:
        kinds = self.family.fitting(rule.when)
        bit = self.bits.get(place, 0)
        never = rule.form == "never" and not bit
        return Check(place, kinds, bit, rule.given, rule.unless, never)


def happens(event: Event, key: Key) -> bool:
    """Tell whether *key* is a case of *event*."""
    what, name, ending = key
    if what == "told":
        return name in event.told
    if what == "left":
        return event.left or name in event.tried
    return name in event.tried or (ending == "" and name in event.done)


def key_of(step: Step, outcome: int) -> Key:
    """Return what happens when *step* ends in the outcome of that number; the hoped one is ''.

    A call is a way of leaving the table.
    """
    if isinstance(step.ask, Stop):
        return "left", step.id, step.outcomes[outcome].name
    return "step", step.id, "" if outcome == 0 else step.outcomes[outcome].name


def told_key(mishap: Mishap) -> Key:
    """Return what happens when *mishap* is told."""
    return "told", mishap.id, ""


def _keys(family: Family) -> Iterable[Key]:
    yield LEFT
    for step in family.procedure.steps + family.procedure.responses:
        for outcome in range(len(step.outcomes)):
            yield key_of(step, outcome)
    for mishap in family.procedure.mishaps:
        yield told_key(mishap)
