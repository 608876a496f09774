"""The moves that can be made at one place, and what each of them can depend on.

Owns the account of what a move reads and writes. By it the kinds of order sheet are parted into
classes that the move treats alike, and what a move changed once is known wherever nothing that it
reads is different. What it changes is always found out by the engine. It must never search.
"""

from __future__ import annotations

from collections import deque

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
from coach.proof.page import Change, Desk, Edge, Leaf, Making, Move, Node, Page, Turn
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
        self.asked = chart.asked & self.family.facts
        self.tells = self.chart.fields(sum_bits(mishap.at for mishap in self.procedure.mishaps))
        self._here: dict[int, Part] = {}
        self._desks: dict[tuple[int, int, int], tuple[Desk, ...]] = {}
        self._reach: dict[tuple[int, Key, tuple[str, ...]], tuple[Part, int]] = {}
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
            masks, _ = self._all(place, reads, 0, (), place)
            known = self._here[place] = self.chart.part(place, masks, 0, place)
        return known

    def desks(self, place: int, alike: int, facts: int) -> tuple[Desk, ...]:
        """Part *alike*, for whom the same can be told at *place*, by which responses they have."""
        key = place, alike, facts & self.asked
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

    def page(self, node: Node, kinds: int) -> Page:
        """Return all moves of *node*, those that some of *kinds* can make at least."""
        pages = self._pages[node.place]
        seen = node.code & self._looks[node.place]
        page = pages.get(seen)
        if page is None:
            page = pages[seen] = Page()
        if kinds & ~page.ready:
            self._fill(page, node, kinds)
        node.page = page
        return page

    def _look(self, here: Here) -> int:
        """Return the bits that decide what can be told and which step is to be done *here*."""
        steps = self.procedure.steps
        masks = [mishap.at for mishap in here.mishaps]
        masks += [mask for at in here.steps for mask in (steps[at].needs, steps[at].only_if)]
        return self.chart.fields(sum_bits(masks) | self.chart.asked)

    def _fill(self, page: Page, node: Node, kinds: int) -> None:
        """Put on *page* what those of *kinds* who are in *node* can do."""
        for alike, _ in self.here(node.place):
            fresh = alike & kinds & ~page.opened
            if fresh:
                facts = self._state(node, fresh).facts
                for desk in self.desks(node.place, alike, facts):
                    self._sit(page, desk, node, kinds)
        todo = deque(page.later)
        page.later = []
        while todo:
            turn = todo.popleft()
            if not turn.kinds & kinds:
                page.later.append(turn)
                continue
            asked = self._asked(turn, self._state(node, turn.kinds & kinds))
            if isinstance(asked, Step):
                moves = self._ending(turn.desk, turn.kinds, node.place, asked)
                page.leaves.append(Leaf(turn.kinds, (), moves, asked.id))
            else:
                todo += asked
        page.ready = page.opened & ~sum_bits(turn.kinds for turn in page.later)

    def _sit(self, page: Page, desk: Desk, node: Node, kinds: int) -> None:
        """Put on *page* what can be told at *desk*, if some of *kinds* are there anew."""
        fresh = desk.kinds & kinds & ~page.opened
        if not fresh:
            return
        page.opened |= desk.kinds
        state = self._state(node, fresh)
        if not ended(self.procedure, state):
            calls, moves = self.told(desk, state)
            moves += self.leaving(desk, node.place)
            page.leaves.append(Leaf(desk.kinds, calls, moves))
            page.later.append(Turn(desk.kinds, desk))

    def _state(self, node: Node, kinds: int) -> State:
        return self.chart.decode(lowest(kinds), node.place, node.code)

    def _asked(self, turn: Turn, state: State) -> Step | list[Turn]:
        """Return the step to be done in *state*, or finer turns.

        Kinds may go different ways back, so one of each class that does not is asked.
        """
        place = state.place
        response = self.chart.response(state.facts)
        if response is not None:
            return response
        if turn.finest:
            return step_to_do(self.procedure, state)
        step = self.procedure.steps[place]
        if not turn.alike:
            classes = self._parted(turn.desk, place, turn.kinds, (step.needs,))
            return [Turn(alike, turn.desk, alike=True) for alike in classes]
        if not state.facts & step.needs:
            return step
        ways = [self.procedure.steps[at] for at in self.places[place].steps]
        reads = tuple(mask for step in ways for mask in (step.needs, step.only_if))
        classes = self._parted(turn.desk, place, turn.kinds, reads)
        return [Turn(alike, turn.desk, alike=True, finest=True) for alike in classes]

    def _parted(self, desk: Desk, place: int, kinds: int, reads: tuple[int, ...]) -> list[int]:
        known = desk.parts.get((kinds, len(reads)))
        if known is None:
            parts = self.chart.part(place, reads, 0, place)
            known = [mask & kinds for mask, _ in parts if mask & kinds]
            desk.parts[kinds, len(reads)] = known
        return known

    def _ending(self, desk: Desk, kinds: int, place: int, step: Step) -> tuple[Move, ...]:
        known = desk.steps.get((kinds, step.id))
        if known is None:
            known = desk.steps[kinds, step.id] = tuple(
                move
                for number, outcome in enumerate(step.outcomes)
                for move in self._moves(desk, kinds, place, key_of(step, number), (step, outcome))
            )
        return known

    def _moves(
        self, desk: Desk, kinds: int, place: int, key: Key, made: Making
    ) -> tuple[Move, ...]:
        """Return the move of each class of *kinds* that what is *made* treats alike."""
        known = self._reach.get((place, key, desk.names))
        if known is None:
            known = self._reach[place, key, desk.names] = self._depends(desk, place, key, made)
        parts, reads = known
        changes = self._changes.setdefault((place, key, desk.names), [{} for _ in parts])
        return tuple(
            Move(mask & kinds, key, made, reads, made_so)
            for (mask, _), made_so in zip(parts, changes, strict=True)
            if mask & kinds
        )

    def _depends(self, desk: Desk, place: int, key: Key, made: Making) -> tuple[Part, int]:
        """Return the classes that what is *made* treats alike, and the bits with a say in it."""
        puts = self._puts(key, made)
        upto = self._upto(place, puts)
        reads = [*self.watch.marks[key].reads]
        if isinstance(made, tuple):
            step, outcome = made
            if outcome is step.outcomes[0] and self.procedure.index.get(step.id) == place:
                upto = self.chart.spans[place]
        if _leaves(made):
            reads += self.fading
        reads += self.watch.finish_reads if upto == self.end else ()
        masks, puts = self._all(place, reads, puts, desk.waiting, upto)
        asked, idle = self._rests(place, upto, puts)
        masks += asked
        parts = self.chart.part(place, masks, puts, upto)
        return parts, self.chart.fields(sum_bits(masks) | puts | idle)

    def _puts(self, key: Key, made: Making) -> int:
        """Return the bits of the facts that what is *made* puts, and those of the rules."""
        puts = self.watch.marks[key].written | (self.faded if _leaves(made) else 0)
        if made is None:
            return puts
        effect = made.effect if isinstance(made, Mishap) else made[1].effect
        return puts | effect.puts

    def _upto(self, place: int, puts: int) -> int:
        """Return the last place that a move which puts *puts* can pass on to from *place*."""
        if place == self.end:
            return place
        only_if = self.procedure.steps[place].only_if
        touched = any(f & only_if and f & puts for f in self.family.fields)
        return self.chart.spans[place] if touched else place

    def _all(
        self, place: int, reads: list[int], puts: int, waiting: tuple[Step, ...], upto: int
    ) -> tuple[list[int], int]:
        """Return what a move reads and puts, with what it may call for."""
        steps = self.procedure.steps
        reads = [*reads, *(steps[at].only_if for at in range(place, min(upto + 1, self.end)))]
        for other in self.places[place].responses:
            touched = self.chart.fields(other.only_if) & puts & ~other.only_if
            if other in waiting or touched:
                reads.append(other.only_if)
                if isinstance(other.ask, Stop):
                    reads += self.fading
                    puts |= self.faded
        return reads, puts

    def _rests(self, place: int, upto: int, puts: int) -> tuple[list[int], int]:
        """Return what decides whether bits of rules are idle after *puts*, and which may be so."""
        live = sum_bits(self.chart.live[place : upto + 1])
        reads, bits = [], 0
        for bit, values in self.chart.idle.items():
            if bit & live and puts & (values | bit):
                bits |= bit
                # A bit that is only left alone is written down as before, or as in the nominal run.
                if puts & bit and not puts & values & ~self.faded:
                    reads.append(values)
        return reads, bits

    def change(self, move: Move, able: int, node: Node) -> Change:
        """Find out what *move* changes in *node* for all who make it like some of *able*."""
        kind = lowest(able)
        before = self._state(node, able)
        after = self._after(move, before)
        checks = self.watch.marks[move.key].checks
        broken = [check for check in checks if not check.holds(before.facts)]
        if after.place == self.end:
            broken += [check for check in self.watch.finish if not check.holds(after.facts)]
        place, code = self.chart.encode(kind, after)
        then = self.chart.decode(kind, place, code).facts if place == before.place else before.facts
        changed = self.chart.fields(before.facts ^ then)
        found = Change(place, ~changed, code & changed, tuple(broken))
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
