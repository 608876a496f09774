"""What doses use, by the steps ahead and by the events behind, and what is told of it."""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Iterator
from datetime import date, timedelta
from functools import cache
from pathlib import Path

import pytest

from coach.clock import ManualClock
from coach.errors import OrderError
from coach.orders.read import read_sheet
from coach.orders.schedule import due_times
from coach.orders.supplies import Habit
from coach.orders.values import sheet_choices
from coach.procedure.compose import compose
from coach.procedure.files import bundle_of
from coach.procedure.model import Source
from coach.procedure.read import read_source
from coach.sitting.stock import Item, Supplies
from coach.sitting.using import Given, habit_of, hoped_for, planned
from coach.supplies import supply_lines
from tests.journal.desk import raw
from tests.person import DAILY, DEMO, MORNING, PROCEDURES, Person, changed_sheet, desk_at
from tests.supplies.season import Season


@cache
def shipped() -> Source:
    return read_source(bundle_of(PROCEDURES))


@pytest.fixture
def supplies(tmp_path: Path) -> Iterator[Supplies]:
    desk = desk_at(tmp_path)
    with desk.journal:
        yield Supplies(desk)


def clock_of(supplies: Supplies) -> ManualClock:
    clock = supplies.desk.clock
    assert isinstance(clock, ManualClock)
    return clock


def came(supplies: Supplies, key: str, number: int, discard: str = "") -> None:
    item = the(supplies, key)
    supplies.keep("delivered", item, {"number": str(number), "discard": discard, "lot": ""})


def the(supplies: Supplies, key: str) -> Item:
    found = supplies.item(key)
    assert found is not None
    return found


# By the steps


@pytest.mark.parametrize("tubing", ["new", "kept"])
@pytest.mark.parametrize("batteries", ["due", "not-due"])
def test_a_dose_uses_what_its_composed_steps_say(tubing: str, batteries: str) -> None:
    chosen = {**sheet_choices(read_sheet(DAILY)), "last": "finished"}
    chosen |= {"tubing": tubing, "batteries": batteries}
    counts = {item: n for item, n in compose(shipped(), chosen).counts.items() if n}
    assert hoped_for(shipped(), chosen) == counts
    assert ("tubing" in counts, "battery" in counts) == (tubing == "new", batteries == "due")


def test_the_doses_ahead_need_new_tubing_and_batteries_only_when_those_are_due() -> None:
    sheet = read_sheet(DAILY)
    dues = due_times(sheet, MORNING, MORNING + timedelta(days=4))
    plan = planned(shipped(), sheet, dues)
    assert [each.get("tubing", 0) for each in plan] == [1, 0, 1, 0, 1, 0, 1, 0]
    assert [each.get("battery", 0) for each in plan] == [2, 0, 0, 0, 2, 0, 0, 0]
    assert {each["bag"] for each in plan} == {1}


def test_batteries_that_were_changed_a_while_ago_are_due_the_sooner() -> None:
    sheet = read_sheet(DAILY)
    dues = due_times(sheet, MORNING, MORNING + timedelta(days=2))
    plan = planned(shipped(), sheet, dues, {"batteries": dues[0] - timedelta(hours=24)})
    assert [each.get("battery", 0) for each in plan] == [0, 0, 2, 0]


def test_what_is_spoiled_is_what_was_used_beyond_the_plan() -> None:
    dues = [MORNING + timedelta(hours=12 * n) for n in range(3)]
    given = [
        Given(due, {"pad": used}, {"pad": 3}) for due, used in zip(dues, (3, 5, 2), strict=True)
    ]
    assert habit_of("pad", given, [{"pad": 3}] * 3) == Habit(3, 2, 2)
    assert habit_of("pad", given, [{"pad": 1}] * 3) == Habit(3, 7, 2)
    assert habit_of("bag", [], []) == Habit(0, 0, 0)


# By the events


def test_each_step_counts_each_time_it_is_done(tmp_path: Path) -> None:
    season = Season(tmp_path, random.Random(7), spoils=0.08)
    supplies, totals = Supplies(season.desk), Counter[str]()
    for key in ("pad", "saline_syringe", "bag", "battery", "tubing", "sterile_cap"):
        season.desk.journal.stock.keep(at=MORNING, kind="delivered", item=key, number=500)
    for due in season.dues(10):
        season.give(due)
        totals.update(season.used[due])
    hoped = Counter[str]()
    for each in planned(shipped(), season.desk.sheet, season.dues(10)):
        hoped.update(each)
    assert totals["pad"] > hoped["pad"]
    assert {i.key: 500 - (i.number or 0) for i in supplies.items()} == dict(totals)
    season.desk.journal.close()


def test_a_step_that_was_taken_back_used_nothing(supplies: Supplies) -> None:
    came(supplies, "bag", 5)
    sitting = supplies.desk.begin()
    person = Person(sitting, clock_of(supplies))
    person.follow(until="lay-tubing")
    assert the(supplies, "bag").number == 4
    sitting.undo()
    assert the(supplies, "bag").number == 5
    sitting.done()
    assert the(supplies, "bag").number == 4


def test_a_count_in_the_middle_of_a_dose_is_not_counted_down_twice(supplies: Supplies) -> None:
    came(supplies, "pad", 40)
    sitting = supplies.desk.begin()
    Person(sitting, clock_of(supplies)).follow(until="start-pump")
    so_far = 40 - (the(supplies, "pad").number or 0)
    supplies.keep("counted", the(supplies, "pad"), {"number": "30", "reason": "counted again"})
    Person(sitting, clock_of(supplies)).follow()
    whole = hoped_for(shipped(), sitting.row.choices)["pad"]
    assert 0 < so_far < whole
    assert the(supplies, "pad").number == 30 - (whole - so_far)


def test_the_bag_with_the_date_that_was_read_off_is_the_one_that_is_gone(
    supplies: Supplies,
) -> None:
    came(supplies, "bag", 2, "1 Dec 2026")
    came(supplies, "bag", 2, "30 Dec 2026")
    Person(supplies.desk.begin(), clock_of(supplies)).follow()
    assert [batch.number for batch in the(supplies, "bag").batches] == [2, 1]


def test_a_dose_that_cannot_be_read_counts_as_one_with_nothing_spoiled(supplies: Supplies) -> None:
    came(supplies, "bag", 5)
    Person(supplies.desk.begin(), clock_of(supplies)).follow()
    database = raw(supplies.desk.journal)
    database.execute("DROP TRIGGER sittings_only_end_once")
    database.execute("UPDATE sittings SET choices = '{}'")
    again = Supplies(supplies.desk)
    assert the(again, "bag").number == 4
    assert again.unreadable() == 1
    assert any("cannot be read: 1" in line for line in supply_lines(again))


# What is told of an item


def test_an_item_that_was_never_counted_has_no_number_and_no_day(supplies: Supplies) -> None:
    for item in supplies.items():
        assert (item.number, item.batches, item.runs_out, item.order_by) == (None, (), None, None)


def test_only_what_the_order_sheet_asks_for_is_listed(supplies: Supplies, tmp_path: Path) -> None:
    assert "sterile_cap" not in [item.key for item in supplies.items()]
    (tmp_path / "daily").mkdir()
    daily = desk_at(tmp_path / "daily", DAILY)
    with daily.journal:
        keys = [item.key for item in Supplies(daily).items()]
    assert "sterile_cap" in keys
    assert "heparin_syringe" not in keys


def test_without_deliveries_on_the_sheet_no_day_to_order_is_made_up(tmp_path: Path) -> None:
    text = DEMO.read_text(encoding="utf-8")
    delivery = text[text.index("\ndelivery:") :].split("\n\n")[0]
    desk = desk_at(tmp_path, changed_sheet(tmp_path, {delivery: ""}))
    with desk.journal:
        supplies = Supplies(desk)
        came(supplies, "bag", 2)
        assert the(supplies, "bag").runs_out is not None
        assert the(supplies, "bag").order_by is None


def test_the_day_to_order_is_before_the_day_on_which_it_runs_out(tmp_path: Path) -> None:
    desk = desk_at(tmp_path, DAILY)
    with desk.journal:
        supplies = Supplies(desk)
        came(supplies, "bag", 60, "30 Jan 2027")
        bag = the(supplies, "bag")
        assert bag.runs_out is not None
        assert bag.order_by == bag.runs_out.astimezone(desk.zone).date() - timedelta(days=4)
        assert date(2026, 12, 8) < bag.order_by < date(2026, 12, 21)


def test_a_bag_that_expires_before_its_turn_is_shown_days_ahead(tmp_path: Path) -> None:
    desk = desk_at(tmp_path, DAILY)
    with desk.journal:
        supplies = Supplies(desk)
        came(supplies, "bag", 20, "29 Nov 2026")
        [early] = the(supplies, "bag").too_old
        assert early.number == 20 - 10  # five days up to then, with two doses each
        entries = {(entry.kind, entry.what) for entry in supplies.ahead()}
        assert ("expires", "bag") in entries


@pytest.mark.parametrize(
    ("kind", "typed", "says"),
    [
        ("delivered", {"number": "0", "discard": "", "lot": ""}, "from 1 to 9,999"),
        ("delivered", {"number": "1.5", "discard": "", "lot": ""}, "whole number"),
        ("delivered", {"number": "-1", "discard": "", "lot": ""}, "whole number"),
        ("delivered", {"number": "٣", "discard": "", "lot": ""}, "whole number"),
        ("delivered", {"number": "3", "discard": "11/12/26", "lot": ""}, "month as a word"),
        ("delivered", {"number": "3", "discard": "1 Nov 2026", "lot": ""}, "That date is over"),
        ("delivered", {"number": "3", "discard": "", "lot": "x" * 61}, "at most 60"),
        ("counted", {"number": "3", "reason": " "}, "say why"),
    ],
)
def test_what_cannot_be_taken_is_said_calmly_and_nothing_is_kept(
    supplies: Supplies, kind: str, typed: dict[str, str], says: str
) -> None:
    item = the(supplies, "bag")
    with pytest.raises(OrderError, match=says):
        supplies.keep(kind, item, typed)
    assert supplies.entries("bag", 5) == ()
    refused = [name for name in typed if not _taken(supplies, kind, item, name, typed[name])]
    assert len(refused) == 1


def _taken(supplies: Supplies, kind: str, item: Item, name: str, typed: str) -> bool:
    try:
        supplies.check(kind, item, name, typed)
    except OrderError:
        return False
    return True


def test_a_count_names_which_of_several_dates_it_is_of(supplies: Supplies) -> None:
    came(supplies, "bag", 2, "1 Dec 2026")
    came(supplies, "bag", 3, "30 Dec 2026")
    bag = the(supplies, "bag")
    assert supplies.asks("counted", bag) == ("number", "which", "reason")
    with pytest.raises(OrderError, match="None with that date"):
        supplies.check("counted", bag, "which", "2 Dec 2026")
    supplies.keep("counted", bag, {"number": "1", "which": "1 Dec 2026", "reason": "one leaked"})
    assert [batch.number for batch in the(supplies, "bag").batches] == [1, 3]
    assert supplies.entries("bag", 5)[0].reason == "one leaked"
