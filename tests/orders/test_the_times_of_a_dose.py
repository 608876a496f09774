"""The times of one dose, and of what falls due beside it."""

from __future__ import annotations

import random
from calendar import timegm
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coach.errors import OrderError
from coach.orders.quantities import Quantity
from coach.orders.schedule import span
from coach.orders.times import (
    Pause,
    bag_changes,
    day_starts,
    expected_end,
    finish_by,
    fits,
    kept_until,
    next_change,
    next_delivery,
    standing,
    times_of,
)
from tests.orders.written import AT_ROOM_TEMPERATURE, sheet

NEW_YORK = ZoneInfo("America/New_York")
SHEET = sheet()
AT_ROOM = sheet(AT_ROOM_TEMPERATURE)
HALF_AN_HOUR, MINUTE = timedelta(minutes=30), timedelta(minutes=1)
ZONES = [
    ZoneInfo(name)
    for name in ("America/New_York", "Europe/Berlin", "Australia/Lord_Howe", "Asia/Kolkata")
]
MOMENTS = st.datetimes(
    datetime(2024, 1, 1),  # noqa: DTZ001 - hypothesis adds the zone
    datetime(2036, 12, 31),  # noqa: DTZ001
    timezones=st.sampled_from(ZONES),
)


def at(text: str) -> datetime:
    """Return the moment *text*, which has its offset."""
    return datetime.fromisoformat(text)


def of(amount: str, unit: str) -> Quantity:
    """Return a quantity."""
    return Quantity(Decimal(amount), unit)


def seconds_of(moment: datetime) -> int:
    """Return the seconds since 1970, by the calendar alone and not by datetime's sums."""
    offset = moment.utcoffset()
    assert offset is not None
    return timegm(moment.timetuple()[:6]) - offset.days * 86_400 - offset.seconds


def test_a_dose_has_its_times() -> None:
    times = times_of(SHEET, at("2026-11-25T09:00-05:00"))
    assert times.take_out == at("2026-11-25T08:15-05:00")
    assert times.ready == at("2026-11-25T09:00-05:00")
    assert times.opens == at("2026-11-25T07:15-05:00")
    assert times.begin_by == at("2026-11-25T09:15-05:00")
    assert times.closes == at("2026-11-25T10:00-05:00")
    assert times.ends == at("2026-11-25T09:30-05:00")
    assert times.finish_by == at("2026-11-25T14:15-05:00")


def test_a_bag_kept_at_room_temperature_is_limited_by_its_label_alone() -> None:
    due, discard = at("2026-11-25T09:00-05:00"), at("2026-11-25T09:20-05:00")
    assert times_of(AT_ROOM, due).finish_by is None
    assert times_of(AT_ROOM, due, discard).finish_by == discard
    assert times_of(AT_ROOM, due).take_out == times_of(AT_ROOM, due).ready == due
    assert not fits(times_of(AT_ROOM, due).ends, discard)


@pytest.mark.parametrize(
    ("discard", "by"),
    [
        ("2026-11-25T14:00-05:00", "2026-11-25T14:00-05:00"),
        ("2026-11-25T14:15-05:00", "2026-11-25T14:15-05:00"),
        ("2026-11-25T23:59-05:00", "2026-11-25T14:15-05:00"),
    ],
)
def test_the_bag_must_be_empty_by_the_earlier_of_two_times(discard: str, by: str) -> None:
    assert finish_by(SHEET, at("2026-11-25T08:15-05:00"), at(discard)) == at(by)


def test_a_bag_that_is_not_out_yet_is_limited_by_its_label() -> None:
    discard = at("2026-11-26T00:00-05:00")
    assert finish_by(SHEET, None, discard) == discard
    assert finish_by(SHEET, None, None) is None


def test_an_infusion_that_ends_at_the_very_moment_fits() -> None:
    by = at("2026-11-25T14:15-05:00")
    assert fits(by, by)
    assert fits(by, None)
    assert not fits(by + timedelta(seconds=1), by)


@pytest.mark.parametrize(
    ("now", "says"),
    [
        ("2026-11-25T07:59:59-05:00", "before"),
        ("2026-11-25T08:00-05:00", "within"),
        ("2026-11-25T15:00Z", "within"),
        ("2026-11-25T10:00:01-05:00", "call"),
    ],
)
def test_a_late_dose_is_within_its_window_or_somebody_is_called(now: str, says: str) -> None:
    assert standing(SHEET, at("2026-11-25T09:00-05:00"), at(now)) == says


def test_each_pause_moves_the_end_and_one_that_stands_counts_up_to_now() -> None:
    started = at("2026-11-25T09:00-05:00")
    first = Pause(started + 10 * MINUTE, started + 15 * MINUTE)
    stands = Pause(started + 20 * MINUTE, None)
    now = started + 22 * MINUTE
    assert expected_end(started, HALF_AN_HOUR, (), now) == started + HALF_AN_HOUR
    assert expected_end(started, HALF_AN_HOUR, (first,), now) == started + 35 * MINUTE
    assert expected_end(started, HALF_AN_HOUR, (first, stands), now) == started + 37 * MINUTE


def test_a_pause_after_the_end_moves_nothing() -> None:
    started = at("2026-11-25T09:00-05:00")
    late = Pause(started + HALF_AN_HOUR, None)
    assert expected_end(started, HALF_AN_HOUR, (late,), started + 40 * MINUTE) == (
        started + HALF_AN_HOUR
    )


@pytest.mark.parametrize(("since", "until"), [(-1, 5), (10, 9)])
def test_pauses_that_cannot_be_are_refused(since: int, until: int) -> None:
    started = at("2026-11-25T09:00-05:00")
    pause = Pause(started + since * MINUTE, started + until * MINUTE)
    with pytest.raises(OrderError, match=r"^The pauses of a pump come one after the other\.$"):
        expected_end(started, HALF_AN_HOUR, (pause,), started)
    twice = Pause(started + MINUTE, started + 5 * MINUTE)
    with pytest.raises(OrderError, match="one after the other"):
        expected_end(started, HALF_AN_HOUR, (twice, twice), started)


@given(MOMENTS, st.integers(1, 300), st.lists(st.integers(0, 90), max_size=8))
def test_an_end_is_where_a_watch_that_runs_with_the_pump_finds_it(
    started: datetime, takes: int, lengths: list[int]
) -> None:
    begun, stops, place = started.astimezone(UTC), list[tuple[int, int]](), 0
    for run, stop in zip(lengths[::2], lengths[1::2], strict=False):
        stops.append((place + run, place + run + stop))
        place += run + stop
    minute, left = 0, takes
    while left:  # minute by minute, as a watch would
        if not any(since <= minute < until for since, until in stops):
            left -= 1
        minute += 1
    pauses = tuple(Pause(begun + a * MINUTE, begun + b * MINUTE) for a, b in stops)
    found = expected_end(started, takes * MINUTE, pauses, begun)
    assert seconds_of(found) - seconds_of(started) == minute * 60


@given(MOMENTS)
def test_every_time_of_a_dose_is_so_many_seconds_away_whatever_the_clocks_do(due: datetime) -> None:
    times, moment = times_of(SHEET, due), seconds_of(due)
    assert seconds_of(times.take_out) == moment - 45 * 60
    assert seconds_of(times.ready) == moment
    assert seconds_of(times.opens) == moment - 105 * 60
    assert seconds_of(times.begin_by) == moment + 15 * 60
    assert seconds_of(times.closes) == moment + 60 * 60
    assert seconds_of(times.ends) == moment + 30 * 60
    assert times.finish_by is not None
    assert seconds_of(times.finish_by) == moment - 45 * 60 + 6 * 3600
    assert seconds_of(kept_until(due, of("3", "days"))) == moment + 3 * 86_400


@pytest.mark.parametrize(
    ("last", "every", "due"),
    [
        ("2026-11-20", of("7", "days"), "2026-11-27"),
        ("2026-11-27", of("7", "days"), "2026-12-04"),
        ("2028-02-26", of("7", "days"), "2028-03-04"),
        ("2027-02-26", of("7", "days"), "2027-03-05"),
        ("2026-10-29", of("96", "h"), "2026-11-02"),
        ("2026-11-20", of("100", "h"), "2026-11-24"),
    ],
)
def test_a_change_is_due_so_many_days_later(last: str, every: Quantity, due: str) -> None:
    assert next_change(date.fromisoformat(last), every) == date.fromisoformat(due)


@pytest.mark.parametrize(
    ("today", "comes"),
    [
        ("2026-11-20", "2026-11-27"),
        ("2026-11-27", "2026-11-27"),
        ("2026-11-28", "2026-12-04"),
        ("2028-02-29", "2028-03-03"),
    ],
)
def test_the_next_delivery_is_today_or_later(today: str, comes: str) -> None:
    first, every = date(2026, 11, 27), of("7", "days")
    assert next_delivery(first, every, date.fromisoformat(today)) == date.fromisoformat(comes)


def test_deliveries_that_come_more_often_than_each_day_are_refused() -> None:
    with pytest.raises(OrderError, match=r"^Deliveries do not come every 12 hours\.$"):
        next_delivery(date(2026, 11, 27), of("12", "h"), date(2026, 11, 30))


def test_a_day_starts_at_its_midnight_or_where_the_clocks_go_on() -> None:
    assert day_starts(date(2026, 11, 1), NEW_YORK) == at("2026-11-01T00:00-04:00")
    assert day_starts(date(2026, 11, 2), NEW_YORK) == at("2026-11-02T00:00-05:00")
    santiago = ZoneInfo("America/Santiago")
    assert day_starts(date(2022, 9, 11), santiago) == at("2022-09-11T01:00-03:00")


def test_a_bag_that_runs_on_is_changed_each_volume_by_rate() -> None:
    started = at("2026-10-31T20:00-04:00")
    found = bag_changes(
        of("100", "mL"), of("12.5", "mL/h"), started, started, started + timedelta(days=1)
    )
    # Over the night in which the clocks go back: every 8 hours, not at the same hours.
    assert [due.astimezone(NEW_YORK).isoformat() for due in found] == [
        "2026-11-01T03:00:00-05:00",
        "2026-11-01T11:00:00-05:00",
        "2026-11-01T19:00:00-05:00",
    ]


def test_a_bag_whose_time_does_not_come_out_even_is_never_changed_late() -> None:
    started = at("2026-11-25T00:00Z")
    found = bag_changes(
        of("100", "mL"), of("7", "mL/h"), started, started, started + timedelta(days=30)
    )
    assert len(found) == 30 * 24 * 7 // 100
    for number, due in enumerate(found, start=1):
        late = (due - started).total_seconds() * 7 - number * 100 * 3600
        assert -7 < late <= 0


@given(st.integers(0, 50_000), st.integers(0, 20_000), st.integers(1, 9_990))
def test_bag_changes_are_the_same_from_wherever_they_are_looked_at(
    since: int, length: int, tenths: int
) -> None:
    volume, rate = of("250", "mL"), Quantity(Decimal(tenths) / 10, "mL/h")
    started = at("2026-03-01T00:00Z")
    start, end = started + since * MINUTE, started + (since + length) * MINUTE
    whole = bag_changes(volume, rate, started, started, end)
    assert bag_changes(volume, rate, started, start, end) == tuple(
        due for due in whole if due >= start
    )


@pytest.mark.parametrize(
    ("volume", "rate"),
    [("0", "100"), ("100", "0"), ("0.1", "100"), ("0.000001", "999")],
)
def test_a_bag_that_cannot_last_is_refused(volume: str, rate: str) -> None:
    started = at("2026-11-25T00:00Z")
    with pytest.raises(OrderError, match=r"^A bag cannot be changed every"):
        bag_changes(of(volume, "mL"), of(rate, "mL/h"), started, started, started + MINUTE)


def test_durations_agree_with_seconds_counted_by_hand_in_every_zone() -> None:
    """10,000 spans, made by whole seconds in UTC and not by the sums of datetime."""
    chance = random.Random("durations")
    begins = int(datetime(2024, 1, 1, tzinfo=UTC).timestamp())
    for _ in range(10_000):
        start = datetime.fromtimestamp(begins + chance.randrange(400_000_000), chance.choice(ZONES))
        amount, (unit, size) = (
            chance.randrange(1, 400),
            chance.choice((("s", 1), ("min", 60), ("h", 3600), ("days", 86_400))),
        )
        kept = Quantity(Decimal(amount), unit)
        assert seconds_of(kept_until(start, kept)) == seconds_of(start) + amount * size
        assert span(kept) == timedelta(seconds=amount * size)
