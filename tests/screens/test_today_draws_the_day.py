"""The Today screen: what is late, what comes, in order of time, and the day as a row of letters."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coach.clock import ManualClock
from coach.journal.rows import sha256_of
from coach.says import ahead as words
from coach.screens.time_line import time_line
from coach.screens.today import TodayScreen
from coach.sitting.ahead import Entry, in_order, is_late, on_day, told
from coach.sitting.desk import Desk, Today
from coach.sitting.further import NOTHING, Further
from coach.sitting.view import View
from tests.person import DAILY, MORNING, Person, desk_at
from tests.screens.table import LARGE, SIZES, SMALL, Table, cut, table

NEW_YORK = ZoneInfo("America/New_York")
CHICAGO = ZoneInfo("America/Chicago")
EVENING = datetime(2026, 11, 25, 18, 10, tzinfo=CHICAGO)
"""Before the second dose of the daily demonstration sheet, which is due at 20:00."""


def local(text: str) -> datetime:
    """Return the moment *text* in New York."""
    return datetime.fromisoformat(text).replace(tzinfo=NEW_YORK)


def rows(at_table: Table) -> list[str]:
    """Return the lines of what comes."""
    return at_table.text("times").splitlines()


async def test_what_comes_stands_in_order_of_time_with_the_time_to_go(tmp_path: Path) -> None:
    async with table(tmp_path, orders=DAILY, at=EVENING) as at_table:
        assert rows(at_table)[:6] == [
            "19:00  take the bag out, in 50 minutes",
            "20:00  dose due, in 1 hour 50 minutes",
            "20:00  new batteries with this dose, in 1 hour 50 minutes",
            "20:30  the pump is done, if it starts when due, in 2 hours 20 minutes",
            "21:00  latest start, in 2 hours 50 minutes",
            "08:00 on 26 November  dose due, in 13 hours 50 minutes",
        ]


async def test_the_times_to_go_follow_the_clock(tmp_path: Path) -> None:
    async with table(tmp_path, orders=DAILY, at=EVENING) as at_table:
        await at_table.pass_time(49 * 60 + 30)
        assert rows(at_table)[0] == "19:00  take the bag out, in 1 minute"
        await at_table.pass_time(30)
        assert rows(at_table)[0] == "19:00  take the bag out, now"
        await at_table.pass_time(1)
        assert rows(at_table)[0] == "20:00  dose due, in 1 hour"


async def test_what_is_late_comes_first_and_is_said_calmly(tmp_path: Path) -> None:
    late = EVENING + timedelta(hours=2)
    async with table(tmp_path, orders=DAILY, at=late) as at_table:
        assert rows(at_table)[0] == "20:00, 10 minutes ago: a dose was due"
        assert rows(at_table)[1] == "20:00, 10 minutes ago: new batteries with this dose"
        assert rows(at_table)[2] == "21:00  latest start, in 50 minutes"


async def test_a_change_that_is_late_says_whom_to_call(tmp_path: Path) -> None:
    async with table(tmp_path, orders=DAILY, at=EVENING + timedelta(days=3)) as at_table:
        assert rows(at_table)[:2] == [
            "27 November, yesterday: a new connector was due; call your nurse",
            "27 November, yesterday: a new dressing was due; call your nurse",
        ]
        assert "4 December  delivery, in 6 days" in rows(at_table)


@pytest.mark.parametrize("size", [*SIZES, (120, 40), (60, 20)])
@pytest.mark.parametrize("hours", [0, 2, 60])
async def test_the_day_can_be_read_whole(tmp_path: Path, size: tuple[int, int], hours: int) -> None:
    at = EVENING + timedelta(hours=hours)
    async with table(tmp_path, size, orders=DAILY, at=at) as at_table:
        for _ in range(9):
            await at_table.look()
            assert cut(at_table.screen) == []
            await at_table.press("pagedown")
        assert "24 hours" in at_table.text("time-line")


async def test_the_end_of_the_window_is_said_before_it_comes(tmp_path: Path) -> None:
    closing = EVENING + timedelta(hours=1, minutes=40)  # ten minutes before a bag must be out
    async with table(tmp_path, orders=DAILY, at=closing) as at_table:
        assert at_table.text("missed").splitlines()[0] == (
            "Start by 20:00, in 10 minutes. If you cannot, do not hurry: call your nurse, 555-0110."
        )
        await at_table.pass_time(10 * 60 + 1)
        assert at_table.text("missed").startswith("A bag can no longer warm up by 21:00.")
        assert "Call your nurse before you start it" in at_table.text("sentence")
        await at_table.pass_time(3_600)
        assert "A bag can no longer" not in at_table.all_text
        assert "next dose is due at 08:00" in at_table.text("sentence")


async def test_a_dose_that_waits_is_reminded_of_its_window(tmp_path: Path) -> None:
    async with table(tmp_path) as at_table:
        at_table.desk.begin().done()
        await at_table.look()
        assert "10:30  latest start, in 40 minutes" in rows(at_table)
        assert at_table.text("missed") == ""
        await at_table.pass_time(30 * 60)
        assert at_table.text("missed").startswith("The pump has to be started by 10:30, in 10 min")
        await at_table.pass_time(11 * 60)
        assert at_table.text("missed").startswith("The latest start was at 10:30.")
        assert cut(at_table.screen) == []


async def test_a_dose_that_runs_shows_its_end_and_the_bag_s(tmp_path: Path) -> None:
    async with table(tmp_path) as at_table:
        Person(at_table.desk.begin(), at_table.clock).follow("infuse")
        await at_table.look()
        ends, finish = (row for row in rows(at_table) if "done, in" in row or "empty" in row)
        assert ends.endswith("the pump is done, in 3 minutes")
        assert finish.startswith("13:50  the bag must be empty, in 3 hours")
        assert "latest start" not in at_table.text("times")


async def test_a_clock_that_goes_by_another_zone_is_said(tmp_path: Path) -> None:
    async with table(tmp_path, SMALL, at=MORNING.astimezone(UTC)) as at_table:
        assert at_table.text("zone") == (
            "All times are by the clock in America/New_York. It is 09:50 there. The clock of this "
            "computer says 14:50."
        )
    async with table(tmp_path, SMALL, at=MORNING) as at_table:
        assert at_table.text("zone") == ""


async def test_the_row_of_letters_fits_each_size(tmp_path: Path) -> None:
    async with table(tmp_path, LARGE, orders=DAILY, at=EVENING) as at_table:
        cells, hours, legend = at_table.text("time-line").splitlines()
        assert cells == "··T·D·]·················[·T·D·]·················  24 hours"
        assert hours == "18    21    00    03    06    09    12    15"
        assert legend == "T take the bag out, D dose due, ] latest start, [ earliest start"
        await at_table.resize(SMALL)
        assert at_table.text("time-line").splitlines()[0] == "·TD]········[TD]········  24 hours"


def test_two_times_in_one_cell_are_shown_as_several_and_both_are_named() -> None:
    now = local("2026-11-25T09:10")
    entries = (Entry("fetch", now + timedelta(minutes=5)), Entry("due", now + timedelta(0, 600)))
    drawn = time_line(entries, now, NEW_YORK, 24)
    assert drawn.cells == "+" + "·" * 23
    assert drawn.legend == "T take the bag out, D dose due, + more than one"


def test_two_doses_in_one_cell_are_still_doses() -> None:
    now = local("2026-11-25T09:00")
    drawn = time_line((Entry("due", now), Entry("due", now + timedelta(minutes=5))), now, UTC, 24)
    assert drawn.cells.startswith("D·")


def test_what_is_late_or_lasts_all_day_has_no_letter() -> None:
    now = local("2026-11-25T09:00")
    late, day = Entry("due", now - timedelta(minutes=1)), on_day("delivery", now.date(), NEW_YORK)
    tomorrow = Entry("due", now + timedelta(days=1))
    drawn = time_line((late, day, tomorrow), now, NEW_YORK, 48)
    assert (drawn.cells, drawn.legend) == ("·" * 48, "")


@pytest.mark.parametrize(
    ("now", "hours"),
    [
        # Clocks go from 02:00 back to 01:00 on 1 November, and on to 03:00 on 8 March.
        ("2026-10-31T21:00", "21 00  03 06 09 12 15 18"),
        ("2026-03-07T21:00", "21 00   06 09 12 15 18"),
    ],
)
def test_the_hours_below_are_those_on_the_wall(now: str, hours: str) -> None:
    drawn = time_line((), local(now), NEW_YORK, 24)
    assert drawn.hours.rstrip() == hours


def test_every_kind_with_a_time_of_day_has_a_letter_of_its_own() -> None:
    assert set(words.MARKS) <= set(words.AHEAD)
    assert len({*words.MARKS.values(), words.MARK_NOTHING, words.MARK_SEVERAL}) == (
        len(words.MARKS) + 2
    )


def test_batteries_and_tubing_are_due_again_after_their_time(tmp_path: Path) -> None:
    clock = ManualClock(EVENING + timedelta(hours=1))
    desk = desk_at(tmp_path, DAILY, clock)
    fresh = desk.further(desk.today()).entries
    assert [(one.kind, one.at) for one in fresh] == [("new-batteries", desk.today().due)]
    changed: dict[str, datetime] = {}

    def note(view: View) -> None:
        changed.setdefault(view.step, clock.at)

    Person(desk.begin(), clock, before=note).follow()
    kinds = {entry.kind: entry.at for entry in desk.further(desk.today()).entries}
    assert set(kinds) == {"batteries", "tubing"}
    assert (
        timedelta(0)
        <= kinds["batteries"] - changed["batteries-seen"] - timedelta(days=2)
        < (timedelta(minutes=1))
    )
    assert (
        timedelta(0)
        <= kinds["tubing"] - changed["unpack-tubing"] - timedelta(days=1)
        < (timedelta(minutes=1))
    )


def test_a_record_that_cannot_be_read_leaves_the_day_as_it_is(tmp_path: Path) -> None:
    desk, raw = desk_at(tmp_path), b"{}"
    unread = sha256_of(raw)
    for kind, kept in (("sheet", desk.sheet_raw), ("procedure", raw)):
        desk.journal.keep_source(kind, sha256_of(kept), kept)
    desk.journal.begin(
        kind="dose",
        sheet_id=desk.sheet.sheet.id,
        sheet_hash=sha256_of(desk.sheet_raw),
        procedure_hash=unread,
        due=desk.today().due,
        choices={},
        begun=desk.clock.now(),
    )
    today = desk.today()
    assert today.under_way is not None
    assert desk.further(today) == NOTHING


@pytest.fixture
def done(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """What the Today screen did, in order: ``shown``, or ``looked`` into the record."""
    done: list[str] = []
    further, show = Desk.further, TodayScreen.show

    def looking(desk: Desk, today: Today) -> Further:
        done.append("looked")
        return further(desk, today)

    def showing(screen: TodayScreen) -> None:
        show(screen)
        done.append("shown")

    monkeypatch.setattr(Desk, "further", looking)
    monkeypatch.setattr(TodayScreen, "show", showing)
    return done


async def test_the_record_is_looked_into_once_and_after_the_rest_was_painted(
    tmp_path: Path, done: list[str]
) -> None:
    async with table(tmp_path) as at_table:
        await at_table.pilot.resize_terminal(*SMALL)
        await at_table.settle()
        assert done[0] == "shown"
        assert done.count("looked") == 1


@pytest.mark.parametrize("start", ["follow", "records"])
async def test_no_screen_that_is_asked_for_waits_for_the_record_of_the_day(
    tmp_path: Path, done: list[str], start: str
) -> None:
    async with table(tmp_path, start=start) as at_table:
        assert not isinstance(at_table.screen, TodayScreen)
        assert "looked" not in done
        at_table.pilot.app.pop_screen()
        await at_table.look()
        assert "looked" in done


MOMENTS = st.datetimes(
    datetime(2020, 1, 1),  # noqa: DTZ001 - hypothesis adds the zone
    datetime(2036, 12, 31),  # noqa: DTZ001
    timezones=st.sampled_from([UTC, NEW_YORK, ZoneInfo("Asia/Kathmandu")]),
)


@given(
    MOMENTS,
    st.sampled_from([NEW_YORK, ZoneInfo("Australia/Lord_Howe"), ZoneInfo("Asia/Kathmandu")]),
    st.lists(
        st.tuples(st.sampled_from(sorted(words.AHEAD)), st.integers(-3_000, 3_000), st.booleans()),
        max_size=12,
    ),
    st.sampled_from([24, 48]),
)
def test_any_day_can_be_drawn_and_said(
    now: datetime, zone: ZoneInfo, some: list[tuple[str, int, bool]], cells: int
) -> None:
    entries = [
        Entry(kind, now.astimezone(UTC) + timedelta(minutes=away), whole_day, "bags")
        for kind, away, whole_day in some
    ]
    drawn = time_line(entries, now, zone, cells)
    assert len(drawn.cells) == cells
    assert len(drawn.hours) <= cells
    assert all(
        mark in (words.MARK_NOTHING, words.MARK_SEVERAL) or f"{mark} " in drawn.legend
        for mark in drawn.cells
    )
    late = [is_late(entry, now, zone) for entry in in_order(entries, now, zone)]
    assert late == sorted(late, reverse=True)
    for entry in entries:
        assert not set("{}") & set(told(entry, words.AHEAD_ROW, now, zone))
