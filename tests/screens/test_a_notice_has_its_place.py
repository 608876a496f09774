"""A notice stands in a row of its own, so that what is being read does not jump."""

from __future__ import annotations

from pathlib import Path

import pytest
from textual.geometry import Region
from textual.widget import Widget

from tests.screens.table import LARGE, SIZES, Table, cut, table

LONG = "The coach could not keep this answer. " * 4


def places(at_table: Table) -> dict[Widget, Region]:
    """Return where everything stands but the notice."""
    return {
        widget: widget.region
        for widget in at_table.screen.query(Widget)
        if widget.id != "notice" and widget.display
    }


@pytest.mark.parametrize("step", ["", "label-strength-type"])
async def test_in_a_large_window_a_notice_moves_nothing(tmp_path: Path, step: str) -> None:
    async with table(tmp_path, LARGE) as at_table:
        if step:
            await at_table.walk(step)
        before = places(at_table)
        await at_table.press("ctrl+c")
        assert "Ctrl+Q" in at_table.text("notice")
        assert places(at_table) == before


async def test_a_notice_goes_with_the_time_that_it_was_about(tmp_path: Path) -> None:
    async with table(tmp_path) as at_table:
        await at_table.walk("let-it-warm")
        await at_table.press("enter")
        assert at_table.text("notice") == "The time is not over yet."
        await at_table.pass_time(150)
        assert at_table.follow.view.timer is not None
        assert at_table.follow.view.timer.over
        assert at_table.text("notice") == ""


@pytest.mark.parametrize("size", SIZES)
async def test_a_long_notice_is_shown_whole(tmp_path: Path, size: tuple[int, int]) -> None:
    async with table(tmp_path, size) as at_table:
        await at_table.press("ctrl+c")
        at_table.screen.notice(LONG.strip())
        await at_table.look()
        assert cut(at_table.screen) == []


@pytest.mark.parametrize("size", SIZES)
async def test_after_a_long_notice_all_is_where_it_was(
    tmp_path: Path, size: tuple[int, int]
) -> None:
    async with table(tmp_path, size) as at_table:
        before = places(at_table)
        at_table.screen.notice(LONG.strip())
        await at_table.look()
        at_table.screen.notice("")
        await at_table.look()
        assert places(at_table) == before
