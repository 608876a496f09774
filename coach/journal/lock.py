"""The hold on the one dose that may be under way on this machine account.

Owns the small file beside the journal that is held while a dose is open. It must never be
needed to read the journal.

The hold is an exclusive transaction on a second SQLite file. SQLite takes it as a lock of the
operating system (fcntl on POSIX, LockFileEx on Windows), and the system drops such a lock by
itself when the process ends, however it ends: nothing is left over to clean up, as a file with
a process number would be. It is a file apart because an exclusive transaction on the journal
would keep the dose's own events out, and would last as long as the dose.
"""

from __future__ import annotations

import os
import sqlite3
from contextlib import ExitStack, closing, suppress
from pathlib import Path

from coach.errors import JournalBusy, JournalError
from coach.journal.trouble import calmly, primary_code

_HELD = (
    "The coach already has a dose open in another window. "
    "Go on in that window, or close it and try again."
)
_UNUSABLE = (
    "The small lock file beside the record cannot be used. There is nothing in it: "
    "move the file whose name ends in .lock away, then try again."
)


def lock_path(journal: Path) -> Path:
    """Return the file that is held while a dose from *journal* is open."""
    return journal.with_name(journal.name + ".lock")


def create_private(path: Path) -> None:
    """Create *path* as an empty file for its owner alone; leave one that exists untouched.

    Raises OSError where it cannot be created.
    """
    with suppress(FileExistsError):
        # O_EXCL fails before it opens: a handle on an existing file would, on closing, drop
        # the locks that SQLite holds on it in this process.
        os.close(os.open(path, os.O_CREAT | os.O_EXCL | os.O_RDWR, 0o600))


class DoseLock:
    """The hold on the one dose, for as long as this process lives or until it lets go."""

    def __init__(self, path: Path) -> None:
        """Name the file to hold; nothing is held or created yet."""
        self._path = path
        self._held: sqlite3.Connection | None = None

    @property
    def held(self) -> bool:
        """Whether this lock has the hold."""
        return self._held is not None

    def hold(self) -> None:
        """Take the hold, or keep it where this lock has it already.

        Raises JournalBusy where another has it, and JournalError where the file cannot be used.
        """
        if self._held is not None:
            return
        with calmly():
            create_private(self._path)
            database = sqlite3.connect(self._path, timeout=0, isolation_level=None)
            with ExitStack() as on_failure:
                on_failure.callback(database.close)
                _lock(database)
                on_failure.pop_all()
        self._held = database

    def held_elsewhere(self) -> bool:
        """Tell whether another has the hold now; nothing is held or created by asking.

        Raises JournalError where the file cannot be used.
        """
        if self._held is not None or not self._path.exists():
            return False
        with calmly(), closing(sqlite3.connect(self._path, timeout=0)) as database:
            try:
                database.execute("PRAGMA schema_version").fetchone()
            except sqlite3.DatabaseError as error:
                if primary_code(error) == sqlite3.SQLITE_BUSY:
                    return True
                raise
        return False

    def release(self) -> None:
        """Let go of the hold; nothing happens where there is none."""
        if self._held is not None:
            self._held.close()
            self._held = None


def _lock(database: sqlite3.Connection) -> None:
    try:
        # Nothing is ever written here, so no rollback file need lie beside it while it is held.
        database.execute("PRAGMA journal_mode = OFF")
        database.execute("BEGIN EXCLUSIVE")
    except sqlite3.DatabaseError as error:
        if primary_code(error) == sqlite3.SQLITE_BUSY:
            raise JournalBusy(_HELD) from error
        if primary_code(error) in (sqlite3.SQLITE_NOTADB, sqlite3.SQLITE_CORRUPT):
            raise JournalError(_UNUSABLE) from error
        raise
