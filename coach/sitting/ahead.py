"""What lies ahead: each thing with the moment at which it is due, and how that is said.

Owns the entries of the Today screen, their order and their words. It must never look into the
record: what was done when is handed in as an entry.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from datetime import UTC, date, datetime, timedelta, tzinfo
from decimal import Decimal

import msgspec

from coach.orders.quantities import Quantity, shown
from coach.orders.schedule import DAY, due_times, opens_at, take_out_at, window_of
from coach.orders.sheet import OrderSheet
from coach.orders.times import day_starts, next_change, next_delivery
from coach.says import ahead as words
from coach.sitting.times import (
    clock_time,
    day_and_time,
    day_in_words,
    is_midnight,
    limit_in_words,
)

HORIZON = timedelta(days=7)
"""How far ahead a change or a delivery is named: common practice, no source."""
MOST_NAMED = 3
"""Doses of which each time is named; of more only the first and the last."""
PASSING = frozenset({"fetch", "opens", "begin-by", "closes"})
"""The kinds of which nothing is left to say once their time is over."""
MINUTE, HOUR = timedelta(minutes=1), timedelta(hours=1)


class Entry(msgspec.Struct, frozen=True):
    """One thing that is due."""

    kind: str
    """A key of ``words.AHEAD``."""
    at: datetime
    """Aware. For a whole day its first moment in the zone of the order sheet."""
    whole_day: bool = False
    """Whether it is due on a day, and at no time of it."""
    what: str = ""
    """What fills the place in the words of its kind, where they have one."""


def on_day(kind: str, day: date, zone: tzinfo, what: str = "") -> Entry:
    """Return the entry of something that is due on *day*."""
    return Entry(kind, day_starts(day, zone), whole_day=True, what=what)


def of_sheet(
    sheet: OrderSheet, zone: tzinfo, now: datetime, *, came: bool = False
) -> tuple[Entry, ...]:
    """Return the changes and the delivery that *sheet* names, late or within `HORIZON`.

    Where today's delivery *came* already, the one after it is meant.
    """
    found = _of_sheet(sheet, zone, now, came=came)
    return tuple(entry for entry in found if entry.at <= now + HORIZON)


def _of_sheet(sheet: OrderSheet, zone: tzinfo, now: datetime, *, came: bool) -> Iterator[Entry]:
    changes, delivery = sheet.changes, sheet.delivery
    if changes.connector is not None:
        day = next_change(changes.connector.last, changes.connector.every)
        yield on_day("connector", day, zone)
    if changes.dressing is not None:
        yield on_day("dressing", next_change(changes.dressing.last, changes.dressing.every), zone)
    if delivery is not None:
        since = now.astimezone(zone).date() + timedelta(days=came)
        yield on_day("delivery", next_delivery(delivery.next, delivery.every, since), zone)


def of_later_doses(sheet: OrderSheet, due: datetime, now: datetime) -> Iterator[Entry]:
    """Yield the times of each dose of *sheet* after the one that is *due*, a day ahead of *now*."""
    first, early = due.astimezone(UTC) + timedelta(seconds=1), due - opens_at(sheet, due)
    for later in due_times(sheet, first, now + DAY + early):
        take_out = take_out_at(sheet, later)
        if take_out < later.astimezone(UTC):
            yield Entry("fetch", take_out)
        yield Entry("opens", opens_at(sheet, later))
        yield Entry("due", later)
        yield Entry("closes", window_of(sheet, later)[1])


def is_late(entry: Entry, now: datetime, zone: tzinfo) -> bool:
    """Tell whether *entry* was due before *now*; for a whole day, once that day is over."""
    if entry.whole_day:
        return entry.at.astimezone(zone).date() < now.astimezone(zone).date()
    return entry.at.astimezone(UTC) < now.astimezone(UTC)


def in_order(entries: Iterable[Entry], now: datetime, zone: tzinfo) -> tuple[Entry, ...]:
    """Return *entries* with the late ones first, and else in order of time.

    A dose stands before what belongs to it. What is over once its time is there, such as the
    earliest start, is left out from then on.
    """
    kept = [one for one in entries if one.kind not in PASSING or not is_late(one, now, zone)]
    return tuple(
        sorted(
            kept,
            key=lambda one: (
                not is_late(one, now, zone),
                one.at.astimezone(UTC),
                one.kind != "due",
            ),
        )
    )


def unrecorded_line(dues: Sequence[datetime], zone: tzinfo) -> str:
    """Say that nothing is on record for the doses that were due at *dues*; nothing for none."""
    if not dues:
        return ""
    times = [day_and_time(due, zone) for due in dues]
    if len(dues) == 1:
        return words.UNRECORDED.format(time=times[0])
    if len(dues) <= MOST_NAMED:
        return words.UNRECORDED_SEVERAL.format(number=len(dues), times=words.AND.join(times))
    return words.UNRECORDED_MANY.format(number=len(dues), first=times[0], last=times[-1])


def zone_line(name: str, now: datetime, zone: tzinfo) -> str:
    """Say that times are by the clock in *zone*, called *name*, where *now* is by another."""
    if now.utcoffset() == now.astimezone(zone).utcoffset():
        return ""
    return words.ZONE.format(zone=name, time=clock_time(now, zone), own=f"{now:%H:%M}")


def told(entry: Entry, template: str, now: datetime, zone: tzinfo) -> str:
    """Return *entry* in words by *template*: when it is, what it is, and how far that is away."""
    late = is_late(entry, now, zone)
    says = words.LATE.get(entry.kind) if late else None
    return template.format(
        time=_when(entry, now, zone),
        left=_days(entry, now, zone) if entry.whole_day else _left(entry.at, now),
        what=(says or words.AHEAD[entry.kind]).format(what=entry.what),
    )


def _when(entry: Entry, now: datetime, zone: tzinfo) -> str:
    if entry.whole_day:
        return day_in_words(entry.at, zone)
    if entry.kind == "finish-by" and is_midnight(entry.at, zone):
        return limit_in_words(entry.at, zone)
    today = entry.at.astimezone(zone).date() == now.astimezone(zone).date()
    return clock_time(entry.at, zone) if today else day_and_time(entry.at, zone)


def _days(entry: Entry, now: datetime, zone: tzinfo) -> str:
    days = (entry.at.astimezone(zone).date() - now.astimezone(zone).date()).days
    if days in words.DAYS_AWAY:
        return words.DAYS_AWAY[days]
    return (words.AHEAD_IN if days > 0 else words.AHEAD_AGO).format(left=_counted(abs(days) * DAY))


def _left(at: datetime, now: datetime) -> str:
    """Return how far *at* is away: to the minute, and to the hour where it is over a day."""
    away = at.astimezone(UTC) - now.astimezone(UTC)
    if away > timedelta():
        return words.AHEAD_IN.format(left=time_left(away))
    return words.AHEAD_AGO.format(left=time_left(-away)) if away <= -MINUTE else words.AHEAD_NOW


def time_left(away: timedelta) -> str:
    """Return *away*, above 0, in words: whole minutes, or whole hours over a day; rounded up."""
    step = MINUTE if away <= DAY else HOUR
    return _counted(math.ceil(away / step) * step)


def _counted(away: timedelta) -> str:
    if away <= DAY:
        return shown(Quantity(Decimal(away // timedelta(seconds=1)), "s"))
    days, rest = divmod(away, DAY)
    parts = [Quantity(Decimal(days), "days"), Quantity(Decimal(rest // HOUR), "h")]
    return " ".join(shown(part) for part in parts if part.amount)
