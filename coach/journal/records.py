"""What people add to the record: corrections, names, words of a call, reasons, questions, visits.

Owns the reading and writing of its rows. It must never change or remove one, and never decide
what a dose was.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Sequence
from datetime import datetime
from typing import ClassVar, Final, TypeVar

import msgspec

from coach.clean import shown
from coach.errors import JournalError
from coach.journal.rows import due_key, moment_text
from coach.journal.trouble import calmly, damaged, writing

_DUE_BETWEEN: Final = "sheet_id = :sheet AND due_utc >= :since AND due_utc < :until"

_HAD: Final = """SELECT 1 FROM sittings WHERE kind = 'dose' AND sheet_id = :sheet
    AND due_utc = :due AND id NOT IN (SELECT sitting_id FROM freed)
    UNION ALL SELECT 1 FROM on_paper WHERE sheet_id = :sheet AND due_utc = :due"""

REASONS: Final = ("late", "early", "not-done")
"""What a reason can be for."""


class Row(msgspec.Struct, frozen=True, kw_only=True):
    """What each row has."""

    table: ClassVar[str]
    id: int = 0
    """Its number in its table, from 1; 0 until it is kept."""
    at: datetime
    """Aware, by the machine's clock: when it was kept."""


class Correction(Row, frozen=True):
    """What a field of a dose is to say; what it said before stays beside it."""

    table: ClassVar[str] = "corrections"
    sitting_id: int
    field: str
    said: str
    says: str
    who: str
    why: str


class People(Row, frozen=True):
    """Who gave a dose, and who pressed the keys; the newest row counts."""

    table: ClassVar[str] = "people"
    sitting_id: int
    gave: str
    pressed: str


class Answer(Row, frozen=True):
    """What was said on a call."""

    table: ClassVar[str] = "answers"
    sitting_id: int
    seq: int
    """The last event before it."""
    step: str
    """The stop that the call was for."""
    who: str
    words: str
    read_back: bool


class Reason(Row, frozen=True):
    """Why a dose was late, early or not done, in the person's words."""

    table: ClassVar[str] = "reasons"
    sheet_id: str
    due_utc: datetime
    kind: str
    """One of `REASONS`."""
    words: str
    who: str


class Asked(Row, frozen=True):
    """A question that the person wrote down for the nurse."""

    table: ClassVar[str] = "questions"
    sheet_id: str
    words: str


class Called(Row, frozen=True):
    """A visit: when a nurse was there."""

    table: ClassVar[str] = "calls_by"
    sheet_id: str
    nurse: str


class Lot(Row, frozen=True):
    """The lot on the label of a dose's bag; the newest row counts."""

    table: ClassVar[str] = "lots"
    sitting_id: int
    lot: str


class OnPaper(Row, frozen=True):
    """A dose that was led by paper, written down here afterwards."""

    table: ClassVar[str] = "on_paper"
    sheet_id: str
    sheet_hash: str
    due: datetime
    due_utc: datetime
    begun: datetime
    ended: datetime
    given: str
    """How much went in, in mL; empty where nobody knows."""
    gave: str
    pressed: str
    """Who wrote it down here."""
    words: str


R = TypeVar("R", bound=Row)


class RecordBook:
    """The rows of what people added, in an open journal.

    Every method raises JournalError, or one of its kinds, where the record cannot be read or
    written; what was kept before is then untouched.
    """

    def __init__(self, database: sqlite3.Connection) -> None:
        """Take the open *database* of the journal."""
        self._database = database

    def keep(self, row: R) -> R:
        """Keep *row* after the last one of its table, and return it as it will be read.

        When this returns, it is on the disk. Raises JournalError for a time without its offset,
        and for a dose on paper whose due time has had its dose.
        """
        values = {name: _kept(name, getattr(row, name)) for name in _names(type(row))}
        # The names are those of the fields above, never text from outside.
        asked = ", ".join(f":{name}" for name in values)
        sql = (
            f"INSERT INTO {row.table} (id, {', '.join(values)}) "  # noqa: S608
            f"SELECT coalesce(max(id), 0) + 1, {asked} FROM {row.table} RETURNING *"
        )
        with writing(self._database):
            if isinstance(row, OnPaper):
                self._refuse_a_second_dose(row)
            [found] = _named(self._database.execute(sql, values))
        return _read(type(row), found)

    def _refuse_a_second_dose(self, row: OnPaper) -> None:
        asked = {"sheet": shown(row.sheet_id), "due": due_key(row.due)}
        if self._database.execute(_HAD, asked).fetchone():
            raise JournalError(
                f"The dose due on {row.due:%Y-%m-%d} at {row.due:%H:%M} is already in the "
                "record, so it is not written down again."
            )

    def every(self, kind: type[R], **where: object) -> tuple[R, ...]:
        """Return the rows of a *kind* whose fields are as *where* says, the first one first."""
        known = {name: _kept(name, value) for name, value in where.items() if name in _names(kind)}
        if len(known) != len(where):
            raise TypeError(f"{kind.__name__} has no such field")
        asked = " AND ".join(f"{name} = :{name}" for name in known) or "1"
        sql = f"SELECT * FROM {kind.table} WHERE {asked} ORDER BY id"  # noqa: S608
        with calmly():
            rows = _named(self._database.execute(sql, known))
        return tuple(_read(kind, row) for row in rows)

    def between(
        self, kind: type[R], sheet_id: str, since: datetime, until: datetime
    ) -> tuple[R, ...]:
        """Return the rows of a *kind* for the due times from *since* until before *until*."""
        sql = f"SELECT * FROM {kind.table} WHERE {_DUE_BETWEEN} ORDER BY due_utc"  # noqa: S608
        asked = {"sheet": shown(sheet_id), "since": due_key(since), "until": due_key(until)}
        with calmly():
            rows = _named(self._database.execute(sql, asked))
        return tuple(_read(kind, row) for row in rows)

    def last(self, kind: type[R], **where: object) -> R | None:
        """Return the newest row that `every` would give; None where there is none."""
        rows: Sequence[R] = self.every(kind, **where)
        return rows[-1] if rows else None


def _names(kind: type[Row]) -> list[str]:
    return [name for name in kind.__struct_fields__ if name != "id"]


def _kept(name: str, value: object) -> object:
    if isinstance(value, datetime):
        return due_key(value) if name == "due_utc" else moment_text(value)
    return shown(value) if isinstance(value, str) else value


def _named(cursor: sqlite3.Cursor) -> list[dict[str, object]]:
    names = [column[0] for column in cursor.description]
    return [dict(zip(names, row, strict=True)) for row in cursor.fetchall()]


def _read(kind: type[R], row: dict[str, object]) -> R:
    try:
        # Not strict: SQLite has no truth values, and keeps 0 and 1 in their place.
        found = msgspec.convert(row, kind, strict=False)
    except msgspec.ValidationError as error:
        raise damaged() from error
    moments = [getattr(found, name) for name in kind.__struct_fields__]
    if any(isinstance(one, datetime) and one.utcoffset() is None for one in moments):
        raise damaged()
    return found
