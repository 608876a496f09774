"""What follows from each thing that can go wrong can be read, and fits a large window whole."""

from __future__ import annotations

from pathlib import Path

import pytest

from coach.engine import possible
from coach.sitting.show import view_of
from tests.person import Person
from tests.screens.table import LARGE, SIZES, misfits, table


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
