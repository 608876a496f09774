"""The record's file is checked, copied, brought back and taken away, and nothing else changes."""

from __future__ import annotations

import sqlite3
import stat
from collections.abc import Callable
from contextlib import closing, nullcontext
from pathlib import Path
from typing import Any

import pytest

from coach.errors import CoachError, JournalBusy
from coach.journal.care import found_wrong
from coach.journal.chain import keep_link
from coach.journal.lock import DoseLock, lock_path
from coach.journal.schema import APPLICATION_ID, CHAINED, MIGRATIONS, PAGE_SIZE, VERSION
from coach.journal.store import Journal
from coach.records.care import backup, forget, restore
from coach.says import records as words
from tests.journal.desk import PROCEDURE, PROCEDURE_HASH, SHEET, SHEET_HASH, begin, instant

HERE = "demo-quick"
"""The id of the demonstration order sheet."""


def kept(path: Path, events: int = 2, sheet: str = HERE) -> Path:
    """Keep a dose of some *events* by the order sheet *sheet* in a new record at *path*."""
    with Journal.open(path) as journal:
        row = begin(journal, sheet_id=sheet)
        for seconds in range(events):
            journal.append(row.id, instant(seconds), "note", "", f"words {seconds}")
    return path


def changed(path: Path, statement: str) -> None:
    """Change the file at *path* behind the back of what guards it."""
    with closing(sqlite3.connect(path, isolation_level=None)) as database:
        for (name,) in database.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'"):
            database.execute(f"DROP TRIGGER {name}")
        database.execute(statement)


def files(folder: Path) -> dict[str, bytes]:
    """Return what lies in *folder*, but for the memory that programs share while one is open."""
    return {
        one.name: b"" if one.name.endswith("-shm") else one.read_bytes() for one in folder.iterdir()
    }


def asked_of(path: Path, statement: str) -> list[tuple[Any, ...]]:
    """Return what the record at *path* answers."""
    with closing(sqlite3.connect(f"{path.as_uri()}?mode=ro", uri=True)) as database:
        return database.execute(statement).fetchall()


def newest(path: Path) -> tuple[int, int]:
    """Return the sitting and the event that were kept last in the record at *path*."""
    sitting, seq = max(asked_of(path, "SELECT sitting_id, seq FROM events"))
    return sitting, seq


def wrong(path: Path) -> list[tuple[str, str]]:
    """Return what is found wrong with the record at *path*."""
    with Journal.open(path) as journal:
        return list(found_wrong(journal))


def test_a_record_as_it_was_kept_holds(tmp_path: Path) -> None:
    assert wrong(kept(tmp_path / "journal.sqlite")) == []


@pytest.mark.parametrize(
    ("statement", "found"),
    [
        ("UPDATE events SET value = 'other' WHERE seq = 1", ("chain", "1.1")),
        ("UPDATE events SET at = '2026-11-25T09:00:00+00:00' WHERE seq = 2", ("chain", "1.2")),
        ("UPDATE chain SET hash = zeroblob(32) WHERE seq = 2", ("chain", "1.2")),
        ("DELETE FROM chain WHERE seq = 2", ("chain", "1.2")),
        ("DELETE FROM events WHERE seq = 1", ("chain", "1.2")),
        ("UPDATE events SET sitting_id = 7 WHERE seq = 2", ("tie", "events None")),
    ],
)
def test_what_was_changed_afterwards_shows(
    tmp_path: Path, statement: str, found: tuple[str, str]
) -> None:
    path = kept(tmp_path / "journal.sqlite")
    changed(path, statement)
    assert found in wrong(path)


@pytest.mark.parametrize("version", range(1, VERSION))
def test_a_record_of_each_earlier_version_is_brought_on_and_chained(
    tmp_path: Path, version: int
) -> None:
    path = tmp_path / "journal.sqlite"
    with closing(sqlite3.connect(path, isolation_level=None)) as database:
        for statements in MIGRATIONS[:version]:
            for statement in statements:
                database.execute(statement)
        database.execute(f"PRAGMA application_id = {APPLICATION_ID}")
        database.execute(f"PRAGMA user_version = {version}")
        database.execute("INSERT INTO sheets VALUES (?, ?)", (SHEET_HASH, SHEET))
        database.execute("INSERT INTO procedures VALUES (?, ?)", (PROCEDURE_HASH, PROCEDURE))
        at = "2026-11-25T08:00:00+00:00"
        row = (1, "dose", "demo", SHEET_HASH, PROCEDURE_HASH, at, at, "{}", at, 0.0, "test")
        database.execute(
            "INSERT INTO sittings VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, '', NULL)", row
        )
        database.execute("INSERT INTO events VALUES (1, 1, ?, 0.0, 't', 'note', '', 'a')", (at,))
        if version >= CHAINED:
            keep_link(database, (1, 1, at, "note", "", "a"))
    assert wrong(path) == []
    with Journal.open(path) as journal:
        assert [event.value for event in journal.events(1)] == ["a"]
        assert len(journal.last_link(1)) == 64


def test_a_copy_is_whole_and_its_owners_alone(tmp_path: Path) -> None:
    path, copy = kept(tmp_path / "journal.sqlite"), tmp_path / "copy.sqlite"
    with Journal.open(path) as journal:
        backup(journal, copy)
    assert stat.S_IMODE(copy.stat().st_mode) == 0o600
    assert newest(copy) == newest(path) == (1, 2)
    assert wrong(copy) == []
    assert sorted(one.name for one in tmp_path.iterdir() if one.name.startswith(".")) == []


def test_a_newer_record_is_not_put_away_without_being_asked(tmp_path: Path) -> None:
    path, old = kept(tmp_path / "journal.sqlite", 3), kept(tmp_path / "old.sqlite", 1)
    with pytest.raises(CoachError, match="is newer, so nothing was changed"):
        restore(path, old)
    assert newest(path) == (1, 3)
    restore(path, old, replace=True)
    assert newest(path) == (1, 1)
    with Journal.open(old) as journal, pytest.raises(CoachError, match="is newer"):
        backup(journal, kept(tmp_path / "newer.sqlite", 2))


def test_a_copy_that_does_not_hold_is_not_brought_back(tmp_path: Path) -> None:
    path, bad = kept(tmp_path / "journal.sqlite", 1), kept(tmp_path / "bad.sqlite", 2)
    changed(bad, "UPDATE events SET value = 'other' WHERE seq = 1")
    with pytest.raises(CoachError, match=r"bad\.sqlite is damaged, so it was not brought back"):
        restore(path, bad)
    assert newest(path) == (1, 1)


def _flipped(path: Path) -> None:
    """Flip bits in every page but the first of the file at *path*."""
    raw = path.read_bytes()
    path.write_bytes(raw[:PAGE_SIZE] + bytes(byte ^ 0x55 for byte in raw[PAGE_SIZE:]))


def _headless(path: Path) -> None:
    path.write_bytes(b"\0" * 16 + path.read_bytes()[16:])


def _cut_short(path: Path) -> None:
    path.write_bytes(path.read_bytes()[:-100])


def _without_its_last_page(path: Path) -> None:
    path.write_bytes(path.read_bytes()[:-PAGE_SIZE])


def _emptied(path: Path) -> None:
    path.write_bytes(b"")


def _changed_later(path: Path) -> None:
    changed(path, "UPDATE events SET value = 'other' WHERE seq = 1")


@pytest.mark.parametrize("damage", [_flipped, _headless, _cut_short, _emptied, _changed_later])
def test_a_damaged_record_is_set_aside_as_it_is_and_never_removed(
    tmp_path: Path, damage: Callable[[Path], None]
) -> None:
    path, copy = kept(tmp_path / "journal.sqlite", 2), kept(tmp_path / "copy.sqlite", 2)
    lock_path(path).touch()  # as there is once a dose was open
    aside = tmp_path / "journal.sqlite.damaged-1"
    aside.write_bytes(b"from before")
    damage(path)
    was = path.read_bytes()
    told = restore(path, copy)
    assert aside.read_bytes() == b"from before"
    now = tmp_path / "journal.sqlite.damaged-2"
    assert now.read_bytes() == was
    assert told == (words.SET_ASIDE["damaged"].format(path=now), words.LATER_DOSES)
    assert wrong(path) == []
    assert newest(path) == newest(copy)
    assert stat.S_IMODE(path.stat().st_mode) == 0o600


@pytest.mark.parametrize(
    "damage", [_flipped, _headless, _cut_short, _without_its_last_page, _changed_later]
)
@pytest.mark.parametrize("there", [True, False])
def test_a_damaged_copy_is_told_as_such_and_the_record_is_left_as_it_is(
    tmp_path: Path, damage: Callable[[Path], None], there: bool
) -> None:
    path, copy = tmp_path / "journal.sqlite", kept(tmp_path / "copy.sqlite", 3)
    if there:
        kept(path)
    damage(copy)
    before = files(tmp_path)
    with pytest.raises(CoachError) as told:
        restore(path, copy, replace=True)
    assert str(told.value) == words.COPY_DAMAGED.format(path=copy)
    assert files(tmp_path) == before


@pytest.mark.parametrize("strange", ["user_version = 99", "application_id = 7"])
def test_a_copy_of_another_version_is_not_brought_back_either(tmp_path: Path, strange: str) -> None:
    path, copy = kept(tmp_path / "journal.sqlite"), kept(tmp_path / "copy.sqlite", 3)
    changed(copy, f"PRAGMA {strange}")
    for other in (copy, tmp_path / "empty"):
        (tmp_path / "empty").touch()
        with pytest.raises(CoachError) as told:
            restore(path, other, replace=True)
        assert str(told.value) == words.COPY_STRANGE.format(path=other)
    assert newest(path) == (1, 2)


def test_a_copy_that_cannot_be_read_leaves_all_as_it_was(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path, copy = kept(tmp_path / "journal.sqlite"), kept(tmp_path / "copy.sqlite", 3)
    before = files(tmp_path)

    def fails(*_: object) -> None:
        raise OSError

    monkeypatch.setattr("shutil.copyfile", fails)
    with pytest.raises(CoachError) as told:
        restore(path, copy)
    assert str(told.value) == words.COPY_UNREAD.format(path=copy)
    assert files(tmp_path) == before


@pytest.mark.parametrize("open_elsewhere", [False, True])
def test_the_folder_of_a_copy_stays_as_it_was(tmp_path: Path, open_elsewhere: bool) -> None:
    path, stick = kept(tmp_path / "journal.sqlite"), tmp_path / "stick"
    stick.mkdir()
    copy = kept(stick / "copy.sqlite", 3)
    assert copy.read_bytes()[18:20] == b"\2\2", "it is read with a log of its own, as SQLite says"
    with Journal.open(copy) if open_elsewhere else nullcontext() as journal:
        if journal is not None:
            journal.append(1, instant(9), "note", "", "only in the log")
        before = files(stick)
        restore(path, copy)
        assert files(stick) == before
    assert newest(path) == (1, 4 if open_elsewhere else 3)
    assert wrong(path) == []


@pytest.mark.parametrize(
    ("changes", "says"),
    [("user_version = 99", "a newer version"), ("application_id = 7", "not a record of the coach")],
)
def test_a_record_of_another_version_is_only_set_aside_when_asked(
    tmp_path: Path, changes: str, says: str
) -> None:
    path, copy = kept(tmp_path / "journal.sqlite", 3), kept(tmp_path / "copy.sqlite", 2)
    changed(path, f"PRAGMA {changes}")
    was = path.read_bytes()
    with pytest.raises(CoachError, match=f"{says}.*add --replace"):
        restore(path, copy)
    assert path.read_bytes() == was
    told = restore(path, copy, replace=True)
    aside = tmp_path / "journal.sqlite.other-version-1"
    assert aside.read_bytes() == was
    assert told[0] == words.SET_ASIDE["other-version"].format(path=aside)
    assert newest(path) == (1, 2)


def test_a_damaged_record_stays_in_its_place_where_the_copy_does_not_come(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path, copy = kept(tmp_path / "journal.sqlite"), kept(tmp_path / "copy.sqlite")
    _flipped(path)
    was = path.read_bytes()

    def refuses(_: Path, to: Path) -> None:
        raise CoachError(words.NOT_WRITTEN.format(path=to))

    monkeypatch.setattr("coach.records.care.put", refuses)
    with pytest.raises(CoachError, match="nothing was changed"):
        restore(path, copy)
    assert path.read_bytes() == was
    assert [one for one in tmp_path.iterdir() if "damaged" in one.name or one.name[0] == "."] == []


def test_no_damaged_record_goes_while_a_dose_is_open(tmp_path: Path) -> None:
    path, copy = kept(tmp_path / "journal.sqlite"), kept(tmp_path / "copy.sqlite")
    _cut_short(path)
    lock = DoseLock(lock_path(path))
    lock.hold()
    with pytest.raises(JournalBusy):
        restore(path, copy)
    lock.release()
    assert sorted(tmp_path.glob("*damaged*")) == []


def test_no_record_goes_while_a_dose_is_open(tmp_path: Path) -> None:
    path, copy = kept(tmp_path / "journal.sqlite"), kept(tmp_path / "copy.sqlite", 3)
    with Journal.open(path) as journal:
        journal.hold_dose()
        with pytest.raises(JournalBusy):
            restore(path, copy)
        with pytest.raises(JournalBusy):
            forget(path, ())
    assert newest(path) == (1, 2)


@pytest.mark.parametrize("damage", [_flipped, _headless, _cut_short])
def test_a_damaged_record_is_not_forgotten_and_what_to_do_then_is_said(
    tmp_path: Path, damage: Callable[[Path], None]
) -> None:
    path, copy = kept(tmp_path / "journal.sqlite"), kept(tmp_path / "copy.sqlite")
    other = tmp_path / "practice.sqlite"
    other.touch()
    damage(path)
    before = files(tmp_path)
    with pytest.raises(CoachError) as told:
        forget(path, (other,))
    assert str(told.value) == words.FORGET_DAMAGED.format(path=path)
    assert files(tmp_path) == before
    restore(path, copy)
    forget(path, (other,))
    assert files(tmp_path).keys() == {copy.name}, "as it was said"


def test_what_is_forgotten_is_gone_and_named(tmp_path: Path) -> None:
    path, other = kept(tmp_path / "journal.sqlite"), tmp_path / "practice.sqlite"
    other.write_text("x", encoding="utf-8")
    (tmp_path / "journal.sqlite.damaged-1").write_bytes(b"set aside")
    told = forget(path, (other, tmp_path / "never-there"))
    assert list(tmp_path.iterdir()) == []
    assert any(str(path) in line for line in told)
    assert any(f"{other}, 1 bytes" in line for line in told)
