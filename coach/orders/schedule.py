"""When doses are due, and from when to when each may be begun.

Owns the turning of an order sheet's times into moments. Times of day are local to the sheet's
zone; intervals are absolute; every sum is made in UTC, so that summer time shifts nothing. It
must never know whether a dose was given.
"""

from __future__ import annotations

from collections.abc import Container
from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal
from zoneinfo import ZoneInfo

from coach.errors import OrderError
from coach.orders.floors import SMALLEST_GAP
from coach.orders.quantities import Quantity, product, seconds
from coach.orders.sheet import Doses, OrderSheet

DAY = timedelta(days=1)
LOOK_AHEAD = 8
"""Gaps between doses that are looked through for the next due time: more than can be taken."""


def span(duration: Quantity | None) -> timedelta:
    """Return *duration* as a timedelta, to the microsecond; nothing for None."""
    if duration is None:
        return timedelta()
    return timedelta(microseconds=int(seconds(duration) * 1_000_000))


def smallest_gap(doses: Doses) -> timedelta:
    """Return the shortest time between two due times, by the clock on the wall."""
    if doses.every is not None:
        return span(doses.every)
    starts = [_since_midnight(clock) for clock in doses.times]
    following = [*starts[1:], starts[0] + DAY]
    return min(later - earlier for earlier, later in zip(starts, following, strict=True))


def doses_a_day(doses: Doses) -> int:
    """Return the most doses that fall due in any 24 hours."""
    if doses.every is not None:
        return -(-DAY // span(doses.every))
    return len(doses.times)


def each_day(sheet: OrderSheet, of_a_dose: Quantity) -> Quantity:
    """Return what is *of_a_dose* for a day, the one with the most doses."""
    return Quantity(product(of_a_dose.amount, Decimal(doses_a_day(sheet.doses))), of_a_dose.unit)


def due_times(sheet: OrderSheet, start: datetime, end: datetime) -> tuple[datetime, ...]:
    """Return the due times from *start* to *end*, both included, in the sheet's zone.

    A time of day that summer time leaves out moves forward by the hour that is left out; one
    that happens twice is the first; a day that a zone leaves out whole has none. In the night of
    a change no dose comes closer than `SMALLEST_GAP` after the one before it: it moves on until
    it is that far from it, so that none is lost and no two fall together. Compare them in UTC:
    two moments of an hour that the clocks go through twice look the same on the wall, and Python
    takes them for equal within one zone.
    """
    zone = ZoneInfo(sheet.time_zone)
    doses, since, until = sheet.doses, start.astimezone(UTC), end.astimezone(UTC)
    if doses.every is not None and doses.first is not None:
        found = _by_interval(doses.first.astimezone(UTC), span(doses.every), since, until)
    else:
        found = [due for _, due in _by_clock(doses, zone, since, until)]
    return tuple(due.astimezone(zone) for due in found)


def times_on_the_wall(
    sheet: OrderSheet, start: datetime, end: datetime
) -> tuple[tuple[datetime, datetime], ...]:
    """Return the `due_times` of a sheet with times of day, each in UTC after what is ordered.

    What is ordered is a day and a time on the wall, with no zone. It is another than the due
    time shows there only in the night of a change. None where the sheet has an interval.
    """
    zone, since, until = ZoneInfo(sheet.time_zone), start.astimezone(UTC), end.astimezone(UTC)
    return tuple(_by_clock(sheet.doses, zone, since, until)) if sheet.doses.times else ()


def _by_interval(
    first: datetime, every: timedelta, since: datetime, until: datetime
) -> list[datetime]:
    due = first + max(0, -((first - since) // every)) * every
    found = []
    while due <= until:
        found.append(due)
        due += every
    return found


def _by_clock(
    doses: Doses, zone: ZoneInfo, since: datetime, until: datetime
) -> list[tuple[datetime, datetime]]:
    """Return each time on the wall that a dose is ordered for, with its due time in UTC."""
    apart = min(SMALLEST_GAP, smallest_gap(doses))
    # From two days before: what is left out late in a day moves into the next, and may push on.
    day, last = since.astimezone(zone).date() - 2 * DAY, until.astimezone(zone).date()
    found: list[tuple[datetime, datetime]] = []
    while day <= last:
        for clock in doses.times:
            due = _on_the_wall(day, clock, zone)
            if due is None:
                continue
            if found and due - found[-1][1] < apart:
                due = found[-1][1] + apart
            found.append((datetime.combine(day, clock), due))
        day += DAY
    return [one for one in found if since <= one[1] <= until]


def _on_the_wall(day: date, clock: time, zone: ZoneInfo) -> datetime | None:
    """Return the first moment, in UTC, with this time on the wall; None on a day left out."""
    wall = datetime.combine(day, clock)
    due = wall.replace(tzinfo=zone).astimezone(UTC)
    moved = due.astimezone(zone).replace(tzinfo=None) - wall
    return None if moved >= DAY else due


def take_out_at(sheet: OrderSheet, due: datetime) -> datetime:
    """Return when the bag is taken out, in UTC, so that it is ready when the dose is *due*."""
    return due.astimezone(UTC) - span(sheet.bag.warm_up)


def window_of(sheet: OrderSheet, due: datetime) -> tuple[datetime, datetime]:
    """Return the earliest and the latest moment, in UTC, for the dose that is *due*."""
    window = span(sheet.doses.window)
    return due.astimezone(UTC) - window, due.astimezone(UTC) + window


def opens_at(sheet: OrderSheet, due: datetime) -> datetime:
    """Return the earliest moment, in UTC, to begin the dose that is *due*, by warming its bag."""
    return window_of(sheet, due)[0] - span(sheet.bag.warm_up)


def nearest_due(sheet: OrderSheet, now: datetime, taken: Container[datetime]) -> datetime:
    """Return the due time of the dose to give now, or else the next one, in the sheet's zone.

    That is the first one, not among *taken* (moments in UTC), that is still in its window or
    not yet open. Raises OrderError if there is none.
    """
    moment, doses = now.astimezone(UTC), sheet.doses
    ahead = span(doses.window) + span(sheet.bag.warm_up)
    from_here = max(moment, doses.first.astimezone(UTC)) if doses.first else moment
    longest = span(doses.every) if doses.every else DAY
    until = from_here + ahead + LOOK_AHEAD * longest
    for due in due_times(sheet, moment - span(doses.window), until):
        if due.astimezone(UTC) not in taken:
            return due
    raise OrderError("No dose time is left on this order sheet. Call the nurse.")


def _since_midnight(clock: time) -> timedelta:
    return timedelta(hours=clock.hour, minutes=clock.minute)
