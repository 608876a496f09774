"""What the key line of each screen shows is in the one table that help and README print.

The steps of a dose are looked at by `test_whole_doses_by_key`.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from coach import keys, words
from tests.screens.table import NAMED, SIZES, table


@pytest.mark.parametrize("size", SIZES)
async def test_no_screen_around_a_dose_shows_a_key_that_help_does_not_name(
    tmp_path: Path, keys_shown: set[str], size: tuple[int, int]
) -> None:
    async with table(tmp_path, size, first=True) as at_table:
        await at_table.press("escape", "escape", "enter", "escape", "escape", "enter")
        await at_table.press("t", "escape", "q", "2", "escape", "1", "escape")
        await at_table.walk("")
        assert at_table.sitting.over
    assert {"Esc", "Enter", "q", "t"} <= keys_shown
    assert keys_shown <= NAMED


def test_each_name_that_is_short_for_a_key_stands_in_the_table() -> None:
    assert "Ctrl+Q" in keys.LEAVE.says
    assert f"{keys.YES.shown}/{keys.NO.shown}" == words.YES_NO
