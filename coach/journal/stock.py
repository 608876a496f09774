"""The stock in the record: what was delivered, and what was counted by hand.

Owns the reading and writing of its entries. It must never change or remove one, and never keep
what doses used: that is worked out from their events.
"""

from __future__ import annotations

import sqlite3
from datetime import datetime
from typing import Any, Final

from coach.clean import shown
from coach.errors import JournalError
from coach.journal.rows import due_key, moment_text, read_moment
from coach.journal.trouble import calmly, damaged, writing
from coach.orders.supplies import KINDS, MOST, Entry

_KEEP: Final = """INSERT INTO stock
    (id, at, kind, item, number, discard, lot, reason, sitting_id, seq)
    WITH last (sitting_id) AS (SELECT coalesce(max(id), 0) FROM sittings)
    SELECT (SELECT coalesce(max(id), 0) + 1 FROM stock),
    :at, :kind, :item, :number, :discard, :lot, :reason, sitting_id,
    (SELECT coalesce(max(seq), 0) FROM events WHERE events.sitting_id = last.sitting_id)
    FROM last
    RETURNING id, at, kind, item, number, discard, lot, reason, sitting_id, seq"""
_EVERY: Final = """SELECT id, at, kind, item, number, discard, lot, reason, sitting_id, seq
    FROM stock ORDER BY id"""


class StockBook:
    """The entries of the stock, in an open journal.

    Every method raises JournalError, or one of its kinds, where the record cannot be read or
    written; what was kept before is then untouched.
    """

    def __init__(self, database: sqlite3.Connection) -> None:
        """Take the open *database* of the journal."""
        self._database = database

    def keep(
        self,
        *,
        at: datetime,
        kind: str,
        item: str,
        number: int,
        discard: datetime | None = None,
        lot: str = "",
        reason: str = "",
    ) -> Entry:
        """Keep an entry for *number* pieces of *item*, and return it as it will be read.

        It stands after the last event that was kept. Raises JournalError for a kind that is not
        one of `coach.orders.supplies.KINDS`, for a number that no entry can have, for a count
        without a reason or a delivery with one, and for a time without its offset.
        """
        if kind not in KINDS or not item:
            raise JournalError(f"The record knows no entry of the kind “{shown(kind)}”.")
        least = 1 if kind == "delivered" else 0
        if not least <= number <= MOST or bool(reason) != (kind == "counted"):
            raise JournalError("The record cannot take this entry. Nothing was changed.")
        values = {"at": moment_text(at), "kind": kind, "item": shown(item), "number": number}
        values |= {"discard": due_key(discard) if discard else None}
        values |= {"lot": shown(lot), "reason": shown(reason)}
        with writing(self._database):
            [row] = self._database.execute(_KEEP, values).fetchall()
        return _read(row)

    def entries(self) -> tuple[Entry, ...]:
        """Return every entry, the first one first."""
        with calmly():
            rows = self._database.execute(_EVERY).fetchall()
        return tuple(_read(row) for row in rows)


def _read(row: tuple[Any, ...]) -> Entry:
    number, at, kind, item, pieces, discard, lot, reason, sitting, seq = row
    if kind not in KINDS:
        raise damaged()
    until = None if discard is None else read_moment(discard)
    return Entry(number, read_moment(at), kind, item, pieces, until, lot, reason, sitting, seq)
