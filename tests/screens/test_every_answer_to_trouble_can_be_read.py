"""What follows from each thing that can go wrong can be read, and fits a large window whole."""

from __future__ import annotations

from pathlib import Path

import pytest

from coach.engine import possible
from coach.sitting.show import view_of
from tests.person import Person
from tests.screens.table import LARGE, SIZES, SMALL, misfits, table


@pytest.mark.parametrize("size", SIZES)
async def test_each_thing_that_goes_wrong_is_answered_on_a_screen_that_fits(
    tmp_path: Path, size: tuple[int, int]
) -> None:
    async with table(tmp_path, size) as at_table:
        await at_table.press("enter")
        sitting, person = at_table.sitting, Person(at_table.sitting, at_table.clock)
        told: set[str] = set()
        found: dict[str, list[str]] = {}
        while not sitting.over:
            for mishap in possible(sitting.dose.procedure, sitting.moment.state):
                if mishap.id in told or mishap.final:
                    continue
                told.add(mishap.id)
                sitting.went_wrong(mishap.id)
                at_table.follow.show()
                await at_table.look()
                if bad := misfits(at_table, whole=size == LARGE):
                    found[mishap.id] = bad
                sitting.undo()
            person.act(view_of(sitting))
        assert found == {}
        kinds = {one.id for one in sitting.dose.procedure.mishaps if not one.final}
        assert len(told) > len(kinds) // 2


@pytest.mark.parametrize("size", SIZES)
async def test_each_look_at_a_pump_that_beeps_is_a_screen_that_fits(
    tmp_path: Path, size: tuple[int, int]
) -> None:
    async with table(tmp_path, size) as at_table:
        await at_table.press("enter")
        sitting, person = at_table.sitting, Person(at_table.sitting, at_table.clock)
        person.follow(until="infuse")
        sitting.went_wrong("pump-beeps")
        person.answers = {
            "beeps-body": ["no"], "beeps-screen": ["blocked"], "blocked-clamps": ["no"],
            "blocked-bends": ["no"], "blocked-bag": ["no"], "blocked-air": ["no"],
        }  # fmt: skip
        found: dict[str, list[str]] = {}
        while not sitting.over:
            at_table.follow.show()
            await at_table.look()
            view = view_of(sitting)
            if bad := misfits(at_table, whole=size == LARGE):
                found[view.step] = bad
            person.act(view)
        assert found == {}
        assert not any(person.answers.values())


async def test_an_answer_is_taken_as_soon_as_its_end_is_in_sight(tmp_path: Path) -> None:
    async with table(tmp_path, SMALL) as at_table:
        await at_table.press("enter", "escape", "1", "1")
        assert at_table.follow.unread
        body = at_table.screen.body
        while body.scroll_offset.y < body.max_scroll_y:
            body.scroll_page_down(animate=False, force=True)
            await at_table.settle()
        assert not at_table.follow.read_down, "no key has told the screen that it was read"
        await at_table.press("1")
        assert at_table.sitting.over
