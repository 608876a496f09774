"""A rehearsal under way: the sitting that is followed, and what only the nurse does beside it.

Owns the skipping of waits, the dealing of surprises and the marking; each is in the file of
rehearsals before a method returns. It must never touch the record of doses, nor decide what a
step asks for.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from random import Random

import msgspec

from coach.engine import finished, fold
from coach.errors import EngineError
from coach.events import Event
from coach.journal.teaching import LEVELS, Dealt, Leap, Mark, Met, Run, TeachingBook
from coach.practice import past
from coach.practice.clock import LeapClock
from coach.practice.surprises import Surprise, can_be_met, follows, surprises, verdict
from coach.practice.verdict import ALONE, Practised, Verdict, verdict_of
from coach.procedure.conditions import fill
from coach.procedure.model import Step, Wait
from coach.procedure.teaching import Teaching
from coach.says import teaching as says
from coach.sitting.sitting import Sitting, runs
from coach.sitting.times import seconds_in_words
from coach.sitting.view import Choice

SHORTEST = 60
"""Seconds of a wait that can be skipped at least; a shorter one is part of the doing."""


MOST_PROMPTS = 999
"""The most prompts that a mark can have."""


class Settled(msgspec.Struct, frozen=True):
    """What came of a surprise."""

    dealt: Dealt
    met: Met
    should: str
    """What should have been said, in words; for the nurse."""


class Marked(msgspec.Struct, frozen=True):
    """One line of the list of what is to be marked."""

    title: str
    critical: bool
    step: str
    """The step, by its id."""
    seq: int
    """The event that did the step; 0 for a surprise."""
    dealt: Dealt | None
    """The surprise; None for a step."""
    met: Met | None
    mark: Mark | None
    """The mark that counts; None where there is none yet."""


class Rehearsal:
    """A rehearsal, for every front end; its `sitting` is followed as that of a dose is."""

    def __init__(
        self,
        run: Run,
        learner_id: int,
        sitting: Sitting,
        clock: LeapClock,
        teaching: Teaching,
        book: TeachingBook,
        chance: Random,
    ) -> None:
        """Take up *run*, whose *sitting* goes by the *clock*; the coach picks by *chance*."""
        self.run = run
        self.learner_id = learner_id
        self.sitting = sitting
        self.clock = clock
        self.teaching = teaching
        self.book = book
        self.chance = chance

    # Waits

    def can_skip(self) -> int:
        """Return how many seconds of the wait at the step to do now can be skipped; else 0.

        Only a wait of a minute or more that runs by itself and keeps no hands busy: no hold, and
        no drying.
        """
        timer = self.sitting.timer()
        if timer is None or timer.total < SHORTEST:
            return 0
        step = self.sitting.step()
        if not isinstance(step.ask, Wait) or runs(step):
            return 0
        still = self.sitting.moment.state.facts & step.ask.runs_while
        return 0 if still else timer.left

    def skip_wait(self) -> str:
        """Skip the rest of the wait, and return by how much, in words. Raises EngineError."""
        seconds, timer = self.can_skip(), self.sitting.timer()
        if not seconds or timer is None:
            raise EngineError(says.NO_WAIT)
        row = self.book.keep(
            Leap(
                at=self._at(),
                sitting_id=self.sitting.row.id,
                step=self.sitting.step().id,
                seconds=seconds,
                whole=timer.total,
            )
        )
        self.clock.leapt += row.seconds
        return _skipped(row)

    def skipped(self) -> str:
        """Return by how much the wait at the step to do now was skipped; nothing if it was not."""
        step = "" if self.sitting.over else self.sitting.step().id
        leaps = [one for one in self.book.every(Leap) if one.sitting_id == self.sitting.row.id]
        return _skipped(leaps[-1]) if leaps and leaps[-1].step == step else ""

    # Surprises

    @property
    def pending(self) -> Dealt | None:
        """The surprise that is still to be met, if there is one."""
        came = past.met(self.book)
        dealt = past.dealt_in(self.book, self.sitting.row.id)
        return next((one for one in dealt if one.id not in came), None)

    def can_deal(self) -> tuple[Choice, ...]:
        """Return what can be dealt now, each by its name and in words for the nurse."""
        return tuple(Choice(one.name, self._fill(one.says, one)) for one in self._now())

    def deal(self, name: str) -> Dealt:
        """Show the surprise *name* to the learner.

        Raises EngineError if it cannot be dealt now, or the last one is still to be met.
        """
        for one in self._now():
            if one.name == name:
                return self._deal(one)
        raise EngineError(says.NO_SURPRISE)

    def pick(self) -> Dealt:
        """Show a surprise that the coach picks: one that failed last time, or else met least.

        Raises EngineError if none can be dealt now, or the last one is still to be met.
        """
        before = past.went_before(self.book, self.learner_id)
        need = {one.name: _need(before.get(one.name, ())) for one in self._now()}
        if not need:
            raise EngineError(says.NONE_TO_PICK)
        most = min(need.values())
        return self.deal(self.chance.choice([name for name in need if need[name] == most]))

    def _now(self) -> tuple[Surprise, ...]:
        sitting, timer = self.sitting, self.sitting.timer()
        holding = sitting.running and timer is not None and timer.kind == "hold"
        at = self.clock.now().at
        return surprises(sitting.dose, sitting.moment, self.teaching, at, holding=holding)

    def _deal(self, one: Surprise) -> Dealt:
        if self.pending is not None:
            raise EngineError(says.ONE_AT_A_TIME)
        return self.book.keep(
            Dealt(
                at=self._at(),
                sitting_id=self.sitting.row.id,
                seq=len(self._events()),
                step=one.step.id,
                name=one.name,
                says=self._fill(one.says, one),
                shown=self._fill(one.seen, one),
                typed=one.typed,
            )
        )

    def settle(self) -> Settled | None:
        """Compare what was said since the last surprise with what the steps ask for.

        Return what came of it, once something has; to be called after each event.
        """
        dealt = self.pending
        if dealt is None:
            return None
        found, judged = self._judged(dealt, self._events())
        if judged is not None:
            return self._settle(dealt, found, *judged)
        if found is None or not can_be_met(self.sitting.dose, found, self.sitting.moment):
            return self._settle(dealt, found, False, says.SAID_NOTHING)
        return None

    def _judged(
        self, dealt: Dealt, events: tuple[Event, ...]
    ) -> tuple[Surprise | None, tuple[bool, str] | None]:
        """Return what was *dealt*, and whether the *events* met it, with what was done in words."""
        found = self._surprise(dealt, events[: dealt.seq])
        for number in range(dealt.seq, len(events)) if found is not None else ():
            before = fold(self.sitting.dose, events[:number])[-1]
            assert found is not None
            right = verdict(self.sitting.dose, found, before, events[number])
            if right is not None:
                return found, (right, self._did(events[: number + 1]))
        return found, None

    def taken_up(self, events: int) -> Settled | None:
        """Settle what can no longer be met, now that the rehearsal with *events* is taken up again.

        Coming back makes good what a surprise may have spoiled: nobody has said it.
        """
        dealt = self.pending
        if dealt is None:
            return None
        found, judged = self._judged(dealt, self._events()[:events])
        if judged is not None:
            return self._settle(dealt, found, *judged)
        if found is not None and can_be_met(self.sitting.dose, found, self.sitting.moment):
            return None
        return self._settle(dealt, found, False, says.SAID_NOTHING)

    def _settle(self, dealt: Dealt, found: Surprise | None, right: bool, did: str) -> Settled:
        met = self.book.keep(Met(at=self._at(), dealt_id=dealt.id, is_right=right, did=did))
        return Settled(dealt, met, self._should(dealt, found) if found is not None else "")

    def _should(self, dealt: Dealt, found: Surprise) -> str:
        """Return what should have been said, and what is to be done then."""
        should = self._fill(found.should, found)
        moment = fold(self.sitting.dose, self._events()[: dealt.seq])[-1]
        step = follows(self.sitting.dose, found, moment)
        then = says.THEN.format(do=self._fill(step.do)) if step is not None else ""
        return f"{should.rstrip('.')}. {then}" if then else should

    def _surprise(self, dealt: Dealt, events: tuple[Event, ...]) -> Surprise | None:
        """Return the surprise that was *dealt* after *events*; None where there is none such."""
        moment = fold(self.sitting.dose, events)[-1]
        at = moment.event.at.at if moment.event is not None else self.sitting.row.begun.at
        every = surprises(self.sitting.dose, moment, self.teaching, at, holding=True)
        found = next((one for one in every if one.name == dealt.name), None)
        return None if found is None else msgspec.structs.replace(found, typed=dealt.typed)

    def _did(self, events: tuple[Event, ...]) -> str:
        """Return in words what the last of *events* says."""
        event = events[-1]
        if event.kind in ("left", "returned", "undone"):
            words = {"left": says.LEFT_TABLE, "returned": says.CAME_BACK}
            return words.get(event.kind, says.TOOK_BACK)
        moment = fold(self.sitting.dose, events)[-1]
        if moment.mishap is not None:
            return says.TOLD.format(says=self._fill(moment.mishap.title))
        title = self._fill(moment.step.title) if moment.step is not None else ""
        if event.kind == "reading":
            return says.DID.format(title=title, said=says.TYPED.format(typed=event.value))
        said = self._fill(moment.outcome.says) if moment.outcome is not None else ""
        return says.DID.format(title=title, said=said or says.DONE)

    # Marks

    def to_mark(self) -> tuple[Marked, ...]:
        """Return every doing of a step and every surprise of this rehearsal, in order."""
        came, marks = past.met(self.book), {one.of: one for one in self._marks()}
        sitting, rows = self.sitting.row.id, list[tuple[int, int, Marked]]()
        for moment in self.sitting.moments:
            if moment.step is not None and moment.event is not None:
                seq = moment.event.seq
                mark = marks.get((sitting, moment.step.id, seq, None))
                rows.append((seq, 0, self._step_row(moment.step, seq, mark)))
        for dealt in past.dealt_in(self.book, sitting):
            mark = marks.get((sitting, dealt.step, 0, dealt.id))
            row = Marked(dealt.says, False, dealt.step, 0, dealt, came.get(dealt.id), mark)
            rows.append((dealt.seq, 1, row))
        return tuple(row for _, _, row in sorted(rows, key=lambda one: one[:2]))

    def _step_row(self, step: Step, seq: int, mark: Mark | None) -> Marked:
        return Marked(self._fill(step.title), step.critical, step.id, seq, None, None, mark)

    def last_to_mark(self) -> Marked | None:
        """Return what was done last, a step or a surprise that was settled; None at the start."""
        rows = [one for one in self.to_mark() if one.dealt is None or one.met is not None]
        return rows[-1] if rows else None

    def step_to_mark(self) -> Marked | None:
        """Return the step to do now, to be marked as not yet done; None once all is over."""
        if self.sitting.over:
            return None
        step = self.sitting.step()
        marks = {one.of: one for one in self._marks()}
        return self._step_row(step, 0, marks.get((self.sitting.row.id, step.id, 0, None)))

    def mark(self, marked: Marked, level: str, prompts: int = 0, note: str = "") -> Mark:
        """Keep how *marked* went, at one of `LEVELS`; a later mark corrects an earlier one.

        It is on the disk before this returns. Raises EngineError for another level, for a surprise
        that nobody met and that is to be marked as met alone, or a number of prompts that nobody
        gives.
        """
        if level not in LEVELS:
            raise EngineError(says.NO_SUCH_LEVEL.format(levels=", ".join(says.LEVELS.values())))
        if not 0 <= prompts <= MOST_PROMPTS:
            raise EngineError(says.PROMPTS)
        if level == ALONE and marked.dealt is not None:
            came = past.met(self.book).get(marked.dealt.id)
            if came is None or not came.is_right:
                raise EngineError(says.MISSED_NOT_ALONE)
        return self.book.keep(
            Mark(
                at=self._at(),
                sitting_id=self.sitting.row.id,
                step=marked.step,
                seq=marked.seq,
                dealt_id=None if marked.dealt is None else marked.dealt.id,
                level=level,
                prompts=prompts,
                note=note,
            )
        )

    def verdict(self) -> Verdict:
        """Return whether this rehearsal counts, and why not."""
        sitting, procedure = self.sitting, self.sitting.dose.procedure
        how = "finished" if finished(procedure, sitting.moment.state) else "stopped"
        practised = Practised(
            sitting.dose,
            sitting.moments,
            self._marks(),
            past.dealt_in(self.book, sitting.row.id),
            past.met(self.book),
            how if sitting.over else sitting.row.ended,
        )
        return verdict_of(practised, self._fill)

    # Inside

    def _marks(self) -> tuple[Mark, ...]:
        return past.marks_in(self.book, self.sitting.row.id)

    def _events(self) -> tuple[Event, ...]:
        return self.sitting.journal.events(self.sitting.row.id)

    def _at(self) -> datetime:
        """Return the real time: marks and signatures carry no time of practice."""
        return self.clock.real.now().at

    def _fill(self, text: str, surprise: Surprise | None = None) -> str:
        values = self.sitting.words.values(self.sitting.moments, self.clock.now())
        if surprise is not None and surprise.looks:
            values["typed"] = surprise.looks
        return fill(text, values)


def _need(went: Sequence[bool]) -> tuple[bool, int]:
    """Return how much a surprise is needed that *went* so each time: the least is needed most."""
    return not went or went[-1], len(went)


def _skipped(leap: Leap) -> str:
    skipped, whole = (seconds_in_words(number) for number in (leap.seconds, leap.whole))
    return says.SKIPPED.format(skipped=skipped, whole=whole)
