"""Due times against python-dateutil: its recurrences (RFC 5545), and its own copy of the zones.

The reference makes the times on the wall by `rrule` and turns them into moments by its bundled
time zone database, so that neither our sums nor our zones are asked. The years are those of which
both databases know all.
"""

from __future__ import annotations

import random
from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal
from itertools import pairwise
from zoneinfo import available_timezones

import pytest
from dateutil import tz
from dateutil.rrule import DAILY, MINUTELY, rrule
from dateutil.zoneinfo import get_zonefile_instance
from msgspec.structs import replace

from coach.orders.floors import SMALLEST_GAP
from coach.orders.quantities import Quantity
from coach.orders.schedule import due_times
from coach.orders.sheet import OrderSheet
from tests.orders.written import sheet

THEIRS = get_zonefile_instance()
ZONES = sorted(zone for zone in available_timezones() if THEIRS.get(zone) is not None)
BATCHES, BATCH = 10, 1_000
BEGINS, ENDS = datetime(2010, 1, 1, tzinfo=UTC), datetime(2023, 10, 1, tzinfo=UTC)
PAD = timedelta(days=1)
"""What a zone or a dose that is moved on can make out, and more."""
NIGHT = timedelta(days=4)
"""What is looked at around the night of a change."""
BASE = sheet()


def moment(chance: random.Random) -> datetime:
    """Return a minute at random; every third is near a change of the clocks or a month's end."""
    minutes = int((ENDS - BEGINS) / timedelta(minutes=1))
    found = BEGINS + timedelta(minutes=chance.randrange(minutes))
    if chance.random() < 0.33:
        month, day = chance.choice(((2, 27), (3, 8), (3, 26), (10, 4), (10, 26), (11, 1), (12, 30)))
        found = found.replace(month=month, day=day)
    return found


def some_sheet(chance: random.Random, since: datetime) -> OrderSheet:
    """Return a sheet with times, an interval and a zone at random, as a sheet may have them."""
    if chance.random() < 0.3:
        every = Quantity(Decimal(chance.randrange(60, 4_000)), "min")
        first = since + timedelta(minutes=chance.randrange(-20_000, 5_000))
        doses = replace(BASE.doses, times=(), every=every, first=first)
    else:
        doses = replace(BASE.doses, times=some_times(chance))
    return replace(BASE, doses=doses, time_zone=chance.choice(ZONES))


def some_times(chance: random.Random) -> tuple[time, ...]:
    """Return times of day at least an hour apart, the last and the first likewise."""
    day, left = chance.randrange(60), chance.randrange(1, 8)
    found = []
    while left and day < 24 * 60:
        found.append(day)
        day += chance.choice((60, 61, 75, 90, 180, 360, 480, 720))
        left -= 1
    while len(found) > 1 and found[0] + 24 * 60 - found[-1] < 60:
        found.pop()
    return tuple(time(minute // 60, minute % 60) for minute in found)


def reference(orders: OrderSheet, since: datetime, until: datetime) -> list[datetime]:
    """Return the due times from *since* to *until* by dateutil, in UTC."""
    doses = orders.doses
    if doses.every is not None and doses.first is not None:
        rule = rrule(MINUTELY, interval=int(doses.every.amount), dtstart=doses.first)
        return rule.between(since, until, inc=True)
    zone = THEIRS.get(orders.time_zone)
    found = []
    for clock in doses.times:
        begins = datetime.combine((since - PAD).date(), clock)
        for wall in rrule(DAILY, dtstart=begins, until=(until + PAD).replace(tzinfo=None)):
            real = tz.resolve_imaginary(wall.replace(tzinfo=zone))
            found.append(real.astimezone(UTC))
    return [due for due in sorted(found) if since <= due <= until]


def gaps(found: list[datetime]) -> list[timedelta]:
    """Return the times between one due time and the next."""
    return [later - earlier for earlier, later in pairwise(found)]


@pytest.mark.parametrize("batch", range(BATCHES))
def test_due_times_are_those_of_another_library(batch: int) -> None:
    chance = random.Random(f"recurrence {batch}")
    for _ in range(BATCH):
        since = moment(chance)
        orders = some_sheet(chance, since)
        until = since + timedelta(minutes=chance.randrange(3 * 24 * 60))
        found = [due.astimezone(UTC) for due in due_times(orders, since, until)]
        before = reference(orders, since - PAD, until)
        case = (orders.time_zone, orders.doses.times, orders.doses.every, since, until)
        assert all(gap >= SMALLEST_GAP for gap in gaps(found)), case
        # Else the night of a change brings two doses closer than an hour, which we never do.
        if all(gap >= SMALLEST_GAP for gap in gaps(before)):
            assert found == [due for due in before if due >= since], case


@pytest.mark.parametrize(
    ("zone", "night"),
    [
        ("America/New_York", "2023-03-12"),
        ("America/New_York", "2022-11-06"),
        ("Europe/Berlin", "2023-03-26"),
        ("Australia/Lord_Howe", "2022-10-02"),
        ("America/Santiago", "2022-09-11"),  # from midnight to 01:00
    ],
)
def test_no_dose_is_lost_though_one_too_close_is_moved_on(zone: str, night: str) -> None:
    chance, there = random.Random(night), THEIRS.get(zone)
    begins = datetime.combine(date.fromisoformat(night) - timedelta(days=1), time(), there)
    since = begins.astimezone(UTC)
    for _ in range(200):
        doses = replace(BASE.doses, times=some_times(chance))
        orders = replace(BASE, doses=doses, time_zone=zone)
        found = [due.astimezone(UTC) for due in due_times(orders, since, since + NIGHT)]
        walls = reference(orders, since, since + NIGHT)
        assert len(found) == len(walls), doses.times
        assert all(ours >= theirs for ours, theirs in zip(found, walls, strict=True)), doses.times
        assert all(gap >= SMALLEST_GAP for gap in gaps(found)), doses.times
