"""Sums of the stock are kept so that nobody waits for years of doses; they never say otherwise."""

from __future__ import annotations

import itertools
import json
import sqlite3
import tempfile
from contextlib import closing
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coach import cli
from coach.clock import ManualClock
from coach.errors import ExitCode
from coach.journal.records import OnPaper
from coach.journal.rows import sha256_of
from coach.journal.schema import APPLICATION_ID, MIGRATIONS
from coach.journal.store import Journal
from coach.orders.supplies import in_all
from coach.orders.values import sheet_choices
from coach.says import records as words
from coach.sitting import reckoning
from coach.sitting.desk import Desk
from coach.sitting.reckoning import Reckoning, SoFar
from tests.journal.desk import raw
from tests.person import DAILY, DEMO, MORNING, Person, desk_at
from tests.procedure.shipped import BUNDLE, SOURCE

ITEMS = ("pad", "bag", "battery", "tubing")
STEPS = sorted(
    {step.id for step in SOURCE.steps if set(step.uses) & set(ITEMS)}
    | {asked.step for asked in SOURCE.circumstances if asked.step}
)
STEPS_RAW = json.dumps(BUNDLE, sort_keys=True).encode()
NUMBERS, DAYS = st.integers(1, 9), st.none() | st.integers(1, 4)
DONE = st.lists(st.sampled_from([*STEPS, "undone"]), max_size=4)
MOVES = st.lists(
    st.one_of(
        st.tuples(st.just("dose"), DONE, DONE),
        st.tuples(st.just("delivered"), st.sampled_from(ITEMS), NUMBERS, DAYS),
        st.tuples(st.just("counted"), st.sampled_from(ITEMS), NUMBERS, DAYS),
        st.tuples(st.just("paper"), st.integers(1, 40)),
    ),
    min_size=6,
    max_size=16,
)


class Home:
    """A record to which doses, entries and doses from paper are added as a test tells."""

    def __init__(self, desk: Desk, clock: ManualClock) -> None:
        self.desk, self.clock = desk, clock
        self.hashes = sha256_of(desk.sheet_raw), sha256_of(STEPS_RAW)
        desk.journal.keep_source("sheet", self.hashes[0], desk.sheet_raw)
        desk.journal.keep_source("procedure", self.hashes[1], STEPS_RAW)
        self.choices = {c.choice: c.otherwise for c in SOURCE.circumstances}
        self.choices |= sheet_choices(desk.sheet)
        self.reckoning = Reckoning(desk)

    def look(self) -> SoFar:
        return self.reckoning.so_far(self.desk.journal.stock.stands())

    def dose(self, first: list[str], then: list[str]) -> None:
        """Do the steps *first*, have the stock looked at, and do the others."""
        journal, now = self.desk.journal, self.clock.now()
        row = journal.begin(
            kind="dose",
            sheet_id=self.desk.sheet.sheet.id,
            sheet_hash=self.hashes[0],
            procedure_hash=self.hashes[1],
            due=now.at,
            choices=self.choices,
            begun=now,
        )
        for step in (*first, "look", *then):
            if step == "look":
                self.look()
            elif step == "undone":
                journal.append(row.id, now, "undone", "", "")
            else:
                journal.append(row.id, now, "done", step, "")
        journal.end(row.id, "finished", now)

    def entry(self, kind: str, item: str, number: int, days: int | None) -> None:
        now = self.clock.now().at
        self.desk.journal.stock.keep(
            at=now,
            kind=kind,
            item=item,
            number=number,
            discard=None if days is None else MORNING + timedelta(days=days),
            reason="counted again" if kind == "counted" else "",
        )

    def paper(self, hours: int) -> None:
        begun, stands = self.clock.now().at, self.desk.journal.stock.stands()
        begun -= timedelta(hours=hours, minutes=30)
        self.desk.journal.records.keep(
            OnPaper(
                at=self.clock.now().at,
                sheet_id=self.desk.sheet.sheet.id,
                sheet_hash=self.hashes[0],
                due=self.clock.now().at - timedelta(minutes=1),
                due_utc=self.clock.now().at - timedelta(minutes=1),
                begun=begun,
                ended=begun + timedelta(minutes=30),
                given="",
                gave="Ana",
                pressed="Ana",
                words="",
                procedure_hash=self.hashes[1],
                sitting_id=stands.sitting,
                seq=stands.seq,
            )
        )

    def move(self, what: str, *told: Any) -> None:
        self.clock.move(3 * 3_600)
        if what in ("delivered", "counted"):
            self.entry(what, *told)
        else:
            (self.dose if what == "dose" else self.paper)(*told)


@pytest.fixture
def often(monkeypatch: pytest.MonkeyPatch) -> None:
    """Have sums kept after every second dose."""
    monkeypatch.setattr(reckoning, "EVERY", 2)


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Desk:
    opened = desk_at(tmp_path_factory.mktemp("desk"), DAILY)
    opened.journal.close()
    return opened


@pytest.mark.usefixtures("often")
@given(moves=MOVES)
@settings(max_examples=50, deadline=None)
def test_the_stock_is_the_same_whether_sums_were_kept_or_not(
    desk: Desk, tmp_path_factory: pytest.TempPathFactory, moves: list[tuple[Any, ...]]
) -> None:
    with (
        tempfile.TemporaryDirectory(dir=tmp_path_factory.getbasetemp()) as folder,
        Journal.open(Path(folder) / "journal.sqlite") as journal,
    ):
        desk.journal, desk.clock = journal, ManualClock(MORNING)
        home = Home(desk, desk.clock)
        home.entry("delivered", "pad", 9, None)
        for what, *told in moves:
            home.move(what, *told)
        so_far = home.look()
        assert Reckoning(desk).comes_to_the_same()
        journal.stock.forget_sums()
        anew = Reckoning(desk).so_far(journal.stock.stands())
        assert so_far.sums.kept() == anew.sums.kept()
        assert (so_far.given, so_far.done) == (anew.given, anew.done)


# A dose from paper that an earlier version kept, which did not say after what it counts

CHANGES = [asked.step for asked in SOURCE.circumstances if asked.step]


def with_an_old_dose_from_paper(path: Path, desk: Desk, begun: datetime) -> None:
    """Make a record of version 5 at *path* that holds a dose from paper, *begun* at that time."""
    sheet = sha256_of(desk.sheet_raw)
    at = (begun + timedelta(minutes=30)).isoformat()
    times = at, at, begun.isoformat(), at
    with closing(sqlite3.connect(path, isolation_level=None)) as database:
        for statement in itertools.chain(*MIGRATIONS[:5]):
            database.execute(statement)
        database.execute(f"PRAGMA application_id = {APPLICATION_ID}")
        database.execute("PRAGMA user_version = 5")
        database.execute("INSERT INTO sheets VALUES (?, ?)", (sheet, desk.sheet_raw))
        row = (1, at, desk.sheet.sheet.id, sheet, *times, "", "Ana", "Ana", "")
        database.execute("INSERT INTO on_paper VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)", row)


@pytest.mark.usefixtures("often")
def test_a_dose_from_paper_of_an_earlier_version_counts_at_the_time_it_was_written_down(
    desk: Desk, tmp_path: Path
) -> None:
    path = tmp_path / "journal.sqlite"
    with_an_old_dose_from_paper(path, desk, MORNING + timedelta(hours=4))
    with Journal.open(path) as journal:
        assert journal.records.papers(0)[0].seq is None
        desk.journal, desk.clock = journal, ManualClock(MORNING)
        home = Home(desk, desk.clock)
        home.entry("delivered", "battery", 30, None)
        for done in ([], [], CHANGES, CHANGES, []):
            home.move("dose", done, [])
            home.look()
        assert len(list(journal.stock.sums())) > 1
        assert Reckoning(desk).comes_to_the_same()
        journal.stock.forget_sums()
        left = in_all(home.look().sums.batches("battery"))
        assert left < 30, "no change of the batteries was on record by then"


# What is said of sums that were changed


@pytest.fixture
def checked(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, often: None) -> Path:
    """Return a record of two doses, with sums that were kept of them."""
    monkeypatch.setenv("COACH_HOME", str(tmp_path))
    (tmp_path / "orders.yaml").write_bytes(DEMO.read_bytes())
    clock = ManualClock(MORNING)
    desk = desk_at(tmp_path, clock=clock)
    with desk.journal as journal:
        journal.stock.keep(at=MORNING, kind="delivered", item="bag", number=9)
        for _ in range(2):
            assert Person(desk.begin("Nurse on call"), clock).follow().way == "finished"
            clock.move((desk.today().opens - clock.now().at).total_seconds())
        assert bags(desk) == 7
        assert len(list(journal.stock.sums())) == 1
    return journal.path


def bags(desk: Desk) -> int:
    so_far = Reckoning(desk).so_far(desk.journal.stock.stands())
    return in_all(so_far.sums.batches("bag"))


def told(path: Path, capsys: pytest.CaptureFixture[str]) -> list[str]:
    assert cli.main(["records", "check", "--journal", str(path)]) == ExitCode.DONE
    return capsys.readouterr().out.splitlines()[1:]


def test_the_check_finds_sums_that_were_changed_and_has_them_made_anew(
    checked: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert told(checked, capsys) == []
    desk = desk_at(checked.parent)
    with desk.journal as journal:
        change = "UPDATE stock_sums SET sums = replace(sums, '[null,7,', '[null,8,')"
        assert raw(journal).execute(change).rowcount == 1
        assert bags(desk) == 8
    assert told(checked, capsys) == [words.SUMS_DIFFER]
    desk = desk_at(checked.parent)
    with desk.journal as journal:
        assert list(journal.stock.sums()) == []
        assert bags(desk) == 7
        assert len(list(journal.stock.sums())) == 1
    assert told(checked, capsys) == []


def test_sums_that_cannot_be_read_are_left_aside(checked: Path) -> None:
    desk = desk_at(checked.parent)
    with desk.journal as journal:
        raw(journal).execute("UPDATE stock_sums SET sums = 'none'")
        assert bags(desk) == 7
