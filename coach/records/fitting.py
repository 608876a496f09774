"""Whether the times of a dose from paper fit the due time that it is written down for.

Owns from when to when such a dose can have been started, and by when it can have been over. It
must never know what is kept of it.
"""

from __future__ import annotations

from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from coach.errors import OrderError
from coach.orders.schedule import DAY, due_times, opens_at, span, window_of
from coach.orders.sheet import OrderSheet
from coach.says import doses as words
from coach.sitting.times import clock_time, day_and_time

_MOMENT = timedelta(microseconds=1)


def see_started(sheet: OrderSheet, due: datetime, at: datetime) -> None:
    """Raise OrderError unless *at* is in the time to start the dose of *sheet* that is *due*.

    A start that belongs to another dose would take this due time, and leave the other's free for
    one more. A late start, which somebody allowed by telephone, belongs to this dose until the
    next one opens.
    """
    opens, closes = opens_at(sheet, due), max(window_of(sheet, due)[1], _next_opens(sheet, due))
    if not opens <= at <= closes:
        zone = ZoneInfo(sheet.time_zone)
        one_day = opens.astimezone(zone).date() == closes.astimezone(zone).date()
        told = clock_time if one_day else day_and_time
        says = {"opens": told(opens, zone), "closes": told(closes, zone)}
        raise OrderError(words.NOT_IN_WINDOW.format(due=day_and_time(due, zone), **says))


def see_over(sheet: OrderSheet, due: datetime, at: datetime) -> None:
    """Raise OrderError unless the dose of *sheet* that is *due* can have been over by *at*.

    A pump may stand still for long, so only the next dose limits it, but never to less than the
    whole infusion takes from the last moment for its start.
    """
    infused = span(sheet.medicine.infusion_time)
    by = max(window_of(sheet, due)[1], _next_opens(sheet, due)) + infused
    if at > by:
        zone = ZoneInfo(sheet.time_zone)
        says = {"due": day_and_time(due, zone), "by": day_and_time(by, zone)}
        raise OrderError(words.OVER_TOO_LATE.format(**says))


def _next_opens(sheet: OrderSheet, due: datetime) -> datetime:
    """Return when the dose after the one that is *due* can be started; *due* if none follows."""
    ahead = 2 * (span(sheet.doses.every) if sheet.doses.every else DAY)
    following = due_times(sheet, due + _MOMENT, due + ahead)
    return opens_at(sheet, following[0]) if following else due
