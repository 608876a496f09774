"""What can be so at each place of the list, and what can still matter there.

Owns two analyses of a family. Forward: the values that each fact can have at each place, fact by
fact, which is more than what is reached but never less. Backward: which values are still told
apart by anything from there on. Two states that differ only in what nothing tells apart any more
have the same future, so one of them can stand for both: that is exact, and it is what makes the
search small. It must never follow a dose; that is the engine's.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from itertools import product

import msgspec

from coach.procedure.facts import Effect
from coach.procedure.model import Mishap, Outcome, Procedure, Step
from coach.proof.family import Family

MOST_CASES = 256
"""How many combinations are tried to show that a value always calls for a response."""


class Here(msgspec.Struct, frozen=True):
    """What can be so, and what can happen, while the list stands at one place."""

    arriving: int
    """The bits that can be set on coming here, before what is not asked for is passed over."""
    staying: int
    """The bits that can be set while the step here is the next in order; 0 if it never is."""
    steps: tuple[int, ...]
    """The places of the steps that can be done: the one here, and all on the way back from it."""
    responses: tuple[Step, ...]
    mishaps: tuple[Mishap, ...]


class Lens(msgspec.Struct, frozen=True):
    """Which values are one and the same at one place."""

    keeps: int
    puts: int
    merges: tuple[tuple[int, int], ...]
    """Groups of bits, and the bit that stands for each."""
    merged: int
    """All bits of these groups."""
    _known: dict[int, int] = msgspec.field(default_factory=dict)
    """What stands for those bits of a state."""

    def on(self, facts: int) -> int:
        """Return the state of *facts* that stands for all with the same future."""
        among = facts & self.merged
        known = self._known.get(among)
        if known is None:
            known = sum_bits(bit for group, bit in self.merges if among & group)
            self._known[among] = known
        return facts & self.keeps & ~self.merged | self.puts | known


def bits_of(mask: int) -> Iterator[int]:
    """Yield each single bit of *mask*."""
    while mask:
        bit = mask & -mask
        yield bit
        mask ^= bit


def sum_bits(masks: Iterable[int]) -> int:
    """Return all bits of *masks* together."""
    found = 0
    for mask in masks:
        found |= mask
    return found


def lowest(kinds: int) -> int:
    """Return the first of *kinds*."""
    return (kinds & -kinds).bit_length() - 1


class Forward:
    """Finds what can be so at each place, from the first to the last."""

    def __init__(self, family: Family) -> None:
        """Look at *family*; nothing is worked out yet."""
        self.family = family
        self.procedure = family.procedure
        self._fields_of: dict[int, tuple[int, ...]] = {}
        self._urgents: dict[int, int] = {}
        self._choices_of = self._where_set()
        every = family.choices
        self._anyhow = every | sum(b for b, fits in self._choices_of.items() if fits == every)
        """The choices, and the values that can come to be with any of them."""

    def places(self) -> tuple[Here, ...]:
        """Return what can be so at each place, the end of the list last."""
        streams = {0: 0}
        for first in self.family.starts:
            streams[0] |= first
        found = []
        for place in range(len(self.procedure.steps) + 1):
            if not self._chosen(place):
                streams = {0: sum_bits(streams.values())}
            heres = [self._settle(place, arriving) for arriving in streams.values()]
            found.append(_together(heres))
            streams = {}
            for arriving in (after for here in heres for after in self._next(place, here)):
                kinds = arriving & self.family.choices
                streams[kinds] = streams.get(kinds, 0) | arriving
        return tuple(found)

    def _where_set(self) -> dict[int, int]:
        """Return for each value of a fact the choices with which it can come to be."""
        found: dict[int, int] = {}
        for first, mark in zip(self.family.starts, self.family.marks, strict=True):
            for bit in bits_of(first & self.family.facts):
                found[bit] = found.get(bit, 0) | mark
        for condition, puts in _all_effects(self.procedure):
            for bit in bits_of(puts):
                found[bit] = found.get(bit, 0) | self.family.choices & ~condition
        for bit, effect in self.procedure.fading.items():
            for after in bits_of(effect.puts):
                found[after] = found.get(after, 0) | found.get(bit, 0)
        return found

    def _chosen(self, place: int) -> bool:
        """Tell whether only some kinds of order sheet ask for the step at *place*.

        Through a run of such steps the kinds are kept apart, so that what one alternative leads
        to is not mixed with another.
        """
        steps = self.procedure.steps
        return place < len(steps) and bool(steps[place].only_if & self.family.choices)

    def fields(self, mask: int) -> tuple[int, ...]:
        """Return the fields of which *mask* holds some bit."""
        known = self._fields_of.get(mask)
        if known is None:
            known = tuple(field for field in self.family.fields if mask & field)
            self._fields_of[mask] = known
        return known

    def can_hold(self, values: int, forbidden: int) -> bool:
        """Tell whether a condition can hold where each fact has one of *values*."""
        allowed = values & ~forbidden
        return all(allowed & field for field in self.fields(forbidden))

    def _settle(self, place: int, arriving: int) -> Here:
        """Add to what arrives at *place* what happens while the list stands there."""
        step = self.procedure.steps[place] if place < len(self.procedure.steps) else None
        while True:
            staying = arriving & ~step.only_if if step else arriving
            if not all(staying & field for field in self.family.fields):
                return Here(arriving, 0, (), (), ())
            here = self._at(place, arriving, staying)
            more = arriving
            for effect in self._effects(place, here):
                more |= effect.puts
            if more == arriving:
                return here
            arriving = more

    def _at(self, place: int, arriving: int, staying: int) -> Here:
        procedure = self.procedure
        responses = tuple(r for r in procedure.responses if self.can_hold(staying, r.only_if))
        calm = staying & ~self._urgent(staying, responses)
        steps = self._way_back(place, calm) if place < len(procedure.steps) else ()
        told = tuple(
            mishap
            for mishap in procedure.mishaps
            if self.can_hold(staying if mishap.final else calm, mishap.at)
        )
        return Here(arriving, staying, steps, responses, told)

    def _urgent(self, staying: int, responses: tuple[Step, ...]) -> int:
        """Return the values with which some response always comes first."""
        found = self._urgents.get(staying)
        if found is None:
            found = 0
            for field in self.fields(sum_bits(response.only_if for response in responses)):
                about = [response for response in responses if response.only_if & field]
                for bit in bits_of(staying & field):
                    asking = [response for response in about if not response.only_if & bit]
                    if asking and self._always(staying & ~field | bit, asking):
                        found |= bit
            self._urgents[staying] = found
        return found

    def _always(self, values: int, responses: list[Step]) -> bool:
        asked = {field for r in responses for field in self.fields(r.only_if)}
        choices = [tuple(bits_of(values & field)) for field in asked]
        cases = 1
        for choice in choices:
            cases *= len(choice)
        return cases <= MOST_CASES and all(
            any(not sum(case) & r.only_if for r in responses) for case in product(*choices)
        )

    def _way_back(self, place: int, calm: int) -> tuple[int, ...]:
        """Return the places of the steps that can be done while the list stands at *place*.

        Where a need of a step sends the way back to a provider, that need is not met: only such
        values of its fact are looked at from there on.
        """
        steps = self.procedure.steps
        values, todo = {place: calm}, [place]
        while todo:
            at = todo.pop()
            for field, providers in self.procedure.ways[at]:
                unmet = self._fitting(values[at], field & steps[at].needs)
                narrowed = self._narrowed(values[at], field, unmet)
                for provider in providers if unmet else ():
                    only_if = steps[provider].only_if
                    if not self.can_hold(narrowed, only_if):
                        continue
                    known = values.get(provider, 0)
                    if narrowed & ~only_if & ~known:
                        values[provider] = known | narrowed & ~only_if
                        todo.append(provider)
                    if not narrowed & only_if:
                        break
        return tuple(sorted(values))

    def _fitting(self, values: int, among: int = -1) -> int:
        """Return the bits of *values* in *among* that can be so with the choices in *values*."""
        found = values & among & self._anyhow
        if found == values & among:
            return found
        choices = [values & field for field in self.fields(self.family.choices)]
        for bit in bits_of(values & among & ~found):
            fits = self._choices_of[bit]
            if all(fits & choice for choice in choices):
                found |= bit
        return found

    def _narrowed(self, values: int, field: int, unmet: int) -> int:
        """Return *values* where the fact of *field* has one of the values in *unmet*."""
        choices = 0
        for bit in bits_of(unmet):
            choices |= self._choices_of.get(bit, self.family.choices)
        return (values & ~field | unmet) & (choices | self.family.facts)

    def _effects(self, place: int, here: Here) -> Iterator[Effect]:
        """Yield the effects of all that can happen without the list moving on."""
        steps = self.procedure.steps
        for response in here.responses:
            yield from (o.effect for o in response.outcomes if not o.ends)
        for mishap in here.mishaps:
            yield mishap.effect
        for bit, effect in self.procedure.fading.items():
            if here.arriving & bit:
                yield effect
        for at in here.steps:
            if self.can_hold(here.staying, steps[at].needs):
                yield from (o.effect for o in self._not_on(at == place, steps[at]))

    def _not_on(self, in_order: bool, step: Step) -> tuple[Outcome, ...]:
        outcomes = step.outcomes[1:] if in_order else step.outcomes
        return tuple(outcome for outcome in outcomes if not outcome.ends)

    def _next(self, place: int, here: Here) -> Iterator[int]:
        """Yield what can be so on coming to the place after *place*, done or passed over."""
        if place == len(self.procedure.steps):
            return
        step = self.procedure.steps[place]
        calm = here.staying & ~self._urgent(here.staying, here.responses)
        if here.staying and self.can_hold(calm, step.needs):
            yield self._fitting(step.outcomes[0].effect.on(calm & ~step.needs))
        unasked = [f for f in self.fields(step.only_if) if here.arriving & f & step.only_if]
        if len(unasked) == 1:
            yield self._fitting(here.arriving & ~unasked[0] | here.arriving & step.only_if)
        elif unasked:
            yield self._fitting(here.arriving)


def _all_effects(procedure: Procedure) -> Iterator[tuple[int, int]]:
    """Yield the condition and the bits put of each thing that can happen."""
    for step in (*procedure.steps, *procedure.responses):
        for outcome in step.outcomes:
            yield step.only_if, outcome.effect.puts
    for mishap in procedure.mishaps:
        yield mishap.at, mishap.effect.puts


def _together(heres: list[Here]) -> Here:
    """Return what can be so, and happen, in any of *heres*."""
    if len(heres) == 1:
        return heres[0]
    return Here(
        sum_bits(here.arriving for here in heres),
        sum_bits(here.staying for here in heres),
        tuple(sorted({step for here in heres for step in here.steps})),
        tuple({r.id: r for here in heres for r in here.responses}.values()),
        tuple({m.id: m for here in heres for m in here.mishaps}.values()),
    )


def lenses(
    family: Family, places: tuple[Here, ...], reads: Iterable[Iterable[int]], beyond: int = 0
) -> tuple[Lens, ...]:
    """Return for each place which values are one and the same from there on.

    *reads* are, for each place, the masks that something there holds the facts against; *beyond*
    the bits that can be set besides those that the places know of.
    """
    told_apart: dict[int, set[int]] = {field: set() for field in family.fields}
    known: dict[tuple[int, int], list[int]] = {}
    found = []
    for here, masks in reversed(list(zip(places, reads, strict=True))):
        for mask in set(masks):
            for field, apart in told_apart.items():
                if mask & field and mask & field != field:
                    apart.add(mask & field)
        found.append(_lens(family, here.arriving | beyond, told_apart, known))
    return tuple(reversed(found))


def _lens(
    family: Family,
    values: int,
    told_apart: Mapping[int, set[int]],
    known: dict[tuple[int, int], list[int]],
) -> Lens:
    keeps, puts, merges = -1, 0, []
    for field, masks in told_apart.items():
        # Masks are only ever added, so their number tells which there were.
        asked = values & field, len(masks)
        groups = known.get(asked)
        if groups is None:
            groups = known[asked] = _groups(family, values & field, masks)
        if len(groups) == 1 and groups[0] & (groups[0] - 1):
            keeps &= ~field
            puts |= groups[0] & -groups[0]
        else:
            merges += [(group, group & -group) for group in groups if group & (group - 1)]
    return Lens(keeps, puts, tuple(merges), sum_bits(group for group, _ in merges))


def _groups(family: Family, values: int, masks: set[int]) -> list[int]:
    """Part the bits of *values* into those that nothing tells apart, fading included."""
    fades = family.procedure.fading
    after = {bit: fades[bit].puts if bit in fades else bit for bit in _closed(values, fades)}
    sort: dict[int, object] = {bit: tuple(bool(bit & m) for m in masks) for bit in after}
    while True:
        finer: dict[int, object] = {bit: (sort[bit], sort[after[bit]]) for bit in sort}
        if len(set(finer.values())) == len(set(sort.values())):
            break
        sort = finer
    groups: dict[object, int] = {}
    for bit in bits_of(values):
        groups[sort[bit]] = groups.get(sort[bit], 0) | bit
    return list(groups.values())


def _closed(values: int, fades: Mapping[int, Effect]) -> set[int]:
    found = set(bits_of(values))
    while True:
        more = found | {fades[bit].puts for bit in found if bit in fades}
        if more == found:
            return found
        found = more
