"""How a state is written down: as what differs from the nominal run of its kind.

Owns the code of a state, the same for every kind of order sheet in which it differs in the same
way, and the parting of the kinds into classes that one move treats alike. That is what lets one
search serve all kinds. It must never choose a move; that is the engine's.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from coach.engine import (
    STOPPED,
    State,
    after_outcome,
    after_return,
    ended,
    response_to_do,
    step_to_do,
)
from coach.procedure.model import Mishap, Step, Stop
from coach.proof.cone import Lens, bits_of, lowest, sum_bits
from coach.proof.family import Family
from coach.proof.watch import LEFT, Watch, key_of

Part = tuple[tuple[int, int], ...]
"""Classes of kinds: the kinds of each as bits, and one kind that stands for them."""


OVER = State(0, STOPPED)
"""Stands for every state of a dose that only a call and the end can follow."""
NEVER: Mapping[int, int] = {}
"""No bit of a rule is idle at any time."""


class Chart:
    """Codes the states of a family, place by place."""

    def __init__(
        self,
        family: Family,
        lenses: tuple[Lens, ...],
        live: tuple[int, ...],
        watch: Watch,
        idle: Mapping[int, int] = NEVER,
    ) -> None:
        """Walk each kind through its nominal run, where every step ends as hoped.

        *lenses* say which values are one and the same at each place, *live* which bits of the
        rules can still matter there, and *idle* with which values each bit does not matter.
        """
        self.idle = idle
        self.idle_asked = sum_bits(idle.values())
        self._idle: dict[int, int] = {}
        self.watch = watch
        self.family = family
        self.procedure = family.procedure
        self.lenses = lenses
        self.live = live
        self.all_kinds = (1 << len(family.kinds)) - 1
        self.spans = tuple(_span(family, place) for place in range(len(lenses)))
        runs = [self._nominal(kind) for kind in range(len(family.kinds))]
        self.nominal = tuple(zip(*runs, strict=True))
        """At each place, for each kind, the facts of the nominal run."""
        self._compare()
        self._alike_in: tuple[dict[int, int], ...] = tuple({} for _ in lenses)
        self._fields: dict[int, int] = {}
        self._responses: dict[int, Step | None] = {}
        asked = sum_bits(response.only_if for response in self.procedure.responses)
        self.asked = sum_bits(field for field in family.fields if field & asked)
        """The facts and choices that decide which response is to be done."""
        self._parts: dict[tuple[int, frozenset[int], int, int], Part] = {}
        self._ways: dict[tuple[int, int], list[int]] = {}
        self._trivial: Part = ((self.all_kinds, 0),)
        self.calls = _calls(family)
        self.calling = _calling(family, self.calls)
        self.fades_early = all(mishap.id in self.calling for mishap in _on_top(family))
        """Whether what is told during a call leads to a call that only the end can follow."""

    def _compare(self) -> None:
        """Find what the nominal runs of the kinds have in common."""
        fields = [field for field in self.family.fields if field & self.family.facts]
        unlike = [_unlike(row) for row in self.nominal]
        self.varying = tuple(tuple(f for f in fields if f & bits) for bits in unlike)
        """At each place, the facts in which the nominal runs are not all alike."""
        self.vary_facts = tuple(sum(fields) for fields in self.varying)
        self.vary = tuple(
            sum(fields) | bits & self.watch.all
            for fields, bits in zip(self.varying, unlike, strict=True)
        )
        """At each place, the bits of them, and of the rules likewise."""
        choices = _columns(self.family.marks)
        self.always = tuple(_alike(row) for row in self.nominal)
        """At each place, the bits that all nominal runs have."""
        self.columns = tuple(choices | _columns(row) for row in self.nominal)
        """At each place, for each other bit, the kinds that have it."""

    def _nominal(self, kind: int) -> list[int]:
        procedure, state = self.procedure, self.begin(kind)
        run: list[int] = []
        while True:
            for place in range(len(run), state.place + 1):
                run.append(self._seen(place, state.facts))
            if ended(procedure, state):
                return run
            step = step_to_do(procedure, state)
            after = after_outcome(procedure, state, step, step.outcomes[0])
            state = self.watch.marked(after, key_of(step, 0))

    def begin(self, kind: int) -> State:
        """Return the state of a dose of *kind* before its first event, as the rules see it."""
        state = self.family.begin(kind)
        return State(state.facts | self.watch.start, state.place)

    def _seen(self, place: int, facts: int) -> int:
        """Return what of *facts* can still matter at *place*."""
        kept = self.lenses[place].on(facts) & self.family.facts
        return kept | facts & self.live[place]

    def encode(self, kind: int, state: State) -> tuple[int, int]:
        """Return the place and the code of *state*, which a dose of *kind* is in."""
        facts, place = self.ahead(state)
        return place, self.code(kind, place, facts) if place != STOPPED else 0

    def ahead(self, state: State) -> State:
        """Return the state that stands for *state*: a call is a way of leaving the table."""
        if state.place == STOPPED:
            return OVER
        if state.facts & self.procedure.alarms:
            response = self.response(state.facts)
            if response is not None and response.id in self.calls:
                return OVER
            if response is not None and isinstance(response.ask, Stop) and self.fades_early:
                return self._while_calling(state, response)
        return state

    def code(self, kind: int, place: int, facts: int) -> int:
        """Return the code of *facts* at *place* in a dose of *kind*.

        A bit of a rule that is idle is written down as in the nominal run.
        """
        facts = self._seen(place, facts)
        nominal: int = self.nominal[place][kind]
        nominally = self._among(place, facts & nominal & self.vary_facts[place])
        return (facts & ~nominally ^ nominal & self.watch.all) & ~self.idle_in(facts)

    def idle_in(self, facts: int) -> int:
        """Return the bits of the rules that are idle where *facts* are so."""
        asked = facts & self.idle_asked
        found = self._idle.get(asked)
        if found is None:
            found = sum_bits(bit for bit, values in self.idle.items() if asked & values)
            self._idle[asked] = found
        return found

    def _among(self, place: int, bits: int) -> int:
        """Return all bits of those facts that vary at *place* of which *bits* holds some."""
        known = self._alike_in[place].get(bits)
        if known is None:
            known = sum(field for field in self.varying[place] if field & bits)
            self._alike_in[place][bits] = known
        return known

    def response(self, facts: int) -> Step | None:
        """Return the response to do, which only the facts that responses ask for decide on."""
        asked = facts & self.asked
        if asked not in self._responses:
            self._responses[asked] = response_to_do(self.procedure, facts)
        return self._responses[asked]

    def _while_calling(self, state: State, response: Step) -> State:
        """Return *state* faded, as it will be when a call is gone on from.

        Nothing else can be told meanwhile but an emergency, after which only the end can follow.
        """
        left = self.left(state)
        again = self.response(left.facts)
        return left if left.place == state.place and again is response else state

    def left(self, state: State) -> State:
        """Return *state* after the table was left, as the rules see it."""
        return self.watch.marked(after_return(self.procedure, state), LEFT)

    def decode(self, kind: int, place: int, code: int) -> State:
        """Return the state that *code* stands for in a dose of *kind*."""
        nominal, vary = self.nominal[place][kind], self.vary_facts[place]
        nominally = nominal & vary & ~self._among(place, code & vary)
        return State((code | nominally) ^ nominal & self.watch.all | self.family.marks[kind], place)

    def fields(self, mask: int) -> int:
        """Return all bits of the facts and choices of which *mask* holds some, and its rules'."""
        known = self._fields.get(mask)
        if known is None:
            known = mask & self.watch.all | sum(f for f in self.family.fields if f & mask)
            self._fields[mask] = known
        return known

    def part(self, place: int, reads: Iterable[int], written: int, upto: int) -> Part:
        """Part the kinds by what a move at *place* can tell apart.

        *reads* are the masks that the move holds the facts and choices against, *written* the
        bits that it puts, *upto* the last place at which the list can come to stand.
        """
        split = self.family.choices
        for later in range(place, upto + 1):
            split |= self.vary[later]
        masks = frozenset(mask & split for mask in reads if mask & split)
        key = place, masks, written & split, upto
        if not masks and not written & split and upto == place:
            return self._trivial
        known = self._parts.get(key)
        if known is None:
            known = self._parts[key] = self._divide(place, masks, written & split, upto)
        return known

    def _divide(self, place: int, masks: frozenset[int], written: int, upto: int) -> Part:
        classes = [self.all_kinds]
        for mask in masks:
            for field in self.family.fields:
                if mask & field:
                    classes = _split(classes, self.having(place, mask & field))
            for bit in bits_of(mask & self.watch.all):
                classes = _split(classes, self.having(place, bit))
        for later in range(place, upto + 1):
            # What is put there is written down as the value that stands for it.
            for bit in bits_of(self._seen(later, written) & self.vary[later]):
                classes = _split(classes, self.having(later, bit))
        for kinds in self._between(place, upto):
            classes = _split(classes, kinds)
        return tuple((kinds, lowest(kinds)) for kinds in classes)

    def _between(self, place: int, upto: int) -> list[int]:
        """Return the classes of kinds that are written down alike from *place* to *upto*."""
        known = self._ways.get((place, upto))
        if known is None:
            known = [self.all_kinds]
            for later in range(place + 1, upto + 1):
                known = self._on_the_way(known, place, later, upto)
            self._ways[place, upto] = known
        return known

    def _on_the_way(self, classes: list[int], place: int, later: int, upto: int) -> list[int]:
        """Split *classes* by how a state that is left alone at *place* is written down at *later*.

        Where the nominal run stays the same and no other value becomes one with it, the code
        stays the same too, whatever the value. All other kinds are alike only in the same values.
        """
        seen = range(place, upto + 1)
        fields = {field for at in seen for field in self.varying[at]}
        for field in (*fields, *bits_of(sum_bits(self.vary[at] & self.watch.all for at in seen))):
            bits = list(bits_of(field))
            moved = sum_bits(self.having(place, b) ^ self.having(later, b) for b in bits)
            moved |= self.having(later, self._merged(place, later, field))
            classes = _split(classes, moved)
            for bit in bits if moved else ():
                classes = _split(classes, moved & self.having(place, bit))
                classes = _split(classes, moved & self.having(later, bit))
            for value in bits_of(self.idle.get(field, 0)) if moved else ():
                classes = _split(classes, moved & self.having(place, value))
        return classes

    def _merged(self, place: int, later: int, field: int) -> int:
        """Return the values of *field* at *later* that stand for several at *place*."""
        apart = self.lenses[place].on(field)
        groups = (g for g in self.lenses[later].merges if g[0] & field)
        return sum_bits(bit for group, bit in groups if (among := group & apart) & (among - 1))

    def having(self, place: int, mask: int) -> int:
        """Return the kinds that have some bit of *mask* in the nominal run at *place*.

        All of them have the choices of their order sheets, too.
        """
        if mask & self.always[place]:
            return self.all_kinds
        columns = self.columns[place]
        return sum_bits(columns.get(bit, 0) for bit in bits_of(mask))


def _columns(rows: Iterable[int]) -> dict[int, int]:
    """Return for each bit that some but not all of *rows* have, which of them have it."""
    rows = tuple(rows)
    found: dict[int, int] = {}
    for bit in bits_of(_unlike(rows)):
        found[bit] = sum(1 << number for number, row in enumerate(rows) if row & bit)
    return found


def _split(classes: list[int], kinds: int) -> list[int]:
    """Split each of *classes* into those among *kinds* and those that are not."""
    found = []
    for one in classes:
        inside = one & kinds
        if inside and inside != one:
            found += [inside, one ^ inside]
        else:
            found.append(one)
    return found


def _alike(row: tuple[int, ...]) -> int:
    """Return the bits that all numbers of *row* have."""
    found = -1
    for number in row:
        found &= number
    return found


def _unlike(row: tuple[int, ...]) -> int:
    """Return the bits in which the numbers of *row* are not all alike."""
    found = 0
    for number in row:
        found |= number ^ row[0]
    return found


def _span(family: Family, place: int) -> int:
    """Return the last place to which the list can move on from *place* by one step.

    It cannot pass a step that every kind asks for, or every kind that asks for the one here.
    """
    steps = family.procedure.steps
    here = steps[place].only_if & family.choices if place < len(steps) else 0
    later = place + 1
    while later < len(steps) and steps[later].only_if & ~here:
        later += 1
    return min(later, len(steps))


def _calls(family: Family) -> frozenset[str]:
    """Return the responses from which only a call and the end can follow.

    Such a response ends the dose whatever is answered; nothing that fades takes it away; and
    what can be told on top of it leads to such a response again.
    """
    responses = family.procedure.responses
    ending = [r for r in responses if all(o.ends for o in r.outcomes)]
    going_on = [r for r in responses if r not in ending]
    fading = sum_bits(effect.puts for effect in family.procedure.fading.values())
    found = set()
    for response in ending:
        before = responses[: responses.index(response)]
        held = not fading & response.only_if and not any(
            _may_call(family, fading, other) for other in before if other in going_on
        )
        if held and all(_ends_all_the_same(family, m, response) for m in _on_top(family)):
            found.add(response.id)
    return frozenset(found)


def _calling(family: Family, calls: frozenset[str]) -> frozenset[str]:
    """Return the mishaps after which a call always follows, and only the end after it."""
    found = set()
    for mishap in family.procedure.mishaps:
        for response in family.procedure.responses:
            if response.id not in calls:
                break
            if _is_called(family, mishap.effect.puts, response):
                found.add(mishap.id)
                break
    return frozenset(found)


def _on_top(family: Family) -> list[Mishap]:
    return [mishap for mishap in family.procedure.mishaps if mishap.final]


def _ends_all_the_same(family: Family, mishap: Mishap, response: Step) -> bool:
    """Tell whether only a call can follow if *mishap* is told while *response* is waiting."""
    puts = mishap.effect.puts
    for other in family.procedure.responses:
        ends = all(outcome.ends for outcome in other.outcomes)
        if other is response and not puts & response.only_if:
            return True
        if ends and _is_called(family, puts, other):
            return True
        if not ends and _may_call(family, puts, other):
            return False
    return False


def _is_called(family: Family, puts: int, response: Step) -> bool:
    """Tell whether *puts* alone make *response* asked for."""
    asked = [f for f in family.fields if f & response.only_if]
    return all(puts & f and not puts & f & response.only_if for f in asked)


def _may_call(family: Family, puts: int, response: Step) -> bool:
    """Tell whether *puts* can be a part of what makes *response* asked for."""
    asked = sum(f for f in family.fields if f & response.only_if)
    return bool(puts & asked & ~response.only_if)
