"""Times of day across summer time, by the rules of the IANA time zone database (computed).

In New York 2026 clocks go from 02:00 to 03:00 on 8 March and from 02:00 back to 01:00 on
1 November. Adding 2 h to 01:30 on 8 March gives 04:30 on the wall.
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from coach.orders.schedule import due_times, opens_at, take_out_at, window_of
from tests.orders.written import said, sheet

TIMES = 'times: ["09:00", "21:00"]'


def due_on(day: str, times: str, zone: str = "America/New_York") -> list[str]:
    """Return the due times of the local *day*, as the wall clock and its offset show them."""
    orders = sheet(
        (TIMES, f"times: [{times}]"), ("time_zone: America/New_York", f"time_zone: {zone}")
    )
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
