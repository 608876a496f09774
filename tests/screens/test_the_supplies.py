"""The supplies can be seen, counted in and corrected, by keys, in both sizes."""

from __future__ import annotations

from pathlib import Path

import pytest
from textual.widgets import Input

from coach.journal.trouble import writing
from coach.says import supplies as words
from coach.screens.supplies import EntryScreen, ItemScreen, SuppliesScreen
from coach.screens.today import TodayScreen
from tests.journal.desk import raw
from tests.person import DAILY
from tests.screens.table import NAMED, SIZES, SMALL, Table, cut, table


async def typed(at_table: Table, text: str) -> None:
    """Type *text* at once and press Enter."""
    at_table.screen.query_one("#typed", Input).value = text
    await at_table.press("enter")


async def open_item(at_table: Table, name: str) -> None:
    """Open the supplies from Today, then the item called *name*."""
    await at_table.press("s")
    screen = at_table.screen
    assert isinstance(screen, SuppliesScreen)
    place = [item.key for item in screen.items].index(name)
    await at_table.press(str(place + 1))
    assert isinstance(at_table.screen, ItemScreen)


async def count_in(at_table: Table, number: str, date: str, lot: str) -> None:
    """Write down a delivery of the item that is open."""
    await at_table.press("1")
    for answer in (number, date, lot):
        await typed(at_table, answer)


async def test_an_item_beyond_the_digits_is_reached_by_going_down(tmp_path: Path) -> None:
    async with table(tmp_path, SMALL, orders=DAILY) as at_table:
        for number in range(1, 6):
            at_table.desk.journal.stock.keep(
                at=at_table.clock.at, kind="delivered", item=f"other_{number}", number=number
            )
        await at_table.press("s")
        screen = at_table.screen
        assert isinstance(screen, SuppliesScreen)
        last = len(screen.items)
        assert last > 9
        await at_table.press("up")
        assert screen.body.scroll_offset.y > 0
        assert f"> {last}  Other 5: 5 there." in at_table.text("choices")
        await at_table.press("enter")
        assert isinstance(at_table.screen, ItemScreen)
        assert at_table.screen.key == "other_5"


@pytest.mark.parametrize("size", SIZES)
async def test_nothing_is_cut_from_the_first_look_to_the_last_entry(
    tmp_path: Path, keys_shown: set[str], size: tuple[int, int]
) -> None:
    async with table(tmp_path, size, orders=DAILY) as at_table:
        await at_table.look()
        assert cut(at_table.screen) == []
        await open_item(at_table, "bag")
        for keys in ("escape", "2", "1"):
            await at_table.press(keys)
            await at_table.look()
            assert cut(at_table.screen) == []
        for number, date, lot in (("16", "28 Nov 2026", "A7"), ("14", "30 Dec 2026 14:00", "A8")):
            for answer in (number, date, lot):
                assert cut(at_table.screen) == []
                await typed(at_table, answer)
                await at_table.look()
                assert cut(at_table.screen) == []
            assert at_table.text("notice") == words.STOCK_KEPT
            await at_table.press("1")
        await at_table.press("escape", "2")
        await typed(at_table, "13")
        await at_table.look()
        assert "30 December 2026" in at_table.text("batches")
        assert cut(at_table.screen) == []
        await at_table.press("escape", "escape")
        await at_table.look()
        assert "too old before their turn" in at_table.all_text
        assert cut(at_table.screen) == []
        await at_table.press("escape")
        assert isinstance(at_table.screen, TodayScreen)
    assert keys_shown <= NAMED


async def test_a_delivery_and_a_count_change_what_is_there(tmp_path: Path) -> None:
    async with table(tmp_path, orders=DAILY) as at_table:
        await open_item(at_table, "bag")
        assert words.STOCK_UNKNOWN in at_table.text("sentence")
        await count_in(at_table, "14", "30 Dec 2026", "A7")
        assert "14 there" in at_table.text("sentence")
        assert "Lot A7" in at_table.text("batches")
        await at_table.press("2")
        await typed(at_table, "13")
        await typed(at_table, "one leaked")
        assert "13 there" in at_table.text("sentence")
        assert "13 counted. one leaked" in at_table.text("entries")
        assert "14 came" in at_table.text("entries")


async def test_what_cannot_be_taken_is_asked_for_again(tmp_path: Path) -> None:
    async with table(tmp_path, SMALL, orders=DAILY) as at_table:
        await open_item(at_table, "bag")
        await at_table.press("1")
        await typed(at_table, "many")
        assert "whole number" in at_table.text("notice")
        assert at_table.text("sentence") == words.STOCK_ASKS["number"]
        await typed(at_table, "14")
        await typed(at_table, "11/12/26")
        await at_table.look()
        assert "month as a word" in at_table.text("notice")
        assert cut(at_table.screen) == []
        await at_table.press("escape")
        assert at_table.desk.journal.stock.entries() == ()


async def test_today_says_what_to_order_and_when(tmp_path: Path) -> None:
    async with table(tmp_path, orders=DAILY) as at_table:
        await open_item(at_table, "bag")
        await count_in(at_table, "16", "28 Nov 2026", "")
        await at_table.press("escape", "escape")
        await at_table.look()
        await at_table.look()
        assert "order more: bag" in at_table.text("times")
        assert "last good day of some: bag" in at_table.text("times")


@pytest.mark.parametrize("size", SIZES)
async def test_hostile_words_of_a_count_are_shown_as_they_are(
    tmp_path: Path, size: tuple[int, int]
) -> None:
    async with table(tmp_path, size, orders=DAILY) as at_table:
        await open_item(at_table, "bag")
        hostile = "[/ [@click=app.quit]x[/] [b"
        await count_in(at_table, "14", "", hostile)
        await at_table.press("2")
        await typed(at_table, "13")
        await typed(at_table, hostile)
        await at_table.look()
        assert hostile in at_table.text("entries")
        assert cut(at_table.screen) == []


async def test_a_record_that_cannot_be_written_to_is_said_calmly(tmp_path: Path) -> None:
    async with table(tmp_path, orders=DAILY) as at_table:
        await open_item(at_table, "bag")
        await at_table.press("1")
        database = raw(at_table.desk.journal)
        with writing(database):
            database.execute(
                "CREATE TRIGGER full BEFORE INSERT ON stock BEGIN SELECT RAISE(ABORT, 'x'); END"
            )
        for answer in ("14", "", ""):
            await typed(at_table, answer)
        assert isinstance(at_table.screen, EntryScreen)
        assert "could not be used just now" in at_table.text("notice")
        assert at_table.desk.journal.stock.entries() == ()
