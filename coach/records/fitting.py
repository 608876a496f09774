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

    A start beyond the window of one dose would take its due time, and leave that of the dose
    which it belongs to free for one more.
    """
    opens, closes = opens_at(sheet, due), window_of(sheet, due)[1]
    if not opens <= at <= closes:
        zone = ZoneInfo(sheet.time_zone)
        says = {"opens": clock_time(opens, zone), "closes": clock_time(closes, zone)}
        raise OrderError(words.NOT_IN_WINDOW.format(due=day_and_time(due, zone), **says))


def see_over(sheet: OrderSheet, due: datetime, at: datetime) -> None:
    """Raise OrderError unless the dose of *sheet* that is *due* can have been over by *at*.

    A pump may stand still for long, so only the next dose limits it, but never to less than the
    whole infusion takes from the last moment for its start.
    """
    by = window_of(sheet, due)[1] + span(sheet.medicine.infusion_time)
    ahead = 2 * (span(sheet.doses.every) if sheet.doses.every else DAY)
    following = due_times(sheet, due + _MOMENT, due + ahead)
    if following:
        by = max(by, opens_at(sheet, following[0]))
    if at > by:
        zone = ZoneInfo(sheet.time_zone)
        says = {"due": day_and_time(due, zone), "by": day_and_time(by, zone)}
        raise OrderError(words.OVER_TOO_LATE.format(**says))
