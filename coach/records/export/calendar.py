"""Reminders as a calendar that other programs read.

Owns how a reminder is written as iCalendar: RFC 5545, and RFC 7986 for the name. It must never
decide when one comes, and never name the person or the medicine: calendars are seen by others.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

from icalendar import Alarm, Calendar, Event

from coach.orders.schedule import DAY
from coach.orders.sheet import OrderSheet
from coach.records.export.reminders import AHEAD, Reminder
from coach.records.export.terms import url_of
from coach.says import export as words
from coach.sitting.times import day_in_full

MORNING = timedelta(hours=9)
"""How long after midnight a whole day is reminded of: common practice, no source."""
_EPOCH = datetime(2020, 1, 1, tzinfo=UTC)
"""From when seconds are counted for the number that goes up with each writing."""
_YEAR = timedelta(days=366)


def calendar_of(sheet: OrderSheet, reminders: Iterable[Reminder], now: datetime) -> bytes:
    """Return *reminders* of *sheet* as a calendar, written *now*.

    An event has the same name (UID) in every calendar of a sheet, and a higher number (SEQUENCE)
    in a later one: importing again puts it in the place of the earlier one.
    """
    whole = Calendar()
    name = _marked(sheet, words.CALENDAR)
    for field, value in (
        ("prodid", "-//Kitchen Table Coach//EN"),
        ("version", "2.0"),
        ("calscale", "GREGORIAN"),
        ("method", "PUBLISH"),
        ("name", name),
        ("x-wr-calname", name),
    ):
        whole.add(field, value)
    for reminder in reminders:
        for event in _events(sheet, reminder, now):
            whole.add_component(event)
    # From a year before, so that each zone says by which clock the first event goes.
    whole.add_missing_timezones((now - _YEAR).date(), (now + AHEAD + _YEAR).date())
    return bytes(whole.to_ical())


def same_calendar(raw: bytes) -> bool:
    """Tell whether *raw* is read as a calendar, and written again as the same."""
    try:
        return bytes(Calendar.from_ical(raw).to_ical()) == raw
    except ValueError:
        return False


def _events(sheet: OrderSheet, reminder: Reminder, now: datetime) -> Iterator[Event]:
    event = _event(sheet, reminder, reminder.starts, now)
    if reminder.days and reminder.last != reminder.starts:
        last = reminder.last
        until = last.astimezone(UTC) if isinstance(last, datetime) else last
        event.add("rrule", {"freq": "daily", "interval": reminder.days, "until": until})
    yield event
    for wall, at in reminder.moved:
        instead = _event(sheet, reminder, at, now)
        instead.add("recurrence-id", wall)
        yield instead


def _event(sheet: OrderSheet, reminder: Reminder, at: datetime | date, now: datetime) -> Event:
    event, summary = Event(), _marked(sheet, words.SUMMARIES[reminder.kind])
    event.add("uid", url_of("reminder", sheet.sheet.id, reminder.name).rpartition(":")[2])
    event.add("dtstamp", now.astimezone(UTC))
    event.add("last-modified", now.astimezone(UTC))
    event.add("sequence", max(0, (now - _EPOCH) // timedelta(seconds=1)))
    event.add("dtstart", at)
    whole_day = not isinstance(at, datetime)
    if takes := DAY if whole_day else reminder.takes:
        event.add("duration", takes)
    event.add("summary", summary)
    event.add("description", _description(sheet, reminder.kind, now))
    event.add("class", "PRIVATE")
    event.add("transp", "TRANSPARENT")
    alarm = Alarm()
    alarm.add("action", "DISPLAY")
    alarm.add("description", summary)
    alarm.add("trigger", MORNING if whole_day else timedelta())
    event.add_component(alarm)
    return event


def _description(sheet: OrderSheet, kind: str, now: datetime) -> str:
    """Return what to know beside the time: what a reminder is not, and whom to call."""
    people, zone = sheet.contacts, ZoneInfo(sheet.time_zone)
    caution = words.CAUTION.format(
        nurse=people.nurse.phone,
        pharmacist=people.pharmacist.phone,
        emergency=people.emergency_number,
    )
    written = words.WRITTEN_ON.format(
        day=day_in_full(now, zone), sheet=sheet.sheet.id, version=sheet.sheet.version
    )
    return "\n".join(filter(None, (words.BESIDE.get(kind), caution, written)))


def _marked(sheet: OrderSheet, text: str) -> str:
    return words.INVENTED.format(text=text) if sheet.demonstration else text
