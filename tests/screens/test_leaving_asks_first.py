"""Leaving is asked about while a dose is under way, from whichever screen it is wished for."""

from __future__ import annotations

from pathlib import Path

import pytest

from coach import words
from coach.screens.follow import FollowScreen
from coach.screens.leave import LeaveScreen
from tests.screens.table import kinds, table


@pytest.mark.parametrize("key", ["q", "ctrl+q"])
async def test_leaving_a_dose_asks_first(tmp_path: Path, key: str) -> None:
    async with table(tmp_path) as at_table:
        await at_table.press("enter", key)
        assert isinstance(at_table.screen, LeaveScreen)
        await at_table.press("enter")
        assert isinstance(at_table.screen, LeaveScreen)
        await at_table.press("2")
        assert isinstance(at_table.screen, FollowScreen)
        assert kinds(at_table) == []
        row = at_table.sitting.row.id
        await at_table.press(key, "1")
        assert not at_table.pilot.app.is_running
        assert [e.kind for e in at_table.desk.journal.events(row)] == ["left"]
        assert at_table.desk.today().under_way is not None


@pytest.mark.parametrize("key", ["q", "ctrl+q"])
@pytest.mark.parametrize("menu", ["", "1", "8"])
async def test_leaving_from_the_menu_asks_first_too(tmp_path: Path, key: str, menu: str) -> None:
    async with table(tmp_path) as at_table:
        await at_table.press("enter", "escape", *menu, key)
        assert isinstance(at_table.screen, LeaveScreen)
        await at_table.press("2")
        assert isinstance(at_table.screen, FollowScreen)
        assert kinds(at_table) == []


async def test_the_question_whether_to_leave_is_not_answered_by_asking_again(
    tmp_path: Path,
) -> None:
    async with table(tmp_path) as at_table:
        await at_table.press("enter")
        for key in ("q", "q", "ctrl+q", "ctrl+c"):
            await at_table.press(key)
            assert isinstance(at_table.screen, LeaveScreen)
        assert at_table.text("notice") == words.HINT_PICK


async def test_control_c_is_right_on_the_menu(tmp_path: Path) -> None:
    async with table(tmp_path) as at_table:
        await at_table.press("enter", "escape", "ctrl+c")
        assert "Ctrl+Q" in at_table.text("notice")
        await at_table.press("ctrl+q")
        assert isinstance(at_table.screen, LeaveScreen)


async def test_whom_to_call_can_be_left_from_today(tmp_path: Path) -> None:
    async with table(tmp_path) as at_table:
        await at_table.press("escape", "q")
        assert not at_table.pilot.app.is_running


async def test_control_c_only_says_how_to_leave(tmp_path: Path) -> None:
    async with table(tmp_path) as at_table:
        await at_table.press("enter", "ctrl+c")
        assert "Ctrl+Q" in at_table.text("notice")
        assert at_table.pilot.app.is_running
