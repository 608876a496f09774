"""Learners, visits, marks and sign-offs: rows are added, and none is ever changed."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from msgspec.structs import replace

from coach.errors import JournalDamaged, JournalError
from coach.journal.book import Row
from coach.journal.schema import APPLICATION_ID, MIGRATIONS
from coach.journal.store import Journal
from coach.journal.teaching import (
    LEVELS,
    Dealt,
    Leap,
    Learner,
    Mark,
    Met,
    Run,
    SaidBack,
    SignOff,
    Visit,
)
from tests.journal.desk import PROCEDURE, PROCEDURE_HASH, SHEET, SHEET_HASH, instant, raw

AT = datetime(2026, 11, 25, 9, 0, tzinfo=UTC)
KINDS: tuple[type[Row], ...] = (
    Learner, Visit, Run, Leap, Dealt, Met, Mark, SaidBack, SignOff,
)  # fmt: skip


def begin(journal: Journal, kind: str = "rehearsal") -> int:
    """Begin a sitting of *kind*, and return its number."""
    journal.keep_source("sheet", SHEET_HASH, SHEET)
    journal.keep_source("procedure", PROCEDURE_HASH, PROCEDURE)
    row = journal.begin(
        kind=kind,
        sheet_id="demo",
        sheet_hash=SHEET_HASH,
        procedure_hash=PROCEDURE_HASH,
        due=AT,
        choices={},
        begun=instant(),
    )
    return row.id


def mark(sitting: int, **others: Any) -> Mark:
    """Return a mark of a step."""
    values: dict[str, Any] = {"step": "wash", "seq": 1, "dealt_id": None, "level": "alone"}
    values |= {"prompts": 0, "note": "", **others}
    return Mark(at=AT, sitting_id=sitting, **values)


def taught(journal: Journal) -> list[Row]:
    """Keep a row of each kind, and return them as they came back."""
    book, sitting = journal.teaching, begin(journal)
    return [
        book.keep(Learner(at=AT, sheet_id="demo", name="R. V.", role="patient")),
        book.keep(Visit(at=AT, learner_id=1, nurse="Ash")),
        book.keep(Run(at=AT, visit_id=1, sitting_id=sitting)),
        book.keep(Leap(at=AT, sitting_id=sitting, step="warm", seconds=60, whole=120)),
        book.keep(
            Dealt(
                at=AT,
                sitting_id=sitting,
                seq=1,
                step="wash",
                name="x",
                says="a",
                shown="b",
                typed="",
            )
        ),
        book.keep(Met(at=AT, dealt_id=1, is_right=False, did="nothing")),
        book.keep(mark(sitting, level="reminder", prompts=2, note="slow")),
        book.keep(SaidBack(at=AT, visit_id=1, question="q", points='["a"]')),
        book.keep(SignOff(at=AT, learner_id=1, nurse="Ash", steps="{}")),
    ]


def test_each_row_is_read_as_it_was_kept(path: Path) -> None:
    with Journal.open(path) as journal:
        kept = taught(journal)
        assert [type(one) for one in kept] == list(KINDS)
    with Journal.open(path) as journal:
        assert [row for kind in KINDS for row in journal.teaching.every(kind)] == kept


@pytest.mark.parametrize("kind", KINDS)
def test_the_file_itself_refuses_a_change(path: Path, kind: type[Row]) -> None:
    with Journal.open(path) as journal:
        taught(journal)
    with closing(sqlite3.connect(path, isolation_level=None)) as database:
        before, table = "\n".join(database.iterdump()), kind.table
        for statement, reason in (
            (f"UPDATE {table} SET at = 'x'", "never changed"),  # noqa: S608
            (f"DELETE FROM {table}", "never removed"),  # noqa: S608
            (f"INSERT OR REPLACE INTO {table} SELECT * FROM {table}", "was taught"),  # noqa: S608
        ):
            with pytest.raises(sqlite3.IntegrityError, match=reason):
                database.execute(statement)
        assert "\n".join(database.iterdump()) == before


def test_doses_and_rehearsals_never_share_a_file(journal: Journal) -> None:
    first = begin(journal)
    journal.end(first, "stopped", instant(1))
    with pytest.raises(JournalError):
        begin(journal, "dose")
    assert {row.kind for row in journal.every_sitting()} == {"rehearsal"}
    assert journal.taken("demo") == frozenset()


@pytest.mark.parametrize(
    "wrong",
    [
        {"level": "well"},
        {"prompts": -1},
        {"prompts": 1_000},
        {"sitting_id": 99},
        {"dealt_id": 99},
        {"at": AT.replace(tzinfo=None)},
    ],
)
def test_a_mark_that_makes_no_sense_is_refused(journal: Journal, wrong: dict[str, Any]) -> None:
    right = mark(begin(journal))
    with pytest.raises(JournalError):
        journal.teaching.keep(replace(right, **wrong))
    assert journal.teaching.every(Mark) == ()


def test_a_surprise_is_met_once(journal: Journal) -> None:
    taught(journal)
    with pytest.raises(JournalError):
        journal.teaching.keep(Met(at=AT, dealt_id=1, is_right=True, did="again"))
    assert len(journal.teaching.every(Met)) == 1


def test_no_control_character_is_kept(journal: Journal) -> None:
    kept = journal.teaching.keep(Learner(at=AT, sheet_id="demo", name="a\x1b[2J", role="b\u202e"))
    assert "\x1b" not in kept.name
    assert "\u202e" not in kept.role


def test_a_level_that_there_is_not_counts_as_damage(journal: Journal) -> None:
    sitting = begin(journal)
    raw(journal).execute(
        "INSERT INTO marks VALUES (1, ?, ?, 'wash', 1, NULL, 'well', 0, '')",
        (AT.isoformat(), sitting),
    )
    with pytest.raises(JournalDamaged):
        journal.teaching.every(Mark)


def test_the_levels_are_in_order_the_best_first() -> None:
    """Bondy 1983 (restated)."""
    assert LEVELS == ("alone", "reminder", "hands-on", "not-yet")


def test_a_record_of_the_third_version_is_brought_on_with_all_that_it_keeps(path: Path) -> None:
    path.parent.mkdir()
    with closing(sqlite3.connect(path, isolation_level=None)) as database:
        for statements in MIGRATIONS[:3]:
            for statement in statements:
                database.execute(statement)
        database.execute(f"PRAGMA application_id = {APPLICATION_ID}")
        database.execute("PRAGMA user_version = 3")
        database.execute(
            "INSERT INTO stock VALUES (1, :at, 'delivered', 'bag', 7, NULL, '', '', 0, 0)",
            {"at": AT.isoformat()},
        )
    with Journal.open(path) as journal:
        assert [entry.number for entry in journal.stock.entries()] == [7]
        assert journal.teaching.every(Learner) == ()
        assert len(taught(journal)) == len(KINDS)
