"""Every path on disk that the coach uses of its own accord.

Owns where the order sheet, the journal and the procedures are found. It must never open one.
"""

from __future__ import annotations

import os
import sys
from pathlib import Path

ORDERS = "orders.yaml"
JOURNAL = "journal.sqlite"
DEMO_JOURNAL = "demonstration.sqlite"
FAILURE = "what-went-wrong.txt"
PROVED = "proved.txt"
THEME = "theme.txt"


def data_folder() -> Path:
    """Return the folder of one person's data: ``COACH_HOME``, or where the system keeps such."""
    named = os.environ.get("COACH_HOME")
    if named:
        return Path(named)
    if sys.platform == "win32":
        return Path(os.environ.get("APPDATA", Path.home())) / "kitchen-table-coach"
    if sys.platform == "darwin":
        return Path.home() / "Library" / "Application Support" / "kitchen-table-coach"
    shared = os.environ.get("XDG_DATA_HOME")
    return (Path(shared) if shared else Path.home() / ".local/share") / "kitchen-table-coach"


def practice_beside(journal: Path) -> Path:
    """Return the file of rehearsals that lies beside the record *journal*: never the same one."""
    return journal.with_name(f"practice-{journal.name}")


def procedures_folder() -> Path:
    """Return the procedures that were shipped with the program, or those of the checkout."""
    here = Path(__file__).parent
    shipped = here / "shipped"
    return shipped if shipped.is_dir() else here.parent / "procedures"


def demo_orders() -> Path:
    """Return the demonstration order sheet."""
    return procedures_folder() / "demo" / ORDERS


def demo_sheets() -> tuple[Path, ...]:
    """Return every demonstration order sheet; their comments explain the fields."""
    return tuple(sorted(demo_orders().parent.glob("*.yaml")))
