"""Plain lines in a real terminal: when they are chosen, and how a typed line cuts in."""

from __future__ import annotations

import fcntl
import os
import pty
import re
import select
import signal
import struct
import subprocess
import sys
import termios
import time
from pathlib import Path

import pytest

from coach import words
from coach.journal.store import Journal
from tests.person import DEMO, as_proved

ROOT = Path(__file__).parents[2]
PATIENCE = 20.0
"""Seconds after which a program that says nothing has failed."""


def _hears_control_c() -> None:
    """Hear the signal even where these tests were started by a shell in the background."""
    signal.signal(signal.SIGINT, signal.SIG_DFL)


class Terminal:
    """The command in a terminal of its own."""

    def __init__(
        self, home: Path, *arguments: str, size: tuple[int, int] = (24, 80), term: str = "xterm"
    ) -> None:
        """Start it; *size* is rows and columns."""
        with Journal.open(home / "journal.sqlite") as journal:
            journal.mark_first_start()
        (home / "orders.yaml").write_bytes(DEMO.read_bytes())
        as_proved(home)
        self.master, slave = pty.openpty()
        fcntl.ioctl(slave, termios.TIOCSWINSZ, struct.pack("HHHH", *size, 0, 0))
        environment = {**os.environ, "COACH_HOME": str(home), "TERM": term}
        environment = {k: v for k, v in environment.items() if k not in ("COLUMNS", "LINES")}
        self.process = subprocess.Popen(
            [sys.executable, "-m", "coach", *arguments],
            stdin=slave, stdout=slave, stderr=slave, cwd=ROOT, env=environment,
            start_new_session=True, preexec_fn=_hears_control_c,
        )  # fmt: skip
        os.close(slave)
        self.seen = b""

    def until(self, text: str) -> None:
        """Read what is shown until *text* is in it, however it is wrapped, and forget it."""
        pattern = rb"\s+".join(re.escape(word.encode()) for word in text.split())
        end = time.monotonic() + PATIENCE  # a cursor that blinks goes on painting for ever
        while (found := re.search(pattern, self.seen)) is None:
            left = max(0.0, end - time.monotonic())
            assert select.select([self.master], [], [], left)[0], self.seen[-500:]
            self.seen += os.read(self.master, 65536)
        self.seen = self.seen[found.end() :]

    def waits(self) -> None:
        """Return once the program sleeps: a signal just before it reads would be heard late."""
        stat = Path(f"/proc/{self.process.pid}/stat")
        while stat.exists() and stat.read_text().rpartition(")")[2].split()[0] != "S":
            os.sched_yield()

    def type(self, line: str) -> None:
        """Type a line."""
        os.write(self.master, line.encode() + b"\n")

    def end(self) -> int:
        """Read to the end and return the exit code."""
        while select.select([self.master], [], [], PATIENCE)[0]:
            try:
                data = os.read(self.master, 65536)
            except OSError:
                break
            self.seen += data
        os.close(self.master)
        return self.process.wait(timeout=PATIENCE)


@pytest.mark.parametrize(
    ("arguments", "size", "term"),
    [
        (("--plain",), (24, 80), "xterm"),
        ((), (24, 80), "dumb"),
        ((), (11, 80), "xterm"),
        ((), (24, 39), "xterm"),
    ],
)
def test_plain_lines_are_chosen_where_nothing_can_be_painted(
    tmp_path: Path, arguments: tuple[str, ...], size: tuple[int, int], term: str
) -> None:
    terminal = Terminal(tmp_path, *arguments, size=size, term=term)
    terminal.until("Today, ")
    assert b"\x1b" not in terminal.seen
    terminal.type("quit")
    assert terminal.end() == 0
    assert b"\x1b" not in terminal.seen


def test_a_window_of_forty_by_twelve_is_painted(tmp_path: Path) -> None:
    terminal = Terminal(tmp_path, size=(12, 40))
    terminal.until("\x1b[?1049h")
    os.write(terminal.master, b"q")
    assert terminal.end() == 0


@pytest.mark.parametrize("columns", [20, 39, 80])
def test_a_sentence_is_broken_between_its_words(tmp_path: Path, columns: int) -> None:
    terminal = Terminal(tmp_path, "today", "--plain", size=(24, columns))
    terminal.type("call")
    terminal.type("quit")
    assert terminal.end() == 0
    lines = terminal.seen.decode().splitlines()
    assert max(len(line) for line in lines) <= columns
    whole = " ".join(terminal.seen.decode().split())
    for said in (words.TOLD_DEMONSTRATION, "Nurse: 555-0100, Nurse on call (invented), any hour."):
        assert said in whole
    assert any("555-0100" in line for line in lines)


def test_a_typed_line_cuts_into_a_wait(tmp_path: Path) -> None:
    terminal = Terminal(tmp_path, "follow", "--plain")
    terminal.until(words.TYPE_DONE)
    terminal.type("")
    terminal.until(words.TYPE_WAIT)
    terminal.type("")
    terminal.until("2 minutes left.")
    terminal.type("wrong")
    terminal.until(words.WRONG)
    terminal.type("quit")
    terminal.until(words.LEFT_DOSE)
    assert terminal.end() == 0


def test_control_c_leaves_the_dose_and_says_so(tmp_path: Path) -> None:
    terminal = Terminal(tmp_path, "follow", "--plain")
    terminal.until(words.TYPE_DONE)
    terminal.waits()
    terminal.process.send_signal(signal.SIGINT)
    terminal.until(words.LEFT_DOSE)
    assert terminal.end() == 0
