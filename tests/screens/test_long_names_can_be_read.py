"""The longest names a sheet may hold, three allergies, no clamp, no heparin: nothing is cut.

What reads as in the demonstration dose is left to `test_whole_doses_by_key` and
`test_every_answer_to_trouble_can_be_read`.
"""

from __future__ import annotations

from collections.abc import AsyncIterator, Awaitable, Callable
from contextlib import asynccontextmanager
from pathlib import Path

import pytest
from msgspec.structs import replace

from coach.clock import ManualClock
from coach.engine import possible
from coach.sitting.show import view_of
from coach.sitting.sitting import Sitting
from coach.sitting.view import View
from tests.person import MORNING, Person, changed_sheet, desk_at
from tests.screens.table import SIZES, SMALL, Table, cut, misfits, table

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


NO_HEPARIN = {
    "  ordered: yes ": "  ordered: no ",
    "  strength: 10 units/mL   # 1, 10 or 100 units/mL.\n": "",
    "  volume: 3 mL            # How much heparin closes the line.\n": "",
}


@asynccontextmanager
async def long_table(folder: Path, size: tuple[int, int]) -> AsyncIterator[Table]:
    """Open the application on the sheet of long names."""
    async with table(folder, size, orders=changed_sheet(folder, SHEET), first=True) as at_table:
        yield at_table


async def cut_off(at_table: Table) -> list[str]:
    """Return what is cut on the screen of the step to do now, once it is laid out."""
    at_table.follow.show()
    await at_table.look()
    return misfits(at_table, whole=False)


Shown = Callable[[str, View], Awaitable[None]]


async def each_step(sitting: Sitting, clock: ManualClock, shown: Shown) -> None:
    """Go as hoped to the end, each step *shown* by its name."""
    person = Person(sitting, clock)
    while not sitting.over:
        view = view_of(sitting)
        await shown(view.step, view)
        person.act(view)


async def each_answer(sitting: Sitting, clock: ManualClock, shown: Shown) -> None:
    """Go as hoped to the end, the answer to each thing that can go wrong *shown* once, by name."""
    person, told = Person(sitting, clock), set[str]()
    while not sitting.over:
        for mishap in possible(sitting.dose.procedure, sitting.moment.state):
            if mishap.id not in told and not mishap.final:
                told.add(mishap.id)
                sitting.went_wrong(mishap.id)
                await shown(mishap.id, view_of(sitting))
                sitting.undo()
        person.act(view_of(sitting))


Walk = Callable[[Sitting, ManualClock, Shown], Awaitable[None]]


def wording(view: View) -> View:
    """Return *view* without what moves with time and with how many steps there are."""
    return replace(view, place=None, timer=None, picture=(), given="", ends_at=None)


async def wordings(folder: Path, walk: Walk) -> dict[str, View]:
    """Return how everything that *walk* shows reads in the demonstration dose, by its name."""
    read: dict[str, View] = {}

    async def shown(name: str, view: View) -> None:
        read[name] = wording(view)

    clock = ManualClock(MORNING)
    desk = desk_at(folder, clock=clock)
    with desk.journal:
        await walk(desk.begin(), clock, shown)
    return read


@pytest.mark.parametrize("walk", [each_step, each_answer])
@pytest.mark.parametrize("changes", [SHEET, NO_HEPARIN], ids=["long names", "no heparin"])
async def test_every_step_and_every_answer_to_trouble(
    tmp_path: Path, changes: dict[str, str], walk: Walk
) -> None:
    usual = await wordings(tmp_path / "usual", walk)
    looked_at: list[str] = []
    found: dict[str, list[str]] = {}
    async with table(tmp_path, SMALL, orders=changed_sheet(tmp_path, changes)) as at_table:
        await at_table.press("enter")

        async def shown(name: str, view: View) -> None:
            if usual.get(name) != wording(view):
                looked_at.append(name)
                if bad := await cut_off(at_table):
                    found[name] = bad

        await walk(at_table.sitting, at_table.clock, shown)
    assert found == {}
    assert looked_at


@pytest.mark.parametrize("size", SIZES)
async def test_the_screens_around_a_dose(tmp_path: Path, size: tuple[int, int]) -> None:
    async with long_table(tmp_path, size) as at_table:
        for keys in ("", "escape", "escape", "enter", "enter", "escape", "escape q", "2 t"):
            await at_table.press(*keys.split())
            await at_table.look()
            assert cut(at_table.screen) == []


@pytest.mark.parametrize("size", SIZES)
async def test_a_call_card_names_every_allergy(tmp_path: Path, size: tuple[int, int]) -> None:
    async with long_table(tmp_path, size) as at_table:
        await at_table.press("enter", "enter", "escape", "1", "1")
        assert await cut_off(at_table) == []
        said = at_table.text("words-to-say")
        for allergy in ("sticky tape: rash", "latex: hives", "dust: sneezing"):
            assert allergy in said
