from __future__ import annotations

import tempfile
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coach.clean import shown
from coach.clock import Instant
from coach.errors import JournalError
from coach.events import KINDS, Event
from coach.journal.store import Journal
from tests.journal.desk import DUE, PROCEDURE, PROCEDURE_HASH, SHEET, SHEET_HASH, begin, instant

_INSTANTS = st.builds(
    Instant,
    st.datetimes(
        min_value=datetime(1970, 1, 2),  # noqa: DTZ001  the zone is drawn by itself
        max_value=datetime(2100, 1, 1),  # noqa: DTZ001
        timezones=st.integers(-14 * 60, 14 * 60).map(lambda m: timezone(timedelta(minutes=m))),
    ),
    st.floats(0, 1e9),
    st.text(min_size=1, max_size=10),
)
_APPENDS = st.lists(
    st.tuples(_INSTANTS, st.sampled_from(KINDS), st.text(max_size=20), st.text(max_size=40)),
    max_size=8,
)


@settings(max_examples=40, deadline=None)
@given(_APPENDS)
def test_any_events_read_back_equal_and_in_order(
    appends: list[tuple[Instant, str, str, str]],
) -> None:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "journal.db"
        with Journal.open(path) as journal:
            sitting = begin(journal)
            kept = tuple(journal.append(sitting.id, *what) for what in appends)
        with Journal.open(path) as journal:
            assert journal.events(sitting.id) == kept
    assert kept == tuple(
        Event(seq, Instant(at.at, at.tick, shown(at.counter)), kind, shown(step), shown(value))
        for seq, (at, kind, step, value) in enumerate(appends, start=1)
    )


@settings(max_examples=15, deadline=None)
@given(st.dictionaries(st.text(max_size=8), st.text(max_size=8), max_size=4), _INSTANTS)
def test_a_sitting_reads_back_as_it_was_begun(choices: dict[str, str], due: Instant) -> None:
    with tempfile.TemporaryDirectory() as folder, Journal.open(Path(folder) / "j.db") as journal:
        begun = begin(journal, due=due.at, choices=choices)
        assert journal.under_way() == begun
    assert begun.choices == {shown(key): shown(value) for key, value in choices.items()}
    assert (begun.kind, begun.sheet_id, begun.due) == ("dose", "demo", due.at)
    assert (begun.sheet_hash, begun.procedure_hash) == (SHEET_HASH, PROCEDURE_HASH)
    assert (begun.begun, begun.ended, begun.ended_at) == (instant(), "", None)


def test_a_moment_keeps_its_offset(journal: Journal) -> None:
    at = datetime(2026, 11, 25, 8, 0, 1, 5, tzinfo=ZoneInfo("America/St_Johns"))
    event = journal.append(begin(journal).id, Instant(at, 1.5, "boot"), "done", "wash", "")
    assert event.at.at.isoformat() == "2026-11-25T08:00:01.000005-03:30"


def test_a_moment_without_its_offset_is_refused(journal: Journal) -> None:
    naive = datetime(2026, 11, 25, 8, 0)  # noqa: DTZ001  what is refused here
    sitting = begin(journal)
    with pytest.raises(JournalError, match="time zone"):
        journal.append(sitting.id, Instant(naive, 0.0, "test"), "done", "wash", "")
    with pytest.raises(JournalError, match="time zone"):
        begin(journal, due=naive)
    assert journal.events(sitting.id) == ()


def test_the_bytes_a_dose_was_given_on_come_back_exactly(journal: Journal) -> None:
    sitting = begin(journal)
    assert journal.source(sitting.sheet_hash) == SHEET
    assert journal.source(sitting.procedure_hash) == PROCEDURE


def test_a_source_must_match_its_hash_and_be_known(journal: Journal) -> None:
    with pytest.raises(JournalError, match="changed while it was read"):
        journal.keep_source("sheet", SHEET_HASH, PROCEDURE)
    with pytest.raises(JournalError, match="keeps no file of the kind"):
        journal.keep_source("photo", SHEET_HASH, SHEET)
    with pytest.raises(JournalError, match="does not hold the file"):
        journal.source(SHEET_HASH)


def test_a_dose_is_not_begun_without_its_sources(journal: Journal) -> None:
    journal.keep_source("sheet", SHEET_HASH, SHEET)
    with pytest.raises(JournalError, match="were not saved"):
        journal.begin(
            kind="dose",
            sheet_id="demo",
            sheet_hash=SHEET_HASH,
            procedure_hash=PROCEDURE_HASH,
            due=DUE,
            choices={},
            begun=instant(),
        )
    assert journal.under_way() is None


def test_the_same_due_time_is_refused(journal: Journal) -> None:
    journal.end(begin(journal).id, "stopped", instant(5))
    with pytest.raises(JournalError, match=r"due on 2026-11-25 at 08:00 is already in the record"):
        begin(journal)


def test_the_same_due_time_is_refused_under_another_offset(journal: Journal) -> None:
    journal.end(begin(journal).id, "finished", instant(5))
    with pytest.raises(JournalError, match="already in the record"):
        begin(journal, due=DUE.astimezone(ZoneInfo("Asia/Kolkata")))


def test_both_passes_of_the_repeated_hour_are_due_times_of_their_own(journal: Journal) -> None:
    zone = ZoneInfo("America/Chicago")
    first = datetime(2026, 11, 1, 1, 30, tzinfo=zone)
    second = first.replace(fold=1)
    journal.end(begin(journal, due=first).id, "finished", instant(5))
    with pytest.raises(JournalError, match="already in the record"):
        begin(journal, due=first)
    journal.end(begin(journal, due=second).id, "finished", instant(6))
    assert journal.taken("demo") == {first.astimezone(UTC), second.astimezone(UTC)}


def test_the_same_due_time_of_another_sheet_is_a_dose_of_its_own(journal: Journal) -> None:
    journal.end(begin(journal).id, "finished", instant(5))
    begin(journal, sheet_id="other")
    assert journal.taken("demo") == journal.taken("other") == {DUE}
    assert journal.taken("none") == frozenset()


def test_a_second_dose_waits_for_the_end_of_the_first(journal: Journal) -> None:
    first = begin(journal)
    with pytest.raises(JournalError, match="already under way"):
        begin(journal, due=DUE + timedelta(hours=8))
    assert journal.under_way() == first


def test_a_misspelt_kind_of_sitting_is_refused(journal: Journal) -> None:
    with pytest.raises(JournalError, match="no sitting of the kind “Dose”"):
        journal.begin(
            kind="Dose",
            sheet_id="demo",
            sheet_hash=SHEET_HASH,
            procedure_hash=PROCEDURE_HASH,
            due=DUE,
            choices={},
            begun=instant(),
        )


def test_sittings_come_newest_first_with_their_ends(journal: Journal) -> None:
    first = begin(journal)
    journal.end(first.id, "stopped", instant(60))
    second = begin(journal, due=DUE + timedelta(hours=8))
    found = journal.every_sitting()
    assert [row.id for row in found] == [second.id, first.id]
    assert [row.ended for row in found] == ["", "stopped"]
    assert found[1].ended_at == DUE + timedelta(minutes=1)


def test_the_last_event_ends_the_sitting_with_it(journal: Journal) -> None:
    sitting = begin(journal)
    event = journal.append(sitting.id, instant(9), "done", "last", "", ends="finished")
    assert journal.under_way() is None
    assert journal.events(sitting.id) == (event,)
    assert journal.every_sitting()[0].ended_at == event.at.at


def test_an_unknown_ending_keeps_neither_event_nor_end(journal: Journal) -> None:
    sitting = begin(journal)
    with pytest.raises(JournalError, match="no way to end a dose called “lost”"):
        journal.append(sitting.id, instant(9), "done", "last", "", ends="lost")
    assert journal.events(sitting.id) == ()
    assert journal.under_way() == sitting


def test_nothing_is_added_after_the_end(journal: Journal) -> None:
    sitting = begin(journal)
    journal.end(sitting.id, "finished", instant(5))
    with pytest.raises(JournalError, match="has ended"):
        journal.append(sitting.id, instant(6), "note", "", "late")
    with pytest.raises(JournalError, match="has ended"):
        journal.end(sitting.id, "stopped", instant(7))
    assert journal.every_sitting()[0].ended == "finished"


def test_an_unknown_kind_or_sitting_is_refused(journal: Journal) -> None:
    sitting = begin(journal)
    with pytest.raises(JournalError, match="no event of the kind “gone”"):
        journal.append(sitting.id, instant(), "gone", "", "")
    with pytest.raises(JournalError, match="not in the record"):
        journal.append(sitting.id + 1, instant(), "done", "", "")
    assert journal.events(sitting.id) == journal.events(sitting.id + 1) == ()


def test_the_first_start_is_seen_once_it_is_marked(path: Path) -> None:
    with Journal.open(path) as journal:
        assert not journal.first_start_seen()
        journal.mark_first_start()
        journal.mark_first_start()
    with Journal.open(path) as journal:
        assert journal.first_start_seen()


def test_a_stopped_dose_can_leave_its_due_time_free(journal: Journal) -> None:
    first = begin(journal)
    journal.append(first.id, instant(1), "trouble", "", "x", ends="stopped")
    assert journal.taken("demo") == {DUE}
    journal.free(first.id)
    journal.free(first.id)
    assert journal.taken("demo") == frozenset()
    second = begin(journal)
    assert (second.due, second.id) == (first.due, first.id + 1)
    assert journal.taken("demo") == {DUE}


@pytest.mark.parametrize("ends", ["", "finished"])
def test_a_dose_that_was_not_stopped_leaves_nothing_free(journal: Journal, ends: str) -> None:
    row = begin(journal)
    journal.append(row.id, instant(1), "done", "wash", "", ends=ends)
    with pytest.raises(JournalError, match="stopped"):
        journal.free(row.id)
    with pytest.raises(JournalError, match="stopped"):
        journal.free(row.id + 1)
    assert journal.taken("demo") == {DUE}
