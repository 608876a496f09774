"""What a person types, at the prompts and while time runs."""

from __future__ import annotations

import io
import os
import pty
import re
import sys
from dataclasses import dataclass, field
from pathlib import Path

import pytest
from msgspec.structs import replace

from coach import telling, words
from coach.clock import ManualClock
from coach.errors import ExitCode
from coach.lines import NO_LINE, PipedLines, TypedLines
from coach.plain import Plain
from coach.sitting.desk import NotNow
from coach.sitting.show import menu_of, view_of
from coach.sitting.view import Timer, View
from coach.voice import LONGEST_LINE
from tests.person import MORNING, Person, changed_sheet, desk_at
from tests.plain.scripts import ending, hoped_for, played


@dataclass
class Turning:
    """Lines of a script up to the first time that *prompt* is told, then others.

    From then on each stretch of time uses up one of *cuts*, a line that comes meanwhile.
    """

    clock: ManualClock
    script: list[str]
    prompt: str
    then: list[str]
    cuts: list[str | None]
    out: io.StringIO = field(default_factory=io.StringIO)
    turned: int = -1
    """How many lines had been told when it turned."""

    def line(self) -> str | None:
        """Return the next line of the script, or of what comes after the turn."""
        told = self.out.getvalue().splitlines()
        if self.turned < 0 and told[-1] == self.prompt:
            self.turned = len(told)
        lines = self.script if self.turned < 0 else self.then
        return lines.pop(0) if lines else None

    def drop(self) -> None:
        """Keep every line."""

    def line_within(self, seconds: float) -> str | None:
        """Let all of *seconds* pass, or one of them before a line cuts in."""
        cut = self.cuts.pop(0) if self.cuts and self.turned >= 0 else NO_LINE
        self.clock.sleep(seconds if cut == NO_LINE else min(1.0, seconds))
        return cut


def turned(
    folder: Path, prompt: str, then: list[str], cuts: list[str | None] | None = None
) -> tuple[list[str], list[str]]:
    """Follow a dose to *prompt* and go on otherwise; return what is told and kept after it."""
    script = list(hoped_for())
    clock = ManualClock(MORNING)
    desk = desk_at(folder, clock=clock)
    desk.journal.mark_first_start()
    lines = Turning(clock, script, prompt, list(then), cuts or [])
    before = len(script)
    assert Plain(desk, lines, lines.out).run("follow") == ExitCode.DONE
    assert lines.turned >= 0
    assert len(lines.script) < before
    kept = [event.kind for event in desk.journal.events(1)]
    return lines.out.getvalue().splitlines()[lines.turned :], kept


def inside(folder: Path, name: str) -> Path:
    """Return a new folder inside *folder*."""
    made = folder / name
    made.mkdir()
    return made


def test_the_first_start_is_told_once_and_says_whom_to_call(tmp_path: Path) -> None:
    desk = desk_at(tmp_path)
    told: list[list[str]] = []
    for _ in range(2):
        out = io.StringIO()
        Plain(desk, PipedLines(io.StringIO("\nquit\n"), desk.clock), out).run("today")
        told.append(out.getvalue().splitlines())
    first, second = told
    assert "It replaces none of them." in first[1]
    assert any(line.startswith("Call 911 at once if") for line in first)
    assert first.index("Nurse: 555-0100, Nurse on call (invented), any hour.") < first.index(
        words.FIRST_READ
    )
    assert second[0].startswith("Today,")


def test_leaving_at_the_first_start_tells_it_again_the_next_time(tmp_path: Path) -> None:
    desk = desk_at(tmp_path)
    Plain(desk, PipedLines(io.StringIO("quit\n"), desk.clock), io.StringIO()).run("today")
    assert not desk.journal.first_start_seen()


def test_every_dose_begins_with_what_can_be_typed(tmp_path: Path) -> None:
    assert played(tmp_path, []).lines[:2] == [words.CHECKING, words.HELP]


def test_today_is_told_once_and_only_the_prompt_again(tmp_path: Path) -> None:
    told = played(tmp_path, ["nonsense", "call", "quit"], start="today")
    assert sum(line.startswith("Today,") for line in told.lines) == 1
    assert told.lines.count(words.TYPE_START) == 3
    again = played(tmp_path, ["again", "quit"], start="today")
    assert sum(line.startswith("Today,") for line in again.lines) == 2


def test_follow_with_nothing_to_follow_tells_the_times_and_says_so(tmp_path: Path) -> None:
    sheet = changed_sheet(tmp_path, {"  window: 30 min": "  window: 5 min"})
    clock = ManualClock(MORNING.replace(hour=10, minute=20))
    desk = desk_at(tmp_path, sheet, clock)
    desk.journal.mark_first_start()
    out = io.StringIO()
    with pytest.raises(NotNow, match="No dose can be started now"):
        Plain(desk, PipedLines(io.StringIO(), clock), out).run("follow")
    assert "The next dose is due at 11:00 on 25 November." in out.getvalue()


@pytest.mark.parametrize("typed", ["yes", "YES", "y", "1", " Yes "])
def test_a_question_takes_a_word_a_letter_or_a_number(tmp_path: Path, typed: str) -> None:
    told, kept = turned(tmp_path, words.TYPE_YES_NO, [typed])
    assert kept[-2:] == ["answer", "left"]
    assert words.NOT_KNOWN not in told


@pytest.mark.parametrize("typed", ["", "done", "maybe", "0", "y e s"])
def test_a_question_takes_nothing_else(tmp_path: Path, typed: str) -> None:
    told, kept = turned(tmp_path, words.TYPE_YES_NO, [typed])
    assert kept[-2:] == ["done", "left"]
    assert told[:3] == [words.NOT_KNOWN, words.HELP, words.TYPE_YES_NO]


def test_a_number_that_cannot_be_read_is_asked_for_again(tmp_path: Path) -> None:
    typed = ["[@click=app.quit]", "9" * 300, "\x1b[2J", "nan", ""]
    told, kept = turned(tmp_path, words.TYPE_READING, typed)
    assert "reading" not in kept
    assert words.TOO_LONG in told
    assert all(line.isprintable() for line in told)


def test_a_line_longer_than_any_answer_is_never_taken_in_part(tmp_path: Path) -> None:
    told = played(tmp_path, ["done" + " " * LONGEST_LINE])
    assert words.TOO_LONG in told.lines
    assert [event.kind for event in told.desk.journal.events(1)] == ["left"]


def test_a_line_stops_a_hold_which_then_starts_from_the_beginning(tmp_path: Path) -> None:
    told, _ = turned(tmp_path, words.STRETCH_START, ["", ""], [NO_LINE, "oh"])
    hold = next(line for line in told if line.startswith("Now: "))
    assert told[told.index(hold) + 1] == words.RUN_STOPPED
    again = told.index(hold, told.index(hold) + 1)
    assert told.index(words.RUN_STOPPED) < again
    assert not any(line.startswith("Time is up") for line in told[:again])
    assert any(line.startswith("Time is up") for line in told[again:])


def test_a_hold_that_was_stopped_is_not_done(tmp_path: Path) -> None:
    (folder := tmp_path / "plainly").mkdir()
    _, untouched = turned(folder, words.STRETCH_START, [])
    told, kept = turned(tmp_path, words.STRETCH_START, [""], [NO_LINE, "done"])
    assert words.RUN_STOPPED in told
    assert kept.count("done") == untouched.count("done")


def test_wrong_during_a_stretch_stops_it_and_opens_the_menu(tmp_path: Path) -> None:
    told, _ = turned(tmp_path, words.STRETCH_START, ["", "quit"], [NO_LINE, "wrong"])
    assert told.index(words.RUN_STOPPED) + 1 < told.index(words.WRONG)
    assert told[-1] == words.LEFT_DOSE


def test_wrong_during_a_wait_opens_the_menu_at_once(tmp_path: Path) -> None:
    told, _ = turned(tmp_path, words.TYPE_WAIT, ["", "quit"], ["wrong"])
    assert told[0].endswith(" left.")
    assert told[1].endswith(":")
    assert words.WRONG in told
    assert words.TYPE_OVER not in told


def test_a_wait_goes_on_while_something_else_is_asked(tmp_path: Path) -> None:
    told, kept = turned(tmp_path, words.TYPE_WAIT, ["", "", ""], ["?"])
    assert told[0] == "Let the bag warm up: 2 minutes left."
    assert told[1].startswith("Part ")
    assert "Let the bag warm up: 1 minute 59 seconds left." in told
    assert words.TYPE_OVER in told
    assert kept[-2:] == ["done", "left"]


def test_leaving_during_a_wait_leaves_the_dose(tmp_path: Path) -> None:
    told, kept = turned(tmp_path, words.TYPE_WAIT, [""], ["quit"])
    assert told[-1] == words.LEFT_DOSE
    assert kept[-1] == "left"


def test_the_end_of_the_input_during_a_hold_leaves_the_dose_as_it_is(tmp_path: Path) -> None:
    told, kept = turned(tmp_path, words.STRETCH_START, [""], [NO_LINE, None])
    assert told[-1] == words.LEFT_DOSE
    assert kept[-1] == "left"


def test_control_c_leaves_the_dose_as_it_is(tmp_path: Path) -> None:
    class Cut(PipedLines):
        def line(self) -> str | None:
            raise KeyboardInterrupt

    desk = desk_at(tmp_path)
    desk.journal.mark_first_start()
    out = io.StringIO()
    assert Plain(desk, Cut(io.StringIO(), desk.clock), out).run("follow") == ExitCode.DONE
    assert out.getvalue().splitlines()[-1] == words.LEFT_DOSE
    assert desk.journal.events(1)[-1].kind == "left"


def test_a_wait_speaks_at_its_half_near_its_end_and_at_its_end(tmp_path: Path) -> None:
    told, _ = turned(tmp_path, words.TYPE_WAIT, [""])
    assert told[:3] == [
        "Let the bag warm up: 2 minutes left.",
        "Let the bag warm up: 1 minute left.",
        "Let the bag warm up: 10 seconds left.",
    ]
    assert told[3].startswith("Time is up: ")
    assert told.count(words.TYPE_OVER) == 1


def test_a_long_wait_speaks_every_five_minutes() -> None:
    assert telling.marks(1_800) == [1_500, 1_200, 900, 600, 300, 10]


def test_a_short_timer_speaks_no_more_than_can_be_heard() -> None:
    assert {total: telling.marks(total) for total in (5, 8, 12, 15, 20, 30)} == {
        5: [], 8: [], 12: [6], 15: [7], 20: [10], 30: [15, 10],
    }  # fmt: skip


def test_nothing_wrong_and_an_unknown_number_change_nothing(tmp_path: Path) -> None:
    menu = played(inside(tmp_path, "menu"), ["wrong"]).lines
    number = next(x for x in menu if x.endswith(". Nothing is wrong, go back.")).split(".")[0]
    told = played(tmp_path, ["wrong", "", "99", number])
    assert told.lines.count(words.NOT_KNOWN) == 2
    assert {event.kind for event in told.desk.journal.events(1)} == {"left"}


def test_back_from_what_is_wrong_says_that_nothing_is(tmp_path: Path) -> None:
    told = played(tmp_path, ["wrong", "back"])
    assert words.NOT_KNOWN not in told.lines
    assert sum(line.endswith("Step 1 of 2.") for line in told.lines) == 2
    assert {event.kind for event in told.desk.journal.events(1)} == {"left"}


def test_undo_takes_the_last_answer_back_from_what_is_wrong(tmp_path: Path) -> None:
    told = played(tmp_path, ["", "wrong", "undo"])
    assert words.UNDONE in told.lines
    assert [event.kind for event in told.desk.journal.events(1)] == ["done", "undone", "left"]


@pytest.mark.parametrize(
    ("typed", "says"),
    [("call", "Emergency: 911."), ("?", "The line now: "), ("why", "Why: ")],
)
def test_what_can_be_asked_at_a_step_can_be_asked_at_what_is_wrong(
    tmp_path: Path, typed: str, says: str
) -> None:
    told = played(tmp_path, ["wrong", typed, "back"]).lines
    after = told[told.index(words.WRONG) + 1 :]
    assert words.NOT_KNOWN not in after
    assert any(line.startswith(says) for line in after[: after.index(words.WRONG)])


@pytest.mark.parametrize("before", [[], ["wrong"]])
def test_a_note_is_kept_as_it_was_written(tmp_path: Path, before: list[str]) -> None:
    told = played(tmp_path, [*before, "note", "Note  The site is a bit Red."])
    assert words.TOLD_NOTE_EMPTY in told.lines
    assert words.NOTED in told.lines
    for line in (words.TOLD_NOTE_EMPTY, words.NOTED):
        assert re.search("What you said before it can.*not be taken back", line)
    kept = [(event.kind, event.value) for event in told.desk.journal.events(1)]
    assert kept == [("note", "The site is a bit Red."), ("left", "")]


def test_a_note_can_be_written_where_a_number_is_asked_for(tmp_path: Path) -> None:
    _, kept = turned(tmp_path, words.TYPE_READING, ["note 20 is hard to read"])
    assert kept[-2:] == ["note", "left"]


def test_again_at_what_is_wrong_tells_the_list_anew(tmp_path: Path) -> None:
    told = played(tmp_path, ["wrong", "again", "back"])
    assert sum(line.endswith("Nothing is wrong, go back.") for line in told.lines) == 2


def test_a_script_says_wrong_before_a_wait_begins(tmp_path: Path) -> None:
    told, _ = turned(tmp_path, words.TYPE_WAIT, ["wrong", "quit"])
    assert told[-2:] == [words.WRONG, words.LEFT_DOSE]


def test_a_script_that_listens_is_asked_each_time_a_wait_speaks(tmp_path: Path) -> None:
    told, _ = turned(tmp_path, words.TYPE_WAIT, ["listen", "", "", "wrong", "quit"])
    marks = [
        "Let the bag warm up: 2 minutes left.",
        "Let the bag warm up: 1 minute left.",
        "Let the bag warm up: 10 seconds left.",
    ]
    assert told[:6] == [line for mark in marks for line in (mark, words.TYPE_LISTEN)]
    assert told[-2:] == [words.WRONG, words.LEFT_DOSE]
    assert words.TYPE_OVER not in told


def test_a_wait_that_is_listened_to_ends_as_any_other(tmp_path: Path) -> None:
    told, kept = turned(tmp_path, words.TYPE_WAIT, ["listen", "", "listen", "", ""])
    assert words.NOT_KNOWN not in told
    assert words.TYPE_OVER in told
    assert kept[-2:] == ["done", "left"]


def test_a_script_that_listens_can_stop_a_hold(tmp_path: Path) -> None:
    told, _ = turned(tmp_path, words.STRETCH_START, ["listen", "", "wrong", "quit"])
    assert words.TYPE_LISTEN in told
    assert told.index(words.RUN_STOPPED) < told.index(words.WRONG)
    assert told[-1] == words.LEFT_DOSE


def test_today_says_at_once_that_another_window_has_the_dose(tmp_path: Path) -> None:
    with desk_at(tmp_path).journal as other:
        other.hold_dose()
        told = played(tmp_path, ["start", "quit"], start="today").lines
    assert told.index(words.ELSEWHERE) < told.index(words.TYPE_TODAY)
    assert words.TYPE_START not in told


def test_after_an_emergency_the_next_dose_asks_who_said_so(tmp_path: Path) -> None:
    desk = desk_at(inside(tmp_path, "a"))
    desk.journal.mark_first_start()
    out = io.StringIO()
    clock = desk.clock
    assert isinstance(clock, ManualClock)
    sitting = desk.begin()
    emergency = next(
        item.name
        for group in menu_of(sitting)
        for item in group.items
        if _leads_to_an_emergency(tmp_path, item.name)
    )
    sitting.went_wrong(emergency)
    person = Person(sitting, clock)
    person.follow()
    clock.move(3_600)
    asked = words.NEEDS_WORD.format(why=words.WORD_FOR["emergency"])
    script = "start\n\nstart\nDr. Lee {x}\nquit\n"
    Plain(desk, PipedLines(io.StringIO(script), clock), out).run("today")
    assert out.getvalue().splitlines().count(asked) == 2
    assert "Do not start this one until the nurse or doctor says so." in out.getvalue()
    notes = [event.value for event in desk.journal.events(2) if event.kind == "note"]
    assert notes == ["Said that this dose may be started: Dr. Lee {x}"]


def _leads_to_an_emergency(folder: Path, mishap: str) -> bool:
    """Tell whether *mishap* is answered, the best way throughout, by an emergency call."""
    clock = ManualClock(MORNING)
    desk = desk_at(inside(folder, mishap), clock=clock)
    sitting = desk.begin()
    sitting.went_wrong(mishap)
    seen: list[bool] = []

    def look(view: View) -> None:
        seen.append(view.card is not None and view.card.emergency)

    end = Person(sitting, clock, before=look).follow()
    desk.journal.close()
    return end.way == "stopped" and any(seen)


def test_what_could_not_be_heard_out_in_its_time_is_told_in_few_words(tmp_path: Path) -> None:
    view = view_of(desk_at(tmp_path).begin())
    does = "Take the bag out of the refrigerator and lay it on the table."
    told = [
        telling.timer_line(replace(view, title="Lay it down", do=does), Timer("pace", seconds, 0))
        for seconds in (3, 8)
    ]
    assert told == ["Now: Lay it down. Timer: 3 seconds.", f"Now: {does} Timer: 8 seconds."]


def test_what_stands_on_the_sheet_is_told_as_it_stands(tmp_path: Path) -> None:
    hostile = "[/ [@click=app.quit] {place} %s"
    sheet = changed_sheet(tmp_path, {"Nurse on call (invented)": f'"{hostile}"'})
    told = played(tmp_path, ["call"], sheet)
    assert f"Nurse: 555-0100, {hostile}, any hour." in told.lines


def test_a_whole_dose_can_be_left_and_taken_up_at_any_line(tmp_path: Path) -> None:
    told = played(tmp_path, list(hoped_for()[:40]))
    assert ending(told) == ""
    assert told.lines[-1] == words.LEFT_DOSE


def test_what_was_typed_before_it_was_asked_for_is_no_answer(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    master, slave = pty.openpty()
    with os.fdopen(slave) as typed, os.fdopen(master, "wb", buffering=0) as keyboard:
        monkeypatch.setattr(sys, "stdin", typed)
        lines = TypedLines()
        keyboard.write(b"done\n")
        lines.drop()
        assert lines.line_within(0) == NO_LINE
        keyboard.write(b"wrong\n")
        assert lines.line() == "wrong"


def test_a_script_keeps_every_line() -> None:
    lines = PipedLines(io.StringIO("start\ndone\n"), ManualClock(MORNING))
    lines.drop()
    assert (lines.line(), lines.line()) == ("start", "done")
