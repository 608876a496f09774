"""A record as a file: looked through as a whole, and copied while it may be in use.

Owns what SQLite itself can tell of the file, the chain, and the files that were kept in it. It must
never change a record.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator, Mapping
from contextlib import closing
from pathlib import Path
from typing import TYPE_CHECKING, Final

from coach.clean import one_line
from coach.errors import JournalStrange
from coach.journal.chain import first_break
from coach.journal.rows import sha256_of
from coach.journal.trouble import calmly

if TYPE_CHECKING:
    from coach.journal.store import Journal


ADDED_TO: Final[Mapping[str, str]] = {
    "sittings": "coalesce(ended_at, begun_at)",
    "freed": "NULL",
    **dict.fromkeys(("events", "stock", "on_paper", "paper_corrections", "corrections"), "at"),
    **dict.fromkeys(("people", "answers", "reasons", "questions", "calls_by", "lots"), "at"),
    **dict.fromkeys(("learners", "visits", "runs", "leaps", "dealt", "met"), "at"),
    **dict.fromkeys(("marks", "said_back", "sign_offs"), "at"),
}
"""Each table that people add to, with what tells when a row of it was kept."""
Newest = Mapping[str, tuple[int, float]]
"""How many rows each of those tables has, and when the newest was kept, as a Julian day."""
_SOURCES: Final = ("sheets", "procedures")
# A dose under way tells more than anything that was kept later. Texts of one moment differ by
# their offsets, so they are never compared.
_SHEETS: Final = """SELECT sheet_id FROM (
    SELECT sheet_id, ended = '' AS open, julianday(coalesce(ended_at, begun_at)) AS at
        FROM sittings
    UNION ALL SELECT sheet_id, 0, julianday(at) FROM on_paper
    UNION ALL SELECT sheet_id, 0, julianday(at) FROM reasons
    UNION ALL SELECT sheet_id, 0, julianday(at) FROM questions
    UNION ALL SELECT sheet_id, 0, julianday(at) FROM calls_by
    ) GROUP BY sheet_id ORDER BY max(open) DESC, max(at) DESC"""
_NO_RECORD = "The file {path} is not a record of the coach. Nothing in it was changed."


def found_wrong(journal: Journal) -> Iterator[tuple[str, str]]:
    """Yield what is wrong with the file of *journal*, and where.

    It is one of ``file``, ``tie``, ``source`` and ``chain``.
    """
    database = journal.database
    with calmly():
        for (told,) in database.execute("PRAGMA integrity_check(10)"):
            if told != "ok":
                yield "file", told
        for table, row, *_ in database.execute("PRAGMA foreign_key_check"):
            yield "tie", f"{table} {row}"
        for table in _SOURCES:
            # The names are those above, never text from outside.
            for sha256, raw in database.execute(f"SELECT hash, raw FROM {table}"):  # noqa: S608
                if not _as_kept(sha256, raw):
                    yield "source", f"{table} {sha256[:8]}"
        broken = first_break(database)
    if broken is not None:
        yield "chain", f"{broken[0]}.{broken[1]}"


def _as_kept(sha256: str, raw: bytes) -> bool:
    """Tell whether *raw* is what was kept under *sha256*, and a text."""
    try:
        raw.decode()
    except UnicodeDecodeError:
        return False
    return sha256_of(raw) == sha256


def newest(journal: Journal) -> Newest:
    """Return how far *journal* has come. Raises JournalError where it cannot be read."""
    # The names are those of `ADDED_TO`, never text from outside.
    asks = {
        table: f"SELECT count(*), coalesce(max(julianday({at})), 0.0) FROM {table}"  # noqa: S608
        for table, at in ADDED_TO.items()
    }
    with calmly():
        return {table: journal.database.execute(sql).fetchone() for table, sql in asks.items()}


def is_newer(one: Newest, other: Newest) -> bool:
    """Tell whether *one* has anything that came after what *other* has.

    Rows are never removed, so more of them are newer ones; where two records went apart, only the
    times tell.
    """
    return any(
        mine > its for table in ADDED_TO for mine, its in zip(one[table], other[table], strict=True)
    )


def sheets(journal: Journal) -> tuple[str, ...]:
    """Return the ids of the order sheets that *journal* is of, the newest first.

    That of a dose under way comes before all. Raises JournalError where it cannot be read.
    """
    with calmly():
        return tuple(name for (name,) in journal.database.execute(_SHEETS))


def see_a_record(path: Path) -> None:
    """See that the file at *path* holds a record. Nothing in the file is changed.

    Raises JournalError where it cannot be read, and of its kinds JournalStrange where there is
    none in it.
    """
    with calmly(), closing(_to_read(path)) as db:
        if not db.execute("SELECT 1 FROM sqlite_master WHERE name = 'events'").fetchone():
            raise JournalStrange(_NO_RECORD.format(path=one_line(str(path))))


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
