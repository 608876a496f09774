"""The supplies in words: what is there, how long it lasts, what is written down of it.

Owns the order in which an item is told, on a screen and in plain lines, and the talk about it in
lines. It must never work out a number.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from datetime import date, tzinfo
from typing import TypeVar

from coach import words
from coach.clean import one_line
from coach.errors import CoachError, OrderError
from coach.orders.supplies import KINDS, Batch, Entry
from coach.orders.times import day_starts
from coach.records.spoken import until_in_words
from coach.says import supplies as supply_words
from coach.sitting.stock import AHEAD, Item, Supplies
from coach.sitting.times import day_and_time, day_in_words, is_midnight

T = TypeVar("T")

ENTRIES_SHOWN = 5
"""How many of the last entries are told."""
BACK = ("back", "quit", "leave", "q")
"""What leads back, one question at a time: nobody who wants to leave is asked on."""


def capital(name: str) -> str:
    """Return *name* with a capital letter, to begin a line."""
    return name[:1].upper() + name[1:]


def item_line(supplies: Supplies, item: Item) -> str:
    """Return what is there of *item*, how long it lasts and by when to order."""
    zone, today = supplies.desk.zone, _today(supplies)
    if item.number is None:
        return supply_words.STOCK_ONE.format(
            name=capital(item.name), says=supply_words.STOCK_UNKNOWN
        )
    if item.number < 0:
        says = [supply_words.STOCK_SHORT.format(number=f"{-item.number:,}")]
    else:
        says = [supply_words.STOCK_THERE.format(number=f"{item.number:,}")]
    if item.runs_out is None:
        says.append(supply_words.STOCK_LASTS_LONG.format(days=AHEAD.days))
    elif item.doses:
        # "Before 00:00 on a day" is before that day.
        told = day_in_words if is_midnight(item.runs_out, zone) else day_and_time
        says.append(supply_words.STOCK_LASTS.format(time=told(item.runs_out, zone)))
    else:
        says.append(supply_words.STOCK_LASTS_NOT)
    if item.order_by is not None and item.order_by > today:
        says.append(
            supply_words.STOCK_ORDER_BY.format(
                day=day_in_words(day_starts(item.order_by, zone), zone)
            )
        )
    elif item.runs_out is not None and (item.order_by is not None or not item.doses):
        phone = supplies.desk.sheet.contacts.pharmacist.phone
        says.append(supply_words.STOCK_ORDER_NOW.format(phone=phone))
    return supply_words.STOCK_ONE.format(name=capital(item.name), says=" ".join(says))


def old_lines(supplies: Supplies, item: Item) -> Iterator[str]:
    """Say what of *item* is too old, or will be before its turn."""
    now = supplies.desk.clock.now().at
    for batch in item.too_old:
        assert batch.discard is not None
        text = supply_words.STOCK_TOO_OLD if batch.discard > now else supply_words.STOCK_PAST_DATE
        until = until_in_words(batch.discard, supplies.desk.zone)
        yield text.format(number=f"{batch.number:,}", time=until)


def batch_lines(supplies: Supplies, item: Item) -> Iterator[str]:
    """Say what of *item* is there by date, the first to expire first."""
    if item.dates:
        yield supply_words.STOCK_FIRST
        for batch in item.batches:
            yield _batch_line(batch, supplies.desk.zone)


def _batch_line(batch: Batch, zone: tzinfo) -> str:
    number = f"{batch.number:,}"
    if batch.discard is None:
        return supply_words.STOCK_BATCH_BARE.format(number=number)
    text = supply_words.STOCK_BATCH_LOT if batch.lots else supply_words.STOCK_BATCH
    until, lots = until_in_words(batch.discard, zone), ", ".join(batch.lots)
    return text.format(number=number, time=until, lot=lots)


def entry_lines(supplies: Supplies, item: Item) -> Iterator[str]:
    """Say what was written down last of *item*, the newest first."""
    for entry in supplies.entries(item.key, ENTRIES_SHOWN):
        yield _entry_line(entry, supplies.desk.zone)


def _entry_line(entry: Entry, zone: tzinfo) -> str:
    text = supply_words.STOCK_CAME if entry.kind == "delivered" else supply_words.STOCK_COUNTED
    day = day_in_words(entry.at, zone)
    return text.format(day=day, number=f"{entry.number:,}", reason=entry.reason)


def _today(supplies: Supplies) -> date:
    return supplies.desk.clock.now().at.astimezone(supplies.desk.zone).date()


def unread_lines(supplies: Supplies) -> Iterator[str]:
    """Say how many doses of the record cannot be read, where there are any."""
    if number := supplies.unreadable():
        yield supply_words.STOCK_UNREAD.format(number=number)


def supply_lines(supplies: Supplies) -> Iterator[str]:
    """Say all there is to say of every item, one sentence a line."""
    items = supplies.items()
    if not items:
        yield supply_words.STOCK_NONE
    for item in items:
        yield item_line(supplies, item)
        yield from batch_lines(supplies, item)
        yield from old_lines(supplies, item)
    yield from unread_lines(supplies)
    yield supply_words.STOCK_KEPT_BACK


def write_down(supplies: Supplies, kind: str, key: str, typed: Mapping[str, str]) -> None:
    """Write down an entry of *kind* for the item called *key*, as typed on a command line.

    The date of a count tells which pieces were counted. Raises OrderError if there is no such
    item or an answer cannot be taken.
    """
    item = supplies.item(key)
    if item is None:
        items = ", ".join(each.key for each in supplies.items())
        raise OrderError(supply_words.STOCK_NO_ITEM.format(item=one_line(key), items=items))
    supplies.keep(kind, item, typed)


class Talk:
    """A talk about the supplies in lines."""

    def __init__(
        self, supplies: Supplies, say: Callable[[str], None], hear: Callable[[], str]
    ) -> None:
        """Tell *supplies* with *say*, and take each line that *hear* returns."""
        self.supplies = supplies
        self.say = say
        self.hear = hear

    def run(self) -> None:
        """Tell what is there, and write down what is said of it, until Enter alone.

        Where the procedures or the record cannot be used, it is told and the talk is over.
        """
        try:
            self._talk()
        except CoachError as error:
            self._say_all(str(error).splitlines())

    def _talk(self) -> None:
        while (item := self._which()) is not None:
            self._tell(item)
            kind = self._pick({str(number): kind for number, kind in enumerate(KINDS, 1)})
            if kind is not None:
                self._write_down(kind, item)

    def _which(self) -> Item | None:
        items = self.supplies.items()
        for number, item in enumerate(items, 1):
            line = item_line(self.supplies, item)
            self.say(supply_words.STOCK_NUMBERED.format(number=number, says=line))
            self._say_all(old_lines(self.supplies, item))
        self._say_all(unread_lines(self.supplies))
        self._say_all((supply_words.STOCK_KEPT_BACK, supply_words.TYPE_SUPPLIES))
        return self._pick({str(number): item for number, item in enumerate(items, 1)})

    def _tell(self, item: Item) -> None:
        self._say_all(batch_lines(self.supplies, item))
        self._say_all(entry_lines(self.supplies, item))
        self.say(supply_words.STOCK_WHAT)
        for number, kind in enumerate(KINDS, 1):
            self.say(
                supply_words.STOCK_NUMBERED.format(
                    number=number, says=supply_words.STOCK_KINDS[kind]
                )
            )
        self.say(supply_words.TYPE_STOCK_KIND)

    def _pick(self, known: Mapping[str, T]) -> T | None:
        """Return what the number that is heard stands for in *known*; None for going back."""
        while (heard := self.hear()) not in known:
            if heard.casefold() in ("", *BACK):
                return None
            self.say(words.NOT_KNOWN)
        return known[heard]

    def _write_down(self, kind: str, item: Item) -> None:
        self.say(supply_words.TYPE_STOCK)
        typed: dict[str, str] = {}
        for name in self.supplies.asks(kind, item):
            self.say(supply_words.STOCK_ASKS[name])
            heard = self._answer(kind, item, name)
            if heard is None:
                return
            typed[name] = heard
        self.supplies.keep(kind, item, typed)
        self.say(supply_words.STOCK_KEPT)

    def _answer(self, kind: str, item: Item, name: str) -> str | None:
        """Return what is heard for *name* once it can be taken; None for going back."""
        while (heard := self.hear()).casefold() not in BACK:
            try:
                self.supplies.check(kind, item, name, heard)
            except OrderError as refused:
                self.say(str(refused))
            else:
                return heard
        return None

    def _say_all(self, lines: Iterable[str]) -> None:
        for line in lines:
            self.say(line)
