"""The opening of a dose: on which sheet and procedure, and in which circumstances.

Owns what the record says of a dose before its first step (new tubing or kept, batteries due or
not), and the taking up of one that is under way. It must never decide whether a dose may begin.
"""

from __future__ import annotations

import itertools
import json
from collections.abc import Callable, Mapping
from contextlib import suppress
from datetime import datetime, timedelta
from functools import cached_property, lru_cache
from pathlib import Path
from zoneinfo import ZoneInfo

import msgspec

from coach import words
from coach.clock import Clock, Instant, seconds_between
from coach.engine import Dose, Moment, first_without, fold
from coach.errors import EngineError, FileProblems, NotProved, OrderError
from coach.journal.rows import SittingRow, sha256_of
from coach.journal.store import Journal
from coach.orders.quantities import Quantity
from coach.orders.read import sheet_from_bytes
from coach.orders.schedule import due_times
from coach.orders.sheet import OrderSheet
from coach.orders.times import kept_until
from coach.orders.values import sheet_choices, sheet_values, shown_values
from coach.procedure.compose import compose, fits
from coach.procedure.files import Bundle, bundle_of
from coach.procedure.model import Circumstance, PumpKey, Source, Stop
from coach.procedure.read import needed_keys, read_pump_card, read_source
from coach.proof.finding import Finding
from coach.readings import whole_seconds
from coach.sitting.course import Course, course_of
from coach.sitting.sitting import Sitting
from coach.sitting.texts import Words

NEXT_DUE = timedelta(days=32)
"""How far the dose after this one is looked for."""


FirstFault = Callable[[Bundle, Path, OrderSheet], Finding | None]
"""Returns the first thing that does not hold in a procedure for a sheet; the folder has the rules.
Nothing if all holds."""


class _Ground(msgspec.Struct, frozen=True):
    """What a dose rests on: a sheet and a procedure, both as bytes and as read."""

    sheet: OrderSheet
    sheet_raw: bytes
    source: Source
    bundle: Bundle

    @property
    def procedure_raw(self) -> bytes:
        return json.dumps(self.bundle, sort_keys=True).encode()


@lru_cache(maxsize=4)
def source_from(raw: bytes) -> Source:
    """Return the procedure in *raw*, read once: a record's doses mostly share one."""
    return read_source(json.loads(raw))


@lru_cache(maxsize=4)
def kept_source(raw: bytes) -> Source:
    """Return the procedure in *raw* that was kept with a dose, if need be an older one.

    Raises FileProblems where it cannot be read.
    """
    with suppress(FileProblems):
        return source_from(raw)
    return read_source(json.loads(raw), kept=True)


class Stopped(msgspec.Struct, frozen=True):
    """How a dose was stopped."""

    title: str
    """The title of its stop; empty where the record cannot be read."""
    call: str
    """Who was called: ``nurse``, ``pharmacist`` or ``emergency``."""
    frees: bool
    """Whether it was about a bag or a supply."""


class Opening:
    """Opens the doses of one order sheet."""

    def __init__(
        self,
        sheet: OrderSheet,
        sheet_raw: bytes,
        procedures: Path,
        journal: Journal,
        clock: Clock,
        first_fault: FirstFault,
    ) -> None:
        """Take the *sheet*, read and as bytes, and the folder of the *procedures*."""
        self.first_fault = first_fault
        self.sheet = sheet
        self.sheet_raw = sheet_raw
        self.procedures = procedures
        self.journal = journal
        self.clock = clock
        self._grounds: dict[tuple[str, str], _Ground] = {}
        self._doses: dict[tuple[str, ...], Dose] = {}
        self._folded: dict[int, tuple[Moment, ...]] = {}

    @cached_property
    def _ground(self) -> _Ground:
        bundle = bundle_of(self.procedures)
        raw = json.dumps(bundle, sort_keys=True).encode()
        return _Ground(self.sheet, self.sheet_raw, source_from(raw), bundle)

    def stop_of(self, row: SittingRow) -> Stopped:
        """Return how the stopped dose *row* ended.

        One whose procedure this program cannot read may have ended in an emergency: somebody has
        to be asked.
        """
        events = self.journal.events(row.id)
        last = events[-1].step if events else ""
        with suppress(FileProblems):
            for step in kept_source(self.journal.source(row.procedure_hash)).responses:
                if step.id == last and isinstance(step.ask, Stop):
                    return Stopped(step.title, step.ask.call, step.ask.frees)
        return Stopped("", "emergency", False)

    def leaves_free(self, row: SittingRow) -> bool:
        """Tell whether the ended dose *row* leaves its due time free for another bag.

        So it is where it was stopped before any medicine can have gone in, and with no
        emergency. A record that cannot be read leaves nothing free.
        """
        if row.ended != "stopped" or self.stop_of(row).call == "emergency":
            return False
        return self.medicine_begun(row) is None

    def medicine_begun(self, row: SittingRow) -> datetime | None:
        """Return when medicine may first have gone in during *row*; None where none can have.

        In a record that cannot be read, that is when the dose was begun.
        """
        try:
            ground, dose = self._reading(row)
            first = first_without(dose, self.journal.events(row.id), ground.source.given)
        except (FileProblems, OrderError, EngineError):
            return row.begun.at
        return first.at.at if first else None

    def check(self) -> None:
        """See that the steps hold for this sheet; a dose under way goes on without.

        Raises NotProved if they do not, FileProblems if the procedures or rules cannot be read.
        """
        fault = self.first_fault(self._ground.bundle, self.procedures, self.sheet)
        if fault is None:
            return
        nurse = self.sheet.contacts.nurse
        at = words.NOT_PROVED_AT.format(where=fault.where) if fault.where else ""
        raise NotProved(
            words.NOT_PROVED.format(says=fault.says, at=at, nurse=nurse.name, phone=nurse.phone)
        )

    def begin(self, due: datetime, word: str) -> Sitting:
        """Begin the dose that is due at *due*; *word* is who said that it may go on, if asked.

        Raises FileProblems if the procedures or the pump card cannot be used.
        """
        sitting = self._begin("dose", due, self._circumstances(self._ground.source))
        if word:
            sitting.note(f"Said that this dose may be started: {word}")
        return sitting

    def rehearse(self, due: datetime, circumstances: Mapping[str, str]) -> Sitting:
        """Begin a rehearsal of a dose that is due at *due*, in chosen *circumstances*.

        Raises FileProblems if the procedures or the pump card cannot be used.
        """
        return self._begin("rehearsal", due, circumstances)

    def _begin(self, kind: str, due: datetime, circumstances: Mapping[str, str]) -> Sitting:
        ground, now = self._ground, self.clock.now()
        choices = {**sheet_choices(self.sheet), **circumstances}
        self._read_pump_card(ground)
        sheet_hash, procedure_hash = self.keep_sources()
        row = self.journal.begin(
            kind=kind,
            sheet_id=self.sheet.sheet.id,
            sheet_hash=sheet_hash,
            procedure_hash=procedure_hash,
            due=due,
            choices=choices,
            begun=now,
        )
        self._grounds[row.sheet_hash, row.procedure_hash] = ground
        return self.resume(row)

    def resume(self, row: SittingRow) -> Sitting:
        """Take up the dose *row*, on the sheet and procedure that it was begun with."""
        ground, dose = self._reading(row)
        after = due_times(ground.sheet, row.due + timedelta(seconds=1), row.due + NEXT_DUE)[0]
        texts = Words(dose, shown_values(ground.sheet), row.due, after)
        card = self._read_pump_card(ground)
        return Sitting(dose, ground.sheet, texts, card, self.clock, self.journal, row)

    def keep_sources(self) -> tuple[str, str]:
        """Keep the sheet and the procedure of now, and return the SHA-256 of each in hex.

        Raises FileProblems if the procedures cannot be used, JournalError if they are not kept.
        """
        ground = self._ground
        sheet = self._keep("sheet", ground.sheet_raw)
        return sheet, self._keep("procedure", ground.procedure_raw)

    def _keep(self, kind: str, raw: bytes) -> str:
        sha256 = sha256_of(raw)
        self.journal.keep_source(kind, sha256, raw)
        return sha256

    def _ground_of(self, row: SittingRow) -> _Ground:
        """Return what *row* rests on, read once: a record's doses mostly share it."""
        key = row.sheet_hash, row.procedure_hash
        if key not in self._grounds:
            sheet_raw = self.journal.source(row.sheet_hash)
            raw = self.journal.source(row.procedure_hash)
            same = sheet_raw == self.sheet_raw
            name = "the order sheet of this dose"
            sheet = self.sheet if same else sheet_from_bytes(sheet_raw, name)
            self._grounds[key] = _Ground(sheet, sheet_raw, kept_source(raw), json.loads(raw))
        return self._grounds[key]

    @property
    def bundle(self) -> Bundle:
        """The procedure files that a dose would be begun on. Raises FileProblems."""
        return self._ground.bundle

    @property
    def source(self) -> Source:
        """The procedure that a dose would be begun on. Raises FileProblems."""
        return self._ground.source

    @property
    def pump_card(self) -> Mapping[str, PumpKey]:
        """The card of the sheet's pump. Raises FileProblems."""
        return self._read_pump_card(self._ground)

    def history(self, row: SittingRow) -> tuple[Dose, tuple[Moment, ...]]:
        """Return what the sitting *row* is about, and its moments so far.

        Raises FileProblems, OrderError or EngineError where its record cannot be read.
        """
        return self._reading(row)[1], self._moments(row)

    def basis(self, row: SittingRow) -> tuple[OrderSheet, Source, Mapping[str, PumpKey]]:
        """Return the sheet, procedure and pump card that *row* was begun with.

        Raises FileProblems where its record cannot be read.
        """
        ground = self._ground_of(row)
        return ground.sheet, ground.source, self._read_pump_card(ground)

    def _reading(self, row: SittingRow) -> tuple[_Ground, Dose]:
        """Return what the dose *row* rests on, put together once for doses that are alike."""
        ground = self._ground_of(row)
        key = (row.sheet_hash, row.procedure_hash, *itertools.chain(*sorted(row.choices.items())))
        if key not in self._doses:
            self._doses[key] = self._dose(ground, row.choices)
        return ground, self._doses[key]

    def _moments(self, row: SittingRow) -> tuple[Moment, ...]:
        """Return the moments of the dose *row*; of one that has ended they are folded once."""
        if row.id in self._folded:
            return self._folded[row.id]
        moments = fold(self._reading(row)[1], self.journal.events(row.id))
        if row.ended:
            self._folded[row.id] = moments
        return moments

    def _read_pump_card(self, ground: _Ground) -> Mapping[str, PumpKey]:
        return read_pump_card(ground.bundle, ground.sheet.pump.card, needed_keys(ground.source))

    def _dose(self, ground: _Ground, choices: Mapping[str, str]) -> Dose:
        zone = ZoneInfo(ground.sheet.time_zone)
        return Dose(compose(ground.source, choices), sheet_values(ground.sheet), zone)

    # What the record says of this dose's circumstances

    def choices(self) -> dict[str, str]:
        """Return what a dose begun now would rest on: the sheet's choices and the record's.

        Raises FileProblems if the procedures cannot be used.
        """
        return {**sheet_choices(self.sheet), **self._circumstances(self._ground.source)}

    def _circumstances(self, source: Source) -> dict[str, str]:
        return {c.choice: self._circumstance(c) for c in source.circumstances}

    def _circumstance(self, asked: Circumstance) -> str:
        if not fits(asked.when, sheet_choices(self.sheet)):
            return asked.otherwise
        if asked.ended:
            last = next(self.journal.newest_first(), None)
            fresh = last is None or last.ended == asked.ended
            return asked.fresh if fresh else asked.otherwise
        values = sheet_values(self.sheet)
        within = values[asked.within]
        if isinstance(within, str):
            return asked.otherwise
        times = [values[name] for name in asked.until]
        ahead = sum(whole_seconds(time) for time in times if isinstance(time, Quantity))
        allowed = whole_seconds(within) - ahead
        passed = self._passed(asked, within)
        return asked.fresh if passed is not None and passed <= allowed else asked.otherwise

    def _passed(self, asked: Circumstance, within: Quantity) -> float | None:
        """Return the seconds since the step of *asked* was done; None where it holds no more."""
        last = next(self.journal.newest_first(self.sheet.sheet.id), None)
        if last is None or not self._ended_with(last, asked):
            return None
        paper = self.journal.begun_on_paper() if asked.left else None
        if paper is not None and paper > last.begun.at:
            return None  # nobody knows how it left the line
        for row in self.journal.newest_first(self.sheet.sheet.id):
            done = self._last_done(row, asked.step)
            if done is not None:
                return seconds_between(done, self.clock.now())
            if (self.clock.now().at - row.begun.at).total_seconds() > whole_seconds(within):
                break
        return None

    def lasting(self) -> tuple[tuple[str, datetime | None], ...]:
        """Return each choice that a past step can decide, and until when one does, in UTC.

        None where no step that is on record decides it any more. Raises FileProblems if the
        procedures cannot be used.
        """
        found: list[tuple[str, datetime | None]] = []
        now, values = self.clock.now().at, sheet_values(self.sheet)
        for asked in self._ground.source.circumstances:
            within = values.get(asked.within)
            if not isinstance(within, Quantity) or not fits(asked.when, sheet_choices(self.sheet)):
                continue
            passed = self._passed(asked, within)
            if passed is not None:
                done = now - timedelta(seconds=passed)
                found.append((asked.choice, kept_until(done, within)))
            else:
                found.append((asked.choice, None))
        return tuple(found)

    def course(self, row: SittingRow) -> Course:
        """Return where the dose *row* stands in time.

        Raises FileProblems, OrderError or EngineError where its record cannot be read.
        """
        ground, dose = self._reading(row)
        return course_of(dose, ground.sheet, row.due, self._moments(row), self.clock.now())

    def _ended_with(self, row: SittingRow, asked: Circumstance) -> bool:
        moments, source = self._replayed(row)
        return bool(moments) and not moments[-1].state.facts & source.table.forbids(asked.left)

    def _last_done(self, row: SittingRow, step: str) -> Instant | None:
        if not self.journal.has_step(row.id, step):
            return None
        moments, _ = self._replayed(row)
        done = [m.event.at for m in moments if m.event and m.step and m.step.id == step]
        return done[-1] if done else None

    def _replayed(self, row: SittingRow) -> tuple[tuple[Moment, ...], Source]:
        """Return the moments of an earlier dose; none of a record that cannot be read.

        Such a record says nothing for sure: the batteries are then due, and the tubing new.
        """
        try:
            return self._moments(row), self._reading(row)[0].source
        except (FileProblems, OrderError, EngineError):
            return (), self._ground.source
