"""Measures how the coach opens with ten years of doses, beside an empty record.

A script, not a test: ``python -m tests.bench_records``. One dose is given by the engine, step by
step; its events are then written again for each due time of ten years, with their times moved and
their links made anew. Each figure is the median of several runs in one process, each with the
record opened anew.
"""

from __future__ import annotations

import shutil
import sqlite3
import statistics
import tempfile
import time
from collections.abc import Callable
from contextlib import closing
from datetime import UTC, datetime, timedelta
from pathlib import Path

from coach.clock import ManualClock
from coach.journal.chain import link_of
from coach.journal.records import Called
from coach.journal.store import Journal
from coach.records.shelf import Shelf
from coach.sitting.desk import Desk
from coach.visit import report_of
from tests.person import MORNING, PROCEDURES, Person, changed_sheet, holds

A_DAY = 4
DOSES = A_DAY * 3_653
"""Ten years of them."""
APART = timedelta(hours=24) / A_DAY
ROUNDS = 7
_SITTING = """INSERT INTO sittings (id, kind, sheet_id, sheet_hash, procedure_hash, due, due_utc,
    choices, begun_at, begun_tick, begun_counter) SELECT :id, kind, sheet_id, sheet_hash,
    procedure_hash, :due, :due, choices, :begun, begun_tick, begun_counter FROM model.sittings"""


def one_dose(folder: Path, sheet: Path) -> None:
    """Give one dose of *sheet* by the engine, in a record of its own in *folder*."""
    clock = ManualClock(MORNING)
    with Journal.open(folder / "model") as journal:
        Person(Desk(sheet, PROCEDURES, journal, clock, holds).begin(), clock, {}).follow()


def ten_years(folder: Path) -> Path:
    """Write the record of ten years from the one dose in *folder*, and return where it is."""
    path = folder / "years"
    with Journal.open(path):
        pass
    database = sqlite3.connect(path, isolation_level=None)
    with closing(database):
        database.execute("PRAGMA synchronous = OFF")
        database.execute("ATTACH ? AS model", (str(folder / "model"),))
        database.execute("BEGIN")
        for table in ("sheets", "procedures"):
            # The names are those of this file.
            database.execute(f"INSERT INTO {table} SELECT * FROM model.{table}")  # noqa: S608
        _write(database)
        database.execute("COMMIT")
    return path


def _write(database: sqlite3.Connection) -> None:
    [(due, begun, ended)] = database.execute("SELECT due, begun_at, ended_at FROM model.sittings")
    events = database.execute(
        "SELECT seq, at, tick, counter, kind, step, value FROM model.events ORDER BY seq"
    ).fetchall()
    times = [datetime.fromisoformat(row[1]) for row in events]
    link = b""
    for number in range(1, DOSES + 1):
        back = (DOSES - number + 1) * APART
        moved = {"id": number, "due": _moved(due, back), "begun": _moved(begun, back)}
        database.execute(_SITTING, moved)
        rows, links = [], []
        for at, (seq, _, tick, counter, kind, step, value) in zip(times, events, strict=True):
            when = (at - back).isoformat()
            link = link_of((number, seq, when, kind, step, value), link)
            rows.append((number, seq, when, tick, counter, kind, step, value))
            links.append((number, seq, link))
        database.executemany("INSERT INTO events VALUES (?, ?, ?, ?, ?, ?, ?, ?)", rows)
        database.executemany("INSERT INTO chain VALUES (?, ?, ?)", links)
        database.execute(
            "UPDATE sittings SET ended = 'finished', ended_at = ? WHERE id = ?",
            (_moved(ended, back), number),
        )


def _moved(at: str, back: timedelta) -> str:
    return (datetime.fromisoformat(at) - back).astimezone(UTC).isoformat()


def today(desk: Desk) -> None:
    """Open Today, with what only the record can tell."""
    desk.further(desk.today())


def records(desk: Desk) -> None:
    """Open the first days of the records."""
    shelf = Shelf(desk)
    shelf.back_from(shelf.today())


def dose(desk: Desk) -> None:
    """Begin a new dose."""
    desk.begin()


def report(desk: Desk) -> None:
    """Make the visit report of a week."""
    now = desk.clock.now().at - timedelta(days=7)
    desk.journal.records.keep(Called(at=now, sheet_id=desk.sheet.sheet.id, nurse="N"))
    report_of(Shelf(desk))


def took(path: Path, sheet: Path, what: Callable[[Desk], None]) -> float:
    """Return the ms from opening a copy of the record at *path* to the end of *what*."""
    with tempfile.TemporaryDirectory(dir=path.parent) as folder:
        copy = Path(folder) / "record"
        if path.exists():
            shutil.copy(path, copy)
        clock = ManualClock(MORNING)
        begun = time.perf_counter()
        with Journal.open(copy) as journal:
            what(Desk(sheet, PROCEDURES, journal, clock, holds))
            return (time.perf_counter() - begun) * 1_000


def main() -> None:
    """Print the figures."""
    with tempfile.TemporaryDirectory() as kept:
        folder = Path(kept)
        sheet = changed_sheet(
            folder, {"every: 1 h ": "every: 6 h ", "2026-11-20T09:00": "2016-11-21T10:00",}
        )  # fmt: skip
        one_dose(folder, sheet)
        years, empty = ten_years(folder), folder / "empty"
        print(f"{DOSES:,} doses, {years.stat().st_size / 1e6:,.0f} MB")
        for what in (today, records, dose, report):
            both = [
                statistics.median(took(path, sheet, what) for _ in range(ROUNDS))
                for path in (empty, years)
            ]
            name, (few, many) = what.__name__, both
            print(f"{name:8} empty {few:8.1f} ms   ten years {many:8.1f} ms   {many / few:5.2f}")


if __name__ == "__main__":
    main()
