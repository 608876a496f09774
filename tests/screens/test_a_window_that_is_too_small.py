"""A window made too small takes no answer but can be left, and loses nothing."""

from __future__ import annotations

from pathlib import Path

import pytest
from textual.widgets import Input

from coach.screens.follow import FollowScreen
from coach.screens.widgets.words import Words
from coach.screens.wrong import WrongScreen
from coach.sitting.show import view_of
from tests.person import Person
from tests.screens.table import SMALL, Table, cut, table

TOO_SMALL = [(30, 8), (39, 11), (39, 24), (80, 11), (12, 5)]


async def resized(at_table: Table, size: tuple[int, int]) -> None:
    """Give the window a new size and let the screen settle."""
    await at_table.resize(size)


def seen(at_table: Table) -> list[str]:
    """Return the words that have a place on the screen."""
    words = at_table.screen.query(Words)
    return [one.text for one in words if one.text and one.region.area]


@pytest.mark.parametrize("keys", ["", "enter", "enter escape", "enter q", "enter escape 7"])
async def test_it_shows_whole_sentences_and_as_many_as_fit(tmp_path: Path, keys: str) -> None:
    async with table(tmp_path, SMALL) as at_table:
        await at_table.press(*keys.split())
        for size in TOO_SMALL:
            await resized(at_table, size)
            (text,) = seen(at_table)
            whole = ["Make the window larger, or use coach --plain."]
            if size != (12, 5):
                whole += ["Press q to leave. Nothing is lost.", "Nurse 555-0100"]
            assert " ".join(text.split()) == " ".join(whole)
            assert cut(at_table.screen) == []


@pytest.mark.parametrize(
    ("keys", "leaves"),
    [(keys, "q") for keys in ("", "escape", "q", "t", "escape 5")] + [("", "Q"), ("t", "ctrl+q")],
)
async def test_it_can_be_left_and_the_dose_stays_as_it_is(
    tmp_path: Path, leaves: str, keys: str
) -> None:
    async with table(tmp_path) as at_table:
        await at_table.press("enter", "enter", *keys.split())
        sitting = at_table.sitting
        await resized(at_table, (30, 8))
        await at_table.press(leaves)
        assert not at_table.pilot.app.is_running
        kept = [event.kind for event in sitting.journal.events(sitting.row.id)]
        assert kept == ["done", "left"]
        assert not sitting.over


async def test_it_can_be_left_while_a_timer_runs(tmp_path: Path) -> None:
    async with table(tmp_path) as at_table:
        await at_table.press("enter")
        person = Person(at_table.sitting, at_table.clock)
        while view_of(at_table.sitting).way != "run":
            person.act(view_of(at_table.sitting))
        await at_table.look()
        await at_table.press("enter")
        sitting = at_table.sitting
        await resized(at_table, (30, 8))
        await at_table.press("q")
        assert not at_table.pilot.app.is_running
        assert sitting.journal.events(sitting.row.id)[-1].kind == "left"


async def test_today_can_be_left_from_a_window_that_is_too_small(tmp_path: Path) -> None:
    async with table(tmp_path, (30, 8)) as at_table:
        await at_table.look()
        await at_table.press("q")
        assert not at_table.pilot.app.is_running


async def test_no_key_answers_a_step_that_cannot_be_read(tmp_path: Path) -> None:
    async with table(tmp_path) as at_table:
        await at_table.walk("label-strength-type")
        told = len(at_table.sitting.moments)
        await resized(at_table, (30, 8))
        await at_table.press("2", "enter", "u", "y", "1", "space")
        assert len(at_table.sitting.moments) == told
        assert isinstance(at_table.screen, FollowScreen)
        await resized(at_table, (80, 24))
        typed = at_table.screen.query_one(Input)
        assert typed.value == ""
        assert typed.has_focus
        assert cut(at_table.screen) == []


async def test_escape_works_once_the_window_is_large_again(tmp_path: Path) -> None:
    async with table(tmp_path) as at_table:
        await at_table.press("enter")
        await resized(at_table, (39, 11))
        await resized(at_table, SMALL)
        await at_table.press("escape")
        assert isinstance(at_table.screen, WrongScreen)
        assert cut(at_table.screen) == []


async def test_what_is_wrong_can_be_read_after_escape_in_a_small_window(tmp_path: Path) -> None:
    async with table(tmp_path) as at_table:
        await at_table.press("enter")
        await resized(at_table, (39, 11))
        await at_table.press("escape", "1")
        await resized(at_table, SMALL)
        assert isinstance(at_table.screen, WrongScreen)
        assert at_table.text("part") == "What is wrong?"
        assert cut(at_table.screen) == []


async def test_a_wait_goes_on_and_a_run_still_stops(tmp_path: Path) -> None:
    async with table(tmp_path) as at_table:
        await at_table.press("enter")
        person = Person(at_table.sitting, at_table.clock)
        while (view := view_of(at_table.sitting)).way != "wait":
            person.act(view)
        await resized(at_table, (30, 8))
        await at_table.pass_time(1_000)
        await resized(at_table, SMALL)
        assert "Press Enter" in at_table.text("time-left")
        while view_of(at_table.sitting).way != "run":
            person.act(view_of(at_table.sitting))
        await at_table.look()
        await at_table.press("enter")
        await resized(at_table, (30, 8))
        assert at_table.sitting.running
        await at_table.press("a")
        assert not at_table.sitting.running
