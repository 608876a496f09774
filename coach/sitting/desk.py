"""The desk: the order sheet, the procedures, the journal and the clock, put together.

Owns the opening of a dose: which due time it is for, what the record says of its circumstances,
and whether it may be begun at all. It must never follow a step.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from functools import cached_property, lru_cache
from pathlib import Path
from zoneinfo import ZoneInfo

from coach.clock import Clock, Instant, seconds_between
from coach.engine import Dose, Moment, fold
from coach.errors import CoachError, EngineError, FileProblems, OrderError, Problem
from coach.journal.rows import SittingRow
from coach.journal.store import Journal
from coach.orders.quantities import Quantity
from coach.orders.read import sheet_from_bytes
from coach.orders.schedule import due_times, nearest_due, opens_at, take_out_at, window_of
from coach.orders.sheet import OrderSheet
from coach.orders.values import sheet_choices, sheet_values, shown_values
from coach.procedure.compose import compose, fits
from coach.procedure.files import Bundle, bundle_of
from coach.procedure.model import Circumstance, PumpKey, Source, Stop
from coach.procedure.read import needed_keys, read_pump_card, read_source
from coach.readings import whole_seconds
from coach.sitting.sitting import Sitting
from coach.sitting.texts import Words
from coach.sitting.view import Contact

LOOK_BACK = timedelta(hours=24)
"""How far Today looks back for doses that were due and never begun."""
NEXT_DUE = timedelta(days=32)
"""How far the dose after this one is looked for."""


@lru_cache(maxsize=4)
def _source_from(raw: bytes) -> Source:
    """Return the procedure in *raw*, read once: a record's doses mostly share one."""
    return read_source(json.loads(raw))


class NotNow(CoachError):
    """A dose that may not be begun at this time; the text says why and what to do."""


@dataclass(frozen=True, slots=True)
class Today:
    """What is under way, what is next, and what was missed."""

    under_way: SittingRow | None
    due: datetime
    """Aware. The due time that can be begun now, or else the next one."""
    take_out: datetime
    opens: datetime
    """Aware. From when the dose can be begun."""
    closes: datetime
    """Aware. Until when it can be begun."""
    can_begin: bool
    missed: tuple[datetime, ...]
    """Due times of the last day that were never begun and can no longer be."""
    last: SittingRow | None
    """The dose that ended last."""
    needs_word: bool
    """Whether the last dose ended with an emergency call, so that the nurse's word is needed."""


@dataclass(frozen=True, slots=True)
class _Ground:
    """What a dose rests on: a sheet and a procedure, both as bytes and as read."""

    sheet: OrderSheet
    sheet_raw: bytes
    source: Source
    bundle: Bundle

    @property
    def procedure_raw(self) -> bytes:
        return json.dumps(self.bundle, sort_keys=True).encode()


class Desk:
    """Everything that one person's doses need, for every front end."""

    def __init__(self, orders: Path, procedures: Path, journal: Journal, clock: Clock) -> None:
        """Open the order sheet. Raises FileProblems."""
        self.procedures = procedures
        self.journal = journal
        self.clock = clock
        try:
            self._sheet_raw = orders.read_bytes()
        except OSError as error:
            row = Problem(str(orders), 0, 0, "", "an order sheet that can be read", "none")
            raise FileProblems((row,)) from error
        self.sheet = sheet_from_bytes(self._sheet_raw, str(orders))
        self.zone = ZoneInfo(self.sheet.time_zone)

    @cached_property
    def _ground(self) -> _Ground:
        bundle = bundle_of(self.procedures)
        raw = json.dumps(bundle, sort_keys=True).encode()
        return _Ground(self.sheet, self._sheet_raw, _source_from(raw), bundle)

    def contacts(self) -> tuple[Contact, ...]:
        """Return everybody there is to call, the nurse first."""
        people = self.sheet.contacts
        return (
            Contact("Nurse", people.nurse.name, people.nurse.phone, people.nurse.hours),
            Contact(
                "Pharmacist",
                people.pharmacist.name,
                people.pharmacist.phone,
                people.pharmacist.hours,
            ),
            Contact("Emergency", "", people.emergency_number, ""),
        )

    def today(self) -> Today:
        """Return what is under way and what is next."""
        now = self.clock.now().at
        taken = self.journal.taken(self.sheet.sheet.id)
        due = nearest_due(self.sheet, now, taken)
        opens, closes = opens_at(self.sheet, due), window_of(self.sheet, due)[1]
        ended = [row for row in self.journal.sittings(self.sheet.sheet.id) if row.ended]
        return Today(
            under_way=self.journal.under_way(),
            due=due,
            take_out=take_out_at(self.sheet, due),
            opens=opens,
            closes=closes,
            can_begin=opens <= now <= closes,
            missed=self._missed(now, taken),
            last=ended[0] if ended else None,
            needs_word=bool(ended) and self._was_emergency(ended[0]),
        )

    def _missed(self, now: datetime, taken: frozenset[datetime]) -> tuple[datetime, ...]:
        rows = self.journal.sittings(self.sheet.sheet.id)
        if not rows:
            return ()
        since = max(now - LOOK_BACK, rows[-1].due)
        return tuple(
            due
            for due in due_times(self.sheet, since, now)
            if due.astimezone(UTC) not in taken and window_of(self.sheet, due)[1] < now
        )

    def _was_emergency(self, row: SittingRow) -> bool:
        events = self.journal.events(row.id)
        if row.ended != "stopped" or not events:
            return False
        source = _source_from(self.journal.source(row.procedure_hash))
        return any(
            step.id == events[-1].step
            and isinstance(step.ask, Stop)
            and step.ask.call == "emergency"
            for step in source.responses
        )

    def begin(self, word: str = "") -> Sitting:
        """Begin the dose that is due now and return its sitting.

        *word* is who said that it may go on, needed after an emergency. Raises NotNow if no
        dose may be begun now, JournalBusy if another window has one, FileProblems if the
        procedures or the pump card cannot be used.
        """
        self.journal.hold_dose()
        today = self.today()
        if today.under_way is not None:
            return self.resume()
        if not today.can_begin:
            raise NotNow("No dose can be started now. Look at the times on the Today screen.")
        if today.needs_word and not word:
            raise NotNow(
                "The last dose ended with an emergency call. Do not start this one until the "
                "nurse or doctor says so."
            )
        ground, now = self._ground, self.clock.now()
        choices = {**sheet_choices(self.sheet), **self._circumstances(ground.source)}
        self._read_pump_card(ground)
        row = self.journal.begin(
            kind="dose",
            sheet_id=self.sheet.sheet.id,
            sheet_hash=self._keep("sheet", ground.sheet_raw),
            procedure_hash=self._keep("procedure", ground.procedure_raw),
            due=today.due,
            choices=choices,
            begun=now,
        )
        sitting = self._sitting(ground, row)
        if word:
            sitting.note(f"Said that this dose may be started: {word}")
        return sitting

    def resume(self) -> Sitting:
        """Take up the dose that is under way, on the sheet and procedure it was begun with.

        Raises NotNow if none is under way, JournalBusy if another window has it.
        """
        self.journal.hold_dose()
        row = self.journal.under_way()
        if row is None:
            raise NotNow("No dose is under way.")
        return self._sitting(self._ground_of(row), row)

    def _keep(self, kind: str, raw: bytes) -> str:
        sha256 = hashlib.sha256(raw).hexdigest()
        self.journal.keep_source(kind, sha256, raw)
        return sha256

    def _ground_of(self, row: SittingRow) -> _Ground:
        sheet_raw = self.journal.source(row.sheet_hash)
        raw = self.journal.source(row.procedure_hash)
        sheet = sheet_from_bytes(sheet_raw, "the order sheet of this dose")
        return _Ground(sheet, sheet_raw, _source_from(raw), json.loads(raw))

    def _read_pump_card(self, ground: _Ground) -> Mapping[str, PumpKey]:
        return read_pump_card(ground.bundle, ground.sheet.pump.card, needed_keys(ground.source))

    def _dose(self, ground: _Ground, choices: Mapping[str, str]) -> Dose:
        zone = ZoneInfo(ground.sheet.time_zone)
        return Dose(compose(ground.source, choices), sheet_values(ground.sheet), zone)

    def _sitting(self, ground: _Ground, row: SittingRow) -> Sitting:
        dose = self._dose(ground, row.choices)
        after = due_times(ground.sheet, row.due + timedelta(seconds=1), row.due + NEXT_DUE)[0]
        words = Words(dose, shown_values(ground.sheet), row.due, after)
        card = self._read_pump_card(ground)
        return Sitting(dose, words, card, self.clock, self.journal, row)

    # What the record says of this dose's circumstances

    def _circumstances(self, source: Source) -> dict[str, str]:
        return {c.choice: self._circumstance(c) for c in source.circumstances}

    def _circumstance(self, asked: Circumstance) -> str:
        if not fits(asked.when, sheet_choices(self.sheet)):
            return asked.otherwise
        values = sheet_values(self.sheet)
        within = values[asked.within]
        if isinstance(within, str):
            return asked.otherwise
        times = [values[name] for name in asked.until]
        ahead = sum(whole_seconds(time) for time in times if isinstance(time, Quantity))
        allowed = whole_seconds(within) - ahead
        rows = self.journal.sittings(self.sheet.sheet.id)
        if not rows or not self._ended_with(rows[0], asked):
            return asked.otherwise
        for row in rows:
            done = self._last_done(row, asked.step)
            if done is not None:
                fresh = seconds_between(done, self.clock.now()) <= allowed
                return asked.fresh if fresh else asked.otherwise
            if (self.clock.now().at - row.begun.at).total_seconds() > whole_seconds(within):
                break
        return asked.otherwise

    def _ended_with(self, row: SittingRow, asked: Circumstance) -> bool:
        moments, source = self._replayed(row)
        return bool(moments) and not moments[-1].state.facts & source.table.forbids(asked.left)

    def _last_done(self, row: SittingRow, step: str) -> Instant | None:
        moments, _ = self._replayed(row)
        done = [m.event.at for m in moments if m.event and m.step and m.step.id == step]
        return done[-1] if done else None

    def _replayed(self, row: SittingRow) -> tuple[tuple[Moment, ...], Source]:
        """Return the moments of an earlier dose; none of a record that cannot be read.

        Such a record says nothing for sure: the batteries are then due, and the tubing new.
        """
        try:
            ground = self._ground_of(row)
            dose = self._dose(ground, row.choices)
            return fold(dose, self.journal.events(row.id)), ground.source
        except (FileProblems, OrderError, EngineError):
            return (), self._ground.source
