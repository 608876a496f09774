"""A clock never says that more time has passed than has."""

from __future__ import annotations

import time
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coach.clock import Instant, ManualClock, SystemClock, seconds_between

NOON = datetime(2026, 11, 25, 12, tzinfo=UTC)
SECONDS = st.floats(0, 1e7)
AT = st.datetimes(datetime(2020, 1, 1), datetime(2040, 1, 1), timezones=st.just(UTC))  # noqa: DTZ001 - hypothesis adds the zone


@given(SECONDS, SECONDS, AT)
def test_setting_the_wall_clock_changes_no_elapsed_time(
    first: float, later: float, at: datetime
) -> None:
    clock = ManualClock(NOON)
    clock.move(first)
    begun = clock.now()
    clock.set_wall(at)
    clock.move(later)
    assert seconds_between(begun, clock.now()) == pytest.approx(later, abs=1e-6)


@given(SECONDS, SECONDS)
def test_over_a_restart_the_wall_clock_counts(first: float, later: float) -> None:
    clock = ManualClock(NOON)
    clock.move(first)
    begun = clock.now()
    clock.restart("after")
    clock.move(later)
    assert seconds_between(begun, clock.now()) == pytest.approx(later, abs=1e-4)


@given(AT, AT, SECONDS, SECONDS, st.booleans())
def test_elapsed_time_is_never_below_nothing(
    one: datetime, other: datetime, tick: float, later: float, same: bool
) -> None:
    run = "a" if same else "b"
    assert seconds_between(Instant(one, tick, "a"), Instant(other, later, run)) >= 0


def test_summer_time_and_a_journey_change_no_elapsed_time() -> None:
    """2026-03-08 in New York: 01:30, and two hours on it is 04:30 (computed)."""
    zone = ZoneInfo("America/New_York")
    before = datetime(2026, 3, 8, 1, 30, tzinfo=zone)
    after = (before.astimezone(UTC) + timedelta(hours=2)).astimezone(zone)
    assert f"{after:%H:%M}" == "04:30"
    for there in (zone, ZoneInfo("Asia/Tokyo")):
        restarted = Instant(after.astimezone(there), 0, "after")
        assert seconds_between(Instant(before, 50, "before"), restarted) == 7200


def test_a_clock_that_a_test_moves_moves_both_hands() -> None:
    clock = ManualClock(NOON)
    clock.sleep(90)
    assert clock.now() == Instant(NOON + timedelta(seconds=90), 90, "test")
    assert clock.monotonic() == 90


def test_a_clock_does_not_go_back() -> None:
    clock = ManualClock(NOON)
    with pytest.raises(ValueError, match="a clock does not go back"):
        clock.move(-1)
    assert clock.now() == Instant(NOON, 0, "test")


def test_the_machine_says_when_it_is_with_its_distance_from_utc() -> None:
    clock = SystemClock()
    first, second = clock.now(), clock.now()
    assert first.at.utcoffset() is not None
    assert abs(first.at - datetime.now(UTC)) < timedelta(seconds=60)
    assert first.counter == second.counter
    assert second.tick >= first.tick


def test_two_clocks_of_one_start_of_a_linux_machine_compare() -> None:
    one, other = SystemClock().now(), SystemClock().now()
    has_boot = hasattr(time, "CLOCK_BOOTTIME")
    assert (one.counter == other.counter) is has_boot
    assert one.counter.startswith("boot-" if has_boot else "run-")


def test_where_the_machine_does_not_name_its_start_each_clock_is_a_run_of_its_own(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.delattr(time, "CLOCK_BOOTTIME", raising=False)
    one, other = SystemClock().now(), SystemClock().now()
    assert one.counter.startswith("run-")
    assert one.counter != other.counter


def test_the_machine_sleeps_at_least_as_long_as_told(monkeypatch: pytest.MonkeyPatch) -> None:
    """A machine that wakes early is asked again; here each sleep gives only half of it."""
    seconds = [0.0]

    def short(asked: float) -> None:
        seconds[0] += max(asked / 2, 0.001)

    monkeypatch.setattr(time, "monotonic", lambda: seconds[0])
    monkeypatch.setattr(time, "sleep", short)
    clock = SystemClock()
    clock.sleep(5)
    assert clock.monotonic() >= 5
