"""Doses and rehearsals in any order: record, supplies and due times know no rehearsal."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coach import places
from coach.clock import ManualClock
from coach.journal.store import Journal
from coach.journal.teaching import Met, Visit
from coach.practice.lessons import Lessons
from coach.practice.rehearsal import Rehearsal
from coach.sitting.desk import Desk
from tests.person import MORNING, Person, holds
from tests.practice.school import clock_of, follow, mark_all
from tests.screens.classroom import small_procedures, without_heparin

HOUR = 3_600
MOVES = (
    "dose", "dose half done", "dose stopped", "pads came", "pads counted", "an hour", "six hours",
    "practice", "practice half done", "practice put aside", "words",
)  # fmt: skip


class Home:
    """A record with a file of rehearsals beside it, and what is done there."""

    def __init__(self, folder: Path, school: Path, orders: Path) -> None:
        """Begin in *folder*, by the procedures in *school* and the sheet *orders*."""
        self.clock = ManualClock(MORNING)
        self.journal = Journal.open(folder / "journal.sqlite")
        self.desk = Desk(orders, school, self.journal, self.clock, holds)
        path = places.practice_beside(self.journal.path)
        # A clock of its own: what is known of doses is looked at before and after at one moment.
        taught = Desk(orders, school, self.journal, ManualClock(MORNING), holds)
        self.lessons = Lessons(taught, path, Random(1))
        visits = self.lessons.book.every(Visit)
        self.visit = visits[0] if visits else self._first_visit()

    def _first_visit(self) -> Visit:
        return self.lessons.begin_visit(self.lessons.add_learner("R. V.", "patient"), "Ash")

    def close(self) -> None:
        """Close both files."""
        self.lessons.close()
        self.journal.close()

    def does(self, move: str) -> None:
        """Do what *move* says, as far as it can be done now."""
        if move.startswith("dose"):
            self._dose(move)
        elif move.startswith("practice"):
            self._practice(move)
        elif move == "words":
            self.lessons.say_back(self.visit, "touched", ["I scrub again."])
        elif move.startswith("pads"):
            [pads] = self.desk.supplies.items()
            if move == "pads came":
                self.desk.supplies.keep("delivered", pads, {"number": "20"})
            else:
                self.desk.supplies.keep("counted", pads, {"number": "9", "reason": "some fell"})
        else:
            for clock in (self.clock, clock_of(self.lessons)):
                clock.move(HOUR if move == "an hour" else 6 * HOUR)

    def _dose(self, move: str) -> None:
        today = self.desk.today()
        if today.under_way is None and not today.can_begin:
            return
        sitting = self.desk.begin("Nurse Ash" if today.needs_word else "")
        if move == "dose stopped":
            sitting.went_wrong("ill")
        Person(sitting, self.clock).follow("join" if move == "dose half done" else "")
        self.journal.release_dose()

    def _practice(self, move: str) -> None:
        """Rehearse; what was left half done is taken up again."""
        open_now = self.lessons.under_way() is not None
        rehearsal = self.lessons.resume() if open_now else self.lessons.begin(self.visit)
        self._surprise(rehearsal)
        follow(self.lessons, rehearsal, "" if move == "practice" else "join")
        rehearsal.settle()
        mark_all(rehearsal)
        if move == "practice put aside" and not rehearsal.sitting.over:
            self.lessons.put_aside()
        self.lessons.journal.release_dose()

    def _surprise(self, rehearsal: Rehearsal) -> None:
        if rehearsal.pending is None and rehearsal.can_deal():
            rehearsal.pick()

    def known(self) -> tuple[object, ...]:
        """Return all that is known of doses, supplies and due times."""
        today = self.desk.today()
        rows = self.journal.every_sitting()
        events = [self.journal.events(row.id) for row in rows]
        assert {row.kind for row in rows} <= {"dose"}
        taken = self.journal.taken(self.desk.sheet.sheet.id)
        return today, self.desk.supplies.items(), rows, events, taken

    def on_disk(self) -> list[bytes]:
        """Return every byte of the record."""
        files = sorted(self.journal.path.parent.glob("journal.sqlite*"))
        return [path.read_bytes() for path in files]


@pytest.fixture(scope="module")
def school(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the small procedures, a sheet, and a home in which nothing was done yet."""
    folder = tmp_path_factory.mktemp("school")
    small_procedures(folder)
    sheet = without_heparin(folder)
    # Fewer doses than each hour: what they need of supplies is reckoned for months ahead.
    text = sheet.read_text(encoding="utf-8").replace("every: 1 h ", "every: 6 h ")
    sheet.write_text(text.replace("T09:00", "T10:00"), encoding="utf-8")
    (folder / "home").mkdir()
    Home(folder / "home", folder / "procedures", sheet).close()
    return folder


@contextmanager
def home(school: Path) -> Iterator[Home]:
    with TemporaryDirectory(dir=school) as folder:
        shutil.copytree(school / "home", folder, dirs_exist_ok=True)
        found = Home(Path(folder), school / "procedures", school / "orders.yaml")
        try:
            yield found
        finally:
            found.close()


@settings(max_examples=100, deadline=None)
@given(moves=st.lists(st.sampled_from(MOVES), min_size=2, max_size=7))
def test_no_rehearsal_is_known_to_the_record(school: Path, moves: list[str]) -> None:
    with home(school) as here:
        for move in moves:
            practises = move.startswith(("practice", "words"))
            before = (here.known(), here.on_disk()) if practises else None
            here.does(move)
            assert before is None or (here.known(), here.on_disk()) == before, move


def test_each_move_of_it_does_something(school: Path) -> None:
    """Doses are given, pads are used up, and rehearsals are kept, or nothing could be seen."""
    with home(school) as here:
        for move in ("pads came", "dose", "six hours", "dose half done", "dose", "six hours"):
            before = here.known()
            here.does(move)
            assert here.known() != before, move
        assert [row.ended for row in here.journal.every_sitting()] == ["finished"] * 2
        [pads] = here.desk.supplies.items()
        assert pads.number == 17  # the dose that was taken up again was scrubbed for once more
        for move in ("practice", "practice half done", "practice put aside", "practice"):
            here.does(move)
        assert len(here.lessons.journal.every_sitting()) > 2
        assert len(here.lessons.book.every(Met)) > 2
