"""A book of rows in an open journal: kept one after the other, and read back.

Owns the way of a row to the disk and back. It must never change or remove one.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Mapping
from datetime import datetime
from typing import ClassVar, TypeVar

import msgspec

from coach.clean import shown
from coach.journal.rows import due_key, moment_text
from coach.journal.trouble import calmly, damaged, writing


class Row(msgspec.Struct, frozen=True, kw_only=True):
    """What each row has."""

    table: ClassVar[str]
    id: int = 0
    """Its number in its table, from 1; 0 until it is kept."""
    at: datetime
    """Aware, by the machine's clock: when it was kept."""


R = TypeVar("R", bound=Row)


class Book:
    """Rows of several kinds, in an open journal.

    Every method raises JournalError, or one of its kinds, where the file cannot be read or
    written; what was kept before is then untouched.
    """

    def __init__(self, database: sqlite3.Connection) -> None:
        """Take the open *database* of the journal."""
        self._database = database

    def keep(self, row: R) -> R:
        """Keep *row* after the last one of its table, and return it as it will be read.

        When this returns, it is on the disk. Raises JournalError for a time without its offset,
        and for a row that this book refuses.
        """
        values = {name: kept(name, getattr(row, name)) for name in names(type(row))}
        # The names are those of the fields of a row, never text from outside.
        asked = ", ".join(f":{name}" for name in values)
        sql = (
            f"INSERT INTO {row.table} (id, {', '.join(values)}) "  # noqa: S608
            f"SELECT coalesce(max(id), 0) + 1, {asked} FROM {row.table} RETURNING *"
        )
        with writing(self._database):
            self.refuse(row)
            [found] = self.read(type(row), sql, values)
        return found

    def every(self, kind: type[R], **where: object) -> tuple[R, ...]:
        """Return the rows of a *kind* whose fields are as *where* says, the first one first."""
        asked, known = self.asked(kind, where)
        sql = f"SELECT * FROM {kind.table} WHERE {asked} ORDER BY id"  # noqa: S608
        with calmly():
            return self.read(kind, sql, known)

    def asked(self, kind: type[Row], where: Mapping[str, object]) -> tuple[str, dict[str, object]]:
        """Return the condition on the fields of a *kind* that *where* names, and its values."""
        known = {name: kept(name, value) for name, value in where.items() if name in names(kind)}
        if len(known) != len(where):
            raise TypeError(f"{kind.__name__} has no such field")
        return " AND ".join(f"{name} = :{name}" for name in known) or "1", known

    def read(self, kind: type[R], sql: str, values: dict[str, object]) -> tuple[R, ...]:
        """Return the rows of a *kind* that *sql* with *values* gives.

        Raises JournalDamaged where one makes no sense.
        """
        cursor = self._database.execute(sql, values)
        columns = [column[0] for column in cursor.description]
        rows = (dict(zip(columns, row, strict=True)) for row in cursor.fetchall())
        return tuple(self._row(kind, row) for row in rows)

    def refuse(self, row: Row) -> None:
        """Raise JournalError for a *row* that may not be kept; a book says which."""

    def makes_sense(self, row: Row) -> bool:
        """Tell whether *row*, as it was read, can have been kept; a book may ask for more."""
        moments = [getattr(row, name) for name in row.__struct_fields__]
        return all(one.utcoffset() is not None for one in moments if isinstance(one, datetime))

    def _row(self, kind: type[R], row: dict[str, object]) -> R:
        try:
            # Not strict: SQLite has no truth values, and keeps 0 and 1 in their place.
            found = msgspec.convert(row, kind, strict=False)
        except msgspec.ValidationError as error:
            raise damaged() from error
        if not self.makes_sense(found):
            raise damaged()
        return found


def names(kind: type[Row]) -> list[str]:
    """Return the columns of a *kind* of row, but for its number."""
    return [name for name in kind.__struct_fields__ if name != "id"]


def kept(name: str, value: object) -> object:
    """Return *value* as the column *name* keeps it."""
    if isinstance(value, datetime):
        return due_key(value) if name == "due_utc" else moment_text(value)
    return shown(value) if isinstance(value, str) else value
