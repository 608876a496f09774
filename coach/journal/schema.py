"""The tables of the record, and the way from each version of them to the next.

Owns the SQL that makes tables, indexes and triggers. It must never change or drop what an
earlier version kept: a new version is a new entry in `MIGRATIONS`.
"""

from __future__ import annotations

import sqlite3
from typing import Final

from coach.journal.chain import link_all
from coach.journal.record_tables import PAPER_PUT_RIGHT as _PAPER_PUT_RIGHT
from coach.journal.record_tables import TABLES as _WRITTEN_DOWN
from coach.journal.teaching_tables import TABLES as _TAUGHT

APPLICATION_ID: Final = 0x6B746331
"""Marks the file as a journal of this program: "ktc1" in ASCII."""

PAGE_SIZE: Final = 4096
"""Bytes in a page of the file; a whole file is a whole number of pages."""

_TABLES = (
    """CREATE TABLE sheets (hash TEXT PRIMARY KEY, raw BLOB NOT NULL) STRICT""",
    """CREATE TABLE procedures (hash TEXT PRIMARY KEY, raw BLOB NOT NULL) STRICT""",
    """CREATE TABLE settings (key TEXT PRIMARY KEY, value TEXT NOT NULL) STRICT""",
    """CREATE TABLE sittings (
        id INTEGER PRIMARY KEY,
        kind TEXT NOT NULL,
        sheet_id TEXT NOT NULL,
        sheet_hash TEXT NOT NULL REFERENCES sheets (hash),
        procedure_hash TEXT NOT NULL REFERENCES procedures (hash),
        due TEXT NOT NULL,
        due_utc TEXT NOT NULL, -- the same moment has many offsets, and is one due time
        choices TEXT NOT NULL,
        begun_at TEXT NOT NULL,
        begun_tick REAL NOT NULL,
        begun_counter TEXT NOT NULL,
        ended TEXT NOT NULL DEFAULT '',
        ended_at TEXT,
        CHECK ((ended = '' AND ended_at IS NULL)
            OR (ended IN ('finished', 'stopped') AND ended_at IS NOT NULL))
    ) STRICT""",
    """CREATE UNIQUE INDEX one_dose_for_one_due_time
        ON sittings (sheet_id, due_utc) WHERE kind = 'dose'""",
    """CREATE UNIQUE INDEX one_under_way ON sittings (ended) WHERE ended = ''""",
    """CREATE TABLE events (
        sitting_id INTEGER NOT NULL REFERENCES sittings (id),
        seq INTEGER NOT NULL,
        at TEXT NOT NULL,
        tick REAL NOT NULL,
        counter TEXT NOT NULL,
        kind TEXT NOT NULL,
        step TEXT NOT NULL,
        value TEXT NOT NULL,
        PRIMARY KEY (sitting_id, seq)
    ) STRICT, WITHOUT ROWID""",
)

# INSERT OR REPLACE deletes without firing the DELETE trigger (unless recursive triggers are
# on), so what is inserted is held to be new as well.
_TRIGGERS = (
    """CREATE TRIGGER events_keep_their_text BEFORE UPDATE ON events
        BEGIN SELECT RAISE(ABORT, 'an event is never changed'); END""",
    """CREATE TRIGGER events_stay BEFORE DELETE ON events
        BEGIN SELECT RAISE(ABORT, 'an event is never removed'); END""",
    """CREATE TRIGGER events_follow_on BEFORE INSERT ON events
        WHEN NEW.seq <> (SELECT coalesce(max(seq), 0) + 1 FROM events
                         WHERE sitting_id = NEW.sitting_id)
        BEGIN SELECT RAISE(ABORT, 'an event follows the last one'); END""",
    """CREATE TRIGGER events_stop_at_the_end BEFORE INSERT ON events
        WHEN (SELECT ended FROM sittings WHERE id = NEW.sitting_id) <> ''
        BEGIN SELECT RAISE(ABORT, 'the sitting has ended'); END""",
    """CREATE TRIGGER sittings_stay BEFORE DELETE ON sittings
        BEGIN SELECT RAISE(ABORT, 'a sitting is never removed'); END""",
    """CREATE TRIGGER sittings_are_new BEFORE INSERT ON sittings
        WHEN EXISTS (SELECT 1 FROM sittings
                     WHERE id = NEW.id OR ended = '' OR (kind = 'dose' AND NEW.kind = 'dose'
                           AND sheet_id = NEW.sheet_id AND due_utc = NEW.due_utc))
        BEGIN SELECT RAISE(ABORT, 'a sitting is never replaced'); END""",
    """CREATE TRIGGER sittings_only_end_once BEFORE UPDATE ON sittings
        WHEN OLD.ended <> '' OR NEW.ended = '' OR NEW.id <> OLD.id OR NEW.kind <> OLD.kind
            OR NEW.sheet_id <> OLD.sheet_id OR NEW.sheet_hash <> OLD.sheet_hash
            OR NEW.procedure_hash <> OLD.procedure_hash
            OR NEW.due <> OLD.due OR NEW.due_utc <> OLD.due_utc OR NEW.choices <> OLD.choices
            OR NEW.begun_at <> OLD.begun_at OR NEW.begun_tick <> OLD.begun_tick
            OR NEW.begun_counter <> OLD.begun_counter
        BEGIN SELECT RAISE(ABORT, 'a sitting only ends, and once'); END""",
    """CREATE TRIGGER sheets_keep_their_bytes BEFORE UPDATE ON sheets
        BEGIN SELECT RAISE(ABORT, 'a sheet is never changed'); END""",
    """CREATE TRIGGER sheets_stay BEFORE DELETE ON sheets
        BEGIN SELECT RAISE(ABORT, 'a sheet is never removed'); END""",
    """CREATE TRIGGER procedures_keep_their_bytes BEFORE UPDATE ON procedures
        BEGIN SELECT RAISE(ABORT, 'a procedure is never changed'); END""",
    """CREATE TRIGGER procedures_stay BEFORE DELETE ON procedures
        BEGIN SELECT RAISE(ABORT, 'a procedure is never removed'); END""",
)

# A dose that was stopped before anything was given leaves its due time free. An index cannot
# look into another table, so the trigger alone keeps a due time from being given twice.
_FREED = (
    """CREATE TABLE freed (
        sitting_id INTEGER PRIMARY KEY REFERENCES sittings (id)
    ) STRICT""",
    """CREATE TRIGGER freed_stays BEFORE DELETE ON freed
        BEGIN SELECT RAISE(ABORT, 'a due time left free stays so'); END""",
    """CREATE TRIGGER freed_keeps_its_sitting BEFORE UPDATE ON freed
        BEGIN SELECT RAISE(ABORT, 'a due time left free stays so'); END""",
    """CREATE TRIGGER freed_was_stopped BEFORE INSERT ON freed
        WHEN (SELECT ended FROM sittings WHERE id = NEW.sitting_id) <> 'stopped'
        BEGIN SELECT RAISE(ABORT, 'only a stopped dose leaves its due time free'); END""",
    """DROP INDEX one_dose_for_one_due_time""",
    """CREATE INDEX doses_by_due_time ON sittings (sheet_id, due_utc) WHERE kind = 'dose'""",
    """DROP TRIGGER sittings_are_new""",
    """CREATE TRIGGER sittings_are_new BEFORE INSERT ON sittings
        WHEN EXISTS (SELECT 1 FROM sittings
                     WHERE id = NEW.id OR ended = '' OR (kind = 'dose' AND NEW.kind = 'dose'
                           AND sheet_id = NEW.sheet_id AND due_utc = NEW.due_utc
                           AND id NOT IN (SELECT sitting_id FROM freed)))
        BEGIN SELECT RAISE(ABORT, 'a sitting is never replaced'); END""",
)

# The stock is a list of entries: what doses used is worked out from their events, and a count
# that was wrong is followed by another. An entry says after which event it was written down.
_STOCK = (
    """CREATE TABLE stock (
        id INTEGER PRIMARY KEY,
        at TEXT NOT NULL,
        kind TEXT NOT NULL,
        item TEXT NOT NULL CHECK (item <> ''),
        number INTEGER NOT NULL CHECK (number BETWEEN 0 AND 9999),
        discard TEXT, -- UTC; null where no date is known
        lot TEXT NOT NULL,
        reason TEXT NOT NULL,
        sitting_id INTEGER NOT NULL, -- 0 before the first sitting
        seq INTEGER NOT NULL,
        CHECK ((kind = 'delivered' AND number > 0 AND reason = '')
            OR (kind = 'counted' AND reason <> ''))
    ) STRICT""",
    """CREATE TRIGGER stock_keeps_its_entries BEFORE UPDATE ON stock
        BEGIN SELECT RAISE(ABORT, 'an entry of the stock is never changed'); END""",
    """CREATE TRIGGER stock_stays BEFORE DELETE ON stock
        BEGIN SELECT RAISE(ABORT, 'an entry of the stock is never removed'); END""",
    """CREATE TRIGGER stock_follows_on BEFORE INSERT ON stock
        WHEN NEW.id <> (SELECT coalesce(max(id), 0) + 1 FROM stock)
        BEGIN SELECT RAISE(ABORT, 'an entry of the stock follows the last one'); END""",
)

# A dose from paper counts in the supplies: by its own steps, and after what was kept before it.
# The sums of the stock are no part of the record: they can be worked out anew at any time, and are
# kept so that nobody has to go through years for them.
_SUMS = (
    """ALTER TABLE on_paper ADD COLUMN procedure_hash TEXT""",  # null in a row of before
    """ALTER TABLE on_paper ADD COLUMN sitting_id INTEGER""",
    """ALTER TABLE on_paper ADD COLUMN seq INTEGER""",
    """CREATE INDEX on_paper_by_begun ON on_paper (julianday(begun))""",
    """CREATE TABLE stock_sums (
        id INTEGER PRIMARY KEY,
        basis TEXT NOT NULL, -- what else they rest on; of no use where it has changed
        sitting_id INTEGER NOT NULL, -- the last sitting in them
        entry_id INTEGER NOT NULL, -- the last entry of the stock in them
        paper_id INTEGER NOT NULL, -- the last dose from paper in them
        sums TEXT NOT NULL
    ) STRICT""",
)

MIGRATIONS: Final[tuple[tuple[str, ...], ...]] = (
    (*_TABLES, *_TRIGGERS),
    _FREED,
    _STOCK,
    _TAUGHT,
    _WRITTEN_DOWN,
    _SUMS,
    _PAPER_PUT_RIGHT,
)
"""Entry n holds the statements that lead from version n to version n + 1."""

CHAINED: Final = 5
"""The first version whose events have a chain."""

VERSION: Final = len(MIGRATIONS)
"""The version of the tables that this program reads and writes."""


def version(database: sqlite3.Connection) -> int:
    """Return the version of the tables in *database*; 0 before the first."""
    return int(database.execute("PRAGMA user_version").fetchone()[0])


def migrate(database: sqlite3.Connection) -> None:
    """Bring the tables to `VERSION`; to be called inside a transaction.

    The events of a record older than the chain get their links here: what was changed in it
    before does not show.
    """
    found = version(database)
    if found == VERSION:
        return
    for statements in MIGRATIONS[found:]:
        for statement in statements:
            database.execute(statement)
    if found < CHAINED:
        link_all(database)
    # A pragma takes no bound values; both of these are numbers of this file.
    database.execute(f"PRAGMA application_id = {APPLICATION_ID}")
    database.execute(f"PRAGMA user_version = {VERSION}")
