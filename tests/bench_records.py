"""Measures how the coach opens with ten years of doses, beside an empty record.

A script, not a test: ``python -m tests.bench_records [FOLDER]``. Every one of the doses is given by
the engine, step by step, with troubles, stops and deliveries among them as a seed has it; that
takes about half an hour. With a FOLDER both records stay there, and are taken from there the next
time.

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
from datetime import timedelta
from pathlib import Path
from random import Random

from coach import places
from coach.clock import ManualClock
from coach.engine import possible
from coach.journal.records import Called
from coach.journal.store import Journal
from coach.procedure.model import Question, Reading, Stop, Wait
from coach.records.shelf import Shelf
from coach.sitting.desk import Desk
from coach.sitting.sitting import Sitting, runs
from coach.visit import report_of
from tests.bench_start import read_until, spawn
from tests.person import MORNING, PROCEDURES, as_proved, changed_sheet, holds, typed_as_ordered

A_DAY = 4
APART = timedelta(hours=24) / A_DAY
WEEK = timedelta(days=7)
DOSES = 522 * 7 * A_DAY
"""Ten years of them."""
COUNTER = "boot-00000000-0000-4000-8000-000000000000"
"""As long a name as the machine's own counter has."""
ROUNDS = 7
STARTS = 9
NOW = MORNING + WEEK
"""After the last of the doses, when the next one can be begun."""
SOMETHING_WRONG = 0.001
"""How often something is told at a step: about once in eight doses."""
MOST_STEPS = 2_000


# The two records


def ten_years(path: Path, sheet: Path) -> None:
    """Give the doses of ten years on *sheet* by the engine, in the record at *path*."""
    chance = Random(DOSES)
    with Journal.open(path) as journal:
        for number in range(DOSES):
            at = NOW - APART * (DOSES - number)
            clock = ManualClock(at, COUNTER)
            desk = Desk(sheet, PROCEDURES, journal, clock, holds)
            if not number % (7 * A_DAY):
                for item in desk.supplies.items():
                    desk.supplies.keep("delivered", item, {"number": "99"})
            give(desk.begin("Nurse May" if desk.today().needs_word else ""), clock, chance)


def give(sitting: Sitting, clock: ManualClock, chance: Random) -> None:
    """Give one dose: as hoped, but for what goes wrong by *chance*."""
    for _ in range(MOST_STEPS):
        if sitting.over:
            return
        if chance.random() < SOMETHING_WRONG:
            told = list(possible(sitting.dose.procedure, sitting.moment.state))
            sitting.went_wrong(chance.choice(told).id)
        else:
            do(sitting, clock)
    raise RuntimeError("The dose does not end.")


def do(sitting: Sitting, clock: ManualClock) -> None:
    """Do the step to do now as it is hoped to go."""
    step, timer = sitting.step(), sitting.timer()
    clock.move(timer.left if timer is not None and isinstance(step.ask, Wait) else 2)
    if runs(step):
        sitting.start_run()
        while sitting.running:
            clock.move(1)
            sitting.tick()
    elif isinstance(step.ask, Reading):
        sitting.read(typed_as_ordered(sitting))
    elif isinstance(step.ask, Question | Stop):
        sitting.answer(step.outcomes[0].name)
    else:
        sitting.done()


def records_in(folder: Path) -> tuple[Path, Path, Path]:
    """Return the order sheet, the empty record and that of ten years, made where they are not."""
    sheet = changed_sheet(
        folder,
        {
            "every: 1 h ": "every: 6 h ",
            "2026-11-20T09:00": "2016-11-21T10:00",
            "date: 2026-11-20": "date: 2016-11-20",
            "last: 2026-11-20": "last: 2016-11-20",
        },
    )
    years, empty = folder / "years", folder / "empty"
    if not years.exists():
        began = time.perf_counter()
        ten_years(years, sheet)
        print(f"{DOSES:,} doses given in {time.perf_counter() - began:,.0f} s")
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
