"""The supplies at home: what is there, for how long it lasts, and what is written down of them.

Owns the bringing together of the record, the procedure and the order sheet. No front end works
out a number that is worked out here; it must never follow a step.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from datetime import UTC, date, datetime, timedelta, tzinfo
from typing import TYPE_CHECKING

import msgspec

from coach.clean import one_line
from coach.errors import OrderError
from coach.journal.records import OnPaper
from coach.orders.fields import LONGEST_TEXT
from coach.orders.schedule import due_times, span, window_of
from coach.orders.supplies import (
    MOST,
    Batch,
    Entry,
    Forecast,
    Need,
    forecast,
    in_all,
    order_by,
)
from coach.orders.times import day_starts
from coach.orders.values import parse_discard
from coach.says import supplies as words
from coach.sitting.ahead import HORIZON
from coach.sitting.ahead import Entry as AheadEntry
from coach.sitting.reckoning import LOOKED_BACK, Reckoning, SoFar
from coach.sitting.using import Given, habit_of, items_of, planned

if TYPE_CHECKING:
    from coach.sitting.desk import Desk

AHEAD = timedelta(days=90)
"""How far ahead the doses are looked at."""
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


class Supplies:
    """The supplies for the doses of one desk."""

    def __init__(self, desk: Desk) -> None:
        """Take the *desk*; nothing is read yet."""
        self.desk = desk
        self.reckoning = Reckoning(desk)
        self._known: tuple[tuple[object, ...], SoFar, tuple[Item, ...]] | None = None

    # What there is

    def items(self) -> tuple[Item, ...]:
        """Return every item that a dose asks for, or that was ever written down.

        Raises FileProblems if the procedures cannot be read, JournalError if the record cannot.
        """
        return self._now()[1]

    def _now(self) -> tuple[SoFar, tuple[Item, ...]]:
        """Return what the record comes to; worked out anew once something has happened."""
        stands, now = self.desk.journal.stock.stands(), self.desk.clock.now().at - _EPOCH
        key = (*stands, now // FRESH)
        if self._known is None or self._known[0] != key:
            so_far = self.reckoning.so_far(stands)
            self._known = key, so_far, tuple(self._items(so_far))
        return self._known[1:]

    def _items(self, so_far: SoFar) -> Iterator[Item]:
        source, sheet, given = self.reckoning.source, self.desk.sheet, so_far.given
        behind = planned(source, sheet, [each.due for each in given])
        needs = self._needs(given, so_far.done)
        for key in dict.fromkeys((*items_of(source, sheet), *so_far.sums.items())):
            there = so_far.sums.batches(key)
            habit = habit_of(key, given[-LOOKED_BACK:], behind[-LOOKED_BACK:])
            yield self._item(key, there, forecast(there, needs.get(key, ()), habit))

    def item(self, key: str) -> Item | None:
        """Return the item called *key*, in the procedure or in words; None if there is none."""
        return next((item for item in self.items() if key in (item.key, item.name)), None)

    def entries(self, key: str, most: int) -> tuple[Entry, ...]:
        """Return what was written down of the item *key*, the newest first, *most* of it."""
        return self.desk.journal.stock.of_item(key, most)

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
        """Return how many doses since the first entry cannot be read by this program.

        Each is taken to have used what a new dose uses with nothing spoiled.
        """
        return self._now()[0].unreadable

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

    def _needs(self, given: Sequence[Given], done: Mapping[str, datetime]) -> dict[str, list[Need]]:
        """Return what each dose ahead needs of each item, in order of time."""
        sheet, now = self.desk.sheet, self.desk.clock.now().at
        source, since = self.reckoning.source, now - span(sheet.doses.window)
        paper = self.desk.journal.records.between(OnPaper, sheet.sheet.id, since, now + AHEAD)
        had = {due.astimezone(UTC) for due in (*(g.due for g in given), *(p.due for p in paper))}
        dues = {due.astimezone(UTC) for due in due_times(sheet, since, now + AHEAD)} - had
        under_way = self.desk.journal.under_way()
        if under_way is not None:
            dues.add(under_way.due.astimezone(UTC))
        last = {
            asked.choice: done[asked.step]
            for asked in source.circumstances
            if asked.step in done and not asked.left
        }
        ahead = sorted(dues)
        ends = [window_of(sheet, due)[1] + span(sheet.medicine.infusion_time) for due in ahead]
        plan = planned(source, sheet, ahead, last)
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
