from __future__ import annotations

import os
import shutil
import sqlite3
import sys
import tempfile
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest

from coach.clean import REPLACEMENT, unsafe_character
from coach.errors import JournalDamaged, JournalError
from coach.journal.lock import lock_path
from coach.journal.schema import VERSION
from coach.journal.store import Journal
from tests.journal.desk import SHEET_HASH, begin, instant, raw

_HOSTILE = "a\x1b[31mb\x00c\u202ed\u2066e\ud800"
_CLEANED = "a�[31mb�c�d�e�"


@pytest.fixture
def used(path: Path) -> Path:
    """A journal of several pages, closed."""
    with Journal.open(path) as journal:
        journal.hold_dose()
        sitting = begin(journal)
        for seq in range(200):
            journal.append(sitting.id, instant(seq), "note", "step", f"value {seq} " * 5)
    return path


@pytest.fixture
def ordinary_folder() -> Iterator[Path]:
    """A folder of a person without special rights, whom this program is until the end."""
    folder = Path(tempfile.mkdtemp())
    privileged = sys.platform != "win32" and os.geteuid() == 0
    if privileged:
        os.chown(folder, 65534, -1)
        os.seteuid(65534)
    try:
        yield folder
    finally:
        if privileged:
            os.seteuid(0)
        folder.chmod(0o700)
        shutil.rmtree(folder)


@pytest.mark.parametrize("left", [0, 1, 50, 100, 511, 4095, 4096, 8192, -4096, -1])
def test_a_shortened_record_is_called_damaged_and_is_not_touched(used: Path, left: int) -> None:
    whole = used.read_bytes()
    used.write_bytes(whole[:left])
    with pytest.raises(JournalDamaged, match=r"is damaged.* call your nurse"):
        Journal.open(used)
    assert used.read_bytes() == whole[:left]


def test_damage_in_the_middle_is_found_on_opening(used: Path) -> None:
    whole = bytearray(used.read_bytes())
    whole[-8192:-4096] = bytes(range(256)) * 16
    used.write_bytes(whole)
    with pytest.raises(JournalDamaged, match="is damaged"):
        Journal.open(used)


@pytest.mark.parametrize("content", [b"garbage " * 512, b"\x00" * 4096, b"dose: 1\n"])
def test_a_file_of_something_else_is_refused_and_not_touched(path: Path, content: bytes) -> None:
    path.parent.mkdir()
    path.write_bytes(content)
    with pytest.raises(JournalDamaged, match=r"is damaged"):
        Journal.open(path)
    assert path.read_bytes() == content


def test_a_database_of_something_else_is_refused_and_not_touched(path: Path) -> None:
    path.parent.mkdir()
    with closing(sqlite3.connect(path)) as database:
        database.execute("CREATE TABLE songs (title TEXT)")
    before = path.read_bytes()
    with pytest.raises(JournalDamaged, match="is not a record of the coach"):
        Journal.open(path)
    assert path.read_bytes() == before


def test_a_newer_version_is_refused_and_not_touched(used: Path) -> None:
    with closing(sqlite3.connect(used)) as database:
        database.execute(f"PRAGMA user_version = {VERSION + 1}")
    before = used.read_bytes()
    with pytest.raises(JournalDamaged, match="newer version of the coach"):
        Journal.open(used)
    assert used.read_bytes() == before


def test_an_empty_file_from_a_start_that_was_cut_off_becomes_a_journal(path: Path) -> None:
    path.parent.mkdir()
    path.touch()
    with Journal.open(path) as journal:
        assert begin(journal).id == 1


def test_a_full_record_keeps_what_it_has(journal: Journal, path: Path) -> None:
    sitting = begin(journal)
    kept = [journal.append(sitting.id, instant(1), "done", "wash", "")]
    pages = raw(journal).execute("PRAGMA page_count").fetchone()[0]
    raw(journal).execute(f"PRAGMA max_page_count = {pages}")
    with pytest.raises(JournalError, match="The disk is full"):  # noqa: PT012  the disk decides when
        for seq in range(100):
            kept.append(journal.append(sitting.id, instant(seq), "note", "", "long " * 300))
    assert journal.events(sitting.id) == tuple(kept)
    with Journal.open(path) as other:
        assert other.events(sitting.id) == tuple(kept)
        kept.append(other.append(sitting.id, instant(200), "done", "last", ""))
        assert other.events(sitting.id) == tuple(kept)


@pytest.mark.parametrize("ends", ["", "finished"])
def test_a_disk_that_refuses_a_write_loses_nothing(path: Path, ends: str) -> None:
    import resource  # POSIX alone has it

    with Journal.open(path) as journal:
        sitting = begin(journal)
        kept = journal.append(sitting.id, instant(1), "done", "wash", "")
        log = path.with_name(path.name + "-wal").stat().st_size
        before = resource.getrlimit(resource.RLIMIT_FSIZE)
        resource.setrlimit(resource.RLIMIT_FSIZE, (log + 100, before[1]))
        try:
            with pytest.raises(JournalError, match="The disk did not do what was asked"):
                journal.append(sitting.id, instant(2), "done", "wipe", "", ends=ends)
        finally:
            resource.setrlimit(resource.RLIMIT_FSIZE, before)
        assert journal.events(sitting.id) == (kept,)
        again = journal.append(sitting.id, instant(3), "done", "wipe", "", ends=ends)
        assert journal.events(sitting.id) == (kept, again)


def test_a_read_only_file_is_refused_on_opening(ordinary_folder: Path) -> None:
    path = ordinary_folder / "journal.db"
    with Journal.open(path) as journal:
        sitting = begin(journal)
        kept = journal.append(sitting.id, instant(1), "done", "wash", "")
    path.chmod(0o400)
    with pytest.raises(JournalError, match="cannot be written to"):
        Journal.open(path)
    assert list(ordinary_folder.iterdir()) == [path]
    path.chmod(0o600)
    with Journal.open(path) as journal:
        assert journal.events(sitting.id) == (kept,)


def test_a_folder_that_cannot_be_written_to_is_told_calmly(ordinary_folder: Path) -> None:
    ordinary_folder.chmod(0o500)
    with pytest.raises(JournalError, match="cannot be written to"):
        Journal.open(ordinary_folder / "journal.db")
    with pytest.raises(JournalError, match="cannot be written to"):
        Journal.open(ordinary_folder / "coach" / "journal.db")


def test_a_path_that_cannot_be_a_record_is_told_calmly(tmp_path: Path) -> None:
    (tmp_path / "file").touch()
    with pytest.raises(JournalError, match="cannot be opened"):
        Journal.open(tmp_path)
    with pytest.raises(JournalError, match="cannot be opened"):
        Journal.open(tmp_path / "file" / "journal.db")


def test_a_lock_file_of_something_else_says_what_to_move(journal: Journal, path: Path) -> None:
    lock_path(path).write_bytes(b"garbage " * 512)
    with pytest.raises(JournalError, match=r"ends in \.lock"):
        journal.hold_dose()
    lock_path(path).unlink()
    journal.hold_dose()


def test_a_closed_journal_is_told_calmly(path: Path) -> None:
    with Journal.open(path) as journal:
        sitting = begin(journal)
    with pytest.raises(JournalError, match="open it again"):
        journal.events(sitting.id)


def test_what_is_created_belongs_to_its_owner_alone(journal: Journal, path: Path) -> None:
    journal.hold_dose()
    begin(journal)
    modes = {file.name: file.stat().st_mode & 0o777 for file in path.parent.iterdir()}
    names = {path.name, lock_path(path).name, path.name + "-wal", path.name + "-shm"}
    assert set(modes) == names
    if sys.platform != "win32":
        assert set(modes.values()) == {0o600}
        assert path.parent.stat().st_mode & 0o777 == 0o700


def test_hostile_text_is_cleaned_on_its_way_in(journal: Journal) -> None:
    sitting = begin(journal, sheet_id=_HOSTILE, choices={_HOSTILE: _HOSTILE})
    event = journal.append(sitting.id, instant(), "note", _HOSTILE, _HOSTILE)
    assert (event.step, event.value) == (_CLEANED, _CLEANED)
    assert (sitting.sheet_id, dict(sitting.choices)) == (_CLEANED, {_CLEANED: _CLEANED})
    assert journal.every_sitting() == (sitting,)
    stored = raw(journal).execute("SELECT CAST(value AS BLOB) FROM events").fetchone()[0]
    assert unsafe_character(stored.decode()) == ""


def test_hostile_text_that_another_program_put_in_is_cleaned_on_its_way_out(
    journal: Journal, path: Path
) -> None:
    sitting = begin(journal)
    with closing(sqlite3.connect(path, isolation_level=None)) as outsider:
        outsider.execute(
            "INSERT INTO events VALUES (?, 1, ?, 0.0, 'c', 'note', ?, CAST(? AS TEXT))",
            (sitting.id, "2026-11-25T08:00:00+00:00", "\x1b]0;x\x07\u202e", b"\xff\xfe'); --"),
        )
    [event] = journal.events(sitting.id)
    assert event.step == f"{REPLACEMENT}]0;x{REPLACEMENT}{REPLACEMENT}"
    assert event.value == f"{REPLACEMENT}{REPLACEMENT}'); --"


@pytest.mark.parametrize("at", ["2026-11-25T08:00:00", "yesterday", ""])
def test_a_moment_without_an_offset_in_the_file_is_damage(
    journal: Journal, path: Path, at: str
) -> None:
    sitting = begin(journal)
    with closing(sqlite3.connect(path, isolation_level=None)) as outsider:
        outsider.execute(
            "INSERT INTO events VALUES (?, 1, ?, 0.0, 'c', 'note', '', '')", (sitting.id, at)
        )
    with pytest.raises(JournalDamaged, match="is damaged"):
        journal.events(sitting.id)


def test_an_unknown_kind_of_event_in_the_file_is_damage(journal: Journal, path: Path) -> None:
    sitting = begin(journal)
    with closing(sqlite3.connect(path, isolation_level=None)) as outsider:
        outsider.execute(
            "INSERT INTO events VALUES (?, 1, '2026-11-25T08:00:00Z', 0.0, 'c', 'gone', '', '')",
            (sitting.id,),
        )
    with pytest.raises(JournalDamaged, match="is damaged"):
        journal.events(sitting.id)


@pytest.mark.parametrize("choices", ["", "[]", '{"pump": 1}', "{"])
def test_choices_that_are_not_texts_in_the_file_are_damage(
    journal: Journal, path: Path, choices: str
) -> None:
    begin(journal)
    _tamper(path, "sittings_only_end_once", "UPDATE sittings SET choices = ?", choices)
    with pytest.raises(JournalDamaged, match="is damaged"):
        journal.under_way()


def test_a_control_character_spelled_out_in_json_is_cleaned(journal: Journal, path: Path) -> None:
    begin(journal)
    hidden = '{"pump": "\\u001b[2J"}'
    _tamper(path, "sittings_only_end_once", "UPDATE sittings SET choices = ?", hidden)
    under_way = journal.under_way()
    assert under_way is not None
    assert under_way.choices == {"pump": f"{REPLACEMENT}[2J"}


def test_source_bytes_that_were_changed_are_damage(journal: Journal, path: Path) -> None:
    begin(journal)
    _tamper(path, "sheets_keep_their_bytes", "UPDATE sheets SET raw = CAST(? AS BLOB)", "other")
    with pytest.raises(JournalDamaged, match="is damaged"):
        journal.source(SHEET_HASH)


def _tamper(path: Path, trigger: str, statement: str, value: str) -> None:
    with closing(sqlite3.connect(path, isolation_level=None)) as outsider:
        outsider.execute(f"DROP TRIGGER {trigger}")
        outsider.execute(statement, (value,))
