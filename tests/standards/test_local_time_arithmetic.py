"""Times of day across summer time, by the rules of the IANA time zone database (computed).

In New York 2026 clocks go from 02:00 to 03:00 on 8 March and from 02:00 back to 01:00 on
1 November. Adding 2 h to 01:30 on 8 March gives 04:30 on the wall.
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from coach.orders.schedule import due_times, nearest_due, opens_at, take_out_at, window_of
from coach.orders.sheet import OrderSheet
from tests.orders.written import AT_ROOM_TEMPERATURE, said, sheet

TIMES = 'times: ["09:00", "21:00"]'
NEW_YORK, LORD_HOWE = "America/New_York", "Australia/Lord_Howe"
OFTEN = (
    AT_ROOM_TEMPERATURE,
    ("window: 1 h", "window: 10 min"),
    ("  heparin_units_per_day: 300 units\n", ""),
)
"""What a sheet has to change so that doses can be an hour apart."""


def due_on(day: str, times: str, zone: str = "America/New_York") -> list[str]:
    """Return the due times of the local *day*, as the wall clock and its offset show them."""
    orders = sheet(
        (TIMES, f"times: [{times}]"), ("time_zone: America/New_York", f"time_zone: {zone}")
    )
    return on_wall(orders, day)


def on_wall(orders: OrderSheet, day: str) -> list[str]:
    """Return the due times of the local *day*, as the wall clock and its offset show them."""
    noon = datetime.fromisoformat(f"{day}T12:00+00:00")
    found = due_times(orders, noon - timedelta(hours=36), noon + timedelta(hours=36))
    return [due.isoformat() for due in found if due.isoformat().startswith(day)]


def test_a_time_of_day_stays_where_it_is_on_the_wall() -> None:
    assert due_on("2026-03-07", "09:00") == ["2026-03-07T09:00:00-05:00"]
    assert due_on("2026-03-08", "09:00") == ["2026-03-08T09:00:00-04:00"]
    assert due_on("2026-11-01", "09:00") == ["2026-11-01T09:00:00-05:00"]


def test_a_time_that_is_left_out_moves_forward_by_the_hour_left_out() -> None:
    assert due_on("2026-03-08", "02:30") == ["2026-03-08T03:30:00-04:00"]


def test_a_time_that_happens_twice_is_the_first() -> None:
    assert due_on("2026-11-01", "01:30") == ["2026-11-01T01:30:00-04:00"]


def test_a_half_hour_of_summer_time_moves_by_half_an_hour() -> None:
    """Lord Howe Island moves by 30 minutes: 02:00 to 02:30 on 4 October 2026."""
    assert due_on("2026-10-04", "02:15", "Australia/Lord_Howe") == ["2026-10-04T02:45:00+11:00"]


@pytest.mark.parametrize(
    ("zone", "day", "times", "due"),
    [
        (NEW_YORK, "2026-03-08", "02:30 03:30", "03:30:00-04:00 04:30:00-04:00"),
        (
            NEW_YORK,
            "2026-03-08",
            "02:30 03:30 04:30",
            "03:30:00-04:00 04:30:00-04:00 05:30:00-04:00",
        ),
        (LORD_HOWE, "2026-10-04", "02:15 03:15", "02:45:00+11:00 03:45:00+11:00"),
        # A minute apart by the hands of the clock, as the hour between them is left out.
        (NEW_YORK, "2026-03-08", "01:59 03:00", "01:59:00-05:00 03:59:00-04:00"),
        (NEW_YORK, "2026-03-08", "02:15 03:30", "03:15:00-04:00 04:15:00-04:00"),
        (NEW_YORK, "2026-03-08", "01:30 03:30", "01:30:00-05:00 03:30:00-04:00"),
        (
            NEW_YORK,
            "2026-11-01",
            "00:30 01:30 02:30",
            "00:30:00-04:00 01:30:00-04:00 02:30:00-05:00",
        ),
        (
            LORD_HOWE,
            "2026-04-05",
            "00:45 01:45 02:45",
            "00:45:00+11:00 01:45:00+11:00 02:45:00+10:30",
        ),
        # In Nuuk clocks go from 23:00 on 28 March 2026 to midnight.
        (
            "America/Nuuk",
            "2026-03-29",
            "00:30 23:30",
            "00:30:00-01:00 01:30:00-01:00 23:30:00-01:00",
        ),
    ],
)
def test_no_dose_is_lost_or_comes_too_close_in_the_night_of_a_change(
    zone: str, day: str, times: str, due: str
) -> None:
    """Lord Howe Island goes from 02:00 back to 01:30 on 5 April 2026.

    That an hour lies between two doses is common practice, no source.
    """
    quoted = ", ".join(f'"{one}"' for one in times.split())
    orders = sheet((TIMES, f"times: [{quoted}]"), *OFTEN, ("America/New_York", zone))
    assert on_wall(orders, day) == [f"{day}T{one}" for one in due.split()]


def test_a_day_that_a_zone_leaves_out_has_no_doses_and_moves_none() -> None:
    """Samoa left out 30 December 2011, going over the date line."""
    orders = sheet(("America/New_York", "Pacific/Apia"))
    start = datetime(2011, 12, 29, 12, tzinfo=UTC)  # 02:00 on 29 December there
    found = due_times(orders, start, start + timedelta(days=2, hours=12))
    assert [due.isoformat() for due in found] == [
        "2011-12-29T09:00:00-10:00",
        "2011-12-29T21:00:00-10:00",
        "2011-12-31T09:00:00+14:00",
        "2011-12-31T21:00:00+14:00",
        "2012-01-01T09:00:00+14:00",
    ]


@pytest.mark.parametrize(
    ("zone", "first", "due"),
    [
        (
            NEW_YORK,
            "2026-11-01T00:30-04:00",
            "00:30:00-04:00 01:30:00-04:00 01:30:00-05:00 02:30:00-05:00",
        ),
        (
            LORD_HOWE,
            "2026-04-05T00:45+11:00",
            "00:45:00+11:00 01:45:00+11:00 02:15:00+10:30 03:15:00+10:30",
        ),
    ],
)
def test_doses_that_look_the_same_on_the_wall_stay_apart(zone: str, first: str, due: str) -> None:
    every = (TIMES, f"every: 1 h\n  first: {first}")
    orders = sheet(every, *OFTEN, ("time_zone: America/New_York", f"time_zone: {zone}"))
    start = datetime.fromisoformat(first)
    found = due_times(orders, start, start + timedelta(hours=3))
    assert [one.isoformat() for one in found] == [f"{first[:10]}T{one}" for one in due.split()]
    taken = frozenset(one.astimezone(UTC) for one in found[:2])
    assert len(taken) == 2
    for now in (found[1], found[2]):
        assert nearest_due(orders, now, taken).isoformat() == found[2].isoformat()


@pytest.mark.parametrize(
    ("first", "following"),
    [
        ("2026-03-08T01:30-05:00", "2026-03-08T04:30:00-04:00"),
        ("2026-11-01T00:30-04:00", "2026-11-01T01:30:00-05:00"),
    ],
)
def test_an_interval_is_the_same_length_across_summer_time(first: str, following: str) -> None:
    orders = sheet(
        (TIMES, f"every: 2 h\n  first: {first}"),
        ("  heparin_units_per_day: 300 units\n", ""),
    )
    start = datetime.fromisoformat(first)
    assert due_times(orders, start, start + timedelta(hours=2))[1].isoformat() == following


def test_warming_and_windows_are_counted_through_the_change() -> None:
    orders = sheet((TIMES, 'times: ["03:15"]'))
    (due,) = due_times(
        orders, datetime(2026, 3, 8, 0, tzinfo=UTC), datetime(2026, 3, 9, 0, tzinfo=UTC)
    )
    assert due.isoformat() == "2026-03-08T03:15:00-04:00"
    zone = due.tzinfo
    assert take_out_at(orders, due).astimezone(zone).isoformat() == "2026-03-08T01:30:00-05:00"
    assert window_of(orders, due)[0].astimezone(zone).isoformat() == "2026-03-08T01:15:00-05:00"
    assert opens_at(orders, due).astimezone(zone).isoformat() == "2026-03-08T00:30:00-05:00"


def test_an_instant_without_its_offset_is_refused() -> None:
    """``fromisoformat`` takes a time without an offset (computed); an order sheet must not."""
    (row,) = said((TIMES, "every: 8 h\n  first: 2026-11-20T09:00"))
    assert "expected a date and time with its offset from UTC" in row
