"""Nothing is cut, at 80 by 24 and at 40 by 12, and nothing in a text is taken for a command.

That each step of a dose fits 40 by 12 is seen by `test_whole_doses_by_key`.
"""

from __future__ import annotations

from pathlib import Path

import msgspec
import pytest

from coach.clock import ManualClock
from coach.screens.contacts import ContactsScreen
from coach.screens.widgets.words import Words, shown
from coach.sitting.contacts import Contact
from coach.sitting.show import view_of
from coach.sitting.view import View
from tests.person import DAILY, MORNING, Person, changed_sheet, desk_at
from tests.screens.table import LARGE, NAMED, SIZES, SMALL, cut, misfits, table

BETWEEN = [(120, 40), (60, 20)]
"""Sizes that no picture has; `test_every_scene_can_be_read` measures the others."""
HOSTILE = "[/ [@click=app.quit]x[/] [b"


@pytest.mark.parametrize("size", BETWEEN)
async def test_nothing_is_cut_on_the_screens_beside_a_step(
    tmp_path: Path, size: tuple[int, int]
) -> None:
    async with table(tmp_path, size) as at_table:
        await at_table.press("enter")
        for key in ("t", "escape", "q", "2", "escape", "2", "escape", "escape", "1", "1"):
            await at_table.press(key)
            await at_table.look()
            assert cut(at_table.screen) == [], key
        assert at_table.sitting.moment.event is not None
        assert at_table.sitting.moment.event.kind == "trouble"


@pytest.mark.parametrize("size", BETWEEN)
async def test_nothing_is_cut_where_a_number_is_refused_and_where_medicine_flows(
    tmp_path: Path, size: tuple[int, int]
) -> None:
    async with table(tmp_path, size) as at_table:
        await at_table.press("enter")
        steps = at_table.sitting.dose.procedure.steps
        flows = next(step.id for step in steps if getattr(step.ask, "gives", ""))
        for step, keys in (("label-strength-type", ["x", "enter"]), (flows, ["escape", "1", "4"])):
            await at_table.walk(step)
            assert cut(at_table.screen) == []
            for key in keys:
                await at_table.press(key)
                await at_table.look()
                assert cut(at_table.screen) == [], key


def words_of(view: View) -> int:
    """Return how much there is to read at a step, in characters; a line is at most 80."""
    lines = [view.do, view.why, view.asks, *(f"{choice.says:80}" for choice in view.choices)]
    return sum(len(line) for line in [*lines, *(f"{move.title:80}" for move in view.stretch)])


async def test_the_longest_third_of_the_steps_fit_a_large_window(
    tmp_path: Path, keys_shown: set[str]
) -> None:
    (tmp_path / "before").mkdir()
    clock, views = ManualClock(MORNING), list[View]()
    before = desk_at(tmp_path / "before", clock=clock)
    with before.journal:
        Person(before.begin(), clock, before=views.append).follow()
    longest = {view.step for view in sorted(views, key=words_of)[-len(views) // 3 :]}
    async with table(tmp_path, LARGE) as at_table:
        await at_table.press("enter")
        person = Person(at_table.sitting, at_table.clock)
        found: dict[str, list[str]] = {}
        while not at_table.sitting.over:
            view = view_of(at_table.sitting)
            if view.step in longest:
                at_table.follow.show()
                await at_table.look()
                if bad := misfits(at_table, whole=True):
                    found[view.step] = bad
            person.act(view)
        assert found == {}
    assert keys_shown <= NAMED


@pytest.mark.parametrize("size", SIZES)
async def test_the_notices_and_the_day_can_be_read(tmp_path: Path, size: tuple[int, int]) -> None:
    async with table(tmp_path, size, first=True) as at_table:
        await at_table.look()
        assert cut(at_table.screen) == []
        assert "does not replace" in at_table.all_text
        await at_table.press("enter")
        await at_table.look()
        assert cut(at_table.screen) == []
        assert "Enter starts it" in at_table.all_text


@pytest.mark.parametrize("size", SIZES)
async def test_text_that_looks_like_a_command_is_shown_as_it_is(
    tmp_path: Path, size: tuple[int, int]
) -> None:
    orders = changed_sheet(
        tmp_path,
        {
            "name: cefazolin": f"name: '{HOSTILE}'",
            "initials: R. V.": f"initials: '{HOSTILE}'",
        },
    )
    async with table(tmp_path, size, orders=orders) as at_table:
        for press in ("", "enter", "escape", "1", "1"):
            await at_table.press(*press.split())
            await at_table.look()
            assert cut(at_table.screen) == []
        assert HOSTILE in at_table.all_text
        assert at_table.pilot.app.is_running


@pytest.mark.parametrize("size", SIZES)
async def test_every_kind_of_step_shows_hostile_words_as_they_are(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, size: tuple[int, int]
) -> None:
    async with table(tmp_path, size) as at_table:
        await at_table.press("enter")
        screen, view = at_table.follow, view_of(at_table.sitting)
        monkeypatch.setattr(screen, "show", lambda: None)  # no late repaint of the true words
        bad = HOSTILE + "\x1b[2J\x9b"
        hostile = msgspec.structs.replace(
            view, do=bad, why=bad, asks=bad, part=bad, title=bad, done=bad, following=bad
        )
        screen._show_step(hostile)
        screen._show_along(hostile)
        await at_table.pilot.pause()
        for words in screen.query(Words):
            assert "\x1b" not in str(words.visual)
            assert "\x9b" not in str(words.visual)
        assert HOSTILE in at_table.text("sentence")


def test_no_character_that_moves_the_cursor_is_shown() -> None:
    assert shown("a\x1b[2Jb\x9bc").plain == "a\ufffd[2Jb\ufffdc"
    assert shown("[/b] [@click=app.quit]x").spans == []


async def test_a_long_list_says_that_there_is_more_and_space_goes_there(tmp_path: Path) -> None:
    async with table(tmp_path, SMALL) as at_table:
        people = tuple(Contact(f"Nurse {n}", "A name", "555-0100", "always") for n in range(12))
        at_table.pilot.app.push_screen(ContactsScreen(people))
        await at_table.look()
        assert "More below" in at_table.text("more")
        for _ in range(5):
            await at_table.press("space")
            await at_table.look()
            if "That is all" in at_table.text("more"):
                break
        assert "That is all" in at_table.text("more")
        await at_table.press("space")
        assert at_table.screen.body.scroll_offset.y == 0


async def test_a_window_that_grows_shows_the_picture(tmp_path: Path) -> None:
    async with table(tmp_path, SMALL) as at_table:
        await at_table.press("enter")
        assert at_table.text("picture") == ""
        await at_table.press("p")
        assert "From the bag to you" in at_table.text("picture-list")
        await at_table.press("p")
        await at_table.resize(LARGE)
        assert "Connector" in at_table.text("picture")
        await at_table.pilot.resize_terminal(1, 1)
        await at_table.resize(SMALL)
        assert cut(at_table.screen) == []


async def test_a_step_that_fits_is_shown_with_its_reason(tmp_path: Path) -> None:
    async with table(tmp_path, SMALL) as at_table:
        await at_table.press("enter")
        await at_table.look()
        await at_table.look()
        assert at_table.text("why").startswith("Why: ")
        assert at_table.text("next").startswith("Next: ")


async def test_a_dose_of_another_day_can_be_read(tmp_path: Path) -> None:
    async with table(tmp_path, SMALL, orders=DAILY) as at_table:
        await at_table.look()
        assert cut(at_table.screen) == []
        assert "dose due" in at_table.all_text
