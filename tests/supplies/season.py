"""Doses of many days, made up by driving the engine: spoiled at random, and kept in a journal."""

from __future__ import annotations

import json
import random
from collections import Counter
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path

from coach.clock import Instant, ManualClock
from coach.engine import (
    Dose,
    Moment,
    apply,
    begin,
    can_undo,
    ended,
    finished,
    ordered_seconds,
    possible,
    step_to_do,
)
from coach.events import Event
from coach.journal.rows import sha256_of
from coach.journal.trouble import writing
from coach.orders.quantities import Quantity
from coach.orders.schedule import due_times
from coach.orders.values import sheet_choices, sheet_values
from coach.procedure.compose import compose, fits
from coach.procedure.model import (
    Circumstance,
    Hold,
    Procedure,
    Question,
    Reading,
    Stop,
    Wait,
    Within,
)
from coach.readings import whole_seconds
from coach.sitting.desk import Desk
from tests.journal.desk import raw
from tests.person import DAILY, desk_at
from tests.procedure.shipped import BUNDLE, SOURCE


@dataclass
class Season:
    """Doses one after the other, on a clock that only the test moves."""

    folder: Path
    chance: random.Random
    spoils: float
    """How likely something goes wrong at a step."""
    stops: float = 0.002
    """How likely a question is answered as nobody hopes, which mostly stops the dose."""
    start: datetime = datetime(2026, 11, 25, 5, 0, tzinfo=UTC)
    used: dict[datetime, Counter[str]] = field(default_factory=dict)
    """What the steps that were done used, by due time, as the engine itself tells it."""
    rows: dict[datetime, int] = field(default_factory=dict)
    """The last dose that was kept for each due time."""

    def __post_init__(self) -> None:
        self.clock = ManualClock(self.start)
        self.desk: Desk = desk_at(self.folder, DAILY, self.clock)
        self.bundle, self.source = BUNDLE, SOURCE
        self.values = sheet_values(self.desk.sheet)
        self.procedures: dict[tuple[str, ...], Procedure] = {}
        self.done: dict[str, datetime] = {}
        self.last: Moment | None = None
        self.hashes = (
            self._kept("sheet", self.desk.sheet_raw),
            self._kept("procedure", self._raw()),
        )

    def _raw(self) -> bytes:
        return json.dumps(self.bundle, sort_keys=True).encode()

    def _kept(self, kind: str, content: bytes) -> str:
        self.desk.journal.keep_source(kind, sha256_of(content), content)
        return sha256_of(content)

    def dues(self, days: int) -> tuple[datetime, ...]:
        """Return the due times of the next *days*."""
        return due_times(self.desk.sheet, self.start, self.start + timedelta(days=days))

    def give(self, due: datetime) -> None:
        """Give the dose that is *due*: once more with another bag if it was stopped before."""
        self.used[due] = Counter()
        early = timedelta(minutes=self.chance.randint(0, 110))
        self._move_to(due - timedelta(minutes=60) + early)
        for _ in range(3):
            if self._one(due) == "finished":
                return
            if self.chance.random() < 0.2:
                return

    def _move_to(self, at: datetime) -> None:
        left = (at.astimezone(UTC) - self.clock.now().at.astimezone(UTC)).total_seconds()
        if left > 0:
            self.clock.move(left)

    def _one(self, due: datetime) -> str:
        choices = self._choices()
        key = tuple(choices.values())
        if key not in self.procedures:
            self.procedures[key] = compose(self.source, choices)
        dose = Dose(self.procedures[key], self.values, self.desk.zone)
        events, moments = self._followed(dose)
        for moment in moments:
            if moment.step is not None:
                assert moment.event is not None
                self.done[moment.step.id] = moment.event.at.at
                self.used[due].update(moment.step.uses)
        self.last = moments[-1]
        how = "finished" if finished(dose.procedure, self.last.state) else "stopped"
        self._keep(due, choices, events, how)
        return how

    def _choices(self) -> dict[str, str]:
        return {
            **sheet_choices(self.desk.sheet),
            **{asked.choice: self._circumstance(asked) for asked in self.source.circumstances},
        }

    def _circumstance(self, asked: Circumstance) -> str:
        if asked.ended:
            well = self.last is None or self.last.state.place > 0
            return asked.fresh if well else asked.otherwise
        done = self.done.get(asked.step)
        if (
            not fits(asked.when, sheet_choices(self.desk.sheet))
            or done is None
            or self.last is None
        ):
            return asked.otherwise
        if self.last.state.facts & self.source.table.forbids(asked.left):
            return asked.otherwise
        times = [self.values[name] for name in (asked.within, *asked.until)]
        within, *until = [whole_seconds(time) for time in times if isinstance(time, Quantity)]
        passed = (self.clock.now().at - done).total_seconds()
        return asked.fresh if passed <= within - sum(until) else asked.otherwise

    def _followed(self, dose: Dose) -> tuple[list[Event], list[Moment]]:
        events: list[Event] = []
        moments = [begin(dose)]
        while not ended(dose.procedure, moments[-1].state):
            event = self._next(dose, moments[-1], len(events) + 1)
            events.append(event)
            if event.kind == "undone":
                moments.pop()
            else:
                moments.append(apply(dose, moments[-1], event))
            assert len(events) < 3000
        return events, moments

    def _next(self, dose: Dose, moment: Moment, number: int) -> Event:
        self.clock.move(5)
        step = step_to_do(dose.procedure, moment.state)
        if self.chance.random() < self.spoils:
            can_be = [m for m in possible(dose.procedure, moment.state) if m.kind == "spoiled"]
            if can_be:
                mishap = self.chance.choice(can_be)
                return self._event(number, mishap.kind, step.id, mishap.id)
        if self.chance.random() < 0.01 and can_undo(moment):
            return self._event(number, "undone", "", "")
        if self.chance.random() < 0.003:
            return self._event(number, "returned", "", "")
        ask = step.ask
        if isinstance(ask, Question | Stop):
            badly = self.chance.random() < (0.5 if isinstance(ask, Stop) else self.stops)
            outcome = self.chance.choice(step.outcomes) if badly else step.outcomes[0]
            return self._event(number, "answer", step.id, outcome.name)
        if isinstance(ask, Reading):
            return self._event(number, "reading", step.id, self._typed(dose, ask))
        if isinstance(ask, Hold | Wait):
            seconds = ordered_seconds(dose, ask)
            self.clock.move(seconds)
            return self._event(number, "done", step.id, str(seconds))
        told = "0" if isinstance(ask, Within) else ""
        return self._event(number, "done", step.id, told)

    def _typed(self, dose: Dose, ask: Reading) -> str:
        expected = dose.values[ask.against[0]]
        if ask.check == "outlasts" or not isinstance(expected, Quantity):
            return "30 Dec 2099"
        return "0" if ask.check == "at-most" else str(expected.amount)

    def _event(self, number: int, kind: str, step: str, value: str) -> Event:
        now: Instant = self.clock.now()
        return Event(number, now, kind, step, value)

    def _keep(self, due: datetime, choices: dict[str, str], events: list[Event], how: str) -> None:
        """Keep a whole dose in the journal; its events in one go, as that is much faster."""
        journal = self.desk.journal
        if due in self.rows:
            journal.free(self.rows[due])
        row = journal.begin(
            kind="dose",
            sheet_id=self.desk.sheet.sheet.id,
            sheet_hash=self.hashes[0],
            procedure_hash=self.hashes[1],
            due=due,
            choices=choices,
            begun=events[0].at,
        )
        self.rows[due] = row.id
        with writing(raw(journal)):
            raw(journal).executemany(
                "INSERT INTO events VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
                [
                    (row.id, e.seq, e.at.at.isoformat(), e.at.tick, e.at.counter, *rest(e))
                    for e in events
                ],
            )
        journal.end(row.id, how, self.clock.now())


def rest(event: Event) -> tuple[str, str, str]:
    """Return what an event says."""
    return event.kind, event.step, event.value
