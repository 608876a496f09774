"""Times of day and stretches of time, in words and in the zone of the order sheet."""

from __future__ import annotations

from datetime import datetime, timedelta, tzinfo
from decimal import Decimal

from coach.orders.quantities import Quantity, shown
from coach.orders.values import MONTHS
from coach.says.ahead import DAY_END


def clock_time(at: datetime, zone: tzinfo) -> str:
    """Return *at* as the clock on the wall shows it, such as ``14:32``."""
    return at.astimezone(zone).strftime("%H:%M")


def day_and_time(at: datetime, zone: tzinfo) -> str:
    """Return *at* with its day, such as ``14:32 on 25 November``."""
    return f"{clock_time(at, zone)} on {day_in_words(at, zone)}"


def limit_in_words(at: datetime, zone: tzinfo) -> str:
    """Return *at* as a limit in words; the midnight after a day is the end of that day."""
    if not is_midnight(at, zone):
        return day_and_time(at, zone)
    return DAY_END.format(day=day_in_words(at - timedelta(minutes=1), zone))


def is_midnight(at: datetime, zone: tzinfo) -> bool:
    """Tell whether *at* is the midnight between two days."""
    local = at.astimezone(zone)
    return (local.hour, local.minute) == (0, 0)


def day_in_words(at: datetime, zone: tzinfo) -> str:
    """Return the day of *at*, such as ``25 November``."""
    local = at.astimezone(zone)
    return f"{local.day} {MONTHS[local.month - 1]}"


def day_in_full(at: datetime, zone: tzinfo) -> str:
    """Return the day of *at* with its year, such as ``25 November 2026``."""
    return f"{day_in_words(at, zone)} {at.astimezone(zone).year}"


def seconds_in_words(number: int) -> str:
    """Return whole seconds in words, such as ``1 minute 30 seconds``."""
    return shown(Quantity(Decimal(number), "s"))
