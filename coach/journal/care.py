"""A record as a file: looked through as a whole, and copied while it may be in use.

Owns what SQLite itself can tell of the file, and the chain. It must never change a record.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from typing import TYPE_CHECKING

from coach.clean import one_line
from coach.errors import JournalStrange
from coach.journal.chain import first_break
from coach.journal.trouble import calmly

if TYPE_CHECKING:
    from coach.journal.store import Journal


_NO_RECORD = "The file {path} is not a record of the coach. Nothing in it was changed."


def found_wrong(journal: Journal) -> Iterator[tuple[str, str]]:
    """Yield what is wrong with the file of *journal*: ``file``, ``tie`` or ``chain``, and where."""
    database = journal.database
    with calmly():
        for (told,) in database.execute("PRAGMA integrity_check(10)"):
            if told != "ok":
                yield "file", told
        for table, row, *_ in database.execute("PRAGMA foreign_key_check"):
            yield "tie", f"{table} {row}"
        broken = first_break(database)
    if broken is not None:
        yield "chain", f"{broken[0]}.{broken[1]}"


def newest(path: Path) -> tuple[int, int]:
    """Return the sitting and the event that were kept last in the record at *path*.

    Nothing in the file is changed. Raises JournalError where it cannot be read, and of its kinds
    JournalStrange where it holds no record.
    """
    with calmly(), closing(_to_read(path)) as db:
        if not db.execute("SELECT 1 FROM sqlite_master WHERE name = 'events'").fetchone():
            raise JournalStrange(_NO_RECORD.format(path=one_line(str(path))))
        [sitting] = db.execute("SELECT coalesce(max(id), 0) FROM sittings").fetchone()
        asked = "SELECT coalesce(max(seq), 0) FROM events WHERE sitting_id = ?"
        [seq] = db.execute(asked, (sitting,)).fetchone()
    return sitting, seq


def copy_into(source: Path, target: Path) -> None:
    """Copy the record at *source*, as it was last committed, over the empty file *target*.

    Raises JournalError where one of them cannot be read or written.
    Source: https://www.sqlite.org/backup.html
    """
    with calmly(), closing(_to_read(source)) as old, closing(sqlite3.connect(target)) as new:
        old.backup(new)
        # One whole file: no log of its own is left beside it.
        new.execute("PRAGMA journal_mode = DELETE")


def see_alone(path: Path) -> None:
    """See that no other program has the record at *path* open, even with no dose begun.

    Nothing in the file is changed. Raises JournalBusy where one has: what it kept next would go
    to a file that was taken away; JournalDamaged where the file is too damaged to tell.
    Source: https://www.sqlite.org/wal.html, "Use of WAL Without Shared-Memory": an exclusive
    connection is the only one.
    """
    with calmly(), closing(sqlite3.connect(path, timeout=0)) as database:
        database.execute("PRAGMA locking_mode = EXCLUSIVE")
        database.execute("SELECT count(*) FROM sqlite_master").fetchone()


def _to_read(path: Path) -> sqlite3.Connection:
    return sqlite3.connect(f"{path.absolute().as_uri()}?mode=ro", uri=True)
