from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest

from coach.journal.schema import APPLICATION_ID, MIGRATIONS
from coach.journal.store import Journal
from tests.journal.desk import begin, instant


@pytest.fixture
def outsider(path: Path) -> Iterator[sqlite3.Connection]:
    """Another program with the file of a finished dose and of one under way."""
    with Journal.open(path) as journal:
        first = begin(journal)
        journal.append(first.id, instant(1), "done", "wash", "")
        journal.append(first.id, instant(2), "done", "wipe", "", ends="finished")
        second = begin(journal, due=instant(8 * 3600).at)
        journal.append(second.id, instant(3), "done", "wash", "")
    with closing(sqlite3.connect(path, isolation_level=None)) as database:
        yield database


@pytest.mark.parametrize(
    ("statement", "reason"),
    [
        ("UPDATE events SET value = 'x'", "an event is never changed"),
        ("UPDATE events SET seq = seq + 10", "an event is never changed"),
        ("DELETE FROM events", "an event is never removed"),
        (
            "INSERT OR REPLACE INTO events SELECT sitting_id, seq, at, tick, counter, kind, step,"
            " 'x' FROM events WHERE sitting_id = 2",
            "an event follows the last one",
        ),
        (
            "INSERT INTO events SELECT 2, 9, at, tick, counter, kind, step, value"
            " FROM events WHERE sitting_id = 2",
            "an event follows the last one",
        ),
        (
            "INSERT INTO events SELECT 1, 3, at, tick, counter, kind, step, value"
            " FROM events WHERE sitting_id = 2",
            "the sitting has ended",
        ),
        ("DELETE FROM sittings", "a sitting is never removed"),
        ("INSERT OR REPLACE INTO sittings SELECT * FROM sittings", "a sitting is never replaced"),
        ("UPDATE sittings SET ended = 'stopped' WHERE id = 1", "a sitting only ends, and once"),
        ("UPDATE sittings SET ended = '', ended_at = NULL", "a sitting only ends, and once"),
        ("UPDATE sittings SET ended = 'lost', ended_at = due WHERE id = 2", "CHECK constraint"),
        ("UPDATE sittings SET ended = 'stopped' WHERE id = 2", "CHECK constraint"),
        ("UPDATE sheets SET raw = x'00'", "a sheet is never changed"),
        ("DELETE FROM sheets", "a sheet is never removed"),
        ("UPDATE procedures SET raw = x'00'", "a procedure is never changed"),
        ("DELETE FROM procedures", "a procedure is never removed"),
    ],
)
def test_the_file_itself_refuses_a_change(
    outsider: sqlite3.Connection, statement: str, reason: str
) -> None:
    before = "\n".join(outsider.iterdump())
    with pytest.raises(sqlite3.IntegrityError, match=reason):
        outsider.execute(statement)
    assert "\n".join(outsider.iterdump()) == before


@pytest.mark.parametrize(
    "change",
    [
        "id = 7",
        "kind = 'x'",
        "sheet_id = 'x'",
        "sheet_hash = procedure_hash",
        "procedure_hash = sheet_hash",
        "due = 'x'",
        "due_utc = 'x'",
        "choices = 'x'",
        "begun_at = 'x'",
        "begun_tick = -1",
        "begun_counter = 'x'",
    ],
)
def test_nothing_else_of_a_sitting_changes_as_it_ends(
    outsider: sqlite3.Connection, change: str
) -> None:
    statement = f"UPDATE sittings SET ended = 'stopped', ended_at = due, {change} WHERE id = 2"  # noqa: S608  a text of this test
    with pytest.raises(sqlite3.IntegrityError, match="a sitting only ends, and once"):
        outsider.execute(statement)


def test_a_sitting_under_way_may_end_once(outsider: sqlite3.Connection) -> None:
    end = "UPDATE sittings SET ended = 'stopped', ended_at = due WHERE id = 2"
    assert outsider.execute(end).rowcount == 1
    with pytest.raises(sqlite3.IntegrityError, match="and once"):
        outsider.execute(end)


def test_a_due_time_that_was_left_free_stays_so_and_no_other_is(path: Path) -> None:
    with Journal.open(path) as journal:
        first = begin(journal)
        journal.append(first.id, instant(1), "trouble", "", "x", ends="stopped")
        journal.free(first.id)
        second = begin(journal)
        journal.append(second.id, instant(2), "done", "wash", "", ends="finished")
    with closing(sqlite3.connect(path, isolation_level=None)) as database:
        for statement in ("DELETE FROM freed", "UPDATE freed SET sitting_id = 2"):
            with pytest.raises(sqlite3.IntegrityError, match="left free stays so"):
                database.execute(statement)
        with pytest.raises(sqlite3.IntegrityError, match="only a stopped dose"):
            database.execute("INSERT INTO freed VALUES (2)")


def test_a_second_dose_for_one_due_time_is_refused_by_the_file_itself(
    outsider: sqlite3.Connection,
) -> None:
    columns = (
        "kind, sheet_id, sheet_hash, procedure_hash, due, due_utc, choices,"
        " begun_at, begun_tick, begun_counter, ended, ended_at"
    )
    outsider.execute("UPDATE sittings SET ended = 'stopped', ended_at = due WHERE id = 2")
    with pytest.raises(sqlite3.IntegrityError, match="a sitting is never replaced"):
        outsider.execute(
            f"INSERT INTO sittings ({columns}) SELECT {columns} FROM sittings WHERE id = 1"  # noqa: S608  both are texts of this test
        )


def test_a_record_of_the_first_version_is_brought_on_with_all_that_it_keeps(path: Path) -> None:
    path.parent.mkdir()
    with closing(sqlite3.connect(path, isolation_level=None)) as database:
        for statement in MIGRATIONS[0]:
            database.execute(statement)
        database.execute(f"PRAGMA application_id = {APPLICATION_ID}")
        database.execute("PRAGMA user_version = 1")
        database.execute("INSERT INTO settings VALUES ('first start seen', 'yes')")
    with Journal.open(path) as journal:
        assert journal.first_start_seen()
        row = begin(journal)
        journal.append(row.id, instant(1), "trouble", "", "x", ends="stopped")
        journal.free(row.id)
        assert journal.taken("demo") == frozenset()
