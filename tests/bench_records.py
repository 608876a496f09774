"""Measures how the coach opens with ten years of doses, beside an empty record.

A script, not a test: ``python -m tests.bench_records [FOLDER]``. A week of doses is given by the
engine, with a soiling, a trouble, a stop, and a delivery; it is then written again for each week of
ten years, with its times moved and its links made anew. With a FOLDER both records stay there, and
are taken from there the next time.

Each figure is the median of several runs. The first table is what a person waits for: from the
start of the program in a terminal to the first paint. The second is within one process, from the
opening of the file on, where no start of Python hides anything.
"""

from __future__ import annotations

import os
import shutil
import sqlite3
import statistics
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path

from coach import places
from coach.clock import ManualClock
from coach.journal.chain import link_of
from coach.journal.records import Called
from coach.journal.store import Journal
from coach.records.shelf import Shelf
from coach.sitting.desk import Desk
from coach.sitting.show import view_of
from coach.visit import report_of
from tests.bench_start import read_until, spawn
from tests.person import MORNING, PROCEDURES, Person, as_proved, changed_sheet, holds

A_DAY = 4
APART = timedelta(hours=24) / A_DAY
WEEK = timedelta(days=7)
WEEKS = 522
"""Ten years of them."""
COUNTER = "boot-00000000-0000-4000-8000-000000000000"
"""As long a name as the machine's own counter has."""
ROUNDS = 7
STARTS = 9
NOW = MORNING + WEEK
"""After the last of the doses, when the next one can be begun."""
_SITTING = """INSERT INTO sittings (id, kind, sheet_id, sheet_hash, procedure_hash, due, due_utc,
    choices, begun_at, begun_tick, begun_counter) SELECT :id, kind, sheet_id, sheet_hash,
    procedure_hash, :due, :due, choices, :begun, begun_tick, begun_counter FROM model.sittings
    WHERE id = :of"""


# The two records


def one_week(folder: Path, sheet: Path) -> None:
    """Give the doses of a week on *sheet* by the engine, in a record of its own in *folder*."""
    with Journal.open(folder / "model") as journal:
        for number in range(7 * A_DAY):
            clock = ManualClock(MORNING + number * APART, COUNTER)
            desk = Desk(sheet, PROCEDURES, journal, clock, holds)
            if not number:
                for item in desk.supplies.items():
                    desk.supplies.keep("delivered", item, {"number": "99"})
            word = "Nurse May" if desk.today().needs_word else ""
            answers = {"look-site": ["no"]} if number == 10 else {}
            person = Person(desk.begin(word), clock, answers)
            if number == 17:
                person.follow("infuse")
                person.sitting.went_wrong("pump-warning")
                person.sitting.answer(view_of(person.sitting).choices[-1].name)
            person.follow()


def ten_years(folder: Path) -> Path:
    """Write the record of ten years from the week in *folder*, and return where it is."""
    path = folder / "years"
    with Journal.open(path):
        pass
    database = sqlite3.connect(path, isolation_level=None)
    with closing(database):
        database.execute("PRAGMA synchronous = OFF")
        database.execute("ATTACH ? AS model", (str(folder / "model"),))
        database.execute("BEGIN")
        with _without_triggers(database):
            for table in ("sheets", "procedures"):
                # The names are those of this file.
                database.execute(f"INSERT INTO {table} SELECT * FROM model.{table}")  # noqa: S608
            _write(database)
        database.execute("COMMIT")
    return path


@contextmanager
def _without_triggers(database: sqlite3.Connection) -> Iterator[None]:
    """Write without looking back at each row: it takes minutes, and all of them are right."""
    found = database.execute("SELECT name, sql FROM main.sqlite_master WHERE type = 'trigger'")
    triggers = found.fetchall()
    for name, _ in triggers:
        database.execute(f"DROP TRIGGER {name}")
    yield
    for _, sql in triggers:
        database.execute(sql)


def _write(database: sqlite3.Connection) -> None:
    asked = "SELECT id, due, begun_at, ended, ended_at FROM model.sittings ORDER BY id"
    week = database.execute(asked).fetchall()
    events = {
        row[0]: database.execute(
            "SELECT seq, at, tick, counter, kind, step, value FROM model.events "
            "WHERE sitting_id = ? ORDER BY seq",
            row[:1],
        ).fetchall()
        for row in week
    }
    link, number = b"", 0
    for back in (WEEK * n for n in range(WEEKS - 1, -1, -1)):
        _deliver(database, number, back)
        for of, due, begun, ended, ended_at in week:
            number += 1
            times = {"due": _moved(due, back), "begun": _moved(begun, back)}
            database.execute(_SITTING, {"id": number, "of": of, **times})
            link = _write_events(database, number, events[of], back, link)
            database.execute(
                "UPDATE sittings SET ended = ?, ended_at = ? WHERE id = ?",
                (ended, _moved(ended_at, back), number),
            )


def _deliver(database: sqlite3.Connection, last: int, back: timedelta) -> None:
    """Write the delivery of a week, after the dose *last*."""
    came = database.execute("SELECT at, item, number FROM model.stock ORDER BY id").fetchall()
    for at, item, number in came:
        database.execute(
            "INSERT INTO stock (at, kind, item, number, lot, reason, sitting_id, seq)"
            "VALUES (?, 'delivered', ?, ?, '', '', ?, "
            "(SELECT coalesce(max(seq), 0) FROM events WHERE sitting_id = ?))",
            (_moved(at, back), item, number, last, last),
        )


def _write_events(
    database: sqlite3.Connection,
    number: int,
    events: list[tuple[int, str, float, str, str, str, str]],
    back: timedelta,
    link: bytes,
) -> bytes:
    rows, links = [], []
    for seq, at, tick, counter, kind, step, value in events:
        when = (datetime.fromisoformat(at) - back).isoformat()
        link = link_of((number, seq, when, kind, step, value), link)
        rows.append((number, seq, when, tick, counter, kind, step, value))
        links.append((number, seq, link))
    database.executemany("INSERT INTO events VALUES (?, ?, ?, ?, ?, ?, ?, ?)", rows)
    database.executemany("INSERT INTO chain VALUES (?, ?, ?)", links)
    return link


def _moved(at: str, back: timedelta) -> str:
    return (datetime.fromisoformat(at) - back).astimezone(UTC).isoformat()


def records_in(folder: Path) -> tuple[Path, Path, Path]:
    """Return the order sheet, the empty record and that of ten years, made where they are not."""
    sheet = changed_sheet(
        folder, {"every: 1 h ": "every: 6 h ", "2026-11-20T09:00": "2016-11-21T10:00"}
    )
    years, empty = folder / "years", folder / "empty"
    if not years.exists():
        one_week(folder, sheet)
        ten_years(folder)
    with Journal.open(empty) as journal:
        journal.mark_first_start()
    with Journal.open(years) as journal:
        journal.mark_first_start()
        # As it is on any day but the first with this version: the sums of the stock are kept.
        today(Desk(sheet, PROCEDURES, journal, ManualClock(NOW), holds))
    return sheet, empty, years


# What is measured


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
    desk.journal.records.keep(
        Called(at=desk.clock.now().at - WEEK, sheet_id=desk.sheet.sheet.id, nurse="N")
    )
    report_of(Shelf(desk))


@contextmanager
def copied(path: Path) -> Iterator[Path]:
    """Make a copy of the record at *path*, all of it on the disk."""
    with tempfile.TemporaryDirectory(dir=path.parent) as folder:
        copy = Path(folder) / "record"
        shutil.copy(path, copy)
        os.sync()
        yield copy


def took(path: Path, sheet: Path, what: Callable[[Desk], None]) -> float:
    """Return the ms from opening a copy of the record at *path* to the end of *what*."""
    with copied(path) as copy:
        begun = time.perf_counter()
        with Journal.open(copy) as journal:
            what(Desk(sheet, PROCEDURES, journal, ManualClock(NOW), holds))
            return (time.perf_counter() - begun) * 1_000


def first_paint(path: Path, home: Path, command: str, painted: bytes) -> float:
    """Return the ms from the start of ``coach`` *command* on a copy of *path* to what is *painted*.

    The program runs by the machine's clock moved to `NOW`.
    """
    with copied(path) as copy:
        environment = {
            **os.environ, "COACH_HOME": str(home), "TERM": "xterm-256color", "NOW": NOW.isoformat(),
        }  # fmt: skip
        started = f"import tests.at_now; tests.at_now.run({command!r}, {str(copy)!r})"
        begun = time.perf_counter()
        process, terminal = spawn([sys.executable, "-c", started], environment)
        read_until(terminal, painted)
        ms = (time.perf_counter() - begun) * 1_000
        os.kill(process, 9)
        os.waitpid(process, 0)
        os.close(terminal)
        return ms


def told(name: str, few: list[float], many: list[float]) -> None:
    """Print one line of a table."""
    one, other = statistics.median(few), statistics.median(many)
    print(f"{name:8} empty {one:8.1f} ms   ten years {other:8.1f} ms   {other / one:5.2f}")


def main() -> None:
    """Print the figures."""
    with tempfile.TemporaryDirectory() as made:
        folder = Path(sys.argv[1]) if len(sys.argv) > 1 else Path(made)
        sheet, empty, years = records_in(folder)
        with closing(sqlite3.connect(years)) as database:
            [doses] = database.execute("SELECT count(*) FROM sittings").fetchone()
        print(f"{doses:,} doses, {years.stat().st_size / 1e6:,.0f} MB")
        home = folder / "home"
        home.mkdir(exist_ok=True)
        shutil.copy(sheet, home / places.ORDERS)
        as_proved(home, sheet)
        print("From the start of the program to the first paint")
        for command, painted in (
            ("today", b"due"),
            ("records", b"The doses so far"),
            ("follow", b"Done"),
        ):
            few, many = [], []
            for _ in range(STARTS):
                few.append(first_paint(empty, home, command, painted))
                many.append(first_paint(years, home, command, painted))
            told(command, few, many)
        print("Within one process")
        for what in (today, records, dose, report):
            few, many = [], []
            for _ in range(ROUNDS):
                few.append(took(empty, sheet, what))
                many.append(took(years, sheet, what))
            told(what.__name__, few, many)


if __name__ == "__main__":
    main()
