"""The journal: every dose sitting and every event in it, on the disk before the next step.

Owns all reading and writing of the record. It must never change or remove what was kept, and
never decide what an event means.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from datetime import UTC, datetime
from functools import cached_property
from pathlib import Path
from types import TracebackType
from typing import TYPE_CHECKING, Final, Self

from coach.clean import shown
from coach.clock import Instant
from coach.errors import JournalError
from coach.events import KINDS, Event
from coach.journal import queries as sql
from coach.journal.chain import keep_link
from coach.journal.lock import DoseLock, lock_path
from coach.journal.opening import open_database
from coach.journal.rows import (
    ENDINGS,
    SITTING_KINDS,
    SittingRow,
    choices_text,
    due_key,
    moment_text,
    read_event,
    read_moment,
    read_sitting,
    sha256_of,
)
from coach.journal.trouble import calmly, damaged, writing

if TYPE_CHECKING:
    from coach.journal.records import RecordBook
    from coach.journal.stock import StockBook
    from coach.journal.teaching import TeachingBook

_EARLIEST: Final = datetime(1, 1, 1, tzinfo=UTC)
_PAST_ALL: Final = 2**62
"""A number above that of any sitting."""
_FIRST_START: Final = "first start seen"


class Journal:
    """An open journal; a context manager that closes it.

    To be used by the thread that opened it. Every method raises JournalError, or one of its
    kinds, where the record cannot be read or written; what was kept before is then untouched.
    """

    def __init__(self, database: sqlite3.Connection, path: Path) -> None:
        """Take the open *database* of the journal at *path*; `open` makes one."""
        self._database = database
        self.path = path
        self._dose = DoseLock(lock_path(path))

    @classmethod
    def open(cls, path: Path) -> Journal:
        """Open the journal at *path*, and create it with its folder where there is none.

        Raises JournalDamaged where the file is not a journal, is damaged or of a later version;
        JournalBusy where another program keeps it; JournalError where the disk refuses.
        """
        return cls(open_database(path), path)

    @property
    def database(self) -> sqlite3.Connection:
        """The open file, for the care of it as a whole."""
        return self._database

    @cached_property
    def stock(self) -> StockBook:
        """What was delivered and what was counted."""
        # Imported once it is looked into, so that the Today screen is there sooner.
        from coach.journal.stock import StockBook

        return StockBook(self._database)

    @cached_property
    def records(self) -> RecordBook:
        """What people added to the record of doses."""
        from coach.journal.records import RecordBook

        return RecordBook(self._database)

    @cached_property
    def teaching(self) -> TeachingBook:
        """What was taught; in a file of rehearsals."""
        from coach.journal.teaching import TeachingBook

        return TeachingBook(self._database)

    def close(self) -> None:
        """Let go of the dose and close the files; the journal cannot be used afterwards."""
        self._dose.release()
        with calmly():
            self._database.close()

    def __enter__(self) -> Self:
        """Return this journal."""
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """Close this journal."""
        self.close()

    def hold_dose(self) -> None:
        """Take the one dose for this program until `release_dose`, `close` or its end.

        Raises JournalBusy where another program has it.
        """
        self._dose.hold()

    @contextmanager
    def holding_dose(self) -> Iterator[None]:
        """Hold the dose as `hold_dose` does, and let go of it anew if it is not taken up."""
        before = self._dose.held
        self.hold_dose()
        try:
            yield
        except BaseException:
            if not before:
                self.release_dose()
            raise

    def dose_held_elsewhere(self) -> bool:
        """Tell whether another program has the dose now. Raises JournalError."""
        return self._dose.held_elsewhere()

    def release_dose(self) -> None:
        """Let another program take the dose."""
        self._dose.release()

    def keep_source(self, kind: str, sha256: str, raw: bytes) -> None:
        """Keep the exact bytes of a "sheet" or a "procedure" under their SHA-256 in hex.

        Raises JournalError where the kind is another, or the hash is not that of *raw*.
        """
        if kind not in sql.KEEP:
            raise JournalError(f"The record keeps no file of the kind “{shown(kind)}”.")
        if sha256_of(raw) != sha256:
            raise JournalError("A file changed while it was read. Start the coach again.")
        with writing(self._database):
            self._database.execute(sql.KEEP[kind], (sha256, raw))

    def source(self, sha256: str) -> bytes:
        """Return the bytes that were kept under *sha256*.

        Raises JournalError where there are none, JournalDamaged where they have changed.
        """
        with calmly():
            row = self._database.execute(sql.SOURCE, {"hash": sha256}).fetchone()
        if row is None:
            raise JournalError("The record does not hold the file that this dose was given on.")
        raw: bytes = row[0]
        if sha256_of(raw) != sha256:
            raise damaged()
        return raw

    def begin(
        self,
        *,
        kind: str,
        sheet_id: str,
        sheet_hash: str,
        procedure_hash: str,
        due: datetime,
        choices: Mapping[str, str],
        begun: Instant,
    ) -> SittingRow:
        """Begin a sitting for the dose that is *due*; its two sources must have been kept.

        Raises JournalError where a sitting is under way, where the due time of this sheet has
        had its dose, or where a source was not kept.
        """
        if kind not in SITTING_KINDS:
            raise JournalError(f"The record knows no sitting of the kind “{shown(kind)}”.")
        sheet_id, due_utc = shown(sheet_id), due_key(due)
        texts = (sheet_id, sheet_hash, procedure_hash, moment_text(due), due_utc)
        values = (kind, *texts, choices_text(choices), *_instant(begun))
        with writing(self._database):
            self._refuse_a_second_dose(sheet_id, due_utc, due)
            self._refuse_without_sources(sheet_hash, procedure_hash)
            number = self._database.execute(sql.BEGIN, values).lastrowid
            return read_sitting(self._database.execute(sql.ROW, (number,)).fetchone())

    def under_way(self) -> SittingRow | None:
        """Return the sitting that has not ended, if there is one."""
        rows = self._rows(sql.UNDER_WAY)
        return rows[0] if rows else None

    def append(
        self, sitting_id: int, at: Instant, kind: str, step: str, value: str, *, ends: str = ""
    ) -> Event:
        """Keep one event, and end the sitting with it where *ends* says how.

        When this returns, the event is on the disk; it comes back as it will be read. Raises
        JournalError where nothing was kept: an unknown kind or ending, no such sitting, or one
        that has ended.
        """
        if kind not in KINDS:
            raise JournalError(f"The record knows no event of the kind “{shown(kind)}”.")
        moment, tick, counter = _instant(at)
        values = {"sitting": sitting_id, "at": moment, "tick": tick, "counter": counter}
        values |= {"kind": kind, "step": shown(step), "value": shown(value)}
        with writing(self._database):
            self._refuse_unless_under_way(sitting_id)
            [row] = self._database.execute(sql.APPEND, values).fetchall()
            kept = read_event(row)
            keep_link(self._database, (sitting_id, kept.seq, row[1], *row[4:]))
            if ends:
                self._end(sitting_id, ends, at)
        return kept

    def events(self, sitting_id: int) -> tuple[Event, ...]:
        """Return the events of a sitting in order; none where there is no such sitting."""
        return self._read_events(sql.EVENTS, sitting_id)

    def events_of(self, sitting_id: int, steps: Iterable[str]) -> tuple[Event, ...]:
        """Return the events of *steps* in a sitting; all of its events if any was taken back."""
        found = self._read_events(sql.OF_STEPS, sitting_id, json.dumps([*steps]))
        return self.events(sitting_id) if any(e.kind == "undone" for e in found) else found

    def _read_events(self, asks: str, *asked: int | str) -> tuple[Event, ...]:
        with calmly():
            rows = self._database.execute(asks, asked).fetchall()
        return tuple(read_event(row) for row in rows)

    def has_step(self, sitting_id: int, step: str) -> bool:
        """Tell whether any event of a sitting is of *step*, taken back or not."""
        with calmly():
            return self._database.execute(sql.HAS_STEP, (sitting_id, step)).fetchone() is not None

    def end(self, sitting_id: int, how: str, at: Instant) -> None:
        """End a sitting, "finished" or "stopped".

        Raises JournalError where there is no such ending or sitting, or it has ended.
        """
        with writing(self._database):
            self._refuse_unless_under_way(sitting_id)
            self._end(sitting_id, how, at)

    def due_between(
        self, sheet_id: str, since: datetime, until: datetime
    ) -> tuple[SittingRow, ...]:
        """Return the doses of an order sheet due from *since* until before *until*, in order."""
        return self._rows(sql.DUE_BETWEEN, shown(sheet_id), due_key(since), due_key(until))

    def due_before(self, sheet_id: str, moment: datetime) -> SittingRow | None:
        """Return the dose of an order sheet that was due last before *moment*, if there is one."""
        rows = self._rows(sql.DUE_BEFORE, shown(sheet_id), due_key(moment))
        return rows[0] if rows else None

    def first_due(self, sheet_id: str) -> datetime | None:
        """Return the first due time of an order sheet that has a dose; None where none has."""
        with calmly():
            row = self._database.execute(sql.FIRST_DUE, (shown(sheet_id),)).fetchone()
        return None if row is None else read_moment(row[0])

    def begun_on_paper(self) -> datetime | None:
        """Return when the dose from paper that was begun last was begun, by any order sheet."""
        with calmly():
            row = self._database.execute(sql.ON_PAPER).fetchone()
        return None if row is None else read_moment(row[0])

    def last_link(self, sitting_id: int) -> str:
        """Return the link of a sitting's last event in hex; empty where it has no event."""
        with calmly():
            row = self._database.execute(sql.LINK, (sitting_id,)).fetchone()
        return row[0].hex() if row else ""

    def every_sitting(self) -> tuple[SittingRow, ...]:
        """Return every sitting of this journal, whatever its order sheet, the newest first."""
        return self._rows(sql.EVERY)

    def _rows(self, asks: str, *asked: str) -> tuple[SittingRow, ...]:
        with calmly():
            rows = self._database.execute(asks, asked).fetchall()
        return tuple(read_sitting(row) for row in rows)

    def newest_first(self, sheet_id: str = "") -> Iterator[SittingRow]:
        """Yield the sittings of an order sheet, or of all, reading no more than are asked for."""
        asked = {"sheet": shown(sheet_id), "before": _PAST_ALL}
        while True:
            with calmly():
                rows = self._database.execute(sql.SOME, asked).fetchall()
            if not rows:
                return
            yield from (read_sitting(row) for row in rows)
            asked["before"] = rows[-1][0]

    def taken(self, sheet_id: str, since: datetime = _EARLIEST) -> frozenset[datetime]:
        """Return the due times of an order sheet from *since* that have had their sitting, in UTC.

        One that a stopped dose left free is not among them.

        Turn a due time into UTC before looking it up here: within the hour that the clocks go
        through twice, moments of different time zones never compare equal (PEP 495).
        """
        with calmly():
            asked = {"sheet": shown(sheet_id), "since": due_key(since)}
            rows = self._database.execute(sql.TAKEN, asked).fetchall()
        return frozenset(read_moment(row[0]) for row in rows)

    def free(self, sitting_id: int) -> None:
        """Keep that a dose, stopped before anything was given, leaves its due time free.

        Raises JournalError where it was not stopped, or is not in the record.
        """
        with writing(self._database):
            row = self._database.execute(sql.ROW, (sitting_id,)).fetchone()
            if row is None or read_sitting(row).ended != "stopped":
                raise JournalError("Only a dose that was stopped leaves its due time free.")
            self._database.execute(sql.FREE, (sitting_id,))

    def first_start_seen(self) -> bool:
        """Return whether the notice of the first start has been shown."""
        with calmly():
            return self._database.execute(sql.SEEN, (_FIRST_START,)).fetchone() is not None

    def mark_first_start(self) -> None:
        """Keep that the notice of the first start has been shown."""
        with writing(self._database):
            self._database.execute(sql.SEE, (_FIRST_START,))

    def _refuse_a_second_dose(self, sheet_id: str, due_utc: str, due: datetime) -> None:
        if self.under_way() is not None:
            raise JournalError(
                "A dose is already under way. Go back to it before you begin another."
            )
        asked = {"sheet": sheet_id, "since": due_utc}
        if any(row[0] == due_utc for row in self._database.execute(sql.TAKEN, asked)):
            raise JournalError(
                f"The dose due on {due:%Y-%m-%d} at {due:%H:%M} is already in the record, "
                "so it is not begun again. If that is not right, call your nurse."
            )

    def _refuse_without_sources(self, *hashes: str) -> None:
        for sha256 in hashes:
            if self._database.execute(sql.SOURCE, {"hash": sha256}).fetchone() is None:
                raise JournalError(
                    "The order sheet or the steps of this dose were not saved, "
                    "so it is not begun. Start the coach again."
                )

    def _refuse_unless_under_way(self, sitting_id: int) -> None:
        row = self._database.execute(sql.ROW, (sitting_id,)).fetchone()
        if row is None:
            raise JournalError("This dose is not in the record. Start the coach again.")
        if read_sitting(row).ended:
            raise JournalError("This dose has ended, so nothing more is added to it.")

    def _end(self, sitting_id: int, how: str, at: Instant) -> None:
        if how not in ENDINGS:
            raise JournalError(f"The record knows no way to end a dose called “{shown(how)}”.")
        self._database.execute(sql.END, (how, moment_text(at.at), sitting_id))


def _instant(instant: Instant) -> tuple[str, float, str]:
    return moment_text(instant.at), instant.tick, shown(instant.counter)
