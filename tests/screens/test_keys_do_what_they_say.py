"""One table of keys; each does what it says, and every other key does nothing."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from pathlib import Path

import pytest
from textual import events
from textual.widgets import Input

from coach import keys, words
from coach.errors import JournalBusy
from coach.journal.store import Journal
from coach.procedure.model import Hold
from coach.screens.contacts import ContactsScreen
from coach.screens.first import FirstScreen
from coach.screens.follow import FollowScreen
from coach.screens.note import NoteScreen
from coach.screens.today import TodayScreen
from coach.screens.widgets.key_list import KeyListScreen
from coach.screens.word import WordScreen
from coach.screens.wrong import RestScreen, WrongScreen
from coach.sitting.desk import Desk
from coach.sitting.show import menu_of, view_of
from coach.sitting.sitting import Sitting
from tests.person import Person, desk_at
from tests.screens.table import SIZES, SMALL, Table, cut, kinds, table

HOUR = timedelta(hours=1)


def held(sitting: Sitting) -> bool:
    """Tell whether the step to do now is held for a time."""
    return isinstance(sitting.step().ask, Hold)


async def to_first(
    at_table: Table, way: str, looked_for: Callable[[Sitting], bool] = lambda sitting: True
) -> None:
    """Go on as hoped to the first step that is shown in this way and is looked for."""
    await at_table.press("enter")
    person = Person(at_table.sitting, at_table.clock)
    while (view := view_of(at_table.sitting)).way != way or not looked_for(at_table.sitting):
        person.act(view)
    at_table.follow.show()
    await at_table.look()


def test_each_key_is_in_the_table_once() -> None:
    presses = [press for key in keys.KEYS for press in key.presses]
    assert len(presses) == len(set(presses))
    assert len(keys.key_table()) == len(keys.KEYS)
    assert keys.key_table()[0].startswith("Esc")


async def test_enter_says_that_a_step_is_done(tmp_path: Path) -> None:
    async with table(tmp_path) as at_table:
        await at_table.press("enter")
        assert isinstance(at_table.screen, FollowScreen)
        before = at_table.text("sentence")
        await at_table.press("enter")
        assert kinds(at_table) == ["done"]
        assert at_table.text("sentence") != before
        assert at_table.text("done").startswith("Done: ")


async def test_a_key_pressed_before_the_step_was_there_does_not_answer_it(tmp_path: Path) -> None:
    async with table(tmp_path) as at_table:
        early = events.Key("enter", None)
        await at_table.press("enter")
        assert isinstance(at_table.screen, FollowScreen)
        before = at_table.text("sentence")
        at_table.screen.post_message(early)
        await at_table.look()
        assert at_table.text("sentence") == before
        await at_table.press("enter")
        assert at_table.text("sentence") != before


async def test_wrong_keys_do_nothing(tmp_path: Path) -> None:
    async with table(tmp_path) as at_table:
        await at_table.press("enter")
        before = at_table.all_text
        await at_table.press("a", "1", "9", "y", "n", "tab", "f2", "ctrl+p", "u", "w", "p", "up")
        assert kinds(at_table) == []
        assert at_table.all_text == before


@pytest.mark.parametrize("press", ["", "l"])
async def test_f1_lists_every_key_that_works_at_a_step(tmp_path: Path, press: str) -> None:
    async with table(tmp_path, SMALL) as at_table:
        await at_table.press("enter", "enter", *press.split())
        works = {"Esc", "u", "p", "t", "l", "Space", "q", "Ctrl+C"}
        if press:
            works |= {"o", "↑↓"}
        line = at_table.text("keys")
        assert "F1 Keys" in line
        assert line.count("\n") == 1
        told, step = kinds(at_table), at_table.follow
        await at_table.press("f1")
        assert isinstance(at_table.screen, KeyListScreen)
        listed = at_table.text("listed").split("\n")
        assert {row.split(": ")[0] for row in listed} == works
        assert "q: Leave, Ctrl+Q while you type" in at_table.all_text
        assert cut(at_table.screen) == []
        await at_table.press("escape")
        assert step.is_current
        assert kinds(at_table) == told


async def test_enter_cannot_skip_a_wait(tmp_path: Path) -> None:
    async with table(tmp_path) as at_table:
        await to_first(at_table, "wait")
        told = kinds(at_table)
        await at_table.press("enter")
        assert kinds(at_table) == told
        assert "not over yet" in at_table.text("notice")
        await at_table.pass_time(1000)
        assert "Press Enter" in at_table.text("time-left")
        await at_table.press("enter")
        assert kinds(at_table) == [*told, "done"]


async def test_enter_cannot_skip_a_hold(tmp_path: Path) -> None:
    async with table(tmp_path) as at_table:
        await to_first(at_table, "run", held)
        told = kinds(at_table)
        assert "Read this first" in at_table.all_text or not view_of(at_table.sitting).stretch
        await at_table.press("enter")
        assert at_table.sitting.running
        await at_table.pass_time(3)
        await at_table.press("enter")
        assert not at_table.sitting.running
        assert "again from the beginning" in at_table.text("notice")
        assert kinds(at_table) == told


async def test_a_hold_ends_by_itself_and_not_before_its_time(tmp_path: Path) -> None:
    async with table(tmp_path) as at_table:
        await to_first(at_table, "run", held)
        step, told = at_table.sitting.step().id, len(kinds(at_table))
        await at_table.press("enter")
        timer = at_table.sitting.timer()
        assert timer is not None
        if timer.kind == "lead-in":
            await at_table.pass_time(timer.total)
            timer = at_table.sitting.timer()
            assert timer is not None
        await at_table.pass_time(timer.total - 0.5)
        assert at_table.sitting.step().id == step
        assert "1 second left" in at_table.text("time-left")
        await at_table.pass_time(0.5)
        assert at_table.sitting.step().id != step
        assert len(kinds(at_table)) == told + 1


@pytest.mark.parametrize("key", ["a", "escape", "space", "q", "ctrl+q", "1"])
async def test_any_key_stops_what_runs(tmp_path: Path, key: str) -> None:
    async with table(tmp_path) as at_table:
        await to_first(at_table, "run")
        await at_table.press("enter")
        assert at_table.sitting.running
        await at_table.press(key)
        assert not at_table.sitting.running


async def test_digits_and_letters_answer_a_question(tmp_path: Path) -> None:
    async with table(tmp_path) as at_table:
        await to_first(at_table, "question")
        await at_table.press("enter")
        assert "number of your answer" in at_table.text("notice")
        told = len(kinds(at_table))
        await at_table.press("y")
        assert kinds(at_table)[told:] == ["answer"]
        await at_table.press("u")
        assert kinds(at_table)[told:] == ["answer", "undone"]
        await at_table.press("1")
        assert kinds(at_table)[told:] == ["answer", "undone", "answer"]


async def test_letters_are_typed_where_something_is_read_off(tmp_path: Path) -> None:
    async with table(tmp_path) as at_table:
        await to_first(at_table, "reading")
        step = at_table.sitting.step().id
        await at_table.press("q", "u", "1", "space", "backspace")
        assert at_table.screen.query_one(Input).value == "qu1"
        await at_table.press("enter")
        assert at_table.sitting.step().id == step
        assert "type the number" in at_table.text("notice")


async def test_an_empty_reading_is_asked_for_again(tmp_path: Path) -> None:
    async with table(tmp_path) as at_table:
        await to_first(at_table, "reading")
        told = kinds(at_table)
        await at_table.press("space", "enter")
        assert kinds(at_table) == told
        assert "Type what you read" in at_table.text("notice")


@pytest.mark.parametrize("size", SIZES)
async def test_escape_asks_what_is_wrong_even_while_typing(
    tmp_path: Path, size: tuple[int, int]
) -> None:
    async with table(tmp_path, size) as at_table:
        await to_first(at_table, "reading")
        await at_table.press("2", "escape")
        assert isinstance(at_table.screen, WrongScreen)
        assert "Nurse 555-0100" in at_table.all_text
        await at_table.press("escape")
        assert isinstance(at_table.screen, FollowScreen)
        assert at_table.screen.query_one(Input).has_focus
        assert at_table.screen.query_one(Input).value == "2"


async def test_what_went_wrong_is_told_with_two_digits(tmp_path: Path) -> None:
    async with table(tmp_path) as at_table:
        await at_table.press("enter")
        item = menu_of(at_table.sitting)[0].items[0].says
        await at_table.press("escape", "1")
        assert item in at_table.text("lines")
        await at_table.press("1")
        assert at_table.text("call").startswith("CALL EMERGENCY 911")
        assert kinds(at_table) == ["trouble"]


async def test_the_menu_ends_with_the_same_four_lines(tmp_path: Path) -> None:
    async with table(tmp_path) as at_table:
        await at_table.press("enter", "escape")
        assert at_table.text("lines").splitlines()[-7::2] == [
            line
            for line in at_table.text("lines").splitlines()
            if line[3:]
            in (
                "I have to leave the table",
                "I pressed the wrong key",
                "Whom do I call?",
                "Nothing is wrong, go back",
            )
        ]


def digit(at_table: Table, says: str) -> str:
    """Return the digit of a line of the menu."""
    return next(line[0] for line in at_table.text("lines").splitlines() if says in line)


async def test_the_table_can_be_left_and_come_back_to(tmp_path: Path) -> None:
    async with table(tmp_path) as at_table:
        await at_table.press("enter", "escape")
        await at_table.press(digit(at_table, "leave the table"))
        assert isinstance(at_table.screen, RestScreen)
        assert kinds(at_table) == ["left"]
        await at_table.press("enter")
        assert isinstance(at_table.screen, FollowScreen)
        assert kinds(at_table) == ["left", "returned"]


async def test_trouble_can_be_told_from_the_rest(tmp_path: Path) -> None:
    async with table(tmp_path) as at_table:
        await at_table.press("enter", "escape")
        await at_table.press(digit(at_table, "leave the table"), "escape")
        assert isinstance(at_table.screen, WrongScreen)
        assert kinds(at_table) == ["left", "returned"]


async def test_a_wrong_key_is_taken_back_from_the_menu(tmp_path: Path) -> None:
    async with table(tmp_path) as at_table:
        await at_table.press("enter", "enter", "escape")
        await at_table.press(digit(at_table, "wrong key"))
        assert kinds(at_table) == ["done", "undone"]
        await at_table.press("escape")
        await at_table.press(digit(at_table, "wrong key"))
        assert "nothing here" in at_table.text("notice")


async def test_the_menu_shows_whom_to_call(tmp_path: Path) -> None:
    async with table(tmp_path, SMALL) as at_table:
        await at_table.press("enter", "escape")
        await at_table.press(digit(at_table, "Whom do I call"))
        assert isinstance(at_table.screen, ContactsScreen)
        for phone in ("555-0100", "555-0101", "911"):
            assert phone in at_table.all_text
        await at_table.press("escape")
        assert isinstance(at_table.screen, FollowScreen)


async def test_a_dose_that_is_done_goes_back_to_today(tmp_path: Path) -> None:
    async with table(tmp_path) as at_table:
        await at_table.press("enter")
        await at_table.walk("")
        assert "done and written down" in at_table.text("sentence")
        await at_table.press("escape")
        assert isinstance(at_table.screen, ContactsScreen)
        await at_table.press("escape", "enter")
        assert isinstance(at_table.screen, TodayScreen)
        assert "next dose is due" in at_table.text("sentence")


async def test_a_dose_under_way_is_gone_on_with(tmp_path: Path) -> None:
    async with table(tmp_path) as at_table:
        at_table.desk.begin().done()
        await at_table.look()
        assert "under way since 09:50" in at_table.text("sentence")
        await at_table.press("enter")
        assert kinds(at_table) == ["done", "returned"]


async def test_it_can_open_on_the_dose_itself(tmp_path: Path) -> None:
    async with table(tmp_path, start="follow") as at_table:
        await at_table.look()
        assert isinstance(at_table.screen, FollowScreen)


@pytest.mark.parametrize("start", ["today", "follow"])
async def test_the_first_start_shows_the_notice_first(tmp_path: Path, start: str) -> None:
    async with table(tmp_path, first=True, start=start) as at_table:
        await at_table.look()
        assert isinstance(at_table.screen, FirstScreen)
        await at_table.press("escape", "escape", "enter")
        await at_table.look()
        expected = TodayScreen if start == "today" else FollowScreen
        assert isinstance(at_table.screen, expected)
        assert at_table.desk.journal.first_start_seen()


async def test_after_an_emergency_somebody_has_to_say_that_it_may_go_on(tmp_path: Path) -> None:
    async with table(tmp_path) as at_table:
        await at_table.press("enter", "escape", "1", "1", "1", "enter")
        await at_table.pass_time(HOUR.total_seconds())
        assert isinstance(at_table.screen, TodayScreen)
        await at_table.press("enter")
        assert isinstance(at_table.screen, WordScreen)
        await at_table.press("enter")
        assert "Type the name" in at_table.text("notice")
        await at_table.press("D", "r", "space", "q", "enter")
        assert isinstance(at_table.screen, FollowScreen)
        note = at_table.desk.journal.events(at_table.sitting.row.id)[0]
        assert note.value.endswith("Dr q")


async def test_what_cannot_be_begun_is_said_calmly(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def busy(desk: Desk, word: str = "") -> Sitting:
        raise JournalBusy("Another window has the dose.")

    monkeypatch.setattr(Desk, "begin", busy)
    async with table(tmp_path) as at_table:
        await at_table.press("enter")
        assert isinstance(at_table.screen, TodayScreen)
        assert at_table.text("notice") == "Another window has the dose."


async def test_a_note_is_kept_with_the_dose(tmp_path: Path) -> None:
    async with table(tmp_path) as at_table:
        await at_table.press("enter", "t", "enter")
        assert "Type your note" in at_table.text("notice")
        await at_table.press("q", "space", "R", "enter")
        assert isinstance(at_table.screen, FollowScreen)
        events = at_table.desk.journal.events(at_table.sitting.row.id)
        assert [(event.kind, event.value) for event in events] == [("note", "q R")]
        await at_table.press("t", "x", "escape")
        assert isinstance(at_table.screen, FollowScreen)
        assert kinds(at_table) == ["note"]


async def test_a_note_stands_among_the_keys_of_a_small_window(tmp_path: Path) -> None:
    async with table(tmp_path, SMALL) as at_table:
        await at_table.press("enter")
        await at_table.look()  # what fits is known once the first styles hold
        assert "t Note" in at_table.text("keys")
        await at_table.press("enter")
        assert "u Undo" in at_table.text("keys")
        assert "t Note" in at_table.text("keys")
        await at_table.press("t")
        assert isinstance(at_table.screen, NoteScreen)
        await at_table.look()
        assert "can then not be taken back" in at_table.text("why")
        assert cut(at_table.screen) == []


async def test_a_dose_that_another_window_has_is_said_so_at_once(tmp_path: Path) -> None:
    async with table(tmp_path) as at_table:
        assert "Enter Start" in at_table.text("keys")
        with desk_at(tmp_path, clock=at_table.clock).journal as other:
            other.hold_dose()
            await at_table.look()
            assert "Another window has a dose open." in at_table.text("sentence")
            assert "Enter" not in at_table.text("keys")
            await at_table.press("enter")
            assert isinstance(at_table.screen, TodayScreen)
        await at_table.look()
        assert "Enter starts it" in at_table.text("sentence")


async def test_today_looks_into_an_emergency_once(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    async with table(tmp_path) as at_table:
        await at_table.press("enter", "escape", "1", "1", "1", "enter")
        assert at_table.desk.today().needs_word
        monkeypatch.setattr(Journal, "source", None)
        await at_table.look()
        assert at_table.desk.today().needs_word


async def test_the_end_of_a_timer_sounds_once(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    async with table(tmp_path) as at_table:
        rung: list[int] = []
        monkeypatch.setattr(at_table.pilot.app, "bell", lambda: rung.append(1))
        await to_first(at_table, "wait")
        await at_table.pass_time(10)
        assert rung == []
        await at_table.pass_time(1000)
        await at_table.pass_time(10)
        assert rung == [1]


async def test_the_reason_has_a_key_where_there_is_no_room_for_it(tmp_path: Path) -> None:
    async with table(tmp_path, SMALL) as at_table:
        await to_first(at_table, "run")
        assert view_of(at_table.sitting).stretch
        assert at_table.text("why") == ""
        assert "w Why" in at_table.text("keys")
        await at_table.press("w")
        assert "Any key stops it" in at_table.text("why")
        assert at_table.text("sentence") == ""
        assert "w Back to the step" in at_table.text("keys")
        await at_table.press("w")
        assert at_table.text("why") == ""


async def test_an_answer_is_taken_once_it_can_have_been_read(tmp_path: Path) -> None:
    async with table(tmp_path, SMALL) as at_table:
        await at_table.press("enter", "escape", "1", "1")
        assert at_table.text("call").startswith("CALL EMERGENCY 911")
        assert at_table.screen.overflows()
        for key in ("1", "enter"):
            await at_table.press(key)
            assert at_table.text("notice") == words.HINT_READ_ON
            assert kinds(at_table) == ["trouble"]
        for _ in range(5):
            await at_table.press("space")
            await at_table.look()
            if "That is all" in at_table.text("more"):
                break
        await at_table.press("space")
        await at_table.look()
        assert "More below" in at_table.text("more")
        await at_table.press("1")
        assert kinds(at_table) == ["trouble", "answer"]


async def test_an_answer_is_not_taken_while_its_question_is_out_of_sight(tmp_path: Path) -> None:
    async with table(tmp_path, SMALL) as at_table:
        await to_first(at_table, "question")
        told = kinds(at_table)
        await at_table.press("p")
        assert "Answer" not in at_table.text("keys")
        await at_table.press("1")
        assert kinds(at_table) == told
        assert "Answer" in at_table.text("keys")
        await at_table.press("1")
        assert kinds(at_table) == [*told, "answer"]


async def test_what_has_to_be_done_once_more_is_said(tmp_path: Path) -> None:
    async with table(tmp_path) as at_table:
        await to_first(at_table, "run", held)
        at_table.sitting.leave()
        at_table.sitting.come_back()
        at_table.follow.show()
        assert view_of(at_table.sitting).back
        assert "once more" in at_table.text("again")
