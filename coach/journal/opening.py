"""From a path to an open journal of the right version, or a clear reason why not.

Owns the checks on a file before it is trusted. It must never change a file that is not a
journal, or one that a later version wrote.
"""

from __future__ import annotations

import errno
import os
import sqlite3
from contextlib import ExitStack
from pathlib import Path
from typing import Final

from coach.clean import one_line, shown
from coach.errors import JournalDamaged, JournalStrange
from coach.journal.lock import create_private, lock_path
from coach.journal.schema import APPLICATION_ID, PAGE_SIZE, VERSION, migrate, version
from coach.journal.trouble import calmly, writing

READ_WHOLE: Final = 4_000_000
"""Bytes up to which a file is read through each time that it is opened, which takes some
hundredths of a second."""
SMALL_TABLES: Final = ("sheets", "procedures", "settings", "freed", "stock")
"""What is read through of a larger file: what does not grow with each dose."""
WAIT_FOR_OTHERS: Final = 2.0
"""Seconds to wait for another window's write, which takes some milliseconds."""


def open_database(path: Path) -> sqlite3.Connection:
    """Open the journal at *path*, and create it with its folder where there is none.

    What is created belongs to its owner alone (folder 0700, file 0600) where the system has
    such permissions. Every text that is read comes back through `coach.clean.shown`.

    Raises JournalDamaged where the file is damaged, and of its kinds JournalStrange where it is
    not a journal, or of a later version;
    JournalBusy where another program keeps it; JournalError where the disk refuses.
    """
    with calmly():
        path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        create_private(path)
        _refuse_a_read_only_file(path)
        refuse_a_shortened_file(path)
        database = sqlite3.connect(path, timeout=WAIT_FOR_OTHERS, isolation_level=None)
        with ExitStack() as on_failure:
            on_failure.callback(database.close)
            database.text_factory = _text
            _refuse_a_strange_file(database, path)
            _set_up(database)
            with writing(database):
                migrate(database)
            _refuse_damage(database, path)
            on_failure.pop_all()
    return database


def _text(raw: bytes) -> str:
    return shown(raw.decode("utf-8", "replace"))


def _refuse_a_read_only_file(path: Path) -> None:
    # SQLite would open it, leave read-only files of its own beside it, and fail in mid-dose.
    as_writer = os.access in os.supports_effective_ids
    if not os.access(path, os.W_OK, effective_ids=as_writer):
        raise PermissionError(errno.EACCES, "read-only")


def refuse_a_shortened_file(path: Path) -> None:
    """Raise JournalDamaged where the file at *path* was emptied or cut short."""
    size = path.stat().st_size
    # The lock file is made only once a journal is in use: an empty journal beside it was emptied.
    emptied = size == 0 and lock_path(path).exists()
    # Beside a write-ahead log the file may be in the middle of growing; without one it is whole.
    whole = size % PAGE_SIZE == 0 or not path.is_file()
    cut = not whole and not path.with_name(path.name + "-wal").exists()
    if emptied or cut:
        raise _damaged(path)


def _refuse_a_strange_file(database: sqlite3.Connection, path: Path) -> None:
    mark = database.execute("PRAGMA application_id").fetchone()[0]
    found = version(database)
    tables = database.execute("SELECT count(*) FROM sqlite_master").fetchone()[0]
    if mark != APPLICATION_ID and (mark, found, tables) != (0, 0, 0):
        raise JournalStrange(
            f"The file {_name(path)} is not a record of the coach. Nothing in it was changed. "
            "Move it to another place, then start the coach again."
        )
    if found > VERSION:
        raise JournalStrange(
            f"The record {_name(path)} was written by a newer version of the coach. "
            "Nothing in it was changed. Install the newer version, then start the coach again."
        )


def _set_up(database: sqlite3.Connection) -> None:
    database.execute(f"PRAGMA page_size = {PAGE_SIZE}")
    database.execute("PRAGMA journal_mode = WAL")
    # In WAL mode only FULL puts each commit on the disk before it returns; macOS needs to be
    # told to empty the drive's own cache as well.
    # Source: https://www.sqlite.org/pragma.html#pragma_synchronous and #pragma_fullfsync
    database.execute("PRAGMA synchronous = FULL")
    database.execute("PRAGMA fullfsync = ON")
    database.execute("PRAGMA foreign_keys = ON")
    database.execute("PRAGMA recursive_triggers = ON")


def _refuse_damage(database: sqlite3.Connection, path: Path) -> None:
    # The doses of years are only read where they are wanted: what is read there is checked then,
    # and `coach records check` reads all of it.
    large = path.stat().st_size > READ_WHOLE
    for part in SMALL_TABLES if large else (1,):
        if database.execute(f"PRAGMA quick_check({part})").fetchone()[0] != "ok":
            raise _damaged(path)


def _damaged(path: Path) -> JournalDamaged:
    return JournalDamaged(
        f"The record {_name(path)} is damaged and cannot be read. Nothing in it was changed. "
        "Keep the file as it is, and call your nurse before the next dose."
    )


def _name(path: Path) -> str:
    return one_line(str(path))
