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
from coach.voice import in_columns
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


def test_a_sentence_begins_a_line_and_is_whole_on_it_where_it_fits(
    transcript: str, tmp_path: Path
) -> None:
    told = played(tmp_path, ["start", *hoped_for(), "quit"], start="today").lines
    sentences = [
        one
        for line in told
        for one in (
            [line] if len(line) <= COLUMNS else re.split(r"(?<=[a-z][.?!]) (?=[A-Z])", line)
        )
    ]
    lines = set(transcript.splitlines())
    begins = {" ".join(line.split()[:2]) for line in lines}
    for one in sentences:
        assert one in lines or len(one) > COLUMNS, one
        assert " ".join(one.split()[:2]) in begins, one


def test_no_line_rests_on_a_word_of_the_one_above(tmp_path: Path) -> None:
    told = played(tmp_path, ["start", *hoped_for(), "quit"], start="today").lines
    rests = re.compile(r"(Is|Are|Does|Did|Do|Was) (it|they|each|both|one|all)\b|(It|They) ")
    assert [line for line in told if rests.match(line)] == []


def test_a_sentence_ends_neither_at_an_initial_nor_at_a_number_of_a_line() -> None:
    said = "12. Ask Dr. R. V. Li, who is in. Then go on with the dose, and look at it once more."
    assert in_columns(said, COLUMNS) == [
        "12. Ask Dr. R. V. Li, who is in.",
        "Then go on with the dose, and look at it",
        "once more.",
    ]
    assert in_columns(said, 200) == [said]


WHOM = "Nurse: 555-0100, Nurse on call (invented), any hour."


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
    assert words.TOLD_AT_AWAY[0] in told
    assert WHOM in told
    assert told[-1] == words.LEFT_DOSE
