"""Measures start-up and one key beside a bare Textual application, in one run.

A script, not a test: ``python tests/bench_start.py``. Each program runs in a terminal of its own
(a pseudo-terminal of 80 by 24) so that what is measured is what a person waits for.
"""

from __future__ import annotations

import os
import pty
import select
import statistics
import struct
import sys
import tempfile
import termios
import time
from fcntl import ioctl
from pathlib import Path

ROOT = Path(__file__).parents[1]
ROUNDS = 15

BARE = """
from textual.app import App
from textual.widgets import Label
class Bare(App):
    BINDINGS = [("w", "turn", "turn")]
    turned = False
    def compose(self):
        yield Label("bare", id="it")
    def action_turn(self):
        self.turned = not self.turned
        self.query_one("#it").update("turned" if self.turned else "bare")
Bare().run()
"""


def spawn(command: list[str], environment: dict[str, str]) -> tuple[int, int]:
    """Start *command* in a terminal of its own; return its process and its terminal."""
    process, terminal = pty.fork()
    if process == 0:
        os.execve(command[0], command, environment)
    ioctl(terminal, termios.TIOCSWINSZ, struct.pack("HHHH", 24, 80, 0, 0))
    return process, terminal


def read_until(terminal: int, wanted: bytes, seconds: float = 20.0) -> bytes:
    """Read from *terminal* until *wanted* was painted."""
    seen, until = b"", time.perf_counter() + seconds
    while wanted not in seen:
        ready, _, _ = select.select([terminal], [], [], until - time.perf_counter())
        if not ready:
            raise SystemExit(f"{wanted!r} was not painted; seen: {seen[-400:]!r}")
        seen += os.read(terminal, 65_536)
    return seen


def one_run(command: list[str], painted: bytes, key: bytes) -> tuple[float, float, float]:
    """Return start-up in ms, one key to paint in ms, and peak memory in MB."""
    environment = {**os.environ, "TERM": "xterm-256color", "PYTHONPATH": str(ROOT)}
    begun = time.perf_counter()
    process, terminal = spawn(command, environment)
    read_until(terminal, painted)
    start = (time.perf_counter() - begun) * 1_000
    time.sleep(0.3)
    while select.select([terminal], [], [], 0)[0]:
        os.read(terminal, 65_536)
    pressed = time.perf_counter()
    os.write(terminal, key)
    if not select.select([terminal], [], [], 10)[0]:
        raise SystemExit(f"nothing was painted after {key!r}")
    os.read(terminal, 65_536)
    paint = (time.perf_counter() - pressed) * 1_000
    os.kill(process, 9)
    _, _, used = os.wait4(process, 0)
    os.close(terminal)
    return start, paint, used.ru_maxrss / 1_024


def main() -> None:
    """Print both programs' figures and their ratios."""
    folder = Path(tempfile.mkdtemp())
    bare = folder / "bare.py"
    bare.write_text(BARE)
    coach = [
        sys.executable, "-m", "coach", "today",
        "--orders", str(ROOT / "procedures/demo/orders.yaml"), "--journal",
    ]  # fmt: skip
    notice = [*coach, str(folder / "j.sqlite")]
    one_run(notice, b"Enter", b"\r")  # the notice of the very first start
    runs: dict[str, list[tuple[float, float, float]]] = {"bare": [], "coach": []}
    for _ in range(ROUNDS):  # turn by turn, so that a busy moment hits both alike
        runs["bare"].append(one_run([sys.executable, str(bare)], b"bare", b"w"))
        runs["coach"].append(one_run(notice, b"Enter", b"\x03"))  # it says how to leave
    print(f"median of {ROUNDS}, Python {sys.version.split()[0]}, {os.cpu_count()} cores")
    figures = ("first paint, ms", "key to paint, ms", "memory, MB")
    for column, figure in enumerate(figures):
        plain, ours = (statistics.median(run[column] for run in runs[name]) for name in runs)
        print(f"{figure:17} bare {plain:7.1f}   coach {ours:7.1f}   ratio {ours / plain:5.2f}")


if __name__ == "__main__":
    main()
