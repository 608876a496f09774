"""However the program ends, the terminal is as it was, and nothing private is printed."""

from __future__ import annotations

import os
import pty
import select
import signal
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
PATIENCE = 20.0
"""Seconds after which a program that shows nothing has failed."""

OPEN = """
import sys
from datetime import UTC, datetime
from pathlib import Path
from coach.clock import ManualClock
from coach.journal.store import Journal
from coach.screens.app import run_app
from coach.screens.today import TodayScreen
from coach.sitting.desk import Desk

if "broken" in sys.argv:
    def broken(self):
        secret = "R. V., 1 g"
        raise ValueError("broken inside")
    TodayScreen.enter = broken
with Journal.open(Path(sys.argv[1]) / "journal") as journal:
    journal.mark_first_start()
    clock = ManualClock(datetime(2026, 11, 25, 14, 50, tzinfo=UTC))
    orders = Path("procedures/demo/orders.yaml")
    desk = Desk(orders, Path("procedures"), journal, clock, lambda *_: None)
    try:
        code = run_app(desk, "today")
    except ValueError as error:
        print("calmly told:", error)
        code = 2
raise SystemExit(code)
"""


class Terminal:
    """The program in a terminal of its own."""

    def __init__(self, *arguments: str) -> None:
        """Start it."""
        self.master, slave = pty.openpty()
        environment = {**os.environ, "TERM": "xterm-256color", "COLUMNS": "80", "LINES": "24"}
        self.process = subprocess.Popen(
            [sys.executable, "-c", OPEN, *arguments],
            stdin=slave, stdout=slave, stderr=slave, cwd=ROOT, env=environment,
        )  # fmt: skip
        os.close(slave)
        self.seen = b""

    def until(self, text: bytes) -> None:
        """Read what is shown until *text* is in it."""
        while text not in self.seen:
            ready, _, _ = select.select([self.master], [], [], PATIENCE)
            assert ready, self.seen[-500:]
            self.seen += os.read(self.master, 65536)

    def rest(self) -> int:
        """Read to the end and return the exit code."""
        while select.select([self.master], [], [], PATIENCE)[0]:
            try:
                data = os.read(self.master, 65536)
            except OSError:
                break
            if not data:
                break
            self.seen += data
        os.close(self.master)
        return self.process.wait(timeout=PATIENCE)


def given_back(seen: bytes) -> bool:
    """Tell whether the last word on each setting is the one that a shell needs."""
    main = seen.rfind(b"\x1b[?1049l") > seen.rfind(b"\x1b[?1049h")
    return main and seen.rfind(b"\x1b[?25h") > seen.rfind(b"\x1b[?25l")


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGHUP])
def test_a_signal_gives_the_terminal_back(tmp_path: Path, number: int) -> None:
    terminal = Terminal(str(tmp_path))
    terminal.until(b"Enter starts it")
    terminal.process.send_signal(number)
    assert terminal.rest() == 0
    assert given_back(terminal.seen)


def test_leaving_gives_the_terminal_back(tmp_path: Path) -> None:
    terminal = Terminal(str(tmp_path))
    terminal.until(b"Enter starts it")
    os.write(terminal.master, b"q")
    assert terminal.rest() == 0
    assert given_back(terminal.seen)


def test_what_breaks_inside_is_handed_on_and_nothing_private_is_printed(tmp_path: Path) -> None:
    terminal = Terminal(str(tmp_path), "broken")
    terminal.until(b"Enter starts it")
    os.write(terminal.master, b"\r")
    assert terminal.rest() == 2
    assert given_back(terminal.seen)
    assert b"calmly told: broken inside" in terminal.seen
    assert b"secret" not in terminal.seen
    assert b"Traceback" not in terminal.seen
