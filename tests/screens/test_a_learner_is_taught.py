"""Three teaching visits by keys alone: with help, better, alone; then the sign-off and a change."""

from __future__ import annotations

from pathlib import Path

import pytest
from textual.widgets import Input

from coach import keys
from coach.clock import ManualClock
from coach.journal.store import Journal
from coach.journal.teaching import Mark, Met, SignOff
from coach.practice.competence import CompetenceSheet
from coach.procedure.teaching import read_teaching
from coach.screens.app import CoachApp
from coach.screens.practice import PracticeScreen
from coach.screens.rehearse import VisitScreen
from coach.sitting.desk import Desk
from coach.telling import today_lines
from coach.themes import DARK
from tests.person import DEMO, MORNING, holds
from tests.procedure.shipped import BUNDLE
from tests.screens.classroom import Classroom, classroom, small_procedures, without_heparin
from tests.screens.table import LARGE, NAMED, SMALL, Table, misfits

DAY = 24 * 3_600
SCRUB = 15


async def begin_visit(room: Classroom, nurse: str, *, first: bool = False) -> None:
    """Go from the list of learners to a visit."""
    await room.press("1")
    if first:
        await room.type("Rosa V.")
        await room.type("wife")
    await room.type(nurse)
    assert isinstance(room.screen, VisitScreen)


async def scrub(room: Classroom) -> None:
    """Start the hold and let it run to its end."""
    await room.press("enter")
    for _ in range(3):
        await room.pass_time(SCRUB / 2)


async def to_the_end(room: Classroom) -> None:
    """Skip the wait at the end, and go from there to the marks."""
    await room.press("f3")
    assert "2 minutes of 2 minutes were skipped for practice." in room.screen_text
    await room.press("enter", "enter")


async def first_visit(room: Classroom) -> None:
    """Help is given, and two surprises are missed."""
    await begin_visit(room, "Ash", first=True)
    await room.press("enter", "f4", "f4", "enter")
    assert "Wash your hands: with a reminder, prompts: 2." in room.screen_text
    await room.deal("Look at the bag: No")
    assert "Now this happens: The fluid looks milky." in room.screen_text
    await room.press("1")
    assert "Nurse: missed. Look at the bag: Yes. Right would be: No." in room.screen_text
    await room.press("f8")
    await scrub(room)
    await room.press("f7")
    await room.deal("touched")
    await room.press("enter")
    assert "missed" in room.screen_text
    await room.press("f5")
    assert "Nurse: Join the syringe: alone." in room.screen_text
    assert "something, missed: not yet." in room.screen_text
    await to_the_end(room)
    assert room.screen_text.startswith("PRACTICE Marks It does not count.")
    await room.press("enter", "b", "1", "enter", "m", "1", "escape")


async def alone(room: Classroom, *, reminded: bool = False, surprise: bool = False) -> None:
    """Rehearse a dose alone, but for a scrub with a reminder; a surprise is met rightly."""
    await room.press("enter", "enter", "f5", "1", "f5")
    await scrub(room)
    await room.press("f6" if reminded else "f5")
    if surprise:
        await room.deal("touched")
        await room.press("escape")
        await room.press("1")
        await room.choose("touched")
        assert "Nurse: right." in room.screen_text
        await room.press("f5")
        await scrub(room)
        await room.press("f5")
    await room.press("enter", "f5")
    await to_the_end(room)
    assert ("This rehearsal counts" in room.screen_text) is not reminded
    await room.press("enter")


async def refused(room: Classroom, missing: str) -> None:
    """Have the nurse sign, who is told what is *missing*."""
    await room.press("g")
    assert isinstance(room.screen, VisitScreen)
    assert room.text("notice") == f"Still missing: {missing}."
    assert room.lessons.book.every(SignOff) == ()


async def second_visit(room: Classroom) -> None:
    """It goes better: first with a reminder, then alone, and no surprise is dealt."""
    await begin_visit(room, "Elm")
    await alone(room, reminded=True)
    await alone(room)
    await room.press("b", "1", "2", "enter")
    another = "alone in a row: 2 more; on another day: 1 more; with a surprise: 1 more"
    await refused(room, another)


async def third_visit(room: Classroom) -> None:
    """All is done alone, and a surprise is met."""
    await begin_visit(room, "Ash")
    await alone(room)
    await refused(room, "alone in a row: 1 more; with a surprise: 1 more")
    await alone(room, surprise=True)


def cells(sheet: CompetenceSheet) -> dict[str, tuple[str, ...]]:
    """Return the levels of each row of the sheet."""
    return {one.step: one.levels for one in sheet.steps}


async def test_three_visits_to_a_sign_off_and_heparin_ordered_after_it(tmp_path: Path) -> None:
    """By the rule that ships, which takes more than one rehearsal at a visit."""
    clock, procedures = ManualClock(MORNING), small_procedures(tmp_path, read_teaching(BUNDLE).rule)
    orders = without_heparin(tmp_path)
    for visit in (first_visit, second_visit, third_visit):
        async with classroom(tmp_path, orders=orders, procedures=procedures, clock=clock) as room:
            await visit(room)
            if visit is third_visit:
                await _signed(room)
        clock.move(DAY)
    async with classroom(tmp_path, orders=DEMO, procedures=procedures, clock=clock) as room:
        await begin_visit(room, "Ash")
        assert "Since the sign-off these steps changed: Push the heparin." in room.screen_text
        [learner] = room.lessons.learners()
        assert [step.id for step in room.lessons.to_show_again(learner)] == ["lock"]
    await _today_says_it(tmp_path, procedures, clock)


TABLE = """
Steps                             1        2        3
All of it
*  Wash your hands                alone    alone    alone
   Look at the bag                not yet  alone    alone
*  Scrub the connector            hands-on reminder alone
*  Join the syringe               alone    alone    alone

Surprises
Look at the bag: No
                                  missed   -        -
                                  not yet  -        -
The connector touched something
                                  missed   -        right
                                  not yet  -        alone

In their own words
What do you do when a tip touched something?
                                  1 of 2   2 of 2   -
"""
"""Every cell of the sheet, as it stands on the screen."""


async def _signed(room: Classroom) -> None:
    """Every cell of the sheet is as it was marked, and now the nurse may sign."""
    [learner] = room.lessons.learners()
    sheet = room.lessons.competence(learner)
    assert cells(sheet) == {
        "wash": ("alone", "alone", "alone"),
        "look": ("not-yet", "alone", "alone"),
        "scrub": ("hands-on", "reminder", "alone"),
        "join": ("alone", "alone", "alone"),
    }
    assert {one.name: (one.went, one.levels) for one in sheet.surprises} == {
        "answer look no": (("missed", "", ""), ("not-yet", "", "")),
        "mishap touched": (("missed", "", "right"), ("not-yet", "", "alone")),
    }
    assert [one.said for one in sheet.said_back] == [(1, 2, None)]
    assert [[v.counts for v in head.verdicts] for head in sheet.visits] == [
        [False],
        [False, True],
        [True, True],
    ]
    await room.press("c")
    assert TABLE in room.text("page")
    await room.press("escape", "g")
    await room.type("Ash")
    assert "Signed off by Ash." in room.screen_text
    assert len(room.lessons.book.every(SignOff)) == 1


async def _today_says_it(folder: Path, procedures: Path, clock: ManualClock) -> None:
    """The Today screen and its plain lines say which steps to show again."""
    line = "Since Rosa V. was signed off, one step is new or changed: Push the heparin."
    with Journal.open(folder / "journal.sqlite") as journal:
        journal.mark_first_start()
        desk = Desk(DEMO, procedures, journal, clock, holds)
        assert line in today_lines(desk)
        async with CoachApp(desk, "today", DARK).run_test(size=LARGE) as pilot:
            table = Table(pilot, clock, desk)
            await table.settle()
            assert line in " ".join(table.all_text.split())
        assert journal.every_sitting() == ()


async def test_the_phone_in_the_middle_of_a_scrub_stops_nothing(tmp_path: Path) -> None:
    """Neither at the first time nor at the second."""
    procedures = small_procedures(tmp_path)
    async with classroom(tmp_path, orders=DEMO, procedures=procedures) as room:
        await begin_visit(room, "Ash", first=True)
        await room.press("enter", "enter", "1")
        for number in (1, 2):
            await room.press("enter")
            await room.pass_time(6)
            await room.pass_time(2)
            await room.deal("phone")
            assert room.sitting.running
            assert "Now this happens: Your phone rings." in room.screen_text
            for _ in range(3):
                await room.pass_time(6)
            assert "Nurse: right." in room.screen_text
            assert [one.is_right for one in room.lessons.book.every(Met)] == [True] * number
            await room.press("escape", "1")
            await room.choose("touched")


async def test_a_rehearsal_is_marked_as_practice_on_every_screen_and_nothing_is_cut(
    tmp_path: Path, keys_shown: set[str]
) -> None:
    procedures = small_procedures(tmp_path)
    async with classroom(tmp_path, SMALL, orders=DEMO, procedures=procedures) as room:
        await begin_visit(room, "Ash", first=True)
        opened = ["c", "escape", "b", "escape", "enter", "t", "escape", "f1", "escape", "f2"]
        opened += ["escape", "escape", "escape", "enter", "f6", "f9", "escape", "f2", "enter"]
        opened += ["escape", "1", "1", "escape", "q", "2"]
        for key in opened:
            await room.press(key)
            assert room.text("part").startswith("PRACTICE"), key
            assert misfits(room, whole=False) == [], key
            if isinstance(room.screen, PracticeScreen):
                await _each_key_is_named(room)
    assert keys_shown <= NAMED


async def _each_key_is_named(room: Classroom) -> None:
    """What a key does stands in the key line, or on the screen that F1 opens."""
    screen = room.screen
    assert isinstance(screen, PracticeScreen)
    line, side = room.text("keys"), screen._side_keys(screen.view)
    assert f"{keys.NURSE.shown} Keys" in line
    await room.press("f1")
    listed = room.screen_text
    await room.press("escape")
    for key, says in side:
        assert f"{key} {says}" in line or f"{key}: " in listed, key
    for nurses in (keys.DEAL, keys.SKIP, keys.PROMPT, keys.MARK, keys.MARK_NOTE):
        assert f"{nurses.shown}: " in listed


async def test_what_the_nurse_types_is_no_mark_and_no_prompt(tmp_path: Path) -> None:
    """The keys of the nurse work while a number is typed, but not while she types herself."""
    procedures = small_procedures(tmp_path)
    async with classroom(tmp_path, orders=DEMO, procedures=procedures) as room:
        await begin_visit(room, "Ash", first=True)
        await room.press("enter", "enter", "f6", "f9")
        for opens in ("", "t"):
            if opens:
                await room.press(opens)
            before = room.lessons.book.every(Mark)
            for key in ("a", "f2", "f4", "f5", "f8", "f9", "b"):
                await room.press(key)
            assert room.screen.query_one("#typed", Input).value == "ab"
            assert "nothing is marked while a note is typed" in room.screen_text
            assert room.lessons.book.every(Mark) == before
            await room.press("enter")
        practice = room.screen
        assert isinstance(practice, PracticeScreen)
        assert practice.beside.prompts == 0
        [row] = [one for one in practice.rehearsal.to_mark() if one.mark is not None]
        assert (row.mark and row.mark.level, row.mark and row.mark.note) == ("reminder", "ab")


async def test_a_name_with_which_nothing_was_done_is_no_learner(tmp_path: Path) -> None:
    procedures = small_procedures(tmp_path)
    async with classroom(tmp_path, orders=DEMO, procedures=procedures) as room:
        await room.press("1")
        await room.type("?")
        assert room.text("notice") == "Please type a name."
        await begin_visit(room, "Ash", first=True)
        await room.press("escape")
        told = "Nothing was done with Rosa V., so the name is not on the list."
        assert room.text("notice") == told
        assert room.lessons.learners() == ()
        assert "1 Add a learner" in room.screen_text


async def test_a_call_card_says_that_no_call_is_real(tmp_path: Path) -> None:
    procedures = small_procedures(tmp_path)
    async with classroom(tmp_path, orders=DEMO, procedures=procedures) as room:
        await begin_visit(room, "Ash", first=True)
        await room.press("enter", "enter", "2")
        assert room.text("call").startswith("CALL")
        assert room.text("not-real") == "PRACTICE. No real call, no real medicine."


@pytest.mark.parametrize("aside", [False, True])
async def test_a_rehearsal_that_was_left_is_taken_up_or_put_aside(
    tmp_path: Path, aside: bool
) -> None:
    procedures = small_procedures(tmp_path)
    async with classroom(tmp_path, orders=DEMO, procedures=procedures) as room:
        await begin_visit(room, "Ash", first=True)
        await room.press("enter", "enter", "f7", "q", "1")
    async with classroom(tmp_path, orders=DEMO, procedures=procedures) as room:
        assert "A rehearsal of Rosa V. is under way." in room.screen_text
        await room.press("a" if aside else "enter")
        if aside:
            assert room.lessons.under_way() is None
            assert "It does not count. Its marks are kept." in room.text("notice")
            await begin_visit(room, "Ash")
            await room.press("m")
            assert "* Wash your hands: with hands-on help" in room.screen_text
            await room.press("2", "escape")
            [mark] = room.lessons.book.every(Mark)[1:]
            assert (mark.step, mark.level) == ("wash", "reminder")
        else:
            assert isinstance(room.screen, PracticeScreen)
            [row] = [one for one in room.screen.rehearsal.to_mark() if one.step == "wash"]
            assert row.mark is not None
            assert row.mark.level == "hands-on"
