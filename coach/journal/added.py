"""Tables that are only added to: no row of one is ever changed or removed.

Owns the SQL that holds them so. It must never know what a table is for.
"""

from __future__ import annotations

from collections.abc import Iterator


def added_only(table: str, columns: str, what: str) -> Iterator[str]:
    """Yield the statements that make *table* with *columns*; *what* its rows are, in words."""
    yield f"""CREATE TABLE {table} (
        id INTEGER PRIMARY KEY,
        at TEXT NOT NULL,{columns}
    ) STRICT"""
    yield f"""CREATE TRIGGER {table}_keep_their_rows BEFORE UPDATE ON {table}
        BEGIN SELECT RAISE(ABORT, '{what} is never changed'); END"""
    yield f"""CREATE TRIGGER {table}_stay BEFORE DELETE ON {table}
        BEGIN SELECT RAISE(ABORT, '{what} is never removed'); END"""
    # INSERT OR REPLACE deletes without firing the trigger on removal.
    last = f"SELECT coalesce(max(id), 0) FROM {table}"  # noqa: S608 - a name of this program
    yield f"""CREATE TRIGGER {table}_follow_on BEFORE INSERT ON {table}
        WHEN NEW.id <> ({last}) + 1
        BEGIN SELECT RAISE(ABORT, '{what} follows the last row'); END"""
