"""One dose under way, as every front end drives it.

Owns the order of things: an answer is checked by the engine, kept in the journal, and only then
does the view move on. Owns the running timers. No front end decides anything that is decided
here, and nothing here knows a front end or a step.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import msgspec

from coach.clock import Clock, seconds_between
from coach.engine import (
    Dose,
    Moment,
    State,
    after_return,
    apply,
    can_undo,
    ended,
    finished,
    fold,
    ordered_seconds,
    possible,
    step_to_do,
    way_ahead,
)
from coach.errors import EngineError
from coach.events import Event
from coach.journal.rows import SittingRow
from coach.journal.store import Journal
from coach.orders.quantities import Quantity, refuse_without_unit
from coach.orders.sheet import OrderSheet
from coach.procedure.model import (
    SINCE_DUE,
    Act,
    Hold,
    PumpKey,
    Reading,
    Recheck,
    Step,
    Stop,
    Wait,
    Within,
)
from coach.sitting.texts import Words
from coach.sitting.timing import infusion_of, since_set, waited
from coach.sitting.view import Timer


class _Run(msgspec.Struct):
    """A timer that runs by itself: its phase, and since when by the monotonic clock."""

    phase: str
    since: float


class Sitting:
    """A dose under way. Every answer is in the journal before a method returns."""

    def __init__(
        self,
        dose: Dose,
        sheet: OrderSheet,
        words: Words,
        card: Mapping[str, PumpKey],
        clock: Clock,
        journal: Journal,
        row: SittingRow,
    ) -> None:
        """Take up the sitting *row*, folding what the journal holds of it."""
        self.dose = dose
        self.sheet = sheet
        """The order sheet that the dose was begun with."""
        self.words = words
        self.pump_card = card
        self.clock = clock
        self.journal = journal
        self.row = row
        self._moments = list(fold(dose, journal.events(row.id)))
        self._run: _Run | None = None
        self._coming: tuple[State, frozenset[str]] | None = None
        if len(self._moments) > 1 and not self.over and not row.ended:
            self._append("returned")

    # What is so now

    @property
    def moments(self) -> Sequence[Moment]:
        """Every moment that still counts, from the start to now."""
        return self._moments

    @property
    def coming(self) -> frozenset[str]:
        """The steps that still come if each ends as hoped, the one to do now with them."""
        state = self.moment.state
        if self._coming is None or self._coming[0] != state:
            ahead = way_ahead(self.dose.procedure, state)
            self._coming = state, frozenset(step.id for step in ahead)
        return self._coming[1]

    @property
    def running(self) -> bool:
        """Whether a timer runs by itself."""
        return self._run is not None

    @property
    def moment(self) -> Moment:
        """The fold of all that happened so far."""
        return self._moments[-1]

    @property
    def over(self) -> bool:
        """Whether the sitting has ended."""
        return ended(self.dose.procedure, self.moment.state)

    def step(self) -> Step:
        """Return the step to do now. Raises EngineError once the sitting is over."""
        return step_to_do(self.dose.procedure, self.moment.state)

    def timer(self) -> Timer | None:
        """Return the timer of the step to do now; None where it has none that runs."""
        if self.over:
            return None
        step, run = self.step(), self._run
        if run is None:
            return self._wait_timer(step) if isinstance(step.ask, Wait) else None
        passed = self.clock.monotonic() - run.since
        if run.phase == "lead-in":
            return _timer("lead-in", self.dose.procedure.source.lead_in, passed)
        if isinstance(step.ask, Hold):
            return _timer("hold", ordered_seconds(self.dose, step.ask), passed)
        if isinstance(step.ask, Act):
            return _timer("pace", step.ask.pace, passed)
        return self._wait_timer(step) if isinstance(step.ask, Wait) else None

    def _wait_timer(self, step: Step) -> Timer:
        assert isinstance(step.ask, Wait)
        total = ordered_seconds(self.dose, step.ask)
        return _timer("wait", total, waited(self._moments, step.ask, self.clock.now()))

    # What the person does

    def start_run(self) -> None:
        """Start the timer of a hold, or a hands-busy stretch, which begins with a lead-in.

        Raises EngineError where the step to do now has none.
        """
        step = self.step()
        if not runs(step):
            raise EngineError("There is no timer to start at this step.")
        if not self._away():
            phase = "lead-in" if step.hands_busy else "timed"
            self._run = _Run(phase, self.clock.monotonic())

    def stop_run(self) -> None:
        """Stop what runs by itself; a hold that was cut off starts again from nothing.

        A stretch that needs both hands was broken off by one of them: what does not last, such
        as a scrubbed connector or a bare tip, has faded.
        """
        broken_off = self._in_stretch()
        self._run = None
        if broken_off:
            self._append("returned")

    def tick(self) -> bool:
        """Let what runs by itself move on if its time has come; tell whether it did."""
        timer = self.timer()
        if self._run is None or timer is None or not timer.over:
            return False
        if self._run.phase == "lead-in":
            self._run = _Run("timed", self.clock.monotonic())
            return True
        self._append("done", self.step().id, str(int(timer.passed)))
        goes_on = not self.over and runs_itself(self.step())
        self._run = _Run("timed", self.clock.monotonic()) if goes_on else None
        return True

    def done(self) -> None:
        """Say that the step to do now is done. Raises EngineError if its time is not over."""
        step = self.step()
        if runs(step):
            raise EngineError("This step is timed. It goes on by itself.")
        timer = self.timer()
        if timer is not None and not timer.over:
            raise EngineError("The time is not over yet.")
        if not self._away():
            told = str(int(timer.passed)) if timer else self._passed_since(step)
            self._append("done", step.id, told)

    def answer(self, name: str) -> None:
        """Answer the question or the stop that is shown. Raises EngineError."""
        if not self._away():
            self._append("answer", self.step().id, name)

    def read(self, typed: str) -> None:
        """Say what was read off. Raises OrderError if it cannot be read as asked."""
        step = self.step()
        if isinstance(step.ask, Reading):
            expected = self.dose.values.get(step.ask.against[0])
            if isinstance(expected, Quantity):
                refuse_without_unit(expected, typed)
        if not self._away():
            self._append("reading", step.id, typed)

    def went_wrong(self, name: str) -> None:
        """Say that the mishap *name* happened. Raises EngineError if it cannot have."""
        for mishap in possible(self.dose.procedure, self.moment.state):
            if mishap.id == name:
                broken_off = self._in_stretch()
                self._run = None
                self._append(mishap.kind, "" if self.over else self.step().id, name)
                if broken_off:
                    self._append("returned")
                return
        raise EngineError("That cannot happen at this step.")

    def undo(self) -> None:
        """Take back the last thing that was said. Raises EngineError if that cannot be."""
        self.stop_run()
        if self.over or not can_undo(self.moment):
            raise EngineError("There is nothing here that can be taken back.")
        self.journal.append(self.row.id, self.clock.now(), "undone", "", "")
        self._moments.pop()

    def leave(self) -> None:
        """Say that the table is left."""
        self.stop_run()
        if not self.over:
            self._append("left")

    def come_back(self) -> None:
        """Say that somebody is back at the table: what does not last has faded."""
        if not self.over:
            self._append("returned")

    def note(self, text: str) -> None:
        """Keep a note with the dose."""
        self._append("note", "", text)

    # Inside

    def _in_stretch(self) -> bool:
        """Tell whether a stretch that needs both hands is running, past its lead-in."""
        run = self._run
        return run is not None and run.phase == "timed" and self.step().hands_busy

    def _passed_since(self, step: Step) -> str:
        """Return the whole seconds, rounded up, that *step* is to be told; else nothing.

        The time for which the medicine has flowed is taken off: it is not still to come.
        """
        now, ask = self.clock.now(), step.ask
        if isinstance(ask, Within) and ask.since == SINCE_DUE:
            return str(max(0, math.ceil((now.at - self.row.due).total_seconds())))
        if not isinstance(ask, Within | Recheck):
            return ""
        wait = infusion_of(self.dose.procedure)
        run = math.floor(waited(self._moments, wait, now)) if wait else 0
        if isinstance(ask, Recheck):
            return str(run)
        passed = since_set(self._moments, *ask.since, now)
        return "" if passed is None else str(max(0, math.ceil(passed) - run))

    def _away(self) -> bool:
        """Take a long silence for an absence; tell whether something faded by it."""
        event, step = self.moment.event, self.step()
        if event is None or isinstance(step.ask, Wait | Stop):
            return False
        silent = seconds_between(event.at, self.clock.now())
        state = after_return(self.dose.procedure, self.moment.state)
        if silent < self.dose.procedure.source.idle or state == self.moment.state:
            return False
        self._append("left")
        self._append("returned")
        return True

    def _append(self, kind: str, step: str = "", value: str = "") -> None:
        at = self.clock.now()
        moment = apply(self.dose, self.moment, Event(0, at, kind, step, value))
        ends = _ending(self.dose, moment)
        event = self.journal.append(self.row.id, at, kind, step, value, ends=ends)
        self._moments.append(apply(self.dose, self.moment, event))


def _timer(kind: str, total: int, passed: float) -> Timer:
    return Timer(kind, total, min(float(total), passed))


def runs_itself(step: Step) -> bool:
    """Tell whether *step* is one that a hands-busy stretch goes through by itself."""
    return step.hands_busy and isinstance(step.ask, Hold | Wait | Act)


def runs(step: Step) -> bool:
    """Tell whether *step* is timed and ends by itself, so that it cannot be ticked."""
    return isinstance(step.ask, Hold) or runs_itself(step)


def _ending(dose: Dose, moment: Moment) -> str:
    if not ended(dose.procedure, moment.state):
        return ""
    return "finished" if finished(dose.procedure, moment.state) else "stopped"
