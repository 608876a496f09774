"""What is there of one item, by date, and for how long it lasts."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from zoneinfo import ZoneInfo

import msgspec
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coach.orders.quantities import Quantity
from coach.orders.sheet import Delivery
from coach.orders.supplies import (
    Batch,
    Entry,
    Habit,
    Need,
    Use,
    batches,
    forecast,
    in_all,
    kept_back,
    order_by,
)

NOW = datetime(2026, 11, 25, 14, tzinfo=UTC)
SOON, LATE = NOW + timedelta(days=3), NOW + timedelta(days=40)


@dataclass
class Record:
    """Entries and uses of one item, in the order in which they are written down here."""

    entries: list[Entry] = field(default_factory=list)
    uses: list[Use] = field(default_factory=list)

    def came(self, number: int, discard: datetime | None = None, lot: str = "") -> None:
        self._enter("delivered", number, discard, lot, "")

    def counted(self, number: int, discard: datetime | None = None) -> None:
        self._enter("counted", number, discard, "", "some were dropped")

    def used(self, number: int = 1, at: datetime = NOW, told: datetime | None = None) -> None:
        seen = frozenset() if told is None else frozenset({told})
        self.uses.append(Use("bag", number, 1, len(self.uses) + 1, at, seen))

    def _enter(
        self, kind: str, number: int, discard: datetime | None, lot: str, reason: str
    ) -> None:
        place, seq = len(self.entries) + 1, len(self.uses)
        self.entries.append(Entry(place, NOW, kind, "bag", number, discard, lot, reason, 1, seq))

    @property
    def numbers(self) -> dict[datetime | None, int]:
        """What is there, by discard time."""
        return {batch.discard: batch.number for batch in batches(self.entries, self.uses)}


@pytest.fixture
def record() -> Record:
    return Record()


def test_nothing_is_said_of_what_was_never_counted(record: Record) -> None:
    record.used(3)
    assert batches(record.entries, record.uses) == ()


def test_what_was_used_before_the_first_entry_does_not_count(record: Record) -> None:
    record.used(3)
    record.came(10)
    record.used(2)
    assert record.numbers == {None: 8}


def test_the_first_to_expire_is_used_first(record: Record) -> None:
    record.came(5, LATE)
    record.came(2, SOON)
    record.came(1)
    record.used(3)
    assert record.numbers == {LATE: 4, None: 1}


def test_the_bag_whose_date_was_read_off_is_the_one_that_was_used(record: Record) -> None:
    record.came(5, LATE)
    record.came(2, SOON)
    record.used(told=LATE)
    assert record.numbers == {SOON: 2, LATE: 4}


def test_what_is_past_its_date_is_not_taken_for_used_while_there_is_another(record: Record) -> None:
    record.came(1, SOON)
    record.came(1, LATE)
    record.used(at=SOON)
    assert record.numbers == {SOON: 1}


def test_a_count_replaces_the_sum_and_the_old_entries_stay(record: Record) -> None:
    record.came(10, lot="A7")
    record.used(2)
    record.counted(5)
    record.used()
    assert record.numbers == {None: 4}
    assert [entry.number for entry in record.entries] == [10, 5]


def test_a_count_of_one_date_leaves_the_others(record: Record) -> None:
    record.came(5, LATE)
    record.came(2, SOON)
    record.counted(0, SOON)
    assert record.numbers == {LATE: 5}


def test_more_used_than_counted_in_is_taken_off_the_next_delivery(record: Record) -> None:
    record.came(1, SOON)
    record.used(3)
    assert record.numbers == {None: -2}
    record.came(5, LATE)
    assert record.numbers == {LATE: 3}


def test_whoever_counts_is_believed_though_the_sum_was_below_nothing(record: Record) -> None:
    record.came(1)
    record.used(3)
    record.counted(4, SOON)
    assert record.numbers == {SOON: 4}


def test_an_empty_stock_is_known_to_be_empty(record: Record) -> None:
    record.came(1, SOON)
    record.used()
    assert batches(record.entries, record.uses) == (Batch(None, 0),)


def test_the_lots_of_one_date_are_named_together(record: Record) -> None:
    for lot in ("A7", "A8", "A7"):
        record.came(1, SOON, lot)
    assert batches(record.entries, record.uses) == (Batch(SOON, 3, ("A7", "A8")),)


DATES = st.sampled_from([None, SOON, LATE, NOW - timedelta(days=1)])
MOVES = st.lists(st.tuples(st.booleans(), st.integers(1, 9), DATES), max_size=40)


@given(MOVES)
def test_the_stock_is_always_what_came_less_what_was_used(
    moves: list[tuple[bool, int, datetime | None]],
) -> None:
    record, expected = Record(), 0
    record.came(1)
    for came, number, discard in moves:
        if came:
            record.came(number, discard)
        else:
            record.used(number, told=discard)
        expected += number if came else -number
    assert in_all(batches(record.entries, record.uses)) == 1 + expected


# How long it lasts


def needs(numbers: list[int]) -> tuple[Need, ...]:
    """Return doses half a day apart that need *numbers*, each two hours long."""
    dues = [NOW + timedelta(hours=12 * place) for place in range(len(numbers))]
    return tuple(
        Need(due, due + timedelta(hours=2), number)
        for due, number in zip(dues, numbers, strict=True)
    )


def runs_out_at(there: list[Batch], ahead: tuple[Need, ...], used: list[int]) -> int:
    """Return the place of the first dose with not enough, by moving single pieces about."""
    pieces = [batch.discard or LATE for batch in there for _ in range(batch.number)]
    for place, (need, number) in enumerate(zip(ahead, used, strict=True)):
        for _ in range(number):
            good = sorted(piece for piece in pieces if piece >= need.until)
            if not good:
                return place
            pieces.remove(good[0])
    return len(used)


THERE = st.lists(
    st.builds(
        Batch,
        st.integers(0, 40).map(lambda half: NOW + timedelta(hours=12 * half)),
        st.integers(1, 8),
    ),
    max_size=5,
    unique_by=lambda batch: batch.discard,
).map(lambda found: sorted(found, key=lambda batch: batch.discard or LATE))
HABITS = st.builds(Habit, st.integers(0, 60), st.integers(0, 30), st.integers(0, 4))


@settings(deadline=None)
@given(THERE, st.lists(st.integers(0, 3), min_size=1, max_size=30), HABITS, st.data())
def test_it_never_runs_out_before_the_forecast_while_no_more_is_spoiled_than_is_kept_back(
    there: list[Batch], numbers: list[int], habit: Habit, data: st.DataObject
) -> None:
    ahead = needs(numbers)
    found = forecast(there, ahead, habit)
    foreseen = msgspec.structs.replace(habit, most=max([habit.most, *numbers]))
    used, spoiled = [], 0
    for dose, number in enumerate(numbers, 1):
        left = kept_back(foreseen, dose) - spoiled
        extra = data.draw(st.integers(0, left))
        spoiled += extra
        used.append(number + extra)
    assert found.doses <= runs_out_at(there, ahead, used)
    assert found.runs_out == (ahead[found.doses].due if found.doses < len(ahead) else None)


@given(THERE, st.lists(st.integers(0, 3), min_size=1, max_size=30))
def test_what_expires_before_its_turn_is_what_nobody_can_use(
    there: list[Batch], numbers: list[int]
) -> None:
    ahead = needs(numbers)
    pieces = sorted(batch.discard or LATE for batch in there for _ in range(batch.number))
    for need in ahead:
        for _ in range(need.number):
            good = [piece for piece in pieces if piece >= need.until]
            if good:
                pieces.remove(good[0])
    lost = [piece for piece in pieces if piece < ahead[-1].until]
    found = forecast(there, ahead, Habit()).too_old
    assert [batch.discard for batch in found for _ in range(batch.number)] == lost


def test_a_bag_that_expires_before_its_turn_is_told_days_ahead() -> None:
    there = (Batch(SOON, 10), Batch(LATE, 10))
    found = forecast(there, needs([1] * 60), Habit())
    assert found.too_old == (Batch(SOON, 4),)
    assert timedelta(days=3) == SOON - NOW


def test_more_is_kept_back_the_more_was_spoiled() -> None:
    careful, careless = Habit(60, 0, 0), Habit(60, 12, 2)
    assert kept_back(careful, 10) < kept_back(Habit(), 10) < kept_back(careless, 10)
    assert kept_back(careless, 10) < kept_back(careless, 20)


NEW_YORK = ZoneInfo("America/New_York")


@pytest.mark.parametrize(
    ("runs_out", "lead", "safety", "expected"),
    [
        (datetime(2026, 12, 8, 9, tzinfo=NEW_YORK), "2 days", "2 days", date(2026, 12, 4)),
        (datetime(2027, 3, 1, 9, tzinfo=NEW_YORK), "1 days", "0 days", date(2027, 2, 28)),
        (datetime(2028, 3, 1, 9, tzinfo=NEW_YORK), "1 days", "0 days", date(2028, 2, 29)),
        (datetime(2026, 12, 8, 9, tzinfo=NEW_YORK), "30 h", "0 h", date(2026, 12, 6)),
        (datetime(2026, 12, 8, 2, tzinfo=UTC), "1 days", "0 days", date(2026, 12, 6)),
        (datetime(2026, 11, 1, 20, tzinfo=NEW_YORK), "1 days", "0 days", date(2026, 10, 31)),
    ],
)
def test_the_day_to_order_by_leaves_time_to_bring_it_and_some_to_spare(
    runs_out: datetime, lead: str, safety: str, expected: date
) -> None:
    delivery = Delivery(date(2026, 11, 27), _time("7 days"), _time(lead), _time(safety))
    assert order_by(runs_out, delivery, NEW_YORK) == expected


def _time(text: str) -> Quantity:
    amount, unit = text.split()
    return Quantity(Decimal(amount), unit)
