"""What the doses of some days come to: how many of those due were given, and how they went.

Owns the counting. Pure. It must never leave a dose out, and never call one good or bad.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date, timedelta, tzinfo
from decimal import Decimal

import msgspec

from coach.orders.quantities import in_unit
from coach.records.model import DoseRecord

MINUTE = timedelta(minutes=1)
WEEKS = 12
"""Weeks that are told, with the one under way."""
IN_FULL, STOPPED, NOT_DONE, SHORT = "completed", "stopped", "not-done", "short"
IN_ERROR = "entered-in-error"


class Week(msgspec.Struct, frozen=True):
    """The doses that were due in one week, from Monday to Sunday."""

    monday: date
    doses: int
    """Those that were begun."""
    resisted: int
    """Those of them in which a push did not go in freely."""
    spoiled: int
    """Those of them in which something was touched, dropped or soiled."""


class Trends(msgspec.Struct, frozen=True):
    """What some doses come to. A dose that was entered in error counts nowhere."""

    due: int
    given: int
    """Those that were given in full."""
    stopped: int
    not_done: int
    short: int
    """Those of which less went in, though nobody told that they were stopped early."""
    going: int
    """Those under way, or of which nobody can tell how they stand."""
    rest: tuple[DoseRecord, ...]
    """Those that were stopped, not done or short, whose reasons are asked for."""
    weeks: tuple[Week, ...]


def trends_of(records: Iterable[DoseRecord], zone: tzinfo) -> Trends:
    """Return what *records* come to, with the weeks of *zone*."""
    counted = [one for one in records if one.status != IN_ERROR]
    by = [SHORT if one.short else one.status for one in counted]
    given, stopped, not_done, short = (by.count(k) for k in (IN_FULL, STOPPED, NOT_DONE, SHORT))
    rest = tuple(one for one in counted if one.status in (STOPPED, NOT_DONE) or one.short)
    going = len(counted) - given - len(rest)
    weeks = _weeks(counted, zone)
    return Trends(len(counted), given, stopped, not_done, short, going, rest, weeks)


def monday_of(day: date) -> date:
    """Return the Monday of the week of *day*."""
    return day - timedelta(days=day.weekday())


def _weeks(records: Sequence[DoseRecord], zone: tzinfo) -> tuple[Week, ...]:
    weeks: dict[date, list[DoseRecord]] = {}
    for one in records:
        weeks.setdefault(monday_of(one.due.astimezone(zone).date()), []).append(one)
    return tuple(
        Week(
            monday,
            sum(one.begun is not None for one in week),
            sum(one.resisted > 0 for one in week),
            sum(any(told.kind == "spoiled" for told in one.told) for one in week),
        )
        for monday, week in sorted(weeks.items())
    )


def minutes_late(record: DoseRecord) -> int | None:
    """Return how many whole minutes after its due time the medicine was started.

    Less than 0 where it was before it; None where no medicine was started.
    """
    if record.flow is None:
        return None
    return int((record.flow.since - record.due) // MINUTE)


def percent_given(record: DoseRecord) -> int | None:
    """Return how many of 100 parts of the ordered volume went in, whole ones; None if unknown."""
    if record.given is None:
        return None
    ordered = in_unit(record.volume, "mL").amount
    return int(Decimal(100) * in_unit(record.given, "mL").amount // ordered)
