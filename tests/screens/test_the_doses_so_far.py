"""The doses so far can be seen, found and added to, and a call answered, by keys, in both sizes."""

from __future__ import annotations

from pathlib import Path

import pytest
from textual.widgets import Input

from coach.errors import JournalDamaged
from coach.journal.records import Answer, Called
from coach.records import shelf
from coach.says import doses as words
from coach.screens.ask import AskScreen
from coach.screens.record import DoseScreen, ReportScreen, TrendsScreen
from coach.screens.records import RecordsScreen
from coach.screens.today import TodayScreen
from tests.person import Person
from tests.screens.table import NAMED, SIZES, SMALL, Table, cut, table

HOSTILE = "[/ [@click=app.quit]x[/] [b"


async def typed(at_table: Table, *texts: str) -> None:
    """Type each of *texts* at once and press Enter."""
    for text in texts:
        at_table.screen.query_one("#typed", Input).value = text
        await at_table.press("enter")


async def after_a_dose(at_table: Table, hours: int = 2) -> None:
    """Let a dose be given, some hours pass, and open the doses so far."""
    Person(at_table.desk.begin(), at_table.clock).follow()
    at_table.clock.move(hours * 3600)
    await at_table.press("d")
    await at_table.look()
    assert isinstance(at_table.screen, RecordsScreen)


@pytest.mark.parametrize("size", SIZES)
async def test_nothing_is_cut_on_any_of_the_screens(
    tmp_path: Path, keys_shown: set[str], size: tuple[int, int]
) -> None:
    async with table(tmp_path, size) as at_table:
        await after_a_dose(at_table)
        assert "- 11:00 not given" in at_table.text("choices")
        assert at_table.text("strip") == "25 Nov +-"
        assert at_table.text("keys").count("\n") < 3
        for keys, kind in (
            (("down", "enter"), DoseScreen),
            (("e",), None),
            (("1",), AskScreen),
            (("escape", "escape", "h"), TrendsScreen),
            (("escape", "v"), ReportScreen),
            (("escape", "f"), None),
            (("8",), None),
            (("escape", "e"), None),
            (("escape", "escape"), TodayScreen),
        ):
            await at_table.press(*keys)
            await at_table.look()
            assert cut(at_table.screen) == [], keys
            assert kind is None or isinstance(at_table.screen, kind), keys
    assert keys_shown <= NAMED


async def test_going_down_past_the_last_dose_reads_older_days(tmp_path: Path) -> None:
    async with table(tmp_path, SMALL) as at_table:
        await after_a_dose(at_table, hours=24)
        screen = at_table.screen
        assert isinstance(screen, RecordsScreen)
        shown = len(screen.found)
        assert "completed" not in {one.status for one in screen.found}
        for _ in range(shown):
            screen.letter("down")
        await at_table.settle()
        assert len(screen.found) > shown
        assert screen.body.scroll_offset.y > 0
        assert "> - " in at_table.text("choices")


async def test_doses_are_found_by_how_they_went_and_by_words(tmp_path: Path) -> None:
    async with table(tmp_path) as at_table:
        await after_a_dose(at_table)
        await at_table.press("f", "2")
        assert at_table.text("choices").count("\n") == 1
        assert "given in full" in at_table.text("choices")
        await at_table.press("f", "3")
        assert at_table.text("sentence") == words.NONE_FOUND.format(words="given in part")
        await at_table.press("f", "8")
        await typed(at_table, HOSTILE)
        assert at_table.text("sentence") == words.NONE_FOUND.format(words=HOSTILE)
        assert cut(at_table.screen) == []


async def test_a_search_shows_where_it_looks_and_goes_on_by_itself(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(shelf, "AT_ONCE", 1)
    async with table(tmp_path) as at_table:
        await after_a_dose(at_table, hours=72)
        screen = at_table.screen
        assert isinstance(screen, RecordsScreen)
        screen.find("given in full")
        screen.show()
        looking = words.LOOKING_BACK.format(words="given in full", day="27 November 2026")
        assert at_table.text("sentence") == looking
        assert screen.found == [], "one day was looked into, and keys are taken meanwhile"
        await at_table.settle()
        assert [one.status for one in screen.found] == ["completed"]
        assert at_table.text("sentence") == words.LOOKING_FOR.format(words="given in full")
        screen.find("zebra")
        screen.show()
        await at_table.press("escape")
        before = screen.older
        await at_table.settle()
        assert screen.older == before, "nobody waits for a search that was left"


async def test_a_search_that_cannot_read_the_record_says_so_once(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    async with table(tmp_path) as at_table:
        await after_a_dose(at_table)
        screen, tries = at_table.screen, []
        assert isinstance(screen, RecordsScreen)

        def fails(*_: object, **__: object) -> None:
            tries.append(1)
            raise JournalDamaged("The record is damaged.")

        monkeypatch.setattr(screen.shelf, "day", fails)
        screen.find("zebra")
        screen.show()
        await at_table.settle()
        assert at_table.text("notice") == "The record is damaged."
        assert len(tries) == 1


async def test_what_is_put_right_is_read_beside_the_old(tmp_path: Path) -> None:
    async with table(tmp_path) as at_table:
        await after_a_dose(at_table)
        await at_table.press("down", "enter", "e", "6")
        await typed(at_table, "", "Nurse May", HOSTILE)
        await at_table.look()
        assert isinstance(at_table.screen, DoseScreen)
        assert at_table.text("notice") == words.KEPT
        assert "entered in error" in at_table.text("sentence")
        assert f"said given in full, now says entered in error. Why: {HOSTILE}" in at_table.all_text
        await at_table.press("escape")
        await at_table.look()
        assert "x 10:00 entered in error" in at_table.text("choices")


@pytest.mark.parametrize("size", SIZES)
async def test_a_start_on_paper_that_fits_another_dose_is_refused_in_sight(
    tmp_path: Path, size: tuple[int, int]
) -> None:
    async with table(tmp_path, size) as at_table:
        await after_a_dose(at_table)
        await at_table.press("enter", "e", "2")
        await typed(at_table, "24 Nov 2026 10:50")
        await at_table.look()
        assert "can start from 10:28 to 11:30 only" in at_table.text("notice")
        assert cut(at_table.screen) == []
        await typed(at_table, "25 Nov 2026 10:50", "25 Nov 2026 11:34")
        await at_table.look()
        assert "should be over by 11:33" in at_table.text("notice")
        assert cut(at_table.screen) == []


async def test_the_nurse_was_here_ends_the_report(tmp_path: Path) -> None:
    async with table(tmp_path) as at_table:
        await after_a_dose(at_table)
        await at_table.press("v", "e", "1")
        await typed(at_table, "May I swim?")
        await at_table.look()
        assert "May I swim?" in at_table.text("said")
        await at_table.pass_time(60)
        await at_table.press("e", "2")
        await typed(at_table, "Nurse May")
        await at_table.look()
        assert "May I swim?" not in at_table.text("said")
        [visit] = at_table.desk.journal.records.every(Called)
        assert visit.nurse == "Nurse May"


@pytest.mark.parametrize("size", SIZES)
async def test_a_call_is_answered_before_the_dose_goes_on(
    tmp_path: Path, keys_shown: set[str], size: tuple[int, int]
) -> None:
    async with table(tmp_path, size) as at_table:
        await at_table.walk("infuse")
        at_table.sitting.went_wrong("pump-warning")
        at_table.follow.show()
        await at_table.look()
        while at_table.follow.unread:
            await at_table.press("space")
        await at_table.press("2")
        assert at_table.text("why") == words.ANSWER_FIRST
        await typed(at_table, HOSTILE, "Nurse May", "maybe")
        await at_table.look()
        assert HOSTILE in at_table.text("sentence")
        assert at_table.text("notice") == words.NOT_YES_NO
        assert cut(at_table.screen) == []
        await typed(at_table, "no")
        await at_table.look()
        assert at_table.text("notice") == words.NOT_THE_SAME
        assert words.NOT_READ_BACK in at_table.text("answered")
        assert cut(at_table.screen) == []
        await at_table.press("r")
        await typed(at_table, "Let it run.", "Nurse May", "yes")
        await at_table.look()
        assert "Nurse May said at 09:57: Let it run." in at_table.text("answered")
        assert at_table.follow.view.way == "stop", "writing it down goes on with nothing"
        while at_table.follow.unread:
            await at_table.press("space")
        await at_table.press("2")
        assert at_table.follow.view.way != "stop"
        kept = at_table.desk.journal.records.every(Answer)
        assert [one.read_back for one in kept] == [False, True]
    assert keys_shown <= NAMED
