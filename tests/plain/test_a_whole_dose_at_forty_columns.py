"""A whole dose in plain lines, through a terminal of 40 columns, reads from top to bottom."""

from __future__ import annotations

import fcntl
import os
import pty
import re
import struct
import subprocess
import sys
import termios
from pathlib import Path

import pytest

from coach import words
from coach.says import supplies as supply_words
from tests.plain.scripts import hoped_for, played

ROOT = Path(__file__).parents[2]
COLUMNS = 40
ASKED = ("?", "why", "list", "again")
"""What is asked at some prompts, and changes nothing."""


def in_a_terminal(folder: Path, script: list[str]) -> str:
    """Return all that a terminal of 40 columns shows while *script* is typed."""
    master, slave = pty.openpty()
    fcntl.ioctl(slave, termios.TIOCSWINSZ, struct.pack("HHHH", 24, COLUMNS, 0, 0))
    modes = termios.tcgetattr(slave)
    modes[3] &= ~termios.ECHO  # each line is shown where it is heard, by the program itself
    termios.tcsetattr(slave, termios.TCSANOW, modes)
    environment = {k: v for k, v in os.environ.items() if k not in ("COLUMNS", "LINES")}
    process = subprocess.Popen(
        [sys.executable, "-m", "tests.plain.a_dose_in_a_terminal", str(folder)],
        stdin=slave, stdout=slave, stderr=slave, cwd=ROOT, env=environment, start_new_session=True,
    )  # fmt: skip
    os.close(slave)
    os.write(master, "".join(f"{line}\n" for line in script).encode())
    seen = b""
    while True:
        try:
            data = os.read(master, 65536)
        except OSError:  # the program has ended
            break
        seen += data
    os.close(master)
    assert process.wait() == 0, seen[-500:]
    return seen.decode()


@pytest.fixture(scope="module")
def transcript(tmp_path_factory: pytest.TempPathFactory) -> str:
    """Return the transcript of a dose as hoped, with something asked at its first steps."""
    script = ["", "?", "start", *ASKED, "wrong", *ASKED, "back", *hoped_for(), "quit"]
    return in_a_terminal(tmp_path_factory.mktemp("dose"), script)


def test_a_transcript_has_no_control_character_but_the_newline(transcript: str) -> None:
    lines = transcript.replace("\r\n", "\n")
    assert set(re.findall(r"[^\x20-\x7e\n]", lines)) <= set("–—’“”°×…")
    assert words.FINISHED in " ".join(lines.split())


def test_no_line_is_longer_than_the_terminal_is_wide(transcript: str) -> None:
    lines = transcript.splitlines()
    assert len(lines) > 300
    assert max(map(len, lines)) <= COLUMNS


def test_what_is_said_is_what_is_said_without_a_terminal(transcript: str, tmp_path: Path) -> None:
    script = ["start", *hoped_for(), "quit"]
    said = played(tmp_path, script, start="today").lines
    shown = " ".join(transcript.split())
    assert [line for line in said if " ".join(line.split()) not in shown] == []


WHOM = "Nurse: 555-0100, Nurse on call (invented), any hour."


@pytest.mark.parametrize(
    ("before", "there"),
    [([], words.TOLD_AT_TODAY), (["supplies"], words.TOLD_AT_SUPPLIES)],
)
def test_each_command_is_answered_before_a_dose(
    tmp_path: Path, before: list[str], there: str
) -> None:
    for word, answer in (("?", there), ("why", there), ("call", WHOM), ("wrong", WHOM)):
        (folder := tmp_path / f"at {word.replace('?', 'where')}").mkdir()
        told = played(folder, [*before, word, *(["back"] if before else []), "quit"], start="today")
        assert answer in told.lines
        assert words.NOT_KNOWN not in told.lines


def test_again_at_the_supplies_says_them_once_more(tmp_path: Path) -> None:
    (tmp_path / "once").mkdir()
    once = played(tmp_path / "once", ["supplies", "back", "quit"], start="today").lines
    twice = played(tmp_path, ["supplies", "again", "back", "quit"], start="today").lines
    assert once.count(supply_words.TYPE_SUPPLIES) == 1
    assert twice.count(supply_words.TYPE_SUPPLIES) == 2
    assert len(twice) > len(once)


def test_somebody_away_from_the_table_is_told_so_and_can_leave(tmp_path: Path) -> None:
    said = played(tmp_path, ["start", "wrong", "99"], start="today").lines
    [leave] = [line.split(".")[0] for line in said if words.WRONG_LEAVE in line]
    (tmp_path / "away").mkdir()
    script = ["start", "wrong", leave, "?", "call", "quit"]
    told = played(tmp_path / "away", script, start="today").lines
    assert told.count(words.TOLD_RESTING) == 2
    assert WHOM in told
    assert told[-1] == words.LEFT_DOSE
