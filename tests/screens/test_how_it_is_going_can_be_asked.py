"""While the medicine runs one key asks how it is going; a pump that is off leads to the call."""

from __future__ import annotations

from pathlib import Path

import pytest

from coach import words
from coach.screens.follow import FollowScreen
from coach.screens.pace import PaceScreen
from coach.sitting.show import view_of
from tests.screens.table import SIZES, Table, cut, table


async def typed(at_table: Table, number: str) -> PaceScreen:
    """Let the medicine run for half of its time, and type what the pump shows."""
    await at_table.press("enter")
    await at_table.walk("infuse")
    at_table.clock.move(90)
    await at_table.press("h")
    screen = at_table.screen
    assert isinstance(screen, PaceScreen)
    assert not cut(screen)
    await at_table.press(*number, "enter")
    return screen


@pytest.mark.parametrize("size", SIZES)
async def test_what_is_as_it_should_be_goes_back_to_the_step(
    tmp_path: Path, size: tuple[int, int]
) -> None:
    async with table(tmp_path, size=size) as at_table:
        screen = await typed(at_table, "5")
        assert at_table.text("sentence") == words.PACE_VERDICTS["as-expected"]
        assert "5 mL" in at_table.text("why")
        assert not cut(screen)
        await at_table.press("enter")
        assert isinstance(at_table.screen, FollowScreen)
        assert view_of(at_table.sitting).step == "infuse"


@pytest.mark.parametrize("size", SIZES)
async def test_a_pump_that_does_not_move_leads_to_the_call_card(
    tmp_path: Path, size: tuple[int, int]
) -> None:
    async with table(tmp_path, size=size) as at_table:
        screen = await typed(at_table, "10")
        assert at_table.text("sentence") == words.PACE_VERDICTS["not-moving"]
        assert words.PACE_CALL in at_table.text("why")
        assert not cut(screen)
        await at_table.press("enter")
        assert view_of(at_table.sitting).way == "stop"


async def test_what_cannot_be_read_is_said_and_can_be_typed_again(tmp_path: Path) -> None:
    async with table(tmp_path) as at_table:
        await typed(at_table, "99")
        assert "more than the whole" in at_table.text("notice")
        await at_table.press("backspace", "backspace", "5", "enter")
        assert at_table.text("sentence") == words.PACE_VERDICTS["as-expected"]


async def test_before_the_medicine_runs_the_key_does_nothing(tmp_path: Path) -> None:
    async with table(tmp_path) as at_table:
        await at_table.press("enter", "h")
        assert isinstance(at_table.screen, FollowScreen)
