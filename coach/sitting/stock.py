"""The supplies at home: what is there, for how long it lasts, and what is written down of them.

Owns the bringing together of the record, the procedure and the order sheet. No front end works
out a number that is worked out here; it must never follow a step.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import UTC, date, datetime, timedelta, tzinfo
from functools import cached_property
from typing import TYPE_CHECKING

import msgspec

from coach.clean import one_line
from coach.errors import FileProblems, OrderError
from coach.events import Event
from coach.journal.rows import SittingRow
from coach.orders.fields import LONGEST_TEXT
from coach.orders.schedule import due_times, span, window_of
from coach.orders.supplies import (
    MOST,
    Batch,
    Entry,
    Forecast,
    Need,
    Use,
    batches,
    forecast,
    in_all,
    order_by,
)
from coach.orders.times import day_starts
from coach.orders.values import parse_discard
from coach.procedure.files import bundle_of
from coach.procedure.model import Source
from coach.procedure.read import read_source
from coach.says import supplies as words
from coach.sitting.ahead import HORIZON
from coach.sitting.ahead import Entry as AheadEntry
from coach.sitting.using import (
    Given,
    Pieces,
    counted,
    habit_of,
    hoped_for,
    in_total,
    items_of,
    planned,
    uses_in,
)

if TYPE_CHECKING:
    from coach.sitting.desk import Desk

AHEAD = timedelta(days=90)
"""How far ahead the doses are looked at."""
LOOKED_BACK = 60
"""Due times of the record from which the coach learns how much is spoiled."""
FRESH = timedelta(minutes=10)
"""How long the sums hold while nothing is written down: they go by due times, and take a while."""
_EPOCH = datetime(2000, 1, 1, tzinfo=UTC)
_WHOLE = re.compile(r"[0-9]{1,4}")


class Item(msgspec.Struct, frozen=True):
    """One item of the supplies."""

    key: str
    """Its name in the procedure."""
    name: str
    """Its name in words."""
    number: int | None
    """Pieces that should be there; below 0 where more was used than was counted in; None before
    the first entry."""
    batches: tuple[Batch, ...]
    """The first to expire first."""
    runs_out: datetime | None
    """Aware. The first due time for which there may not be enough; None if none was found."""
    doses: int
    """Doses ahead for which there is enough."""
    order_by: date | None
    """The last day to order, in the sheet's zone; None if the stock lasts, or the order sheet says
    nothing of deliveries."""
    too_old: tuple[Batch, ...]
    """What will expire, or has expired, before it can be used."""

    @property
    def dates(self) -> tuple[datetime, ...]:
        """The discard times of what is there."""
        return tuple(batch.discard for batch in self.batches if batch.discard is not None)


class _Past(msgspec.Struct, frozen=True):
    """What the record says of one dose."""

    uses: tuple[Use, ...]
    hoped: Pieces
    """What it would have used, with nothing spoiled."""
    done: Mapping[str, datetime]
    """When each step that a circumstance rests on was done last."""
    readable: bool


class Supplies:
    """The supplies for the doses of one desk."""

    def __init__(self, desk: Desk) -> None:
        """Take the *desk*; nothing is read yet."""
        self.desk = desk
        self._ended: dict[int, _Past] = {}
        self._sources: dict[str, Source] = {}
        self._known: tuple[tuple[int, ...], tuple[Item, ...]] | None = None

    # What there is

    def items(self) -> tuple[Item, ...]:
        """Return every item that a dose asks for, or that was ever written down.

        Raises FileProblems if the procedures cannot be read, JournalError if the record cannot.
        """
        entries, rows = self.desk.journal.stock.entries(), self._doses()
        so_far = self._so_far(entries, rows)
        if self._known is None or self._known[0] != so_far:
            self._known = so_far, self._items(entries, rows)
        return self._known[1]

    def _so_far(self, entries: Sequence[Entry], rows: Sequence[SittingRow]) -> tuple[int, ...]:
        """Return by which numbers it is seen that nothing has happened since they were the same."""
        events = 0 if not rows or rows[-1].ended else len(self.desk.journal.events(rows[-1].id))
        ended = sum(bool(row.ended) for row in rows)
        now = self.desk.clock.now().at - _EPOCH
        return len(entries), len(rows), ended, events, now // FRESH

    def _items(self, entries: Sequence[Entry], rows: Sequence[SittingRow]) -> tuple[Item, ...]:
        uses = [use for row in rows for use in self._past(row).uses]
        given = self._given(rows)
        behind = planned(self._source, self.desk.sheet, [each.due for each in given])
        needs = self._needs(given, self._last_done(rows))
        found = []
        for key in self._keys(entries):
            there = batches(
                [entry for entry in entries if entry.item == key],
                [use for use in uses if use.item == key],
            )
            habit = habit_of(key, given[-LOOKED_BACK:], behind[-LOOKED_BACK:])
            found.append(self._item(key, there, forecast(there, needs.get(key, ()), habit)))
        return tuple(found)

    def item(self, key: str) -> Item | None:
        """Return the item called *key*, in the procedure or in words; None if there is none."""
        return next((item for item in self.items() if key in (item.key, item.name)), None)

    def entries(self, key: str) -> tuple[Entry, ...]:
        """Return what was written down of the item *key*, the newest first."""
        every = self.desk.journal.stock.entries()
        return tuple(entry for entry in reversed(every) if entry.item == key)

    def ahead(self) -> tuple[AheadEntry, ...]:
        """Return what the day has to say of the stock: what to order, what lacks, what expires.

        Raises FileProblems if the procedures cannot be read, JournalError if the record cannot.
        """
        zone, until = self.desk.zone, self.desk.clock.now().at + HORIZON
        found: dict[tuple[str, datetime], list[str]] = {}
        for item in self.items():
            for kind, at in _days_of(item, zone):
                if at <= until:
                    found.setdefault((kind, at), []).append(item.name)
        return tuple(
            AheadEntry(kind, at, whole_day=True, what=", ".join(names))
            for (kind, at), names in found.items()
        )

    def unreadable(self) -> int:
        """Return how many doses of the record cannot be read by this program.

        Each is taken to have used what a new dose uses with nothing spoiled.
        """
        return sum(not self._past(row).readable for row in self._doses())

    def _keys(self, entries: Iterable[Entry]) -> tuple[str, ...]:
        wanted = items_of(self._source, self.desk.sheet)
        return tuple(dict.fromkeys([*wanted, *(entry.item for entry in entries)]))

    def _item(self, key: str, there: tuple[Batch, ...], found: Forecast) -> Item:
        delivery, zone = self.desk.sheet.delivery, self.desk.zone
        runs_out = found.runs_out if there else None
        return Item(
            key=key,
            name=in_words(key),
            number=in_all(there) if there else None,
            batches=there,
            runs_out=runs_out,
            doses=found.doses,
            order_by=order_by(runs_out, delivery, zone) if runs_out and delivery else None,
            too_old=found.too_old,
        )

    # What the doses use

    def _doses(self) -> tuple[SittingRow, ...]:
        """Return the doses of the record, whatever their order sheet, the first one first."""
        rows = self.desk.journal.every_sitting()
        return tuple(row for row in reversed(rows) if row.kind == "dose")

    def _past(self, row: SittingRow) -> _Past:
        """Return what *row* used; what has ended is looked into once."""
        found = self._ended.get(row.id) or self._looked_into(row)
        if row.ended:
            self._ended[row.id] = found
        return found

    def _looked_into(self, row: SittingRow) -> _Past:
        try:
            source = self._source_of(row.procedure_hash)
            events = self.desk.journal.events(row.id)
            uses = uses_in(source, row.choices, row.id, events, self.desk.zone)
            return _Past(uses, hoped_for(source, row.choices), _steps_done(source, events), True)
        except (FileProblems, OrderError, KeyError):
            at = row.begun.at
            [hoped] = planned(self._source, self.desk.sheet, [row.due])
            uses = tuple(Use(item, number, row.id, 0, at) for item, number in hoped.items())
            return _Past(uses, hoped, {}, False)

    @cached_property
    def _source(self) -> Source:
        return read_source(bundle_of(self.desk.procedures))

    def _source_of(self, sha256: str) -> Source:
        """Return a procedure of the record, read once: its doses mostly share one."""
        if sha256 not in self._sources:
            self._sources[sha256] = read_source(json.loads(self.desk.journal.source(sha256)))
        return self._sources[sha256]

    def _given(self, doses: Sequence[SittingRow]) -> tuple[Given, ...]:
        """Return what was used for each due time that has had its dose, in order of time."""
        by_due: dict[datetime, list[SittingRow]] = {}
        for row in doses:
            by_due.setdefault(row.due.astimezone(UTC), []).append(row)
        return tuple(
            Given(
                due=due,
                used=in_total(
                    {use.item: use.number} for row in rows for use in self._past(row).uses
                ),
                hoped=self._past(rows[-1]).hoped,
            )
            for due, rows in sorted(by_due.items())
            if rows[-1].ended == "finished"
        )

    def _last_done(self, doses: Sequence[SittingRow]) -> dict[str, datetime]:
        """Return when the step of each circumstance was done last, by the name of its choice.

        Where the last dose must have ended in some way as well, nothing is said of it.
        """
        own = [row for row in doses if row.sheet_id == self.desk.sheet.sheet.id]
        found: dict[str, datetime] = {}
        for asked in self._source.circumstances:
            done = [at for row in own if (at := self._past(row).done.get(asked.step)) is not None]
            if done and not asked.left:
                found[asked.choice] = done[-1]
        return found

    def _needs(
        self, given: Sequence[Given], last_done: Mapping[str, datetime]
    ) -> dict[str, list[Need]]:
        """Return what each dose ahead needs of each item, in order of time."""
        sheet, now = self.desk.sheet, self.desk.clock.now().at
        found = due_times(sheet, now - span(sheet.doses.window), now + AHEAD)
        under_way = self.desk.journal.under_way()
        dues = {due.astimezone(UTC) for due in found} - {each.due for each in given}
        if under_way is not None:
            dues.add(under_way.due.astimezone(UTC))
        ahead = sorted(dues)
        ends = [window_of(sheet, due)[1] + span(sheet.medicine.infusion_time) for due in ahead]
        plan = planned(self._source, sheet, ahead, last_done)
        return {
            item: [
                Need(due, until, each.get(item, 0))
                for due, until, each in zip(ahead, ends, plan, strict=True)
            ]
            for item in {name for each in plan for name in each}
        }

    # What is written down

    def asks(self, kind: str, item: Item) -> tuple[str, ...]:
        """Return what has to be typed for an entry of *kind*, in order.

        Each is a name in `words.STOCK_ASKS`. A count asks for the date only where pieces with
        several are there.
        """
        if kind == "delivered":
            return ("number", "discard", "lot")
        return ("number", "which", "reason") if len(item.batches) > 1 else ("number", "reason")

    def check(self, kind: str, item: Item, name: str, typed: str) -> None:
        """See that *typed* is an answer to what `asks` calls *name*. Raises OrderError."""
        if name == "number":
            _number(typed, least=1 if kind == "delivered" else 0)
        elif name == "which":
            self._which(item, typed)
        elif name == "discard":
            self._discard(typed)
        else:
            _text(typed, needed=name == "reason")

    def keep(self, kind: str, item: Item, typed: Mapping[str, str]) -> Entry:
        """Write down an entry of *kind* for *item*; *typed* answers what `asks` names.

        Raises OrderError if an answer cannot be taken, JournalError if nothing was kept.
        """
        if kind == "delivered":
            which = self._discard(typed.get("discard", ""))
        else:
            which = self._counted(item, typed)
        return self.desk.journal.stock.keep(
            at=self.desk.clock.now().at,
            kind=kind,
            item=item.key,
            number=_number(typed["number"], least=1 if kind == "delivered" else 0),
            discard=which,
            lot=_text(typed.get("lot", ""), needed=False),
            reason=_text(typed.get("reason", ""), needed=kind == "counted"),
        )

    def _discard(self, typed: str) -> datetime | None:
        """Return the discard time that was *typed*, in UTC; None for nothing."""
        if not typed.strip():
            return None
        found = parse_discard(one_line(typed), self.desk.zone)
        if found <= self.desk.clock.now().at:
            raise OrderError(words.STOCK_PAST)
        return found

    def _counted(self, item: Item, typed: Mapping[str, str]) -> datetime | None:
        """Return the discard time of the pieces that were counted: never a guess among several."""
        if "which" in typed:
            return self._which(item, typed["which"])
        if len(item.batches) > 1:
            raise OrderError(words.STOCK_WHICH)
        return item.dates[0] if item.dates else None

    def _which(self, item: Item, typed: str) -> datetime | None:
        """Return which of the discard times of *item* was *typed*; None for those with none."""
        if not item.batches:
            return self._discard(typed)
        if not typed.strip():
            if any(batch.discard is None for batch in item.batches):
                return None
            raise OrderError(words.STOCK_NOT_THERE)
        found = parse_discard(one_line(typed), self.desk.zone)
        if found not in item.dates:
            raise OrderError(words.STOCK_NOT_THERE)
        return found


def _days_of(item: Item, zone: tzinfo) -> Iterator[tuple[str, datetime]]:
    """Yield the days on which something has to be done about *item*, each with its kind."""
    if item.order_by is not None:
        yield "reorder", day_starts(item.order_by, zone)
    if item.runs_out is not None and (item.order_by is None or not item.doses):
        yield "runs-out", day_starts(item.runs_out.astimezone(zone).date(), zone)
    for batch in item.too_old:
        if batch.discard is not None:
            last = batch.discard - timedelta(minutes=1)  # midnight is the end of the day before
            yield "expires", day_starts(last.astimezone(zone).date(), zone)


def in_words(key: str) -> str:
    """Return the name of an item as it is said: ``saline_syringe`` is a saline syringe."""
    return key.replace("_", " ")


def _steps_done(source: Source, events: Iterable[Event]) -> dict[str, datetime]:
    """Return when each step that a circumstance rests on was done last, by its id."""
    steps = {asked.step for asked in source.circumstances if asked.step}
    return {event.step: event.at.at for event in counted(events) if event.step in steps}


def _number(typed: str, *, least: int) -> int:
    written = one_line(typed)
    if not _WHOLE.fullmatch(written) or not least <= int(written) <= MOST:
        raise OrderError(words.STOCK_NUMBER.format(least=least, most=f"{MOST:,}"))
    return int(written)


def _text(typed: str, *, needed: bool) -> str:
    written = one_line(typed)
    if needed and not written:
        raise OrderError(words.STOCK_REASON)
    if len(written) > LONGEST_TEXT:
        raise OrderError(words.STOCK_LONG.format(most=LONGEST_TEXT))
    return written
