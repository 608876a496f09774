"""Three teaching visits by keys alone: with help, better, alone; then the sign-off and a change."""

from __future__ import annotations

from pathlib import Path

import pytest

from coach.clock import ManualClock
from coach.journal.store import Journal
from coach.journal.teaching import SignOff
from coach.practice.competence import CompetenceSheet
from coach.screens.app import CoachApp
from coach.screens.practice import PracticeScreen
from coach.screens.rehearse import VisitScreen
from coach.sitting.desk import Desk
from coach.telling import today_lines
from coach.themes import DARK
from tests.person import DEMO, MORNING, holds
from tests.screens.classroom import Classroom, classroom, small_procedures, without_heparin
from tests.screens.table import LARGE, NAMED, SMALL, Table, cut

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
    await to_the_end(room)
    assert room.screen_text.startswith("PRACTICE Marks It does not count.")
    await room.press("enter", "b", "1", "enter", "m", "1", "escape")


async def second_visit(room: Classroom) -> None:
    """One step needs a reminder, and no surprise is dealt."""
    await begin_visit(room, "Elm")
    await room.press("enter", "enter", "f5", "1", "f5")
    await scrub(room)
    await room.press("f6", "enter", "f5")
    await to_the_end(room)
    assert "Scrub the connector: with a reminder." in room.screen_text
    await room.press("enter", "b", "1", "2", "enter", "g")
    assert isinstance(room.screen, VisitScreen)
    assert "Still missing: alone in a row: 1 more" in room.text("notice")


async def third_visit(room: Classroom) -> None:
    """All is done alone, and a surprise is met."""
    await begin_visit(room, "Ash")
    await room.press("enter", "enter", "f5", "1", "f5")
    await scrub(room)
    await room.press("f5")
    await room.deal("touched")
    await room.press("escape")
    await room.press("1")
    await room.choose("touched")
    assert "Nurse: right." in room.screen_text
    await room.press("f5")
    await scrub(room)
    await room.press("f5", "enter", "f5")
    await to_the_end(room)
    assert "This rehearsal counts" in room.screen_text
    await room.press("enter")


def cells(sheet: CompetenceSheet) -> dict[str, tuple[str, ...]]:
    """Return the levels of each row of the sheet."""
    return {one.step: one.levels for one in sheet.steps}


async def test_three_visits_to_a_sign_off_and_heparin_ordered_after_it(tmp_path: Path) -> None:
    clock, procedures = ManualClock(MORNING), small_procedures(tmp_path)
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
        "mishap touched": (("missed", "", "right"), ("alone", "", "alone")),
    }
    assert [one.said for one in sheet.said_back] == [(1, 2, None)]
    assert [[v.counts for v in head.verdicts] for head in sheet.visits] == [
        [False],
        [False],
        [True],
    ]
    assert room.lessons.book.every(SignOff) == ()
    await room.press("c")
    assert "Wash your hands" in room.screen_text
    assert "help remind alone" in room.screen_text
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
    procedures = small_procedures(tmp_path)
    async with classroom(tmp_path, orders=DEMO, procedures=procedures) as room:
        await begin_visit(room, "Ash", first=True)
        await room.press("enter", "enter", "1", "enter")
        await room.pass_time(6)
        await room.pass_time(2)
        await room.deal("phone")
        assert room.sitting.running
        assert "Now this happens: Your phone rings." in room.screen_text
        for _ in range(3):
            await room.pass_time(6)
        assert "Nurse: right." in room.screen_text


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
            assert cut(room.screen) == [], key
    assert keys_shown <= NAMED


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
        else:
            assert isinstance(room.screen, PracticeScreen)
            [row] = [one for one in room.screen.rehearsal.to_mark() if one.step == "wash"]
            assert row.mark is not None
            assert row.mark.level == "hands-on"
