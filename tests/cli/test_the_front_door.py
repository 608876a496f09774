"""What each command opens, and what is left when the program itself fails."""

from __future__ import annotations

import io
import os
import stat
import subprocess
import sys
from pathlib import Path

import pytest

from coach import cli, places, words
from coach.errors import ExitCode
from coach.sitting.desk import Desk
from tests.person import DEMO, as_proved

ROOT = Path(__file__).parents[2]


def coach(
    home: Path, *arguments: str, typed: bytes = b"", **environment: str
) -> subprocess.CompletedProcess[bytes]:
    """Run the command with *typed* on a pipe; its data folder is *home*."""
    return subprocess.run(
        [sys.executable, "-m", "coach", *arguments],
        input=typed, capture_output=True, cwd=ROOT, check=False, timeout=60,
        env={**os.environ, "COACH_HOME": str(home), **environment},
    )  # fmt: skip


@pytest.mark.parametrize("arguments", [(), ("today",), ("follow",), ("--plain",)])
def test_without_an_order_sheet_it_says_how_to_name_one(
    tmp_path: Path, arguments: tuple[str, ...]
) -> None:
    told = coach(tmp_path, *arguments)
    assert told.returncode == ExitCode.COULD_NOT_RUN
    assert told.stdout == b""
    expected = words.NO_ORDERS.format(path=tmp_path / "orders.yaml")
    assert told.stderr.decode() == expected + "\n"
    assert list(tmp_path.iterdir()) == []


def test_a_sheet_that_is_named_and_not_there_is_told_the_same_way(tmp_path: Path) -> None:
    told = coach(tmp_path, "today", "--orders", str(tmp_path / "mine.yaml"))
    assert told.returncode == ExitCode.COULD_NOT_RUN
    assert told.stderr.decode().startswith(f"There is no order sheet at {tmp_path}/mine.yaml.")


def test_the_sheet_in_the_data_folder_is_taken(tmp_path: Path) -> None:
    (tmp_path / "orders.yaml").write_bytes(DEMO.read_bytes())
    told = coach(tmp_path, typed=b"\nquit\n")
    assert told.returncode == ExitCode.DONE
    assert told.stderr == b""
    assert b"Today, " in told.stdout
    assert (tmp_path / places.JOURNAL).exists()


def test_the_demonstration_has_a_record_of_its_own(tmp_path: Path) -> None:
    as_proved(tmp_path)
    told = coach(tmp_path, "demo", typed=b"\nstart\n")
    assert told.returncode == ExitCode.DONE
    assert told.stdout.decode().splitlines()[-1] == words.LEFT_DOSE
    assert (tmp_path / places.DEMO_JOURNAL).exists()
    assert not (tmp_path / places.JOURNAL).exists()
    again = coach(tmp_path, "demo", typed=b"quit\n")
    assert b"A dose is under way since" in again.stdout


def test_follow_goes_straight_to_the_dose(tmp_path: Path) -> None:
    as_proved(tmp_path)
    arguments = ("--orders", str(DEMO), "--journal", str(tmp_path / "here"))
    told = coach(tmp_path, "follow", *arguments, typed=b"\n")
    assert b"\nPart 1 of " in told.stdout
    assert b"Today, " not in told.stdout
    assert (tmp_path / "here").exists()


def test_an_agency_can_name_its_own_procedures(tmp_path: Path) -> None:
    (tmp_path / "own").mkdir()
    told = coach(tmp_path, "demo", "--procedures", str(tmp_path / "own"), typed=b"\nstart\n")
    assert told.returncode != ExitCode.DONE
    assert b"pump.card: expected a file in pump_cards" in told.stderr


def test_the_demonstration_takes_no_order_sheet(tmp_path: Path) -> None:
    told = coach(tmp_path, "demo", "--orders", str(DEMO))
    assert told.returncode == ExitCode.COULD_NOT_RUN
    assert b"unrecognized arguments: --orders" in told.stderr


def test_bytes_that_are_no_letters_do_not_end_a_dose(tmp_path: Path) -> None:
    as_proved(tmp_path)
    told = coach(
        tmp_path, "demo", typed=b"\nstart\n\xff\xfe\x1b[2J\n?\n", PYTHONIOENCODING="ascii:strict"
    )
    assert told.returncode == ExitCode.DONE
    assert words.NOT_KNOWN.encode() in told.stdout
    assert told.stdout.replace(b"\n", b"").isascii()
    assert b"\x1b" not in told.stdout


@pytest.fixture
def broken(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Break the program behind the front door; return its data folder."""

    def broken(self: Desk) -> None:
        private = "R. V., 1 g"
        raise ValueError(f"broken inside {len(private)}")

    home = tmp_path / "home"
    monkeypatch.setenv("COACH_HOME", str(home))
    monkeypatch.setattr(Desk, "today", broken)
    monkeypatch.setattr("sys.stdin", io.StringIO())
    return home


def open_broken(home: Path) -> int:
    """Open the demonstration, its first notice seen."""
    from coach.journal.store import Journal

    with Journal.open(home / places.DEMO_JOURNAL) as journal:
        journal.mark_first_start()
    return cli.main(["demo", "--plain"])


def test_what_breaks_inside_is_one_calm_sentence_and_whom_to_call(
    broken: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert open_broken(broken) == ExitCode.COULD_NOT_RUN
    told = capsys.readouterr().err.splitlines()
    assert told[0] == words.BROKE
    assert told[1:4] == ["Nurse: 555-0100.", "Pharmacist: 555-0101.", "Emergency: 911."]
    assert told[4] == words.BROKE_WHERE.format(path=broken / places.FAILURE)


def test_what_broke_is_kept_for_its_owner_alone_and_without_private_values(broken: Path) -> None:
    broken.mkdir()
    kept = broken / places.FAILURE
    kept.write_text("an older one")
    kept.chmod(0o644)
    open_broken(broken)
    assert stat.S_IMODE(kept.stat().st_mode) == 0o600
    assert "ValueError: broken inside" in kept.read_text()
    assert "an older one" not in kept.read_text()
    assert "R. V., 1 g" not in kept.read_text()


def test_nowhere_to_keep_what_broke_is_no_second_failure(
    broken: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def refuse(self: Path, missing_ok: bool = False) -> None:
        raise OSError("the disk is full")

    monkeypatch.setattr(Path, "unlink", refuse)
    assert open_broken(broken) == ExitCode.COULD_NOT_RUN
    assert words.BROKE in capsys.readouterr().err


def test_the_data_folder_is_where_the_system_keeps_such_things(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv("COACH_HOME", raising=False)
    monkeypatch.setattr("sys.platform", "linux")
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "shared"))
    assert places.data_folder() == tmp_path / "shared" / "kitchen-table-coach"
    monkeypatch.delenv("XDG_DATA_HOME")
    monkeypatch.setattr(Path, "home", lambda: tmp_path)
    assert places.data_folder() == tmp_path / ".local/share/kitchen-table-coach"
    monkeypatch.setenv("COACH_HOME", str(tmp_path / "named"))
    assert places.data_folder() == tmp_path / "named"
