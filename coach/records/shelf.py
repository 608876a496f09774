"""The records of one desk, as a front end leafs through them: some days at a time.

Owns how far back is looked, and what a search finds. It must never fold a day that nobody asked
for.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from functools import cached_property
from zoneinfo import ZoneInfo

from coach.journal.records import Asked, Called, OnPaper
from coach.orders.schedule import due_times
from coach.orders.times import day_starts
from coach.records.book import Records
from coach.records.model import DoseRecord
from coach.records.spoken import status_in_words
from coach.sitting.desk import Desk
from coach.sitting.opening import Opening
from coach.sitting.times import day_and_time

DAY = timedelta(days=1)
EVER = datetime(2000, 1, 1, tzinfo=UTC)
"""Before every dose that can be on record."""
ENOUGH = 8
"""Doses after which no further day is looked into: about what a screen holds."""
AT_ONCE = 60
"""Doses that are looked into at once for a search: one or two tenths of a second."""
MOST_DAYS = 60
"""Days that are looked into at once where they hold fewer doses than that."""
IN_TRENDS = timedelta(days=14)
NO_VISIT = timedelta(days=7)
"""How far a report goes back where no visit is on record."""


class Shelf:
    """The doses of one order sheet, day by day."""

    def __init__(self, desk: Desk) -> None:
        """Look at the doses of *desk*; nothing is read yet."""
        self.desk = desk
        self._days: dict[date, tuple[DoseRecord, ...]] = {}

    @cached_property
    def opening(self) -> Opening:
        """What opens the doses of this order sheet, the past ones as well."""
        desk = self.desk
        return Opening(
            desk.sheet, desk.sheet_raw, desk.procedures, desk.journal, desk.clock, desk.first_fault
        )

    @cached_property
    def records(self) -> Records:
        """The records. Raises FileProblems if the procedures cannot be used."""
        return Records(self.opening, self.desk.journal)

    @property
    def zone(self) -> ZoneInfo:
        """The zone of the order sheet."""
        return self.desk.zone

    def now(self) -> datetime:
        """Return the time on the machine's clock."""
        return self.desk.clock.now().at

    def today(self) -> date:
        """Return the day on the order sheet's clock."""
        return self.now().astimezone(self.zone).date()

    def older_than(self, day: date) -> bool:
        """Tell whether any dose on *day* or before it is on record. Raises JournalError."""
        sheet, ends = self.desk.sheet.sheet.id, day_starts(day + DAY, self.zone)
        if self.desk.journal.due_before(sheet, ends) is not None:
            return True
        return bool(self.desk.journal.records.between(OnPaper, sheet, EVER, ends))

    def day(self, day: date, *, closely: bool = True) -> tuple[DoseRecord, ...]:
        """Return the doses that were due on *day*, in order, as `Records.between` does.

        Raises JournalError.
        """
        if day not in self._days:
            starts, ends = (day_starts(one, self.zone) for one in (day, day + DAY))
            found = self.records.between(starts, ends, self.now(), closely=closely)
            if day >= self.today() or not closely:
                return found
            self._days[day] = found
        return self._days[day]

    def forget(self) -> None:
        """Read anew what is asked for from now on, since something was added."""
        self._days.clear()

    def back_from(
        self, day: date, words: str = "", *, closely: bool = True
    ) -> tuple[tuple[DoseRecord, ...], date]:
        """Return some doses of *day* and before it that *words* find, the newest first.

        With them comes the first day that was not looked into: there may be more from it on, even
        where none is returned, as long as anything is on record for it (`older_than`). Not
        *closely*, what the list says beside how each dose stands is left out. Raises JournalError.
        """
        found: list[DoseRecord] = []
        looked, last = 0, day - MOST_DAYS * DAY
        while len(found) < ENOUGH and looked < AT_ONCE and day > last and self.older_than(day):
            of_day = self.day(day, closely=closely)
            found += (one for one in reversed(of_day) if fits(one, words, self.zone))
            day -= DAY
            looked += len(of_day)
        return tuple(found), day

    def before(self, record: DoseRecord) -> DoseRecord | None:
        """Return the dose before *record* that was begun, if there is one."""
        row = self.desk.journal.due_before(record.sheet, record.due)
        return self.records.of(row) if row is not None else None

    def anew(self, record: DoseRecord) -> DoseRecord:
        """Return *record* as it stands now."""
        self.forget()
        day = record.due.astimezone(self.zone).date()
        return next((one for one in self.day(day) if one.id == record.id), record)

    def lately(self) -> tuple[tuple[DoseRecord, ...], datetime, datetime]:
        """Return the doses of the last days, with from when and until when."""
        now = self.now()
        return self.records.between(now - IN_TRENDS, now, now), now - IN_TRENDS, now

    def since_visit(self) -> datetime:
        """Return when the nurse was here last; where none was, some days ago."""
        last = self.desk.journal.records.last(Called, sheet_id=self.desk.sheet.sheet.id)
        return last.at if last else self.now() - NO_VISIT

    def questions(self, since: datetime) -> tuple[tuple[datetime, str], ...]:
        """Return what was written down to ask, from *since* on."""
        rows = self.desk.journal.records.every(Asked, sheet_id=self.desk.sheet.sheet.id)
        return tuple((one.at, one.words) for one in rows if one.at >= since)

    def due_then(self, typed: datetime) -> bool:
        """Tell whether a dose was due at *typed* and could have been begun by now."""
        return typed <= self.now() + DAY and bool(due_times(self.desk.sheet, typed, typed))


def fits(record: DoseRecord, words: str, zone: ZoneInfo) -> bool:
    """Tell whether each of *words* stands somewhere in what *record* says."""
    said = " ".join(_said(record, zone)).casefold()
    return all(word in said for word in words.casefold().split())


def _said(record: DoseRecord, zone: ZoneInfo) -> Iterator[str]:
    yield status_in_words(record)
    yield record.timing
    yield day_and_time(record.due, zone)
    yield from (record.medicine, record.lot, record.gave, record.pressed)
    for told in record.told:
        yield from (told.kind, told.title)
    for call in record.calls:
        yield from (call.call, call.title, call.words, call.who)
    for typed in record.typed:
        yield typed.typed
    yield from (note.words for note in record.notes)
    for why in record.reasons:
        yield from (why.words, why.who)
    for changed in record.corrections:
        yield from (changed.says, changed.who, changed.why)
