"""The stock in the record: entries are added, and none is ever changed."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from coach.errors import JournalDamaged, JournalError
from coach.journal.schema import APPLICATION_ID, MIGRATIONS
from coach.journal.store import Journal
from coach.orders.supplies import Entry
from tests.journal.desk import begin, instant, raw

AT = datetime(2026, 11, 25, 9, 0, tzinfo=UTC)
DISCARD = AT + timedelta(days=5)


def test_a_delivery_and_a_count_are_read_as_they_were_kept(path: Path) -> None:
    with Journal.open(path) as journal:
        came = journal.stock.keep(
            at=AT, kind="delivered", item="bag", number=7, discard=DISCARD, lot="A7"
        )
        counted = journal.stock.keep(
            at=AT, kind="counted", item="bag", number=0, discard=DISCARD, reason="dropped"
        )
    with Journal.open(path) as journal:
        assert journal.stock.entries() == (came, counted)
    assert came == Entry(1, AT, "delivered", "bag", 7, DISCARD, "A7", "", 0, 0)
    assert counted == Entry(2, AT, "counted", "bag", 0, DISCARD, "", "dropped", 0, 0)


def test_an_entry_knows_after_which_event_it_was_written_down(journal: Journal) -> None:
    first = begin(journal)
    journal.append(first.id, instant(1), "done", "wash", "", ends="finished")
    second = begin(journal, due=instant(8 * 3600).at)
    before = journal.stock.keep(at=AT, kind="delivered", item="pad", number=1)
    journal.append(second.id, instant(2), "done", "wash", "")
    journal.append(second.id, instant(3), "undone", "", "")
    after = journal.stock.keep(at=AT, kind="delivered", item="pad", number=1)
    assert (before.sitting, before.seq) == (second.id, 0)
    assert (after.sitting, after.seq) == (second.id, 2)


@pytest.mark.parametrize(
    "wrong",
    [
        {"kind": "lent"},
        {"item": ""},
        {"number": 0},
        {"number": -1},
        {"number": 10_000},
        {"reason": "no delivery has one"},
        {"kind": "counted"},
        {"kind": "counted", "number": -1, "reason": "none are left"},
        {"at": AT.replace(tzinfo=None)},
    ],
)
def test_an_entry_that_makes_no_sense_is_refused(journal: Journal, wrong: dict[str, Any]) -> None:
    right: dict[str, Any] = {"at": AT, "kind": "delivered", "item": "bag", "number": 7}
    with pytest.raises(JournalError):
        journal.stock.keep(**{**right, **wrong})
    assert journal.stock.entries() == ()


def test_no_control_character_is_kept(journal: Journal) -> None:
    kept = journal.stock.keep(
        at=AT, kind="counted", item="bag\x1b", number=1, reason="a\x1b[2Jb\u202e"
    )
    assert "\x1b" not in kept.item + kept.reason
    assert "\u202e" not in kept.reason


@pytest.mark.parametrize(
    ("statement", "reason"),
    [
        ("UPDATE stock SET number = 99", "never changed"),
        ("DELETE FROM stock", "never removed"),
        ("INSERT OR REPLACE INTO stock SELECT * FROM stock", "follows the last one"),
        (
            "INSERT INTO stock SELECT 9, at, kind, item, number, discard, lot, reason, sitting_id,"
            " seq FROM stock",
            "follows the last one",
        ),
        (
            "INSERT INTO stock SELECT 2, at, 'counted', item, number, discard, lot, '',"
            " sitting_id, seq FROM stock",
            "CHECK constraint",
        ),
        (
            "INSERT INTO stock SELECT 2, at, kind, item, 0, discard, lot, reason, sitting_id, seq"
            " FROM stock",
            "CHECK constraint",
        ),
    ],
)
def test_the_file_itself_refuses_a_change_of_the_stock(
    path: Path, statement: str, reason: str
) -> None:
    with Journal.open(path) as journal:
        journal.stock.keep(at=AT, kind="delivered", item="bag", number=7)
    with closing(sqlite3.connect(path, isolation_level=None)) as database:
        before = "\n".join(database.iterdump())
        with pytest.raises(sqlite3.IntegrityError, match=reason):
            database.execute(statement)
        assert "\n".join(database.iterdump()) == before


def test_an_entry_of_an_unknown_kind_counts_as_damage(path: Path) -> None:
    with Journal.open(path) as journal:
        raw(journal).execute("PRAGMA ignore_check_constraints = ON")
        raw(journal).execute(
            "INSERT INTO stock VALUES (1, '2026-11-25T09:00+00:00', 'lent', 'bag', 7, NULL, '',"
            " '', 0, 0)"
        )
        with pytest.raises(JournalDamaged):
            journal.stock.entries()


def test_a_record_of_the_second_version_is_brought_on_with_all_that_it_keeps(path: Path) -> None:
    path.parent.mkdir()
    with closing(sqlite3.connect(path, isolation_level=None)) as database:
        for statements in MIGRATIONS[:2]:
            for statement in statements:
                database.execute(statement)
        database.execute(f"PRAGMA application_id = {APPLICATION_ID}")
        database.execute("PRAGMA user_version = 2")
        database.execute("INSERT INTO sheets VALUES ('s', x'00')")
        database.execute("INSERT INTO procedures VALUES ('p', x'00')")
        database.execute(
            "INSERT INTO sittings VALUES (1, 'dose', 'demo', 's', 'p', :at, :at, '{}', :at, 0,"
            " 'test', '', NULL)",
            {"at": AT.isoformat()},
        )
        database.execute(
            "INSERT INTO events VALUES (1, 1, :at, 0, 'test', 'done', 'wash', '')",
            {"at": AT.isoformat()},
        )
    with Journal.open(path) as journal:
        row = journal.under_way()
        assert row is not None
        assert [event.step for event in journal.events(row.id)] == ["wash"]
        assert journal.stock.entries() == ()
        kept = journal.stock.keep(at=AT, kind="delivered", item="bag", number=7)
        assert (kept.sitting, kept.seq) == (1, 1)
