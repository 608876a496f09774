"""The whole dose as a list on the screen: what each key does there, and what the list says."""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path

import pytest

from coach.says import checklist as list_words
from coach.screens.checklist import ChecklistScreen
from coach.screens.pictures import walk
from coach.sitting.show import view_of
from tests.person import Person
from tests.screens.table import LARGE, SMALL, Table, misfits, table


@asynccontextmanager
async def list_at(
    folder: Path, step: str = "", size: tuple[int, int] = LARGE
) -> AsyncIterator[Table]:
    """Open the list of a dose at *step*, or at its beginning."""
    async with table(folder, size, start="checklist") as at_table:
        if step:
            Person(at_table.sitting, at_table.clock).follow(step)
            at_table.follow.show()
        await at_table.look()
        yield at_table


def listed(at_table: Table) -> str:
    """Return all that the list says, its wrapped lines joined."""
    names = ("before", "now-line", "after")
    return " ".join(" ".join(at_table.text(name).split()) for name in names)


async def test_the_same_dose_goes_on_from_steps_to_list_and_back(tmp_path: Path) -> None:
    async with table(tmp_path) as at_table:
        await at_table.press("enter", "enter")
        sitting, begun = at_table.sitting, view_of(at_table.sitting).step
        await at_table.press("l")
        screen = at_table.screen
        assert isinstance(screen, ChecklistScreen)
        assert screen.sitting is sitting
        assert view_of(sitting).step == begun
        timer = view_of(sitting).timer
        assert timer is not None
        at_table.clock.move(timer.left + 1)
        await at_table.press("enter", "l")
        assert not isinstance(at_table.screen, ChecklistScreen)
        assert at_table.sitting is sitting
        assert view_of(sitting).done
        assert view_of(sitting).step != begun


async def test_a_line_that_waits_says_what_for_and_is_not_ticked(tmp_path: Path) -> None:
    async with list_at(tmp_path) as at_table:
        now = view_of(at_table.sitting).title
        await at_table.press(*["down"] * 3)
        assert list_words.KEY_HERE in at_table.text("keys")
        await at_table.press("enter")
        assert now in at_table.text("notice")
        assert not at_table.sitting.moments[-1].step
        await at_table.press(*["up"] * 3, "enter")
        assert f"[x] {now}" in listed(at_table)


async def test_spoiled_lines_come_open_with_the_reason(tmp_path: Path) -> None:
    async with list_at(tmp_path) as at_table:
        walk(at_table.sitting, at_table.clock, lambda view: view.part.startswith("Push"))
        told = next(
            mishap
            for mishap in at_table.sitting.dose.procedure.mishaps
            if mishap.title.startswith("My hands touched")
        )
        at_table.sitting.went_wrong(told.id)
        at_table.follow.show()
        await at_table.look()
        assert f"(again: {told.title})" in listed(at_table)
        assert f"(now, and again: {told.title})" in listed(at_table)


async def test_o_hides_what_is_done_and_shows_it_again(tmp_path: Path) -> None:
    async with list_at(tmp_path) as at_table:
        await at_table.press("enter")
        assert "[x]" in listed(at_table)
        await at_table.press("o")
        assert "[x]" not in listed(at_table)
        assert f"o {list_words.KEY_ALL}" in at_table.text("keys")
        await at_table.press("o")
        assert "[x]" in listed(at_table)


async def test_a_number_is_typed_in_the_list(tmp_path: Path) -> None:
    async with list_at(tmp_path, "label-strength-type") as at_table:
        before = len(at_table.sitting.moments)
        await at_table.press("down")
        assert at_table.screen.focused is None, "nothing is typed while another line is read"
        await at_table.press("up", "9", "9", "space", "m", "g", "enter")
        assert len(at_table.sitting.moments) == before + 1


@pytest.mark.parametrize("size", [LARGE, SMALL])
async def test_trouble_leads_to_the_call_card_in_the_list(
    tmp_path: Path, size: tuple[int, int]
) -> None:
    async with list_at(tmp_path, size=size) as at_table:
        await at_table.press("escape", "1", "1")
        await at_table.look()
        assert isinstance(at_table.screen, ChecklistScreen)
        card = view_of(at_table.sitting).card
        assert card is not None
        assert card.contacts[0].phone in at_table.text("call")
        assert misfits(at_table, whole=False) == []


@pytest.mark.parametrize("step", ["label-strength-type", ""])
async def test_the_keys_of_a_small_list_take_two_rows_and_answers_wait_until_they_are_read(
    tmp_path: Path, step: str
) -> None:
    async with list_at(tmp_path, step, SMALL) as at_table:
        await at_table.press("down", "up")
        await at_table.look()
        assert misfits(at_table, whole=False) == []
        region = at_table.screen.query_one("#now-line").region
        assert at_table.screen.body.region.overlaps(region), "the step to do now is in sight"
