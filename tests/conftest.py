"""Where the tests keep their files: in memory, where the system has room there.

A journal goes to the disk with every event, and a test may tell thousands. What is killed here
is a program, never the machine, so memory keeps as much of it as a disk would.
"""

from __future__ import annotations

import os
import shutil
from pathlib import Path

import pytest

MEMORY = Path("/dev/shm")
ROOM = 2 * 1024**3
"""Bytes that have to be free there; a whole run leaves far less."""


def pytest_configure(config: pytest.Config) -> None:
    """Have the temporary folders made in memory, unless another place was asked for."""
    if MEMORY.is_dir() and os.access(MEMORY, os.W_OK) and shutil.disk_usage(MEMORY).free > ROOM:
        os.environ.setdefault("PYTEST_DEBUG_TEMPROOT", str(MEMORY))
