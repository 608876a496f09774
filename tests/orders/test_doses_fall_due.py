"""Due times, windows, and which dose is to be given now."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coach.errors import OrderError
from coach.orders.schedule import (
    doses_a_day,
    due_times,
    nearest_due,
    opens_at,
    smallest_gap,
    take_out_at,
    window_of,
)
from coach.orders.sheet import OrderSheet
from tests.orders.written import AT_ROOM_TEMPERATURE, sheet

NEW_YORK = ZoneInfo("America/New_York")
TIMES = 'times: ["09:00", "21:00"]'
EVERY_8_HOURS = sheet((TIMES, "every: 8 h\n  first: 2026-11-20T09:00-05:00"))
TWICE_A_DAY = sheet()
AT_ROOM = sheet(AT_ROOM_TEMPERATURE)
MOMENTS = st.datetimes(
    datetime(2026, 1, 1),  # noqa: DTZ001 - hypothesis adds the zone
    datetime(2027, 12, 31),  # noqa: DTZ001
    timezones=st.just(UTC),
)


def at(text: str) -> datetime:
    """Return the moment *text*, which has its offset."""
    return datetime.fromisoformat(text)


def test_times_of_day_are_local_and_both_ends_are_included() -> None:
    found = due_times(TWICE_A_DAY, at("2026-11-25T09:00-05:00"), at("2026-11-26T09:00-05:00"))
    assert [due.isoformat() for due in found] == [
        "2026-11-25T09:00:00-05:00",
        "2026-11-25T21:00:00-05:00",
        "2026-11-26T09:00:00-05:00",
    ]
    assert {due.tzinfo for due in found} == {NEW_YORK}


def test_an_interval_starts_with_its_first_dose() -> None:
    found = due_times(EVERY_8_HOURS, at("2026-11-01T00:00Z"), at("2026-11-21T09:00-05:00"))
    assert [due.isoformat() for due in found] == [
        "2026-11-20T09:00:00-05:00",
        "2026-11-20T17:00:00-05:00",
        "2026-11-21T01:00:00-05:00",
        "2026-11-21T09:00:00-05:00",
    ]


def test_nothing_is_due_between_an_end_and_an_earlier_start() -> None:
    start, end = at("2026-11-26T00:00Z"), at("2026-11-25T00:00Z")
    assert due_times(TWICE_A_DAY, start, end) == ()
    assert due_times(EVERY_8_HOURS, start, end) == ()


@given(
    st.sampled_from([TWICE_A_DAY, EVERY_8_HOURS]),
    MOMENTS,
    st.timedeltas(timedelta(), timedelta(days=9)),
)
def test_due_times_are_the_same_however_the_span_is_cut(
    orders: OrderSheet, start: datetime, length: timedelta
) -> None:
    middle, end = start + length / 2, start + length
    whole = due_times(orders, start, end)
    halves = {*due_times(orders, start, middle), *due_times(orders, middle, end)}
    assert set(whole) == halves
    assert list(whole) == sorted(halves)


def test_the_bag_comes_out_before_the_dose_and_the_window_lies_around_it() -> None:
    due = at("2026-11-25T09:00-05:00")
    assert take_out_at(TWICE_A_DAY, due) == at("2026-11-25T08:15-05:00")
    assert take_out_at(AT_ROOM, due) == due
    assert window_of(TWICE_A_DAY, due) == (
        at("2026-11-25T08:00-05:00"),
        at("2026-11-25T10:00-05:00"),
    )
    assert opens_at(TWICE_A_DAY, due) == at("2026-11-25T07:15-05:00")
    assert opens_at(AT_ROOM, due) == at("2026-11-25T08:00-05:00")


@pytest.mark.parametrize(
    ("now", "taken", "due"),
    [
        ("2026-11-25T07:00-05:00", (), "2026-11-25T09:00-05:00"),
        ("2026-11-25T07:15-05:00", (), "2026-11-25T09:00-05:00"),
        ("2026-11-25T10:00-05:00", (), "2026-11-25T09:00-05:00"),
        ("2026-11-25T10:01-05:00", (), "2026-11-25T21:00-05:00"),
        ("2026-11-25T09:00-05:00", ("2026-11-25T14:00Z",), "2026-11-25T21:00-05:00"),
        (
            "2026-11-25T20:59-05:00",
            ("2026-11-25T14:00Z", "2026-11-26T02:00Z"),
            "2026-11-26T09:00-05:00",
        ),
    ],
)
def test_the_dose_to_give_is_the_one_in_its_window_or_the_next(
    now: str, taken: tuple[str, ...], due: str
) -> None:
    found = nearest_due(TWICE_A_DAY, at(now), frozenset(at(moment) for moment in taken))
    assert found == at(due)


def test_before_the_first_dose_of_an_interval_the_first_is_next() -> None:
    first = at("2026-11-20T09:00-05:00")
    assert nearest_due(EVERY_8_HOURS, at("2026-01-01T00:00Z"), ()) == first


@given(st.sampled_from([TWICE_A_DAY, EVERY_8_HOURS]), MOMENTS)
def test_the_dose_to_give_is_never_one_that_is_over(orders: OrderSheet, now: datetime) -> None:
    assert window_of(orders, nearest_due(orders, now, ()))[1] >= now


def test_a_sheet_whose_doses_are_all_taken_says_so() -> None:
    class Everything:
        """Holds every moment."""

        def __contains__(self, moment: object) -> bool:
            return True

    with pytest.raises(OrderError, match=r"^No dose time is left on this order sheet\. Call"):
        nearest_due(EVERY_8_HOURS, at("2026-11-25T00:00Z"), Everything())


def test_the_smallest_gap_looks_over_midnight() -> None:
    doses = sheet((TIMES, 'times: ["23:00", "06:00", "15:00"]')).doses
    assert smallest_gap(doses) == timedelta(hours=7)
    assert smallest_gap(sheet((TIMES, 'times: ["08:00"]')).doses) == timedelta(days=1)
    assert smallest_gap(EVERY_8_HOURS.doses) == timedelta(hours=8)


def test_the_doses_of_a_day_are_the_most_that_any_24_hours_hold() -> None:
    assert doses_a_day(TWICE_A_DAY.doses) == 2
    assert doses_a_day(EVERY_8_HOURS.doses) == 3
    seven = sheet((TIMES, "every: 7 h\n  first: 2026-11-20T09:00-05:00")).doses
    assert doses_a_day(seven) == 4
