"""What `coach records check`, `backup`, `restore` and `forget` say, and that nothing is lost."""

from __future__ import annotations

import io
import sqlite3
from pathlib import Path

import pytest

from coach import cli
from coach.errors import ExitCode
from coach.journal.store import Journal
from coach.says import records as words
from tests.person import DEMO
from tests.records.test_a_dose_becomes_a_record import given
from tests.records.test_the_file_is_taken_care_of import changed, kept, newest


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Return the data folder, with an order sheet in it."""
    monkeypatch.setenv("COACH_HOME", str(tmp_path))
    (tmp_path / "orders.yaml").write_bytes(DEMO.read_bytes())
    return tmp_path


@pytest.mark.parametrize("what", ["list", "report", "check", "backup", "export", "forget"])
def test_no_record_is_made_where_one_was_named_that_is_not_there(
    home: Path, capsys: pytest.CaptureFixture[str], what: str
) -> None:
    named = home / "mistyped.sqlite"
    named_copy = [str(home / "copy.sqlite")] if what == "backup" else []
    asked = ["records", what, *named_copy, "--plain", "--journal", str(named)]
    assert cli.main(asked) == ExitCode.COULD_NOT_RUN
    assert f"There is no record at {named}" in capsys.readouterr().err
    assert not named.exists()


def test_a_good_record_holds_and_a_flipped_text_shows(
    home: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    desk, _ = given(home)
    path = desk.journal.path
    desk.journal.close()
    asked = ["records", "check", "--journal", str(path)]
    assert cli.main(asked) == ExitCode.DONE
    assert "Looked at 1 dose and" in capsys.readouterr().out
    changed(path, "UPDATE events SET value = value || 'x' WHERE seq = 2")
    assert cli.main(asked) == ExitCode.REFUSED
    out = capsys.readouterr().out
    assert words.WRONG["chain"].format(where="1.2") in out
    assert words.KEEP_IT in out
    changed(path, "UPDATE procedures SET raw = CAST(raw || ' ' AS BLOB)")
    assert cli.main(asked) == ExitCode.REFUSED
    out = capsys.readouterr().out
    assert words.WRONG["source"].split("{", maxsplit=1)[0] in out
    assert "cannot be followed" in out


def test_a_copy_is_made_and_brought_back(home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path, copy = kept(home / "journal.sqlite", 2), home / "copy"
    assert cli.main(["records", "backup", str(copy)]) == ExitCode.DONE
    path.unlink()
    assert cli.main(["records", "restore", str(copy)]) == ExitCode.DONE
    assert newest(path) == (1, 2)
    assert words.BROUGHT_BACK.format(path=copy) in capsys.readouterr().out
    assert cli.main(["records", "restore"]) == ExitCode.COULD_NOT_RUN


def test_a_copy_comes_back_over_a_damaged_record(
    home: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path, copy = kept(home / "journal.sqlite", 2), kept(home / "copy", 2)
    path.write_bytes(path.read_bytes()[:-100])
    assert cli.main(["records", "restore", str(copy)]) == ExitCode.DONE
    aside = home / "journal.sqlite.damaged-1"
    out = capsys.readouterr().out.splitlines()
    says = words.SET_ASIDE["damaged"].format(path=aside)
    assert out == [words.BROUGHT_BACK.format(path=copy), says, words.LATER_DOSES]
    assert newest(path) == (1, 2)


@pytest.mark.parametrize("what", ["list", "report", "check", "forget"])
@pytest.mark.parametrize(
    ("stray", "says"),
    [
        (["copy"], words.TAKES_NO_FILE),
        (["--plain", "copy"], words.TAKES_NO_FILE),
        (["--replace"], words.REPLACES_NOTHING),
    ],
)
def test_a_word_of_the_records_takes_nothing_that_it_does_not_use(
    home: Path, what: str, stray: list[str], says: str, capsys: pytest.CaptureFixture[str]
) -> None:
    path = kept(home / "journal.sqlite")
    with pytest.raises(SystemExit) as ended:
        cli.main(["records", what, *stray])
    assert ended.value.code == ExitCode.COULD_NOT_RUN
    assert capsys.readouterr().err == says.format(what=what) + "\n"
    assert path.exists()


def test_the_list_without_its_word_replaces_nothing_either(
    home: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(SystemExit) as ended:
        cli.main(["records", "--journal", str(home / "journal.sqlite"), "--replace"])
    assert ended.value.code == ExitCode.COULD_NOT_RUN
    assert words.REPLACES_NOTHING.format(what="list") in capsys.readouterr().err


def test_a_full_disk_leaves_the_record_and_no_copy(
    home: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    class Full(sqlite3.Connection):
        def backup(self, *_: object, **__: object) -> None:
            error = sqlite3.OperationalError("database or disk is full")
            error.sqlite_errorcode = sqlite3.SQLITE_FULL
            raise error

    path, copy = kept(home / "journal.sqlite"), home / "copy"
    with monkeypatch.context() as patch:
        patch.setattr("coach.journal.care._to_read", lambda p: sqlite3.connect(p, factory=Full))
        assert cli.main(["records", "backup", str(copy)]) == ExitCode.COULD_NOT_RUN
    assert "The disk is full" in capsys.readouterr().err
    assert not copy.exists()
    assert newest(path) == (1, 2)


@pytest.mark.parametrize(
    ("version", "cut", "says"), [(99, 0, "newer version"), (0, 100, "damaged and cannot be read")]
)
def test_a_newer_or_shortened_record_is_left_as_it_is(
    home: Path, version: int, cut: int, says: str, capsys: pytest.CaptureFixture[str]
) -> None:
    path = kept(home / "journal.sqlite")
    if version:
        changed(path, f"PRAGMA user_version = {version}")
    path.write_bytes(path.read_bytes()[: path.stat().st_size - cut])
    before = path.read_bytes()
    for what in (["check"], ["backup", str(home / "copy")]):
        assert cli.main(["records", *what]) == ExitCode.COULD_NOT_RUN
        assert says in capsys.readouterr().err
    assert path.read_bytes() == before


def test_a_record_open_elsewhere_is_neither_replaced_nor_removed(
    home: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    path, copy = kept(home / "journal.sqlite"), kept(home / "copy", 3)
    monkeypatch.setattr("sys.stdin", io.StringIO("R. V.\n"))
    with Journal.open(path):
        assert cli.main(["records", "restore", str(copy)]) == ExitCode.COULD_NOT_RUN
        assert "using the record right now" in capsys.readouterr().err
        assert cli.main(["records", "forget"]) == ExitCode.COULD_NOT_RUN
    assert newest(path) == (1, 2)


@pytest.mark.parametrize(("typed", "left"), [("R. V.", False), ("somebody", True)])
def test_records_go_only_once_the_name_is_typed(
    home: Path, monkeypatch: pytest.MonkeyPatch, typed: str, left: bool
) -> None:
    path = kept(home / "journal.sqlite")
    practice = home / "practice-journal.sqlite"
    practice.write_text("x", encoding="utf-8")
    monkeypatch.setattr("sys.stdin", io.StringIO(f"{typed}\n"))
    told = cli.main(["records", "forget"])
    assert told == (ExitCode.REFUSED if left else ExitCode.DONE)
    assert (path.exists(), practice.exists()) == (left, left)
    assert (home / "orders.yaml").exists()
