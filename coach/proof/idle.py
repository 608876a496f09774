"""When what a rule keeps in mind does not matter, whatever it is.

Owns that analysis of the rules of one family. It looks at what each thing asks for and puts, and
at nothing else. It must never follow a dose; that is the engine's.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import NamedTuple

from coach.procedure.model import Procedure
from coach.proof.watch import LEFT, Key, Watch, key_of, told_key


class _Effect(NamedTuple):
    """What one thing that can happen puts, and which bits of the rules it sets or clears."""

    at: int
    """Bits that must be absent before."""
    puts: int
    written: int


def idle_bits(watch: Watch) -> dict[int, int]:
    """Return for each bit the values of facts with which it does not matter.

    With such a value nothing that the bit guards can be done, and whatever takes the value away
    sets or clears the bit. So two states that differ in the bit alone have the same future.
    """
    effects = list(_effects(watch))
    about = {f: [e for e in effects if e.puts & f] for f in watch.family.fields}
    found: dict[int, int] = {}
    for bit, values in _unguarded(watch).items():
        idle = 0
        for field in (field & watch.family.facts for field in about if field & values):
            silent = [effect for effect in about.get(field, ()) if not effect.written & bit]
            idle |= _lasting(values & field, field, silent)
        if idle:
            found[bit] = idle
    return found


def _unguarded(watch: Watch) -> dict[int, int]:
    """Return for each bit the values with any of which nothing that it guards can be done."""
    procedure = watch.family.procedure
    guarded = [(watch.marks[LEFT], 0)]
    guarded += [(watch.marks[told_key(mishap)], mishap.at) for mishap in procedure.mishaps]
    guarded += [(watch.marks[key], asked) for key, _, asked in _endings(procedure)]
    found: dict[int, int] = dict.fromkeys(watch.bits.values(), -1)
    for mark, asked in guarded:
        for check in mark.checks:
            if check.bit:
                found[check.bit] &= asked
    return found | {check.bit: 0 for check in watch.finish if check.bit}


def _effects(watch: Watch) -> Iterator[_Effect]:
    """Yield all that can happen to the facts; what fades does so at a return, and at a call."""
    procedure = watch.family.procedure
    fades = tuple((bit, effect.puts) for bit, effect in procedure.fading.items())
    for mishap in procedure.mishaps:
        yield _Effect(mishap.at, mishap.effect.puts, watch.marks[told_key(mishap)].written)
    yield from _fading(watch, fades, LEFT)
    for key, puts, asked in _endings(procedure):
        yield _Effect(asked, puts, watch.marks[key].written)
        if key[0] == "left":
            yield from _fading(watch, fades, key)


def _endings(procedure: Procedure) -> Iterator[tuple[Key, int, int]]:
    """Yield each way in which a step can end: what it puts, and what must be absent before it.

    A response is asked for whatever it needs.
    """
    for step in procedure.steps:
        for number, outcome in enumerate(step.outcomes):
            yield key_of(step, number), outcome.effect.puts, step.only_if | step.needs
    for response in procedure.responses:
        for number, outcome in enumerate(response.outcomes):
            yield key_of(response, number), outcome.effect.puts, response.only_if


def _fading(watch: Watch, fades: Iterable[tuple[int, int]], key: Key) -> Iterator[_Effect]:
    for bit, puts in fades:
        field = next(field for field in watch.family.fields if field & bit)
        yield _Effect(field & ~bit, puts, watch.marks[key].written)


def _lasting(values: int, field: int, effects: list[_Effect]) -> int:
    """Return those of *values* of *field* that none of *effects* takes away for one not of them."""
    before = -1
    while before != values:
        before = values
        for effect in effects:
            if not effect.puts & values:
                values &= ~field | effect.at
    return values
