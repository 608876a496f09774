"""Whole doses through the application, with the keys that a person presses."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path

import pytest

from coach.sitting.show import menu_of, view_of
from coach.sitting.view import View
from tests.person import DEMO, changed_sheet, typed_as_ordered
from tests.screens.table import LARGE, SMALL, Table, cut, table

NO_HEPARIN = {
    "  ordered: yes ": "  ordered: no ",
    "  strength: 10 units/mL   # 1, 10 or 100 units/mL.\n": "",
    "  volume: 3 mL            # How much heparin closes the line.\n": "",
}


@dataclass
class Hands:
    """Press what the screen asks for, unless told otherwise, until the dose has ended."""

    table: Table
    answers: dict[str, list[str]] = field(default_factory=dict)
    spoils: dict[str, str] = field(default_factory=dict)
    cut_off: dict[str, list[str]] = field(default_factory=dict)

    async def follow(self) -> View:
        """Go through the dose to its end."""
        while True:
            view = view_of(self.table.sitting)
            if found := cut(self.table.screen):
                self.cut_off[view.step or view.way] = found
            if view.way in ("finished", "stopped"):
                return view
            if view.step in self.spoils:
                await self.spoil(self.spoils.pop(view.step))
            else:
                await self.act(view)

    async def act(self, view: View) -> None:
        """Press what *view* asks for."""
        told = self.answers.get(view.step, [])
        if view.way == "run":
            await self.table.press("enter")
            while self.table.sitting.running:
                timer = self.table.sitting.timer()
                assert timer is not None
                await self.table.pass_time(timer.left)
        elif view.way == "wait":
            assert view.timer is not None
            await self.table.pass_time(view.timer.left)
            await self.table.press("enter")
        elif view.choices:
            while self.table.follow.unread:
                await self.table.press("space")
            names = [choice.name for choice in view.choices]
            await self.table.press(str(names.index(told.pop(0) if told else names[0]) + 1))
        elif view.way == "reading":
            typed = told.pop(0) if told else typed_as_ordered(self.table.sitting)
            keys = [{" ": "space", ".": "full_stop", "/": "slash"}.get(c, c) for c in typed]
            await self.table.press(*keys, "enter")
        else:
            await self.table.press("enter")

    async def spoil(self, name: str) -> None:
        """Say on the menu that *name* went wrong."""
        groups = menu_of(self.table.sitting)
        group, item = next(
            (str(g), str(i))
            for g, one in enumerate(groups, 1)
            for i, choice in enumerate(one.items, 1)
            if choice.name == name
        )
        await self.table.press("escape", group, item)


DOSES = {
    "with heparin": (LARGE, {}, {}, {}, "finished"),
    "without heparin": (SMALL, NO_HEPARIN, {}, {}, "finished"),
    "resistance": (
        SMALL,
        {},
        {"saline-before-push": ["no"], "look-at-clamps": ["no"]},
        {},
        "stopped",
    ),
    "a touched tip": (LARGE, {}, {}, {"saline-after-air": "saline-after-tip-touched"}, "finished"),
    "a label that differs": (
        LARGE,
        {},
        {"label-strength-type": ["5"], "label-strength-doubt": ["yes"]},
        {},
        "stopped",
    ),
}


@pytest.mark.parametrize("told", DOSES.values(), ids=DOSES.keys())
async def test_a_whole_dose_is_given_with_keys_alone(
    tmp_path: Path,
    told: tuple[tuple[int, int], dict[str, str], dict[str, list[str]], dict[str, str], str],
) -> None:
    size, changes, answers, spoils, ending = told
    orders = changed_sheet(tmp_path, changes) if changes else DEMO
    async with table(tmp_path, size, orders=orders) as at_table:
        await at_table.press("enter")
        hands = Hands(at_table, {s: list(a) for s, a in answers.items()}, dict(spoils))
        view = await hands.follow()
        assert view.way == ending
        assert hands.cut_off == {}
        (row,) = at_table.desk.journal.sittings(at_table.desk.sheet.sheet.id)
        assert row.ended == ending
        if ending == "stopped":
            assert view.card is not None
            assert "CALL" in at_table.all_text
