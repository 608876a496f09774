"""A calendar reminds at the times of the order sheet, in the night of a change as on any day.

RFC 5545 (read): lines end with CRLF and are folded at 75 octets; an event has a UID and a
DTSTAMP; an alarm that is shown has an ACTION, a TRIGGER and a DESCRIPTION. icalendar reads the
file; recurring-ical-events and python-dateutil, each by itself, say when events come.
"""

from __future__ import annotations

import io
from datetime import UTC, date, datetime, time, timedelta, tzinfo
from decimal import Decimal
from typing import Any

import pytest
import recurring_ical_events
from dateutil.rrule import DAILY, rrule
from dateutil.tz import tzical
from icalendar import Calendar
from msgspec.structs import replace

from coach.orders.quantities import Quantity
from coach.orders.read import sheet_from_bytes
from coach.orders.schedule import due_times, take_out_at
from coach.orders.sheet import OrderSheet
from coach.proof.reading import HIGHEST_GRADE, grade_of
from coach.records.export.calendar import calendar_of, same_calendar
from coach.records.export.reminders import AHEAD, reminders_of
from coach.says import export as words
from coach.sitting.ahead import Entry
from tests.orders.written import ALSO, AT_ROOM_TEMPERATURE, changed, sheet

WINTER, SUMMER = datetime(2027, 2, 20, 12, tzinfo=UTC), datetime(2027, 8, 20, 12, tzinfo=UTC)
"""Each less than `AHEAD` before a change of the clocks."""
BASE = sheet(("warm_up: 45 min", "warm_up: 20 min"))
WHOLE = sheet_from_bytes((changed() + ALSO).encode(), "orders.yaml")


def at_times(*times: str, zone: str = "America/New_York") -> OrderSheet:
    """Return a sheet with doses at *times* of the day."""
    doses = replace(BASE.doses, times=tuple(time.fromisoformat(one) for one in times))
    return replace(BASE, doses=doses, time_zone=zone)


def each(minutes: int) -> OrderSheet:
    """Return a sheet with a dose after so many *minutes* each."""
    first = datetime.fromisoformat("2026-11-20T09:00-05:00")
    every = Quantity(Decimal(minutes), "min")
    return replace(BASE, doses=replace(BASE.doses, times=(), every=every, first=first))


SCHEDULES = {
    "once a day": at_times("08:30"),
    "three times a day": at_times("06:00", "14:00", "22:00"),
    "in the hour that is left out": at_times("02:30", "14:30"),
    "an hour apart in that night": at_times("01:30", "02:30", "03:30", "04:45"),
    "a minute apart in that night": at_times("01:59", "03:00", zone="Europe/Berlin"),
    "half an hour of summer time": at_times("01:45", "13:45", zone="Australia/Lord_Howe"),
    "midnight left out": at_times("00:15", "12:15", zone="America/Santiago"),
    "out in the hour that comes twice": at_times("02:10", "14:10"),
    "every 8 hours": each(480),
    "every 7 hours": each(420),
    "every 36 hours": each(2160),
}


def written(orders: OrderSheet, now: datetime) -> bytes:
    """Return the calendar of *orders*, written *now*."""
    return calendar_of(orders, reminders_of(orders, now), now)


def every(whole: Calendar) -> list[Any]:
    """Return every event; their fields are of many types."""
    return list(whole.events)


def called(whole: Calendar, kind: str) -> list[Any]:
    """Return the events of one *kind*."""
    return [one for one in every(whole) if one["SUMMARY"] == words.SUMMARIES[kind]]


def by_recurring_ical_events(whole: Calendar, now: datetime) -> dict[str, list[datetime]]:
    """Return when events come, in UTC, by what they are called."""
    found: dict[str, list[datetime]] = {}
    query = recurring_ical_events.of(whole, components=["VEVENT"])
    for one in query.between(now - timedelta(days=1), now + AHEAD + timedelta(days=2)):
        if isinstance(one.start, datetime):
            found.setdefault(one["SUMMARY"], []).append(one.start.astimezone(UTC))
    return {kind: sorted(starts) for kind, starts in found.items()}


def zone_in(raw: bytes) -> tzinfo:
    """Return the zone that a calendar brings along, as dateutil reads it; else UTC."""
    text = raw.replace(b"\r\n ", b"").decode().replace("\r\n", "\n")
    found = tzical(io.StringIO(text)).get() if "VTIMEZONE" in text else UTC
    assert isinstance(found, tzinfo)
    return found


def by_dateutil(events: list[Any], zone: tzinfo) -> list[datetime]:
    """Return when *events* come, in UTC: on the wall by their rule, then by *zone*."""
    found: dict[tuple[str, datetime], datetime] = {}
    for one in events:
        if "RECURRENCE-ID" not in one:
            there = UTC if one.start.tzinfo is UTC else zone
            for wall in walls_of(one, there):
                found[str(one["UID"]), wall] = wall.replace(tzinfo=there).astimezone(UTC)
    for one in events:
        if "RECURRENCE-ID" in one:
            key = (str(one["UID"]), one["RECURRENCE-ID"].dt.replace(tzinfo=None))
            assert key in found, "it stands in the place of one that comes by the rule"
            found[key] = one.start.astimezone(UTC)
    return sorted(found.values())


def walls_of(event: Any, zone: tzinfo) -> list[datetime]:
    """Return the times on the wall in *zone* by the rule of *event*."""
    start = event.start.replace(tzinfo=None)
    if not event.rrules:
        return [start]
    [rule] = event.rrules
    assert rule["FREQ"] == ["DAILY"]
    end, until = start + AHEAD + timedelta(days=2), rule["UNTIL"][0]
    walls = rrule(DAILY, interval=rule["INTERVAL"][0], dtstart=start, until=end)
    return [wall for wall in walls if wall.replace(tzinfo=zone).astimezone(UTC) <= until]


@pytest.mark.parametrize("now", [WINTER, SUMMER])
@pytest.mark.parametrize("orders", SCHEDULES.values(), ids=SCHEDULES)
def test_doses_and_bags_come_when_they_are_due_across_both_changes(
    orders: OrderSheet, now: datetime
) -> None:
    raw = written(orders, now)
    dues = [due.astimezone(UTC) for due in due_times(orders, now, now + AHEAD)]
    outs = [out for due in dues if (out := take_out_at(orders, due)) >= now]
    offsets = {due.utcoffset() for due in due_times(orders, now, now + AHEAD)}
    assert len(offsets) == 2, "the clocks change meanwhile"
    whole = Calendar.from_ical(raw)
    theirs, zone = by_recurring_ical_events(whole, now), zone_in(raw)
    for kind, expected in (("due", dues), ("fetch", outs)):
        assert theirs[words.SUMMARIES[kind]] == expected
        assert by_dateutil(called(whole, kind), zone) == expected


def test_a_calendar_has_the_form_that_the_standard_asks_for() -> None:
    raw = written(WHOLE, WINTER)
    assert raw.endswith(b"\r\n")
    lines = raw.split(b"\r\n")
    assert all(len(line) <= 75 and b"\n" not in line and b"\r" not in line for line in lines)
    assert any(line.startswith(b" ") for line in lines), "some are folded"
    whole = Calendar.from_ical(raw)
    assert {"VERSION", "PRODID"} <= set(whole)
    assert whole.get_missing_tzids() == set()
    for event in every(whole):
        assert {"UID", "DTSTAMP", "DTSTART", "SUMMARY", "SEQUENCE", "LAST-MODIFIED"} <= set(event)
        [alarm] = event.subcomponents
        assert {"ACTION", "TRIGGER", "DESCRIPTION"} <= set(alarm)
        assert alarm["TRIGGER"].dt >= timedelta(), "no alarm comes before its time"
    assert same_calendar(raw)
    assert not same_calendar(raw[:-40])
    assert not same_calendar(b"BEGIN:VCARD")


def test_each_event_says_that_it_only_reminds_and_whom_to_call() -> None:
    whole = Calendar.from_ical(written(WHOLE, WINTER))
    for event in every(whole):
        for text in ("only a reminder", "Your order decides", "555-0100", "(555) 555-0101", "911"):
            assert text in event["DESCRIPTION"]
        assert "order sheet test-sheet, version 1" in event["DESCRIPTION"]
        assert event["CLASS"] == "PRIVATE"
        assert grade_of(str(event["DESCRIPTION"])) <= HIGHEST_GRADE


def test_a_calendar_names_no_person_and_no_medicine() -> None:
    text = written(WHOLE, WINTER).replace(b"\r\n ", b"").decode()
    assert WHOLE.medicine.name not in text
    assert WHOLE.person.initials not in text
    shown = replace(WHOLE, demonstration=True)
    assert b"SUMMARY:Demonstration: IV dose due" in written(shown, WINTER)


def imported(calendars: list[bytes]) -> dict[tuple[str, object], Any]:
    """Return the events after each of *calendars* was imported, as RFC 5546 says (2.1.5).

    Of two events with the same name the one with the higher number counts; of two with the same
    number, the one that was written later.
    """
    held: dict[tuple[str, object], Any] = {}
    for raw in calendars:
        for event in every(Calendar.from_ical(raw)):
            key = str(event["UID"]), event["RECURRENCE-ID"].dt if "RECURRENCE-ID" in event else None
            known = held.get(key)
            if known is None or rank(event) >= rank(known):
                held[key] = event
    return held


def rank(event: Any) -> tuple[int, datetime]:
    """Return what tells the later of two events."""
    return int(event["SEQUENCE"]), event["DTSTAMP"].dt


def test_importing_again_updates_and_does_not_double() -> None:
    first, again = written(WHOLE, SUMMER), written(WHOLE, SUMMER + timedelta(days=5))
    other = replace(WHOLE, doses=replace(WHOLE.doses, times=(time(7), time(19))))
    changed_then = written(other, SUMMER + timedelta(days=9))
    one, two, three = (imported([raw]) for raw in (first, again, changed_then))
    assert set(one) == set(two) == set(three)
    assert all(rank(two[key]) > rank(one[key]) for key in one)
    assert imported([first, again]) == two
    assert imported([first, again, changed_then]) == three
    assert imported([changed_then, first]) == three, "an older one changes nothing"
    assert imported([first, first]) == one
    assert written(WHOLE, SUMMER) == first


def test_an_interval_keeps_its_names_as_time_goes_on() -> None:
    names = [set(imported([written(each(7 * 60), now)])) for now in (WINTER, SUMMER)]
    assert names[0] == names[1]
    assert len(names[0]) == 2 * 24 + 1, "after 24 times 7 hours the day begins anew; and the end"


def test_what_is_changed_comes_by_days_and_what_is_late_comes_today() -> None:
    now = datetime(2026, 11, 26, 12, tzinfo=UTC)
    whole = Calendar.from_ical(written(WHOLE, now))
    [connector], [dressing], [delivery] = (
        called(whole, kind) for kind in ("connector", "dressing", "delivery")
    )
    assert (connector.start, connector.rrules[0]["INTERVAL"]) == (date(2026, 11, 27), [7])
    assert (dressing.start, dressing.rrules[0]["INTERVAL"]) == (date(2026, 11, 26), [2]), "late"
    assert delivery.start == date(2026, 11, 27)
    last = connector.rrules[0]["UNTIL"][0]
    assert last == date(2027, 2, 19), "12 weeks on, within 90 days"
    [ends] = called(whole, "renew")
    assert ends.start == date(2027, 2, 24)
    assert called(Calendar.from_ical(written(sheet(), now)), "connector") == []


def test_the_record_tells_of_batteries_and_tubing() -> None:
    due = due_times(WHOLE, WINTER, WINTER + AHEAD)[0].astimezone(UTC)
    told = (
        Entry("batteries", WINTER + timedelta(hours=30)),
        Entry("tubing", WINTER - timedelta(hours=1)),
        Entry("would-end", WINTER),
    )
    kept = {r.name: r.starts for r in reminders_of(WHOLE, WINTER, told)}
    assert kept["batteries"] == WINTER + timedelta(hours=30)
    assert kept["tubing"] == due, "what is late is new with the next dose"
    assert "would-end" not in kept
    first = WINTER + AHEAD + timedelta(days=1)
    later = replace(each(8 * 60), doses=replace(each(8 * 60).doses, first=first))
    assert [one.name for one in reminders_of(later, WINTER, told)] == ["batteries", "renew"]
    anew = {r.name: r.starts for r in reminders_of(WHOLE, WINTER, (Entry("new-tubing", due),))}
    assert anew["tubing"] == due


def test_a_bag_that_is_not_kept_cold_is_not_taken_out() -> None:
    at_room = sheet(AT_ROOM_TEMPERATURE)
    assert called(Calendar.from_ical(written(at_room, WINTER)), "fetch") == []
