"""Tells which wrong changes hurt nobody, by how they are built and by where they lead.

Owns these reasons: neighbours that have nothing to do with each other, a response that is never
asked for by those who are asked for it now, and an answer after which somebody is called. It must
never look at a rule.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from msgspec.structs import replace

from coach.procedure.compose import fits, start_of
from coach.procedure.model import Act, Mishap, Outcome, Question, Source, Step, Stop, Wait, Within
from coach.proof.cone import lowest
from coach.proof.explore import Explorer
from coach.proof.family import kinds_of
from coach.proof.story import response_in
from coach.proof.structure import _call_after
from coach.proof.watch import key_of
from tests.mutants.operators import Mutant

COMMUTES = "(neighbours that change nothing for each other)"
"""Both are done all the same, and neither sets or looks at what the other sets."""
NEVER_ASKED = "(asked of some more, for whom it never holds)"
"""The fact that it waits for has no such value with their order sheets, or another comes first."""
CALLS = "(a call comes instead of another try)"
"""After an answer somebody is called, where something was tried or done first."""
OTHER_CARD = "(the same one is called, by another card)"
"""The dose ends with a call, to whom it should be; the card speaks of another trouble."""

REASONS = (COMMUTES, NEVER_ASKED, CALLS, OTHER_CARD)
"""Every reason why a change that no rule rejects hurts nobody."""


def reason_by_build(right: Source, mutant: Mutant) -> str:
    """Return why *mutant* hurts nobody, by how it is built; or nothing."""
    if mutant.id.startswith("swapped ") and _commutes(right, mutant):
        return COMMUTES
    return (
        NEVER_ASKED if mutant.id.startswith("when-dropped ") and _never_asked(right, mutant) else ""
    )


def reason_by_search(right: Source, mutant: Mutant, explorer: Explorer) -> str:
    """Return why *mutant*, in which *explorer* found nothing wrong, hurts nobody; or nothing."""
    changed = list(_changed(right, mutant))
    if not changed:
        return ""
    if all(_may_call(right, explorer, *one) for one in changed):
        return OTHER_CARD if any(_surely_calls(right, old) for _, _, old in changed) else CALLS
    return ""


def _may_call(right: Source, explorer: Explorer, step: Step, number: int, old: Outcome) -> bool:
    """Tell whether an answer now always leads to a call, and to the one whom it led to rightly."""
    called = _surely_calls(right, old)
    now = list(_called(explorer, step, number))
    return bool(now) and all(
        one is not None and (called is None or one.call == called.call) for one in now
    )


def _commutes(right: Source, mutant: Mutant) -> bool:
    """Tell whether the two steps, and those between, have nothing to do with each other."""
    ids = [step.id for step in right.steps]
    first, last = (ids.index(name) for name in mutant.touches)
    ends = right.steps[first], right.steps[last]
    between = right.steps[first + 1 : last]
    pairs = [ends, *((end, step) for step in between for end in ends)]
    return all(_apart(right, one, other) for one, other in pairs)


def _apart(source: Source, one: Step, other: Step) -> bool:
    """Tell whether neither sets what the other sets or looks at, or never are both asked for."""
    if any(not set(v) & set(other.when.get(n, v)) for n, v in one.when.items()):
        return True
    return not (_written(source, one) & _touched(source, other)) and not (
        _written(source, other) & _touched(source, one)
    )


def _written(source: Source, step: Step) -> frozenset[str]:
    return frozenset(fact for outcome in step.outcomes for fact in outcome.sets)


def _touched(source: Source, step: Step) -> frozenset[str]:
    """Return the facts that *step* sets, or that have a say in whether it is done and how."""
    ask = step.ask
    mask = step.needs | step.only_if
    mask |= ask.sees if isinstance(ask, Act | Question) else 0
    mask |= ask.runs_while if isinstance(ask, Wait) else 0
    facts = {name for name, bits in source.table.masks.items() if bits & mask}
    facts |= {ask.since} if isinstance(ask, Wait) else set()
    facts |= {ask.since[0]} if isinstance(ask, Within) else set()
    return _written(source, step) | facts


def _never_asked(right: Source, mutant: Mutant) -> bool:
    """Tell whether the step or mishap never comes up for those who are asked for it now."""
    old, new = (_named(source, mutant.touches[0]) for source in (right, mutant.source))
    if old is None or new is None:
        return False
    more = [kind for kind in kinds_of(right) if fits(new.when, kind) and not fits(old.when, kind)]
    return all(
        _cannot_be(mutant.source, new, kind) or _comes_late(mutant.source, new, kind)
        for kind in more
    )


def _named(source: Source, name: str) -> Step | Mishap | None:
    every: tuple[Step | Mishap, ...] = (*source.steps, *source.responses, *source.mishaps)
    return next((one for one in every if one.id == name), None)


def _cannot_be(source: Source, one: Step | Mishap, kind: Mapping[str, str]) -> bool:
    """Tell whether some fact never has a value that *one* asks for, with a sheet of *kind*."""
    can = start_of(source, kind)
    for step in (*source.steps, *source.responses):
        if fits(step.when, kind):
            for outcome in step.outcomes:
                can |= outcome.effect.puts
    for mishap in source.mishaps:
        if fits(mishap.when, kind):
            can |= mishap.effect.puts
    unless = one.at if isinstance(one, Mishap) else one.only_if
    for fact in source.table.facts:
        for value, becomes in fact.fades.items():
            if can & source.table.bits[fact.name, value]:
                can |= source.table.bits[fact.name, becomes]
    return any(not can & mask & ~unless for mask in source.table.masks.values())


def _comes_late(source: Source, one: Step | Mishap, kind: Mapping[str, str]) -> bool:
    """Tell whether another response comes first whenever *one* would be asked for."""
    if isinstance(one, Mishap):
        return False
    for response in source.responses if one in source.responses else ():
        if response is one:
            return False
        if fits(response.when, kind) and not response.only_if & ~one.only_if:
            return True
    return False


def _changed(right: Source, mutant: Mutant) -> Iterator[tuple[Step, int, Outcome]]:
    """Yield the answers that lead elsewhere than they should, as they should be.

    Nothing, where more than answers was changed, or what is hoped for of a step in order.
    """
    name = mutant.touches[0]
    old, new = (
        next((s for s in (*source.steps, *source.responses) if s.id == name), None)
        for source in (right, mutant.source)
    )
    if old is None or new is None:
        return
    in_order = any(step is old for step in right.steps)
    if old != replace(new, outcomes=old.outcomes) or len(old.outcomes) != len(new.outcomes):
        return
    if in_order and old.outcomes[0] != new.outcomes[0]:
        return
    for number, (mine, theirs) in enumerate(zip(old.outcomes, new.outcomes, strict=True)):
        if mine != theirs:
            yield new, number, mine


def _surely_calls(source: Source, outcome: Outcome) -> Stop | None:
    """Return the call that *outcome* leads to whatever else is so; None if there is none."""
    puts, fields = outcome.effect.puts, source.table.masks.values()
    return next(
        (
            r.ask
            for r in source.responses
            if isinstance(r.ask, Stop)
            and all(puts & f and not puts & f & r.only_if for f in fields if f & r.only_if)
        ),
        None,
    )


def _called(explorer: Explorer, step: Step, number: int) -> Iterator[Stop | None]:
    """Yield the call that an answer leads to, wherever it can be given; None where to none."""
    key = key_of(step, number)
    stops = {r.id: r.ask for r in explorer.procedure.responses if isinstance(r.ask, Stop)}
    for node in (node for nodes in explorer.nodes for node in nodes.values()):
        for kinds, what, target in node.edges:
            both = kinds & node.kinds
            if what != key or not both:
                continue
            if target is explorer.call:
                yield stops.get(_call_after(explorer, node, lowest(both), key))
            else:
                response = response_in(explorer, lowest(both), target)
                yield stops.get(response.id) if response is not None else None
