"""A copy takes nothing newer away, is not another's, and is not put over a file of another kind."""

from __future__ import annotations

import os
from collections.abc import Callable
from datetime import timedelta, timezone
from functools import partial
from pathlib import Path

import pytest

from coach import cli
from coach.errors import CoachError, ExitCode
from coach.journal.book import Row
from coach.journal.care import ADDED_TO, found_wrong
from coach.journal.records import Asked, Called, Correction, Lot, OnPaper
from coach.journal.rows import sha256_of
from coach.journal.schema import PAGE_SIZE
from coach.journal.store import Journal
from coach.records.care import backup, restore
from coach.says import records as words
from tests.journal.desk import SHEET_HASH, instant
from tests.person import DEMO
from tests.records.test_the_file_is_taken_care_of import (
    HERE,
    asked_of,
    changed,
    files,
    kept,
    wrong,
)

LATER = instant(3600).at
PAPER = OnPaper(
    at=LATER, sheet_id=HERE, sheet_hash=SHEET_HASH, due=LATER, due_utc=LATER, begun=LATER,
    ended=LATER, given="10", gave="A. B.", pressed="A. B.", words="",
)  # fmt: skip


class Asking:
    """A system that lets nobody write to one file."""

    def __init__(self, guarded: Path) -> None:
        """Guard the file *guarded*."""
        self.guarded = guarded

    def __call__(self, path: Path, mode: int, *, effective_ids: bool = False) -> bool:
        """Tell whether *path* may be used so."""
        return path != self.guarded


def _added(path: Path, row: Row) -> None:
    with Journal.open(path) as journal:
        journal.records.keep(row)


def _delivered(path: Path) -> None:
    with Journal.open(path) as journal:
        journal.stock.keep(at=LATER, kind="delivered", item="saline", number=4)


def _ended(path: Path) -> None:
    with Journal.open(path) as journal:
        journal.end(1, "stopped", instant(3600))


@pytest.mark.parametrize(
    "adds",
    [
        partial(_added, row=Correction(
            at=LATER, sitting_id=1, field="given", said="10", says="9", who="A. B.", why="a slip")),
        partial(_added, row=Asked(at=LATER, sheet_id=HERE, words="May I swim?")),
        partial(_added, row=Called(at=LATER, sheet_id=HERE, nurse="N. N.")),
        partial(_added, row=Lot(at=LATER, sitting_id=1, lot="A1")),
        partial(_added, row=PAPER),
        _delivered,
        _ended,
    ],
)  # fmt: skip
def test_nothing_that_was_kept_after_the_copy_is_lost_without_being_asked(
    tmp_path: Path, adds: Callable[[Path], None]
) -> None:
    path, copy = kept(tmp_path / "journal.sqlite"), kept(tmp_path / "copy.sqlite")
    restore(path, copy)
    adds(path)
    before = files(tmp_path)
    with pytest.raises(CoachError) as told:
        restore(path, copy)
    assert str(told.value) == words.NEWER_THERE.format(path=path)
    assert files(tmp_path) == before
    restore(path, copy, replace=True)
    restore(path, copy)


def test_one_late_row_counts_where_the_copy_has_more_of_them(tmp_path: Path) -> None:
    path, copy = kept(tmp_path / "journal.sqlite"), kept(tmp_path / "copy.sqlite")
    for second in (1, 2):
        _added(copy, Asked(at=instant(second).at, sheet_id=HERE, words="May I swim?"))
    # By a clock of another zone, whose text comes before those of the copy.
    there = timezone(timedelta(hours=-9))
    _added(path, Asked(at=LATER.astimezone(there), sheet_id=HERE, words="And fly?"))
    with pytest.raises(CoachError, match="is newer, so nothing was changed"):
        restore(path, copy)


def test_each_table_is_looked_at_for_what_is_newer_or_said_not_to_be(tmp_path: Path) -> None:
    path = kept(tmp_path / "journal.sqlite")
    asked = "SELECT name FROM sqlite_master WHERE type = 'table'"
    tables = {name for (name,) in asked_of(path, asked)}
    # What stands beside a row of another table, is worked out, or is no part of the record.
    assert tables - set(ADDED_TO) == {"sheets", "procedures", "chain", "stock_sums", "settings"}


def _asked(path: Path, sheet: str, seconds: float) -> None:
    """Ask a question by the order sheet *sheet* some *seconds* later."""
    _added(path, Asked(at=instant(seconds).at, sheet_id=sheet, words="May I swim?"))


@pytest.mark.parametrize("under_way", [True, False])
def test_a_copy_of_another_order_sheet_is_told_as_such(tmp_path: Path, under_way: bool) -> None:
    path, copy = tmp_path / "journal.sqlite", kept(tmp_path / "copy.sqlite", sheet="other")
    if not under_way:
        _ended(copy)
    _asked(copy, "other" if not under_way else HERE, 7200)
    with pytest.raises(CoachError) as told:
        restore(path, copy, sheet=HERE)
    says = words.OTHER_SHEET.format(path=copy, its="other", ours=HERE)
    assert (str(told.value), path.exists()) == (says, False)
    restore(path, copy, replace=True, sheet=HERE)
    path.unlink()
    restore(path, copy, sheet="other")
    path.unlink()
    restore(path, copy)


def test_a_copy_of_another_order_sheet_is_not_written_over(tmp_path: Path) -> None:
    path, other = kept(tmp_path / "journal.sqlite"), kept(tmp_path / "other", sheet="other")
    before = files(tmp_path)
    with Journal.open(path) as journal:
        with pytest.raises(CoachError) as told:
            backup(journal, other, sheet=HERE)
        says = words.OTHER_SHEET.format(path=other, its="other", ours=HERE)
        assert str(told.value) == says
        assert files(tmp_path).items() >= before.items()
        backup(journal, other, replace=True, sheet=HERE)
        backup(journal, other, sheet="the next one")


@pytest.mark.parametrize("there", [b"milk, bread, eggs\n" * 9, b"milk" * PAGE_SIZE, b""])
def test_a_copy_is_not_put_over_a_file_of_another_kind(tmp_path: Path, there: bytes) -> None:
    path, other = kept(tmp_path / "journal.sqlite"), tmp_path / "list.txt"
    other.write_bytes(there)
    with Journal.open(path) as journal, pytest.raises(CoachError) as told:
        backup(journal, other)
    assert str(told.value) == words.NO_COPY_THERE.format(path=other)
    assert other.read_bytes() == there


@pytest.mark.parametrize("replace", [False, True])
def test_a_copy_that_may_not_be_written_is_named_and_stays(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, replace: bool
) -> None:
    path, copy = kept(tmp_path / "journal.sqlite", 3), kept(tmp_path / "copy.sqlite")
    was = copy.read_bytes()
    with Journal.open(path) as journal:
        # Who runs the tests may be allowed to write to anything.
        monkeypatch.setattr("os.access", Asking(copy))
        monkeypatch.setattr("os.supports_effective_ids", {os.access})
        with pytest.raises(CoachError) as told:
            backup(journal, copy, replace)
    assert str(told.value) == words.NOT_WRITTEN.format(path=copy)
    assert copy.read_bytes() == was


@pytest.mark.parametrize("table", ["sheets", "procedures"])
def test_a_copy_with_another_sheet_or_steps_in_it_is_damaged(tmp_path: Path, table: str) -> None:
    path, copy = kept(tmp_path / "journal.sqlite", 1), kept(tmp_path / "copy.sqlite", 3)
    [(raw,)] = asked_of(copy, f"SELECT raw FROM {table}")  # noqa: S608
    flipped = bytes(byte ^ 0x15 for byte in raw)
    copy.write_bytes(copy.read_bytes().replace(raw, flipped))
    before = files(tmp_path)
    with pytest.raises(CoachError) as told:
        restore(path, copy, replace=True)
    assert str(told.value) == words.COPY_DAMAGED.format(path=copy)
    assert files(tmp_path) == before
    with Journal.open(copy) as journal:
        assert [name for name, _ in found_wrong(journal)] == ["source"]
        with pytest.raises(CoachError, match="does not hold, so nothing was changed"):
            backup(journal, tmp_path / "again.sqlite")
    assert not (tmp_path / "again.sqlite").exists()


def test_what_is_no_text_is_not_what_was_kept(tmp_path: Path) -> None:
    path = kept(tmp_path / "journal.sqlite")
    raw = b"\xff\xfe no text"
    changed(path, f"INSERT INTO sheets VALUES ('{sha256_of(raw)}', x'{raw.hex()}')")  # noqa: S608
    assert [name for name, _ in wrong(path)] == ["source"]


def test_the_commands_look_at_the_order_sheet_here(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("COACH_HOME", str(tmp_path))
    path, other = tmp_path / "journal.sqlite", kept(tmp_path / "other", sheet="other")
    bare = ["records", "restore", str(other)]
    assert cli.main(bare) == ExitCode.DONE, "with no order sheet here, nobody knows"
    path.unlink()
    (tmp_path / "orders.yaml").write_bytes(DEMO.read_bytes())
    for what in ("restore", "backup"):
        assert cli.main(["records", what, str(other)]) == ExitCode.COULD_NOT_RUN
        says = words.OTHER_SHEET.format(path=other, its="other", ours=HERE)
        assert says in capsys.readouterr().err
    assert cli.main([*bare, "--replace"]) == ExitCode.DONE
    assert asked_of(path, "SELECT sheet_id FROM sittings") == [("other",)]
