from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from coach.errors import JournalBusy
from coach.journal.lock import lock_path
from coach.journal.store import Journal
from tests.journal.desk import DIE, KILLED, begin, child, instant, raw

_HOLD = """
journal = Journal.open(path)
journal.hold_dose()
print("held", flush=True)
sys.stdin.read()
"""

_TRY = """
try:
    Journal.open(path).hold_dose()
except JournalBusy:
    print("JournalBusy", end="")
else:
    print("held", end="")
"""


def test_each_event_is_there_after_its_program_is_killed_at_once(path: Path) -> None:
    with Journal.open(path) as journal:
        sitting = begin(journal)
    for count in range(1, 7):
        program = child(
            path,
            f"""
at = Instant(datetime(2026, 11, 25, 8, {count}, tzinfo=UTC), {count}, "child")
Journal.open(path).append({sitting.id}, at, "done", "step-{count}", "value {count}")
{DIE}
""",
        )
        program.communicate()
        assert program.returncode == KILLED
        with Journal.open(path) as journal:
            kept = journal.events(sitting.id)
        assert [event.seq for event in kept] == list(range(1, count + 1))
        assert [event.step for event in kept] == [f"step-{n}" for n in range(1, count + 1)]


def test_a_program_killed_between_events_leaves_all_of_them_in_the_log(path: Path) -> None:
    with Journal.open(path) as journal:
        sitting = begin(journal)
    program = child(
        path,
        f"""
journal = Journal.open(path)
for count in range(1, 51):
    at = Instant(datetime(2026, 11, 25, 8, 0, count, tzinfo=UTC), count, "child")
    journal.append({sitting.id}, at, "done", "step", str(count))
{DIE}
""",
    )
    program.communicate()
    assert program.returncode == KILLED
    with Journal.open(path) as journal:
        assert [event.value for event in journal.events(sitting.id)] == [
            str(count) for count in range(1, 51)
        ]


def test_a_program_killed_in_the_middle_of_an_event_leaves_none_of_it(path: Path) -> None:
    with Journal.open(path) as journal:
        sitting = begin(journal)
        kept = journal.append(sitting.id, instant(1), "done", "wash", "")
    program = child(
        path,
        f"""
class Dies(sqlite3.Connection):
    def execute(self, sql, *values):
        if sql == "COMMIT":
            {DIE}
        return super().execute(sql, *values)

journal = Journal(sqlite3.connect(path, isolation_level=None, factory=Dies), path)
at = Instant(datetime(2026, 11, 25, 9, tzinfo=UTC), 5.0, "child")
journal.append({sitting.id}, at, "done", "last", "", ends="finished")
""",
    )
    program.communicate()
    assert program.returncode == KILLED
    with Journal.open(path) as journal:
        assert journal.events(sitting.id) == (kept,)
        assert journal.under_way() == sitting


def test_the_dose_is_held_against_another_program_and_free_once_that_is_killed(
    path: Path, journal: Journal
) -> None:
    program = child(path, _HOLD)
    assert program.stdout is not None
    assert program.stdout.readline() == "held\n"
    with pytest.raises(JournalBusy, match="already has a dose open in another window"):
        journal.hold_dose()
    program.kill()
    program.communicate()
    journal.hold_dose()


def test_a_held_dose_keeps_another_program_out_until_it_is_released(
    path: Path, journal: Journal
) -> None:
    journal.hold_dose()
    journal.hold_dose()
    with Journal.open(path) as other, pytest.raises(JournalBusy):
        other.hold_dose()
    assert child(path, _TRY).communicate()[0] == "JournalBusy"
    journal.release_dose()
    assert child(path, _TRY).communicate()[0] == "held"


def test_a_dose_that_is_not_begun_after_all_is_held_no_longer(path: Path, journal: Journal) -> None:
    with pytest.raises(ValueError, match="not now"), journal.holding_dose():
        raise ValueError("not now")
    assert child(path, _TRY).communicate()[0] == "held"
    with journal.holding_dose():
        pass
    with pytest.raises(ValueError, match="not now"), journal.holding_dose():
        raise ValueError("not now")
    assert child(path, _TRY).communicate()[0] == "JournalBusy", "the dose under way stays held"


def test_whether_the_dose_is_held_elsewhere_can_be_asked_without_taking_it(
    path: Path, journal: Journal
) -> None:
    assert not journal.dose_held_elsewhere()
    with Journal.open(path) as other:
        assert not other.dose_held_elsewhere()
        journal.hold_dose()
        assert other.dose_held_elsewhere()
        assert not journal.dose_held_elsewhere()
        assert child(path, _TRY).communicate()[0] == "JournalBusy"
        journal.release_dose()
        assert not other.dose_held_elsewhere()
        journal.hold_dose()


def test_a_held_dose_still_lets_events_in_and_other_windows_read(
    path: Path, journal: Journal
) -> None:
    journal.hold_dose()
    sitting = begin(journal)
    with Journal.open(path) as other:
        event = journal.append(sitting.id, instant(1), "done", "wash", "")
        assert other.events(sitting.id) == (event,)


def test_closing_the_journal_lets_go_of_the_dose(path: Path) -> None:
    with Journal.open(path) as journal:
        journal.hold_dose()
    with Journal.open(path) as journal:
        journal.hold_dose()
        journal.release_dose()
        journal.release_dose()


def test_every_commit_goes_to_the_disk_before_it_returns(journal: Journal, path: Path) -> None:
    database = raw(journal)
    assert database.execute("PRAGMA synchronous").fetchone() == (2,)  # 2 is FULL
    assert database.execute("PRAGMA journal_mode").fetchone() == ("wal",)
    assert database.execute("PRAGMA fullfsync").fetchone() == (1,)
    assert database.execute("PRAGMA foreign_keys").fetchone() == (1,)
    assert not lock_path(path).exists()


def test_a_busy_record_asks_to_wait(journal: Journal, path: Path) -> None:
    sitting = begin(journal)
    raw(journal).execute("PRAGMA busy_timeout = 0")
    with closing(sqlite3.connect(path, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(JournalBusy, match="Wait a moment"):
            journal.append(sitting.id, instant(1), "done", "wash", "")
    assert journal.append(sitting.id, instant(2), "done", "wash", "").seq == 1
