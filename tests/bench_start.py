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
FIGURES = ("first paint, ms", "processor time, ms", "key to paint, ms", "memory, MB")
"""The processor time is of a whole run, its keys included: it says most on a busy machine."""

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


def drain(terminal: int) -> None:
    """Read from *terminal* until it has been quiet for a moment."""
    while select.select([terminal], [], [], 0.2)[0]:
        os.read(terminal, 65_536)


def key_to_paint(terminal: int, key: bytes) -> float:
    """Return the ms from pressing *key* to the first paint after it."""
    pressed = time.perf_counter()
    os.write(terminal, key)
    if not select.select([terminal], [], [], 10)[0]:
        raise SystemExit(f"nothing was painted after {key!r}")
    paint = (time.perf_counter() - pressed) * 1_000
    drain(terminal)
    return paint


def one_run(command: list[str], compiled: Path, painted: bytes, keys: bytes) -> tuple[float, ...]:
    """Return the figures of ``FIGURES``, from one start and each of *keys* in turn.

    Modules are read from *compiled*, as those of an installed program would be.
    """
    environment = {
        **os.environ,
        "TERM": "xterm-256color",
        "PYTHONPATH": str(ROOT),
        "PYTHONDONTWRITEBYTECODE": "",
        "PYTHONPYCACHEPREFIX": str(compiled),
    }
    begun = time.perf_counter()
    process, terminal = spawn(command, environment)
    read_until(terminal, painted)
    start = (time.perf_counter() - begun) * 1_000
    drain(terminal)
    paint = statistics.median(key_to_paint(terminal, bytes([key])) for key in keys)
    os.kill(process, 9)
    _, _, used = os.wait4(process, 0)
    os.close(terminal)
    return start, (used.ru_utime + used.ru_stime) * 1_000, paint, used.ru_maxrss / 1_024


def main() -> None:
    """Print both programs' figures and their ratios."""
    folder = Path(tempfile.mkdtemp())
    script, compiled = folder / "bare.py", folder / "compiled"
    script.write_text(BARE)
    bare = [sys.executable, str(script)]
    coach = [
        sys.executable, "-m", "coach", "today",
        "--orders", str(ROOT / "procedures/demo/orders.yaml"),
        "--journal", str(folder / "j.sqlite"),
    ]  # fmt: skip
    one_run(bare, compiled, b"bare", b"w")
    one_run(coach, compiled, b"Enter", b"\r")  # the notice of the very first start
    runs: dict[str, list[tuple[float, ...]]] = {"bare": [], "coach": []}
    for _ in range(ROUNDS):  # turn by turn, so that a busy moment hits both alike
        runs["bare"].append(one_run(bare, compiled, b"bare", b"wwww"))
        # Ctrl+C tells how to leave; any other key takes that away again.
        runs["coach"].append(one_run(coach, compiled, b"Enter", b"\x03x\x03x"))
    print(f"median of {ROUNDS}, Python {sys.version.split()[0]}, {os.cpu_count()} cores")
    for column, figure in enumerate(FIGURES):
        plain, ours = (statistics.median(run[column] for run in runs[name]) for name in runs)
        print(f"{figure:19} bare {plain:7.1f}   coach {ours:7.1f}   ratio {ours / plain:5.2f}")


if __name__ == "__main__":
    main()
