"""What an order sheet asks for at which times, as reminders that come again.

Owns which reminders there are, and how each comes again by days. Moments are those of
`coach.orders.schedule`; where days on the wall would lead to another one, as in the night of a
change, it is named. It must never know how a calendar is written.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import msgspec

from coach.orders.schedule import DAY, due_times, span, take_out_at, times_on_the_wall
from coach.orders.sheet import OrderSheet
from coach.orders.times import next_change, next_delivery
from coach.sitting.ahead import Entry

AHEAD = timedelta(days=90)
"""How far the reminders go, so that none comes for ever once an order is over: common practice,
no source."""
_FROM_RECORD = {
    "batteries": "batteries",
    "new-batteries": "batteries",
    "tubing": "tubing",
    "new-tubing": "tubing",
}
"""What the record tells of the day that is reminded of, and under which name."""
_TICK = timedelta(microseconds=1)


class Reminder(msgspec.Struct, frozen=True):
    """One reminder, once or again and again."""

    name: str
    """Stays the same each time that the reminders of a sheet are written."""
    kind: str
    """``due``, ``fetch``, ``connector``, ``dressing``, ``delivery``, ``batteries``, ``tubing`` or
    ``renew``."""
    starts: datetime | date
    """The first time: a day, a moment in UTC, or a time on the wall in the zone of the sheet."""
    last: datetime | date
    """The last time, in the same way."""
    days: int = 0
    """After how many days it comes again; 0 where it comes once."""
    takes: timedelta = timedelta()
    moved: tuple[tuple[datetime, datetime], ...] = ()
    """Times on the wall at which it does not come, each with the moment in UTC at which it does."""


def reminders_of(
    sheet: OrderSheet, now: datetime, told: Iterable[Entry] = ()
) -> tuple[Reminder, ...]:
    """Return the reminders of *sheet* from *now* on, as far as `AHEAD`.

    *told* is what the record tells of the day, as Today has it.
    """
    zone = ZoneInfo(sheet.time_zone)
    today, end = now.astimezone(zone).date(), (now + AHEAD).astimezone(zone).date()
    return (
        *_on_the_wall(sheet, zone, now),
        *_by_interval(sheet, now),
        *_by_days(sheet, today, end),
        *_from_record(told, sheet, now),
        Reminder("renew", "renew", end, end),
    )


def _on_the_wall(sheet: OrderSheet, zone: ZoneInfo, now: datetime) -> Iterator[Reminder]:
    """Yield a reminder for each time of day: to take the bag out, if it is kept cold, and due."""
    warm_up = span(sheet.bag.warm_up)
    found = times_on_the_wall(sheet, now, now + AHEAD)
    for number, clock in enumerate(sheet.doses.times, 1):
        dues = [(wall, due) for wall, due in found if wall.time() == clock]
        takes = span(sheet.medicine.infusion_time)
        yield from _days_on_the_wall(f"dose-{number}", "due", dues, takes, zone)
        if warm_up:
            outs = [(wall - warm_up, take_out_at(sheet, due)) for wall, due in dues]
            ahead = [one for one in outs if one[1] >= now]
            yield from _days_on_the_wall(f"fetch-{number}", "fetch", ahead, warm_up, zone)


def _days_on_the_wall(
    name: str,
    kind: str,
    rows: Sequence[tuple[datetime, datetime]],
    takes: timedelta,
    zone: ZoneInfo,
) -> Iterator[Reminder]:
    """Yield the reminder of *rows*, if there are any: each a time on the wall and its moment."""
    if not rows:
        return
    walls = [(wall.replace(tzinfo=zone), at) for wall, at in rows]
    moved = tuple((wall, at) for wall, at in walls if not _is_at(wall, at, zone))
    yield Reminder(name, kind, walls[0][0], walls[-1][0], 1, takes, moved)


def _is_at(wall: datetime, at: datetime, zone: ZoneInfo) -> bool:
    """Tell whether *wall* is on the clock, for the first time, at the moment *at*."""
    moment = wall.astimezone(UTC)
    there = moment.astimezone(zone).replace(tzinfo=None) == wall.replace(tzinfo=None)
    return there and moment == at.astimezone(UTC)


def _by_interval(sheet: OrderSheet, now: datetime) -> Iterator[Reminder]:
    """Yield a reminder for each dose after which the interval comes back to the same time of day.

    Few calendars know of hours between two events, and all of days.
    """
    doses, warm_up = sheet.doses, span(sheet.bag.warm_up)
    if doses.every is None or doses.first is None:
        return
    first, every = doses.first.astimezone(UTC), span(doses.every)
    cycle = math.lcm(every // _TICK, DAY // _TICK) * _TICK
    slots: dict[int, list[datetime]] = {}
    for due in due_times(sheet, now, now + AHEAD):
        at = due.astimezone(UTC)
        slots.setdefault((at - first) // every % (cycle // every), []).append(at)
    for number, dues in sorted(slots.items()):
        days, takes = cycle.days, span(sheet.medicine.infusion_time)
        yield Reminder(f"dose-{number + 1}", "due", dues[0], dues[-1], days, takes)
        outs = [at for due in dues if warm_up and (at := take_out_at(sheet, due)) >= now]
        if outs:
            yield Reminder(f"fetch-{number + 1}", "fetch", outs[0], outs[-1], days, warm_up)


def _by_days(sheet: OrderSheet, today: date, end: date) -> Iterator[Reminder]:
    """Yield what the sheet has changed or delivered at set times; what is late is due today."""
    changes, delivery = sheet.changes, sheet.delivery
    for kind, change in (("connector", changes.connector), ("dressing", changes.dressing)):
        if change is not None:
            day = max(today, next_change(change.last, change.every))
            yield from _every(kind, day, span(change.every) // DAY, end)
    if delivery is not None:
        day = next_delivery(delivery.next, delivery.every, today)
        yield from _every("delivery", day, span(delivery.every) // DAY, end)


def _every(kind: str, day: date, days: int, end: date) -> Iterator[Reminder]:
    if day <= end:
        last = day + (end - day) // timedelta(days=days) * timedelta(days=days)
        yield Reminder(kind, kind, day, last, days)


def _from_record(told: Iterable[Entry], sheet: OrderSheet, now: datetime) -> Iterator[Reminder]:
    """Yield until when a thing is kept, or the dose that it is new with; what is late is too."""
    dues = due_times(sheet, now, now + AHEAD)
    for entry in told:
        name, late = _FROM_RECORD.get(entry.kind), entry.at < now
        if name and (dues or not late):
            at = (dues[0] if late else entry.at).astimezone(UTC)
            yield Reminder(name, name, at, at)
