"""The moves that can be made at one place, and what each of them can depend on.

Owns the account of what a move reads and writes. By it the kinds of order sheet are parted into
classes that the move treats alike, and what a move changed once is known wherever nothing that it
reads is different. What it changes is always found out by the engine. It must never search.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from coach.engine import (
    State,
    after_mishap,
    after_outcome,
    after_return,
    ended,
    possible,
    step_to_do,
)
from coach.procedure.model import Mishap, Step, Stop
from coach.proof.chart import Chart, Part
from coach.proof.cone import Here, lowest, sum_bits
from coach.proof.page import ELSEWHERE, Change, Desk, Edge, Leaf, Making, Move, Node, Page, Reach
from coach.proof.watch import LEFT, Key, Watch, key_of, told_key


def _leaves(made: Making) -> bool:
    """Tell whether the table is left: a call is a way of leaving it."""
    return made is None or (isinstance(made, tuple) and isinstance(made[0].ask, Stop))


class Moves:
    """Knows the moves at each place."""

    def __init__(self, chart: Chart, places: tuple[Here, ...], watch: Watch, call: Node) -> None:
        """Know the moves of what *chart* codes; *places* say what can happen where.

        *call* is the state of a dose that only a call and the end can follow.
        """
        self.call = call
        self.chart = chart
        self.places = places
        self.watch = watch
        self.family = chart.family
        self.procedure = chart.family.procedure
        self.end = len(self.procedure.steps)
        self.faded = sum_bits(effect.puts for effect in self.procedure.fading.values())
        self.faded |= watch.marks[LEFT].written
        self.fading = list(self.procedure.fading)
        self.responding = chart.asked & self.family.facts
        self.tells = self.chart.fields(sum_bits(mishap.at for mishap in self.procedure.mishaps))
        self._calls = {r.id: chart.fields(r.only_if) & ~r.only_if for r in self.procedure.responses}
        """By the id of each response, what it takes to be asked for."""
        self._resting = tuple(
            tuple((bit, values) for bit, values in chart.idle.items() if bit & live)
            for live in chart.live
        )
        """For each place, the bits of rules that can still matter, and be idle."""
        self._here: dict[int, Part] = {}
        self._desks: dict[tuple[int, int, int], tuple[Desk, ...]] = {}
        self._reach: dict[tuple[int, Key, tuple[str, ...]], Reach] = {}
        self._seated: dict[tuple[int, int, tuple[str, ...]], Desk] = {}
        self._changes: dict[tuple[int, Key, tuple[str, ...]], list[dict[int, Change]]] = {}
        """For each move of each class that makes it alike, what it changed."""
        self._looks = tuple(self._look(here) for here in places)
        self._pages: tuple[dict[int, Page], ...] = tuple({} for _ in places)

    def here(self, place: int) -> Part:
        """Part the kinds by what can be told at *place*, and by what the facts ask for."""
        known = self._here.get(place)
        if known is None:
            here = self.places[place]
            reads = [mishap.at for mishap in here.mishaps]
            reads += [r.only_if & self.family.facts for r in here.responses]
            reads += self._asked(place, [], place)
            known = self._here[place] = self.chart.part(place, reads, 0, place)
        return known

    def desks(self, place: int, alike: int, facts: int) -> tuple[Desk, ...]:
        """Part *alike*, for whom the same can be told at *place*, by which responses they have."""
        key = place, alike, facts & self.responding
        known = self._desks.get(key)
        if known is None:
            waiting = self._waiting(facts)
            reads = [step.only_if & self.family.choices for step in waiting]
            parts = self.chart.part(place, reads, 0, place)
            seated = (self._seat(place, mask & alike, waiting) for mask, _ in parts if mask & alike)
            known = self._desks[key] = tuple(seated)
        return known

    def _seat(self, place: int, kinds: int, waiting: tuple[Step, ...]) -> Desk:
        key = place, kinds, tuple(step.id for step in waiting)
        if key not in self._seated:
            self._seated[key] = Desk(kinds, waiting)
        return self._seated[key]

    def _waiting(self, facts: int) -> tuple[Step, ...]:
        """Return the responses that the facts ask for in some kind of order sheet."""
        if not facts & self.procedure.alarms:
            return ()
        known = self.family.facts
        return tuple(r for r in self.procedure.responses if not facts & r.only_if & known)

    def told(self, desk: Desk, state: State) -> tuple[tuple[Edge, ...], tuple[Move, ...]]:
        """Return what can be told in *state*: what is a call and nothing else, and the rest."""
        known = desk.told.get(state.facts & self.tells)
        if known is None:
            calls: list[Edge] = []
            moves: list[Move] = []
            for mishap in possible(self.procedure, state):
                key = told_key(mishap)
                if mishap.id in self.chart.calling and not self.watch.marks[key].checks:
                    calls.append((desk.kinds, key, self.call))
                else:
                    moves += self._moves(desk, desk.kinds, state.place, key, mishap)
            known = desk.told[state.facts & self.tells] = tuple(calls), tuple(moves)
        return known

    def leaving(self, desk: Desk, place: int) -> tuple[Move, ...]:
        """Return the ways in which the table can be left and come back to."""
        if desk.leaving is None:
            desk.leaving = self._moves(desk, desk.kinds, place, LEFT, None)
        return desk.leaving

    def leaves(self, node: Node, kinds: int) -> Iterator[Leaf]:
        """Yield all moves of *node*, those that some of *kinds* can make at least."""
        page = self._page(node, kinds)
        yield from page.leaves
        for desk in page.seats:
            if desk.kinds & kinds:
                yield from self._in_order(desk, node, desk.kinds & kinds)

    def _page(self, node: Node, kinds: int) -> Page:
        pages = self._pages[node.place]
        seen = node.code & self._looks[node.place]
        page = pages.get(seen)
        if page is None:
            page = pages[seen] = Page()
        if kinds & ~page.opened:
            self._open(page, node, kinds)
        return page

    def _look(self, here: Here) -> int:
        """Return the bits that decide what can be told, and which response is to be done *here*."""
        return self.chart.fields(sum_bits(m.at for m in here.mishaps) | self.chart.asked)

    def _open(self, page: Page, node: Node, kinds: int) -> None:
        """Put on *page* what those of *kinds* who are in *node* can do."""
        for alike, _ in self.here(node.place):
            fresh = alike & kinds & ~page.opened
            if fresh:
                facts = self._state(node, fresh).facts
                for desk in self.desks(node.place, alike, facts):
                    if desk.kinds & fresh:
                        page.opened |= desk.kinds
                        self._sit(page, desk, self._state(node, desk.kinds & fresh))

    def _sit(self, page: Page, desk: Desk, state: State) -> None:
        """Put on *page* what can be told at *desk*, where some of its kinds are in *state*."""
        if ended(self.procedure, state):
            return
        calls, moves = self.told(desk, state)
        leaving = self.leaving(desk, state.place)
        page.leaves.append(Leaf(desk.kinds, calls, (*moves, *leaving), leaving))
        response = self.chart.response(state.facts)
        if response is None:
            page.seats.append(desk)
        else:
            page.leaves.append(self._ending(desk, desk.kinds, state.place, response))

    def _state(self, node: Node, kinds: int) -> State:
        return self.chart.decode(lowest(kinds), node.place, node.code)

    def _in_order(self, desk: Desk, node: Node, kinds: int) -> Iterator[Leaf]:
        """Yield how the step to be done can end, for each class of *kinds* that is asked alike."""
        place = node.place
        step = self.procedure.steps[place]
        for alike in self._parted(desk, place, desk.kinds, (step,)):
            if not alike & kinds:
                continue
            if not self._state(node, alike & kinds).facts & step.needs:
                yield self._ending(desk, alike, place, step)
                continue
            ways = [self.procedure.steps[at] for at in self.places[place].steps]
            for finest in self._parted(desk, place, alike, ways):
                if finest & kinds:
                    state = self._state(node, finest & kinds)
                    yield self._ending(desk, finest, place, step_to_do(self.procedure, state))

    def _parted(self, desk: Desk, place: int, kinds: int, steps: Sequence[Step]) -> list[int]:
        """Part *kinds* into classes for which the same of what *steps* ask for is so."""
        known = desk.parts.get((kinds, len(steps)))
        if known is None:
            reads = tuple(mask for step in steps for mask in (step.needs, step.only_if))
            parts = self.chart.part(place, reads, 0, place)
            known = [mask & kinds for mask, _ in parts if mask & kinds]
            desk.parts[kinds, len(steps)] = known
        return known

    def _ending(self, desk: Desk, kinds: int, place: int, step: Step) -> Leaf:
        known = desk.steps.get((kinds, step.id))
        if known is None:
            moves = (
                move
                for number, outcome in enumerate(step.outcomes)
                for move in self._moves(desk, kinds, place, key_of(step, number), (step, outcome))
            )
            leaving = self.leaving(desk, place)
            known = desk.steps[kinds, step.id] = Leaf(kinds, (), tuple(moves), leaving, step.id)
        return known

    def _moves(
        self, desk: Desk, kinds: int, place: int, key: Key, made: Making
    ) -> tuple[Move, ...]:
        """Return the move of each class of *kinds* that what is *made* treats alike."""
        known = self._reach.get((place, key, desk.names))
        if known is None:
            known = self._reach[place, key, desk.names] = self._depends(desk, place, key, made)
        changes = self._changes.setdefault((place, key, desk.names), [{} for _ in known.parts])
        return tuple(
            Move(mask & kinds, key, made, known, made_so)
            for (mask, _), made_so in zip(known.parts, changes, strict=True)
            if mask & kinds
        )

    def _depends(self, desk: Desk, place: int, key: Key, made: Making) -> Reach:
        """Return what *made* can depend on and change at *place*."""
        surely, fades = self._puts(key, made), _leaves(made)
        puts = surely | (self.faded if fades else 0)
        upto = self._upto(place, puts)
        if isinstance(made, tuple):
            step, outcome = made
            if outcome is step.outcomes[0] and self.procedure.index.get(step.id) == place:
                upto = self.chart.spans[place]
        called = self._called(place, puts, desk.waiting)
        if not fades and any(isinstance(other.ask, Stop) for other in called):
            # A call that may follow leaves the table, and what fades may call for others.
            fades, puts = True, puts | self.faded
            upto = max(upto, self._upto(place, puts))
            called = self._called(place, puts, desk.waiting)
        masks = [*self.watch.marks[key].reads, *self._asked(place, called, upto)]
        masks += self.watch.finish_reads if upto == self.end else ()
        rests = self._rests(place, puts)
        masks += self._deciding(rests, surely, puts, fades)
        chart = self.chart
        parts = chart.part(place, (*masks, *(self.fading if fades else ())), puts, upto)
        # Whatever else fades the table goes on from what is left when it was left.
        masks += self.fading if made is None else ()
        put = chart.fields(puts if made is None else surely) & self.family.facts
        return Reach(
            parts,
            chart.fields(sum_bits(masks)),
            chart.fields(surely),
            put,
            sum_bits(bit for bit, _ in rests),
        )

    def _deciding(
        self, rests: tuple[tuple[int, int], ...], surely: int, puts: int, fades: bool
    ) -> Iterator[int]:
        """Yield the values that decide whether those of *rests* that are written are idle then.

        A bit that is only left alone is written down as before, or as in the nominal run.
        """
        fields = self.chart.fields(surely)
        for bit, values in rests:
            written = puts & bit and fields & (self.chart.fields(values) | bit)
            if written and (fades or not surely & values):
                yield values

    def _puts(self, key: Key, made: Making) -> int:
        """Return the bits that what is *made* puts in any case, facts and those of the rules."""
        written = self.watch.marks[key].written
        if made is None:
            return written
        effect = made.effect if isinstance(made, Mishap) else made[1].effect
        return written | effect.puts

    def _upto(self, place: int, puts: int) -> int:
        """Return the last place that a move which puts *puts* can pass on to from *place*."""
        if place == self.end:
            return place
        only_if = self.procedure.steps[place].only_if
        touched = any(f & only_if and f & puts for f in self.family.fields)
        return self.chart.spans[place] if touched else place

    def _called(self, place: int, puts: int, waiting: tuple[Step, ...]) -> list[Step]:
        """Return the responses that can be asked for after *puts*, those in *waiting* besides."""
        every = self.places[place].responses
        return [other for other in every if self._calls[other.id] & puts or other in waiting]

    def _asked(self, place: int, called: list[Step], upto: int) -> Iterator[int]:
        """Yield what is asked for from *place* to *upto*, and by the responses *called*."""
        for at in range(place, min(upto + 1, self.end)):
            yield self.procedure.steps[at].only_if
        for other in called:
            yield other.only_if

    def _rests(self, place: int, puts: int) -> tuple[tuple[int, int], ...]:
        """Return the bits of rules that can be idle after *puts*, with what makes each so."""
        return tuple([pair for pair in self._resting[place] if puts & (pair[0] | pair[1])])

    def change(self, move: Move, able: int, node: Node) -> Change:
        """Find out what *move* changes in *node* for all who make it like some of *able*."""
        kind = lowest(able)
        before = self._state(node, able)
        raw = self._after(move, before)
        checks = self.watch.marks[move.key].checks
        broken = [check for check in checks if not check.holds(before.facts)]
        if raw.place == self.end:
            broken += [check for check in self.watch.finish if not check.holds(raw.facts)]
        after = self.chart.ahead(raw)
        fades = move.made is not None and (after is not raw or _leaves(move.made))
        place, keeps, puts = after.place, -1, 0
        if place == before.place:
            at = self.chart.encode(kind, self.chart.left(before)) if fades else (place, node.code)
            code = self.chart.code(kind, place, after.facts)
            keeps = ~(self.chart.fields(code ^ at[1]) | move.reach.writes)
            keeps &= ~(self.chart.idle_in(after.facts & move.reach.touches) & move.reach.rests)
            place, puts = place if at[0] == place else ELSEWHERE, code & ~keeps
        found = Change(place, keeps, puts, fades, tuple(broken))
        move.changes[node.code & move.reads] = found
        return found

    def moved_on(self, move: Move, able: int, node: Node) -> tuple[int, int]:
        """Return the place and the code after *move*, which takes some of *able* on from *node*."""
        return self.chart.encode(lowest(able), self._after(move, self._state(node, able)))

    def _after(self, move: Move, before: State) -> State:
        """Return the state after *move*, as the rules see it."""
        if move.made is None:
            after = after_return(self.procedure, before)
        elif isinstance(move.made, Mishap):
            after = after_mishap(self.procedure, before, move.made)
        else:
            after = after_outcome(self.procedure, before, *move.made)
        return self.watch.marked(after, move.key)
