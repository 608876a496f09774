"""The times of one dose, and of what falls due beside the doses.

Owns the sums of moments that an order sheet asks for, every one of them made in UTC, so that
summer time, a month's end and another time zone shift nothing. Every moment that is handed in is
aware. It must never know what was done: when it was done is handed in.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, date, datetime, time, timedelta, tzinfo

import msgspec

from coach.errors import OrderError
from coach.orders.floors import SHORTEST_INFUSION
from coach.orders.quantities import Quantity, in_unit, seconds, shown
from coach.orders.schedule import DAY, opens_at, span, take_out_at, window_of
from coach.orders.sheet import OrderSheet


class DoseTimes(msgspec.Struct, frozen=True):
    """When what of one dose is to be done, if nothing comes between; every moment in UTC."""

    take_out: datetime
    """When the bag is taken out; the due time where it needs no warming."""
    ready: datetime
    """When it has warmed as long as its label says: when the dose is due."""
    opens: datetime
    """From when the dose can be begun, by taking its bag out."""
    begin_by: datetime
    """The last moment to take the bag out, if it is to have warmed within the window."""
    closes: datetime
    """Until when the medicine may be started."""
    ends: datetime
    """When all of it is in, if it is started when it is due and never paused."""
    finish_by: datetime | None
    """When the bag must be empty if it is taken out at `take_out`; None where nothing limits it."""


class Pause(msgspec.Struct, frozen=True):
    """A stretch in which the pump stood still."""

    since: datetime
    until: datetime | None
    """None while it still stands."""


def times_of(sheet: OrderSheet, due: datetime, discard: datetime | None = None) -> DoseTimes:
    """Return the times of the dose of *sheet* that is *due*, its bag to be used by *discard*."""
    take_out, closes = take_out_at(sheet, due), window_of(sheet, due)[1]
    return DoseTimes(
        take_out=take_out,
        ready=take_out + span(sheet.bag.warm_up),
        opens=opens_at(sheet, due),
        begin_by=closes - span(sheet.bag.warm_up),
        closes=closes,
        ends=due.astimezone(UTC) + span(sheet.medicine.infusion_time),
        finish_by=finish_by(sheet, take_out, discard),
    )


def standing(sheet: OrderSheet, due: datetime, now: datetime) -> str:
    """Return how *now* stands to the window of the dose that is *due*, its ends included.

    ``before``, ``within`` or ``call``. A late dose is not judged: the sheet's own window lets it
    be begun, or else somebody has to be asked.
    """
    opens, closes = window_of(sheet, due)
    moment = now.astimezone(UTC)
    if moment < opens:
        return "before"
    return "within" if moment <= closes else "call"


def finish_by(
    sheet: OrderSheet, taken_out: datetime | None, discard: datetime | None
) -> datetime | None:
    """Return when the bag must be empty, in UTC; None where nothing limits it.

    The earlier of the two: *taken_out* and the sheet's longest time out, or *discard*, the
    moment on the bag's label.
    """
    limits = [] if discard is None else [discard.astimezone(UTC)]
    if taken_out is not None and sheet.bag.out_at_most is not None:
        limits.append(taken_out.astimezone(UTC) + span(sheet.bag.out_at_most))
    return min(limits, default=None)


def fits(ends: datetime, by: datetime | None) -> bool:
    """Tell whether a whole infusion that *ends* then is over *by* then; None limits nothing.

    One that ends at that very moment fits.
    """
    return by is None or ends.astimezone(UTC) <= by.astimezone(UTC)


def expected_end(
    started: datetime, takes: timedelta, pauses: Sequence[Pause], now: datetime
) -> datetime:
    """Return when an infusion that *takes* so long will be over, in UTC, moved by each pause.

    One that still stands counts up to *now*. Raises OrderError where the pauses are not one
    after the other, each from an earlier to a later moment.
    """
    begun, moment = started.astimezone(UTC), now.astimezone(UTC)
    ends, free = begun + takes, begun
    for pause in pauses:
        since = pause.since.astimezone(UTC)
        until = max(since, moment) if pause.until is None else pause.until.astimezone(UTC)
        if not free <= since <= until:
            raise OrderError("The pauses of a pump come one after the other.")
        if since < ends:
            ends += until - since
        free = until
    return ends


def kept_until(done: datetime, kept: Quantity) -> datetime:
    """Return until when, in UTC, what was *done* then holds, such as new tubing or batteries.

    Raises OrderError if *kept* is no duration.
    """
    return done.astimezone(UTC) + span(kept)


def next_change(last: date, every: Quantity) -> date:
    """Return the day on which what was changed on the day *last* is due again.

    Part of a day does not count: it is due on the earlier day. Raises OrderError if *every* is
    no duration.
    """
    return last + timedelta(days=span(every) // DAY)


def next_delivery(first: date, every: Quantity, today: date) -> date:
    """Return the day of the first delivery from *today* on, one of *first* and each *every*.

    Part of a day does not count. Raises OrderError if *every* is less than a day, or no duration.
    """
    days = span(every) // DAY
    if days < 1:
        raise OrderError(f"Deliveries do not come every {shown(every)}.")
    ahead = max(0, -((first - today).days // days))
    return first + timedelta(days=ahead * days)


def day_starts(day: date, zone: tzinfo) -> datetime:
    """Return the first moment of *day* in *zone*, in UTC.

    Where summer time leaves midnight out, that is the moment at which the clocks go on.
    """
    return datetime.combine(day, time(), zone).astimezone(UTC)


def bag_changes(
    volume: Quantity, rate: Quantity, started: datetime, since: datetime, until: datetime
) -> tuple[datetime, ...]:
    """Return when a bag of *volume* that runs without a break at *rate* is to be changed.

    In UTC, from *since* to *until*, both included, the first bag having been *started* then.
    Each is volume ÷ rate after the one before, exactly; only what is returned is rounded, down
    to the second, as a bag that has run empty is changed too late. Raises OrderError if the kinds
    are not those, or a bag lasts less than `SHORTEST_INFUSION`.
    """
    top, under = in_unit(volume, "mL").amount.as_integer_ratio()
    a_day, below = in_unit(rate, "mL/day").amount.as_integer_ratio()
    lasts, of = top * below * 86_400, a_day * under  # a bag lasts one ÷ the other, in seconds
    if not of or lasts < of * seconds(SHORTEST_INFUSION):
        raise OrderError(f"A bag cannot be changed every {shown(volume)} ÷ {shown(rate)}.")
    begun, second = started.astimezone(UTC), timedelta(seconds=1)
    number = max(1, (since.astimezone(UTC) - begun) // second * of // lasts)
    found: list[datetime] = []
    while (at := begun + second * (number * lasts // of)) <= until.astimezone(UTC):
        if at >= since.astimezone(UTC):
            found.append(at)
        number += 1
    return tuple(found)
