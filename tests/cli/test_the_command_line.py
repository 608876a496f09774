"""Each command says what it does, what it needs, and never shows a traceback."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

from coach import __version__, places, words
from coach.errors import ExitCode
from coach.keys import KEYS, key_table
from tests.person import DEMO, as_proved, changed_sheet

ROOT = Path(__file__).parents[2]


def coach(
    home: Path, *arguments: str, typed: str = "", **environment: str
) -> subprocess.CompletedProcess[str]:
    """Run the command in a data folder of its own."""
    settings = {**os.environ, "COACH_HOME": str(home), "PYTHONPATH": str(ROOT), **environment}
    command = [sys.executable, "-m", "coach", *arguments]
    return subprocess.run(
        command, input=typed, env=settings, cwd=home, capture_output=True, text=True, check=False
    )


def test_the_version_is_told(tmp_path: Path) -> None:
    told = coach(tmp_path, "--version")
    assert (told.returncode, told.stdout) == (0, f"coach {__version__}\n")


def test_help_names_every_command(tmp_path: Path) -> None:
    told = coach(tmp_path, "--help")
    assert told.returncode == 0
    assert all(f"    {name} " in told.stdout for name in ("today", "follow", "demo", "prove"))


def test_help_ends_with_the_key_table(tmp_path: Path) -> None:
    told = coach(tmp_path, "--help").stdout.splitlines()
    assert tuple(told[-len(KEYS) :]) == key_table()
    assert told[-len(KEYS) - 1] == words.HELP_KEYS


@pytest.mark.parametrize("arguments", [[], ["today"], ["follow"], ["demo"], ["prove"]])
def test_help_fits_eighty_columns(tmp_path: Path, arguments: list[str]) -> None:
    told = coach(tmp_path, *arguments, "--help", COLUMNS="80").stdout.splitlines()
    assert max(len(line) for line in told) <= 80


@pytest.mark.parametrize("arguments", [["dance"], ["--orders"], ["today", "--fast"]])
def test_wrong_use_is_told_with_its_exit_status(tmp_path: Path, arguments: list[str]) -> None:
    told = coach(tmp_path, *arguments)
    assert told.returncode == ExitCode.COULD_NOT_RUN
    assert "usage: coach" in told.stderr


def test_no_option_makes_time_pass_faster(tmp_path: Path) -> None:
    told = coach(tmp_path, "follow", "--help")
    options = set(re.findall(r"--[a-z-]+", told.stdout))
    assert options == {"--help", "--plain", "--journal", "--orders", "--procedures", "--theme"}


def test_a_sheet_with_errors_is_refused_with_all_of_them(tmp_path: Path) -> None:
    sheet = changed_sheet(tmp_path, {"clamp: present": "clamp: maybe", "wash: 20 s": "wash: 20"})
    told = coach(tmp_path, "today", "--orders", str(sheet))
    assert told.returncode == ExitCode.REFUSED
    assert len(told.stderr.splitlines()) == 5
    assert "field line.clamp: expected one of present, none" in told.stderr
    assert "Traceback" not in told.stderr
    assert told.stderr.endswith("Nurse: 555-0100.\nPharmacist: 555-0101.\nEmergency: 911.\n")


def test_a_sheet_that_says_nobody_leads_to_the_papers(tmp_path: Path) -> None:
    (tmp_path / "orders.yaml").write_text("agency: [An agency\n", encoding="utf-8")
    told = coach(tmp_path)
    assert told.returncode == ExitCode.REFUSED
    assert told.stderr.splitlines()[-1] == words.CALL_PAPERS


def test_procedures_that_are_not_there_and_a_place_that_is_taken_are_told(tmp_path: Path) -> None:
    taken = tmp_path / "taken"
    taken.touch()
    for arguments in (("prove", "--procedures", str(taken)), ("schema", str(taken))):
        told = coach(tmp_path, *arguments)
        assert told.returncode == ExitCode.COULD_NOT_RUN
        [line] = told.stderr.splitlines()
        assert str(taken) in line
        assert "Errno" not in line


def test_the_demonstration_opens_on_today_and_can_be_started(tmp_path: Path) -> None:
    as_proved(tmp_path)
    told = coach(tmp_path, "demo", typed="\nstart\n\nquit\n")
    assert told.returncode == 0
    lines = told.stdout.splitlines()
    assert lines[0] == "Before the first time, please read this."
    assert any(line.startswith("Today, ") for line in lines)
    assert lines[-1] == words.LEFT_DOSE
    assert (tmp_path / places.DEMO_JOURNAL).exists()


def test_a_dumb_terminal_and_a_pipe_get_plain_lines(tmp_path: Path) -> None:
    told = coach(tmp_path, "demo", typed="\nquit\n", TERM="dumb")
    assert "\x1b" not in told.stdout + told.stderr
    assert "Type start to start the dose" in told.stdout


def test_a_second_window_is_told_that_the_dose_is_open_elsewhere(tmp_path: Path) -> None:
    as_proved(tmp_path)
    journal = tmp_path / "j.sqlite"
    arguments = ["follow", "--plain", "--orders", str(DEMO), "--journal", str(journal)]
    settings = {**os.environ, "COACH_HOME": str(tmp_path), "PYTHONPATH": str(ROOT)}
    command = [sys.executable, "-m", "coach", *arguments]
    pipe = subprocess.PIPE
    with subprocess.Popen(
        command, stdin=pipe, stdout=pipe, env=settings, text=True, cwd=tmp_path
    ) as first:
        assert first.stdin is not None
        assert first.stdout is not None
        first.stdin.write("\n")
        first.stdin.flush()
        while "Step 1 of" not in first.stdout.readline():
            pass
        second = coach(tmp_path, *arguments)
        first.stdin.close()
    assert second.returncode == ExitCode.COULD_NOT_RUN
    assert "another window" in second.stderr


def test_the_readme_shows_the_key_table_as_it_is() -> None:
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    table = readme.split("| --- | --- |\n")[1].split("\n\n")[0].splitlines()
    assert table == [f"| {key.shown} | {key.says} |" for key in KEYS]


def test_the_readme_and_the_check_run_the_same_test_command() -> None:
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    run = (ROOT / ".ci" / "run").read_text(encoding="utf-8")
    command = (
        "python3 -m venv .venv && .venv/bin/pip install -e '.[test]' && .venv/bin/python -m pytest"
    )
    assert command in readme
    assert command in run


def test_every_picture_in_the_readme_is_there() -> None:
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    pictures = re.findall(r"\((screenshots/[^)]+)\)", readme)
    assert pictures
    assert all((ROOT / picture).is_file() for picture in pictures)
