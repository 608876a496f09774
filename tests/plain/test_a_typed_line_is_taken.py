"""What a person types, at the prompts and while time runs."""

from __future__ import annotations

import io
from dataclasses import dataclass, field
from pathlib import Path

import pytest

from coach import plain, telling, words
from coach.clock import ManualClock
from coach.errors import ExitCode
from coach.lines import NO_LINE, PipedLines
from coach.plain import LONGEST_LINE, Plain
from coach.sitting.desk import Desk, NotNow
from tests.person import MORNING, Person, changed_sheet, desk_at
from tests.plain.scripts import ending, played, written

SOURCES = (Path(plain.__file__), Path(telling.__file__), Path(plain.__file__).with_name("cli.py"))


@dataclass
class CutIn(PipedLines):
    """Lines of which some come while time runs; each such wait uses up one of *cuts*."""

    source: io.StringIO
    clock: ManualClock
    cuts: list[str | None] = field(default_factory=list)

    def __post_init__(self) -> None:
        """Open the script."""
        super().__init__(self.source, self.clock)

    def line_within(self, seconds: float) -> str | None:
        """Let all of *seconds* pass, or one second before a line cuts in."""
        cut = self.cuts.pop(0) if self.cuts else NO_LINE
        self.clock.sleep(seconds if cut == NO_LINE else min(1.0, seconds))
        return cut


def interrupted(
    desk: Desk, script: list[str], cuts: list[str | None], start: str = "follow"
) -> list[str]:
    """Play *script* while *cuts* come in between; return what was said."""
    assert isinstance(desk.clock, ManualClock)
    desk.journal.mark_first_start()
    out = io.StringIO()
    source = io.StringIO("".join(f"{line}\n" for line in script))
    code = Plain(desk, CutIn(source, desk.clock, cuts), out).run(start)
    assert code == ExitCode.DONE
    return out.getvalue().splitlines()


def desk_at_way(folder: Path, way: str, busy: bool = False) -> Desk:
    """Return a desk whose dose under way has come to a step of this *way*."""
    clock = ManualClock(MORNING)
    desk = desk_at(folder, clock=clock)
    person = Person(desk.begin(), clock)

    class Reached(Exception):
        pass

    def look(view: object) -> None:
        shown = person.sitting.step()
        now = plain.view_of(person.sitting)
        if now.way == way and bool(now.stretch) == busy and shown.id == now.step:
            raise Reached

    person.before = look
    with pytest.raises(Reached):
        person.follow()
    return desk


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
        "Press Enter when you have read this."
    )
    assert second[0].startswith("Today,")


def test_leaving_at_the_first_start_tells_it_again_the_next_time(tmp_path: Path) -> None:
    desk = desk_at(tmp_path)
    Plain(desk, PipedLines(io.StringIO("quit\n"), desk.clock), io.StringIO()).run("today")
    assert not desk.journal.first_start_seen()


def test_every_dose_begins_with_what_can_be_typed(tmp_path: Path) -> None:
    assert played(tmp_path, []).lines[0] == words.HELP


def test_today_is_told_once_and_only_the_prompt_again(tmp_path: Path) -> None:
    told = played(tmp_path, ["nonsense", "call", "quit"], start="today")
    assert sum(line.startswith("Today,") for line in told.lines) == 1
    assert told.lines.count(words.TYPE_START) == 3
    again = played(tmp_path, ["again", "quit"], start="today")
    assert sum(line.startswith("Today,") for line in again.lines) == 2


def test_follow_with_nothing_to_follow_tells_the_times_and_says_so(tmp_path: Path) -> None:
    sheet = changed_sheet(tmp_path, {"  window: 30 min": "  window: 5 min"})
    clock = ManualClock(MORNING.replace(hour=15, minute=20))
    desk = desk_at(tmp_path, sheet, clock)
    desk.journal.mark_first_start()
    out = io.StringIO()
    with pytest.raises(NotNow, match="No dose can be started now"):
        Plain(desk, PipedLines(io.StringIO(), clock), out).run("follow")
    assert "The next dose is due at 11:00 on 25 November." in out.getvalue()


@pytest.mark.parametrize("typed", ["yes", "YES", "y", "1", "Yes"])
def test_a_question_takes_a_word_a_letter_or_a_number(tmp_path: Path, typed: str) -> None:
    desk = desk_at_way(tmp_path, "question")
    before = len(desk.journal.events(1))
    told = interrupted(desk, [typed], [])
    assert [event.kind for event in desk.journal.events(1)][before:] == [
        "returned", "answer", "left",
    ]  # fmt: skip
    assert words.NOT_KNOWN not in told


@pytest.mark.parametrize("typed", ["", "done", "maybe", "0", "y e s"])
def test_a_question_takes_nothing_else(tmp_path: Path, typed: str) -> None:
    desk = desk_at_way(tmp_path, "question")
    before = len(desk.journal.events(1))
    told = interrupted(desk, [typed], [])
    assert [event.kind for event in desk.journal.events(1)][before:] == ["returned", "left"]
    assert words.NOT_KNOWN in told


def test_a_number_that_cannot_be_read_is_asked_for_again(tmp_path: Path) -> None:
    desk = desk_at_way(tmp_path, "reading")
    before = len(desk.journal.events(1))
    told = interrupted(desk, ["[@click=app.quit]", "9" * 300, "\x1b[2J"], [])
    assert [event.kind for event in desk.journal.events(1)][before:] == ["returned", "left"]
    assert words.TOO_LONG in told
    assert all(line.isprintable() for line in told)


def test_a_line_longer_than_any_answer_is_never_taken_in_part(tmp_path: Path) -> None:
    told = played(tmp_path, ["done" + " " * LONGEST_LINE])
    assert words.TOO_LONG in told.lines
    assert [event.kind for event in told.desk.journal.events(1)] == ["left"]


def test_a_line_stops_a_hold_which_then_starts_from_the_beginning(tmp_path: Path) -> None:
    desk = desk_at_way(tmp_path, "run")
    before = len(desk.journal.events(1))
    told = interrupted(desk, [""], ["oh"])
    assert words.RUN_STOPPED in told
    assert not any(line.startswith("Time is up") for line in told)
    assert [event.kind for event in desk.journal.events(1)][before:] == ["returned", "left"]


def test_wrong_during_a_stretch_stops_it_and_opens_the_menu(tmp_path: Path) -> None:
    desk = desk_at_way(tmp_path, "run", busy=True)
    told = interrupted(desk, ["", "quit"], [NO_LINE, "wrong"])
    assert told.index(words.RUN_STOPPED) < told.index(words.WRONG)
    assert told[-1] == words.LEFT_DOSE


def test_wrong_during_the_infusion_opens_the_menu_at_once(tmp_path: Path) -> None:
    desk = desk_at_way(tmp_path, "wait")
    told = interrupted(desk, ["", "quit"], ["wrong"])
    menu = told.index(words.WRONG_ELSE)
    assert told[menu + 1].endswith(". I have to leave the table.")
    assert words.TYPE_OVER not in told


def test_leaving_during_a_wait_leaves_it_running(tmp_path: Path) -> None:
    desk = desk_at_way(tmp_path, "wait")
    assert interrupted(desk, [""], ["quit"])[-1] == words.LEFT_DOSE
    assert isinstance(desk.clock, ManualClock)
    desk.clock.move(3_600)
    assert words.TYPE_OVER in interrupted(desk, [], [])


def test_the_end_of_the_input_during_a_hold_leaves_the_dose_as_it_is(tmp_path: Path) -> None:
    desk = desk_at_way(tmp_path, "run")
    assert interrupted(desk, [""], [None])[-1] == words.LEFT_DOSE
    assert desk.journal.events(1)[-1].kind == "left"


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
    desk = desk_at_way(tmp_path, "wait")
    told = interrupted(desk, [""], [])
    spoken = [line for line in told if line.endswith("left.") or line.startswith("Time is up")]
    assert spoken[0] == "2 minutes left."
    assert spoken[1:3] == ["1 minute left.", "10 seconds left."]
    assert spoken[3].startswith("Time is up: ")


def test_a_long_wait_speaks_every_five_minutes() -> None:
    assert plain._marks(1_800) == [1_500, 1_200, 900, 600, 300, 10]


def test_nothing_wrong_and_an_unknown_number_change_nothing(tmp_path: Path) -> None:
    menu = played(tmp_path, ["wrong"]).lines
    number = next(x for x in menu if x.endswith(". Nothing is wrong, go back.")).split(".")[0]
    told = played(tmp_path, ["wrong", "", "99", number])
    assert told.lines.count(words.NOT_KNOWN) == 2
    assert {event.kind for event in told.desk.journal.events(1)} == {"left", "returned"}


def test_after_an_emergency_the_next_dose_asks_who_said_so(tmp_path: Path) -> None:
    sheet_folder = tmp_path / "a"
    sheet_folder.mkdir()
    desk = desk_at(sheet_folder)
    desk.journal.mark_first_start()
    out = io.StringIO()
    clock = desk.clock
    assert isinstance(clock, ManualClock)
    sitting = desk.begin()
    emergency = next(
        item.name
        for group in plain.menu_of(sitting)
        for item in group.items
        if _leads_to_an_emergency(tmp_path, item.name)
    )
    sitting.went_wrong(emergency)
    person = Person(sitting, clock)
    person.follow()
    clock.move(3_600)
    script = "start\n\nstart\nDr. Lee {x}\nquit\n"
    Plain(desk, PipedLines(io.StringIO(script), clock), out).run("today")
    assert out.getvalue().splitlines().count(words.NEEDS_WORD) == 2
    assert "Do not start this one until the nurse or doctor says so." in out.getvalue()
    notes = [event.value for event in desk.journal.events(2) if event.kind == "note"]
    assert notes == ["Said that this dose may be started: Dr. Lee {x}"]


def _leads_to_an_emergency(folder: Path, mishap: str) -> bool:
    """Tell whether *mishap* is answered, the best way throughout, by an emergency call."""
    where = folder / mishap
    where.mkdir()
    clock = ManualClock(MORNING)
    desk = desk_at(where, clock=clock)
    sitting = desk.begin()
    sitting.went_wrong(mishap)
    seen: list[bool] = []

    def look(view: plain.View) -> None:
        seen.append(view.card is not None and view.card.emergency)

    end = Person(sitting, clock, before=look).follow()
    desk.journal.close()
    return end.way == "stopped" and any(seen)


def test_what_stands_on_the_sheet_is_told_as_it_stands(tmp_path: Path) -> None:
    hostile = "[/ [@click=app.quit] {place} %s"
    sheet = changed_sheet(tmp_path, {"Nurse on call (invented)": hostile})
    told = played(tmp_path, ["call"], sheet)
    assert f"Nurse: 555-0100, {hostile}, any hour." in told.lines


def test_a_whole_dose_can_be_left_and_taken_up_at_any_line(tmp_path: Path) -> None:
    (tmp_path / "a").mkdir()
    script = written(tmp_path / "a")
    (tmp_path / "b").mkdir()
    told = played(tmp_path / "b", script[:40])
    assert ending(told) == ""
    assert told.lines[-1] == words.LEFT_DOSE


def test_every_word_is_used_and_no_sentence_stands_outside_the_catalogue() -> None:
    texts = "\n".join(path.read_text() for path in SOURCES)
    shared = (Path(plain.__file__).parent / "screens" / "words.py").read_text()
    unused = [
        name
        for name in vars(words)
        if name.isupper() and f"words.{name}" not in texts and f"import {name} " not in shared
    ]
    assert unused == []
