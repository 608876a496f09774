"""When what a rule keeps in mind, or what is true on the table, does not matter.

Owns that analysis of the rules of one family. It looks at what each thing asks for and puts, and
at nothing else. It must never follow a dose; that is the engine's.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import NamedTuple

from coach.procedure.model import Act, Question, Step
from coach.proof.chart import Chart
from coach.proof.cone import Lens, sum_bits
from coach.proof.page import Node
from coach.proof.watch import LEFT, Key, Watch, key_of, told_key


class Resting:
    """Tells what is idle by what the coach believes, where no rule has a say in that."""

    def __init__(self, chart: Chart, idle: Mapping[int, int]) -> None:
        """Look at what *chart* codes; *idle* says with which values each thing is so."""
        self.chart = chart
        self.idle: dict[int, int] = {}
        """By the values that make them so: what is idle."""
        for thing, values in idle.items():
            self.idle[values] = self.idle.get(values, 0) | thing
        self._places: dict[int, tuple[tuple[int, int], ...]] = {}
        self._asked = chart.fields(sum_bits(self.idle))
        self._known: dict[tuple[int, int], list[tuple[int, int]]] = {}

    def idle_in(self, node: Node) -> int:
        """Return what is idle in *node* whichever of its kinds is in it."""
        key = node.place, node.code & self._asked
        if key not in self._known:
            self._known[key] = list(self._kinds(*key))
        return sum_bits(things for things, kinds in self._known[key] if not node.kinds & ~kinds)

    def _kinds(self, place: int, code: int) -> Iterator[tuple[int, int]]:
        """Yield what is idle at *place* with *code*, and the kinds for whom it is so."""
        chart = self.chart
        told = chart.fields(code)
        for things, values in self._values(place):
            kinds = chart.all_kinds if code & values else chart.having(place, values & ~told)
            if kinds:
                yield things, kinds

    def _values(self, place: int) -> tuple[tuple[int, int], ...]:
        """Return what can be idle, with the values that make it so and stand for no others."""
        known = self._places.get(place)
        if known is None:
            lens = self.chart.lenses[place]
            known = self._places[place] = tuple(
                (things, values & ~lens.puts & ~_standing_for_more(lens, values))
                for values, things in self.idle.items()
            )
        return known


def _standing_for_more(lens: Lens, values: int) -> int:
    """Return the bits that stand for others, by *lens*, than *values*."""
    return sum_bits(stands for group, stands in lens.merges if group & ~values)


class _Happening(NamedTuple):
    """One thing that can happen: what it is held against, and what it changes."""

    at: int
    """Bits that must be absent before, by what is believed."""
    reads: int
    """The bits that something is held against then."""
    puts: int
    written: int
    """The bits of rules that it sets or clears, and the facts that it puts whatever they were."""


def idle_bits(watch: Watch) -> dict[int, int]:
    """Return for each bit of a rule the values of facts with which it does not matter.

    With such a value nothing that the bit guards can be done, and whatever takes the value away
    sets or clears the bit. So two states that differ in the bit alone have the same future.
    """
    return _idle(watch, watch.bits.values())


def idle_truths(watch: Watch) -> dict[int, int]:
    """Return for each bit of a rule, and each fact, with which beliefs it does not matter.

    That is so where what is done is what is believed: with such a belief nothing that asks for the
    fact can be done, and whatever takes the belief away makes the fact what is then believed.
    """
    facts = (field for field in watch.family.fields if field & watch.family.facts)
    return _idle(watch, (*watch.bits.values(), *facts))


def _idle(watch: Watch, things: Iterable[int]) -> dict[int, int]:
    every = list(_happenings(watch))
    facts = [field for field in watch.family.fields if field & watch.family.facts]
    about = [(field, [one for one in every if one.puts & field]) for field in facts]
    asking = [one for one in every if one.reads]
    found: dict[int, int] = {}
    for thing in things:
        silent = -1
        for one in asking:
            if one.reads & thing:
                silent &= one.at
        idle = 0
        for field, changes in about if silent > 0 else ():
            if silent & field:
                kept = [one for one in changes if not one.written & thing]
                idle |= _lasting(silent & field, field, kept)
        if idle:
            found[thing] = idle
    return found


def _happenings(watch: Watch) -> Iterator[_Happening]:
    """Yield all that can happen; what fades does so at a return, and at a call."""
    procedure, marks, fields = watch.family.procedure, watch.marks, watch.family.fields
    yield _Happening(0, sum_bits((*marks[LEFT].reads, *watch.finish_reads)), 0, 0)
    yield from _fading(watch, LEFT)
    for mishap in procedure.mishaps:
        mark, puts = marks[told_key(mishap)], mishap.effect.puts
        put = sum_bits(field for field in fields if field & puts)
        yield _Happening(mishap.at, sum_bits(mark.reads), puts, put | mark.written)
    for step in procedure.steps:
        yield from _endings(watch, step, step.only_if | step.needs)
    for response in procedure.responses:
        # A response is asked for whatever it needs.
        yield from _endings(watch, response, response.only_if)


def _endings(watch: Watch, step: Step, at: int) -> Iterator[_Happening]:
    """Yield each way in which *step* can end, which is asked for if none of *at* is so."""
    sees = step.ask.sees if isinstance(step.ask, Act | Question) else 0
    looked = sum_bits(field for field in watch.family.fields if field & sees)
    for number, outcome in enumerate(step.outcomes):
        key, puts = key_of(step, number), outcome.effect.puts
        mark = watch.marks[key]
        put = sum_bits(field for field in watch.family.fields if field & puts)
        # What was looked at and is not as it should be stays as it is.
        put &= ~looked if key[2] else -1
        yield _Happening(at, sum_bits(mark.reads) | sees, puts, put | mark.written)
        if key[0] == "left":
            yield from _fading(watch, key)


def _fading(watch: Watch, key: Key) -> Iterator[_Happening]:
    """Yield the fading of each value at *key*, which is a way of leaving the table."""
    for bit, effect in watch.family.procedure.fading.items():
        field = next(field for field in watch.family.fields if field & bit)
        yield _Happening(field & ~bit, 0, effect.puts, watch.marks[key].written)


def _lasting(values: int, field: int, changes: list[_Happening]) -> int:
    """Return those of *values* of *field* that none of *changes* takes away for one not of them."""
    before = -1
    while before != values:
        before = values
        for one in changes:
            if not one.puts & values:
                values &= ~field | one.at
    return values
