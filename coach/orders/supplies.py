"""What is in stock, for how long it lasts, and by when to order more.

Owns the sums alone: what was counted in, what was used and what is due come in as plain data.
A number is always a whole number of pieces. It must never know a step, a screen or a file.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from datetime import UTC, date, datetime, timedelta, tzinfo

import msgspec

from coach.orders.schedule import span
from coach.orders.sheet import Delivery

KINDS = ("delivered", "counted")
"""How a number of pieces comes into the record: brought, or counted by hand."""

MOST = 9999
"""Pieces in one entry; more is a slip of the key."""

SPOILED_BEFORE, DOSES_BEFORE = 1, 10
"""Where the record says nothing yet, one piece is taken to be spoiled in so many doses. Common
practice, no source."""
CHANCE = 4
"""How many standard deviations are added to what is spoiled on average, as chance bunches it. What
falls by chance, some pieces at a time, has the variance of its average times those pieces (from
memory: the compound Poisson distribution)."""
_FINE = 100
"""Parts of one piece in which that is worked out, each rounded up."""


class Entry(msgspec.Struct, frozen=True):
    """One entry in the record of the stock, as it was kept; none is ever changed."""

    id: int
    at: datetime
    """Aware. When it was written down."""
    kind: str
    """One of `KINDS`."""
    item: str
    number: int
    discard: datetime | None
    """Aware. Until when these pieces may be used; None where no date is known."""
    lot: str
    reason: str
    """Why the count is another than the sum; empty for a delivery."""
    sitting: int
    """The sitting that was the last one when this was written down; 0 for none."""
    seq: int
    """The last event of that sitting then: what was used up to it is not counted again."""


class Use(msgspec.Struct, frozen=True):
    """Pieces of one item that were used in a dose."""

    item: str
    number: int
    sitting: int
    seq: int
    """The event by which they were used; 0 for the sitting as a whole."""
    at: datetime
    """Aware."""
    told: frozenset[datetime] = frozenset()
    """The discard times, in UTC, that were read off in that dose."""
    after: int = 0
    """The last entry that stands before it, where several stand after the same event."""


class Batch(msgspec.Struct, frozen=True):
    """Pieces with the same discard time."""

    discard: datetime | None
    """Aware; None where no date is known."""
    number: int
    """Below 0 where more was used than was ever counted in."""
    lots: tuple[str, ...] = ()


class Habit(msgspec.Struct, frozen=True):
    """How much of one item was spoiled so far."""

    doses: int = 0
    """Doses of the record that were looked at."""
    extra: int = 0
    """Pieces that they used beyond what they would have, with nothing spoiled."""
    most: int = 0
    """The most pieces beyond that in any one of them."""


class Need(msgspec.Struct, frozen=True):
    """What one dose ahead uses of one item, with nothing spoiled."""

    due: datetime
    """Aware."""
    until: datetime
    """Aware. The latest end of the dose: a piece that expires before cannot be used in it."""
    number: int


class Forecast(msgspec.Struct, frozen=True):
    """How long the stock of one item lasts."""

    runs_out: datetime | None
    """Aware. The first due time for which there may not be enough; None if none was found."""
    doses: int
    """Doses ahead, before that one."""
    too_old: tuple[Batch, ...]
    """What will expire, or has expired, before it can be used, the first to expire first."""


def batches(entries: Iterable[Entry], uses: Iterable[Use]) -> tuple[Batch, ...]:
    """Return what is there of one item, by discard time, the first to expire first.

    A delivery adds pieces; a count replaces what was there with the same discard time; a use takes
    those with a discard time that was read off in that dose, or else the first to expire. What was
    used before the first entry does not count. The sum is never rounded up to 0: below it, more
    was used than was counted in. Without any entry there are no batches.
    """
    shelf = _Shelf()
    for row in _in_order(entries, uses):
        shelf.take_in(row)
    return shelf.batches()


def _in_order(entries: Iterable[Entry], uses: Iterable[Use]) -> list[Entry | Use]:
    rows: list[tuple[tuple[int, int, int, int], Entry | Use]] = [
        ((entry.sitting, entry.seq, entry.id, 0), entry) for entry in entries
    ]
    rows += [((use.sitting, use.seq, use.after, 1), use) for use in uses]
    return [row for _, row in sorted(rows, key=lambda each: each[0])]


Kept = dict[str, list[tuple[str | None, int, tuple[str, ...]]]]
"""What is there of each item, as text can hold it: discard time in UTC, number, lots."""


class Sums:
    """What is there of each item, while the record is gone through in its order."""

    def __init__(self, kept: Kept | None = None) -> None:
        """Go on from what was *kept*; from nothing without it.

        Raises ValueError where a time in it is none.
        """
        self._shelves = {item: _Shelf(rows) for item, rows in (kept or {}).items()}

    def take_in(self, entries: Iterable[Entry], uses: Iterable[Use]) -> None:
        """Go through *entries* and *uses*, all of which follow what was gone through before."""
        for row in _in_order(entries, uses):
            if isinstance(row, Entry) or row.item in self._shelves:
                self._shelves.setdefault(row.item, _Shelf()).take_in(row)

    def items(self) -> tuple[str, ...]:
        """Return every item that has an entry."""
        return tuple(self._shelves)

    def batches(self, item: str) -> tuple[Batch, ...]:
        """Return what `batches` would of *item*."""
        return self._shelves[item].batches() if item in self._shelves else ()

    def kept(self) -> Kept:
        """Return all of it as text can hold it."""
        return {item: shelf.kept() for item, shelf in sorted(self._shelves.items())}


class _Shelf:
    """The pieces of one item, while the record is gone through."""

    def __init__(
        self, kept: Iterable[tuple[str | None, int, tuple[str, ...]]] | None = None
    ) -> None:
        self.known = kept is not None
        self._numbers: dict[datetime | None, int] = {}
        self._lots: dict[datetime | None, tuple[str, ...]] = {}
        for text, number, lots in kept or ():
            discard = None if text is None else datetime.fromisoformat(text)
            self._numbers[discard], self._lots[discard] = number, tuple(lots)

    def kept(self) -> list[tuple[str | None, int, tuple[str, ...]]]:
        return [
            (
                one.astimezone(UTC).isoformat() if one else None,
                self._numbers[one],
                self._lots.get(one, ()),
            )
            for one in self._in_order()
        ]

    def take_in(self, row: Entry | Use) -> None:
        if isinstance(row, Entry):
            self.enter(row)
        elif self.known:
            self.use(row)
        for discard in [discard for discard, number in self._numbers.items() if not number]:
            # What was used up is over, its lots with it: years of it are not carried along.
            del self._numbers[discard]
            self._lots.pop(discard, None)

    def enter(self, entry: Entry) -> None:
        self.known = True
        if entry.kind == "counted":
            self._numbers[entry.discard] = entry.number
            if self._numbers.get(None, 0) < 0:
                self._numbers[None] = 0  # who counts sees what is there, whatever the sum was
        else:
            self._numbers[entry.discard] = self._numbers.get(entry.discard, 0) + entry.number
        lots = self._lots.get(entry.discard, ())
        if entry.lot and entry.lot not in lots:
            self._lots[entry.discard] = (*lots, entry.lot)
        self._settle()

    def use(self, use: Use) -> None:
        for _ in range(use.number):
            there = [discard for discard in self._in_order() if self._numbers[discard] > 0]
            told = [discard for discard in there if discard in use.told]
            good = [discard for discard in there if discard is None or discard > use.at]
            taken = next(iter((*told, *good, *there)), None)
            self._numbers[taken] = self._numbers.get(taken, 0) - 1

    def _settle(self) -> None:
        """Take what was used before it was counted in off what has come."""
        for discard in self._in_order():
            owed = -self._numbers.get(None, 0)
            if discard is not None and owed > 0 and self._numbers[discard] > 0:
                paid = min(owed, self._numbers[discard])
                self._numbers[discard] -= paid
                self._numbers[None] += paid

    def _in_order(self) -> list[datetime | None]:
        dated = sorted(discard for discard in self._numbers if discard is not None)
        return [*dated, *([None] if None in self._numbers else [])]

    def batches(self) -> tuple[Batch, ...]:
        """Return what is left; where nothing is, one batch says so."""
        found = tuple(
            Batch(discard, self._numbers[discard], self._lots.get(discard, ()))
            for discard in self._in_order()
            if self._numbers[discard]
        )
        return found or ((Batch(None, 0),) if self.known else ())


def in_all(there: Iterable[Batch]) -> int:
    """Return how many pieces there are, past their date or not; below 0 as in `batches`."""
    return sum(batch.number for batch in there)


def kept_back(habit: Habit, doses: int) -> int:
    """Return how many pieces are kept back for what may be spoiled in so many *doses*.

    As many as the worst dose has spoiled, and on top of that the average of the record with what
    chance adds. Doses that spoil more are not foreseen; each moves the next forecast.
    """
    spoiled, of = doses * (habit.extra + SPOILED_BEFORE), habit.doses + DOSES_BEFORE
    average = -(-spoiled * _FINE // of)
    by_chance = math.isqrt(-(-spoiled * habit.most * (CHANCE * _FINE) ** 2 // of)) + 1
    return habit.most + -(-(average + by_chance) // _FINE)


def forecast(there: Sequence[Batch], needs: Sequence[Need], habit: Habit) -> Forecast:
    """Return for how long *there* lasts for *needs*, which are in order of time.

    The stock runs out at the first dose for which there is not enough beside what is kept back,
    which is at least what one dose uses, as any may have to be begun anew. That is never later
    than it does run out, as long as no more is spoiled than `kept_back` says.
    """
    worst = max([habit.most, *(need.number for need in needs)])
    foreseen = Habit(habit.doses, habit.extra, worst)
    ahead = _Ahead(there)
    for doses, need in enumerate(needs):
        # It is worst if all that is spoiled up to here is spoiled now, when what was to be used
        # first has expired.
        if ahead.good(need.until) < need.number + kept_back(foreseen, doses + 1):
            return Forecast(need.due, doses, _too_old(there, needs))
        ahead.take(need.number, need.until)
    return Forecast(None, len(needs), _too_old(there, needs))


def _too_old(there: Sequence[Batch], needs: Sequence[Need]) -> tuple[Batch, ...]:
    """Return what expires before its turn, if nothing is spoiled."""
    ahead = _Ahead(there)
    for need in needs:
        ahead.take(need.number, need.until)
    last = needs[-1].until if needs else None
    return tuple(
        Batch(batch.discard, left, batch.lots)
        for batch, left in ahead.left()
        if left > 0 and batch.discard is not None and last is not None and batch.discard < last
    )


class _Ahead:
    """The pieces of one item, while the doses ahead are gone through."""

    def __init__(self, there: Sequence[Batch]) -> None:
        self._there = there
        self._left = [batch.number for batch in there]

    def good(self, until: datetime) -> int:
        """Return how many pieces are good to *until*."""
        return sum(
            left for batch, left in self.left() if batch.discard is None or batch.discard >= until
        )

    def take(self, number: int, until: datetime) -> None:
        """Take *number* pieces that are good to *until*, or as many as there are."""
        for place, batch in enumerate(self._there):
            if self._left[place] > 0 and (batch.discard is None or batch.discard >= until):
                taken = min(number, self._left[place])
                self._left[place] -= taken
                number -= taken

    def left(self) -> Iterable[tuple[Batch, int]]:
        """Return each batch with what is left of it."""
        return zip(self._there, self._left, strict=True)


def order_by(runs_out: datetime, delivery: Delivery, zone: tzinfo) -> date:
    """Return the last day to order, in *zone*: before it *runs_out* by lead time and safety.

    A part of a day counts as a whole one, so that the day is never too late.
    """
    before = span(delivery.lead_time) + span(delivery.safety)
    return runs_out.astimezone(zone).date() - timedelta(days=math.ceil(before / timedelta(days=1)))
