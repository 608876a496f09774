"""The day in plain lines: the same times as on the screen, as sentences, and no drawing."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from coach import telling
from coach.clock import ManualClock
from coach.says import ahead as words
from coach.sitting.ahead import Entry, on_day, told
from coach.sitting.desk import Desk
from coach.sitting.show import menu_of
from coach.sitting.times import limit_in_words
from coach.supplies import write_down
from tests.person import DAILY, MORNING, Person, desk_at

CHICAGO = ZoneInfo("America/Chicago")
EVENING = datetime(2026, 11, 25, 18, 10, tzinfo=CHICAGO)
NOW = datetime(2026, 11, 25, 9, 0, tzinfo=CHICAGO)


def desk_of(folder: Path, at: datetime) -> tuple[Desk, ManualClock]:
    """Return a desk with the daily demonstration sheet at the moment *at*, and its clock."""
    clock = ManualClock(at)
    return desk_at(folder, DAILY, clock), clock


def test_what_comes_after_the_next_dose_is_said_in_order_of_time(tmp_path: Path) -> None:
    desk, _ = desk_of(tmp_path, EVENING)
    lines = [line for line in telling.today_lines(desk) if "on record" not in line]
    assert lines[2:] == [
        "The bag comes out at 19:00.",
        "A dose is due at 20:00 on 25 November. You can start it now, until 21:00 on 25 November.",
        "20:00, in 1 hour 50 minutes: new batteries with this dose.",
        "20:30, in 2 hours 20 minutes: the pump is done, if it starts when due.",
        "08:00 on 26 November, in 13 hours 50 minutes: dose due.",
        "27 November, in 2 days: new connector due.",
        "27 November, in 2 days: new dressing due.",
        "27 November, in 2 days: delivery.",
    ]
    assert not any(words.MARK_NOTHING in line for line in lines)


@pytest.mark.parametrize(
    ("after", "named"),
    [
        (timedelta(hours=-3), ""),  # nothing was due on the sheet's own day yet
        (timedelta(hours=4), "the dose due at 08:00 on 20 November."),
        (timedelta(hours=14), "2 doses, due at 08:00 on 20 November and 20:00 on 20 November."),
    ],
)
def test_what_was_due_before_the_first_record_is_named_in_neutral_words(
    tmp_path: Path, after: timedelta, named: str
) -> None:
    desk, _ = desk_of(tmp_path, datetime(2026, 11, 20, 8, 0, tzinfo=CHICAGO) + after)
    said = [line for line in telling.today_lines(desk) if line.startswith("Nothing is on record")]
    assert [line.split(" here for ")[1].split(". ")[0] + "." for line in said] == (
        [named] if named else []
    )


def test_many_doses_before_the_first_record_are_named_by_the_first_and_the_last(
    tmp_path: Path,
) -> None:
    [line] = [one for one in telling.today_lines(desk_at(tmp_path)) if "on record here" in one]
    assert "for 24 doses, due from 10:00 on 24 November to 09:00 on 25 November." in line


def test_a_delivery_that_was_written_down_is_awaited_no_more(tmp_path: Path) -> None:
    desk, _ = desk_of(tmp_path, EVENING + timedelta(days=2))
    assert "27 November, today: delivery." in telling.today_lines(desk)
    write_down(desk.supplies, "delivered", "pad", {"number": "400"})
    told_now = [line for line in telling.today_lines(desk) if line.endswith("delivery.")]
    assert told_now == ["4 December, in 7 days: delivery."]


def test_the_end_of_the_window_is_said_and_then_that_it_is_too_late(tmp_path: Path) -> None:
    desk, clock = desk_of(tmp_path, EVENING + timedelta(hours=1, minutes=40))
    assert (
        "Start by 20:00, in 10 minutes. If you cannot, do not hurry: call your nurse, 555-0110."
    ) in telling.today_lines(desk)
    clock.move(601)
    lines = list(telling.today_lines(desk))
    assert "A dose is due at 20:00 on 25 November. Call your nurse before you start it." in lines
    assert any(line.startswith("A bag can no longer warm up by 21:00.") for line in lines)


def test_a_dose_that_runs_says_when_its_medicine_is_in(tmp_path: Path) -> None:
    clock = ManualClock(MORNING)
    desk = desk_at(tmp_path, clock=clock)
    Person(desk.begin(), clock).follow("infuse")
    lines = list(telling.today_lines(desk))
    assert any(line.endswith(", in 3 minutes: the pump is done.") for line in lines)
    assert any(line.endswith(": the bag must be empty.") for line in lines)
    assert any(line.startswith("11:00, in ") and line.endswith(": dose due.") for line in lines)


def ends(desk: Desk) -> datetime:
    """Return when the medicine of the dose under way is in."""
    (at,) = (one.at for one in desk.further(desk.today()).entries if one.kind == "ends")
    return at


def test_each_pause_moves_the_end_by_its_length(tmp_path: Path) -> None:
    clock = ManualClock(MORNING)
    desk = desk_at(tmp_path, clock=clock)
    sitting = desk.begin()
    person = Person(sitting, clock)
    person.follow("infuse")
    before = ends(desk)
    clock.move(40)
    assert ends(desk) == before
    offered = [item for group in menu_of(sitting) for item in group.items]
    sitting.went_wrong(next(item.name for item in offered if "blocked" in item.says))
    paused = clock.seconds
    clock.move(20)
    assert round((ends(desk) - before).total_seconds(), 3) == 20
    person.follow("infuse")
    lost = clock.seconds - paused
    assert round((ends(desk) - before).total_seconds(), 3) == lost
    clock.move(30)
    assert round((ends(desk) - before).total_seconds(), 3) == lost


def test_the_end_stays_where_it_is_though_the_clock_on_the_wall_is_set(tmp_path: Path) -> None:
    clock = ManualClock(MORNING)
    desk = desk_at(tmp_path, clock=clock)
    Person(desk.begin(), clock).follow("infuse")
    left = ends(desk) - clock.at
    clock.set_wall(clock.at + timedelta(hours=2))
    assert ends(desk) - clock.at == left


def test_a_bag_that_would_not_last_is_said(tmp_path: Path) -> None:
    clock = ManualClock(MORNING)
    desk = desk_at(tmp_path, clock=clock)
    Person(desk.begin(), clock, {"read-discard": ["25 Nov 2026 10:30"]}).follow("open-port")
    clock.move((MORNING + timedelta(minutes=38) - clock.at).total_seconds())
    assert (
        "The bag has to be empty by 10:30 on 25 November, and the dose would end later. Call your "
        "pharmacist, 555-0101."
    ) in telling.today_lines(desk)


def test_a_bag_that_is_good_through_a_day_has_to_be_empty_by_its_end() -> None:
    midnight = datetime(2026, 11, 26, tzinfo=CHICAGO)
    line = told(Entry("finish-by", midnight), words.TOLD_AHEAD, NOW, CHICAGO)
    assert line == "the end of 25 November, in 15 hours: the bag must be empty."
    assert limit_in_words(midnight, CHICAGO) == "the end of 25 November"
    later = Entry("finish-by", midnight + timedelta(minutes=30))
    assert told(later, words.TOLD_AHEAD, NOW, CHICAGO).startswith("00:30 on 26 November, in")


def test_a_clock_that_goes_by_another_zone_is_said_once(tmp_path: Path) -> None:
    desk, _ = desk_of(tmp_path, EVENING.astimezone(UTC))
    said = [line for line in telling.today_lines(desk) if "clock" in line]
    assert said == [
        "All times are by the clock in America/Chicago. It is 18:10 there. The clock of this "
        "computer says 00:10."
    ]


@pytest.mark.parametrize("zone", ["UTC", "Asia/Tokyo", "America/Chicago", "Pacific/Apia"])
def test_the_times_are_those_of_the_sheet_wherever_the_computer_is(
    tmp_path: Path, zone: str
) -> None:
    desk, _ = desk_of(tmp_path, EVENING.astimezone(ZoneInfo(zone)))
    today = desk.today()
    assert today.due.isoformat() == "2026-11-25T20:00:00-06:00"
    assert today.take_out.astimezone(CHICAGO).isoformat() == "2026-11-25T19:00:00-06:00"
    lines = [line for line in telling.today_lines(desk) if "computer" not in line]
    assert lines[0] == "Today, 18:10 on 25 November."
    assert "08:00 on 26 November, in 13 hours 50 minutes: dose due." in lines


@pytest.mark.parametrize(
    ("away", "left"),
    [
        (timedelta(days=-1, hours=-1), "1 day 1 hour ago"),
        (timedelta(hours=-1), "1 hour ago"),
        (timedelta(seconds=-59), "now"),
        (timedelta(0), "now"),
        (timedelta(seconds=1), "in 1 minute"),
        (timedelta(minutes=59, seconds=1), "in 1 hour"),
        (timedelta(hours=24), "in 24 hours"),
        (timedelta(hours=24, seconds=1), "in 1 day 1 hour"),
        (timedelta(hours=47, minutes=30), "in 2 days"),
    ],
)
def test_the_time_to_go_is_never_said_shorter_than_a_minute(away: timedelta, left: str) -> None:
    said = told(Entry("due", NOW + away), "{left}", NOW, CHICAGO)
    assert said == left


@pytest.mark.parametrize(
    ("days", "left"),
    [(-2, "2 days ago"), (-1, "yesterday"), (0, "today"), (1, "tomorrow"), (6, "in 6 days")],
)
def test_a_whole_day_is_said_as_a_day(days: int, left: str) -> None:
    entry = on_day("delivery", NOW.date() + timedelta(days=days), CHICAGO)
    assert told(entry, "{left}", NOW, CHICAGO) == left


def test_a_day_is_a_day_in_the_night_that_clocks_change() -> None:
    late = datetime(2026, 10, 31, 23, 30, tzinfo=CHICAGO)
    entry = on_day("delivery", datetime(2026, 11, 2, tzinfo=CHICAGO).date(), CHICAGO)
    assert told(entry, "{time}, {left}", late, CHICAGO) == "2 November, in 2 days"


def test_every_kind_fills_its_place(tmp_path: Path) -> None:
    for kind in words.AHEAD:
        said = told(Entry(kind, NOW, what="saline syringes"), words.TOLD_AHEAD, NOW, CHICAGO)
        assert said.startswith("09:00, now: ")
        assert "{" not in said
