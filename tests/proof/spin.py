"""Runs SPIN, and reads its own figures from what it prints."""

from __future__ import annotations

import re
import subprocess
from pathlib import Path
from typing import NamedTuple

MOST_SECONDS = 300
DEEPEST = "1000000"
"""Moves of one run, on which SPIN gives up; it then says so."""


class Told(NamedTuple):
    """What SPIN says of a model."""

    states: int
    moves: int
    broken: frozenset[str]
    """The rules whose assertion failed, as they are named in the model."""


def spin(model: str, folder: Path) -> Told:
    """Search *model* with SPIN in *folder*: every state, with no reduction of any kind."""
    (folder / "dose.pml").write_text(model, encoding="utf-8")
    said = run(folder, "spin", "-a", "dose.pml")
    assert "rror" not in said, said
    run(folder, "gcc", "-w", "-O0", "-DSAFETY", "-DNOREDUCE", "-o", "pan", "pan.c")
    return read(run(folder, "./pan", "-c0", "-w20", f"-m{DEEPEST}"))


def run(folder: Path, *command: str) -> str:
    """Run *command* in *folder*, which must succeed, and return what it printed."""
    done = subprocess.run(
        command, cwd=folder, capture_output=True, text=True, check=False, timeout=MOST_SECONDS
    )
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout + done.stderr


def read(said: str) -> Told:
    """Read the figures of a whole search from what SPIN *said*."""
    assert "max search depth too small" not in said, said
    assert "invalid end state " not in said, said
    broken = frozenset(re.findall(r"assertion violated \(?holds__(\w+?)==", said))
    assert int(number(said, r"errors: (\d+)")) == len(broken), said
    # Beside each move SPIN counts the coming into the first state.
    moves = int(number(said, r"(\d+) transitions")) - 1
    return Told(int(number(said, r"(\d+) states, stored")), moves, broken)


def number(said: str, pattern: str) -> str:
    """Return the one number that *pattern* finds in *said*."""
    (found,) = re.findall(pattern, said)
    return str(found)
