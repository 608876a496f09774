"""The longest names a sheet may hold, three allergies, and a line with no clamp: nothing is cut."""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path

import pytest

from coach.engine import possible
from coach.sitting.show import view_of
from tests.person import Person, changed_sheet
from tests.screens.table import SIZES, SMALL, Table, cut, table

LONGEST = 60
"""Letters that an order sheet takes for a name."""


def long(words: str) -> str:
    """Return *words*, then as many letters more as a name may have."""
    return f"{words} {'of the long and winding names of this invented house ' * 2}"[
        :LONGEST
    ].rstrip()


SHEET = {
    "clamp: present": "clamp: none",
    "name: cefazolin": f"name: {long('cefazolin sodium')}",
    "initials: R. V. ": f"initials: {long('R. V.')} ",
    '"12 Made-Up Lane, Quillfern"': f'"{long("12 Made-Up Lane, Quillfern,")}"',
    '"Quillfern Home Nursing (invented)"': f'"{long("Quillfern Home Nursing (invented)")}"',
    "name: Nurse on call (invented)": f"name: {long('Nurse on call (invented)')}",
    "name: Pharmacist (invented)": f"name: {long('Pharmacist (invented)')}",
    "hours: any hour": f"hours: {long('any hour')}",
    "phone: 555-0100": "phone: +1 (555) 555-0100",
    '"clear, with no colour"': f'"{long("clear, with no colour,")}"',
    '["sticky tape: rash (invented)"]': (
        f'["{long("sticky tape: rash")}", "{long("latex: hives")}", "{long("dust: sneezing")}"]'
    ),
}


@asynccontextmanager
async def long_table(folder: Path, size: tuple[int, int]) -> AsyncIterator[Table]:
    """Open the application on the sheet of long names."""
    async with table(folder, size, orders=changed_sheet(folder, SHEET), first=True) as at_table:
        yield at_table


async def cut_off(at_table: Table) -> list[str]:
    """Return what is cut on the screen of the step to do now, once it is laid out."""
    at_table.follow.show()
    for _ in range(3):
        await at_table.look()
    return cut(at_table.screen)


@pytest.mark.parametrize("size", SIZES)
async def test_the_screens_around_a_dose(tmp_path: Path, size: tuple[int, int]) -> None:
    async with long_table(tmp_path, size) as at_table:
        for keys in ("", "escape", "escape", "enter", "enter", "escape", "escape q", "2 t"):
            await at_table.press(*keys.split())
            await at_table.look()
            assert cut(at_table.screen) == []


@pytest.mark.parametrize("size", [SMALL])
async def test_every_step_and_every_answer_to_trouble(
    tmp_path: Path, size: tuple[int, int]
) -> None:
    async with long_table(tmp_path, size) as at_table:
        await at_table.press("enter", "enter")
        sitting, person = at_table.sitting, Person(at_table.sitting, at_table.clock)
        told: set[str] = set()
        found: dict[str, list[str]] = {}
        while not sitting.over:
            if bad := await cut_off(at_table):
                found[view_of(sitting).step] = bad
            for mishap in possible(sitting.dose.procedure, sitting.moment.state):
                if mishap.id in told or mishap.final:
                    continue
                told.add(mishap.id)
                sitting.went_wrong(mishap.id)
                if bad := await cut_off(at_table):
                    found[mishap.id] = bad
                sitting.undo()
            person.act(view_of(sitting))
        assert found == {}
        assert len(told) > 1


@pytest.mark.parametrize("size", SIZES)
async def test_a_call_card_names_every_allergy(tmp_path: Path, size: tuple[int, int]) -> None:
    async with long_table(tmp_path, size) as at_table:
        await at_table.press("enter", "enter", "escape", "1", "1")
        assert await cut_off(at_table) == []
        said = at_table.text("words-to-say")
        for allergy in ("sticky tape: rash", "latex: hives", "dust: sneezing"):
            assert allergy in said
