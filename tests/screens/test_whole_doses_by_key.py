"""Doses through the application, with the keys that a person presses."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from types import MappingProxyType
from typing import NamedTuple

import pytest

from coach import words
from coach.sitting.show import menu_of, view_of
from coach.sitting.view import View
from tests.person import typed_as_ordered
from tests.screens.table import LARGE, NAMED, SMALL, Table, misfits, table


@dataclass
class Hands:
    """Press what the screen asks for, unless told otherwise, until the dose has ended."""

    table: Table
    hoped: bool = False
    """Whether all goes well, so that each step fits its screen."""
    answers: dict[str, list[str]] = field(default_factory=dict)
    spoils: dict[str, str] = field(default_factory=dict)
    cut_off: dict[str, list[str]] = field(default_factory=dict)

    async def follow(self, until: str = "") -> View:
        """Go through the dose to its end, or to the first time that the step *until* is shown."""
        while True:
            view = view_of(self.table.sitting)
            self.look(view)
            if view.way in ("finished", "stopped") or view.step == until:
                return view
            if view.step in self.spoils:
                await self.spoil(self.spoils.pop(view.step))
            else:
                await self.act(view)

    def look(self, view: View) -> None:
        """Find what cannot be read on the screen of *view*."""
        if found := misfits(self.table, whole=self.hoped and not self.table.sitting.over):
            self.cut_off[view.step or view.way] = found

    async def act(self, view: View) -> None:
        """Press what *view* asks for."""
        told = self.answers.get(view.step, [])
        if view.way == "run":
            await self.table.press("enter")
            while self.table.sitting.running:
                timer = self.table.sitting.timer()
                assert timer is not None
                self.look(view)
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


async def test_a_whole_dose_is_given_with_keys_alone_and_every_step_of_it_fits(
    tmp_path: Path, keys_shown: set[str]
) -> None:
    async with table(tmp_path, SMALL) as at_table:
        await at_table.press("enter")
        hands = Hands(at_table, hoped=True)
        assert (await hands.follow()).way == "finished"
        assert hands.cut_off == {}
        (row,) = at_table.desk.journal.every_sitting()
        assert row.ended == "finished"
    assert {"Esc", "Enter", "Any key", "u", "q", "t", "Ctrl+Q", words.YES_NO} <= keys_shown
    assert keys_shown <= NAMED


class Turn(NamedTuple):
    """A dose that goes as hoped up to a step, and from there with keys alone to another."""

    size: tuple[int, int]
    since: str
    until: str
    ending: str
    answers: Mapping[str, tuple[str, ...]] = MappingProxyType({})
    spoils: Mapping[str, str] = MappingProxyType({})


TURNS = {
    "resistance": Turn(
        SMALL,
        "saline-before-push",
        "",
        "stopped",
        answers={"saline-before-push": ("no",), "look-at-clamps": ("no",)},
    ),
    "a touched tip": Turn(
        LARGE,
        "saline-after-air",
        "saline-after-pad",
        "finished",
        spoils={"saline-after-air": "saline-after-tip-touched"},
    ),
    "a label that differs": Turn(
        LARGE,
        "label-strength-type",
        "",
        "stopped",
        answers={"label-strength-type": ("5 mg/mL",), "label-strength-doubt": ("5 mg/mL",)},
    ),
}


@pytest.mark.parametrize("turn", TURNS.values(), ids=TURNS.keys())
async def test_what_goes_another_way_is_answered_with_keys_alone(
    tmp_path: Path, turn: Turn
) -> None:
    async with table(tmp_path, turn.size) as at_table:
        await at_table.walk(turn.since)
        answers = {step: list(given) for step, given in turn.answers.items()}
        hands = Hands(at_table, answers=answers, spoils=dict(turn.spoils))
        assert (await hands.follow(turn.until)).step == turn.until
        await at_table.walk("")
        view = view_of(at_table.sitting)
        assert view.way == turn.ending
        assert hands.cut_off == {}
        (row,) = at_table.desk.journal.every_sitting()
        assert row.ended == turn.ending
        if turn.ending == "stopped":
            assert view.card is not None
            assert "CALL" in at_table.all_text
