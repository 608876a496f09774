"""Where the tests keep their files: in memory, where the system has room there.

A journal goes to the disk with every event, and a test may tell thousands. What is killed here
is a program, never the machine, so memory keeps as much of it as a disk would.
"""

from __future__ import annotations

import gc
import os
import shutil
from pathlib import Path

import pytest

MEMORY = Path("/dev/shm")
ROOM = 2 * 1024**3
"""Bytes that have to be free there; a whole run leaves far less."""


MADE_BETWEEN = 100_000
"""Objects made before memory is looked through for what can be freed, where Python has 700."""


def pytest_configure(config: pytest.Config) -> None:
    """Have the temporary folders made in memory, unless another place was asked for.

    A screen is many small objects that live as long as it does, and to look through them again
    and again takes a sixth of a test of screens.
    """
    gc.set_threshold(MADE_BETWEEN, 50, 100)
    if MEMORY.is_dir() and os.access(MEMORY, os.W_OK) and shutil.disk_usage(MEMORY).free > ROOM:
        os.environ.setdefault("PYTEST_DEBUG_TEMPROOT", str(MEMORY))
