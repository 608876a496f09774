"""A dose under way that another order sheet asked for is said so before it is taken up."""

from __future__ import annotations

import io
from pathlib import Path

import pytest

from coach.clock import ManualClock
from coach.lines import PipedLines
from coach.plain import Plain
from coach.screens.follow import FollowScreen
from coach.screens.today import TodayScreen
from tests.person import DAILY, MORNING, changed_sheet, desk_at
from tests.screens.table import SIZES, cut, table

SAID = (
    "The dose under way is by another order sheet: demo-quick, version 1. The sheet that is "
    "open here is demo-daily, version 3. The dose goes on by its own sheet."
)


def left_under_way(folder: Path) -> None:
    """Begin a dose by the demonstration sheet, and leave it."""
    desk = desk_at(folder)
    with desk.journal:
        desk.begin().leave()


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("start", ["today", "follow"])
async def test_the_screen_says_so_before_enter(
    tmp_path: Path, size: tuple[int, int], start: str
) -> None:
    left_under_way(tmp_path)
    async with table(tmp_path, size, orders=DAILY, start=start) as at_table:
        await at_table.look()
        assert isinstance(at_table.screen, TodayScreen)
        assert at_table.text("missed").startswith(SAID)
        assert cut(at_table.screen) == []
        await at_table.press("enter")
        assert isinstance(at_table.screen, FollowScreen)
        assert at_table.sitting.row.sheet_id == "demo-quick"


@pytest.mark.parametrize("start", ["today", "follow"])
def test_plain_lines_say_so_before_the_dose_goes_on(tmp_path: Path, start: str) -> None:
    left_under_way(tmp_path)
    clock, out = ManualClock(MORNING), io.StringIO()
    desk = desk_at(tmp_path, DAILY, clock)
    desk.journal.mark_first_start()
    Plain(desk, PipedLines(io.StringIO("go\nquit\n"), clock), out).run(start)
    told = out.getvalue().splitlines()
    assert told.count(SAID) == 1
    assert told.index(SAID) < next(n for n, line in enumerate(told) if line.startswith("Part "))


def test_a_newer_version_of_the_same_sheet_is_another_sheet(tmp_path: Path) -> None:
    left_under_way(tmp_path)
    desk = desk_at(tmp_path, changed_sheet(tmp_path, {"version: 1 ": "version: 2 "}))
    other = desk.today().other_sheet
    assert other is not None
    assert (other.id, other.version, desk.sheet.sheet.version) == ("demo-quick", 1, 2)


def test_nothing_is_said_of_a_dose_by_the_sheet_that_is_open(tmp_path: Path) -> None:
    left_under_way(tmp_path)
    assert desk_at(tmp_path).today().other_sheet is None
