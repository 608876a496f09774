"""A journal in a folder of its own, with what a test needs to begin a dose in it."""

from __future__ import annotations

import hashlib
import os
import signal
import sqlite3
import subprocess
import sys
from collections.abc import Mapping
from datetime import UTC, datetime, timedelta
from pathlib import Path

import coach
from coach.clock import Instant
from coach.journal.rows import SittingRow
from coach.journal.store import Journal

SHEET = b"sheet: demonstration only\n"
PROCEDURE = b"procedure: demonstration only\n"
SHEET_HASH = hashlib.sha256(SHEET).hexdigest()
PROCEDURE_HASH = hashlib.sha256(PROCEDURE).hexdigest()
DUE = datetime(2026, 11, 25, 8, 0, tzinfo=UTC)
KILLED = -signal.SIGKILL if sys.platform != "win32" else signal.SIGTERM
"""The exit status of a process that `DIE` ended."""

DIE = "os.kill(os.getpid(), getattr(signal, 'SIGKILL', signal.SIGTERM))"
"""Python source that ends its process at once, with no clean-up at all."""

_PRELUDE = """\
import os, signal, sqlite3, sys
from datetime import UTC, datetime
from pathlib import Path
from coach.clock import Instant
from coach.errors import JournalBusy
from coach.journal.store import Journal
path = Path(sys.argv[1])
"""


def instant(seconds: float = 0.0) -> Instant:
    """Return a moment some *seconds* after the dose was due."""
    return Instant(DUE + timedelta(seconds=seconds), seconds, "test")


def begin(
    journal: Journal,
    *,
    sheet_id: str = "demo",
    due: datetime = DUE,
    choices: Mapping[str, str] | None = None,
) -> SittingRow:
    """Keep the two sources and begin a dose on them."""
    journal.keep_source("sheet", SHEET_HASH, SHEET)
    journal.keep_source("procedure", PROCEDURE_HASH, PROCEDURE)
    return journal.begin(
        kind="dose",
        sheet_id=sheet_id,
        sheet_hash=SHEET_HASH,
        procedure_hash=PROCEDURE_HASH,
        due=due,
        choices={} if choices is None else choices,
        begun=instant(),
    )


def raw(journal: Journal) -> sqlite3.Connection:
    """Return the journal's own connection, to make the disk behave badly."""
    return journal._database


def child(path: Path, source: str) -> subprocess.Popen[str]:
    """Start another program with *source*, in which ``path`` is the journal's path."""
    root = str(Path(coach.__file__).parents[1])
    return subprocess.Popen(
        [sys.executable, "-c", _PRELUDE + source, str(path)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
        env={**os.environ, "PYTHONPATH": root},
    )
