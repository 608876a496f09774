"""What the key line of each screen shows is in the one table that help and README print."""

from __future__ import annotations

from pathlib import Path

import pytest

from coach import keys, words
from coach.screens.frame import Frame
from coach.sitting.show import view_of
from tests.person import Person
from tests.screens.table import SIZES, table

DIGITS = {str(digit) for digit in range(1, 10)} | {f"1-{digit}" for digit in range(2, 10)}
NAMED = {key.shown for key in keys.KEYS} | DIGITS | {words.YES_NO, "Ctrl+Q", ""}
"""The keys in the table, by its names for them; the empty name stands before a phone number."""


@pytest.mark.parametrize("size", SIZES)
async def test_no_screen_shows_a_key_that_help_does_not_name(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, size: tuple[int, int]
) -> None:
    shown: set[str] = set()
    show_keys = Frame.show_keys

    def listening(frame: Frame, *labels: tuple[str, str]) -> None:
        shown.update(key for key, _ in labels)
        show_keys(frame, *labels)

    monkeypatch.setattr(Frame, "show_keys", listening)
    async with table(tmp_path, size, first=True) as at_table:
        await at_table.press("escape", "escape", "enter", "escape", "escape", "enter")
        await at_table.press("t", "escape", "q", "2", "escape", "1", "escape")
        person = Person(at_table.sitting, at_table.clock)
        while not at_table.sitting.over:
            at_table.follow.show()
            await at_table.pilot.pause()
            if view_of(at_table.sitting).way == "run":
                at_table.sitting.start_run()
                at_table.follow.show()
                at_table.sitting.stop_run()
            person.act(view_of(at_table.sitting))
        at_table.follow.show()
        await at_table.look()
    assert {"Esc", "Enter", "Any key", "u", "q", "t", "Ctrl+Q", words.YES_NO} <= shown
    assert shown <= NAMED


def test_each_name_that_is_short_for_a_key_stands_in_the_table() -> None:
    assert "Ctrl+Q" in keys.LEAVE.says
    assert f"{keys.YES.shown}/{keys.NO.shown}" == words.YES_NO
