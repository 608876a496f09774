"""What can go wrong with the record, in calm sentences.

Owns the way from an error of SQLite or of the disk to an error of this program. It must never
let a lower error through, nor a second error hide the first.
"""

from __future__ import annotations

import errno
import sqlite3
from collections.abc import Iterator, Mapping
from contextlib import contextmanager, suppress
from typing import Final

from coach.errors import JournalBusy, JournalDamaged, JournalError

_SAFE = "What was saved before is still there."
_BUSY = "Another program is using the record right now. Wait a moment, then try again."
_FULL = f"The disk is full, so this was not saved. {_SAFE} Free some space, then try again."
_READ_ONLY = (
    f"The record cannot be written to, so this was not saved. {_SAFE} "
    "Allow writing to its folder and file, then try again."
)
_CANNOT_OPEN = (
    "The record cannot be opened. Check that its folder is there and belongs to you, "
    "then try again."
)
_DISK = f"The disk did not do what was asked, so this was not saved. {_SAFE} Try again."
_OTHER = f"The record could not be used just now. {_SAFE} Close the coach, then open it again."
_DAMAGED = (
    "The record is damaged and cannot be read. Keep the file as it is, "
    "and call your nurse before the next step."
)

_BY_CODE: Final[Mapping[int, tuple[type[JournalError], str]]] = {
    sqlite3.SQLITE_BUSY: (JournalBusy, _BUSY),
    sqlite3.SQLITE_LOCKED: (JournalBusy, _BUSY),
    sqlite3.SQLITE_NOTADB: (JournalDamaged, _DAMAGED),
    sqlite3.SQLITE_CORRUPT: (JournalDamaged, _DAMAGED),
    sqlite3.SQLITE_FULL: (JournalError, _FULL),
    sqlite3.SQLITE_READONLY: (JournalError, _READ_ONLY),
    sqlite3.SQLITE_PERM: (JournalError, _READ_ONLY),
    sqlite3.SQLITE_CANTOPEN: (JournalError, _CANNOT_OPEN),
    sqlite3.SQLITE_IOERR: (JournalError, _DISK),
}

_BY_ERRNO: Final[Mapping[int, str]] = {
    errno.ENOSPC: _FULL,
    errno.EDQUOT: _FULL,
    errno.EACCES: _READ_ONLY,
    errno.EPERM: _READ_ONLY,
    errno.EROFS: _READ_ONLY,
}


def primary_code(error: sqlite3.Error) -> int:
    """Return the primary result code of *error*, or 0 where it did not come from SQLite.

    Source: https://www.sqlite.org/rescode.html: the low 8 bits are the primary code.
    """
    code: int = getattr(error, "sqlite_errorcode", 0)
    return code & 0xFF


def damaged() -> JournalDamaged:
    """Return the error for a record whose content makes no sense."""
    return JournalDamaged(_DAMAGED)


@contextmanager
def calmly() -> Iterator[None]:
    """Turn every error of SQLite or of the disk inside the block into a `JournalError`."""
    try:
        yield
    except sqlite3.Error as error:
        kind, sentence = _BY_CODE.get(primary_code(error), (JournalError, _OTHER))
        raise kind(sentence) from error
    except OSError as error:
        raise JournalError(_BY_ERRNO.get(error.errno or 0, _CANNOT_OPEN)) from error


@contextmanager
def writing(database: sqlite3.Connection) -> Iterator[None]:
    """Run the block as one transaction: it is on the disk as a whole afterwards, or not at all.

    Raises JournalError (or a kind of it) where that fails.
    """
    with calmly():
        database.execute("BEGIN IMMEDIATE")
        try:
            yield
            database.execute("COMMIT")
        finally:
            # Still inside only after an error; SQLite ends some failed transactions itself.
            if database.in_transaction:
                with suppress(sqlite3.Error):
                    database.execute("ROLLBACK")
