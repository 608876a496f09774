"""The stock in the record: what was delivered, and what was counted by hand.

Owns the reading and writing of its entries, and of sums that were worked out from them and from
the events of doses. It must never change or remove an entry; sums can be removed at any time.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from datetime import datetime
from typing import Any, Final, NamedTuple

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
_ROWS: Final = """SELECT id, at, kind, item, number, discard, lot, reason, sitting_id, seq
    FROM stock"""
_AFTER: Final = f"{_ROWS} WHERE id > ? ORDER BY id"
_OF_AN_ITEM: Final = f"{_ROWS} WHERE item = ? ORDER BY id DESC LIMIT ?"
_CAME: Final = f"{_ROWS} WHERE kind = 'delivered' ORDER BY id DESC LIMIT ?"
_FIRST: Final = f"{_ROWS} ORDER BY id LIMIT 1"
_STANDS: Final = """WITH last (id, ended) AS (
        SELECT id, ended FROM sittings ORDER BY id DESC LIMIT 1)
    SELECT coalesce((SELECT max(id) FROM stock), 0), coalesce((SELECT max(id) FROM on_paper), 0),
    coalesce((SELECT id FROM last), 0),
    coalesce((SELECT max(seq) FROM events WHERE sitting_id = (SELECT id FROM last)), 0),
    coalesce((SELECT ended FROM last), '')"""
_SUMS: Final = """SELECT basis, sitting_id, entry_id, paper_id, sums FROM stock_sums
    ORDER BY id DESC"""
_KEEP_SUMS: Final = """INSERT INTO stock_sums (basis, sitting_id, entry_id, paper_id, sums)
    VALUES (:basis, :sitting, :entry, :paper, :sums)"""


class Stands(NamedTuple):
    """How far the record has come, as far as the stock depends on it."""

    entry: int
    """The last entry of the stock; 0 for none, as in each number here."""
    paper: int
    """The last dose from paper."""
    sitting: int
    """The last sitting, and its last event."""
    seq: int
    ended: str
    """How that sitting ended; empty while it is under way."""


class KeptSums(NamedTuple):
    """Sums of the stock as they were kept: what they rest on, and how far they go."""

    basis: str
    sitting: int
    entry: int
    paper: int
    sums: str


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

    def entries(self, after: int = 0) -> tuple[Entry, ...]:
        """Return the entries that follow the one with the id *after*, the first one first."""
        return self._entries(_AFTER, after)

    def of_item(self, item: str, most: int) -> tuple[Entry, ...]:
        """Return the last entries of *item*, the newest first, *most* of them."""
        return self._entries(_OF_AN_ITEM, item, most)

    def deliveries(self, most: int) -> tuple[Entry, ...]:
        """Return the last deliveries, the newest first, *most* of them."""
        return self._entries(_CAME, most)

    def first(self) -> Entry | None:
        """Return the first entry there is."""
        return next(iter(self._entries(_FIRST)), None)

    def stands(self) -> Stands:
        """Return how far the record has come."""
        with calmly():
            return Stands(*self._database.execute(_STANDS).fetchone())

    def sums(self) -> Iterator[KeptSums]:
        """Yield the sums that were kept, the newest first."""
        with calmly():
            yield from (KeptSums(*row) for row in self._database.execute(_SUMS))

    def keep_sums(self, kept: KeptSums) -> None:
        """Keep sums, so that what follows them alone has to be gone through."""
        with writing(self._database):
            self._database.execute(_KEEP_SUMS, kept._asdict())

    def forget_sums(self) -> None:
        """Remove all sums: they are worked out anew when they are asked for."""
        with writing(self._database):
            self._database.execute("DELETE FROM stock_sums")

    def _entries(self, sql: str, *asked: object) -> tuple[Entry, ...]:
        with calmly():
            rows = self._database.execute(sql, asked).fetchall()
        return tuple(_read(row) for row in rows)


def _read(row: tuple[Any, ...]) -> Entry:
    number, at, kind, item, pieces, discard, lot, reason, sitting, seq = row
    if kind not in KINDS:
        raise damaged()
    until = None if discard is None else read_moment(discard)
    return Entry(number, read_moment(at), kind, item, pieces, until, lot, reason, sitting, seq)
