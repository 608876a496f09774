"""A rehearsal under way: the sitting that is followed, and what only the nurse does beside it.

Owns the skipping of waits, the dealing of surprises and the marking; each is in the file of
rehearsals before a method returns. It must never touch the record of doses, nor decide what a
step asks for.
"""

from __future__ import annotations

from collections.abc import Sequence
from random import Random

import msgspec

from coach.engine import Moment, fold
from coach.errors import EngineError
from coach.events import Event
from coach.journal.teaching import LEVELS, Dealt, Leap, Mark, Met, Run, TeachingBook
from coach.practice.clock import LeapClock
from coach.practice.surprises import Surprise, can_be_met, surprises, verdict
from coach.procedure.conditions import fill
from coach.procedure.model import Step, Wait
from coach.procedure.teaching import Teaching
from coach.says import teaching as says
from coach.sitting.sitting import Sitting, runs
from coach.sitting.times import seconds_in_words
from coach.sitting.view import Choice

SHORTEST = 60
"""Seconds of a wait that can be skipped at least; a shorter one is part of the doing."""


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
        sitting: Sitting,
        clock: LeapClock,
        teaching: Teaching,
        book: TeachingBook,
        chance: Random,
    ) -> None:
        """Take up *run*, whose *sitting* goes by the *clock*; the coach picks by *chance*."""
        self.run = run
        self.sitting = sitting
        self.clock = clock
        self.teaching = teaching
        self.book = book
        self.chance = chance

    # Waits

    def can_skip(self) -> int:
        """Return how many seconds of the wait at the step to do now can be skipped; else 0.

        Only a wait that runs by itself and needs no hands, of a minute or more: no hold, and no
        drying in a hand.
        """
        step, timer = (None, None) if self.sitting.over else (self.sitting.step(), self._timer())
        if step is None or timer is None or not isinstance(step.ask, Wait) or runs(step):
            return 0
        still = self.sitting.moment.state.facts & step.ask.runs_while
        return 0 if still or timer.total < SHORTEST else timer.left

    def _timer(self):  # type: ignore[no-untyped-def]
        return self.sitting.timer()

    def skip_wait(self) -> str:
        """Skip the rest of the wait, and return by how much, in words. Raises EngineError."""
        seconds = self.can_skip()
        timer = self.sitting.timer()
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
        """Return by how much the wait at the step to do now, or the one before, was skipped.

        Empty where nothing was.
        """
        steps = {m.step.id for m in self.sitting.moments[-1:] if m.step is not None}
        if not self.sitting.over:
            steps.add(self.sitting.step().id)
        for leap in reversed(self.book.every(Leap)):
            if leap.sitting_id == self.sitting.row.id and leap.step in steps:
                return _skipped(leap)
        return ""

    # Surprises

    def can_deal(self) -> tuple[Choice, ...]:
        """Return what can be dealt now, each by its name and in words for the nurse."""
        return tuple(Choice(one.name, self._fill(one.says, one)) for one in self._now())

    def _now(self) -> tuple[Surprise, ...]:
        timer = self.sitting.timer()
        return surprises(
            self.sitting.dose,
            self.sitting.moment,
            self.teaching,
            self.sitting.clock.now().at,
            holding=self.sitting.running and timer is not None and timer.kind == "hold",
        )

    def deal(self, name: str) -> Dealt:
        """Show the surprise *name* to the learner.

        Raises EngineError if it cannot be dealt now, or the last one is still to be met.
        """
        for one in self._now():
            if one.name == name:
                return self._deal(one)
        raise EngineError(says.NO_SURPRISE)

    def pick(self) -> Dealt:
        """Show a surprise that the coach picks: one failed last time, or else met least.

        Raises EngineError if none can be dealt now, or the last one is still to be met.
        """
        now = self._now()
        if not now:
            raise EngineError(says.NONE_TO_PICK)
        by_need = {one.name: self._need(one.name) for one in now}
        most = min(by_need.values())
        return self._deal(self.chance.choice([one for one in now if by_need[one.name] == most]))

    def _need(self, name: str) -> tuple[bool, int]:
        """Return how much this learner needs the surprise *name*; the least is needed most."""
        runs_of = {run.visit_id: run for run in self.book.every(Run)}
        mine = self._sittings_of_the_learner() if runs_of else set()
        met = {one.dealt_id: one.is_right for one in self.book.every(Met)}
        went = [
            met[dealt.id]
            for dealt in self.book.every(Dealt)
            if dealt.name == name and dealt.sitting_id in mine and dealt.id in met
        ]
        return not went or went[-1], len(went)

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
